//! A record checked from nothing: chain, dice and every verdict: `cargo run --example audit_a_record FILE`. Without a
//! file it checks a record that comes with the crate.

use std::error::Error;

use fieldpost_rules::record::audit::{Line, audit};

fn main() -> Result<(), Box<dyn Error>> {
    let shipped = include_str!("../records/quern-bridge.ndjson").to_owned();
    let text = match std::env::args().nth(1) {
        Some(path) => std::fs::read_to_string(path)?,
        None => shipped,
    };
    let lines: Vec<Line> = text
        .lines()
        .map(serde_json::from_str)
        .collect::<Result<_, _>>()?;
    let audited = audit(&lines)?;
    println!(
        "{} entries, {} player turns, {} throws: sound.",
        audited.entries, audited.player_turns, audited.throws
    );
    Ok(())
}
