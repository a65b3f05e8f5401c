//! Postings held against what they brought: who may send them, whether they are fresh, what is signed, and that the
//! event says what the body says.

use serde::de::DeserializeOwned;

use crate::clock::zone_name;
use crate::dice::{Bytes32, FIRST_ATTEMPT};
use crate::game::{ClockRules, Event};
use crate::orders::SideId;
use crate::referee;
use crate::sanitize::normal;

use super::bodies::{
    AcceptUmpire, Action, NameKey, NameSeatKey, PostSheet, RaiseDispute, Rule, Seal, SetZone,
    TakeLeave,
};
use super::causes::{Before, CauseFault, Caused, unless};
use super::state::{After, places_of};
use super::{Entry, Posted, PostingKind};

/// The seat that an organiser rules from who has taken none.
pub const ORGANISER: &str = "organiser";

impl Event {
    /// What a posting that brings this event asks for; absent for what no posting brings by itself.
    #[must_use]
    pub fn posting_kind(&self) -> Option<PostingKind> {
        Some(match self {
            Self::SheetAccepted { .. } => PostingKind::Sheet,
            Self::InstructionsChanged { .. } => PostingKind::Instructions,
            Self::TimeClaimed { .. } => PostingKind::Claim,
            Self::Conceded { .. } => PostingKind::Concession,
            Self::DisputeRaised { .. } => PostingKind::Dispute,
            Self::RulingGiven { .. } => PostingKind::Ruling,
            Self::ClockSet { .. } => PostingKind::Clock,
            Self::ZoneSet { .. } => PostingKind::Zone,
            Self::LeaveTaken { .. } => PostingKind::Leave,
            Self::PauseAsked { .. } => PostingKind::Pause,
            Self::Resumed { .. } => PostingKind::Resume,
            Self::KeyAdded { .. } => PostingKind::KeyAdded,
            Self::KeyRemoved { .. } => PostingKind::KeyRemoved,
            Self::KeyReplaced { .. } => PostingKind::KeyReplaced,
            Self::KeyCountersigned { .. } => PostingKind::KeyCountersigned,
            Self::UmpireAccepted { .. } => PostingKind::UmpireAccepted,
            _ => return None,
        })
    }

    /// The side that does it; absent where none or the umpire does.
    fn side_that_acts(&self) -> Option<&SideId> {
        match self {
            Self::SheetAccepted { sheet, .. } => Some(&sheet.side),
            Self::InstructionsChanged { side, .. }
            | Self::TimeClaimed { side }
            | Self::Conceded { side }
            | Self::DisputeRaised { side, .. }
            | Self::ZoneSet { side, .. }
            | Self::LeaveTaken { side, .. }
            | Self::PauseAsked { side }
            | Self::UmpireAccepted { side, .. }
            | Self::KeyCountersigned { side, .. } => Some(side),
            _ => None,
        }
    }
}

impl Before<'_> {
    /// Whether an entry has the posting that it needs, and that is in order.
    pub(super) fn is_posted(&self, entry: &Entry) -> Caused {
        let kind = entry.event.posting_kind();
        let Some(posted) = &entry.posted else {
            let must = self.record_state.is_signed && kind.is_some() && !self.is_free(&entry.event);
            return unless(!must, "it must be signed and no posting stands with it");
        };
        unless(
            kind == Some(posted.kind) && !self.follows_from_another(&entry.event),
            format!("a posting of a {} stands with it", posted.kind),
        )?;
        self.is_of_the_moment(posted)?;
        self.may_post(&entry.event, posted)?;
        self.is_signed_by_its_seat(posted)?;
        agrees(&entry.event, posted)?;
        match &entry.event {
            Event::RulingGiven { text, .. } => self.can_be_done(posted, text),
            _ => Ok(()),
        }
    }

    /// What follows from another entry and is not posted by itself: a pause that a ruling ends, the clock of a game
    /// that is opened with one, where somebody lives who takes a seat. On the organiser's word a key is replaced.
    fn is_free(&self, event: &Event) -> bool {
        self.follows_from_another(event)
            || match (event, &self.record_state.after) {
                (Event::ClockSet { .. }, After::Opened) => true,
                (Event::ZoneSet { side, .. }, After::Seated(seated)) => side == seated,
                (Event::KeyReplaced { .. }, _) => true,
                _ => false,
            }
    }

    fn follows_from_another(&self, event: &Event) -> bool {
        use super::state::Due;
        matches!(
            (event, &self.record_state.after),
            (
                Event::Resumed { .. },
                After::Ruled {
                    due: Due::Resume,
                    ..
                }
            )
        )
    }

    fn is_of_the_moment(&self, posted: &Posted) -> Caused {
        let attempt = self.record_state.attempt.unwrap_or(FIRST_ATTEMPT);
        unless(
            posted.player_turn == self.game.player_turn() && posted.attempt == attempt,
            "its posting was written for another player turn or attempt",
        )?;
        let named: Option<Bytes32> = hex::decode(&posted.precondition)
            .ok()
            .and_then(|bytes| bytes.try_into().ok());
        unless(
            named.is_some_and(|named| self.record_state.is_fresh(&named)),
            "its posting was written for an earlier state of the game",
        )
    }

    /// Whether such a posting is for that seat to send.
    fn may_post(&self, event: &Event, posted: &Posted) -> Caused {
        let seats = &self.record_state.seats;
        let Some(seat) = seats.get(&posted.seat) else {
            let is_open = !self.record_state.is_signed
                || posted.seat == ORGANISER && matches!(event, Event::KeyReplaced { .. });
            return unless(is_open, "nobody has taken the seat that it was posted for");
        };
        let holds = match event {
            Event::KeyAdded { seat, .. } | Event::KeyRemoved { seat, .. } => *seat == posted.seat,
            Event::RulingGiven { .. } | Event::ClockSet { .. } | Event::KeyReplaced { .. } => {
                seat.side.is_none() || self.record_state.is_accepted(&posted.seat)
            }
            Event::Resumed { .. } => seat.side.is_some(),
            event => seat.side.as_ref() == event.side_that_acts(),
        };
        unless(holds, "it was posted for a seat that may not do this")
    }

    fn is_signed_by_its_seat(&self, posted: &Posted) -> Caused {
        let refuse = |why: super::SignatureFault| CauseFault::new(why.to_string());
        let key = posted.verify(&self.record_state.game_id).map_err(refuse)?;
        let keys = self.record_state.keys(&posted.seat, self.at);
        let Some(key) = key.map(hex::encode) else {
            // on the organiser's word: whoever has no key yet can sign nothing
            let is_word = posted.kind == PostingKind::KeyReplaced && keys.is_empty();
            let is_vouched = is_of_keys(posted.kind) && !keys.is_empty();
            let need_not = !self.record_state.is_signed && !is_vouched;
            return unless(is_word || need_not, "its posting is not signed");
        };
        unless(
            keys.contains(&key.as_str()),
            "its posting is signed with a key that its seat does not have",
        )?;
        let signature = posted.signed.as_ref().map(|signed| &signed.signature);
        unless(
            signature.is_none_or(|signature| !self.record_state.signatures.contains(signature)),
            "its posting stands in the record already",
        )
    }

    /// Whether what a ruling says can be done at all, its corrections measured together.
    fn can_be_done(&self, posted: &Posted, text: &str) -> Caused {
        let rule: Rule = read(posted)?;
        let Some(Action::Correct { units }) = rule.then else {
            return Ok(());
        };
        let named = units.len();
        let places: Vec<_> = places_of(units).into();
        unless(places.len() == named, "a ruling puts a unit nowhere")?;
        referee::correct(self.game, &places, text)
            .map(|_| ())
            .map_err(|why| CauseFault::new(format!("a unit cannot be set so: {why}")))
    }
}

/// Keys answer for each other, in any game: whoever has none cannot add one to a seat that has.
fn is_of_keys(kind: PostingKind) -> bool {
    matches!(kind, PostingKind::KeyAdded | PostingKind::KeyRemoved)
}

/// Whether an event says what the body of its posting says.
fn agrees(event: &Event, posted: &Posted) -> Caused {
    let mut number = None;
    let same = match event {
        Event::SheetAccepted { sheet, .. } => {
            let body: PostSheet = read(posted)?;
            let same = body.sheet == *sheet;
            number = Some(body.number.to_ascii_lowercase());
            same
        }
        Event::InstructionsChanged { seal, .. } => {
            let body: Seal = read(posted)?;
            body.seal == *seal
        }
        Event::DisputeRaised { about, text, .. } => {
            let body: RaiseDispute = read(posted)?;
            body.about == *about && normal(&body.text) == *text
        }
        Event::RulingGiven { about, text } => {
            let body: Rule = read(posted)?;
            body.about == *about && normal(&body.text) == *text
        }
        Event::ClockSet { clock } => read::<ClockRules>(posted)? == *clock,
        Event::ZoneSet { zone, .. } => {
            let body: SetZone = read(posted)?;
            zone_name(&body.zone).as_ref() == Some(zone)
        }
        Event::LeaveTaken { from, days, .. } => {
            let body: TakeLeave = read(posted)?;
            let day = body.from.parse::<jiff::civil::Date>();
            body.days == *days && day.is_ok_and(|day| day.to_string() == *from)
        }
        Event::KeyAdded { key, .. } | Event::KeyRemoved { key, .. } => {
            read::<NameKey>(posted)?.key == *key
        }
        Event::KeyReplaced { seat, key, reason } => {
            let body: NameSeatKey = read(posted)?;
            let words = body.reason.as_deref().map(normal);
            body.seat == *seat && body.key == *key && words.as_ref() == Some(reason)
        }
        Event::KeyCountersigned { seat, key, .. } => {
            let body: NameSeatKey = read(posted)?;
            body.seat == *seat && body.key == *key
        }
        Event::UmpireAccepted { seat, .. } => read::<AcceptUmpire>(posted)?.seat == *seat,
        _ => true,
    };
    unless(
        same && number == posted.number,
        "it is not what its posting says",
    )
}

fn read<T: DeserializeOwned>(posted: &Posted) -> Result<T, CauseFault> {
    serde_json::from_str(&posted.body).map_err(|error| {
        CauseFault::new(format!("the body of its posting cannot be read: {error}"))
    })
}
