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
        event: kind_of(event),
        words: words::event(event, before),
    }
}

/// The kind of an event, as it is written first in its JSON, of which no more is written.
fn kind_of(event: &Event) -> String {
    let mut beginning = Beginning::default();
    // Ends in an error as soon as there is enough.
    let _ = serde_json::to_writer(&mut beginning, event);
    let text = String::from_utf8_lossy(&beginning.0);
    let kind = text.strip_prefix("{\"event\":\"").unwrap_or_default();
    kind.split('"').next().unwrap_or_default().to_owned()
}

/// The first bytes of what is written.
#[derive(Default)]
struct Beginning(Vec<u8>);

impl std::io::Write for Beginning {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        // The longest kind of event is far shorter.
        if self.0.len() > 64 {
            return Err(std::io::ErrorKind::StorageFull.into());
        }
        self.0.extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
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
