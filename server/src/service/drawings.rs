//! Drawings of the table: drawn once for each head and kept, compressed as well.

use crate::measuring::Asker;
use crate::rendering::{self, Drawing, DrawingView};
use crate::store::{GameId, Head};

use super::entries::event_of;
use super::{Caller, FoldedGame, Service, ServiceError, ServiceResult};

impl Service {
    /// A game as the caller may see it: at its head, or after one of its events.
    ///
    /// # Errors
    /// As [`Self::table`]; [`ServiceError::NoSuchEvent`].
    pub async fn folded_as_of(
        &self,
        caller: &Caller,
        game: GameId,
        at: Option<u64>,
    ) -> ServiceResult<FoldedGame> {
        let stored_game = self.game_for(caller, game).await?;
        let last = stored_game.head.number;
        match at {
            Some(number) if number != last => {
                let no_such_event = ServiceError::NoSuchEvent {
                    requested: number,
                    last,
                };
                let before = number.checked_sub(1).filter(|_| number < last);
                let before = before.ok_or(no_such_event)?;
                let entry = self.store.entries(game, before, 1).await?.pop();
                let entry = entry
                    .ok_or_else(|| ServiceError::damaged(format!("entry {number} is missing")))?;
                let head = Head {
                    number,
                    hash: entry.hash,
                };
                self.cache.folded_at(game, head).await
            }
            _ => self.folded_for(caller, &stored_game).await,
        }
    }

    /// A drawing of a game that was folded for whoever asks.
    ///
    /// # Errors
    /// [`ServiceError::NoSuchEvent`] when the view begins after it; as [`Self::table`].
    pub async fn drawing(
        &self,
        asker: Asker,
        game: GameId,
        folded: FoldedGame,
        view: DrawingView,
    ) -> ServiceResult<Drawing> {
        if let Some(drawing) = folded.rendered.drawing(view) {
            return Ok(drawing);
        }
        let changes = match view.since {
            Some(since) => Some(self.changes_since(&asker, game, &folded, since).await?),
            None => None,
        };
        let table = std::sync::Arc::clone(&folded.game);
        let drawn = self.measure(asker, move |_| {
            let svg = rendering::drawing(&table, view.is_map, changes.as_ref());
            Ok(Drawing::of(svg))
        });
        let drawing = drawn.await?;
        folded.rendered.keep_drawing(view, drawing.clone());
        Ok(drawing)
    }

    /// The game after an event, and what has happened since.
    async fn changes_since(
        &self,
        asker: &Asker,
        game: GameId,
        folded: &FoldedGame,
        since: u64,
    ) -> ServiceResult<rendering::Changes> {
        let last = folded.head.number;
        if since == 0 || since > last {
            return Err(ServiceError::NoSuchEvent {
                requested: since,
                last,
            });
        }
        let before = self.game_before(asker, game, since + 1).await?;
        let (mut events, mut read) = (Vec::new(), since);
        while read < last {
            let limit = u32::try_from(last - read).unwrap_or(u32::MAX).min(200);
            let entries = self.store.entries(game, read, limit).await?;
            let Some(newest) = entries.last() else {
                break;
            };
            read = newest.number;
            for entry in entries.iter().filter(|entry| entry.number <= last) {
                events.push(event_of(entry)?);
            }
        }
        Ok(rendering::Changes { before, events })
    }
}
