//! The table as a picture and as text: `cargo run -p fieldpost-view --example draw_a_table > table.svg`.

use std::error::Error;
use std::sync::Arc;

use fieldpost_rules::game::Game;
use fieldpost_rules::shipped;
use fieldpost_view::{svg, text};

fn main() -> Result<(), Box<dyn Error>> {
    let battle = shipped::find("quern-bridge").ok_or("the battle is shipped")?;
    let game = Game::new(Arc::new(battle.open()?));
    println!("{}", svg::table(&game, &svg::SvgOptions::default()));
    eprintln!("{}", text::table(&game, &text::TextOptions::default()));
    Ok(())
}
