//! Any JSON as a sheet: judged without a panic, its verdict written and read back the same, and
//! told in words. Most of it is altered as JSON, so that most of it is judged; some as bytes.

#![no_main]

use std::sync::OnceLock;

use fieldpost_rules::orders::TurnSheet;
use fieldpost_rules::referee::judge_sheet;
use fieldpost_rules::verdict::{Ruling, SheetVerdict};
use fieldpost_view::words;
use fieldpost_rules_fuzz::altered::{Altering, Draws, put, tenths};
use fieldpost_rules_fuzz::quern_bridge;
use libfuzzer_sys::{fuzz_mutator, fuzz_target};
use serde_json::{Map, Value, json};

const ORDERS: [&str; 8] =
    ["move", "move-together", "arrive", "withdraw", "leave", "battle", "fire", "give-way"];
const LEGS: [&str; 9] =
    ["forward", "back", "sidestep", "oblique", "wheel", "turn", "about", "align", "reform"];

fn units() -> &'static [String] {
    static UNITS: OnceLock<Vec<String>> = OnceLock::new();
    UNITS.get_or_init(|| {
        let units = quern_bridge().units().map(|unit| unit.id.0.clone());
        units.chain(["nobody".to_owned()]).collect()
    })
}

/// Another leg or order in the place of one.
fn fresh(fields: &Map<String, Value>, units: &[String], draws: &mut Draws) -> Option<Value> {
    if fields.contains_key("leg") {
        Some(leg(draws))
    } else if fields.contains_key("order") {
        Some(order(units, draws))
    } else {
        None
    }
}

fn leg(draws: &mut Draws) -> Value {
    let (name, side) = (draws.of(&LEGS), draws.of(&["left", "right"]));
    let (distance_mm, angle_deg) = (tenths(draws, 4_000), tenths(draws, 1_000));
    let up_to = draws.below(2) == 0;
    match name {
        "forward" | "back" => json!({"leg": name, "distance_mm": distance_mm, "up_to": up_to}),
        "sidestep" => json!({"leg": name, "side": side, "distance_mm": distance_mm, "up_to": up_to}),
        "oblique" => {
            json!({"leg": name, "side": side, "angle_deg": angle_deg, "distance_mm": distance_mm})
        }
        "wheel" => json!({"leg": name, "side": side, "angle_deg": angle_deg, "up_to": up_to}),
        "turn" => json!({"leg": name, "side": side}),
        "align" => json!({"leg": name, "side": side, "angle_deg": angle_deg / 5.0}),
        "reform" => json!({"leg": name, "files": draws.below(9), "ranks": draws.below(9)}),
        _ => json!({"leg": name}),
    }
}

fn order(units: &[String], draws: &mut Draws) -> Value {
    let name = draws.of(&ORDERS);
    let unit = |draws: &mut Draws| &units[draws.below(units.len())];
    let some = |draws: &mut Draws| -> Vec<_> {
        (0..=draws.below(3)).map(|_| unit(draws)).collect()
    };
    let legs: Vec<Value> = (0..draws.below(4)).map(|_| leg(draws)).collect();
    match name {
        "move-together" => json!({"order": name, "units": some(draws), "legs": legs}),
        "arrive" => {
            json!({"order": name, "unit": unit(draws), "along_mm": tenths(draws, 15_000), "legs": legs})
        }
        "leave" => json!({"order": name, "unit": unit(draws)}),
        "battle" => {
            let (attackers, defenders) = (some(draws), some(draws));
            let guns = if draws.below(2) == 0 { some(draws) } else { Vec::new() };
            let follow_up = (draws.below(2) == 0).then(|| attackers[0]);
            json!({
                "order": name, "attackers": attackers, "defenders": defenders, "guns": guns,
                "follow_up": follow_up,
            })
        }
        "fire" => json!({"order": name, "guns": some(draws), "target": unit(draws)}),
        "give-way" => {
            json!({"order": name, "unit": unit(draws), "side": draws.of(&["left", "right"])})
        }
        _ => json!({"order": name, "unit": unit(draws), "legs": legs}),
    }
}

fuzz_mutator!(|data: &mut [u8], size: usize, max_size: usize, seed: u32| {
    let mut draws = Draws::new(seed);
    let sheet = serde_json::from_slice::<Value>(&data[..size]);
    let altered = sheet.ok().filter(|_| draws.below(16) != 0).map(|mut sheet| {
        let words = units();
        Altering { words, fresh, draws }.alter(&mut sheet);
        sheet.to_string()
    });
    put(altered, data, size, max_size)
});

fuzz_target!(|text: &str| {
    let Ok(sheet) = serde_json::from_str::<TurnSheet>(text) else {
        return;
    };
    if sheet.orders.len() > 60 || text.matches("\"leg\"").count() > 200 {
        return;
    }
    let game = quern_bridge();
    let verdict = judge_sheet(game, &sheet);
    let written = serde_json::to_string(&verdict).expect("a verdict is data");
    let read: SheetVerdict = serde_json::from_str(&written).expect("its own JSON");
    assert_eq!(serde_json::to_string(&read).expect("data"), written);
    assert!(!words::sheet_verdict(&verdict, game).contains('\u{1b}'));
    for moved in &verdict.moves {
        let refused = moved.verdict == Ruling::Refused;
        assert_eq!(refused, moved.reasons.iter().any(|r| r.ruling() == Ruling::Refused));
        assert!(moved.charge_mm.is_finite() && moved.charge_mm >= 0.0, "{moved:#?}");
    }
});
