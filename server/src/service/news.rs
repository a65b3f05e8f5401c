//! News: events in words, and whose turn it is after them.

use fieldpost_rules::game::{Event, Game};
use fieldpost_view::words;
use fieldpost_wire as wire;

use crate::store::Moment;

use super::ServiceResult;

/// One event in words.
pub(super) fn news_item(before: &Game, number: u64, at: &str, event: &Event) -> wire::NewsItem {
    wire::NewsItem {
        number,
        at: at.to_owned(),
        event: event.kind().to_owned(),
        words: words::event(event, before),
    }
}

/// The side to post next; none once the game has ended.
pub(super) fn to_move(game: &Game) -> Option<String> {
    game.ending().is_none().then(|| game.player_side().0)
}

/// Whose turn it is, for lists.
pub(super) fn moment(game: &Game) -> ServiceResult<Moment> {
    let ending = game.ending().map(serde_json::to_string).transpose()?;
    Ok(Moment {
        player_turn: game.player_turn(),
        to_move: ending.is_none().then(|| game.player_side().0),
        ending,
    })
}
