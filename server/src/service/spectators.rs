//! What spectators are shown, and when: a game may show them what happened some minutes later.

use jiff::SignedDuration;

use crate::store::{GameId, Head, StoredGame, Subscription};

use super::{Caller, FoldedGame, Service, ServiceError, ServiceResult, moment};

impl Service {
    /// Subscribes to a game from now on.
    #[must_use]
    pub fn subscribe(&self, game: GameId) -> Subscription {
        self.store.subscriptions().subscribe(game)
    }

    /// Whether the caller sees of that game what happened some time ago.
    ///
    /// # Errors
    /// [`ServiceError::NoSuchGame`].
    pub async fn is_late(&self, caller: &Caller, game: GameId) -> ServiceResult<bool> {
        let stored_game = self
            .store
            .game(game)
            .await?
            .ok_or(ServiceError::NoSuchGame)?;
        Ok(is_late(caller, &stored_game))
    }

    /// A game as the caller may see it in lists.
    pub(super) async fn as_seen_by(
        &self,
        caller: &Caller,
        stored_game: StoredGame,
    ) -> ServiceResult<StoredGame> {
        if !is_late(caller, &stored_game) {
            return Ok(stored_game);
        }
        let head = self.head_for_spectators(&stored_game).await?;
        if head == stored_game.head {
            return Ok(stored_game);
        }
        let folded = self.cache.folded_at(stored_game.id, head).await?;
        Ok(StoredGame {
            head,
            moment: moment(&folded.game)?,
            ..stored_game
        })
    }

    /// The game as the caller may see it, as it is in lists for them.
    pub(super) async fn folded_for(
        &self,
        caller: &Caller,
        stored_game: &StoredGame,
    ) -> ServiceResult<FoldedGame> {
        if is_late(caller, stored_game) {
            self.cache.folded_at(stored_game.id, stored_game.head).await
        } else {
            self.cache
                .folded_since(stored_game.id, stored_game.head)
                .await
        }
    }

    /// The last entry that is old enough for spectators; its opening may be seen at once.
    async fn head_for_spectators(&self, stored_game: &StoredGame) -> ServiceResult<Head> {
        let delay = SignedDuration::from_mins(i64::from(stored_game.spectator_delay_minutes));
        let then = self
            .now()
            .checked_sub(delay)
            .map_err(|error| ServiceError::damaged(format!("a delay of {delay}: {error}")))?
            .to_string();
        let second = then.get(..19).unwrap_or(&then);
        if let Some(head) = self.store.head_before(stored_game.id, second).await? {
            return Ok(head);
        }
        let first = self.store.entries(stored_game.id, 0, 1).await?.pop();
        let first = first.ok_or_else(|| ServiceError::damaged("a game without a first entry"))?;
        Ok(Head {
            number: first.number,
            hash: first.hash,
        })
    }
}

fn is_late(caller: &Caller, stored_game: &StoredGame) -> bool {
    stored_game.spectator_delay_minutes > 0 && caller.is_spectator(stored_game.id)
}
