//! A player turn played: moves made, the battle fought, the dice shown: `cargo run --example fight_a_battle`.

use std::error::Error;
use std::sync::Arc;

use fieldpost_rules::authored;
use fieldpost_rules::dice::{FIRST_ATTEMPT, commitment};
use fieldpost_rules::game::{Event, Game};
use fieldpost_rules::orders::{Instructions, text};
use fieldpost_rules::referee::{Posting, play};
use fieldpost_rules::shipped;

const SCENARIO: &str = r#"
format = 1
name = "A lane"
game_turns = 4
table = { width_mm = 900, depth_mm = 900 }

[[side]]
key = "red"
name = "Red"

[[side]]
key = "blue"
name = "Blue"

[[unit]]
id = "red-1"
name = "Lane Foot"
side = "red"
troops = "foot"
files = 3
ranks = 2
at = [450, 440, 0]

[[unit]]
id = "blue-1"
name = "Mill Foot"
side = "blue"
troops = "foot"
files = 2
ranks = 2
at = [450, 450, 180]
"#;

fn main() -> Result<(), Box<dyn Error>> {
    let ruleset = shipped::find_ruleset("musket").ok_or("the ruleset is shipped")?;
    let field = authored::open_battle(("musket", ruleset.text), ("lane", SCENARIO))?;
    let mut game = Game::new(Arc::new(field));
    let sheet = text::parse("sheet", "red-1 attacks blue-1\n", &game)
        .map_err(|faults| faults[0].to_string())?;
    let (game_id, secret) = ([7; 16], [1; 32]);
    let posting = Posting {
        sheet: &sheet,
        standing: &Instructions::default(),
        game_id,
        attempt: FIRST_ATTEMPT,
        secret,
        number: [2; 32],
        next_commitment: commitment(&game_id, 2, FIRST_ATTEMPT, &[3; 32]),
        sealed: &[],
    };
    let events = play(&game, &posting).map_err(|verdict| format!("{:?}", verdict.reasons))?;
    for event in &events {
        if let Event::BattleFought { report } = event {
            println!("{}", serde_json::to_string_pretty(report)?);
        }
        game.apply(event);
    }
    println!("Now it is the turn of {}.", game.player_side());
    Ok(())
}
