//! News: what happened, as prose that a player reads over breakfast.

use super::agreement::{agreed, verb, verb_of};
use super::by_post;
use super::moves::moves;
use super::score::score;
use super::sentence::sentence;
use crate::compass;
use crate::places::{
    called, called_after_its_side, called_in_full, middle_of, near, owner, side_name,
};
use fieldpost_rules::game::{BattleReport, Cause, Event, Game, Push};
use fieldpost_rules::geometry::{Pose, TOUCH_MM};
use fieldpost_rules::orders::{SideId, UnitId};
use fieldpost_rules::referee::victory::scores;
use fieldpost_rules::ruleset::ResultsKind;
use fieldpost_rules::sanitize::{capital, listed, plain};
use fieldpost_rules::verdict::rounding::{UNSEEN, amount, tenths};

/// Events since a moment, told in order, an event a paragraph; `before` is the game as it stood
/// then. Events that say nothing to a player are left out.
#[must_use]
pub fn news(before: &Game, events: &[Event]) -> String {
    let mut game = before.clone();
    let mut told = Vec::new();
    for happened in events {
        let line = event(happened, &game);
        if !line.is_empty() {
            told.push(line);
        }
        game.apply(happened);
    }
    if told.is_empty() {
        "Nothing has happened.\n".to_owned()
    } else {
        format!("{}\n", told.join("\n"))
    }
}

/// One event in words, told to someone who sees the game as it stood just before it.
/// Empty for an event that a player need not hear of.
#[must_use]
pub fn event(event: &Event, game: &Game) -> String {
    let name = |id: &UnitId| called_in_full(game, id);
    let told = match event {
        Event::Opened { .. } => format!("The battle of {} is open.", plain(&game.scenario().name)),
        Event::SeatTaken { side, player, .. } => {
            format!("{} takes command of {}.", plain(player), named(side, game))
        }
        Event::InstructionsChanged { side, .. } => {
            let name = named(side, game);
            let changes = agreed(&name, "changes its", "change their");
            format!("{name} {changes} standing instructions; they stay sealed.")
        }
        Event::SheetAccepted { sheet, verdict } => moves(sheet, verdict, game),
        Event::Arrived { unit, pose } => {
            let name = name(unit);
            let stands = verb(
                unit,
                "has arrived and stands",
                "have arrived and stand",
                game,
            );
            format!("{name} {stands} {}.", standing(*pose))
        }
        Event::Left {
            unit,
            points: worth,
        } => {
            let name = name(unit);
            let leaves = verb(unit, "leaves", "leave", game);
            format!(
                "{name} {leaves} the table, worth {}.",
                super::points(*worth)
            )
        }
        Event::Withdrew { unit, throw, lost } => {
            let name = name(unit);
            let price = match lost {
                0 => format!("and {} away whole", verb(unit, "gets", "get", game)),
                lost => format!("and {} {}", verb(unit, "loses", "lose", game), bases(*lost)),
            };
            let breaks = verb(unit, "breaks", "break", game);
            format!("{name} {breaks} contact: throw {throw}, {price}.")
        }
        Event::BattleFought { report } => battle(report, game),
        Event::CommandersAttacked {
            attackers,
            commanders,
            ..
        } => alone(attackers, commanders, game),
        Event::GunsSilent { guns, why, .. } => format!(
            "{} {} silent: {}",
            names(guns, game),
            verb_of(guns, "stays", "stay", game),
            sentence(why)
        ),
        Event::BattleLapsed { order, why } => format!(
            "The battle of order {} comes to nothing: {}",
            order + 1,
            sentence(why)
        ),
        Event::Lost { unit, bases: lost } => losses(unit, *lost, game),
        Event::FellBack {
            unit,
            from,
            to,
            turned_deg,
            pushed,
        } => fell_back(unit, (*from, *to), *turned_deg, pushed, game),
        Event::Removed { unit, cause } => removed(unit, *cause, game),
        Event::FollowedUp { unit, from, to } => {
            let name = called_after_its_side(game, unit);
            format!(
                "{name} {} up {} mm and {} the ground.",
                verb(unit, "follows", "follow", game),
                tenths(shift_mm(*from, *to)),
                verb(unit, "holds", "hold", game)
            )
        }
        Event::Disordered { unit, turns } => disorder(unit, *turns, game),
        Event::TurnClosed { .. } => closed(event, game),
        Event::GameEnded { ending, .. } => ended(ending, game),
        Event::PositionCorrected { unit, to, reason } => format!(
            "The umpire sets {} {}: {}",
            name(unit),
            standing(*to),
            sentence(reason)
        ),
        other => by_post::event(other, game),
    };
    capital(&told)
}

/// A side's name, for whoever reads of it.
pub(super) fn named(side: &SideId, game: &Game) -> String {
    game.side_index(side)
        .map_or_else(|| plain(&side.0), |index| side_name(game, index))
}

fn standing(pose: Pose) -> String {
    format!(
        "{} cm from the west edge and {} cm from the south, facing {}",
        fieldpost_rules::verdict::rounding::centimetres(pose.x_mm()),
        fieldpost_rules::verdict::rounding::centimetres(pose.y_mm()),
        compass::point(pose.bearing_deg())
    )
}

fn shift_mm(from: Pose, to: Pose) -> f64 {
    from.placement().anchor.distance_to(to.placement().anchor)
}

fn bases(count: u16) -> String {
    match count {
        1 => "one base".to_owned(),
        2 => "two bases".to_owned(),
        3 => "three bases".to_owned(),
        count => format!("{count} bases"),
    }
}

/// Thrown into disorder, one turn nearer to order, or in order again.
fn disorder(unit: &UnitId, turns: u32, game: &Game) -> String {
    let name = called_after_its_side(game, unit);
    let verb = |one, many| verb(unit, one, many, game);
    let before = game.unit(unit).map_or(0, |unit| unit.disorder);
    let is = verb("is", "are");
    let anew = if before > 0 { " anew" } else { "" };
    match turns {
        0 => format!("{name} {is} in order again."),
        turns if turns < before => format!(
            "{name} {} and {} one turn of disorder; {turns} more to stand.",
            verb("stands", "stand"),
            verb("sheds", "shed")
        ),
        1 => format!("{name} {is} disordered{anew}."),
        turns => format!("{name} {is} disordered{anew}, with {turns} turns to stand."),
    }
}

/// Units of one side, with whose they are.
fn names(ids: &[UnitId], game: &Game) -> String {
    let list = listed(&ids.iter().map(|id| called(game, id)).collect::<Vec<_>>());
    let side = ids.iter().find_map(|id| game.unit(id));
    side.map_or(list.clone(), |unit| {
        format!("{} {list}", owner(game, unit.side))
    })
}

/// Commanders attacked with no troops beside them: "Ada's Foot attacks Bea's General, who has no troops there."
fn alone(attackers: &[UnitId], commanders: &[UnitId], game: &Game) -> String {
    let attacks = verb_of(attackers, "attacks", "attack", game);
    let has = if commanders.len() > 1 { "have" } else { "has" };
    format!(
        "{} {attacks} {}, who {has} no troops there.",
        names(attackers, game),
        names(commanders, game)
    )
}

fn battle(report: &BattleReport, game: &Game) -> String {
    let names = |ids: &[UnitId]| names(ids, game);
    let place = middle_of(game, &report.defenders)
        .and_then(|at| near(game, at))
        .map_or_else(String::new, |place| format!(" {place}"));
    let mut out = if report.attackers.is_empty() {
        let verb = verb_of(&report.guns, "fires", "fire", game);
        format!(
            "Gun fire{place}: {} {verb} at {}.",
            names(&report.guns),
            names(&report.defenders)
        )
    } else {
        let verb = verb_of(&report.attackers, "attacks", "attack", game);
        let guns = if report.guns.is_empty() {
            String::new()
        } else {
            let guns: Vec<String> = report.guns.iter().map(|id| called(game, id)).collect();
            format!(", bombarded by {}", listed(&guns))
        };
        format!(
            "Battle{place}: {} {verb} {}{guns}.",
            names(&report.attackers),
            names(&report.defenders)
        )
    };
    out.push_str(&odds(report, game));
    let dice = if report.dice.len() > 1 {
        let each: Vec<String> = report.dice.iter().map(ToString::to_string).collect();
        format!("{} ({})", report.total, each.join(" + "))
    } else {
        report.total.to_string()
    };
    out.push_str(&format!(
        " The throw is {dice}: {}",
        sentence(&outcome(report, game))
    ));
    out
}

/// What the throw came to. The table's words are those of a battle: guns that fire alone suffer nothing, so what does
/// nothing to their target is no effect.
fn outcome(report: &BattleReport, game: &Game) -> String {
    let known = game.ruleset().results.outcome.get(&report.outcome);
    let is_fire = report.attackers.is_empty();
    if is_fire && known.is_some_and(|outcome| outcome.defender.is_nothing()) {
        return "no effect".to_owned();
    }
    known
        .map(|outcome| outcome.words.trim())
        .filter(|words| !words.is_empty())
        .unwrap_or(&report.outcome)
        .to_owned()
}

/// " 14 against 8 is 3:2; one column down for the wall, so 1:1." A difference is told beside its column, since a table
/// has columns for few of them: " 4 against 12 is a difference of -8, in column -5."
fn odds(report: &BattleReport, game: &Game) -> String {
    let (before, after) = (plain(&report.column_before_shifts), plain(&report.column));
    let (before, after) = match game.ruleset().results.kind {
        ResultsKind::Odds => (before, after),
        ResultsKind::Differential => {
            let difference = amount(report.attack - report.defence);
            (
                format!("a difference of {difference}, in column {before}"),
                format!("in column {after}"),
            )
        }
    };
    let mut out = format!(
        " {} against {} is {before}",
        amount(report.attack),
        amount(report.defence)
    );
    let shifts: Vec<String> = report
        .shifts
        .iter()
        .map(|shift| {
            let why = plain(&shift.why);
            match shift.columns {
                0 if shift.factor != 1.0 => format!("defence × {} for {why}", amount(shift.factor)),
                0 => why,
                1 => format!("one column up for {why}"),
                -1 => format!("one column down for {why}"),
                up if up > 0 => format!("{up} columns up for {why}"),
                down => format!("{} columns down for {why}", down.unsigned_abs()),
            }
        })
        .collect();
    if !shifts.is_empty() {
        out.push_str(&format!("; {}", shifts.join(", ")));
    }
    if report.column != report.column_before_shifts {
        out.push_str(&format!(", so {after}"));
    }
    out.push('.');
    out
}

fn losses(unit: &UnitId, lost: u16, game: &Game) -> String {
    let left = game
        .unit(unit)
        .map(|unit| (unit.bases.saturating_sub(lost), unit.bases_at_start));
    let name = called_after_its_side(game, unit);
    let has = verb(unit, "has", "have", game);
    let rest = match left {
        Some((0, _)) => format!(" and {has} none left"),
        Some((left, start)) => format!(" and {has} {left} of {start} left"),
        None => String::new(),
    };
    let loses = verb(unit, "loses", "lose", game);
    format!("{name} {loses} {}{rest}.", bases(lost))
}

fn fell_back(
    unit: &UnitId,
    (from, to): (Pose, Pose),
    turned_deg: f64,
    pushed: &[Push],
    game: &Game,
) -> String {
    let name = called_after_its_side(game, unit);
    let mut out = format!(
        "{name} {} back {} mm",
        verb(unit, "falls", "fall", game),
        tenths(shift_mm(from, to))
    );
    if turned_deg.abs() >= UNSEEN {
        let own = verb(unit, "its", "their", game);
        out.push_str(&format!(
            ", {}° off straight away to {own} {}",
            tenths(turned_deg.abs()),
            hand_of_turn((from, to), turned_deg)
        ));
    }
    let shoved: Vec<String> = pushed
        .iter()
        .map(|push| match push.to {
            Some(to) => format!(
                "{} {} mm",
                called(game, &push.unit),
                tenths(shift_mm(push.from, to))
            ),
            None => format!("{} off the table", called(game, &push.unit)),
        })
        .collect();
    if !shoved.is_empty() {
        out.push_str(&format!(", pushing {}", listed(&shoved)));
    }
    out.push('.');
    out
}

/// To which hand of a unit, as it faces, a way turns that goes so far clockwise off straight away: of one that
/// goes backward, clockwise is to its left. Who goes exactly sideways takes its hands along the way.
fn hand_of_turn((from, to): (Pose, Pose), turned_deg: f64) -> &'static str {
    let placement = from.placement();
    let way = to.placement().anchor - placement.anchor;
    let away = way.turned(-turned_deg.to_radians());
    // the way was rounded as it was stored
    let is_backward = placement.ahead.dot(away) < -TOUCH_MM;
    if (turned_deg > 0.0) == is_backward {
        "left"
    } else {
        "right"
    }
}

fn removed(unit: &UnitId, cause: Cause, game: &Game) -> String {
    let name = called_after_its_side(game, unit);
    let verb = |one, many| verb(unit, one, many, game);
    let (is, has) = (verb("is", "are"), verb("has", "have"));
    match cause {
        Cause::NoBasesLeft => format!("{name} {is} destroyed to the last base."),
        Cause::Eliminated => format!("{name} {} and {is} removed.", verb("breaks", "break")),
        Cause::Surrounded => format!(
            "{name} {is} surrounded and {} down {} arms.",
            verb("lays", "lay"),
            verb("its", "their")
        ),
        Cause::NoWayOpen => format!(
            "{name} {} no way open to fall back and {is} removed.",
            verb("finds", "find")
        ),
        Cause::OffTable => format!("{name} {is} driven off the table."),
        Cause::CommanderTaken => format!("{name} {is} taken."),
        Cause::Exited => format!("{name} {has} left the table."),
    }
}

fn closed(event: &Event, game: &Game) -> String {
    let mut after = game.clone();
    after.apply(event);
    let mut out = String::new();
    let changes = game.holders().iter().zip(after.holders()).enumerate();
    for (index, (before, now)) in changes {
        if before == now {
            continue;
        }
        let Some(objective) = game.scenario().objective.get(index) else {
            continue;
        };
        let place = plain(&objective.name);
        match now {
            Some(side) => {
                let name = side_name(game, *side);
                let holds = agreed(&name, "holds", "hold");
                out.push_str(&format!("{name} now {holds} {place}. "));
            }
            None => out.push_str(&format!("Nobody holds {place} any more. ")),
        }
    }
    out.push_str(&format!(
        "The turn passes to {}.",
        side_name(&after, after.player())
    ));
    if scores(&after).iter().any(|score| score.total != 0.0) {
        out.push(' ');
        out.push_str(&score(&after));
    }
    out
}

fn ended(ending: &fieldpost_rules::game::Ending, game: &Game) -> String {
    let side = |id: &SideId| named(id, game);
    let result = ending.winner.as_ref().map_or_else(
        || "a draw".to_owned(),
        |winner| {
            let name = side(winner);
            let wins = agreed(&name, "wins", "win");
            format!("{name} {wins}")
        },
    );
    let mut out = format!(
        "The battle is over: {result}. {}",
        capital(&sentence(&ending.why))
    );
    for score in &ending.scores {
        out.push_str(&format!(
            "\n  {}: {} ({} for losses, {} for exits, {} for ground).",
            side(&score.side),
            super::points(score.total),
            amount(score.losses),
            amount(score.exits),
            amount(score.ground)
        ));
    }
    out
}
