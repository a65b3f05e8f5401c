//! Taking a seat, and whose key it is.

use fieldpost_rules::game::Event;
use fieldpost_rules::orders::SideId;
use fieldpost_wire as wire;
use jiff::Timestamp;

use crate::key::{Key, fresh_id, random_bytes};
use crate::store::{
    Change, FreedSeat, GameId, Invitation, MemberId, Opens, Origin, Seat, SeatRole, StoreError,
    StoredKey, TakenSeat,
};

use super::act::Act;
use super::append::prepare;
use super::signing_keys::public_key;
use super::summaries::{given_invitation, no_such_side, role_of, seat_summary};
use super::validate::time_zone_name;
use super::{
    ATTEMPTS_MAX, Caller, FoldedGame, Holder, IdempotencyKey, Service, ServiceError, ServiceResult,
    names,
};

/// What is needed to take a seat.
#[derive(Debug, Clone)]
pub struct Taking {
    /// The invitation.
    pub invitation: Key,
    /// The name the player goes by.
    pub player: String,
    /// The time zone that the side's days count in, if they should not count in UTC.
    pub zone: Option<String>,
    /// Public key of the player's device, in hex.
    pub device_key: Option<String>,
    /// With the same one the same invitation gives the same key again.
    pub idempotency_key: Option<IdempotencyKey>,
}

/// A seat that was taken.
#[derive(Debug, Clone)]
pub struct Taken {
    /// The answer.
    pub seat: wire::TakenSeat,
    /// Id of its key.
    pub key: String,
    /// Whether it had been taken before by this same request.
    pub again: bool,
}

impl Service {
    /// Takes a seat.
    ///
    /// # Errors
    /// When the invitation is wrong, used or expired, or the name unfit.
    pub async fn take_seat(&self, caller: &Caller, taking: &Taking) -> ServiceResult<Taken> {
        let player = names::fit(&taking.player)?;
        for _ in 0..ATTEMPTS_MAX {
            let invitation = self.invitation(&taking.invitation).await?;
            let seat = self.store.seat(&invitation.seat).await?;
            let seat = seat.ok_or(ServiceError::WrongInvitation)?;
            if invitation.used_at.is_some() {
                return self.take_again(taking, &seat).await;
            }
            if is_past(&invitation.expires_at, self.now()) {
                return Err(ServiceError::InvitationExpired {
                    at: invitation.expires_at,
                });
            }
            match self.take_now(caller, taking, &seat, &player).await {
                Err(ServiceError::Store(StoreError::Overtaken)) => {}
                answer => return answer,
            }
        }
        Err(ServiceError::Busy)
    }

    /// Whose key the caller sent.
    ///
    /// # Errors
    /// [`ServiceError::NoKey`].
    pub fn my_seat(&self, caller: &Caller) -> ServiceResult<wire::MySeat> {
        caller.holder().map(my_seat)
    }

    /// The seats of a game and who holds them.
    ///
    /// # Errors
    /// When the caller may not read the game.
    pub async fn seating(&self, caller: &Caller, game: GameId) -> ServiceResult<wire::Seating> {
        self.game_for(caller, game).await?;
        let seats = self.store.seats(game).await?;
        Ok(wire::Seating {
            seats: seats.iter().map(seat_summary).collect(),
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
        requested: &wire::AddSeat,
    ) -> ServiceResult<wire::GivenInvitation> {
        let by = caller.must_organise()?;
        let stored_game = self.game_for(caller, game).await?;
        if stored_game.moment.ending.is_some() {
            return Err(ServiceError::GameOver);
        }
        for _ in 0..ATTEMPTS_MAX {
            let seats = self.store.seats(game).await?;
            if seats.len() >= MOST_SEATS {
                return Err(ServiceError::NotNow(format!(
                    "A game has {MOST_SEATS} seats at the most; invite to one that is free."
                )));
            }
            let seat = Seat {
                id: fresh_id(),
                game,
                place: seats.iter().map(|seat| seat.place + 1).max().unwrap_or(0),
                role: role_asked(&seats, requested)?,
                player: None,
                member: None,
                reads_after: 0,
                by_organiser: false,
            };
            let (key, invitation) = self.invitation_to(&seat);
            match self.store.add_seat(&by, &seat, &invitation).await {
                // Another was added at the same moment and has its place.
                Err(StoreError::Overtaken) => {}
                Err(error) => return Err(error.into()),
                Ok(()) => return Ok(given_invitation(&seat, &key, &invitation)),
            }
        }
        Err(ServiceError::Busy)
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
    ) -> ServiceResult<wire::SeatSummary> {
        let by = caller.must_organise()?;
        let found = self.store.seat(seat).await?;
        let mut found = found
            .filter(|found| found.game == game)
            .ok_or(ServiceError::NoSuchSeat)?;
        let is_told = found.player.is_some() && found.role != SeatRole::Spectator;
        if is_told && self.cache.folded(game).await?.game.ending().is_none() {
            let act = Act::without_posting(by);
            self.append_decided(game, &act, |situation| {
                let event = Event::SeatFreed {
                    seat: seat.to_owned(),
                };
                let freed = FreedSeat::at(seat, situation.at);
                Ok((vec![event], vec![Change::FreeSeat(freed)]))
            })
            .await?;
        } else {
            let freed = FreedSeat::at(seat, self.now());
            self.store.free_seat(&by, &freed).await?;
        }
        found.player = None;
        Ok(seat_summary(&found))
    }

    async fn invitation(&self, key: &Key) -> ServiceResult<Invitation> {
        let stored = self.store.invitation(key.id()).await?;
        stored
            .filter(|stored| key.matches(&stored.secret_hash) && stored.voided_at.is_none())
            .ok_or(ServiceError::WrongInvitation)
    }

    /// The same answer again to the one who took the seat, if the answer was lost.
    async fn take_again(&self, taking: &Taking, seat: &Seat) -> ServiceResult<Taken> {
        let given = self
            .store
            .key_for_invitation(taking.invitation.id())
            .await?;
        let (Some(given), Some(again)) = (given, &taking.idempotency_key) else {
            return Err(ServiceError::InvitationUsed);
        };
        let StoredKey {
            id,
            secret_hash,
            origin: Origin::Invitation { salt, .. },
            revoked_at: None,
            ..
        } = given
        else {
            return Err(ServiceError::InvitationUsed);
        };
        let salt = salt
            .try_into()
            .map_err(|_| ServiceError::damaged("a salt"))?;
        let key = Key::for_seat(id, &taking.invitation, &salt, again.as_str());
        if !key.matches(&secret_hash) {
            return Err(ServiceError::InvitationUsed);
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
    ) -> ServiceResult<Taken> {
        let folded = self.cache.folded(seat.game).await?;
        if folded.game.ending().is_some() {
            return Err(ServiceError::GameOver);
        }
        let at = self.now();
        let salt = random_bytes();
        let by = caller.any_word();
        let once = taking
            .idempotency_key
            .clone()
            .unwrap_or_else(IdempotencyKey::fresh);
        let key = Key::for_seat(fresh_id(), &taking.invitation, &salt, once.as_str());
        let mut taken = TakenSeat {
            seat: seat.id.clone(),
            number: 0,
            by_organiser: caller.holder().is_ok_and(|holder| holder.is_organiser),
            player: player.to_owned(),
            member: self.member_without_seat(caller, seat.game).await?,
            key: StoredKey {
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
        let events = self.taking_events(taking, seat, player, &folded).await?;
        let of_taking =
            |event: &Event| matches!(event, Event::SeatTaken { .. } | Event::UmpireSeated { .. });
        match (folded.head.number + 1..)
            .zip(&events)
            .find(|(_, event)| of_taking(event))
        {
            None => self.store.take_seat(&by, &taken).await?,
            Some((number, _)) => {
                taken.number = number;
                let changes = vec![Change::TakeSeat(taken)];
                let whose = (seat.game, by);
                let prepared = prepare(whose, &folded, at, events, changes)?;
                self.append(&prepared.append).await?;
            }
        }
        self.taken(seat, player.to_owned(), &key, false).await
    }

    /// What the record tells when a seat is taken; nothing of a spectator's.
    async fn taking_events(
        &self,
        taking: &Taking,
        seat: &Seat,
        player: &str,
        folded: &FoldedGame,
    ) -> ServiceResult<Vec<Event>> {
        let key = taking.device_key.as_deref().map(public_key).transpose()?;
        if folded.record_state.is_signed() && key.is_none() && seat.role != SeatRole::Spectator {
            return Err(ServiceError::NotSigned);
        }
        let (id, player) = (seat.id.clone(), player.to_owned());
        let side = match &seat.role {
            SeatRole::Player { side, .. } => SideId(side.clone()),
            SeatRole::Umpire => {
                let seat = id;
                return Ok(vec![Event::UmpireSeated { seat, player, key }]);
            }
            SeatRole::Spectator => return Ok(Vec::new()),
        };
        let mut events = Vec::from_iter(self.cleared(seat, &side, folded).await?);
        events.push(Event::SeatTaken {
            side: side.clone(),
            player,
            seat: Some(id),
            key,
        });
        let zone = taking.zone.as_deref().map(time_zone_name).transpose()?;
        // Where no clock runs, where somebody lives is nobody's business.
        let zone = zone.filter(|_| folded.clock.rules().is_some());
        events.extend(zone.map(|zone| Event::ZoneSet { side, zone }));
        Ok(events)
    }

    /// That a side's sealed instructions count no more, if whoever takes a seat of it finds nobody there: they would hold for
    /// somebody who never saw them.
    async fn cleared(
        &self,
        taken: &Seat,
        side: &SideId,
        folded: &FoldedGame,
    ) -> ServiceResult<Option<Event>> {
        let seats = self.store.seats(taken.game).await?;
        let mut others = seats.iter().filter(|seat| seat.id != taken.id);
        if others.any(|seat| seat.side() == Some(&side.0) && seat.player.is_some()) {
            return Ok(None);
        }
        let latest = folded.record_state.last_seal(side);
        Ok(latest.map(|_| Event::InstructionsCleared {
            side: side.clone(),
            why: "nobody who laid them down has a seat of the side".to_owned(),
        }))
    }

    /// The member who calls with their own key, if they have no seat in the game yet: their key opens one
    /// seat of a game, and any others by those seats' own keys.
    async fn member_without_seat(
        &self,
        caller: &Caller,
        game: GameId,
    ) -> ServiceResult<Option<MemberId>> {
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

    async fn taken(
        &self,
        seat: &Seat,
        player: String,
        key: &Key,
        again: bool,
    ) -> ServiceResult<Taken> {
        let stored_game = self
            .store
            .game(seat.game)
            .await?
            .ok_or(ServiceError::NoSuchGame)?;
        // A spectator is shown no more here than anywhere else.
        let holder = Caller::Holder(Box::new(Holder {
            key: key.id().to_owned(),
            session: None,
            is_organiser: false,
            member: None,
            seat: Some(seat.clone()),
        }));
        let stored_game = self.as_seen_by(&holder, stored_game).await?;
        let seat = wire::TakenSeat {
            game: self.game_summary(&stored_game).await?,
            seat: seat.id.clone(),
            role: role_of(seat).into(),
            side: seat.side().map(str::to_owned),
            player,
            key: key.reveal(),
        };
        Ok(Taken {
            seat,
            key: key.id().to_owned(),
            again,
        })
    }
}

/// Whose key somebody holds.
pub(super) fn my_seat(holder: &Holder) -> wire::MySeat {
    let member = holder.member.as_ref();
    if let Some(seat) = &holder.seat {
        return wire::MySeat {
            role: role_of(seat).into(),
            member: None,
            seat: Some(seat.id.clone()),
            game: Some(seat.game.to_string()),
            side: seat.side().map(str::to_owned),
            player: seat.player.clone(),
        };
    }
    wire::MySeat {
        role: if holder.is_organiser {
            wire::Role::Organiser
        } else {
            wire::Role::Member
        }
        .into(),
        member: member.map(|member| member.id.to_string()),
        seat: None,
        game: None,
        side: None,
        player: member.map(|member| member.name.clone()),
    }
}

/// The most seats of a game: each is listed whenever the game is.
const MOST_SEATS: usize = 64;

/// The role that a new seat is asked for, among the sides there are.
fn role_asked(seats: &[Seat], requested: &wire::AddSeat) -> ServiceResult<SeatRole> {
    match (requested.role, &requested.side) {
        (wire::SeatRole::Umpire, None) => Ok(SeatRole::Umpire),
        (wire::SeatRole::Spectator, None) => Ok(SeatRole::Spectator),
        (wire::SeatRole::Player, Some(side)) => {
            let of_side = seats.iter().find(|seat| seat.side() == Some(side));
            let of_side = of_side.ok_or_else(|| no_such_side(seats, side))?;
            Ok(of_side.role.clone())
        }
        (wire::SeatRole::Player, None) => {
            Err(ServiceError::Unclear("A player's seat needs a \"side\"."))
        }
        (_, Some(_)) => Err(ServiceError::Unclear(
            "Only a player's seat has a \"side\".",
        )),
    }
}

/// Whether a moment that was written down has passed; one that cannot be read has.
fn is_past(written: &str, now: Timestamp) -> bool {
    written.parse::<Timestamp>().map_or(true, |at| at <= now)
}
