//! What it is to pass a line at some place: owed, free, or by a crossing (laws of measurement, §4).

use crate::game::GroundLine;
use crate::geometry::{Contact, EPS_MM, Side, larger};
use crate::verdict::rounding::amount;

use super::Surroundings;
use super::slack::ARITHMETIC_MM;

/// What passing a line costs at one place; but for the charge with the reason why it costs nothing.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Passage {
    /// The line's charge.
    Owed,
    /// Nothing, and that counts as paid.
    Counts(String),
    /// Nothing, by the tolerance: it counts as paid, but where the charge could not have been paid that is marginal.
    Granted(String),
    /// Nothing, and that does not count as paid.
    Free(String),
}

impl Passage {
    /// What passing costs there. A crossing that is missed by no more than `tolerance_mm` is used.
    pub(super) fn of(
        around: &Surroundings<'_>,
        line: &GroundLine,
        contact: &Contact,
        from: Side,
        tolerance_mm: f64,
    ) -> Self {
        if line.kind.slope && from == Side::Left {
            return Self::Free("downhill".to_owned());
        }
        match nearest_crossing(around, line, contact) {
            Some((name, missed_mm)) if missed_mm <= EPS_MM => Self::Counts(name.to_owned()),
            Some((name, missed_mm)) if missed_mm <= tolerance_mm + ARITHMETIC_MM => {
                Self::Granted(format!("{name}, missed by {} mm", amount(missed_mm)))
            }
            _ => Self::Owed,
        }
    }
}

/// The bridge, ford, gap or road nearest to a contact, and by how many millimetres the contact misses it; of several that
/// it does not miss the first.
fn nearest_crossing<'a>(
    around: &Surroundings<'a>,
    line: &'a GroundLine,
    contact: &Contact,
) -> Option<(&'a str, f64)> {
    let spans = line.spans.iter().map(|span| {
        let off_mm = larger(
            span.from_mm - contact.along_mm,
            contact.along_mm - span.to_mm,
        );
        (span.name.as_str(), off_mm)
    });
    let roads = around.roads.iter().map(|road| {
        let off_mm = road.course.distance_mm(contact.at) - road.half_width_mm;
        (road.name.as_str(), off_mm)
    });
    spans.chain(roads).reduce(|nearest, other| {
        let is_nearer = other.1 < nearest.1 && nearest.1 > EPS_MM;
        if is_nearer { other } else { nearest }
    })
}
