//! Games in short, as callers see them.

use fieldpost_wire as wire;

use crate::store::{GameId, Readers, StoredGame};

use super::summaries::sides;
use super::validate::check_delay;
use super::{Caller, Service, ServiceError, ServiceResult};

impl Service {
    /// One game in short.
    ///
    /// # Errors
    /// [`ServiceError::NoSuchGame`], also when the caller may not read it.
    pub async fn game(&self, caller: &Caller, game: GameId) -> ServiceResult<wire::GameSummary> {
        let stored_game = self.game_for(caller, game).await?;
        self.game_summary(&stored_game).await
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
    ) -> ServiceResult<wire::GamesPage> {
        let readers = match caller {
            Caller::Nobody => Readers::OpenAnd(None),
            Caller::Holder(holder) if holder.is_organiser => Readers::All,
            Caller::Holder(holder) => match &holder.member {
                Some(member) => Readers::Member(member.id),
                None => Readers::OpenAnd(holder.seat.as_ref().map(|seat| seat.game)),
            },
        };
        let mut found = self.store.games(readers, after, limit + 1).await?;
        let more = found.len() > limit as usize;
        found.truncate(limit as usize);
        let mut games = Vec::with_capacity(found.len());
        for stored_game in found {
            let stored_game = self.as_seen_by(caller, stored_game).await?;
            games.push(self.game_summary(&stored_game).await?);
        }
        Ok(wire::GamesPage { games, more })
    }

    /// Opens a game to spectators or closes it, and sets when they are shown what happened.
    ///
    /// # Errors
    /// When the caller is not the organiser, or there is no such game.
    pub async fn set_for_spectators(
        &self,
        caller: &Caller,
        game: GameId,
        requested: &wire::ForSpectators,
    ) -> ServiceResult<wire::GameSummary> {
        let by = caller.must_organise()?;
        self.game_for(caller, game).await?;
        if let Some(minutes) = requested.spectator_delay_minutes {
            self.store
                .set_spectator_delay(&by, game, check_delay(minutes)?)
                .await?;
        }
        if let Some(open) = requested.open_to_all {
            self.store.set_open_to_all(&by, game, open).await?;
        }
        self.game(caller, game).await
    }

    pub(super) async fn game_summary(
        &self,
        stored_game: &StoredGame,
    ) -> ServiceResult<wire::GameSummary> {
        let seats = self.store.seats(stored_game.id).await?;
        let ended = stored_game
            .moment
            .ending
            .as_deref()
            .map(serde_json::from_str)
            .transpose()
            .map_err(|error| ServiceError::damaged(format!("an ending: {error}")))?;
        Ok(wire::GameSummary {
            id: stored_game.id.to_string(),
            name: stored_game.name.clone(),
            opened_at: stored_game.opened_at.clone(),
            open_to_all: stored_game.open_to_all,
            spectator_delay_minutes: stored_game.spectator_delay_minutes,
            head: stored_game.head.into(),
            sides: sides(seats),
            game_turn: stored_game.moment.player_turn.div_ceil(2),
            game_turns: stored_game.game_turns,
            player_turn: stored_game.moment.player_turn,
            to_move: stored_game.moment.to_move.clone(),
            ended,
        })
    }
}
