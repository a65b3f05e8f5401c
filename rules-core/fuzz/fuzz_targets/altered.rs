//! Data altered as data: what comes out is read as far as its shape goes, so that a fuzzer gets past the reader.

use std::collections::BTreeSet;

use libfuzzer_sys::fuzzer_mutate;
use serde_json::{Map, Number, Value, json};

/// Numbers that follow from a seed (a linear congruence; its factors from memory).
pub struct Draws(u64);

impl Draws {
    pub fn new(seed: u32) -> Self {
        Self(u64::from(seed))
    }

    /// One of so many, from 0.
    pub fn below(&mut self, count: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).expect("31 bits") % count.max(1)
    }

    pub fn of<'a>(&mut self, words: &[&'a str]) -> &'a str {
        words[self.below(words.len())]
    }
}

/// Alters a tree of values in a few places. `words` are strings that mean something in it; `fresh` makes another
/// of what stands in a place, where it knows what that is.
pub struct Altering<'a> {
    pub words: &'a [String],
    pub fresh: fn(&Map<String, Value>, &[String], &mut Draws) -> Option<Value>,
    pub draws: Draws,
}

impl Altering<'_> {
    pub fn alter(&mut self, tree: &mut Value) {
        for _ in 0..=self.draws.below(4) {
            let mut place = self.draws.below(places(tree));
            let donor = self.draws.below(places(tree));
            let donor = at(tree, &mut { donor }).cloned().unwrap_or(Value::Null);
            if let Some(value) = at_mut(tree, &mut place) {
                self.alter_this(value, donor);
            }
        }
    }

    fn word(&mut self) -> String {
        let at = self.draws.below(self.words.len());
        self.words.get(at).cloned().unwrap_or_default()
    }

    fn alter_this(&mut self, value: &mut Value, donor: Value) {
        match value {
            _ if self.draws.below(12) == 0 => *value = donor,
            Value::Null => *value = json!(self.draws.below(2) == 0),
            Value::Bool(said) => *said = !*said,
            Value::Number(number) => *value = Value::Number(another(number, &mut self.draws)),
            Value::String(word) => {
                *word = match self.draws.below(8) {
                    0 => self.draws.of(&["", "\u{1b}[31m", "1", "a b"]).to_owned(),
                    _ => self.word(),
                };
            }
            Value::Array(items) => self.alter_items(items),
            Value::Object(fields) => {
                if let Some(fresh) = (self.fresh)(fields, self.words, &mut self.draws) {
                    *value = fresh;
                } else if let Some(key) = fields.keys().nth(self.draws.below(fields.len())).cloned() {
                    match self.draws.below(3) {
                        0 => fields.remove(&key),
                        1 => fields.insert(key, donor),
                        _ => fields.insert(self.word(), donor),
                    };
                }
            }
        }
    }

    fn alter_items(&mut self, items: &mut Vec<Value>) {
        let draws = &mut self.draws;
        let at = draws.below(items.len());
        match (draws.below(4), items.get(at).cloned()) {
            (0, Some(_)) => {
                items.remove(at);
            }
            (1, Some(item)) => {
                let to = draws.below(items.len() + 1);
                items.insert(to, item);
            }
            (2, Some(_)) => {
                let other = draws.below(items.len());
                items.swap(at, other);
            }
            (_, Some(Value::Object(fields))) => {
                items.extend((self.fresh)(&fields, self.words, draws));
            }
            (_, Some(Value::Number(number))) => items.push(Value::Number(another(&number, draws))),
            _ => {
                let word = self.word();
                items.push(json!(word));
            }
        }
    }
}

/// A TOML file altered as data; `None` when it is none, and now and then, for whatever bytes can do.
pub fn toml_text(bytes: &[u8], seed: u32) -> Option<String> {
    let mut draws = Draws::new(seed);
    if draws.below(4) == 0 {
        return None;
    }
    let mut tree: Value = toml::from_slice(bytes).ok()?;
    let words = words(&tree);
    Altering { words: &words, fresh: |_, _, _| None, draws }.alter(&mut tree);
    toml::to_string(&tree).ok()
}

/// What a mutator of a fuzz target does: puts what was altered in the place of the bytes, or alters these as bytes when
/// there is nothing or no room for it.
pub fn put(altered: Option<String>, data: &mut [u8], size: usize, max_size: usize) -> usize {
    match altered.filter(|text| text.len() <= max_size) {
        Some(text) => {
            data[..text.len()].copy_from_slice(text.as_bytes());
            text.len()
        }
        None => fuzzer_mutate(data, size, max_size),
    }
}

/// Values in a value, itself among them.
fn places(value: &Value) -> usize {
    1 + match value {
        Value::Array(items) => items.iter().map(places).sum(),
        Value::Object(fields) => fields.values().map(places).sum(),
        _ => 0,
    }
}

/// The value so many places on.
fn at<'v>(value: &'v Value, place: &mut usize) -> Option<&'v Value> {
    if *place == 0 {
        return Some(value);
    }
    *place -= 1;
    match value {
        Value::Array(items) => items.iter().find_map(|item| at(item, place)),
        Value::Object(fields) => fields.values().find_map(|field| at(field, place)),
        _ => None,
    }
}

fn at_mut<'v>(value: &'v mut Value, place: &mut usize) -> Option<&'v mut Value> {
    if *place == 0 {
        return Some(value);
    }
    *place -= 1;
    match value {
        Value::Array(items) => items.iter_mut().find_map(|item| at_mut(item, place)),
        Value::Object(fields) => fields.values_mut().find_map(|field| at_mut(field, place)),
        _ => None,
    }
}

/// Strings and names of fields in a tree.
fn words(tree: &Value) -> Vec<String> {
    let mut all = BTreeSet::new();
    let mut rest = vec![tree];
    while let Some(value) = rest.pop() {
        match value {
            Value::String(word) => {
                all.insert(word.clone());
            }
            Value::Array(items) => rest.extend(items),
            Value::Object(fields) => {
                all.extend(fields.keys().cloned());
                rest.extend(fields.values());
            }
            _ => {}
        }
    }
    all.into_iter().collect()
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
        _ => tenths(draws, 4_000),
    };
    Number::from_f64(new).unwrap_or_else(|| Number::from(1))
}

/// A number of tenths below so many.
pub fn tenths(draws: &mut Draws, count: usize) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "small")]
    let tenths = draws.below(count) as f64;
    tenths / 10.0
}
