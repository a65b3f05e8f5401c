//! Drawings of the table: drawn once for each head and kept, compressed as well.

use std::io::Write;

use bytes::Bytes;
use flate2::Compression;
use flate2::write::GzEncoder;

use crate::measuring::Asker;
use crate::rendering;
use crate::store::{GameId, Head};

use super::entries::event_of;
use super::{Caller, FoldedGame, Service, ServiceError, ServiceResult};

/// What is drawn of a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct DrawingView {
    /// The map alone, for a page whose script works on it.
    pub is_map: bool,
    /// With ghosts where units stood after that event.
    pub since: Option<u64>,
}

/// A drawing as it is sent.
#[derive(Debug, Clone)]
pub struct Drawing {
    /// SVG.
    pub svg: Bytes,
    /// The same, compressed with gzip.
    pub gzip: Bytes,
}

impl Drawing {
    fn of(svg: String) -> Self {
        let mut encoder = GzEncoder::new(Vec::new(), Compression::default());
        // Writing to memory cannot fail.
        let _ = encoder.write_all(svg.as_bytes());
        Self {
            gzip: encoder.finish().unwrap_or_default().into(),
            svg: svg.into(),
        }
    }
}

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
        let table = FoldedGame::clone(&folded);
        let drawn = self.measure(asker, move |_| {
            let svg = rendering::drawing(&table.game, view.is_map, changes.as_ref());
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
