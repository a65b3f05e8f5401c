//! Taking a seat, and whose key it is.

use fieldpost_rules::game::Event;
use fieldpost_rules::orders::SideId;
use jiff::Timestamp;

use crate::key::{Key, fresh_id, random_bytes};
use crate::store::{
    Change, GameId, Invitation, KeyCard, MemberId, Opens, Origin, Seat, SeatRole, StoreError,
    TakenSeat,
};
use fieldpost_wire as wire;

use super::appending::appending;
use super::by_post::zone_named;
use super::opening::{given_invitation, no_such_side};
use super::{Caller, Failure, Holder, IdempotencyKey, Office, Outcome, TRIES, names};

/// What is needed to take a seat.
#[derive(Debug, Clone)]
pub struct Taking {
    /// The invitation.
    pub invitation: Key,
    /// The name the player goes by.
    pub player: String,
    /// The time zone that the side's days count in, if they should not count in UTC.
    pub zone: Option<String>,
    /// With the same one the same invitation gives the same key again.
    pub idempotency_key: Option<IdempotencyKey>,
}

/// A seat that was taken.
#[derive(Debug, Clone)]
pub struct Taken {
    /// The answer.
    pub seat: wire::TakenSeat,
    /// Whether it had been taken before by this same request.
    pub again: bool,
}

impl Office {
    /// Takes a seat.
    ///
    /// # Errors
    /// When the invitation is wrong, used or expired, or the name unfit.
    pub async fn take_seat(&self, caller: &Caller, taking: &Taking) -> Outcome<Taken> {
        let player = names::fit(&taking.player)?;
        for _ in 0..TRIES {
            let invitation = self.invitation(&taking.invitation).await?;
            let seat = self.store.seat(&invitation.seat).await?;
            let seat = seat.ok_or(Failure::WrongInvitation)?;
            if invitation.used_at.is_some() {
                return self.take_again(taking, &seat).await;
            }
            if is_past(&invitation.expires_at, self.now()) {
                return Err(Failure::InvitationExpired {
                    at: invitation.expires_at,
                });
            }
            match self.take_now(caller, taking, &seat, &player).await {
                Err(Failure::Store(StoreError::Overtaken)) => {}
                answer => return answer,
            }
        }
        Err(Failure::Busy)
    }

    /// Whose key the caller sent.
    ///
    /// # Errors
    /// [`Failure::NoKey`].
    pub fn my_seat(&self, caller: &Caller) -> Outcome<wire::MySeat> {
        let holder = caller.holder()?;
        let member = holder.member.as_ref();
        if let Some(seat) = &holder.seat {
            return Ok(wire::MySeat {
                role: role_of(seat).into(),
                member: None,
                game: Some(seat.game.to_string()),
                side: seat.side().map(str::to_owned),
                player: seat.player.clone(),
            });
        }
        Ok(wire::MySeat {
            role: if holder.is_organiser {
                wire::Role::Organiser
            } else {
                wire::Role::Member
            }
            .into(),
            member: member.map(|member| member.id.to_string()),
            game: None,
            side: None,
            player: member.map(|member| member.name.clone()),
        })
    }

    /// The seats of a game and who holds them.
    ///
    /// # Errors
    /// When the caller may not read the game.
    pub async fn seating(&self, caller: &Caller, game: GameId) -> Outcome<wire::Seating> {
        self.card_for(caller, game).await?;
        let seats = self.store.seats(game).await?;
        Ok(wire::Seating {
            seats: seats.iter().map(seat_card).collect(),
        })
    }

    /// Adds a seat: another player's of a side, an umpire's, a spectator's.
    ///
    /// # Errors
    /// When the caller is not the organiser, the game is over or has no such side.
    pub async fn add_seat(
        &self,
        caller: &Caller,
        game: GameId,
        asked: &wire::AddSeat,
    ) -> Outcome<wire::GivenInvitation> {
        caller.must_organise()?;
        let card = self.card_for(caller, game).await?;
        if card.moment.ending.is_some() {
            return Err(Failure::GameOver);
        }
        for _ in 0..TRIES {
            let seats = self.store.seats(game).await?;
            if seats.len() >= MOST_SEATS {
                return Err(Failure::NotNow(format!(
                    "A game has {MOST_SEATS} seats at the most; invite to one that is free."
                )));
            }
            let seat = Seat {
                id: fresh_id(),
                game,
                place: seats.iter().map(|seat| seat.place + 1).max().unwrap_or(0),
                role: role_asked(&seats, asked)?,
                player: None,
                member: None,
            };
            let (key, invitation) = self.invitation_to(&seat);
            match self.store.add_seat(&seat, &invitation).await {
                // Another was added at the same moment and has its place.
                Err(StoreError::Overtaken) => {}
                Err(error) => return Err(error.into()),
                Ok(()) => return Ok(given_invitation(&seat, &key, &invitation)),
            }
        }
        Err(Failure::Busy)
    }

    /// Frees a seat of whoever holds it: its keys open nothing, and another can be invited to it. The
    /// record keeps who played.
    ///
    /// # Errors
    /// When the caller is not the organiser, or the game has no such seat.
    pub async fn free_seat(
        &self,
        caller: &Caller,
        game: GameId,
        seat: &str,
    ) -> Outcome<wire::SeatSummary> {
        caller.must_organise()?;
        let found = self.store.seat(seat).await?;
        let mut found = found
            .filter(|found| found.game == game)
            .ok_or(Failure::NoSuchSeat)?;
        let now = self.now();
        self.store
            .free_seat(seat, &now.to_string(), now.as_millisecond())
            .await?;
        found.player = None;
        Ok(seat_card(&found))
    }

    async fn invitation(&self, key: &Key) -> Outcome<Invitation> {
        let kept = self.store.invitation(key.id()).await?;
        kept.filter(|kept| key.matches(&kept.secret_hash) && kept.voided_at.is_none())
            .ok_or(Failure::WrongInvitation)
    }

    /// The same answer again to the one who took the seat, if the answer was lost.
    async fn take_again(&self, taking: &Taking, seat: &Seat) -> Outcome<Taken> {
        let given = self
            .store
            .key_for_invitation(taking.invitation.id())
            .await?;
        let (Some(given), Some(again)) = (given, &taking.idempotency_key) else {
            return Err(Failure::InvitationUsed);
        };
        let KeyCard {
            id,
            secret_hash,
            origin: Origin::Invitation { salt, .. },
            revoked_at: None,
            ..
        } = given
        else {
            return Err(Failure::InvitationUsed);
        };
        let salt = salt.try_into().map_err(|_| Failure::damaged("a salt"))?;
        let key = Key::for_seat(id, &taking.invitation, &salt, again.as_str());
        if !key.matches(&secret_hash) {
            return Err(Failure::InvitationUsed);
        }
        let player = seat.player.clone().unwrap_or_default();
        self.taken(seat, player, &key, true).await
    }

    async fn take_now(
        &self,
        caller: &Caller,
        taking: &Taking,
        seat: &Seat,
        player: &str,
    ) -> Outcome<Taken> {
        let folded = self.desk.folded(seat.game).await?;
        if folded.game.ending().is_some() {
            return Err(Failure::GameOver);
        }
        let at = self.now();
        let salt = random_bytes();
        let once = taking
            .idempotency_key
            .clone()
            .unwrap_or_else(IdempotencyKey::fresh);
        let key = Key::for_seat(fresh_id(), &taking.invitation, &salt, once.as_str());
        let taken = TakenSeat {
            seat: seat.id.clone(),
            player: player.to_owned(),
            member: self.member_without_seat(caller, seat.game).await?,
            key: KeyCard {
                id: key.id().to_owned(),
                secret_hash: key.hash().to_vec(),
                opens: Opens::Seat {
                    seat: seat.id.clone(),
                },
                origin: Origin::Invitation {
                    invitation: taking.invitation.id().to_owned(),
                    salt: salt.to_vec(),
                },
                made_at: at.to_string(),
                revoked_at: None,
            },
        };
        match seat.side() {
            Some(side) => {
                let side = SideId(side.to_owned());
                let mut events = Vec::new();
                let zone = taking.zone.as_deref().map(zone_named).transpose()?;
                // Where no clock runs, where somebody lives is nobody's business.
                if let Some(zone) = zone.filter(|_| folded.clock.rules().is_some()) {
                    let side = side.clone();
                    events.push(Event::ZoneSet { side, zone });
                }
                events.push(Event::SeatTaken {
                    side,
                    player: player.to_owned(),
                });
                let changes = vec![Change::TakeSeat(taken)];
                let appending = appending(seat.game, &folded, at, events, changes)?;
                self.store.append(&appending.append).await?;
            }
            None => self.store.take_seat(&taken).await?,
        }
        self.taken(seat, player.to_owned(), &key, false).await
    }

    /// The member who calls with their own key, if they have no seat in the game yet: their key opens one
    /// seat of a game, and any others by those seats' own keys.
    async fn member_without_seat(
        &self,
        caller: &Caller,
        game: GameId,
    ) -> Outcome<Option<MemberId>> {
        let Ok(Holder {
            member: Some(member),
            ..
        }) = caller.holder()
        else {
            return Ok(None);
        };
        let seated = self.store.seat_of(member.id, game).await?;
        Ok(seated.is_none().then_some(member.id))
    }

    async fn taken(&self, seat: &Seat, player: String, key: &Key, again: bool) -> Outcome<Taken> {
        let card = self
            .store
            .game(seat.game)
            .await?
            .ok_or(Failure::NoSuchGame)?;
        // A spectator is shown no more here than anywhere else.
        let holder = Caller::Holder(Box::new(Holder {
            key: key.id().to_owned(),
            is_organiser: false,
            member: None,
            seat: Some(seat.clone()),
        }));
        let card = self.in_regard_to(&holder, card).await?;
        let seat = wire::TakenSeat {
            game: self.shown(&card).await?,
            role: role_of(seat).into(),
            side: seat.side().map(str::to_owned),
            player,
            key: key.reveal(),
        };
        Ok(Taken { seat, again })
    }
}

/// The most seats of a game: each is listed whenever the game is.
const MOST_SEATS: usize = 64;

/// The role that a new seat is asked for, among the sides there are.
fn role_asked(seats: &[Seat], asked: &wire::AddSeat) -> Outcome<SeatRole> {
    match (asked.role, &asked.side) {
        (wire::SeatRole::Umpire, None) => Ok(SeatRole::Umpire),
        (wire::SeatRole::Spectator, None) => Ok(SeatRole::Spectator),
        (wire::SeatRole::Player, Some(side)) => {
            let of_side = seats.iter().find(|seat| seat.side() == Some(side));
            let of_side = of_side.ok_or_else(|| no_such_side(seats, side))?;
            Ok(of_side.role.clone())
        }
        (wire::SeatRole::Player, None) => {
            Err(Failure::Unclear("A player's seat needs a \"side\"."))
        }
        (_, Some(_)) => Err(Failure::Unclear("Only a player's seat has a \"side\".")),
    }
}

/// What the holder of a seat is.
pub(super) fn role_of(seat: &Seat) -> wire::Role {
    match seat.role {
        SeatRole::Player { .. } => wire::Role::Player,
        SeatRole::Umpire => wire::Role::Umpire,
        SeatRole::Spectator => wire::Role::Spectator,
    }
}

fn seat_card(seat: &Seat) -> wire::SeatSummary {
    wire::SeatSummary {
        seat: seat.id.clone(),
        role: match seat.role {
            SeatRole::Player { .. } => wire::SeatRole::Player,
            SeatRole::Umpire => wire::SeatRole::Umpire,
            SeatRole::Spectator => wire::SeatRole::Spectator,
        }
        .into(),
        side: seat.side().map(str::to_owned),
        player: seat.player.clone(),
    }
}

/// Whether a moment that was written down has passed; one that cannot be read has.
fn is_past(written: &str, now: Timestamp) -> bool {
    written.parse::<Timestamp>().map_or(true, |at| at <= now)
}
