//! The state of a record besides table and clock: who may post with which keys, from where on a posting is good, what
//! is committed to, and what an entry calls for after it.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use jiff::Timestamp;

use crate::clock::Clock;
use crate::dice::{Bytes32, FIRST_ATTEMPT};
use crate::game::{Event, Game};
use crate::geometry::Pose;
use crate::orders::{SideId, UnitId};

use super::bodies::{Action, Rule};
use super::{Entry, Posted};

/// After so many hours a key replaced on the organiser's word is in force though nobody has countersigned it.
pub const REPLACED_AFTER_HOURS: i64 = 72;

/// The state of a record, besides table and clock, as far as it was read.
#[derive(Debug, Clone)]
pub struct RecordState {
    pub(super) format: u32,
    pub(super) game_id: [u8; 16],
    pub(super) is_signed: bool,
    /// Number of the last entry.
    pub(super) number: u64,
    pub(super) last_at: Option<Timestamp>,
    /// Number of the last event that made earlier postings stale.
    pub(super) basis: u64,
    /// Hashes of the entries from that one on.
    pub(super) since_basis: Vec<Bytes32>,
    /// Signatures of postings since, so that none counts twice.
    pub(super) signatures: BTreeSet<String>,
    pub(super) seats: BTreeMap<String, Seat>,
    /// Seats of players who rule, each with a side that lets them.
    pub(super) accepted: BTreeSet<(String, SideId)>,
    /// Attempt at the player turn being played; absent while throws are of the first form.
    pub(super) attempt: Option<u32>,
    /// Commitment to the secret of the attempt being played, in hex.
    pub(super) commitment: String,
    pub(super) seals: Vec<SealedAt>,
    pub(super) after: After,
    /// Whether the last entry put a unit elsewhere.
    is_correcting: bool,
}

/// A seat and its keys.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Seat {
    /// Whom it plays for; absent: it is an umpire's.
    pub(super) side: Option<SideId>,
    /// Public keys in hex.
    pub(super) keys: BTreeSet<String>,
    pub(super) replaced: Option<Replaced>,
    /// Whether its key is in force on the organiser's word alone.
    pub(super) on_word: bool,
}

/// A key that is to take the place of a seat's others.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Replaced {
    pub(super) key: String,
    pub(super) since: Timestamp,
}

/// Standing instructions as they stand in a record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SealedAt {
    /// Number of the entry.
    pub number: u64,
    /// Whose they are.
    pub side: SideId,
    /// The seal in hex; absent: they were cleared.
    pub seal: Option<String>,
}

/// What an entry calls for, or allows, right after it.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum After {
    /// Nothing of its own.
    Nothing,
    /// The opening: a clock may be set with it.
    Opened,
    /// A seat was taken: its side's time zone may be told with it.
    Seated(SideId),
    /// Other laws: a player turn begins; whether a ruling lets it pass.
    Laws { passes: bool },
    /// A player turn goes on until it is closed.
    Turn {
        passes: bool,
        /// The poster's number, where a posting says it.
        number: Option<String>,
    },
    /// A player turn was closed: the table may end the game.
    Closed,
    /// A claim, or a side that gave up: the game's end follows.
    EndDue { winner: Option<SideId> },
    /// Both sides have asked: the pause follows.
    PauseDue,
    /// A ruling, and what it does.
    Ruled { text: String, due: Due },
}

/// What a ruling does.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Due {
    /// Nothing, or nothing more.
    Nothing,
    /// What, its posting does not say.
    Unknown,
    /// These units are put there.
    Correct(VecDeque<(UnitId, Pose)>),
    /// The side to move gets so many days.
    MoreTime(u16),
    /// The player turn passes.
    Pass,
    /// The game ends.
    End(Option<SideId>),
    /// The clocks stand.
    Pause,
    /// The clocks run again.
    Resume,
}

impl RecordState {
    /// The state after a record's first entry; nothing when that opens no game.
    #[must_use]
    pub fn open(entry: &Entry, hash: Bytes32) -> Option<Self> {
        let Event::Opened {
            format,
            game,
            commitment,
            signed,
            ..
        } = &entry.event
        else {
            return None;
        };
        let game_id: [u8; 16] = hex::decode(game).ok()?.try_into().ok()?;
        Some(Self {
            format: *format,
            game_id,
            is_signed: *signed,
            number: entry.number,
            last_at: entry.at.parse().ok(),
            basis: entry.number,
            since_basis: vec![hash],
            signatures: BTreeSet::new(),
            seats: BTreeMap::new(),
            accepted: BTreeSet::new(),
            attempt: (*format > 1).then_some(FIRST_ATTEMPT),
            commitment: commitment.clone(),
            seals: Vec::new(),
            after: After::Opened,
            is_correcting: false,
        })
    }

    /// The game's id.
    #[must_use]
    pub fn game_id(&self) -> &[u8; 16] {
        &self.game_id
    }

    /// Whether whatever a seat does must be signed.
    #[must_use]
    pub fn is_signed(&self) -> bool {
        self.is_signed
    }

    /// Attempt at the player turn being played; absent while throws are of the first form: secrets must be renewed
    /// before the next turn is played.
    #[must_use]
    pub fn attempt(&self) -> Option<u32> {
        self.attempt
    }

    /// Commitment to the secret of the attempt being played, in hex.
    #[must_use]
    pub fn commitment(&self) -> &str {
        &self.commitment
    }

    /// The moment of the last entry: none that follows may bear an earlier one.
    #[must_use]
    pub fn last_at(&self) -> Option<Timestamp> {
        self.last_at
    }

    /// Hash of the last event that made earlier postings stale: what a posting is written for.
    #[must_use]
    pub fn basis(&self) -> Bytes32 {
        self.since_basis.first().copied().unwrap_or_default()
    }

    /// Whether a posting that names this entry is not stale: it is the basis or follows it.
    #[must_use]
    pub fn is_fresh(&self, precondition: &Bytes32) -> bool {
        self.since_basis.contains(precondition)
    }

    /// The seals of both sides in the order they were given, and where some were cleared.
    #[must_use]
    pub fn seals(&self) -> &[SealedAt] {
        &self.seals
    }

    /// Which of the seals (counted among those that hold one) is in force for a side when a sheet comes now. For a
    /// posting only what was sealed before its basis counts: whoever learns its number may change nothing any more.
    #[must_use]
    pub fn seal_in_force(&self, side: &SideId, is_posted: bool) -> Option<usize> {
        let before = if is_posted { self.basis } else { u64::MAX };
        let of_side = |sealed: &&SealedAt| sealed.side == *side && sealed.number < before;
        let last = self.seals.iter().rev().find(of_side)?;
        last.seal.as_ref()?;
        let earlier = self.seals.iter().filter(|sealed| sealed.seal.is_some());
        Some(earlier.filter(|sealed| sealed.number < last.number).count())
    }

    /// Keys of a seat that may sign at a moment, in hex.
    #[must_use]
    pub fn keys(&self, seat: &str, at: Timestamp) -> Vec<&str> {
        let Some(seat) = self.seats.get(seat) else {
            return Vec::new();
        };
        match &seat.replaced {
            Some(replaced) if is_over(replaced, at) => vec![&replaced.key],
            _ => seat.keys.iter().map(String::as_str).collect(),
        }
    }

    /// Whether a seat's key is in force on nothing but the organiser's word.
    #[must_use]
    pub fn is_on_organisers_word(&self, seat: &str, at: Timestamp) -> bool {
        let seat = self.seats.get(seat);
        seat.is_some_and(|seat| {
            seat.on_word || seat.replaced.as_ref().is_some_and(|it| is_over(it, at))
        })
    }

    /// Whether some side lets a player's seat rule.
    #[must_use]
    pub fn is_accepted(&self, seat: &str) -> bool {
        self.accepted.iter().any(|(accepted, _)| accepted == seat)
    }

    /// Whether that side lets a player's seat rule.
    #[must_use]
    pub fn is_accepted_by(&self, side: &SideId, seat: &str) -> bool {
        let accepted = (seat.to_owned(), side.clone());
        self.accepted.contains(&accepted)
    }

    /// Ids of the seats that somebody holds.
    pub fn seats(&self) -> impl Iterator<Item = &str> + '_ {
        self.seats.keys().map(String::as_str)
    }

    /// Whether somebody holds a seat.
    #[must_use]
    pub fn is_seated(&self, seat: &str) -> bool {
        self.seats.contains_key(seat)
    }

    /// The key that the organiser has named for a seat and that is not in force at a moment, in hex.
    #[must_use]
    pub fn key_to_come(&self, seat: &str, at: Timestamp) -> Option<&str> {
        let replaced = self.seats.get(seat)?.replaced.as_ref()?;
        (!is_over(replaced, at)).then_some(replaced.key.as_str())
    }

    /// Whether a posting with that signature, in hex, stands in the record since the basis.
    #[must_use]
    pub fn has_signature(&self, signature: &str) -> bool {
        self.signatures.contains(signature)
    }

    /// The number of the entry in which a side's instructions were sealed last, unless they were cleared since.
    #[must_use]
    pub fn last_seal(&self, side: &SideId) -> Option<u64> {
        let last = self
            .seals
            .iter()
            .rev()
            .find(|sealed| sealed.side == *side)?;
        last.seal.as_ref().map(|_| last.number)
    }

    /// Whether the last entry was one of several corrections that a ruling makes.
    pub(super) fn is_among_corrections(&self) -> bool {
        self.is_correcting
    }

    /// Whether the last entry calls for another.
    #[must_use]
    pub fn is_unfinished(&self) -> bool {
        match &self.after {
            After::Laws { .. } | After::Turn { .. } | After::EndDue { .. } | After::PauseDue => {
                true
            }
            After::Ruled { due, .. } => !matches!(due, Due::Nothing | Due::Unknown),
            _ => false,
        }
    }

    /// Applies an entry that may follow; `game` and `clock` are those after it.
    pub fn apply(&mut self, (game, clock): (&Game, &Clock), entry: &Entry, hash: Bytes32) {
        let event = &entry.event;
        self.number = entry.number;
        if let Ok(at) = entry.at.parse::<Timestamp>() {
            self.last_at = Some(at);
            self.settle_keys(at);
        }
        if event.makes_stale() {
            self.basis = entry.number;
            self.since_basis.clear();
            self.signatures.clear();
        }
        self.since_basis.push(hash);
        let signed = entry
            .posted
            .as_ref()
            .and_then(|posted| posted.signed.as_ref());
        self.signatures
            .extend(signed.map(|signed| signed.signature.clone()));
        self.after = self.after((game, clock), event, entry.posted.as_ref());
        self.is_correcting = matches!(event, Event::PositionCorrected { .. });
        match event {
            Event::InstructionsChanged { side, seal } => {
                self.note_seal(entry.number, side, Some(seal.clone()));
            }
            Event::InstructionsCleared { side, .. } => self.note_seal(entry.number, side, None),
            Event::SecretsRenewed {
                attempt,
                commitment,
                ..
            } => {
                self.attempt = Some(*attempt);
                self.commitment.clone_from(commitment);
            }
            Event::TurnClosed { commitment, .. } => {
                self.attempt = self.attempt.map(|_| FIRST_ATTEMPT);
                self.commitment.clone_from(commitment);
            }
            _ => self.seat(event),
        }
    }

    fn note_seal(&mut self, number: u64, side: &SideId, seal: Option<String>) {
        let side = side.clone();
        self.seals.push(SealedAt { number, side, seal });
    }

    /// Seats and keys.
    fn seat(&mut self, event: &Event) {
        let taken = |side: Option<&SideId>, key: &Option<String>| Seat {
            side: side.cloned(),
            keys: key.iter().cloned().collect(),
            replaced: None,
            on_word: false,
        };
        match event {
            Event::SeatTaken {
                side,
                seat: Some(seat),
                key,
                ..
            } => {
                self.seats.insert(seat.clone(), taken(Some(side), key));
            }
            Event::UmpireSeated { seat, key, .. } => {
                self.seats.insert(seat.clone(), taken(None, key));
            }
            Event::SeatFreed { seat } => {
                self.seats.remove(seat);
                self.accepted.retain(|(accepted, _)| accepted != seat);
            }
            Event::UmpireAccepted { side, seat } => {
                self.accepted.insert((seat.clone(), side.clone()));
            }
            Event::KeyAdded { seat, key } => self.with(seat, |seat| {
                seat.keys.insert(key.clone());
            }),
            Event::KeyRemoved { seat, key } => self.with(seat, |seat| {
                seat.keys.remove(key);
            }),
            Event::KeyReplaced { seat, key, .. } => {
                if let Some(since) = self.last_at {
                    let key = key.clone();
                    self.with(seat, |seat| seat.replaced = Some(Replaced { key, since }));
                }
            }
            Event::KeyCountersigned { seat, .. } => self.with(seat, |seat| {
                if let Some(replaced) = seat.replaced.take() {
                    seat.keys = BTreeSet::from([replaced.key]);
                    seat.on_word = false;
                }
            }),
            _ => {}
        }
    }

    fn with(&mut self, seat: &str, change: impl FnOnce(&mut Seat)) {
        if let Some(seat) = self.seats.get_mut(seat) {
            change(seat);
        }
    }

    /// Puts replaced keys in force whose three days are over.
    fn settle_keys(&mut self, at: Timestamp) {
        for seat in self.seats.values_mut() {
            if let Some(replaced) = seat.replaced.take_if(|replaced| is_over(replaced, at)) {
                seat.keys = BTreeSet::from([replaced.key]);
                seat.on_word = true;
            }
        }
    }

    fn after(
        &self,
        (game, clock): (&Game, &Clock),
        event: &Event,
        posted: Option<&Posted>,
    ) -> After {
        match event {
            Event::SeatTaken { side, .. } => After::Seated(side.clone()),
            Event::LawsChanged { .. } => After::Laws {
                passes: self.is_ruled_to_pass(),
            },
            Event::SheetAccepted { .. } => After::Turn {
                passes: false,
                number: posted.and_then(|posted| posted.number.clone()),
            },
            Event::TurnPassed { .. } => After::Turn {
                passes: true,
                number: None,
            },
            Event::TurnClosed { .. } => After::Closed,
            Event::TimeClaimed { side } => After::EndDue {
                winner: Some(side.clone()),
            },
            Event::Conceded { side } => After::EndDue {
                winner: game.side_index(side).map(|index| game.side_id(1 - index)),
            },
            Event::PauseAsked { .. } if clock.is_pause_agreed() => After::PauseDue,
            Event::RulingGiven { text, .. } => After::Ruled {
                text: text.clone(),
                due: posted.map_or(Due::Unknown, due_of),
            },
            _ => self.after_more(event),
        }
    }

    /// What is left to follow in a turn, or of a ruling.
    fn after_more(&self, event: &Event) -> After {
        match (&self.after, event) {
            (turn @ After::Turn { .. }, _) => turn.clone(),
            (After::Ruled { text, due }, Event::PositionCorrected { .. }) => {
                let mut due = due.clone();
                if let Due::Correct(places) = &mut due {
                    places.pop_front();
                    if places.is_empty() {
                        due = Due::Nothing;
                    }
                }
                let text = text.clone();
                After::Ruled { text, due }
            }
            _ => After::Nothing,
        }
    }

    pub(super) fn is_ruled_to_pass(&self) -> bool {
        match &self.after {
            After::Ruled { due, .. } => matches!(due, Due::Pass | Due::Unknown),
            After::Laws { passes } => *passes,
            _ => false,
        }
    }
}

fn is_over(replaced: &Replaced, at: Timestamp) -> bool {
    at.as_second() - replaced.since.as_second() >= REPLACED_AFTER_HOURS * 3600
}

/// What the posting of a ruling says that it does. A posting that says nothing readable is refused before.
fn due_of(posted: &Posted) -> Due {
    let rule: Option<Rule> = serde_json::from_str(&posted.body).ok();
    match rule.and_then(|rule| rule.then) {
        None => Due::Nothing,
        Some(Action::MoreTime { days }) => Due::MoreTime(days),
        Some(Action::Pass) => Due::Pass,
        Some(Action::End { winner }) => Due::End(winner.map(SideId)),
        Some(Action::Pause) => Due::Pause,
        Some(Action::Resume) => Due::Resume,
        Some(Action::Correct { units }) => Due::Correct(places_of(units)),
    }
}

/// Where a ruling puts units.
pub(super) fn places_of(units: Vec<super::bodies::PutUnit>) -> VecDeque<(UnitId, Pose)> {
    let place = |put: super::bodies::PutUnit| {
        let to = Pose::from_mm_deg(put.place.x_mm, put.place.y_mm, put.place.bearing_deg)?;
        Some((UnitId(put.unit), to))
    };
    units.into_iter().filter_map(place).collect()
}
