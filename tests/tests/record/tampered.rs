//! Signed records tampered with anywhere and chained anew: found, but for what the manual lists as free.
//!
//! `FIELDPOST_TEST_TAMPERED=10000` tampers so often; the usual run 150 times.

use std::collections::BTreeMap;

use fieldpost_commander::Chance;
use fieldpost_rules::record::audit::audit;
use serde_json::{Value, json};

use crate::post::{Post, chained, entries, random_game};

/// One way to tamper, and where.
#[derive(Debug)]
enum Tampered {
    /// A figure or a word of an entry.
    Leaf { at: usize, path: Vec<String> },
    /// Entries dropped, doubled, put elsewhere, or given each other's postings.
    Moved { from: usize, how: &'static str },
}

/// What is free in entries that nothing signed follows: the server's own moments, words and names, and what it keeps
/// for turns to come. Besides these, what units were told by instructions that are sealed yet, where it made no difference.
const FREE: [&str; 6] = ["at", "commitment", "key", "player", "seat", "why"];

impl Tampered {
    /// Whether the manual lists it as free.
    fn is_free(&self, all: &[Value]) -> bool {
        let is_posted = |entry: &Value| !entry["posted"].is_null();
        let last = all.iter().rposition(is_posted).expect("somebody posted");
        match self {
            Self::Leaf { at, path } => {
                let name = path.last().map_or("", String::as_str);
                let is_sealed_yet = path.get(1).is_some_and(|part| part == "asked");
                *at >= last && path[0] != "posted" && (FREE.contains(&name) || is_sealed_yet)
            }
            // a record that is cut short
            Self::Moved {
                from,
                how: "dropped",
            } if from + 1 == all.len() => true,
            // the server's own events at the very end: nobody has signed that they happened, or did not
            Self::Moved { from, .. } => *from > last,
        }
    }
}

/// Paths of all figures and words in a value.
fn leaves(value: &Value, path: &mut Vec<String>, found: &mut Vec<Vec<String>>) {
    match value {
        Value::Object(fields) => {
            for (name, value) in fields {
                path.push(name.clone());
                leaves(value, path, found);
                path.pop();
            }
        }
        Value::Array(items) => {
            for (index, value) in items.iter().enumerate() {
                path.push(index.to_string());
                leaves(value, path, found);
                path.pop();
            }
        }
        _ => found.push(path.clone()),
    }
}

fn at_path<'v>(value: &'v mut Value, path: &[String]) -> &'v mut Value {
    path.iter().fold(value, |value, name| match value {
        Value::Array(items) => &mut items[name.parse::<usize>().expect("an index")],
        other => &mut other[name],
    })
}

fn another(value: &Value, chance: &mut Chance) -> Value {
    match value {
        Value::Bool(flag) => json!(!flag),
        Value::Null => json!(0),
        Value::Number(number) => match number.as_i64() {
            Some(number) => json!(number + 1),
            None => json!(number.as_f64().unwrap_or(0.0) + 1.0),
        },
        // a moment a second later stays a moment; hex stays hex
        Value::String(text) => {
            let digits: Vec<usize> = (0..text.len())
                .filter(|at| text.as_bytes()[*at].is_ascii_digit())
                .collect();
            let place = digits.get(below(chance, digits.len().max(1)));
            match place {
                Some(at) => {
                    let digit = (text.as_bytes()[*at] - b'0' + 1) % 10;
                    let mut text = text.clone();
                    text.replace_range(*at..=*at, &digit.to_string());
                    json!(text)
                }
                None => json!(format!("{text}x")),
            }
        }
        other => other.clone(),
    }
}

fn below(chance: &mut Chance, limit: usize) -> usize {
    usize::try_from(chance.number() % limit as u64).expect("small")
}

/// An entry: one of the last few as often as any.
fn somewhere(chance: &mut Chance, entries: usize) -> usize {
    let among = if chance.comes(0.5) {
        entries.min(6)
    } else {
        entries
    };
    entries - 1 - below(chance, among)
}

fn tamper(all: &mut Vec<Value>, chance: &mut Chance) -> Tampered {
    let at = somewhere(chance, all.len());
    match chance.number() % 10 {
        0 => {
            all.remove(at);
            Tampered::Moved {
                from: at,
                how: "dropped",
            }
        }
        1 => {
            all.insert(at, all[at].clone());
            Tampered::Moved {
                from: at,
                how: "doubled",
            }
        }
        2 => {
            let other = somewhere(chance, all.len());
            all.swap(at, other);
            Tampered::Moved {
                from: at.min(other),
                how: "exchanged",
            }
        }
        3 => {
            let other = somewhere(chance, all.len());
            let (one, two) = (all[at]["posted"].clone(), all[other]["posted"].clone());
            for (index, posted) in [(at, two), (other, one)] {
                let fields = all[index].as_object_mut().expect("an entry");
                fields.remove("posted");
                if !posted.is_null() {
                    fields.insert("posted".to_owned(), posted);
                }
            }
            Tampered::Moved {
                from: at.min(other),
                how: "posted otherwise",
            }
        }
        _ => {
            let mut found = Vec::new();
            leaves(&all[at], &mut Vec::new(), &mut found);
            found.retain(|path| path[0] != "number" && path[0] != "previous");
            let path = found.swap_remove(below(chance, found.len()));
            let leaf = at_path(&mut all[at], &path);
            *leaf = another(leaf, chance);
            Tampered::Leaf { at, path }
        }
    }
}

/// Games, each with the length after which somebody has posted; those in which nobody has are all the host's.
fn games() -> Vec<(Post, usize)> {
    let games = (100..125).map(|seed| random_game(seed, true));
    games
        .filter_map(|post| {
            let entries = entries(&post.lines);
            let posted = entries
                .iter()
                .position(|entry| !entry["posted"].is_null())?;
            Some((post, posted + 1))
        })
        .collect()
}

/// A length at which a game's record may end.
fn cut(post: &Post, from: usize, chance: &mut Chance) -> usize {
    loop {
        let cut = from + below(chance, post.lines.len() + 1 - from);
        if cut == post.lines.len() || audit(&post.lines[..cut]).is_ok() {
            return cut;
        }
    }
}

#[test]
fn tampering_is_found_but_for_what_is_free() {
    let times = std::env::var("FIELDPOST_TEST_TAMPERED");
    let times = times.map_or(150, |times| times.parse().expect("a number"));
    let games = games();
    let mut chance = Chance::new(15);
    let (mut found, mut same, mut free) = (0, 0, BTreeMap::<String, u32>::new());
    for round in 0..times {
        let (post, from) = &games[below(&mut chance, games.len())];
        let cut = cut(post, *from, &mut chance);
        let before = entries(&post.lines[..cut]);
        let mut after = before.clone();
        let tampered = tamper(&mut after, &mut chance);
        let lines = chained(after);
        if lines == post.lines[..cut] {
            same += 1;
            continue;
        }
        match audit(&lines) {
            Err(_) => found += 1,
            Ok(_) => {
                assert!(
                    tampered.is_free(&before),
                    "round {round}: {tampered:?} in a record of {cut} entries is not found"
                );
                let name = match &tampered {
                    Tampered::Leaf { path, .. } => path.last().cloned().unwrap_or_default(),
                    Tampered::Moved { how, .. } => (*how).to_owned(),
                };
                *free.entry(name).or_default() += 1;
            }
        }
    }
    println!(
        "of {times} tampered with, {found} were found, {same} were the same as before, and free were {free:?}"
    );
    assert!(found > times / 2);
}
