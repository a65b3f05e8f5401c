//! What those who only look on see, and when: a game may show them what happened some minutes later.

use jiff::SignedDuration;

use crate::store::{GameCard, GameId, Head, Watch};

use super::{Caller, Failure, Folded, Office, Outcome, moment};

impl Office {
    /// Watches a game from now on.
    #[must_use]
    pub fn watch(&self, game: GameId) -> Watch {
        self.store.bulletin().watch(game)
    }

    /// Whether the caller sees of that game what happened some time ago.
    ///
    /// # Errors
    /// [`Failure::NoSuchGame`].
    pub async fn is_late(&self, caller: &Caller, game: GameId) -> Outcome<bool> {
        let card = self.store.game(game).await?.ok_or(Failure::NoSuchGame)?;
        Ok(is_late(caller, &card))
    }

    /// A game's card as the caller may see it.
    pub(super) async fn in_regard_to(&self, caller: &Caller, card: GameCard) -> Outcome<GameCard> {
        if !is_late(caller, &card) {
            return Ok(card);
        }
        let head = self.head_for_spectators(&card).await?;
        if head == card.head {
            return Ok(card);
        }
        let folded = self.desk.folded_at(card.id, head).await?;
        Ok(GameCard {
            head,
            moment: moment(&folded.game)?,
            ..card
        })
    }

    /// The game as the caller may see it, whose card is in regard to them.
    pub(super) async fn folded_for(&self, caller: &Caller, card: &GameCard) -> Outcome<Folded> {
        if is_late(caller, card) {
            self.desk.folded_at(card.id, card.head).await
        } else {
            self.desk.folded_since(card.id, card.head).await
        }
    }

    /// The last entry that is old enough for spectators; its opening may be seen at once.
    async fn head_for_spectators(&self, card: &GameCard) -> Outcome<Head> {
        let delay = SignedDuration::from_mins(i64::from(card.spectator_delay_minutes));
        let then = self
            .now()
            .checked_sub(delay)
            .map_err(|error| Failure::damaged(format!("a delay of {delay}: {error}")))?
            .to_string();
        let second = then.get(..19).unwrap_or(&then);
        if let Some(head) = self.store.head_before(card.id, second).await? {
            return Ok(head);
        }
        let first = self.store.entries(card.id, 0, 1).await?.pop();
        let first = first.ok_or_else(|| Failure::damaged("a game without a first entry"))?;
        Ok(Head {
            number: first.number,
            hash: first.hash,
        })
    }
}

fn is_late(caller: &Caller, card: &GameCard) -> bool {
    card.spectator_delay_minutes > 0 && caller.looks_on(card.id)
}
