//! Composing the message of a notice that is due.

use std::sync::Arc;

use fieldpost_rules::game::Game;
use fieldpost_rules::interruption::Interruption;
use tracing::warn;

use crate::channels::NoticeMessage;
use crate::measuring::Asker;
use crate::rendering;
use crate::store::{Channel, GameId, Kind, SeatRole, TakenNotice};

use super::super::entries::event_of;
use super::super::news::to_move;
use super::super::summaries::sides;
use super::super::{Service, ServiceError, ServiceResult};
use super::format_ms;

/// How wide the table is drawn in characters: mail programs wrap longer lines.
const MAIL_COLUMNS: usize = 72;
/// How many events are drawn as changes in one picture.
const EVENTS_DRAWN: u64 = 500;

impl Service {
    /// What a notice says; none if what it calls for has been done.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub async fn compose(&self, taken: &TakenNotice) -> ServiceResult<Option<NoticeMessage>> {
        let (seat, number) = (&taken.seat, taken.id.number);
        if seat.role == SeatRole::Spectator {
            return Ok(None);
        }
        let stored_game = self.store.game(seat.game).await?;
        let stored_game = stored_game.ok_or(ServiceError::NoSuchGame)?;
        let now = self.cache.folded(seat.game).await?;
        let table = if number >= now.head.number {
            Arc::clone(&now.game)
        } else {
            Arc::new(
                self.game_before(&Asker::Server, seat.game, number + 1)
                    .await?,
            )
        };
        if is_outdated(taken.id.kind, &table, &now.game) {
            return Ok(None);
        }
        // Of a game just opened nothing may have happened yet that could be told of.
        let entry = self
            .store
            .entries(seat.game, number.max(1) - 1, 1)
            .await?
            .pop();
        let hash = entry
            .ok_or_else(|| ServiceError::damaged("a notice of no event"))?
            .hash;
        let news = self
            .news_between(&Asker::Server, seat.game, taken.since, number)
            .await?;
        let (table_text, picture) = match taken.to.channel {
            Channel::Mail => {
                let picture = self.picture(seat.game, (taken.since, number), &table);
                let picture = picture.await.unwrap_or_else(|error| {
                    warn!(game = %seat.game, number, %error, "a mail goes without its picture");
                    None
                });
                let shown = Arc::clone(&table);
                let drawn = move |_: &Interruption| Ok(rendering::table_text(&shown, MAIL_COLUMNS));
                (self.measure(Asker::Server, drawn).await?, picture)
            }
            Channel::Webhook => (String::new(), None),
        };
        Ok(Some(NoticeMessage {
            id: taken.id.clone(),
            game: seat.game.to_string(),
            battle: stored_game.name,
            role: seat.role.clone(),
            player: seat.player.clone(),
            hash,
            game_turn: table.told_turn(),
            game_turns: stored_game.game_turns,
            to_move: self.mover(&table, seat.game).await?,
            news: news
                .into_iter()
                .filter(|item| !item.words.is_empty())
                .collect(),
            words: taken.words.clone(),
            queued_at: format_ms(taken.queued_at),
            table_text,
            picture,
        }))
    }

    /// The table with what the events after one number up to another changed, as PNG; none when it would be too large.
    async fn picture(
        &self,
        game: GameId,
        (since, last): (u64, u64),
        table: &Arc<Game>,
    ) -> ServiceResult<Option<Vec<u8>>> {
        let table = Arc::clone(table);
        // After a long silence everything has moved; the table as it stands tells more then.
        if since >= last || last - since > EVENTS_DRAWN {
            let drawn = move |_: &Interruption| Ok(rendering::changes_png(&table, &table, &[]));
            return self.measure(Asker::Server, drawn).await;
        }
        let before = self.game_before(&Asker::Server, game, since + 1).await?;
        let limit = u32::try_from(last - since).unwrap_or(u32::MAX);
        let entries = self.store.entries(game, since, limit).await?;
        let events = entries
            .iter()
            .map(event_of)
            .collect::<ServiceResult<Vec<_>>>()?;
        let drawn = move |_: &Interruption| Ok(rendering::changes_png(&before, &table, &events));
        self.measure(Asker::Server, drawn).await
    }

    async fn mover(&self, table: &Game, game: GameId) -> ServiceResult<Option<(String, String)>> {
        let Some(side) = to_move(table) else {
            return Ok(None);
        };
        let seats = self.store.seats(game).await?;
        let name = sides(seats).into_iter().find(|known| known.side == side);
        let name = name.map_or_else(|| side.clone(), |known| known.name);
        Ok(Some((side, name)))
    }
}

/// Whether it calls for something that has been done since.
fn is_outdated(kind: Kind, then: &Game, now: &Game) -> bool {
    match kind {
        Kind::YourTurn | Kind::Reminder(_) | Kind::TimeOut => {
            now.ending().is_some() || now.player_turn() != then.player_turn()
        }
        Kind::Welcome
        | Kind::Opened
        | Kind::Ended
        | Kind::Dispute
        | Kind::Ruling
        | Kind::KeyReplaced => false,
    }
}
