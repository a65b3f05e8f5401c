//! The score as it would be counted now, what is still worth points, and who must attack whom.

use fieldpost_rules::game::{Game, Score, marks};
use fieldpost_rules::referee::stakes::{ExitStake, GroundStake, Stakes, must_attack, stakes};
use fieldpost_rules::referee::victory::scores;
use fieldpost_rules::sanitize::{capital, listed, plain};
use fieldpost_rules::scenario::Victory;
use fieldpost_rules::verdict::rounding::{amount, tenths};

use super::points;
use crate::compass;
use crate::places::side_name;

/// The score in a line: "Points now: Reds 12, Blues 4".
#[must_use]
pub fn score(game: &Game) -> String {
    let of_sides = scores(game);
    let each = of_sides.iter().enumerate();
    let each = each.map(|(side, score)| format!("{} {}", side_name(game, side), counted(score)));
    format!("Points now: {}.", each.collect::<Vec<_>>().join(", "))
}

/// A total, and what it is made of where it is made of more than one thing.
fn counted(score: &Score) -> String {
    let parts = [
        (score.losses, "for losses"),
        (score.exits, "for exits"),
        (score.ground, "for ground"),
    ];
    let parts = parts.into_iter().filter(|(points, _)| *points != 0.0);
    let parts: Vec<String> = parts
        .map(|(points, what)| format!("{} {what}", amount(points)))
        .collect();
    match parts.as_slice() {
        [] | [_] => amount(score.total),
        more => format!("{} ({})", amount(score.total), more.join(", ")),
    }
}

/// What is still worth points to each side, a line a side. Nothing once the battle is over.
#[must_use]
pub fn still_worth(game: &Game) -> Vec<String> {
    let of_sides = stakes(game);
    let each = of_sides.iter().enumerate();
    each.map(|(side, stakes)| {
        let name = side_name(game, side);
        let worth = worth(game, stakes);
        match worth.as_slice() {
            [] => format!("Nothing more is worth points to {name}."),
            some => format!("Still worth points to {name}: {}.", some.join("; ")),
        }
    })
    .collect()
}

fn worth(game: &Game, stakes: &Stakes) -> Vec<String> {
    let mut worth = Vec::new();
    if stakes.enemy_strength * stakes.points_per_strength > 0.0 {
        worth.push(format!(
            "enemy strength, {} left, at {} each",
            amount(stakes.enemy_strength),
            points(stakes.points_per_strength)
        ));
    }
    if stakes.enemy_commanders > 0 && stakes.points_per_commander > 0.0 {
        let noun = match stakes.enemy_commanders {
            1 => "enemy commander",
            _ => "enemy commanders",
        };
        worth.push(format!(
            "{} {noun}, {} each",
            stakes.enemy_commanders,
            points(stakes.points_per_commander)
        ));
    }
    worth.extend(stakes.ground.iter().map(|ground| of_ground(game, ground)));
    let exits = stakes.exits.iter();
    worth.extend(exits.filter(|exit| exit.strength > 0.0).map(of_exit));
    worth
}

fn of_ground(game: &Game, ground: &GroundStake) -> String {
    let holder = ground.holder.as_ref();
    let holder = holder.and_then(|side| game.side_index(side));
    let holder = holder.map_or("nobody".to_owned(), |side| side_name(game, side));
    format!(
        "{}, {}, held by {holder}",
        plain(&ground.name),
        points(ground.points)
    )
}

fn of_exit(exit: &ExitStake) -> String {
    format!(
        "leaving by the {} edge, {}–{} cm, {} for each strength point",
        compass::edge(exit.edge),
        amount(exit.from_mm / 10.0),
        amount(exit.to_mm / 10.0),
        points(exit.points_per_strength)
    )
}

/// What enemy losses are worth, in a line; nothing where they are worth nothing.
pub(crate) fn worth_of_losses(victory: &Victory) -> Option<String> {
    let each = [
        (victory.points_per_strength, "strength point lost"),
        (victory.points_per_commander, "commander lost"),
    ];
    let each = each.into_iter().filter(|(worth, _)| *worth > 0.0);
    let each: Vec<String> = each
        .map(|(worth, what)| format!("each enemy {what}: {}", points(worth)))
        .collect();
    (!each.is_empty()).then(|| capital(&format!("{}.", each.join("; "))))
}

/// Who must attack whom as the table stands, a line; nothing where nobody must.
#[must_use]
pub fn attacks_due(game: &Game) -> Option<String> {
    let marks = marks(game);
    let called = |unit| marks.get(unit).cloned().unwrap_or_default();
    let pairs: Vec<String> = must_attack(game)
        .iter()
        .map(|due| {
            format!(
                "{} must attack {}, {} mm away",
                called(&due.unit),
                called(&due.enemy),
                tenths(due.distance_mm)
            )
        })
        .collect();
    (!pairs.is_empty()).then(|| format!("As the table stands: {}.", listed(&pairs)))
}

/// All of this, a sentence a line, with how many game turns are left.
#[must_use]
pub fn situation(game: &Game) -> Vec<String> {
    let mut lines = vec![score(game)];
    if game.ending().is_some() {
        return lines;
    }
    lines.extend(still_worth(game));
    let last = game.scenario().game_turns;
    lines.push(match last.saturating_sub(game.game_turn()) {
        0 => "This is the last game turn.".to_owned(),
        1 => "One more game turn follows this one.".to_owned(),
        more => format!("{more} more game turns follow this one."),
    });
    lines.extend(attacks_due(game));
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;

    #[test]
    fn what_a_player_wants_to_know_is_told_a_sentence_a_line() {
        insta::assert_snapshot!(situation(&sample::game()).join("\n"));
    }
}
