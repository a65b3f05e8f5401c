//! JSON altered as JSON: what comes out is read as far as its shape goes, so that a fuzzer gets past the reader.

use serde_json::{Number, Value, json};

/// Numbers that follow from a seed (a linear congruence; its factors from memory).
pub struct Draws(u64);

impl Draws {
    pub fn new(seed: u32) -> Self {
        Self(u64::from(seed))
    }

    pub fn below(&mut self, count: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).expect("31 bits") % count.max(1)
    }

    fn of<'a>(&mut self, words: &[&'a str]) -> &'a str {
        words[self.below(words.len())]
    }
}

const ORDERS: [&str; 8] =
    ["move", "move-together", "arrive", "withdraw", "leave", "battle", "fire", "give-way"];
const LEGS: [&str; 9] =
    ["forward", "back", "sidestep", "oblique", "wheel", "turn", "about", "align", "reform"];

/// Alters one place of a sheet; `units` are keys that mean something in it.
pub fn alter(sheet: &mut Value, units: &[&str], draws: &mut Draws) {
    let mut place = draws.below(places(sheet));
    alter_at(sheet, &mut place, units, draws);
}

/// Values in a value, itself among them.
fn places(value: &Value) -> usize {
    1 + match value {
        Value::Array(items) => items.iter().map(places).sum(),
        Value::Object(fields) => fields.values().map(places).sum(),
        _ => 0,
    }
}

/// Alters the value so many places on; whether it was found.
fn alter_at(value: &mut Value, place: &mut usize, units: &[&str], draws: &mut Draws) -> bool {
    if *place == 0 {
        alter_this(value, units, draws);
        return true;
    }
    *place -= 1;
    match value {
        Value::Array(items) => items.iter_mut().any(|item| alter_at(item, place, units, draws)),
        Value::Object(fields) => fields.values_mut().any(|field| alter_at(field, place, units, draws)),
        _ => false,
    }
}

fn alter_this(value: &mut Value, units: &[&str], draws: &mut Draws) {
    match value {
        Value::Null => *value = json!(draws.below(2) == 0),
        Value::Bool(said) => *said = !*said,
        Value::Number(number) => *value = Value::Number(another(number, draws)),
        Value::String(word) => {
            *word = match draws.below(4) {
                0 => draws.of(&["left", "right", "red", "blue", "", "\u{1b}[31m"]).to_owned(),
                1 => draws.of(&LEGS).to_owned(),
                _ => draws.of(units).to_owned(),
            };
        }
        Value::Array(items) => alter_items(items, units, draws),
        Value::Object(fields) => {
            if fields.contains_key("leg") {
                *value = leg(draws);
            } else if fields.contains_key("order") {
                *value = order(units, draws);
            } else if let Some(key) = fields.keys().nth(draws.below(fields.len())).cloned() {
                fields.remove(&key);
            }
        }
    }
}

fn alter_items(items: &mut Vec<Value>, units: &[&str], draws: &mut Draws) {
    let at = draws.below(items.len());
    match (draws.below(4), items.get(at).cloned()) {
        (0, Some(_)) => {
            items.remove(at);
        }
        (1, Some(item)) => {
            let to = draws.below(items.len() + 1);
            items.insert(to, item);
        }
        (_, first) => items.push(match first {
            Some(Value::Object(fields)) if fields.contains_key("order") => order(units, draws),
            Some(Value::Object(_)) => leg(draws),
            _ => json!(draws.of(units)),
        }),
    }
}

/// A number near another, or one at the end of what there is.
fn another(number: &Number, draws: &mut Draws) -> Number {
    let now = number.as_f64().unwrap_or(0.0);
    let new = match draws.below(10) {
        0 => 0.0,
        1 => -now,
        2 => now / 2.0,
        3 => now * 2.0,
        4 => f64::from_bits(now.to_bits() ^ 1),
        5 => [1e308, -1e308, 5e-324, 1e-9, 4_294_967_296.0, 1e300][draws.below(6)],
        6 => return Number::from([0, 1, u64::MAX, 65_535, 65_536][draws.below(5)]),
        7 => return Number::from(draws.below(8)),
        _ => length(draws),
    };
    Number::from_f64(new).unwrap_or_else(|| Number::from(1))
}

fn length(draws: &mut Draws) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "small")]
    let tenths = draws.below(4_000) as f64;
    tenths / 10.0
}

fn leg(draws: &mut Draws) -> Value {
    let (name, side) = (draws.of(&LEGS), draws.of(&["left", "right"]));
    let (distance_mm, angle_deg, up_to) = (length(draws), length(draws) / 4.0, draws.below(2) == 0);
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

fn order(units: &[&str], draws: &mut Draws) -> Value {
    let name = draws.of(&ORDERS);
    let unit = draws.of(units);
    let some = |draws: &mut Draws| -> Vec<String> {
        (0..1 + draws.below(3)).map(|_| draws.of(units).to_owned()).collect()
    };
    let legs: Vec<Value> = (0..draws.below(4)).map(|_| leg(draws)).collect();
    match name {
        "move-together" => json!({"order": name, "units": some(draws), "legs": legs}),
        "arrive" => json!({"order": name, "unit": unit, "along_mm": length(draws) * 4.0, "legs": legs}),
        "leave" => json!({"order": name, "unit": unit}),
        "battle" => {
            let (attackers, defenders) = (some(draws), some(draws));
            let follow_up = (draws.below(2) == 0).then(|| attackers[0].clone());
            json!({
                "order": name, "attackers": attackers, "defenders": defenders, "follow_up": follow_up,
            })
        }
        "fire" => json!({"order": name, "guns": some(draws), "target": unit}),
        "give-way" => json!({"order": name, "unit": unit, "side": draws.of(&["left", "right"])}),
        _ => json!({"order": name, "unit": unit, "legs": legs}),
    }
}
