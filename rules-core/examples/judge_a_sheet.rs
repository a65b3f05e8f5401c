//! What the referee says of a turn sheet, order by order: `cargo run --example judge_a_sheet`.

use std::error::Error;
use std::sync::Arc;

use fieldpost_rules::game::Game;
use fieldpost_rules::{referee, shipped};

fn main() -> Result<(), Box<dyn Error>> {
    let battle = shipped::find("quern-bridge").ok_or("the battle is shipped")?;
    let game = Game::new(Arc::new(battle.open()?));
    let sheet = fieldpost_rules::orders::text::parse("sheet", "red-2: forward 300 mm\n", &game)
        .map_err(|faults| faults[0].to_string())?;
    let verdict = referee::judge_sheet(&game, &sheet);
    println!("The sheet is {}.", verdict.verdict.word());
    for reason in verdict.all_reasons() {
        println!("{}: {}", reason.ruling().word(), reason.text());
    }
    Ok(())
}
