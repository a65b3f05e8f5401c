//! What would look silly, looked for in every sheet of whole battles.

use fieldpost_rules::game::{Game, Unit};
use fieldpost_rules::geometry::distance_point_footprint_mm;
use fieldpost_rules::orders::{Leg, Order, TurnSheet};
use fieldpost_rules::referee::{judge_sheet, table_after_moves};
use fieldpost_rules::shipped;

use super::fight_watched;
use crate::{goals, ways};

/// Shows every sheet of some battles with the table before it and as its moves leave it.
fn watch(mut look: impl FnMut(&str, &Game, &TurnSheet, &Game)) {
    for shipped in shipped::SCENARIOS {
        for seed in 0..6 {
            fight_watched(shipped.key, seed, |before, sheet| {
                let verdict = judge_sheet(before, sheet);
                let after = table_after_moves(before, sheet, &verdict);
                let at = format!("{} {seed}, game turn {}", shipped.key, before.game_turn());
                look(&at, before, sheet, &after);
            });
        }
    }
}

fn own(game: &Game) -> impl Iterator<Item = &Unit> {
    let side = game.player();
    game.on_table().filter(move |unit| unit.side == side)
}

#[test]
fn what_is_held_and_threatened_is_not_walked_away_from() {
    let mut kept = 0;
    watch(|at, before, _, after| {
        for unit in own(before) {
            let Some(objective) = goals::kept(before, unit) else {
                continue;
            };
            let place = goals::middle(objective);
            let is_there = |unit: &Unit| {
                unit.has_strength()
                    && unit.footprint().is_some_and(|ground| {
                        distance_point_footprint_mm(place, &ground) <= objective.radius_mm
                    })
            };
            assert!(
                own(after).any(is_there),
                "{at}: {} left {}",
                unit.id,
                objective.name
            );
            kept += 1;
        }
    });
    assert!(kept > 100, "{kept}");
}

#[test]
fn no_back_is_turned_on_an_enemy_near_by() {
    let mut near = 0;
    watch(|at, before, _, after| {
        for unit in own(after) {
            let (Some(was), Some(ground)) = (
                before.unit(&unit.id).and_then(Unit::footprint),
                unit.footprint(),
            ) else {
                continue;
            };
            let [then, now] = [(before, was), (after, ground)]
                .map(|(game, ground)| ways::behind(game, unit, &ground));
            assert!(now <= then, "{at}: {} turns its back", unit.id);
            near += usize::from(then > 0);
        }
    });
    assert!(
        near > 0,
        "nobody ever had an enemy behind: the trial looks at nothing"
    );
}

#[test]
fn no_wheel_is_ordered_that_brings_nothing() {
    let mut wheels = 0;
    watch(|at, before, sheet, after| {
        for order in &sheet.orders {
            let Order::Move { unit, legs } = order else {
                continue;
            };
            let stands = |game: &Game| game.unit(unit).and_then(Unit::footprint);
            let (Some(was), Some(is)) = (stands(before), stands(after)) else {
                continue;
            };
            assert!(ways::is_worth_it(&was, &is), "{at}: {unit} {legs:?}");
            wheels += usize::from(matches!(legs[0], Leg::Wheel { .. }));
        }
    });
    assert!(wheels > 100, "{wheels}");
}
