//! Victory: who holds what, points, and when a battle is over.

use crate::game::{Cause, Ending, Game, Score, State};
use crate::geometry::{ARITHMETIC, Point, distance_point_footprint_mm};
use crate::orders::SideId;
use crate::scenario::Objective;
use serde::{Deserialize, Serialize};

use super::breaking;

/// What ended a battle, in the order in which the laws ask for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Manner {
    /// An army was broken, and that loses.
    Broken,
    /// A side had nobody left.
    NobodyLeft,
    /// A side had the points that win at once.
    PointsReached,
    /// The last game turn was over.
    LastTurn,
}

/// What ended a battle that is over; `None` while it lasts.
#[must_use]
pub fn manner(game: &Game) -> Option<Manner> {
    let ending = game.ending()?;
    let either = |holds: &dyn Fn(usize) -> bool| holds(0) || holds(1);
    let win_at = game.scenario().victory.win_at;
    let reached = |score: &Score| win_at.is_some_and(|points| score.total + ARITHMETIC >= points);
    Some(if either(&|side| breaking::has_lost(game, side)) {
        Manner::Broken
    } else if either(&|side| has_nobody(game, side)) {
        Manner::NobodyLeft
    } else if ending.scores.iter().any(reached) {
        Manner::PointsReached
    } else {
        Manner::LastTurn
    })
}

/// Whether a side had units and has none left, on the table or to come.
fn has_nobody(game: &Game, side: usize) -> bool {
    let units = || game.units().filter(|unit| unit.side == side);
    units().next().is_some() && units().all(|unit| matches!(unit.state, State::Gone(_)))
}

/// Who holds each objective now, by its place in the scenario: the side with strength within the
/// radius when the other has none there. Where neither is, or both are, a place that `keeps`
/// stays with its last holder; another is its `held_by`'s when empty and nobody's when disputed.
#[must_use]
pub fn holders(game: &Game) -> Vec<Option<SideId>> {
    game.scenario()
        .objective
        .iter()
        .enumerate()
        .map(|(index, objective)| holder(game, index, objective).map(|side| game.side_id(side)))
        .collect()
}

fn holder(game: &Game, index: usize, objective: &Objective) -> Option<usize> {
    let at = Point::new(objective.at[0], objective.at[1]);
    let within_mm = objective.radius_mm + game.ruleset().scale.tolerance_mm;
    let mut present = [false; 2];
    for unit in game.on_table().filter(|unit| unit.has_strength()) {
        if let (Some(side), Some(ground)) = (present.get_mut(unit.side), unit.footprint()) {
            *side |= distance_point_footprint_mm(at, &ground) <= within_mm;
        }
    }
    match present {
        [true, false] => Some(0),
        [false, true] => Some(1),
        _ if objective.keeps => game.holders().get(index).copied().flatten(),
        [true, true] => None,
        [false, false] => {
            let side = objective.held_by.as_deref().map(SideId::from);
            side.and_then(|side| game.side_index(&side))
        }
    }
}

/// The points of both sides as the table stands, in the order of the scenario's sides.
#[must_use]
pub fn scores(game: &Game) -> [Score; 2] {
    let holders = holders(game);
    [0, 1].map(|side| {
        let losses = points_for_losses(game, 1 - side);
        let exits = game.exit_points()[side];
        let key = game.side_id(side);
        let mut ground = 0.0;
        for (objective, holder) in game.scenario().objective.iter().zip(&holders) {
            if holder.as_ref() == Some(&key) {
                ground += objective.points;
            }
        }
        Score {
            side: key,
            losses,
            exits,
            ground,
            total: losses + exits + ground,
        }
    })
}

/// What a side's losses are worth to the other. Units that left over an exit are not lost.
fn points_for_losses(game: &Game, side: usize) -> f64 {
    let victory = &game.scenario().victory;
    let mut points = 0.0;
    for unit in game.units().filter(|unit| unit.side == side) {
        points += breaking::strength_lost(unit) * victory.points_per_strength;
        let is_lost = matches!(unit.state, State::Gone(cause) if cause != Cause::Exited);
        if unit.is_commander() && is_lost {
            points += victory.points_per_commander;
        }
    }
    points
}

/// How the battle ends now, if it does. At any time: a side with no unit left, on the table or to
/// come, or whose army is broken where that loses. `after_player_turn`, when the event that closes
/// a player turn has just been applied, also: points that win at once, and the last game turn over.
#[must_use]
pub fn ending(game: &Game, after_player_turn: bool) -> Option<Ending> {
    let scores = scores(game);
    if let Some(ending) = defeat(game, &scores) {
        return Some(ending);
    }
    if !after_player_turn {
        return None;
    }
    let win_at = game.scenario().victory.win_at;
    let reached = |score: &&Score| win_at.is_some_and(|points| score.total + ARITHMETIC >= points);
    if let Some(first) = scores.iter().find(reached) {
        let why = if scores.iter().filter(reached).count() == 2 {
            "Both sides have the points that win at once; the lead decides".to_owned()
        } else {
            format!("{} has the points that win at once", first.side)
        };
        let winner = match scores.iter().filter(reached).count() {
            2 => leader(&scores, 0.0),
            _ => Some(first.side.clone()),
        };
        return Some(made(winner, why, &scores));
    }
    let last = game.game_turn() > game.scenario().game_turns;
    last.then(|| {
        let margin = game.scenario().victory.draw_within;
        let winner = leader(&scores, margin);
        made(winner, "The last game turn is over".to_owned(), &scores)
    })
}

/// A side that has nobody left, or whose army breaks and loses by it. When both have, points
/// decide; they decide too when a side has nobody left because units of it left over an exit.
fn defeat(game: &Game, scores: &[Score; 2]) -> Option<Ending> {
    let decide = |lost: [bool; 2], why: &dyn Fn(usize) -> String| match lost {
        [true, true] => Some(made(
            leader(scores, game.scenario().victory.draw_within),
            format!("{}; {}; points decide", why(0), why(1)),
            scores,
        )),
        [true, false] => Some(made(Some(game.side_id(1)), why(0), scores)),
        [false, true] => Some(made(Some(game.side_id(0)), why(1), scores)),
        [false, false] => None,
    };
    let broken = [0, 1].map(|side| breaking::has_lost(game, side));
    let percent = |side| (breaking::share_lost(game, side) * 100.0).round();
    let ending = decide(broken, &|side| {
        format!(
            "The army of {} is broken: {} % of its strength is lost",
            game.side_id(side),
            percent(side)
        )
    });
    if ending.is_some() {
        return ending;
    }
    let units = |side: usize| game.units().filter(move |unit| unit.side == side);
    let nobody = [0, 1].map(|side| has_nobody(game, side));
    let marched_off = (0..2).any(|side| {
        nobody[side] && units(side).any(|unit| unit.state == State::Gone(Cause::Exited))
    });
    let why = |side: usize| format!("{} has no unit left", game.side_id(side));
    if marched_off {
        let side = usize::from(!nobody[0]);
        let winner = leader(scores, game.scenario().victory.draw_within);
        return Some(made(
            winner,
            format!("{}; points decide", why(side)),
            scores,
        ));
    }
    decide(nobody, &why)
}

/// The side ahead in points; nobody when the lead is less than the margin, or nothing.
fn leader(scores: &[Score; 2], margin: f64) -> Option<SideId> {
    let lead = scores[0].total - scores[1].total;
    if lead.abs() <= ARITHMETIC || lead.abs() + ARITHMETIC < margin {
        None
    } else if lead > 0.0 {
        Some(scores[0].side.clone())
    } else {
        Some(scores[1].side.clone())
    }
}

fn made(winner: Option<SideId>, why: String, scores: &[Score; 2]) -> Ending {
    Ending {
        winner,
        why,
        scores: scores.to_vec(),
    }
}
