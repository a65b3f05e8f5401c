//! What the fuzz targets share: battles to try sheets on, and data altered as data.

pub mod altered;

use std::sync::{Arc, OnceLock};

use fieldpost_rules::game::Game;
use fieldpost_rules::shipped;

/// A shipped battle at its opening, opened once.
///
/// # Panics
/// When no such battle is shipped: then the core is wrong.
pub fn opening(key: &str) -> Game {
    let battle = shipped::find(key).expect("shipped");
    Game::new(Arc::new(battle.open().expect("sound")))
}

/// The battle that sheets are read and judged for.
pub fn quern_bridge() -> &'static Game {
    static GAME: OnceLock<Game> = OnceLock::new();
    GAME.get_or_init(|| opening("quern-bridge"))
}
