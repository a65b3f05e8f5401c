//! Corrections: the umpire puts a unit where it should stand.

use std::fmt;

use crate::game::{Event, Game, State};
use crate::geometry::{Footprint, Pose, signed_distance_mm};
use crate::orders::UnitId;
use crate::verdict::rounding::amount;

/// Why a unit cannot be put somewhere, in words for the umpire by [`Display`](fmt::Display).
#[derive(Debug, Clone, PartialEq)]
pub enum CorrectionFault {
    /// Neither order of battle has such a unit.
    NoSuchUnit(UnitId),
    /// It has not arrived yet, or is gone.
    NotOnTable(UnitId),
    /// It would stand partly off the table.
    OffTable {
        /// The unit that is put there.
        unit: UnitId,
        /// How far its farthest corner would be outside, in millimetres.
        off_mm: f64,
    },
    /// It would stand on another unit.
    Overlaps {
        /// The unit that is put there.
        unit: UnitId,
        /// The unit that stands there.
        other: UnitId,
        /// How far one would have to be pushed off the other, in millimetres.
        overlap_mm: f64,
    },
}

impl fmt::Display for CorrectionFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoSuchUnit(unit) => write!(f, "no order of battle has a unit {unit}"),
            Self::NotOnTable(unit) => write!(f, "{unit} is not on the table"),
            Self::OffTable { unit, off_mm } => write!(
                f,
                "there {unit} would stand {} mm off the table",
                amount(*off_mm)
            ),
            Self::Overlaps {
                unit,
                other,
                overlap_mm,
            } => write!(
                f,
                "there {unit} would overlap {other} by {} mm",
                amount(*overlap_mm)
            ),
        }
    }
}

impl std::error::Error for CorrectionFault {}

/// The event that puts a standing unit elsewhere. No path is measured, for no move is made; but where it is
/// put it must stand on the table and overlap no other unit by more than the tolerance.
///
/// # Errors
/// What is in the way, with its measurement.
pub fn correct(
    game: &Game,
    unit: &UnitId,
    to: Pose,
    reason: &str,
) -> Result<Event, CorrectionFault> {
    let Some(moved) = game.unit(unit) else {
        return Err(CorrectionFault::NoSuchUnit(unit.clone()));
    };
    if !matches!(moved.state, State::Standing(_)) {
        return Err(CorrectionFault::NotOnTable(unit.clone()));
    }
    let tolerance_mm = game.ruleset().scale.tolerance_mm;
    let footprint = Footprint::new(&to.placement(), moved.block());
    let off_mm = -game.ground().table.margin_mm(&footprint);
    if off_mm > tolerance_mm {
        return Err(CorrectionFault::OffTable {
            unit: unit.clone(),
            off_mm,
        });
    }
    for other in game.on_table().filter(|other| other.id != *unit) {
        let Some(ground) = other.footprint() else {
            continue;
        };
        let overlap_mm = -signed_distance_mm(&footprint, &ground);
        if overlap_mm > tolerance_mm {
            return Err(CorrectionFault::Overlaps {
                unit: unit.clone(),
                other: other.id.clone(),
                overlap_mm,
            });
        }
    }
    Ok(Event::PositionCorrected {
        unit: unit.clone(),
        to,
        reason: reason.to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::referee::testing::{game, pair, rules};

    #[test]
    fn a_unit_is_put_where_there_is_room() {
        let units = vec![
            pair("r1", "foot", (600.0, 600.0, 0.0)),
            pair("b1", "foot", (600.0, 700.0, 180.0)),
        ];
        let game = game(rules(), units);
        let put = |unit: &str, x, y| {
            let pose = Pose::from_mm_deg(x, y, 90.0).expect("a pose");
            correct(&game, &UnitId::from(unit), pose, "it slipped")
        };
        let event = put("r1", 604.0, 590.0).expect("room");
        let mut after = game.clone();
        after.apply(&event);
        let pose = after
            .unit(&UnitId::from("r1"))
            .and_then(crate::game::Unit::pose);
        assert_eq!(pose, Pose::from_mm_deg(604.0, 590.0, 90.0));
        let overlapping = put("r1", 600.0, 700.0).expect_err("taken");
        assert!(
            overlapping.to_string().contains("overlap b1 by"),
            "{overlapping}"
        );
        let off = put("r1", 0.0, 600.0).expect_err("off");
        assert!(off.to_string().contains("mm off the table"), "{off}");
        let unknown = put("r9", 600.0, 600.0).expect_err("nobody");
        assert_eq!(unknown, CorrectionFault::NoSuchUnit("r9".into()));
    }
}
