//! Which way every shipped battle leans between equal automatic commanders, and what moving first is worth:
//! `cargo run --release -p fieldpost-study --example lean -- 2000 1` fights 2000 battles of each, of seed 1.

use std::error::Error;
use std::sync::Arc;

use fieldpost_rules::shipped::{SCENARIOS, find};
use fieldpost_study::Share;
use fieldpost_study::series::{OtherWayRound, fight, report};

fn main() -> Result<(), Box<dyn Error>> {
    let mut given = std::env::args().skip(1);
    let battles: u64 = given.next().as_deref().unwrap_or("400").parse()?;
    let seed: u64 = given.next().as_deref().unwrap_or("1").parse()?;
    let only = given.next();
    println!(
        "{:<15} {:>7} {:>22} {:>22} {:>7}",
        "", "draws %", "first side %", "first mover %", "turns"
    );
    for shipped in SCENARIOS {
        if only.as_ref().is_some_and(|key| key != shipped.key) {
            continue;
        }
        let Some(battle) = find(shipped.key) else {
            continue;
        };
        let field = Arc::new(battle.open().map_err(|faults| format!("{faults:?}"))?);
        let other = OtherWayRound::of(&field);
        let fought: Vec<_> = (1..=battles)
            .map(|number| match number % 2 {
                0 => other.fight(seed, number),
                _ => fight(&field, seed, number),
            })
            .collect();
        let whole = report(&field, seed, &fought);
        let began: Vec<_> = fought.iter().step_by(2).cloned().collect();
        let as_shipped = report(&field, seed, &began);
        println!(
            "{:<15} {:>7.1} {:>22} {:>22} {:>7.1}   as shipped {}; {} stuck",
            shipped.key,
            100.0 * whole.draws.share,
            told(&whole.first_of_decided),
            told(&whole.first_mover),
            whole.game_turns.mean,
            told(&as_shipped.first_of_decided),
            whole.stuck.len()
        );
    }
    Ok(())
}

fn told(share: &Share) -> String {
    let percent = |share: f64| 100.0 * share;
    format!(
        "{:.1} ({:.1} to {:.1})",
        percent(share.share),
        percent(share.low),
        percent(share.high)
    )
}
