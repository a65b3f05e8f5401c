//! Who calls, and what they may do.

use fieldpost_rules::orders::SideId;
use fieldpost_rules::record::{ORGANISER, PostingKind};

use crate::store::{Authority, GameId, Member, MemberId, Right, Seat, SeatRole, StoredGame};

use super::act::{Act, Sent};
use super::{ServiceError, ServiceResult};

/// Who calls, as far as the service has found out.
#[derive(Debug, Clone)]
pub enum Caller {
    /// Somebody without a key.
    Nobody,
    /// The holder of a key.
    Holder(Box<Holder>),
}

/// Somebody who plays a side of a game.
#[derive(Debug)]
pub(super) struct Player<'a> {
    /// Id of their key.
    pub(super) key: &'a str,
    /// Their seat.
    pub(super) seat: &'a Seat,
    /// The side it plays.
    pub(super) side: SideId,
    /// Their word as its holder.
    pub(super) by: Authority,
}

impl Player<'_> {
    /// What they do by a posting.
    pub(super) fn act<'a>(&'a self, kind: PostingKind, sent: &'a Sent) -> Act<'a> {
        Act::by_posting(&self.by, &self.seat.id, kind, sent)
    }
}

/// Somebody who rules in a game.
#[derive(Debug)]
pub(super) struct Ruler {
    /// Their word.
    pub(super) by: Authority,
    /// The seat that they rule from.
    pub(super) seat: String,
    /// Who they are, as far as that is known.
    person: Person,
}

impl Ruler {
    /// What they do by a posting.
    pub(super) fn act<'a>(&'a self, kind: PostingKind, sent: &'a Sent) -> Act<'a> {
        Act::by_posting(&self.by, &self.seat, kind, sent)
    }

    /// The sides of a game that they play themselves.
    pub(super) fn own_sides(&self, seats: &[Seat]) -> Vec<SideId> {
        let held = seats.iter().filter(|seat| seat.player.is_some());
        let own = held.filter(|seat| match (Person::of(seat), self.person) {
            (_, Person::Unknown) => false,
            // Whichever organiser took it: of that nothing more is known.
            (Person::Organiser, _) => true,
            (theirs, own) => theirs == own,
        });
        own.filter_map(|seat| Some(SideId(seat.side()?.to_owned())))
            .collect()
    }
}

/// Who somebody is, as far as their seat or key tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Person {
    Member(MemberId),
    /// Whoever has the organiser's key.
    Organiser,
    Unknown,
}

impl Person {
    fn of(seat: &Seat) -> Self {
        match (seat.member, seat.by_organiser) {
            (Some(member), _) => Self::Member(member),
            (None, true) => Self::Organiser,
            (None, false) => Self::Unknown,
        }
    }
}

/// The holder of a key.
#[derive(Debug, Clone)]
pub struct Holder {
    /// Id of the key.
    pub key: String,
    /// Id of the session in which they named it; absent when they sent the key itself.
    pub session: Option<String>,
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

    /// Their word as the holder of a key that opens this.
    fn word(&self, right: Right) -> ServiceResult<Authority> {
        let holder = self.holder()?;
        Ok(Authority::Key {
            key: holder.key.clone(),
            right,
            session: holder.session.clone(),
        })
    }

    /// Their word as whoever they are; the server's own for somebody without a key.
    pub(super) fn any_word(&self) -> Authority {
        self.word(Right::Any).unwrap_or(Authority::Server)
    }

    /// Their word as an organiser; refuses who is none.
    pub(super) fn must_organise(&self) -> ServiceResult<Authority> {
        if self.holder()?.is_organiser {
            self.word(Right::Organise)
        } else {
            Err(ServiceError::NotAllowed("This needs the organiser's key."))
        }
    }

    /// Them as a player of that game.
    pub(super) fn player_in(&self, game: GameId) -> ServiceResult<Player<'_>> {
        let holder = self.holder()?;
        let seat = self.any_seat_in(game);
        match seat.and_then(|seat| Some((seat, seat.side()?))) {
            Some((seat, side)) => Ok(Player {
                key: &holder.key,
                seat,
                side: SideId(side.to_owned()),
                by: self.word(Right::Seat(seat.id.clone()))?,
            }),
            None => Err(ServiceError::NotAllowed(
                "This needs the key of a seat of this game.",
            )),
        }
    }

    /// Their seat in that game, if it is one that gets notices, a player's or the umpire's, and their word as its holder.
    /// Spectators get none.
    pub(super) fn notified_seat_in(&self, game: GameId) -> ServiceResult<(&Seat, Authority)> {
        self.holder()?;
        let seat = self.any_seat_in(game);
        let seat = seat.filter(|seat| seat.role != SeatRole::Spectator);
        let seat = seat.ok_or(ServiceError::NotAllowed(
            "This needs the key of a player's or the umpire's seat of this game.",
        ))?;
        Ok((seat, self.word(Right::Seat(seat.id.clone()))?))
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

    /// Their seat in that game, if it is one whose postings are signed, and them as its holder.
    pub(super) fn signer_in(&self, game: GameId) -> ServiceResult<(&Seat, Authority)> {
        self.notified_seat_in(game)
    }

    /// Them as one who rules in that game; refuses who may not: its umpire and the organiser may.
    pub(super) fn ruler_of(&self, game: GameId) -> ServiceResult<Ruler> {
        let seat = self.any_seat_in(game);
        if let Some(seat) = seat.filter(|seat| seat.role == SeatRole::Umpire) {
            return Ok(Ruler {
                by: self.word(Right::Seat(seat.id.clone()))?,
                seat: seat.id.clone(),
                person: Person::of(seat),
            });
        }
        let holder = self.holder()?;
        if holder.is_organiser {
            let member = holder.member.as_ref();
            return Ok(Ruler {
                by: self.word(Right::Organise)?,
                seat: ORGANISER.to_owned(),
                person: member.map_or(Person::Organiser, |member| Person::Member(member.id)),
            });
        }
        Err(ServiceError::NotAllowed(
            "This needs the umpire's key or the organiser's.",
        ))
    }

    /// Refuses who may not have sheets measured in that game: its players, its umpire and the organiser may.
    pub(super) fn may_check(&self, game: GameId) -> ServiceResult<()> {
        if self.is_organiser() || self.umpires(game) {
            return Ok(());
        }
        self.player_in(game).map(|_| ())
    }
}
