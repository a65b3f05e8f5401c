//! How far two units are from each other, and what that means under the rules: `cargo run --example measure_two_units`.

use std::error::Error;
use std::sync::Arc;

use fieldpost_rules::game::Game;
use fieldpost_rules::orders::UnitId;
use fieldpost_rules::{referee, shipped};

fn main() -> Result<(), Box<dyn Error>> {
    let battle = shipped::find("quern-bridge").ok_or("the battle is shipped")?;
    let game = Game::new(Arc::new(battle.open()?));
    let measured = referee::measure(&game, &UnitId::from("red-2"), &UnitId::from("blue-2"))?;
    println!("{}", serde_json::to_string_pretty(&measured)?);
    Ok(())
}
