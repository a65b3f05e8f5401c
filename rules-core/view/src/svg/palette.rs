//! The look: inks and papers of a printed map, and two sides that every eye can tell apart.
//!
//! The sides differ in three ways, so that colour is never the only one: hue (a brick red and a
//! deep blue stay apart for all common kinds of colour blindness), the plate of the unit symbol
//! (light with dark ink for the first side, dark with light ink for the second), and the front
//! arrow (filled for the first, open for the second).

use fieldpost_rules::game::Game;

/// Paper round the map.
pub(super) const PAPER: &str = "#f7f2e4";
/// Open ground.
pub(super) const OPEN: &str = "#ebe7cd";
/// Main ink.
pub(super) const INK: &str = "#2e2a25";
/// Edge round lettering that parts it from the ground.
pub(super) const HALO: &str = "#f6f1df";
/// Lighter ink for rules and ticks.
pub(super) const FAINT: &str = "#8b8271";
/// Ink of place names.
pub(super) const PLACE: &str = "#4d4333";
/// Ink of the names of waters.
pub(super) const WATER_INK: &str = "#3b6a80";
/// Running and standing water.
pub(super) const WATER: &str = "#b4d0d8";
/// Banks.
pub(super) const BANK: &str = "#5d8ea3";
/// What a refused measure is drawn with: neither side's colour.
pub(super) const REFUSED: &str = "#7a1f6e";
/// What a legal measure is drawn with.
pub(super) const ALLOWED: &str = "#1f6b4f";
/// A tape on open ground.
pub(super) const TAPE: &str = "#4c7d4f";
/// A tape on a road.
pub(super) const TAPE_ON_ROAD: &str = "#9a7b45";
/// A tape on slow ground.
pub(super) const TAPE_SLOW: &str = "#b8862b";
/// A tape on ground that charges more than double.
pub(super) const TAPE_SLOWEST: &str = "#a3481f";
/// Highlights.
pub(super) const GLOW: &str = "#f2b32c";

/// The inks of one side.
#[derive(Debug, Clone)]
pub(super) struct Side {
    /// Its bases.
    pub(super) body: String,
    /// Its outlines, lettering and front edge.
    pub(super) dark: String,
    /// Its bases in the picture's quiet parts: ghosts, deployment.
    pub(super) pale: String,
    /// Ground of its symbol plate.
    pub(super) plate: String,
    /// Ink of its symbol.
    pub(super) symbol: String,
    /// Whether its front arrow is filled.
    pub(super) filled: bool,
}

/// Both sides' inks: the scenario's colours where it gives any that can be read.
pub(super) fn sides(game: &Game) -> [Side; 2] {
    let defaults = [(196, 88, 62), (70, 111, 158)];
    [0, 1].map(|index| {
        let given = game.scenario().side[index].colour.as_deref();
        let body = given.and_then(parsed).unwrap_or(defaults[index]);
        let dark = mixed(body, (20, 16, 14), 45);
        let pale = mixed(body, (250, 246, 234), 60);
        let light = mixed(body, (255, 253, 246), 88);
        let (plate, symbol) = if index == 0 {
            (light, mixed(body, (14, 10, 8), 70))
        } else {
            (mixed(body, (14, 14, 18), 60), light)
        };
        Side {
            body: hex(body),
            dark: hex(dark),
            pale: hex(pale),
            plate: hex(plate),
            symbol: hex(symbol),
            filled: index == 0,
        }
    })
}

type Rgb = (u8, u8, u8);

/// Reads `#rrggbb`.
fn parsed(colour: &str) -> Option<Rgb> {
    let digits = colour.strip_prefix('#')?;
    if digits.len() != 6 || !digits.bytes().all(|b| b.is_ascii_hexdigit()) {
        return None;
    }
    let part = |at: usize| u8::from_str_radix(digits.get(at..at + 2)?, 16).ok();
    Some((part(0)?, part(2)?, part(4)?))
}

/// A colour with some hundredths of another in it.
fn mixed(first: Rgb, second: Rgb, hundredths: u16) -> Rgb {
    let part = |a: u8, b: u8| {
        let sum = u16::from(a) * (100 - hundredths) + u16::from(b) * hundredths;
        u8::try_from(sum / 100).unwrap_or(u8::MAX)
    };
    (
        part(first.0, second.0),
        part(first.1, second.1),
        part(first.2, second.2),
    )
}

fn hex(colour: Rgb) -> String {
    format!("#{:02x}{:02x}{:02x}", colour.0, colour.1, colour.2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_six_hex_digits_are_a_colour() {
        assert_eq!(parsed("#0a0B0c"), Some((10, 11, 12)));
        for bad in [
            "red",
            "#fff",
            "#12345g",
            "\"/><script>",
            "#1234567",
            "#+12345",
        ] {
            assert_eq!(parsed(bad), None, "{bad}");
        }
    }

    /// Relative luminance by the WCAG 2.1 formula is close to each channel's 2.2 power weighted;
    /// here it is enough that the two plates differ strongly in plain weighted light.
    #[test]
    fn the_plates_differ_in_light_as_well_as_hue() {
        let sides = sides(&super::super::super::sample::game());
        let light = |colour: &str| {
            let (r, g, b) = parsed(colour).unwrap();
            0.2126 * f64::from(r) + 0.7152 * f64::from(g) + 0.0722 * f64::from(b)
        };
        assert!(light(&sides[0].plate) - light(&sides[1].plate) > 120.0);
    }
}
