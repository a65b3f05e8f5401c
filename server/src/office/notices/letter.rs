//! What a notice says, as plain facts and words; how it looks is the way's.

use std::sync::Arc;

use fieldpost_rules::game::Game;

use crate::rules;
use crate::store::{Kind, NoticeId, SeatRole, TakenNotice};
use crate::wire;

use super::super::card::sides;
use super::super::reading::to_move;
use super::super::{Failure, Office, Outcome, measure};
use super::told_time;

/// What a notice says.
#[derive(Debug, Clone)]
pub struct Letter {
    /// The notice.
    pub id: NoticeId,
    /// The game's id.
    pub game: String,
    /// The scenario's name.
    pub battle: String,
    /// What the seat that is told is.
    pub role: SeatRole,
    /// The name of its holder.
    pub player: Option<String>,
    /// The game turn, from 1.
    pub game_turn: u32,
    /// How many there are.
    pub game_turns: u32,
    /// The side to post next, its key and its name; absent once the game has ended.
    pub to_move: Option<(String, String)>,
    /// What happened.
    pub news: Vec<wire::NewsItem>,
    /// Said besides; may be empty.
    pub words: String,
    /// When it was queued: RFC 3339, UTC.
    pub queued_at: String,
    /// The table after the news.
    pub table_svg: String,
}

impl Letter {
    /// Whether the side of the seat that is told is to post next.
    #[must_use]
    pub fn is_to_move(&self) -> bool {
        let to_move = self.to_move.as_ref().map(|(side, _)| side.as_str());
        to_move.is_some() && to_move == self.role.side()
    }
}

impl Office {
    /// What a notice says; none if nobody needs to hear it any more.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub async fn letter(&self, taken: &TakenNotice) -> Outcome<Option<Letter>> {
        let (seat, number) = (&taken.seat, taken.id.number);
        if seat.role == SeatRole::Spectator {
            return Ok(None);
        }
        let card = self.store.game(seat.game).await?;
        let card = card.ok_or(Failure::NoSuchGame)?;
        let now = self.desk.folded(seat.game).await?;
        let table = if number >= now.head.number {
            Arc::clone(&now.game)
        } else {
            Arc::new(self.game_before(seat.game, number + 1).await?)
        };
        if is_outdated(taken.id.kind, &table, &now.game) {
            return Ok(None);
        }
        let news = self.news_between(seat.game, taken.since, number).await?;
        let drawn = Arc::clone(&table);
        Ok(Some(Letter {
            id: taken.id.clone(),
            game: seat.game.to_string(),
            battle: card.name,
            role: seat.role.clone(),
            player: seat.player.clone(),
            game_turn: table.told_turn(),
            game_turns: card.game_turns,
            to_move: self.mover(&table, seat.game).await?,
            news: news
                .into_iter()
                .filter(|item| !item.words.is_empty())
                .collect(),
            words: taken.words.clone(),
            queued_at: told_time(taken.queued_at),
            table_svg: measure(move || rules::table_svg(&drawn)).await?,
        }))
    }

    async fn mover(
        &self,
        table: &Game,
        game: crate::store::GameId,
    ) -> Outcome<Option<(String, String)>> {
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
        Kind::Welcome | Kind::Opened | Kind::Ended | Kind::Dispute | Kind::Ruling => false,
    }
}
