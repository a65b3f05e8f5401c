//! Turn sheets and standing instructions as text that [`super::text`] reads back exactly.

use std::fmt::Write as _;

use super::text::is_reserved;
use super::{Extent, Hand, Instruction, Instructions, Leg, Order, TurnSheet, UnitId};

/// A sheet in the language of typed sheets, one order a line. Reading it back for the game
/// gives the same sheet, if its numbers are within the language's bounds and its units exist.
#[must_use]
pub fn sheet(sheet: &TurnSheet) -> String {
    let mut text = format!("turn {} {}\n", sheet.game_turn, key(&sheet.side.0));
    for order in &sheet.orders {
        text.push_str(&self::order(order));
        text.push('\n');
    }
    text
}

/// Standing instructions in the language of typed ones.
#[must_use]
pub fn instructions(instructions: &Instructions) -> String {
    let mut text = format!(
        "all {}\n",
        instruction(instructions.all, ("hold", "follow", "give"))
    );
    for (unit, own) in &instructions.units {
        let verbs = ("holds", "follows", "gives");
        let _ = writeln!(text, "{} {}", name(unit), instruction(*own, verbs));
    }
    text
}

/// One order as a line of a sheet.
#[must_use]
pub fn order(order: &Order) -> String {
    match order {
        Order::Move { unit, legs } => format!("{}: {}", name(unit), legs_text(legs)),
        Order::MoveTogether { units, legs } => {
            format!("together {}: {}", list(units), legs_text(legs))
        }
        Order::Arrive {
            unit,
            along_mm,
            legs,
        } => format!("{} arrives at {along_mm} mm{}", name(unit), then(legs)),
        Order::Withdraw { unit, legs } => {
            format!("{} withdraws{}", name(unit), then(legs))
        }
        Order::Leave { unit } => format!("{} leaves", name(unit)),
        Order::Battle {
            attackers,
            defenders,
            guns,
            follow_up,
        } => {
            let verb = if attackers.len() == 1 {
                "attacks"
            } else {
                "attack"
            };
            let mut text = format!("{} {verb} {}", list(attackers), list(defenders));
            if !guns.is_empty() {
                let _ = write!(text, " with guns {}", list(guns));
            }
            if let Some(unit) = follow_up {
                let _ = write!(text, "; {} follows up", name(unit));
            }
            text
        }
        Order::Fire { guns, target } => {
            let verb = if guns.len() == 1 { "fires" } else { "fire" };
            format!("{} {verb} at {}", list(guns), name(target))
        }
        Order::GiveWay { unit, side } => format!("{} gives way {}", name(unit), side.word()),
    }
}

fn instruction(instruction: Instruction, (hold, follow, give): (&str, &str, &str)) -> String {
    let winner = if instruction.follow_up {
        format!("{follow} up")
    } else {
        hold.to_owned()
    };
    let side = instruction.give_way.map_or("either side", Hand::word);
    format!("{winner}, {give} way {side}")
}

/// A unit's id as a sheet names it.
fn name(unit: &UnitId) -> String {
    key(&unit.0)
}

/// A key of the scenario as a sheet names it, in brackets where a word of the language would hide it.
fn key(id: &str) -> String {
    let joins = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    let is_plain = id.chars().all(joins) && id.starts_with(|c: char| c.is_ascii_alphabetic());
    if is_plain && !is_reserved(id) {
        id.to_owned()
    } else {
        format!("[{id}]")
    }
}

fn list(units: &[UnitId]) -> String {
    let names: Vec<String> = units.iter().map(name).collect();
    match names.split_last() {
        None => "nobody".to_owned(),
        Some((last, [])) => last.clone(),
        Some((last, others)) => format!("{} and {last}", others.join(", ")),
    }
}

/// Legs that may be none, after a verb.
fn then(legs: &[Leg]) -> String {
    if legs.is_empty() {
        String::new()
    } else {
        format!(": {}", legs_text(legs))
    }
}

fn legs_text(legs: &[Leg]) -> String {
    if legs.is_empty() {
        return "stand".to_owned();
    }
    let legs: Vec<String> = legs.iter().map(leg_text).collect();
    legs.join(", ")
}

fn leg_text(leg: &Leg) -> String {
    match *leg {
        Leg::Forward { distance_mm } => format!("forward {}", extent(distance_mm, " mm")),
        Leg::Back { distance_mm } => format!("back {}", extent(distance_mm, " mm")),
        Leg::Sidestep { side, distance_mm } => {
            format!("sidestep {} {}", side.word(), extent(distance_mm, " mm"))
        }
        Leg::Oblique {
            side,
            angle_deg,
            distance_mm,
        } => {
            let distance = extent(distance_mm, " mm");
            format!("oblique {} {angle_deg}° {distance}", side.word())
        }
        Leg::Wheel { side, angle_deg } => {
            format!("wheel {} {}", side.word(), extent(angle_deg, "°"))
        }
        Leg::Turn { side } => format!("turn {}", side.word()),
        Leg::About => "about".to_owned(),
        Leg::Align { side, angle_deg } => format!("align {} {angle_deg}°", side.word()),
        Leg::Reform { files, ranks } => format!("reform {files}x{ranks}"),
    }
}

fn extent(extent: Extent, unit: &str) -> String {
    match extent {
        Extent::Exactly(amount) => format!("{amount}{unit}"),
        Extent::UpTo(amount) => format!("up to {amount}{unit}"),
        Extent::AsFarAsAllowed => "as far as allowed".to_owned(),
    }
}
