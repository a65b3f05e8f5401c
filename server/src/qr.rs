//! Links as QR codes (ISO/IEC 18004), for a device that cannot be typed on easily.

use std::fmt::Write;

use qrcodegen::{QrCode, QrCodeEcc};

/// Modules of quiet ground round the code, as the standard asks.
const QUIET: i32 = 4;

/// A link as a QR code: an SVG picture whose unit is a module. Empty when it is longer than any code can hold.
pub(crate) fn svg(link: &str) -> String {
    let Ok(code) = QrCode::encode_text(link, QrCodeEcc::Medium) else {
        return String::new();
    };
    let mut dark = String::new();
    for y in 0..code.size() {
        let is_dark = |x: &i32| code.get_module(*x, y);
        let mut x = 0;
        while let Some(from) = (x..code.size()).find(is_dark) {
            // beyond the edge every module is light
            let wide = (from..).take_while(is_dark).map(|_| 1).sum::<i32>();
            let _ = write!(dark, "M{} {}h{wide}v1h-{wide}z", from + QUIET, y + QUIET);
            x = from + wide;
        }
    }
    let whole = code.size() + 2 * QUIET;
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {whole} {whole}\" role=\"img\">\
         <rect width=\"{whole}\" height=\"{whole}\" fill=\"#fff\"/><path d=\"{dark}\" fill=\"#000\"/></svg>"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_link_is_drawn_with_its_finders_and_quiet_ground() {
        let link = "https://games.example/#device=0123456789abcdef.00";
        let svg = svg(link);
        // the finder in the corner: a ring seven modules wide, and a square of three in it
        for run in ["M4 4h7v1", "M4 5h1v1", "M10 5h1v1", "M6 6h3v1", "M4 10h7v1"] {
            assert!(svg.contains(run), "{run} in {svg}");
        }
        assert!(!svg.contains("M11 4h") && !svg.contains("M3 "));
        assert!(
            !svg.contains(link),
            "no secret stands in the picture as text"
        );
        assert_eq!(super::svg(&"x".repeat(10_000)), "");
    }
}
