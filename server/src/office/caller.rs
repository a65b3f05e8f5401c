//! Who calls, and what they may do.

use crate::key::Key;
use crate::store::{GameCard, GameId, Opens, Seat};

use super::{Failure, Office, Outcome};

/// Who calls.
#[derive(Debug, Clone)]
pub enum Caller {
    /// Somebody without a key.
    Nobody,
    /// The organiser.
    Organiser,
    /// The holder of a seat.
    Seat {
        /// Id of the key.
        key: String,
        /// The seat.
        seat: Seat,
    },
}

impl Office {
    /// Who holds a key; a key that opens nothing is an error, so that nobody reads on as a
    /// spectator when they think they are a player.
    ///
    /// # Errors
    /// [`Failure::WrongKey`].
    pub async fn identify(&self, key: Option<&Key>) -> Outcome<Caller> {
        let Some(key) = key else {
            return Ok(Caller::Nobody);
        };
        let card = self.store.key(key.id()).await?;
        let Some(card) = card.filter(|c| key.matches(&c.secret_hash) && c.revoked_at.is_none())
        else {
            return Err(Failure::WrongKey);
        };
        match card.opens {
            Opens::Organiser => Ok(Caller::Organiser),
            Opens::Seat { seat, .. } => {
                let seat = self.store.seat(&seat).await?.ok_or(Failure::WrongKey)?;
                Ok(Caller::Seat { key: card.id, seat })
            }
        }
    }
}

impl Caller {
    /// Whether they may read that game.
    #[must_use]
    pub fn may_read(&self, card: &GameCard) -> bool {
        card.open_to_all
            || match self {
                Self::Nobody => false,
                Self::Organiser => true,
                Self::Seat { seat, .. } => seat.game == card.id,
            }
    }

    /// Nothing, if they are the organiser.
    pub(super) fn must_organise(&self) -> Outcome<()> {
        match self {
            Self::Organiser => Ok(()),
            Self::Nobody => Err(Failure::NoKey),
            Self::Seat { .. } => Err(Failure::NotAllowed("This needs the organiser's key.")),
        }
    }

    /// Their key's id and their seat in that game.
    pub(super) fn seat_in(&self, game: GameId) -> Outcome<(&str, &Seat)> {
        match self {
            Self::Seat { key, seat } if seat.game == game => Ok((key, seat)),
            Self::Nobody => Err(Failure::NoKey),
            _ => Err(Failure::NotAllowed(
                "This needs the key of a seat of this game.",
            )),
        }
    }

    /// Nothing, if they may rule in a game.
    pub(super) fn must_rule(&self) -> Outcome<()> {
        self.must_organise()
    }

    /// Their side in that game, if they play in it.
    #[must_use]
    pub fn side_in(&self, game: GameId) -> Option<&str> {
        match self {
            Self::Seat { seat, .. } if seat.game == game => Some(&seat.side),
            _ => None,
        }
    }

    /// Nothing, if they may have sheets measured in that game: its players and the organiser.
    pub(super) fn may_check(&self, game: GameId) -> Outcome<()> {
        match self {
            Self::Organiser => Ok(()),
            _ => self.seat_in(game).map(|_| ()),
        }
    }
}
