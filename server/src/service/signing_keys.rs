//! The keys that players and umpires sign with: one for each device of a seat, all of them in the record.

use fieldpost_rules::dice::Bytes32;
use fieldpost_rules::game::Event;
use fieldpost_rules::record::{self, ORGANISER, PostingKind};
use fieldpost_wire as wire;

use crate::store::GameId;

use super::act::{Act, Sent};
use super::append::Situation;
use super::{Caller, Service, ServiceError, ServiceResult, names};

/// The most keys of a seat: each is looked through for every posting of it.
const KEYS_MAX: usize = 16;

impl Service {
    /// Adds a key to the caller's seat, on the word of one that it has. Adding one that it has changes nothing.
    ///
    /// # Errors
    /// When the caller is neither a player nor the umpire, the key cannot sign, or the seat has too many.
    pub async fn add_signing_key(
        &self,
        caller: &Caller,
        game: GameId,
        requested: &wire::NameKey,
        sent: &Sent,
    ) -> ServiceResult<wire::Done> {
        let (seat, by) = caller.signer_in(game)?;
        let key = public_key(&requested.key)?;
        let act = Act::by_posting(&by, &seat.id, PostingKind::KeyAdded, sent);
        self.carry_out(game, &act, |situation| {
            situation.must_go_on()?;
            let known = keys_of(situation, &seat.id);
            if known.contains(&key) {
                return Ok((Vec::new(), Vec::new()));
            }
            if known.len() >= KEYS_MAX {
                let why = format!("A seat has {KEYS_MAX} keys at the most; remove one first.");
                return Err(ServiceError::NotNow(why));
            }
            let event = Event::KeyAdded {
                seat: seat.id.clone(),
                key: key.clone(),
            };
            Ok((vec![event], Vec::new()))
        })
        .await
    }

    /// Ends a key of the caller's seat, on the word of one that it has.
    ///
    /// # Errors
    /// When the caller is neither a player nor the umpire, or it is the seat's only key or none of its keys.
    pub async fn remove_signing_key(
        &self,
        caller: &Caller,
        game: GameId,
        requested: &wire::NameKey,
        sent: &Sent,
    ) -> ServiceResult<wire::Done> {
        let (seat, by) = caller.signer_in(game)?;
        let act = Act::by_posting(&by, &seat.id, PostingKind::KeyRemoved, sent);
        self.carry_out(game, &act, |situation| {
            situation.must_go_on()?;
            let known = keys_of(situation, &seat.id);
            if !known.contains(&requested.key) {
                let why = "This seat has no such key in force.".to_owned();
                return Err(ServiceError::NotNow(why));
            }
            if known.len() == 1 {
                let why = "It is the seat's only key: add another first, or ask the organiser to replace it.";
                return Err(ServiceError::NotNow(why.to_owned()));
            }
            let event = Event::KeyRemoved {
                seat: seat.id.clone(),
                key: requested.key.clone(),
            };
            Ok((vec![event], Vec::new()))
        })
        .await
    }

    /// Names a key in the place of those that a seat has lost: on the organiser's word, in force once the other side
    /// countersigns, or after three days.
    ///
    /// # Errors
    /// When the caller may not organise, there is no such seat in use, or the key cannot sign.
    pub async fn replace_signing_key(
        &self,
        caller: &Caller,
        game: GameId,
        requested: &wire::NameSeatKey,
        sent: &Sent,
    ) -> ServiceResult<wire::Done> {
        let by = caller.must_organise()?;
        let key = public_key(&requested.key)?;
        let reason = names::fit_text(requested.reason.as_deref().unwrap_or_default())?;
        let act = Act::by_posting(&by, ORGANISER, PostingKind::KeyReplaced, sent);
        self.carry_out(game, &act, |situation| {
            situation.must_go_on()?;
            let record_state = &situation.folded.record_state;
            if !record_state.is_seated(&requested.seat) {
                return Err(ServiceError::NoSuchSeat);
            }
            let event = Event::KeyReplaced {
                seat: requested.seat.clone(),
                key: key.clone(),
                reason: reason.clone(),
            };
            Ok((vec![event], Vec::new()))
        })
        .await
    }

    /// Says for the caller's side that a key which the organiser named is its player's: it is in force from then on.
    ///
    /// # Errors
    /// When the caller plays no side, the seat is of their own side, or no such key waits.
    pub async fn countersign_key(
        &self,
        caller: &Caller,
        game: GameId,
        requested: &wire::NameSeatKey,
        sent: &Sent,
    ) -> ServiceResult<wire::Done> {
        let player = caller.player_in(game)?;
        let seat = self.store.seat(&requested.seat).await?;
        let side = seat.as_ref().and_then(|seat| seat.side());
        if side == Some(player.side.0.as_str()) {
            return Err(ServiceError::NotAllowed(
                "The key of a seat is countersigned by the other side.",
            ));
        }
        self.carry_out(
            game,
            &player.act(PostingKind::KeyCountersigned, sent),
            |situation| {
                situation.must_go_on()?;
                let record_state = &situation.folded.record_state;
                if record_state.key_to_come(&requested.seat, situation.at)
                    != Some(requested.key.as_str())
                {
                    let why = "No such key waits to be countersigned for that seat.".to_owned();
                    return Err(ServiceError::NotNow(why));
                }
                let event = Event::KeyCountersigned {
                    side: player.side.clone(),
                    seat: requested.seat.clone(),
                    key: requested.key.clone(),
                };
                Ok((vec![event], Vec::new()))
            },
        )
        .await
    }

    /// Seats the organiser in the record as one who rules in a game, with the key that they sign with.
    ///
    /// # Errors
    /// When the caller may not organise, the name is unfit, or the organiser is seated already.
    pub async fn seat_organiser(
        &self,
        caller: &Caller,
        game: GameId,
        requested: &wire::SeatOrganiser,
    ) -> ServiceResult<wire::Done> {
        let act = Act::without_posting(caller.must_organise()?);
        let player = names::fit(&requested.player)?;
        let key = requested.key.as_deref().map(public_key).transpose()?;
        self.carry_out(game, &act, |situation| {
            situation.must_go_on()?;
            let record_state = &situation.folded.record_state;
            if record_state.is_seated(ORGANISER) {
                let why = "The organiser is seated in this game: another key is added by one that is known.";
                return Err(ServiceError::NotNow(why.to_owned()));
            }
            if record_state.is_signed() && key.is_none() {
                return Err(ServiceError::NotSigned);
            }
            let event = Event::UmpireSeated {
                seat: ORGANISER.to_owned(),
                player: player.clone(),
                key: key.clone(),
            };
            Ok((vec![event], Vec::new()))
        })
        .await
    }
}

fn keys_of(situation: &Situation<'_>, seat: &str) -> Vec<String> {
    let keys = situation.folded.record_state.keys(seat, situation.at);
    keys.into_iter().map(str::to_owned).collect()
}

/// A public key in its one form, if it can sign.
pub(super) fn public_key(text: &str) -> ServiceResult<String> {
    let unfit = || {
        ServiceError::Unfit(
            "The key must be a public key of Ed25519: 32 bytes in lower-case hexadecimal."
                .to_owned(),
        )
    };
    let mut key: Bytes32 = [0; 32];
    hex::decode_to_slice(text, &mut key).map_err(|_| unfit())?;
    record::check_key(&key).map_err(|_| unfit())?;
    let shown = hex::encode(key);
    (shown == text).then_some(shown).ok_or_else(unfit)
}
