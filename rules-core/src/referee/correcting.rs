//! Corrections: the umpire puts a unit where it should stand.

use crate::game::{Event, Game, State};
use crate::geometry::{Footprint, Pose, signed_distance_mm};
use crate::orders::UnitId;
use crate::verdict::rounding::amount;

/// The event that puts a standing unit elsewhere. No path is measured, for no move is made; but where it is
/// put it must stand on the table and overlap no other unit by more than the tolerance.
///
/// # Errors
/// What is in the way, with its measurement.
pub fn correct(game: &Game, unit: &UnitId, to: Pose, reason: &str) -> Result<Event, String> {
    let Some(moved) = game.unit(unit) else {
        return Err(format!("no order of battle has a unit {unit}"));
    };
    if !matches!(moved.state, State::Standing(_)) {
        return Err(format!("{unit} is not on the table"));
    }
    let tolerance_mm = game.ruleset().scale.tolerance_mm;
    let footprint = Footprint::new(&to.placement(), moved.block());
    let off_mm = -game.ground().table.margin_mm(&footprint);
    if off_mm > tolerance_mm {
        return Err(format!(
            "there {unit} would stand {} mm off the table",
            amount(off_mm)
        ));
    }
    for other in game.on_table().filter(|other| other.id != *unit) {
        let Some(ground) = other.footprint() else {
            continue;
        };
        let overlap_mm = -signed_distance_mm(&footprint, &ground);
        if overlap_mm > tolerance_mm {
            return Err(format!(
                "there {unit} would overlap {} by {} mm",
                other.id,
                amount(overlap_mm)
            ));
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
        assert!(overlapping.contains("overlap b1 by"), "{overlapping}");
        let off = put("r1", 0.0, 600.0).expect_err("off");
        assert!(off.contains("mm off the table"), "{off}");
        assert!(put("r9", 600.0, 600.0).is_err());
    }
}
