//! A second program, in another language and written from the manual's page alone, agrees on chain, canonical form,
//! commitments, dice, seals and signatures of random games, sound and forged. `tests/record/verify.py`; it needs Python
//! with the package `cryptography`, and is skipped where that is missing.
//!
//! `FIELDPOST_TEST_RECORDS=1000` reads so many games; the usual run a few dozen.

use std::path::PathBuf;
use std::process::Command;

use fieldpost_commander::Chance;
use fieldpost_rules::record::audit::{Line, audit};
use serde_json::{Value, json};

use crate::post::{chained, entries, random_game};

fn script() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("record/verify.py")
}

/// What the other program says of records, in their order; nothing where it cannot run.
fn verified(paths: &[PathBuf]) -> Option<Vec<String>> {
    let can = Command::new("python3")
        .args(["-c", "import cryptography, tomllib"])
        .output();
    if !can.is_ok_and(|output| output.status.success()) {
        eprintln!("skipped: no Python 3.11 with the package cryptography");
        return None;
    }
    let output = Command::new("python3")
        .arg(script())
        .args(paths)
        .output()
        .expect("it runs");
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let text = String::from_utf8(output.stdout).expect("text");
    Some(text.lines().map(str::to_owned).collect())
}

fn written(lines: &[Line]) -> String {
    let line = |line: &Line| serde_json::to_string(line).expect("JSON") + "\n";
    lines.iter().map(line).collect()
}

/// The first entry that has something, altered.
fn altered(all: &mut [Value], has: impl Fn(&Value) -> bool, alter: impl Fn(&mut Value)) -> bool {
    let entry = all.iter_mut().rev().find(|entry| has(entry));
    entry.is_some_and(|entry| {
        alter(entry);
        true
    })
}

/// A record forged in what both programs check; nothing if it has no such entry.
fn forged(lines: &[Line], chance: &mut Chance) -> Option<Vec<Line>> {
    let mut all = entries(lines);
    let is = |name: &'static str| move |entry: &Value| entry["event"]["event"] == name;
    let digits = |value: &mut Value| {
        let text = value.as_str().expect("hex");
        let first = if text.starts_with('1') { "2" } else { "1" };
        *value = json!(format!("{first}{}", &text[1..]));
    };
    let done = match chance.number() % 9 {
        // the chain: a text whose hash is another
        0 => {
            let mut lines = lines.to_vec();
            let at = usize::try_from(chance.number()).unwrap_or(0) % lines.len();
            lines[at].body = lines[at].body.replace("\"at\":\"2026", "\"at\":\"2027");
            return Some(lines);
        }
        // the canonical form: a space
        1 => {
            let mut lines = lines.to_vec();
            let last = lines.last_mut()?;
            last.body = last.body.replacen(':', ": ", 1);
            last.hash = hex::encode(fieldpost_rules::record::hash_of(last.body.as_bytes()));
            return Some(lines);
        }
        2 => altered(&mut all, is("battle-fought"), |entry| {
            let die = &mut entry["event"]["report"]["dice"][0];
            *die = json!(die.as_u64().expect("a die") % 6 + 1);
        }),
        3 => altered(&mut all, is("turn-closed"), |entry| {
            digits(&mut entry["event"]["dice"]["secret"])
        }),
        4 => altered(&mut all, is("turn-closed"), |entry| {
            digits(&mut entry["event"]["dice"]["number"])
        }),
        5 => altered(
            &mut all,
            |entry| is("game-ended")(entry) && entry["event"]["opened"][0].is_object(),
            |entry| digits(&mut entry["event"]["opened"][0]["nonce"]),
        ),
        6 => altered(
            &mut all,
            |entry| entry["posted"]["signed"].is_object(),
            |entry| digits(&mut entry["posted"]["signed"]["signature"]),
        ),
        7 => altered(
            &mut all,
            |entry| entry["posted"]["signed"].is_object(),
            |entry| {
                entry.as_object_mut().expect("an entry").remove("posted");
            },
        ),
        _ => altered(
            &mut all,
            |entry| entry["posted"]["signed"].is_object(),
            |entry| entry["posted"]["seat"] = json!("another seat"),
        ),
    };
    done.then(|| chained(all))
}

#[test]
fn another_program_agrees_on_sound_and_forged_records() {
    let games = std::env::var("FIELDPOST_TEST_RECORDS");
    let games = games.map_or(40, |games| games.parse().expect("a number"));
    let folder = tempfile::tempdir().expect("a folder");
    let mut chance = Chance::new(8);
    let (mut paths, mut ours) = (Vec::new(), Vec::new());
    for seed in 0..games {
        let post = random_game(1000 + seed, seed % 5 != 0);
        let mut lines = post.lines;
        if seed % 2 == 1
            && let Some(forged) = forged(&lines, &mut chance)
        {
            lines = forged;
        }
        let path = folder.path().join(format!("{seed}.ndjson"));
        std::fs::write(&path, written(&lines)).expect("written");
        paths.push(path);
        ours.push(
            audit(&lines)
                .map(|audited| audited.throws)
                .map_err(|fault| fault.to_string()),
        );
    }
    let Some(theirs) = verified(&paths) else {
        return;
    };
    assert_eq!(theirs.len(), ours.len());
    let mut counts = [0; 2];
    for (seed, (ours, theirs)) in ours.iter().zip(&theirs).enumerate() {
        let is_sound = theirs.starts_with("sound");
        counts[usize::from(is_sound)] += 1;
        assert_eq!(
            ours.is_ok(),
            is_sound,
            "game {seed}: {ours:?}, and the other program: {theirs}"
        );
        if let Ok(throws) = ours {
            assert!(
                theirs.contains(&format!(" {throws} throws")),
                "game {seed}: {throws}, {theirs}"
            );
        }
    }
    println!(
        "{} sound, {} forged: both programs agree",
        counts[1], counts[0]
    );
    assert!(counts[0] > 0 && counts[1] > 0);
}

/// Records of battles fought by automatic commanders, kept in the project, to their ends.
#[test]
fn another_program_reads_the_stored_records() {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../rules-core/records");
    let paths = ["quern-bridge", "three-cairns", "saltway-ridge"]
        .map(|name| folder.join(format!("{name}.ndjson")));
    let Some(told) = verified(&paths) else {
        return;
    };
    assert!(
        told.iter().all(|told| told.starts_with("sound")),
        "{told:?}"
    );
}
