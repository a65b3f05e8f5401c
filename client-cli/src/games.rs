//! The games of a server: all of them, or one by its name.

use crate::api::ApiClient;
use crate::error::{CliError, CliResult};
use crate::storage::seats::is_called;
use crate::wire::{GameSummary, GamesPage};

/// Games of one page of the list.
const PAGE: usize = 100;

/// Every game that the holder of the key may read.
///
/// # Errors
/// When the server cannot be asked.
pub fn all(client: &ApiClient) -> CliResult<Vec<GameSummary>> {
    let mut games: Vec<GameSummary> = Vec::new();
    loop {
        let after = games.last().map(|game| format!("&after={}", game.id));
        let path = format!("/v1/games?limit={PAGE}{}", after.unwrap_or_default());
        let page: GamesPage = client.get(path)?;
        let is_empty = page.games.is_empty();
        games.extend(page.games);
        if !page.more || is_empty {
            return Ok(games);
        }
    }
}

/// The id of the game of a name.
///
/// # Errors
/// [`CliError::Usage`] when none is called so, or several are; the several are listed.
pub fn id_of(client: &ApiClient, name: &str) -> CliResult<String> {
    let known = all(client)?;
    let called: Vec<&GameSummary> = known
        .iter()
        .filter(|game| is_called(name, &game.name))
        .collect();
    match called.as_slice() {
        [game] => Ok(game.id.clone()),
        [] => Err(CliError::Usage(format!(
            "no game here is called {name:?}; \"fieldpost games\" lists those that you may read"
        ))),
        several => {
            let listed: Vec<String> = several.iter().map(|game| line(game)).collect();
            Err(CliError::Usage(format!(
                "{} games are called {name:?}; name the one by its id:\n{}",
                several.len(),
                listed.join("\n")
            )))
        }
    }
}

fn line(game: &GameSummary) -> String {
    let players: Vec<String> = game
        .sides
        .iter()
        .map(|side| {
            let player = side.player.as_deref().unwrap_or("nobody yet");
            format!("{}: {player}", side.name)
        })
        .collect();
    format!("  {}  {}", game.id, players.join(", "))
}
