//! Who calls, and what they may do.

use crate::key::Key;
use crate::store::{
    BeforePosting, GameCard, GameId, KeyCard, Member, MemberRole, Opens, PostingVisit, Seat,
    SeatRole, Visit,
};

use super::{Failure, IdempotencyKey, Office, Outcome};

/// Who calls.
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

/// Whoever calls, and the game they ask of as it was when they did.
#[derive(Debug, Clone)]
pub struct Visitor {
    /// Who calls.
    pub caller: Caller,
    /// The game's card, whether or not they may read it.
    pub(super) card: Option<GameCard>,
    /// Who held which of its seats.
    pub(super) seating: String,
    /// What must be known before their posting is played, if that is what they came for.
    pub(super) before: Option<BeforePosting>,
}

/// A visit of which nothing but the caller was read.
impl From<Caller> for Visitor {
    fn from(caller: Caller) -> Self {
        Self {
            caller,
            card: None,
            seating: String::new(),
            before: None,
        }
    }
}

impl Office {
    /// Who holds a key, in regard to a game if one is asked of; a key that opens nothing is an error, so
    /// that nobody reads on as a spectator when they think they are a player.
    ///
    /// # Errors
    /// [`Failure::WrongKey`].
    pub async fn identify(&self, key: Option<&Key>, game: Option<GameId>) -> Outcome<Caller> {
        if key.is_none() {
            return Ok(Caller::Nobody);
        }
        Ok(self.receive(key, game).await?.caller)
    }

    /// The same, and what they find of the game.
    ///
    /// # Errors
    /// [`Failure::WrongKey`].
    pub async fn receive(&self, key: Option<&Key>, game: Option<GameId>) -> Outcome<Visitor> {
        let visit = self.store.visit(key.map(Key::id), game).await?;
        self.received(key, game, visit, None).await
    }

    /// The same, and what must be known before their posting of that name is played.
    ///
    /// # Errors
    /// [`Failure::WrongKey`].
    pub async fn receive_posting(
        &self,
        key: &Key,
        game: GameId,
        name: &IdempotencyKey,
    ) -> Outcome<Visitor> {
        let found = self.store.posting_visit(key.id(), game, name.as_str());
        let PostingVisit { visit, before } = found.await?;
        self.received(Some(key), Some(game), visit, Some(before))
            .await
    }

    async fn received(
        &self,
        key: Option<&Key>,
        game: Option<GameId>,
        mut visit: Visit,
        before: Option<BeforePosting>,
    ) -> Outcome<Visitor> {
        let (card, seating) = (visit.card.take(), std::mem::take(&mut visit.seating));
        let caller = match key {
            None => Caller::Nobody,
            Some(key) => {
                let known = visit.key.take();
                let is_good =
                    |known: &KeyCard| key.matches(&known.secret_hash) && known.revoked_at.is_none();
                let known = known.filter(is_good).ok_or(Failure::WrongKey)?;
                Caller::Holder(Box::new(self.holder(known, visit, game).await?))
            }
        };
        Ok(Visitor {
            caller,
            card,
            seating,
            before,
        })
    }

    /// Whoever holds a key that is known to be good, of what was found with it.
    pub(super) async fn holder(
        &self,
        card: KeyCard,
        visit: Visit,
        game: Option<GameId>,
    ) -> Outcome<Holder> {
        let mut holder = Holder {
            key: card.id,
            is_organiser: false,
            member: None,
            seat: None,
        };
        match card.opens {
            Opens::Organiser => holder.is_organiser = true,
            Opens::Seat { .. } => holder.seat = Some(visit.seat.ok_or(Failure::WrongKey)?),
            Opens::Member { member: id } => {
                let member = visit.member.filter(|member| member.left_at.is_none());
                let member = member.ok_or(Failure::WrongKey)?;
                holder.is_organiser = member.role == MemberRole::Organiser;
                if let Some(game) = game {
                    holder.seat = self.store.seat_of(id, game).await?;
                }
                holder.member = Some(member);
            }
        }
        Ok(holder)
    }
}

impl Caller {
    /// The holder of the key that was sent.
    pub(super) fn holder(&self) -> Outcome<&Holder> {
        match self {
            Self::Nobody => Err(Failure::NoKey),
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
    pub fn may_read(&self, card: &GameCard) -> bool {
        card.open_to_all || self.is_organiser() || self.any_seat_in(card.id).is_some()
    }

    /// Whether they only look on, and hear of what happened when spectators do.
    #[must_use]
    pub fn looks_on(&self, game: GameId) -> bool {
        match self.any_seat_in(game) {
            Some(seat) => seat.role == SeatRole::Spectator && !self.is_organiser(),
            None => !self.is_organiser(),
        }
    }

    /// Nothing, if they may organise.
    pub(super) fn must_organise(&self) -> Outcome<()> {
        if self.holder()?.is_organiser {
            Ok(())
        } else {
            Err(Failure::NotAllowed("This needs the organiser's key."))
        }
    }

    /// Their key's id, their seat in that game and the side it plays.
    pub(super) fn player_in(&self, game: GameId) -> Outcome<(&str, &Seat, &str)> {
        let holder = self.holder()?;
        let seat = self.any_seat_in(game);
        match seat.and_then(|seat| Some((seat, seat.side()?))) {
            Some((seat, side)) => Ok((&holder.key, seat, side)),
            None => Err(Failure::NotAllowed(
                "This needs the key of a seat of this game.",
            )),
        }
    }

    /// Their seat in that game, if it is one that hears of it: a player's or the umpire's. Spectators look for
    /// themselves, when they may.
    pub(super) fn told_seat_in(&self, game: GameId) -> Outcome<&Seat> {
        self.holder()?;
        let seat = self.any_seat_in(game);
        seat.filter(|seat| seat.role != SeatRole::Spectator)
            .ok_or(Failure::NotAllowed(
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

    /// Nothing, if they may rule in that game: its umpire and the organiser.
    pub(super) fn must_rule(&self, game: GameId) -> Outcome<()> {
        if self.holder()?.is_organiser || self.umpires(game) {
            Ok(())
        } else {
            Err(Failure::NotAllowed(
                "This needs the umpire's key or the organiser's.",
            ))
        }
    }

    /// Nothing, if they may have sheets measured in that game: its players, its umpire and the organiser.
    pub(super) fn may_check(&self, game: GameId) -> Outcome<()> {
        if self.is_organiser() || self.umpires(game) {
            return Ok(());
        }
        self.player_in(game).map(|_| ())
    }
}
