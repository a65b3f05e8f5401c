//! Who calls, and what they may do.

use crate::store::{GameId, Member, Seat, SeatRole, StoredGame};

use super::{ServiceError, ServiceResult};

/// Who calls, as far as the service has found out.
#[derive(Debug, Clone)]
pub enum Caller {
    /// Somebody without a key.
    Nobody,
    /// The holder of a key.
    Holder(Box<Holder>),
}

/// The holder of a key.
#[derive(Debug, Clone)]
pub struct Holder {
    /// Id of the key.
    pub key: String,
    /// Whether they may do all that an organiser may.
    pub is_organiser: bool,
    /// The member of the club whose own key it is.
    pub member: Option<Member>,
    /// The seat whose key it is or, for a member's key, the one they took in the game that is asked of.
    pub seat: Option<Seat>,
}

impl Caller {
    /// The holder of the key that was sent.
    pub(super) fn holder(&self) -> ServiceResult<&Holder> {
        match self {
            Self::Nobody => Err(ServiceError::NoKey),
            Self::Holder(holder) => Ok(holder),
        }
    }

    fn is_organiser(&self) -> bool {
        self.holder().is_ok_and(|holder| holder.is_organiser)
    }

    fn any_seat_in(&self, game: GameId) -> Option<&Seat> {
        let seat = self.holder().ok()?.seat.as_ref()?;
        (seat.game == game).then_some(seat)
    }

    /// Whether they may read that game.
    #[must_use]
    pub fn may_read(&self, stored_game: &StoredGame) -> bool {
        stored_game.open_to_all || self.is_organiser() || self.any_seat_in(stored_game.id).is_some()
    }

    /// Whether they are a spectator, who is shown what happened when spectators are.
    #[must_use]
    pub fn is_spectator(&self, game: GameId) -> bool {
        match self.any_seat_in(game) {
            Some(seat) => seat.role == SeatRole::Spectator && !self.is_organiser(),
            None => !self.is_organiser(),
        }
    }

    /// Refuses who may not organise.
    pub(super) fn must_organise(&self) -> ServiceResult<()> {
        if self.holder()?.is_organiser {
            Ok(())
        } else {
            Err(ServiceError::NotAllowed("This needs the organiser's key."))
        }
    }

    /// Their key's id, their seat in that game and the side it plays.
    pub(super) fn player_in(&self, game: GameId) -> ServiceResult<(&str, &Seat, &str)> {
        let holder = self.holder()?;
        let seat = self.any_seat_in(game);
        match seat.and_then(|seat| Some((seat, seat.side()?))) {
            Some((seat, side)) => Ok((&holder.key, seat, side)),
            None => Err(ServiceError::NotAllowed(
                "This needs the key of a seat of this game.",
            )),
        }
    }

    /// Their seat in that game, if it is one that gets notices: a player's or the umpire's. Spectators get none.
    pub(super) fn notified_seat_in(&self, game: GameId) -> ServiceResult<&Seat> {
        self.holder()?;
        let seat = self.any_seat_in(game);
        seat.filter(|seat| seat.role != SeatRole::Spectator)
            .ok_or(ServiceError::NotAllowed(
                "This needs the key of a player's or the umpire's seat of this game.",
            ))
    }

    /// Their side in that game, if they play in it.
    #[must_use]
    pub fn side_in(&self, game: GameId) -> Option<&str> {
        self.any_seat_in(game)?.side()
    }

    /// Whether they are the umpire of that game.
    #[must_use]
    pub fn umpires(&self, game: GameId) -> bool {
        self.any_seat_in(game)
            .is_some_and(|seat| seat.role == SeatRole::Umpire)
    }

    /// Refuses who may not rule in that game: its umpire and the organiser may.
    pub(super) fn must_rule(&self, game: GameId) -> ServiceResult<()> {
        if self.holder()?.is_organiser || self.umpires(game) {
            Ok(())
        } else {
            Err(ServiceError::NotAllowed(
                "This needs the umpire's key or the organiser's.",
            ))
        }
    }

    /// Refuses who may not have sheets measured in that game: its players, its umpire and the organiser may.
    pub(super) fn may_check(&self, game: GameId) -> ServiceResult<()> {
        if self.is_organiser() || self.umpires(game) {
            return Ok(());
        }
        self.player_in(game).map(|_| ())
    }
}
