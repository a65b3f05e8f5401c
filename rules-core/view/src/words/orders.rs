//! Orders in words.

use crate::places::called;
use fieldpost_rules::game::Game;
use fieldpost_rules::orders::{Leg, Order, TurnSheet, UnitId};
use fieldpost_rules::sanitize::{capital, listed, plain};
use fieldpost_rules::verdict::rounding::tenths;

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
        Order::Move { unit, legs } => format!("{} moves {}", name(unit), legs_in_words(legs)),
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
                format!(" and moves {}", legs_in_words(legs))
            };
            format!(
                "{} arrives {} mm along its edge{then}",
                name(unit),
                tenths(*along_mm)
            )
        }
        Order::Withdraw { unit, legs } => {
            format!("{} breaks contact {}", name(unit), legs_in_words(legs))
        }
        Order::Leave { unit } => format!("{} leaves the table", name(unit)),
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
            let mut sentence = format!("{} {verb} {}", names(attackers), names(defenders));
            if !guns.is_empty() {
                sentence.push_str(&format!(", bombarded by {}", names(guns)));
            }
            if let Some(unit) = follow_up {
                sentence.push_str(&format!("; {} follows up", name(unit)));
            }
            sentence
        }
        Order::Fire { guns, target } => {
            let verb = if guns.len() == 1 { "fires" } else { "fire" };
            format!("{} {verb} at {}", names(guns), name(target))
        }
        Order::GiveWay { unit, side } => {
            format!("{} gives ground to its {} first", name(unit), side.word())
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
    let up_to = if leg.is_up_to() { "up to " } else { "" };
    match leg {
        Leg::Forward { distance_mm, .. } => format!("forward {up_to}{} mm", tenths(*distance_mm)),
        Leg::Back { distance_mm, .. } => format!("back {up_to}{} mm", tenths(*distance_mm)),
        Leg::Sidestep {
            side, distance_mm, ..
        } => format!(
            "{up_to}{} mm sideways to the {}",
            tenths(*distance_mm),
            side.word()
        ),
        Leg::Oblique {
            side,
            angle_deg,
            distance_mm,
            ..
        } => format!(
            "{up_to}{} mm on the oblique, {}° to the {}",
            tenths(*distance_mm),
            tenths(*angle_deg),
            side.word()
        ),
        Leg::Wheel {
            side, angle_deg, ..
        } => format!(
            "by a wheel to the {} of {up_to}{}°",
            side.word(),
            tenths(*angle_deg)
        ),
        Leg::Turn { side } => format!("by a turn to the {}", side.word()),
        Leg::About => "by an about turn".to_owned(),
        Leg::Align { side, angle_deg } => {
            format!("by aligning {}° to the {}", tenths(*angle_deg), side.word())
        }
        Leg::Reform { files, ranks } => format!("by reforming {files} abreast and {ranks} deep"),
    }
}
