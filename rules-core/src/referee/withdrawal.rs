//! Fighting withdrawal: a locked unit breaks contact at a price.

use crate::dice::Throws;
use crate::game::{Event, Game};
use crate::orders::UnitId;
use crate::verdict::{Code, Reason};

use super::zones;

/// Why a unit cannot withdraw: the rules have no such law, or no enemy holds it.
pub(super) fn reason(game: &Game, id: &UnitId) -> Option<Reason> {
    if game.ruleset().withdrawal.is_none() {
        return Some(
            Reason::count(Code::NotPossible, 1, 0)
                .with(id.0.clone())
                .note("the ruleset has no [withdrawal], so locked units cannot break contact"),
        );
    }
    let unit = game.unit(id)?;
    let footprint = unit.footprint()?;
    let held = zones::zoned_enemies(game, unit.side).any(|(enemy, ground)| {
        let depth = zones::HaltZone::of(game.ruleset(), ground).depth(&footprint);
        zones::begins_in(game.ruleset(), unit, &enemy.id, depth.mm)
    });
    if held {
        return None;
    }
    let note = "it is in no enemy halt zone and may simply move";
    let zone_mm = zones::halt_zone_mm(game.ruleset());
    Some(
        match zones::nearest_zoned_enemy(game, unit.side, &footprint) {
            Some((enemy, distance_mm)) => {
                Reason::length_over(Code::NotPossible, zone_mm, distance_mm, 0.0)
                    .with(enemy.id.0.clone())
                    .note(note)
            }
            None => Reason::count(Code::NotPossible, 1, 0)
                .with(id.0.clone())
                .note(note),
        },
    )
}

/// Label of a unit's throw for withdrawing: what the dice of the second form are derived for.
pub(crate) fn label(unit: &UnitId) -> String {
    format!("withdrawal {unit}")
}

/// The throw for a withdrawal and what it costs. A commander, having no troops to leave behind, pays
/// nothing, and nothing is thrown for him.
pub(super) fn price(game: &Game, id: &UnitId, throws: &mut Throws) -> Option<Event> {
    let law = game.ruleset().withdrawal.as_ref()?;
    let unit = game.unit(id).filter(|unit| !unit.is_commander())?;
    let thrown = throws.throw(&label(id), 1, law.faces);
    let throw = thrown.first().copied().unwrap_or(0);
    let loses = if throw <= law.costs_up_to {
        law.loses
    } else {
        0
    };
    let lost = u16::try_from(loses).unwrap_or(u16::MAX).min(unit.bases);
    Some(Event::Withdrew {
        unit: id.clone(),
        throw,
        lost,
    })
}
