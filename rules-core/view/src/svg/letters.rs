//! How wide a text will be, before anyone draws it.

use fieldpost_rules::geometry::larger;

/// Advance widths of the printing ASCII characters in thousandths of the type size: the wider
/// of DejaVu Sans and DejaVu Serif, read from the fonts' own `hmtx` tables. They are among the
/// widest text faces, so a text in another face hardly ever comes out wider.
const ADVANCE: [u16; 95] = [
    318, 402, 460, 838, 636, 950, 890, 275, 390, 390, 500, 838, 318, 361, 318, 337, 636, 636, 636,
    636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 536, 1000, 722, 735, 765, 802, 730,
    694, 799, 872, 395, 401, 747, 664, 1024, 875, 820, 673, 820, 753, 685, 667, 843, 722, 1028,
    712, 660, 695, 390, 337, 390, 838, 500, 500, 613, 640, 560, 640, 615, 370, 640, 644, 320, 310,
    606, 320, 974, 644, 612, 640, 640, 478, 521, 402, 644, 592, 856, 592, 592, 527, 636, 337, 636,
    838,
];

/// Bold letters are this much wider.
const BOLD: f64 = 1.14;

fn advance(letter: char) -> f64 {
    let code = u32::from(letter);
    let thousandths = match code {
        32..=126 => ADVANCE[usize::try_from(code - 32).unwrap_or(0)],
        // accents add no width to speak of; capitals of the Latin blocks are within this
        0xa0..=0x24f => 760,
        0x250..=0x10ff => 900,
        0x300a..=0xffff | 0x10000.. => 1050,
        _ => 1000,
    };
    f64::from(thousandths) / 1000.0
}

/// Width of a text in pixels at a type size.
pub(super) fn width(text: &str, size: f64, bold: bool) -> f64 {
    let mut sum = 0.0;
    for letter in text.chars() {
        sum += advance(letter);
    }
    sum * size * if bold { BOLD } else { 1.0 }
}

/// The text cut so that it is no wider than some pixels, with an ellipsis where it was cut.
pub(super) fn fitted(text: &str, size: f64, bold: bool, room: f64) -> String {
    if width(text, size, bold) <= room {
        return text.to_owned();
    }
    let mut kept = String::new();
    for letter in text.chars() {
        let longer = format!("{kept}{letter}…");
        if width(&longer, size, bold) > room {
            break;
        }
        kept.push(letter);
    }
    format!("{}…", kept.trim_end())
}

/// The text broken at spaces into lines no wider than some pixels; a longer word stands alone, cut.
pub(super) fn wrapped(text: &str, size: f64, bold: bool, room: f64) -> Vec<String> {
    let room = larger(room, size * 3.0);
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let longer = if line.is_empty() {
            word.to_owned()
        } else {
            format!("{line} {word}")
        };
        if width(&longer, size, bold) <= room {
            line = longer;
        } else {
            if !line.is_empty() {
                lines.push(line);
            }
            line = fitted(word, size, bold, room);
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_fitted_fits() {
        let name = "Captain-General Wynne & Staff";
        let cut = fitted(name, 12.0, true, 100.0);
        assert!(cut.ends_with('…') && width(&cut, 12.0, true) <= 100.0);
        assert_eq!(fitted("Foot", 12.0, false, 100.0), "Foot");
    }

    #[test]
    fn wrapping_keeps_every_word() {
        let text = "It costs 247.3 mm of an allowance of 200.0 mm, 47.3 mm too much.";
        let lines = wrapped(text, 12.0, false, 150.0);
        assert!(lines.len() > 1);
        assert_eq!(lines.join(" "), text);
        for line in lines {
            assert!(width(&line, 12.0, false) <= 150.0);
        }
    }
}
