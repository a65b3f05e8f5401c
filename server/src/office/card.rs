//! Games in short, as callers see them.

use crate::store::{GameCard, GameId, Readers, Seat};
use crate::wire;

use super::{Caller, Failure, Office, Outcome};

impl Office {
    /// One game in short.
    ///
    /// # Errors
    /// [`Failure::NoSuchGame`], also when the caller may not read it.
    pub async fn game(&self, caller: &Caller, game: GameId) -> Outcome<wire::Card> {
        let card = self.card_for(caller, game).await?;
        self.shown(&card).await
    }

    /// The games the caller may read.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn games(
        &self,
        caller: &Caller,
        after: Option<GameId>,
        limit: u32,
    ) -> Outcome<wire::GamesPage> {
        let readers = match caller {
            Caller::Nobody => Readers::OpenAnd(None),
            Caller::Organiser => Readers::All,
            Caller::Seat { seat, .. } => Readers::OpenAnd(Some(seat.game)),
        };
        let mut cards = self.store.games(readers, after, limit + 1).await?;
        let more = cards.len() > limit as usize;
        cards.truncate(limit as usize);
        let mut games = Vec::with_capacity(cards.len());
        for card in &cards {
            games.push(self.shown(card).await?);
        }
        Ok(wire::GamesPage { games, more })
    }

    /// Opens a game to spectators or closes it.
    ///
    /// # Errors
    /// When the caller is not the organiser, or there is no such game.
    pub async fn set_open_to_all(
        &self,
        caller: &Caller,
        game: GameId,
        open: bool,
    ) -> Outcome<wire::Card> {
        caller.must_organise()?;
        self.card_for(caller, game).await?;
        self.store.set_open_to_all(game, open).await?;
        self.game(caller, game).await
    }

    pub(super) async fn shown(&self, card: &GameCard) -> Outcome<wire::Card> {
        let seats = self.store.seats(card.id).await?;
        let ended = card
            .moment
            .ending
            .as_deref()
            .map(serde_json::from_str)
            .transpose()
            .map_err(|error| Failure::damaged(format!("an ending: {error}")))?;
        Ok(wire::Card {
            id: card.id.to_string(),
            name: card.name.clone(),
            opened_at: card.opened_at.clone(),
            open_to_all: card.open_to_all,
            head: card.head.into(),
            sides: sides(seats),
            game_turn: card.moment.player_turn.div_ceil(2),
            game_turns: card.game_turns,
            player_turn: card.moment.player_turn,
            to_move: card.moment.to_move.clone(),
            ended,
        })
    }
}

pub(super) fn sides(seats: Vec<Seat>) -> Vec<wire::SideCard> {
    seats
        .into_iter()
        .map(|seat| wire::SideCard {
            side: seat.side,
            name: seat.side_name,
            player: seat.player,
        })
        .collect()
}
