//! Taking a seat, and whose key it is.

use fieldpost_rules::game::Event;
use fieldpost_rules::orders::SideId;
use jiff::Timestamp;

use crate::key::{Key, fresh_id, random_bytes};
use crate::store::{Change, Invitation, KeyCard, Opens, Seat, StoreError};
use crate::wire;

use super::appending::appending;
use super::by_post::zone_named;
use super::{Caller, Failure, IdempotencyKey, Office, Outcome, TRIES, names, notices};

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
    pub async fn take_seat(&self, taking: &Taking) -> Outcome<Taken> {
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
            match self.take_now(taking, &seat, &player).await {
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
        match caller {
            Caller::Nobody => Err(Failure::NoKey),
            Caller::Organiser => Ok(wire::MySeat {
                role: wire::Role::Organiser,
                game: None,
                side: None,
                player: None,
            }),
            Caller::Seat { seat, .. } => Ok(wire::MySeat {
                role: wire::Role::Player,
                game: Some(seat.game.to_string()),
                side: Some(seat.side.clone()),
                player: seat.player.clone(),
            }),
        }
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
            opens: Opens::Seat { salt, .. },
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

    async fn take_now(&self, taking: &Taking, seat: &Seat, player: &str) -> Outcome<Taken> {
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
        let side = SideId(seat.side.clone());
        let mut events = Vec::new();
        if let Some(zone) = taking.zone.as_deref().map(zone_named).transpose()? {
            let side = side.clone();
            events.push(Event::ZoneSet { side, zone });
        }
        events.push(Event::SeatTaken {
            side,
            player: player.to_owned(),
        });
        let card = KeyCard {
            id: key.id().to_owned(),
            secret_hash: key.hash().to_vec(),
            opens: Opens::Seat {
                seat: seat.id.clone(),
                invitation: taking.invitation.id().to_owned(),
                salt: salt.to_vec(),
            },
            made_at: at.to_string(),
            revoked_at: None,
        };
        let taken = Change::TakeSeat {
            seat: seat.id.clone(),
            player: player.to_owned(),
            key: card,
        };
        let seats = self.store.seats(seat.game).await?;
        let is_free = |other: &Seat| other.player.is_none() && other.id != seat.id;
        let opened = (!seats.iter().any(is_free)).then(|| notices::opened(&folded, &events, at));
        let changes = [taken].into_iter().chain(opened).collect();
        let appending = appending(seat.game, &folded, at, events, changes)?;
        self.store.append(&appending.append).await?;
        self.taken(seat, player.to_owned(), &key, false).await
    }

    async fn taken(&self, seat: &Seat, player: String, key: &Key, again: bool) -> Outcome<Taken> {
        let card = self
            .store
            .game(seat.game)
            .await?
            .ok_or(Failure::NoSuchGame)?;
        let seat = wire::TakenSeat {
            game: self.shown(&card).await?,
            side: seat.side.clone(),
            player,
            key: key.reveal(),
        };
        Ok(Taken { seat, again })
    }
}

/// Whether a moment that was written down has passed; one that cannot be read has.
fn is_past(written: &str, now: Timestamp) -> bool {
    written.parse::<Timestamp>().map_or(true, |at| at <= now)
}
