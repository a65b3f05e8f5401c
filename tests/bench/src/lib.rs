//! Tables for the benches: two lines of battle on ground with features, as large as asked for.

use std::fmt::Write as _;

use fieldpost_rules::authored;
use fieldpost_rules::game::Game;
use fieldpost_rules::orders::{Hand, Leg, Order, SideId, TurnSheet, UnitId};

/// The rules the benches play by: every law at its default.
const RULES: &str = r#"
format = 1
name = "Bench"
[scale]
base_width_mm = 40
[results]
kind = "odds"
columns = ["1:2", "1:1", "2:1"]
row = [{ throw = [1, 6], outcomes = ["stand", "stand", "stand"] }]
[results.outcome.stand]
words = "both stand"
[terrain.rough]
rate = 2
[lines.brook]
charge = 1
[troops.foot]
arm = "foot"
movement_points = 4
strength_per_base = 1
[troops.general]
arm = "commander"
movement_points = 6
command_radius = 400
"#;

/// A battle of `units` units a side over `features` terrain features, and a sheet that moves every
/// one of red's with three legs.
///
/// # Panics
/// When the files it writes have faults: then this crate is wrong.
#[must_use]
pub fn battle(units: usize, features: usize) -> (Game, TurnSheet) {
    let scenario = scenario(units, features);
    let field = authored::open_battle(("bench rules", RULES), ("bench battle", &scenario))
        .unwrap_or_else(|faults| panic!("{faults}\n{scenario}"));
    let orders = (1..=units).map(|unit| Order::Move {
        unit: UnitId(format!("red-{unit}")),
        legs: vec![
            Leg::Forward {
                distance_mm: 50.0,
                up_to: false,
            },
            Leg::Wheel {
                side: Hand::Left,
                angle_deg: 10.0,
                up_to: false,
            },
            Leg::Oblique {
                side: Hand::Right,
                angle_deg: 30.0,
                distance_mm: 20.0,
                up_to: false,
            },
        ],
    });
    let sheet = TurnSheet {
        game_turn: 1,
        side: SideId::from("red"),
        orders: orders.collect(),
    };
    (Game::new(std::sync::Arc::new(field)), sheet)
}

fn scenario(units: usize, features: usize) -> String {
    let abreast = 15;
    let width_mm = 2400.0;
    let ranks = units.div_ceil(abreast);
    let depth_mm = 600.0 + 240.0 * count(ranks);
    let mut text = format!(
        "format = 1\nname = \"Bench\"\ngame_turns = 5\ntable = {{ width_mm = {width_mm}, depth_mm = {depth_mm} }}\n\
         [[side]]\nkey = \"red\"\nname = \"Red\"\n[[side]]\nkey = \"blue\"\nname = \"Blue\"\n"
    );
    for unit in 0..units {
        let x_mm = 80.0 + 155.0 * count(unit % abreast);
        let behind_mm = 120.0 * count(unit / abreast);
        let red = (x_mm, depth_mm / 2.0 - 100.0 - behind_mm, 0.0);
        let blue = (x_mm, depth_mm / 2.0 + 100.0 + behind_mm, 180.0);
        for (side, (x, y, bearing)) in [("red", red), ("blue", blue)] {
            let id = unit + 1;
            let _ = writeln!(
                text,
                "[[unit]]\nid = \"{side}-{id}\"\nname = \"{side} {id}\"\nside = \"{side}\"\ntroops = \"foot\"\nfiles = 3\nranks = 2\nat = [{x}, {y}, {bearing}]"
            );
        }
    }
    for feature in 0..features {
        let across = count(feature % 12) * 190.0;
        let up = depth_mm / 2.0 - 90.0 + 30.0 * count(feature % 5) - 60.0 * count(feature / 12);
        if feature % 4 == 3 {
            let (a, b, c) = (across + 20.0, across + 100.0, across + 180.0);
            let _ = writeln!(
                text,
                "[[line]]\nname = \"brook {feature}\"\nkind = \"brook\"\npoints = [[{a}, {up}], [{b}, {}], [{c}, {up}]]",
                up + 20.0
            );
        } else {
            let corners = [
                (40.0, 0.0),
                (150.0, 10.0),
                (180.0, 60.0),
                (110.0, 40.0),
                (60.0, 80.0),
                (20.0, 50.0),
            ]
            .map(|(x, y)| format!("[{}, {}]", across + x, up + y));
            let _ = writeln!(
                text,
                "[[terrain]]\nname = \"rough {feature}\"\nkind = \"rough\"\noutline = [{}]",
                corners.join(", ")
            );
        }
    }
    text
}

#[expect(clippy::cast_precision_loss, reason = "small counts")]
fn count(n: usize) -> f64 {
    n as f64
}
