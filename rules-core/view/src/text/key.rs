//! The list of units below a text table.

use crate::compass;
use fieldpost_rules::game::marks;
use fieldpost_rules::game::{Cause, Game, State, Unit};
use fieldpost_rules::sanitize::plain;
use fieldpost_rules::verdict::rounding::{amount, bearing, centimetres};

/// Columns that everything but the name takes.
const FIXED: usize = 4 + 1 + 1 + 9 + 1 + 7 + 1 + 4 + 2 + 15 + 2 + 8;

/// Columns from which on a unit takes one line.
const WIDE: usize = FIXED + 14;

/// Both orders of battle, a unit a line: mark, name, troops, bases left of those at the start,
/// strength, where the midpoint of its front edge stands in centimetres from the west and south
/// edges, and which way it faces.
pub(super) fn units(game: &Game, width: usize) -> String {
    if width < WIDE {
        return units_narrow(game, width);
    }
    let marks = marks(game);
    let room = width.saturating_sub(FIXED).clamp(14, 40);
    let mut out = String::new();
    for (index, side) in game.scenario().side.iter().enumerate().take(2) {
        if index > 0 {
            out.push('\n');
        }
        out.push_str(&plain(&side.name));
        out.push('\n');
        let head = format!(
            "{:<4} {:<room$} {:<9} {:>7} {:>4}  {:>7} {:>7}  {}",
            "", "", "troops", "bases", "str.", "W, cm", "S, cm", "facing"
        );
        out.push_str(head.trim_end());
        out.push('\n');
        for unit in game.units().filter(|unit| unit.side == index) {
            let mark = marks.get(&unit.id).map_or("", String::as_str);
            let line = format!(
                "{mark:<4} {:<room$} {:<9} {}",
                fitted(&plain(&unit.name), room),
                fitted(&plain(&unit.troops), 9),
                rest(unit)
            );
            out.push_str(line.trim_end());
            out.push('\n');
        }
    }
    out
}

/// The same with two lines a unit, for narrow terminals.
fn units_narrow(game: &Game, width: usize) -> String {
    let marks = marks(game);
    let room = width.saturating_sub(4 + 1 + 1 + 7 + 1 + 4);
    let mut out = String::new();
    for (index, side) in game.scenario().side.iter().enumerate().take(2) {
        if index > 0 {
            out.push('\n');
        }
        out.push_str(&fitted(&plain(&side.name), width));
        out.push('\n');
        out.push_str(&format!(
            "{:<room$} {:>7} {:>4}\n",
            "     unit",
            "bases",
            "str.",
            room = room + 5
        ));
        out.push_str("     cm from W, from S, facing, troops\n");
        for unit in game.units().filter(|unit| unit.side == index) {
            let mark = marks.get(&unit.id).map_or("", String::as_str);
            let name = fitted(&plain(&unit.name), room);
            let (bases, strength) = counts(unit);
            let first = format!("{mark:<4} {name:<room$} {bases:>7} {strength:>4}");
            let troops = fitted(&plain(&unit.troops), 9);
            let second = match &unit.state {
                State::Standing(_) => format!("{} {troops}", place(unit)),
                State::Waiting(_) | State::Gone(_) => rest(unit),
            };
            for line in [first, format!("     {second}")] {
                out.push_str(line.trim_end());
                out.push('\n');
            }
        }
    }
    out
}

/// Bases left of those at the start, and strength; a commander has none to count.
fn counts(unit: &Unit) -> (String, String) {
    match unit.state {
        State::Standing(_) if !unit.is_commander() => (
            format!("{}/{}", unit.bases, unit.bases_at_start),
            amount(unit.strength()),
        ),
        _ => (String::new(), String::new()),
    }
}

/// Where a unit stands and how it faces; nothing for one that does not stand.
fn place(unit: &Unit) -> String {
    let Some(pose) = unit.pose() else {
        return String::new();
    };
    let disorder = if unit.disorder > 0 { " dis." } else { "" };
    format!(
        "{:>7} {:>7}  {:<2} {:>5}{disorder}",
        centimetres(pose.x_mm()),
        centimetres(pose.y_mm()),
        compass::letters(pose.bearing_deg()),
        bearing(pose.bearing_deg()),
    )
}

fn rest(unit: &Unit) -> String {
    match &unit.state {
        State::Standing(_) => {
            let (bases, strength) = counts(unit);
            format!("{bases:>7} {strength:>4}  {}", place(unit))
        }
        State::Waiting(arrival) => format!(
            "from turn {}, {} edge, {}–{} cm",
            arrival.game_turn,
            compass::edge(arrival.edge),
            amount(arrival.from_mm / 10.0),
            amount(arrival.to_mm / 10.0)
        ),
        State::Gone(cause) => gone(*cause).to_owned(),
    }
}

/// Why a unit is gone, in a few words.
pub(crate) fn gone(cause: Cause) -> &'static str {
    match cause {
        Cause::NoBasesLeft => "gone: no bases left",
        Cause::Eliminated => "gone: eliminated",
        Cause::Surrounded => "gone: surrounded",
        Cause::NoWayOpen => "gone: no way open to fall back",
        Cause::OffTable => "gone: off the table",
        Cause::CommanderTaken => "gone: taken",
        Cause::Exited => "left the table",
    }
}

pub(super) fn fitted(text: &str, room: usize) -> String {
    if text.chars().count() <= room {
        text.to_owned()
    } else {
        let kept: String = text.chars().take(room.saturating_sub(1)).collect();
        format!("{}…", kept.trim_end())
    }
}
