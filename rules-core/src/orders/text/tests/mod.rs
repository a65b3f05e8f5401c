//! Tests of the typed language: examples, faults, properties, the manual.

mod aiming;
mod examples;
mod faults;
mod manual;
mod phrases;
mod properties;

use super::{TextFault, parse};
use crate::game::Game;
use crate::orders::{Order, SideId, TurnSheet, UnitId};
use crate::referee::testing::{bare_ground, block, game_on, rules, scenario};
use crate::scenario::UnitEntry;

/// Red's turn; names that share words, an id that hides a word of the language, guns on both sides.
pub(super) fn game() -> Game {
    let named = |id: &str, name: &str, troops: &str, x: f64, y: f64| UnitEntry {
        name: name.to_owned(),
        ..block(
            id,
            troops,
            (4, 2),
            (x, y, if id.starts_with('r') { 0.0 } else { 180.0 }),
        )
    };
    let mut units = vec![
        named("red-1", "1st Line", "foot", 100.0, 100.0),
        named("red-2", "2nd Line", "foot", 300.0, 100.0),
        named("red-3", "Duchess's Grenadiers", "foot", 500.0, 100.0),
        named("red-4", "Grey Lancers", "horse", 700.0, 100.0),
        named("red-7", "Field Battery", "guns", 900.0, 100.0),
        named("r-fire", "Rocket Troop", "guns", 1000.0, 100.0),
        named("red-31", "Fire and Sword", "foot", 1100.0, 100.0),
        named("blue-1", "1st Line", "foot", 100.0, 900.0),
        named("blue-2", "Mill Hill Volunteers", "foot", 300.0, 900.0),
        named("blue-7", "Siege Battery", "guns", 500.0, 900.0),
    ];
    // late comers have no place yet
    let mut late = named("red-9", "Reserve", "foot", 0.0, 0.0);
    late.at = None;
    late.arrives = Some(crate::scenario::Arrival {
        game_turn: 2,
        edge: crate::scenario::Edge::South,
        from_mm: 100.0,
        to_mm: 900.0,
    });
    units.push(late);
    let mut odd = named("r-odd", "Odd", "foot", 600.0, 300.0);
    odd.id = "attack".to_owned();
    odd.side = "red".to_owned();
    units.push(odd);
    game_on(rules(), scenario(units), bare_ground())
}

/// Red's turn, where units of these ids belong to either side by turns.
pub(super) fn game_of(ids: &[UnitId]) -> Game {
    let units = ids.iter().enumerate().map(|(index, id)| {
        let (key, y, bearing) = [("r", 100.0, 0.0), ("b", 900.0, 180.0)][index % 2];
        let at = (20.0 + 15.0 * index as f64, y, bearing);
        UnitEntry {
            id: id.0.clone(),
            name: format!("Guns of {}", id.0),
            ..block(key, "foot", (1, 1), at)
        }
    });
    game_on(rules(), scenario(units.collect()), bare_ground())
}

fn read(text: &str) -> Result<TurnSheet, Vec<TextFault>> {
    parse("orders.txt", text, &game())
}

/// The one order of a one-line sheet.
#[track_caller]
fn order(line: &str) -> Order {
    let sheet = read(line).unwrap_or_else(|faults| {
        let drawn: Vec<String> = faults.iter().map(|fault| fault.drawn(false)).collect();
        panic!("{line:?}\n{}", drawn.join("\n"));
    });
    assert_eq!(sheet.side, SideId::from("red"));
    assert_eq!(sheet.orders.len(), 1, "{line:?}");
    sheet.orders.into_iter().next().unwrap()
}
