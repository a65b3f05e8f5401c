//! Orders in words.

use super::agreement::{verb, verb_of};
use crate::places::called;
use fieldpost_rules::game::Game;
use fieldpost_rules::orders::{Extent, Leg, Order, TurnSheet, UnitId};
use fieldpost_rules::sanitize::{capital, listed, plain};
use fieldpost_rules::verdict::rounding::ordered;

/// A whole sheet, an order a line, numbered as written.
#[must_use]
pub fn orders_in_words(sheet: &TurnSheet, game: &Game) -> String {
    let side = game.side_index(&sheet.side).map_or_else(
        || plain(&sheet.side.0),
        |index| plain(&game.scenario().side[index].name),
    );
    let mut out = format!("Orders of {side} for game turn {}\n", sheet.game_turn);
    if sheet.orders.is_empty() {
        out.push_str("  Every unit stands.\n");
    }
    for (index, order) in sheet.orders.iter().enumerate() {
        out.push_str(&format!(
            "{:>3}. {}\n",
            index + 1,
            order_in_words(order, game)
        ));
    }
    out
}

/// One order as a sentence.
#[must_use]
pub fn order_in_words(order: &Order, game: &Game) -> String {
    let name = |id: &UnitId| called(game, id);
    let names = |ids: &[UnitId]| listed(&ids.iter().map(|id| called(game, id)).collect::<Vec<_>>());
    let sentence = match order {
        Order::Move { unit, legs } if legs.is_empty() => {
            format!("{} {}", name(unit), verb(unit, "stands", "stand", game))
        }
        Order::Move { unit, legs } => format!(
            "{} {} {}",
            name(unit),
            verb(unit, "moves", "move", game),
            legs_in_words(legs)
        ),
        Order::MoveTogether { units, legs } if legs.is_empty() => {
            format!("{} stand as one body", names(units))
        }
        Order::MoveTogether { units, legs } => {
            format!("{} move as one body {}", names(units), legs_in_words(legs))
        }
        Order::Arrive {
            unit,
            along_mm,
            legs,
        } => {
            let then = if legs.is_empty() {
                String::new()
            } else {
                let moves = verb(unit, "moves", "move", game);
                format!(" and {moves} {}", legs_in_words(legs))
            };
            format!(
                "{} {} {} mm along its edge{then}",
                name(unit),
                verb(unit, "arrives", "arrive", game),
                ordered(*along_mm)
            )
        }
        Order::Withdraw { unit, legs } => {
            let breaks = verb(unit, "breaks", "break", game);
            let sentence = format!("{} {breaks} contact {}", name(unit), legs_in_words(legs));
            sentence.trim_end().to_owned()
        }
        Order::Leave { unit } => {
            let leaves = verb(unit, "leaves", "leave", game);
            format!("{} {leaves} the table", name(unit))
        }
        Order::Battle {
            attackers,
            defenders,
            guns,
            follow_up,
        } => {
            let attack = verb_of(attackers, "attacks", "attack", game);
            let mut sentence = format!("{} {attack} {}", names(attackers), names(defenders));
            if !guns.is_empty() {
                sentence.push_str(&format!(", bombarded by {}", names(guns)));
            }
            if let Some(unit) = follow_up {
                let follows = verb(unit, "follows", "follow", game);
                sentence.push_str(&format!("; {} {follows} up", name(unit)));
            }
            sentence
        }
        Order::Fire { guns, target } => {
            let verb = verb_of(guns, "fires", "fire", game);
            format!("{} {verb} at {}", names(guns), name(target))
        }
        Order::GiveWay { unit, side } => {
            let gives = verb(unit, "gives ground to its", "give ground to their", game);
            format!("{} {gives} {} first", name(unit), side.word())
        }
    };
    format!("{}.", capital(&sentence))
}

fn legs_in_words(legs: &[Leg]) -> String {
    let words: Vec<String> = legs.iter().map(leg_in_words).collect();
    words.join(", then ")
}

/// One leg in words.
#[must_use]
pub fn leg_in_words(leg: &Leg) -> String {
    match *leg {
        Leg::Forward { distance_mm } => format!("forward {}", extent_in_words(distance_mm, " mm")),
        Leg::Back { distance_mm } => format!("back {}", extent_in_words(distance_mm, " mm")),
        Leg::Sidestep { side, distance_mm } => format!(
            "{} sideways to the {}",
            extent_in_words(distance_mm, " mm"),
            side.word()
        ),
        Leg::Oblique {
            side,
            angle_deg,
            distance_mm,
        } => format!(
            "{} on the oblique, {}° to the {}",
            extent_in_words(distance_mm, " mm"),
            ordered(angle_deg),
            side.word()
        ),
        Leg::Wheel { side, angle_deg } => {
            let of = match angle_deg {
                Extent::AsFarAsAllowed => "",
                Extent::Exactly(_) | Extent::UpTo(_) => "of ",
            };
            let angle = extent_in_words(angle_deg, "°");
            format!("by a wheel to the {} {of}{angle}", side.word())
        }
        Leg::Turn { side } => format!("by a turn to the {}", side.word()),
        Leg::About => "by an about turn".to_owned(),
        Leg::Align { side, angle_deg } => {
            format!("by aligning {}° to the {}", ordered(angle_deg), side.word())
        }
        Leg::Reform { files, ranks } => format!("by reforming {files} abreast and {ranks} deep"),
    }
}

fn extent_in_words(extent: Extent, unit: &str) -> String {
    match extent {
        Extent::Exactly(amount) => format!("{}{unit}", ordered(amount)),
        Extent::UpTo(amount) => format!("up to {}{unit}", ordered(amount)),
        Extent::AsFarAsAllowed => "as far as allowed".to_owned(),
    }
}
