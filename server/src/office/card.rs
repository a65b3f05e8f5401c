//! Games in short, as callers see them.

use crate::store::{GameCard, GameId, Readers, Seat, SeatRole};
use fieldpost_wire as wire;

use super::{Caller, Failure, Office, Outcome};

impl Office {
    /// One game in short.
    ///
    /// # Errors
    /// [`Failure::NoSuchGame`], also when the caller may not read it.
    pub async fn game(&self, caller: &Caller, game: GameId) -> Outcome<wire::GameSummary> {
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
            Caller::Holder(holder) if holder.is_organiser => Readers::All,
            Caller::Holder(holder) => match &holder.member {
                Some(member) => Readers::Member(member.id),
                None => Readers::OpenAnd(holder.seat.as_ref().map(|seat| seat.game)),
            },
        };
        let mut cards = self.store.games(readers, after, limit + 1).await?;
        let more = cards.len() > limit as usize;
        cards.truncate(limit as usize);
        let mut games = Vec::with_capacity(cards.len());
        for card in cards {
            let card = self.in_regard_to(caller, card).await?;
            games.push(self.shown(&card).await?);
        }
        Ok(wire::GamesPage { games, more })
    }

    /// Opens a game to spectators or closes it, and sets when they hear of what happened.
    ///
    /// # Errors
    /// When the caller is not the organiser, or there is no such game.
    pub async fn set_for_spectators(
        &self,
        caller: &Caller,
        game: GameId,
        asked: &wire::ForSpectators,
    ) -> Outcome<wire::GameSummary> {
        caller.must_organise()?;
        self.card_for(caller, game).await?;
        if let Some(minutes) = asked.spectator_delay_minutes {
            self.store
                .set_spectator_delay(game, fit_delay(minutes)?)
                .await?;
        }
        if let Some(open) = asked.open_to_all {
            self.store.set_open_to_all(game, open).await?;
        }
        self.game(caller, game).await
    }

    pub(super) async fn shown(&self, card: &GameCard) -> Outcome<wire::GameSummary> {
        let seats = self.store.seats(card.id).await?;
        let ended = card
            .moment
            .ending
            .as_deref()
            .map(serde_json::from_str)
            .transpose()
            .map_err(|error| Failure::damaged(format!("an ending: {error}")))?;
        Ok(wire::GameSummary {
            id: card.id.to_string(),
            name: card.name.clone(),
            opened_at: card.opened_at.clone(),
            open_to_all: card.open_to_all,
            spectator_delay_minutes: card.spectator_delay_minutes,
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

/// The sides in the order of their first seats, and who plays them.
pub(super) fn sides(seats: Vec<Seat>) -> Vec<wire::SideSummary> {
    let mut sides: Vec<wire::SideSummary> = Vec::new();
    for seat in seats {
        let SeatRole::Player { side, side_name } = seat.role else {
            continue;
        };
        let known = sides.iter().position(|known| known.side == side);
        let place = known.unwrap_or_else(|| {
            sides.push(wire::SideSummary {
                side,
                name: side_name,
                player: None,
                players: Vec::new(),
            });
            sides.len() - 1
        });
        if let Some(player) = seat.player {
            sides[place].player.get_or_insert_with(|| player.clone());
            sides[place].players.push(player);
        }
    }
    sides
}

/// The longest that spectators can be kept waiting: a week.
const LONGEST_DELAY_MINUTES: u32 = 7 * 24 * 60;

pub(super) fn fit_delay(minutes: u32) -> Outcome<u32> {
    if minutes <= LONGEST_DELAY_MINUTES {
        Ok(minutes)
    } else {
        Err(Failure::TooLate {
            asked: minutes,
            most: LONGEST_DELAY_MINUTES,
        })
    }
}
