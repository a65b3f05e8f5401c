//! The key that a seat signs with on this machine, and what a signature of it covers.

use std::fmt;

use fieldpost_rules::dice::{Bytes32, FIRST_ATTEMPT};
use fieldpost_rules::game::Event;
use fieldpost_rules::record::{self, PostingKind, SignedParts};
use jiff::{SignedDuration, Timestamp};

use super::record::{Record, hash_bytes};
use super::{files, random};
use crate::failure::{Failure, Outcome};

/// After so long a key on the organiser's word counts without the other side's consent.
const REPLACED_AFTER: SignedDuration = SignedDuration::from_hours(3 * 24);

/// A signing key of this machine. It is never printed.
#[derive(Clone, PartialEq, Eq)]
pub struct SigningKey(Bytes32);

impl fmt::Debug for SigningKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("SigningKey(…)")
    }
}

impl SigningKey {
    /// A fresh one.
    ///
    /// # Errors
    /// When this machine gives no random numbers.
    pub fn fresh() -> Outcome<Self> {
        Ok(Self(random()?))
    }

    /// One as it is kept: 64 hexadecimal digits.
    ///
    /// # Errors
    /// When it is not that.
    pub fn from_hex(text: &str) -> Outcome<Self> {
        let seed = hash_bytes(text.trim());
        seed.map(Self).ok_or_else(|| {
            Failure::NotValid(
                "error: the signing key that is kept for this seat is spoilt".to_owned(),
            )
        })
    }

    /// As it is kept.
    #[must_use]
    pub fn reveal(&self) -> String {
        hex::encode(self.0)
    }

    /// Its public key in hex, as the record has it.
    #[must_use]
    pub fn public(&self) -> String {
        hex::encode(record::public_key(&self.0))
    }
}

/// A public key in digits that two people can read to each other.
#[must_use]
pub fn spoken(public: &str) -> String {
    hash_bytes(public).map_or_else(|| public.to_owned(), |key| record::fingerprint(&key))
}

/// What a posting is written for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Occasion {
    /// Hash of the last entry that makes postings before it stale, in hex.
    pub precondition: String,
    /// Number of the player turn, from 1.
    pub player_turn: u64,
    /// Attempt at that player turn, from 1.
    pub attempt: u32,
}

impl Occasion {
    /// The occasion that a record has come to.
    ///
    /// # Errors
    /// When the record is empty or cannot be folded.
    pub fn of(record: &Record) -> Outcome<Self> {
        let game = record.game_after(None)?;
        let entries = record.entries();
        let basis = entries.iter().rev().find(|entry| entry.event.makes_stale());
        let basis = basis.and_then(|entry| record.entry(entry.number));
        let (_, precondition) =
            basis.ok_or_else(|| Failure::Mismatch("the record has no beginning".to_owned()))?;
        let attempt = entries.iter().rev().find_map(|entry| match &entry.event {
            Event::SecretsRenewed { attempt, .. } => Some(*attempt),
            Event::TurnClosed { .. } | Event::Opened { .. } => Some(FIRST_ATTEMPT),
            _ => None,
        });
        Ok(Self {
            precondition: precondition.to_owned(),
            player_turn: game.player_turn(),
            attempt: attempt.unwrap_or(FIRST_ATTEMPT),
        })
    }
}

/// What is signed besides the occasion.
#[derive(Debug, Clone, Copy)]
pub struct ToSign<'a> {
    /// Id of the seat.
    pub seat: &'a str,
    /// What it asks for.
    pub kind: PostingKind,
    /// The body as it is sent; of standing instructions their seal.
    pub body: &'a [u8],
    /// The poster's own number, with a sheet.
    pub number: Option<&'a Bytes32>,
    /// The nonce of the seal of standing instructions.
    pub nonce: Option<&'a Bytes32>,
}

/// The signature as it travels in its header.
///
/// # Errors
/// When the record names no game.
pub fn signature(
    key: &SigningKey,
    record: &Record,
    occasion: &Occasion,
    to_sign: &ToSign<'_>,
) -> Outcome<String> {
    let unreadable = || Failure::Mismatch("the record names no game".to_owned());
    let mut game = [0; 16];
    let id = record.game_id().ok_or_else(unreadable)?;
    hex::decode_to_slice(id, &mut game).map_err(|_| unreadable())?;
    let precondition = hash_bytes(&occasion.precondition).ok_or_else(unreadable)?;
    let parts = SignedParts {
        game: &game,
        seat: to_sign.seat,
        kind: to_sign.kind,
        precondition: &precondition,
        player_turn: occasion.player_turn,
        attempt: occasion.attempt,
        body: to_sign.body,
        number: to_sign.number,
    };
    let signature = record::sign(&key.0, &parts.message());
    let mut header = format!(
        "player-turn={}, attempt={}, key={}, signature={}",
        occasion.player_turn,
        occasion.attempt,
        key.public(),
        hex::encode(signature)
    );
    if let Some(nonce) = to_sign.nonce {
        header.push_str(&format!(", nonce={}", hex::encode(nonce)));
    }
    Ok(header)
}

/// The keys of a seat as a record has them at a moment.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SeatKeys {
    /// Those that sign, in hex.
    pub in_force: Vec<String>,
    /// One that the organiser has named and that does not count yet, and since when.
    pub replacing: Option<(String, Timestamp)>,
    /// Whether those in force are so on the organiser's word alone.
    pub on_organisers_word: bool,
}

/// Keys of every seat that a record knows.
#[must_use]
pub fn keys_of(record: &Record, now: Timestamp) -> Vec<(String, SeatKeys)> {
    let mut seats: Vec<(String, SeatKeys)> = Vec::new();
    for entry in record.entries() {
        let at = entry.at.parse().unwrap_or(now);
        match &entry.event {
            Event::SeatTaken {
                seat: Some(seat),
                key,
                ..
            }
            | Event::UmpireSeated { seat, key, .. } => {
                seats.retain(|(known, _)| known != seat);
                let keys = SeatKeys {
                    in_force: key.iter().cloned().collect(),
                    ..SeatKeys::default()
                };
                seats.push((seat.clone(), keys));
            }
            Event::SeatFreed { seat } => seats.retain(|(known, _)| known != seat),
            Event::KeyAdded { seat, key } => {
                with(&mut seats, seat, at, |keys| keys.in_force.push(key.clone()));
            }
            Event::KeyRemoved { seat, key } => {
                with(&mut seats, seat, at, |keys| {
                    keys.in_force.retain(|known| known != key);
                });
            }
            Event::KeyReplaced { seat, key, .. } => {
                with(&mut seats, seat, at, |keys| {
                    keys.replacing = Some((key.clone(), at));
                });
            }
            Event::KeyCountersigned { seat, key, .. } => {
                with(&mut seats, seat, at, |keys| {
                    keys.in_force = vec![key.clone()];
                    keys.replacing = None;
                    keys.on_organisers_word = false;
                });
            }
            _ => {}
        }
    }
    for (_, keys) in &mut seats {
        settle(keys, now);
    }
    seats
}

/// The keys of one seat, if the record knows it.
#[must_use]
pub fn keys_of_seat(record: &Record, seat: &str, now: Timestamp) -> Option<SeatKeys> {
    let known = keys_of(record, now);
    known
        .into_iter()
        .find_map(|(id, keys)| (id == seat).then_some(keys))
}

fn with(
    seats: &mut [(String, SeatKeys)],
    seat: &str,
    at: Timestamp,
    change: impl FnOnce(&mut SeatKeys),
) {
    if let Some((_, keys)) = seats.iter_mut().find(|(known, _)| known == seat) {
        settle(keys, at);
        change(keys);
    }
}

/// A replaced key counts once its three days are over.
fn settle(keys: &mut SeatKeys, at: Timestamp) {
    let is_over = |since: Timestamp| at.duration_since(since) >= REPLACED_AFTER;
    if let Some((key, _)) = keys.replacing.take_if(|(_, since)| is_over(*since)) {
        keys.in_force = vec![key];
        keys.on_organisers_word = true;
    }
}

/// Whether a record says that everything must be signed.
#[must_use]
pub fn must_sign(record: &Record) -> bool {
    let first = record.entries().first();
    first.is_some_and(|entry| matches!(entry.event, Event::Opened { signed: true, .. }))
}

/// The poster's own number of one attempt at a player turn: one, whatever becomes of the posting it goes with. Another for
/// each try would let a host who has seen the first choose between them.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OwnNumber {
    /// Number of the player turn, from 1.
    pub player_turn: u64,
    /// Attempt at it, from 1.
    pub attempt: u32,
    /// The number in hex.
    pub number: String,
    /// How often a posting with it was turned away.
    pub turned_away: u32,
}

impl OwnNumber {
    /// The number for an occasion: the one that is kept, or a fresh one, which is kept.
    ///
    /// # Errors
    /// When its file cannot be read or written.
    pub fn of(occasion: &Occasion, seat_folder: &std::path::Path) -> Outcome<Self> {
        let path = seat_folder.join("number.json");
        let kept = files::read_if_there(&path)?;
        let kept: Option<Self> = kept.and_then(|text| serde_json::from_str(&text).ok());
        let is_its = |kept: &Self| {
            (kept.player_turn, kept.attempt) == (occasion.player_turn, occasion.attempt)
        };
        if let Some(kept) = kept.filter(is_its) {
            return Ok(kept);
        }
        let fresh = Self {
            player_turn: occasion.player_turn,
            attempt: occasion.attempt,
            number: hex::encode(random::<32>()?),
            turned_away: 0,
        };
        fresh.keep(seat_folder)?;
        Ok(fresh)
    }

    /// Keeps it.
    ///
    /// # Errors
    /// When its file cannot be written.
    pub fn keep(&self, seat_folder: &std::path::Path) -> Outcome {
        let text = serde_json::to_string(self)
            .map_err(|error| Failure::Plain(format!("cannot keep the number: {error}")))?;
        files::write_private(&seat_folder.join("number.json"), text.as_bytes())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_number_stays_for_an_attempt_and_changes_with_it() {
        let folder = tempfile::tempdir().unwrap();
        let occasion = |player_turn, attempt| Occasion {
            precondition: String::new(),
            player_turn,
            attempt,
        };
        let mut first = OwnNumber::of(&occasion(3, 1), folder.path()).unwrap();
        first.turned_away += 1;
        first.keep(folder.path()).unwrap();
        assert_eq!(
            OwnNumber::of(&occasion(3, 1), folder.path()).unwrap(),
            first
        );
        let second = OwnNumber::of(&occasion(3, 2), folder.path()).unwrap();
        assert_ne!(second.number, first.number);
        assert_eq!(second.turned_away, 0);
        let third = OwnNumber::of(&occasion(4, 1), folder.path()).unwrap();
        assert_ne!(third.number, second.number);
        assert!(!files::others_may_read(&folder.path().join("number.json")));
    }

    #[test]
    fn a_key_goes_there_and_back_and_is_not_shown_by_accident() {
        let key = SigningKey::fresh().unwrap();
        assert_eq!(SigningKey::from_hex(&key.reveal()).unwrap(), key);
        assert!(!format!("{key:?}").contains(&key.reveal()[..8]));
        assert_eq!(key.public().len(), 64);
        assert_eq!(spoken(&key.public()).split(' ').count(), 8);
        assert!(SigningKey::from_hex("abc").is_err());
    }
}
