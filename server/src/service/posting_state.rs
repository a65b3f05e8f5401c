//! What a posting must meet, as the record leaves it: the entry it must have been written for, the attempt, whose keys sign.

use std::collections::{BTreeMap, BTreeSet};

use fieldpost_rules::dice::{Bytes32, FIRST_ATTEMPT};
use fieldpost_rules::game::Event;
use fieldpost_rules::orders::SideId;
use fieldpost_rules::record::Entry;
use jiff::{SignedDuration, Timestamp};

use crate::store::{Head, SealedInstructions};

/// The seat that rulings of an organiser without a seat are given from.
pub(super) const ORGANISER: &str = "organiser";
/// After so long a key on the organiser's word counts without the other side's consent.
const REPLACED_AFTER: SignedDuration = SignedDuration::from_hours(3 * 24);

/// What a posting must meet.
#[derive(Debug, Clone, Default)]
pub struct PostingState {
    /// Whether whatever a seat does must be signed.
    is_signed: bool,
    /// Attempt at the player turn.
    attempt: u32,
    /// Number of the last entry that made every posting before it stale.
    basis: u64,
    /// The hashes of that entry and of all after it: what a posting may have been written for.
    since: Vec<Bytes32>,
    /// Signatures of postings since then: none counts twice.
    signatures: BTreeSet<String>,
    seats: BTreeMap<String, Keys>,
    /// Entries by which sides' instructions were cleared, the last of each.
    cleared: BTreeMap<SideId, u64>,
    /// Which sides agreed that from which seat somebody who plays rules.
    accepted: BTreeSet<(SideId, String)>,
}

/// The keys of a seat, in hex.
#[derive(Debug, Clone, Default)]
struct Keys {
    in_force: Vec<String>,
    /// One on the organiser's word, and since when.
    replacing: Option<(String, Timestamp)>,
}

impl PostingState {
    /// Takes in an entry.
    pub(super) fn apply(&mut self, entry: &Entry, head: Head, at: Timestamp) {
        if entry.event.makes_stale() {
            self.basis = head.number;
            self.since.clear();
            self.signatures.clear();
        }
        self.since.push(head.hash);
        let signed = entry
            .posted
            .as_ref()
            .and_then(|posted| posted.signed.as_ref());
        self.signatures
            .extend(signed.map(|signed| signed.signature.clone()));
        match &entry.event {
            Event::Opened { signed, .. } => {
                self.is_signed = *signed;
                self.attempt = FIRST_ATTEMPT;
            }
            Event::TurnClosed { .. } => self.attempt = FIRST_ATTEMPT,
            Event::SecretsRenewed { attempt, .. } => self.attempt = *attempt,
            Event::SeatTaken {
                seat: Some(seat),
                key,
                ..
            }
            | Event::UmpireSeated { seat, key, .. } => {
                let keys = Keys {
                    in_force: key.iter().cloned().collect(),
                    replacing: None,
                };
                self.seats.insert(seat.clone(), keys);
            }
            Event::SeatFreed { seat } => {
                self.seats.remove(seat);
            }
            Event::KeyAdded { seat, key } => self.keys_of(seat, at).in_force.push(key.clone()),
            Event::KeyRemoved { seat, key } => {
                self.keys_of(seat, at).in_force.retain(|known| known != key);
            }
            Event::KeyReplaced { seat, key, .. } => {
                self.keys_of(seat, at).replacing = Some((key.clone(), at));
            }
            Event::KeyCountersigned { seat, key, .. } => {
                let keys = self.keys_of(seat, at);
                keys.in_force = vec![key.clone()];
                keys.replacing = None;
            }
            Event::UmpireAccepted { side, seat } => {
                self.accepted.insert((side.clone(), seat.clone()));
            }
            Event::InstructionsCleared { side, .. } => {
                self.cleared.insert(side.clone(), head.number);
            }
            _ => {}
        }
    }

    /// The keys of a seat as they are then, to be changed.
    fn keys_of(&mut self, seat: &str, at: Timestamp) -> &mut Keys {
        let keys = self.seats.entry(seat.to_owned()).or_default();
        if let Some((key, _)) = keys.replacing.take_if(|(_, since)| is_over(*since, at)) {
            keys.in_force = vec![key];
        }
        keys
    }

    /// Whether whatever a seat does must be signed.
    pub(super) fn is_signed(&self) -> bool {
        self.is_signed
    }

    /// Attempt at the player turn, from 1.
    pub(super) fn attempt(&self) -> u32 {
        self.attempt
    }

    /// Hash of the last entry that made every posting before it stale.
    pub(super) fn basis(&self) -> Option<Bytes32> {
        self.since.first().copied()
    }

    /// Whether a posting written for the entry of that hash is not stale.
    pub(super) fn is_current(&self, written_for: &Bytes32) -> bool {
        self.since.contains(written_for)
    }

    /// Whether a posting with that signature stands in the record already.
    pub(super) fn has(&self, signature: &str) -> bool {
        self.signatures.contains(signature)
    }

    /// Whether a key signs for a seat then.
    pub(super) fn signs(&self, seat: &str, key: &str, at: Timestamp) -> bool {
        let Some(keys) = self.seats.get(seat) else {
            return false;
        };
        match &keys.replacing {
            Some((replacing, since)) if is_over(*since, at) => replacing == key,
            _ => keys.in_force.iter().any(|known| known == key),
        }
    }

    /// Keys of a seat that sign then.
    pub(super) fn keys(&self, seat: &str, at: Timestamp) -> Vec<String> {
        match self.seats.get(seat) {
            None => Vec::new(),
            Some(Keys {
                replacing: Some((key, since)),
                ..
            }) if is_over(*since, at) => vec![key.clone()],
            Some(keys) => keys.in_force.clone(),
        }
    }

    /// The key that the organiser has named for a seat and that does not count yet.
    pub(super) fn replacing(&self, seat: &str, at: Timestamp) -> Option<&str> {
        let (key, since) = self.seats.get(seat)?.replacing.as_ref()?;
        (!is_over(*since, at)).then_some(key.as_str())
    }

    /// Whether the record knows somebody in a seat.
    pub(super) fn knows(&self, seat: &str) -> bool {
        self.seats.contains_key(seat)
    }

    /// Whether a side agreed that somebody who plays rules from a seat.
    pub(super) fn accepts(&self, side: &SideId, seat: &str) -> bool {
        let key = (side.clone(), seat.to_owned());
        self.accepted.contains(&key)
    }

    /// The last instructions that a side has sealed, unless they were cleared since.
    pub(super) fn latest<'s>(
        &self,
        side: &SideId,
        sealed: &'s [SealedInstructions],
    ) -> Option<&'s SealedInstructions> {
        let cleared = self.cleared.get(side).copied().unwrap_or(0);
        let mut last = sealed.iter().rev().filter(|sealed| sealed.side == side.0);
        last.next().filter(|sealed| sealed.number > cleared)
    }

    /// Those that count for a posting now: sealed before the entry that it is written for, so that nobody seals what a
    /// number that was shown makes good; and not cleared since.
    pub(super) fn standing<'s>(
        &self,
        side: &SideId,
        sealed: &'s [SealedInstructions],
    ) -> Option<&'s SealedInstructions> {
        let cleared = self.cleared.get(side).copied().unwrap_or(0);
        let mut of_side = sealed.iter().rev().filter(|sealed| sealed.side == side.0);
        of_side.find(|sealed| sealed.number < self.basis && sealed.number > cleared)
    }
}

fn is_over(since: Timestamp, at: Timestamp) -> bool {
    at.duration_since(since) >= REPLACED_AFTER
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An entry of an event that nobody posted.
    fn apply(state: &mut PostingState, event: &Event, head: Head, at: Timestamp) {
        let entry = Entry {
            number: head.number,
            previous: String::new(),
            at: at.to_string(),
            event: event.clone(),
            posted: None,
        };
        state.apply(&entry, head, at);
    }

    fn head(number: u64) -> Head {
        Head {
            number,
            hash: [number as u8; 32],
        }
    }

    fn at(hours: i64) -> Timestamp {
        Timestamp::from_second(1_780_000_000 + hours * 3600).expect("a moment")
    }

    fn taken(seat: &str, key: &str) -> Event {
        Event::SeatTaken {
            side: SideId("red".to_owned()),
            player: "Ash".to_owned(),
            seat: Some(seat.to_owned()),
            key: Some(key.to_owned()),
        }
    }

    #[test]
    fn a_lost_key_is_replaced_with_the_other_sides_consent_or_in_three_days() {
        let mut state = PostingState::default();
        let seat = "s1".to_owned();
        apply(&mut state, &taken("s1", "old"), head(1), at(0));
        let replaced = Event::KeyReplaced {
            seat: seat.clone(),
            key: "new".to_owned(),
            reason: "lost".to_owned(),
        };
        apply(&mut state, &replaced, head(2), at(1));
        for (hours, key) in [(1, "old"), (72, "old"), (73, "new"), (1000, "new")] {
            assert_eq!(state.keys("s1", at(hours)), [key], "after {hours}");
            assert!(state.signs("s1", key, at(hours)));
            let other = if key == "old" { "new" } else { "old" };
            assert!(!state.signs("s1", other, at(hours)), "after {hours}");
        }
        assert_eq!(state.replacing("s1", at(72)), Some("new"));
        let mut agreed = state.clone();
        let countersigned = Event::KeyCountersigned {
            side: SideId("blue".to_owned()),
            seat: seat.clone(),
            key: "new".to_owned(),
        };
        apply(&mut agreed, &countersigned, head(3), at(2));
        assert_eq!(agreed.keys("s1", at(2)), ["new"]);
        // What is done once the three days are over is done to the key that came.
        let added = Event::KeyAdded {
            seat: seat.clone(),
            key: "third".to_owned(),
        };
        apply(&mut state, &added, head(3), at(80));
        assert_eq!(state.keys("s1", at(80)), ["new", "third"]);
        apply(&mut state, &Event::SeatFreed { seat }, head(4), at(81));
        assert!(!state.signs("s1", "new", at(82)));
    }

    #[test]
    fn what_leaves_table_and_clock_alone_makes_nothing_stale() {
        let mut state = PostingState::default();
        let zone = Event::ZoneSet {
            side: SideId("red".to_owned()),
            zone: "UTC".to_owned(),
        };
        apply(&mut state, &zone, head(1), at(0));
        let sealed = Event::InstructionsChanged {
            side: SideId("blue".to_owned()),
            seal: String::new(),
        };
        apply(&mut state, &sealed, head(2), at(0));
        assert!(state.is_current(&[1; 32]) && state.is_current(&[2; 32]));
        assert_eq!(state.basis(), Some([1; 32]));
        apply(&mut state, &zone, head(3), at(0));
        assert!(!state.is_current(&[2; 32]) && state.is_current(&[3; 32]));
    }

    #[test]
    fn instructions_count_if_they_were_sealed_before_and_not_cleared_since() {
        let sealed = |number, side: &str| SealedInstructions {
            number,
            side: side.to_owned(),
            nonce: [0; 32],
            body: String::new(),
        };
        let all = [sealed(2, "red"), sealed(3, "blue"), sealed(6, "red")];
        let red = SideId("red".to_owned());
        let mut state = PostingState {
            basis: 5,
            ..PostingState::default()
        };
        assert_eq!(state.standing(&red, &all).map(|s| s.number), Some(2));
        assert_eq!(state.latest(&red, &all).map(|s| s.number), Some(6));
        let cleared = Event::InstructionsCleared {
            side: red.clone(),
            why: String::new(),
        };
        apply(&mut state, &cleared, head(4), at(0));
        assert_eq!(state.standing(&red, &all).map(|s| s.number), None);
        assert_eq!(state.latest(&red, &all).map(|s| s.number), Some(6));
        apply(&mut state, &cleared, head(7), at(0));
        assert_eq!(state.latest(&red, &all).map(|s| s.number), None);
    }
}
