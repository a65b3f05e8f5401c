//! Lines under a unit, and which of them it has paid for (laws of measurement, §4).

use crate::game::{Game, GroundLine, LinesPaid, Unit};
use crate::geometry::{Footprint, is_near_line};
use crate::ruleset::ChargeLines;

use super::zones::TOUCH_MM;

/// Whether a footprint is not clear of a line that charges.
pub(super) fn is_upon(footprint: &Footprint, line: &GroundLine) -> bool {
    line.charge_mm > 0.0 && is_near_line(footprint, &line.course, TOUCH_MM)
}

/// Whether a unit that remembers so much has paid for the line at this place in the ground's list, while upon it.
pub(super) fn has_paid(remembered: &LinesPaid, place: usize) -> bool {
    match remembered {
        LinesPaid::All => true,
        LinesPaid::Only(paid) => paid.contains(&place),
    }
}

/// Names of the lines under a unit that it has paid for and does not pay for again until it has been clear of them; none
/// where every tape pays.
#[must_use]
pub fn lines_paid<'a>(game: &'a Game, unit: &Unit) -> Vec<&'a str> {
    let first_base = game.ruleset().movement.charge_lines == ChargeLines::FirstBase;
    let Some(footprint) = unit.footprint().filter(|_| first_base) else {
        return Vec::new();
    };
    let lines = game.ground().lines.iter().enumerate();
    lines
        .filter(|(place, line)| is_upon(&footprint, line) && has_paid(&unit.lines_paid, *place))
        .map(|(_, line)| line.name.as_str())
        .collect()
}
