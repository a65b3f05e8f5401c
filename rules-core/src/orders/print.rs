//! Turn sheets and standing instructions as text that [`super::text`] reads back exactly.

use std::fmt::Write as _;

use super::text::{as_far_mm, is_reserved};
use super::{Hand, Instruction, Instructions, Leg, Order, TurnSheet, UnitId};
use crate::game::Game;

/// A sheet in the language of typed sheets, one order a line. Reading it back for the same game
/// gives the same sheet, if its numbers are within the language's bounds and its units exist.
#[must_use]
pub fn sheet(sheet: &TurnSheet, game: &Game) -> String {
    let far_mm = as_far_mm(game);
    let mut text = format!("turn {} {}\n", sheet.game_turn, key(&sheet.side.0));
    for order in &sheet.orders {
        text.push_str(&order_line(order, far_mm));
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
pub fn order(order: &Order, game: &Game) -> String {
    order_line(order, as_far_mm(game))
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

fn order_line(order: &Order, far_mm: f64) -> String {
    let all_legs = |legs: &[Leg]| legs_text(legs, far_mm);
    match order {
        Order::Move { unit, legs } => format!("{}: {}", name(unit), all_legs(legs)),
        Order::MoveTogether { units, legs } => {
            format!("together {}: {}", list(units), all_legs(legs))
        }
        Order::Arrive {
            unit,
            along_mm,
            legs,
        } => format!(
            "{} arrives at {along_mm} mm{}",
            name(unit),
            then(legs, far_mm)
        ),
        Order::Withdraw { unit, legs } => {
            format!("{} withdraws{}", name(unit), then(legs, far_mm))
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
fn then(legs: &[Leg], far_mm: f64) -> String {
    if legs.is_empty() {
        String::new()
    } else {
        format!(": {}", legs_text(legs, far_mm))
    }
}

fn legs_text(legs: &[Leg], far_mm: f64) -> String {
    if legs.is_empty() {
        return "stand".to_owned();
    }
    let legs: Vec<String> = legs.iter().map(|leg| leg_text(leg, far_mm)).collect();
    legs.join(", ")
}

fn leg_text(leg: &Leg, far_mm: f64) -> String {
    let distance = |mm: f64, up_to: bool| match up_to {
        true if mm == far_mm => "as far as allowed".to_owned(),
        true => format!("up to {mm} mm"),
        false => format!("{mm} mm"),
    };
    match *leg {
        Leg::Forward { distance_mm, up_to } => format!("forward {}", distance(distance_mm, up_to)),
        Leg::Back { distance_mm, up_to } => format!("back {}", distance(distance_mm, up_to)),
        Leg::Sidestep {
            side,
            distance_mm,
            up_to,
        } => format!("sidestep {} {}", side.word(), distance(distance_mm, up_to)),
        Leg::Oblique {
            side,
            angle_deg,
            distance_mm,
            up_to,
        } => {
            let distance = distance(distance_mm, up_to);
            format!("oblique {} {angle_deg}° {distance}", side.word())
        }
        Leg::Wheel {
            side,
            angle_deg,
            up_to,
        } => match up_to {
            true if angle_deg == super::text::ANGLE_MAX_DEG => {
                format!("wheel {} as far as allowed", side.word())
            }
            true => format!("wheel {} up to {angle_deg}°", side.word()),
            false => format!("wheel {} {angle_deg}°", side.word()),
        },
        Leg::Turn { side } => format!("turn {}", side.word()),
        Leg::About => "about".to_owned(),
        Leg::Align { side, angle_deg } => format!("align {} {angle_deg}°", side.word()),
        Leg::Reform { files, ranks } => format!("reform {files}x{ranks}"),
    }
}
