//! Corrections: the umpire puts units where they should stand.

use std::fmt;

use crate::game::{Event, Game, State};
use crate::geometry::{Footprint, Pose, signed_distance_mm};
use crate::orders::UnitId;
use crate::verdict::rounding::amount;

/// Why units cannot be put somewhere, in words for the umpire by [`Display`](fmt::Display).
#[derive(Debug, Clone, PartialEq)]
pub enum CorrectionFault {
    /// No unit was named.
    Nobody,
    /// One unit was given two places.
    Twice(UnitId),
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
            Self::Nobody => f.write_str("no unit was named"),
            Self::Twice(unit) => write!(f, "{unit} was given two places"),
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

/// The events that put standing units elsewhere, all of them or none. No path is measured, for no move is made; but
/// where they are put they must stand on the table, and overlap no unit by more than the tolerance where all then stand:
/// so two may change places.
///
/// # Errors
/// What is in the way, with its measurement.
pub fn correct(
    game: &Game,
    units: &[(UnitId, Pose)],
    reason: &str,
) -> Result<Vec<Event>, CorrectionFault> {
    if units.is_empty() {
        return Err(CorrectionFault::Nobody);
    }
    let mut put: Vec<(&UnitId, Footprint)> = Vec::with_capacity(units.len());
    for (unit, to) in units {
        if put.iter().any(|(other, _)| *other == unit) {
            return Err(CorrectionFault::Twice(unit.clone()));
        }
        put.push((unit, set_down(game, unit, *to)?));
    }
    let standing = game
        .on_table()
        .filter(|other| put.iter().all(|(unit, _)| **unit != other.id))
        .filter_map(|other| Some((&other.id, other.footprint()?)));
    let all: Vec<(&UnitId, Footprint)> = put.iter().cloned().chain(standing).collect();
    for (index, (unit, footprint)) in put.iter().enumerate() {
        for (other, ground) in &all[index + 1..] {
            let overlap_mm = -signed_distance_mm(footprint, ground);
            if overlap_mm > game.ruleset().scale.tolerance_mm {
                return Err(CorrectionFault::Overlaps {
                    unit: (*unit).clone(),
                    other: (*other).clone(),
                    overlap_mm,
                });
            }
        }
    }
    let corrected = units.iter().map(|(unit, to)| Event::PositionCorrected {
        unit: unit.clone(),
        to: *to,
        reason: reason.to_owned(),
    });
    Ok(corrected.collect())
}

/// Whether the umpire may put a unit there, whoever else stands there: it stands already, and stays on the table.
pub(crate) fn may_stand(game: &Game, unit: &UnitId, to: Pose) -> Result<(), CorrectionFault> {
    set_down(game, unit, to).map(|_| ())
}

/// The ground that a standing unit would cover, on the table.
fn set_down(game: &Game, unit: &UnitId, to: Pose) -> Result<Footprint, CorrectionFault> {
    let Some(moved) = game.unit(unit) else {
        return Err(CorrectionFault::NoSuchUnit(unit.clone()));
    };
    if !matches!(moved.state, State::Standing(_)) {
        return Err(CorrectionFault::NotOnTable(unit.clone()));
    }
    let footprint = Footprint::new(&to.placement(), moved.block());
    let off_mm = -game.ground().table.margin_mm(&footprint);
    if off_mm > game.ruleset().scale.tolerance_mm {
        return Err(CorrectionFault::OffTable {
            unit: unit.clone(),
            off_mm,
        });
    }
    Ok(footprint)
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
            correct(&game, &[(UnitId::from(unit), pose)], "it slipped")
        };
        let events = put("r1", 604.0, 590.0).expect("room");
        let mut after = game.clone();
        events.iter().for_each(|event| after.apply(event));
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
    #[test]
    fn units_are_put_together_or_not_at_all() {
        let units = vec![
            pair("r1", "foot", (600.0, 600.0, 0.0)),
            pair("r2", "foot", (700.0, 600.0, 0.0)),
            pair("b1", "foot", (600.0, 900.0, 180.0)),
        ];
        let game = game(rules(), units);
        let put = |places: &[(&str, f64)]| {
            let places: Vec<(UnitId, Pose)> = places
                .iter()
                .map(|(unit, x_mm)| {
                    let pose = Pose::from_mm_deg(*x_mm, 600.0, 0.0).expect("a pose");
                    (UnitId::from(*unit), pose)
                })
                .collect();
            correct(&game, &places, "they slipped")
        };
        // two change places, which neither could alone
        let events = put(&[("r1", 700.0), ("r2", 600.0)]).expect("room for both");
        let mut after = game.clone();
        events.iter().for_each(|event| after.apply(event));
        let x_mm = |unit: &str| {
            let unit = after.unit(&UnitId::from(unit));
            unit.and_then(crate::game::Unit::pose)
                .expect("it stands")
                .x_mm()
        };
        assert_eq!((x_mm("r1"), x_mm("r2")), (700.0, 600.0));
        let onto_another = put(&[("r1", 700.0)]).expect_err("taken");
        assert!(onto_another.to_string().contains("r1 would overlap r2"));
        let onto_each_other = put(&[("r1", 650.0), ("r2", 670.0)]).expect_err("taken");
        assert!(onto_each_other.to_string().contains("r1 would overlap r2"));
        let second_off = put(&[("r1", 500.0), ("r2", 0.0)]).expect_err("off");
        assert!(matches!(second_off, CorrectionFault::OffTable { .. }));
        let twice = put(&[("r1", 500.0), ("r1", 510.0)]).expect_err("two places");
        assert_eq!(twice, CorrectionFault::Twice("r1".into()));
        assert_eq!(put(&[]), Err(CorrectionFault::Nobody));
    }
}
