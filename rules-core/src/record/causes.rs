//! What each event needs before it may follow: one set of conditions, which the server obeys when it appends and the
//! audit when it reads.

use std::fmt;

use jiff::Timestamp;

use crate::clock::Clock;
use crate::dice::{self, Bytes32, FIRST_ATTEMPT, first_form};
use crate::game::{DiceProof, Event, Game, LAWS, State};
use crate::orders::{SideId, UnitId};
use crate::referee;

use super::state::{After, Due, RecordState};
use super::{Entry, check_key};

/// Why an entry may not follow, in words by [`Display`](fmt::Display).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CauseFault(String);

impl CauseFault {
    pub(super) fn new(told: impl Into<String>) -> Self {
        Self(told.into())
    }
}

impl fmt::Display for CauseFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for CauseFault {}

/// Nothing, or why not.
pub(super) type Caused = Result<(), CauseFault>;

/// A fault unless something holds.
pub(super) fn unless(holds: bool, told: impl Into<String>) -> Caused {
    if holds {
        Ok(())
    } else {
        Err(CauseFault::new(told))
    }
}

/// All that an event is held against.
pub(super) struct Before<'a> {
    pub(super) record_state: &'a RecordState,
    pub(super) game: &'a Game,
    pub(super) clock: &'a Clock,
    pub(super) at: Timestamp,
}

impl RecordState {
    /// Whether an entry may follow: its moment, its posting, and what its event needs. What is measured in a player
    /// turn is not measured again here.
    ///
    /// # Errors
    /// What it lacks.
    pub fn may_follow(&self, game: &Game, clock: &Clock, entry: &Entry) -> Caused {
        let at = self.moment(entry)?;
        let before = Before {
            record_state: self,
            game,
            clock,
            at,
        };
        if game.ending().is_some() {
            unless(
                self.is_told_after_the_end(&entry.event),
                format!("a {} after the game is over", entry.event.kind()),
            )?;
        }
        before.follows(&entry.event)?;
        before.is_possible(&entry.event)?;
        before.is_posted(entry)
    }

    /// When the entry says that it was appended.
    fn moment(&self, entry: &Entry) -> Result<Timestamp, CauseFault> {
        let told = || CauseFault::new("its moment is none, or not written as moments are");
        let at: Timestamp = entry.at.parse().map_err(|_| told())?;
        if self.format > 1 {
            unless(at.to_string() == entry.at, told().0)?;
            unless(
                self.last_at.is_none_or(|last| last <= at),
                "it was appended before the entry before it: times run backwards",
            )?;
        }
        Ok(at)
    }

    /// Whether a secret in hex is the one that was committed to.
    pub(super) fn was_committed(&self, game: &Game, secret: &str) -> Caused {
        is_hash(secret, "secret")?;
        let secret: Bytes32 = bytes_of(secret).unwrap_or_default();
        let (id, turn) = (&self.game_id, game.player_turn());
        let committed = match self.attempt {
            Some(attempt) => dice::commitment(id, turn, attempt, &secret),
            None => first_form::commitment(id, turn, &secret),
        };
        unless(
            hex::encode(committed) == self.commitment,
            "the secret shown is not the one that was committed to before the turn",
        )
    }

    /// What people still do once the battle is decided.
    fn is_told_after_the_end(&self, event: &Event) -> bool {
        if self.format == 1 {
            return event.leaves_table_alone();
        }
        matches!(
            event,
            Event::SeatTaken { .. }
                | Event::UmpireSeated { .. }
                | Event::SeatFreed { .. }
                | Event::KeyAdded { .. }
                | Event::KeyRemoved { .. }
                | Event::KeyReplaced { .. }
                | Event::KeyCountersigned { .. }
                | Event::DisputeRaised { .. }
                | Event::RulingGiven { .. }
        )
    }
}

impl Before<'_> {
    /// Whether it comes where such an event may: what the entry before it calls for comes first, and what only
    /// follows something else follows it.
    fn follows(&self, event: &Event) -> Caused {
        let kind = event.kind();
        let due = match &self.record_state.after {
            After::Laws { .. } => {
                let begins = matches!(
                    event,
                    Event::SheetAccepted { .. } | Event::TurnPassed { .. }
                );
                return unless(begins, "the laws change here and no player turn follows");
            }
            After::Turn { passes, .. } => {
                let goes_on = match event {
                    Event::TurnClosed { .. } | Event::Disordered { .. } => true,
                    _ => !passes && is_fought(event),
                };
                return unless(
                    goes_on,
                    format!("a {kind} before the player turn is closed"),
                );
            }
            After::EndDue { .. } => {
                let ends = matches!(event, Event::GameEnded { .. });
                return unless(ends, "the game's end does not follow");
            }
            After::PauseDue => {
                let pauses = matches!(event, Event::Paused { .. });
                return unless(pauses, "both sides asked for a pause and none follows");
            }
            After::Ruled { due, .. } => due,
            _ => &Due::Nothing,
        };
        let is_due = matches!(
            (due, event),
            (Due::Nothing | Due::Unknown, _)
                | (Due::Correct(_), Event::PositionCorrected { .. })
                | (Due::MoreTime(_), Event::DeadlineMoved { .. })
                | (
                    Due::Pass,
                    Event::LawsChanged { .. } | Event::TurnPassed { .. }
                )
                | (Due::End(_), Event::GameEnded { .. })
                | (Due::Pause, Event::Paused { .. })
                | (Due::Resume, Event::Resumed { .. })
        );
        unless(is_due, "what the ruling says does not follow it")?;
        unless(
            !is_fought(event) && !matches!(event, Event::TurnClosed { .. }),
            format!("a {kind} outside any player turn"),
        )
    }

    /// Whether what it tells can be.
    fn is_possible(&self, event: &Event) -> Caused {
        match event {
            Event::Opened { .. } => Err(CauseFault::new("the game was opened already")),
            Event::SeatTaken {
                side, seat, key, ..
            } => {
                self.is_side(side)?;
                self.takes_seat(seat.as_deref(), key.as_deref())
            }
            Event::UmpireSeated { seat, key, .. } => self.takes_seat(Some(seat), key.as_deref()),
            Event::UmpireAccepted { side, seat } => {
                self.is_side(side)?;
                let is_own = self.record_state.seats.get(seat);
                let is_own = is_own.is_some_and(|seat| seat.side.as_ref() == Some(side));
                unless(!is_own, "a side agrees to a ruling player of its own")
            }
            Event::SeatFreed { seat } => self.is_seat(seat),
            Event::KeyAdded { seat, key } => {
                self.is_seat(seat)?;
                self.is_new_key(key)
            }
            Event::KeyRemoved { seat, key } => self.removes_key(seat, key),
            Event::KeyReplaced { seat, key, .. } => {
                self.is_seat(seat)?;
                self.is_new_key(key)
            }
            Event::KeyCountersigned { side, seat, key } => self.countersigns(side, seat, key),
            Event::SecretsRenewed {
                player_turn,
                attempt,
                secret,
                commitment,
                ..
            } => self.renews((*player_turn, *attempt), secret, commitment),
            Event::InstructionsChanged { side, seal } => {
                self.is_side(side)?;
                is_hash(seal, "seal")
            }
            Event::InstructionsCleared { side, .. } => self.is_side(side),
            Event::LawsChanged { laws } => self.changes_laws(*laws),
            Event::SheetAccepted { sheet, .. } => {
                unless(
                    sheet.side == self.game.player_side()
                        && sheet.game_turn == self.game.game_turn(),
                    "a sheet for another player turn than the one to come",
                )?;
                self.has_second_form()
            }
            Event::TurnPassed { side, .. } => self.passes(side),
            Event::TurnClosed {
                dice, commitment, ..
            } => self.closes(dice, commitment),
            Event::GameEnded { ending, .. } => self.ends(ending.winner.as_ref()),
            Event::DisputeRaised { side, about, .. } => {
                self.is_side(side)?;
                self.is_told(*about)
            }
            Event::RulingGiven { about, .. } => self.is_told(*about),
            Event::Conceded { side } => self.is_side(side),
            Event::PositionCorrected { unit, to, reason } => {
                self.is_ruled("a unit is set elsewhere", reason)?;
                if let After::Ruled {
                    due: Due::Correct(places),
                    ..
                } = &self.record_state.after
                {
                    let is_there = places.front() == Some(&(unit.clone(), *to));
                    unless(is_there, "a unit is set elsewhere than the ruling says")?;
                }
                referee::may_stand(self.game, unit, *to)
                    .map_err(|why| CauseFault::new(format!("a unit is set elsewhere: {why}")))
            }
            other if is_fought(other) => self.is_fought_by_units_there(other),
            other => self.is_possible_by_the_clock(other),
        }
    }

    pub(super) fn is_side(&self, side: &SideId) -> Caused {
        unless(
            self.game.side_index(side).is_some(),
            format!("{side} is no side of this battle"),
        )
    }

    fn is_seat(&self, seat: &str) -> Caused {
        let is_held = self.record_state.seats.contains_key(seat);
        unless(is_held, "nobody has taken that seat")
    }

    fn takes_seat(&self, seat: Option<&str>, key: Option<&str>) -> Caused {
        let Some(seat) = seat else {
            return unless(
                !self.record_state.is_signed,
                "a seat without a name in a game that is signed",
            );
        };
        // a seat that signs must be freed first, so that nobody's key is put aside in silence
        let has_keys = !self.record_state.keys(seat, self.at).is_empty();
        let is_taken = self.record_state.seats.contains_key(seat);
        unless(
            !is_taken || !self.record_state.is_signed && !has_keys,
            "the seat is taken already",
        )?;
        match key {
            Some(key) => self.is_new_key(key),
            None => unless(
                !self.record_state.is_signed,
                "a seat is taken without a key",
            ),
        }
    }

    /// Whether a key can sign, and no seat has it.
    fn is_new_key(&self, key: &str) -> Caused {
        is_hash(key, "key")?;
        let bytes: Bytes32 = bytes_of(key).unwrap_or_default();
        check_key(&bytes).map_err(|why| CauseFault::new(why.to_string()))?;
        let mut seats = self.record_state.seats.keys();
        let is_known = seats.any(|seat| self.record_state.keys(seat, self.at).contains(&key));
        unless(!is_known, "a seat has that key already")
    }

    fn removes_key(&self, seat: &str, key: &str) -> Caused {
        let keys = self.record_state.keys(seat, self.at);
        unless(keys.contains(&key), "the seat has no such key")?;
        unless(
            keys.len() > 1 || !self.record_state.is_signed,
            "the last key of a seat is removed",
        )
    }

    fn countersigns(&self, side: &SideId, seat: &str, key: &str) -> Caused {
        let found = self.record_state.seats.get(seat);
        let replaced = found.and_then(|seat| seat.replaced.as_ref());
        unless(
            replaced.is_some_and(|replaced| replaced.key == key),
            "no such key was to be replaced",
        )?;
        self.is_side(side)?;
        let own = found.and_then(|seat| seat.side.as_ref());
        unless(own != Some(side), "a side countersigns for itself")
    }

    /// Whether an event that is spoken of stands in the record.
    fn is_told(&self, about: Option<u64>) -> Caused {
        let known = 1..=self.record_state.number;
        unless(
            about.is_none_or(|number| known.contains(&number)),
            "it is about an event that has not happened",
        )
    }

    /// Records of this format, and older games that go on, are thrown for in the second form.
    pub(super) fn has_second_form(&self) -> Caused {
        unless(
            self.record_state.attempt.is_some() || self.record_state.format == 1,
            "its throws are of the first form",
        )
    }

    fn changes_laws(&self, laws: u32) -> Caused {
        let now = self.game.laws();
        unless(
            laws > now && laws <= LAWS,
            format!(
                "it goes on under laws {laws} after laws {now}, and this program knows laws 1 to {LAWS}"
            ),
        )
    }

    fn renews(&self, (turn, attempt): (u64, u32), secret: &str, commitment: &str) -> Caused {
        self.record_state.was_committed(self.game, secret)?;
        is_hash(commitment, "commitment")?;
        let next = self.record_state.attempt.unwrap_or(FIRST_ATTEMPT) + 1;
        unless(
            turn == self.game.player_turn() && attempt == next,
            "secrets are renewed for another player turn or attempt than the one to come",
        )
    }

    fn closes(&self, dice: &DiceProof, commitment: &str) -> Caused {
        is_hash(&dice.number, "player's number")?;
        is_hash(commitment, "next commitment")?;
        unless(
            dice.player_turn == self.game.player_turn()
                && dice.attempt == self.record_state.attempt,
            "the dice are of another player turn or attempt",
        )?;
        match &self.record_state.after {
            After::Turn {
                number: Some(number),
                ..
            } => unless(
                *number == dice.number,
                "the number thrown with is not the one that was posted",
            )?,
            After::Turn { passes: true, .. } if self.record_state.format > 1 => unless(
                dice.number == hex::encode([0; 32]),
                "a turn that passes has a number that nobody posted",
            )?,
            _ => {}
        }
        self.record_state.was_committed(self.game, &dice.secret)
    }

    fn ends(&self, winner: Option<&SideId>) -> Caused {
        let is_called_for = match &self.record_state.after {
            After::Closed => true,
            After::EndDue { winner: due } => due.as_ref() == winner,
            After::Ruled { due, .. } => match due {
                Due::End(due) => due.as_ref() == winner,
                due => *due == Due::Unknown,
            },
            _ => false,
        };
        let told = "the game ends here though nothing before it ends it so";
        unless(is_called_for, told)?;
        winner.map_or(Ok(()), |winner| self.is_side(winner))
    }

    /// Whether the units that a turn's event names are there to do it.
    fn is_fought_by_units_there(&self, event: &Event) -> Caused {
        let stand = |units: &[UnitId]| units.iter().try_for_each(|unit| self.stands(unit));
        match event {
            Event::Arrived { unit, .. } => {
                let unit = self.game.unit(unit);
                let waits = unit.is_some_and(|unit| matches!(unit.state, State::Waiting(_)));
                unless(waits, "a unit arrives that does not wait to")
            }
            Event::Left { unit, .. }
            | Event::Withdrew { unit, .. }
            | Event::Lost { unit, .. }
            | Event::FollowedUp { unit, .. }
            | Event::Disordered { unit, .. }
            | Event::Removed { unit, .. } => self.stands(unit),
            Event::FellBack { unit, pushed, .. } => {
                self.stands(unit)?;
                pushed.iter().try_for_each(|push| self.stands(&push.unit))
            }
            Event::BattleFought { report } => {
                stand(&report.attackers)?;
                stand(&report.defenders)?;
                stand(&report.guns)
            }
            Event::CommandersAttacked {
                attackers,
                guns,
                commanders,
                ..
            } => {
                stand(attackers)?;
                stand(guns)?;
                stand(commanders)
            }
            _ => Ok(()),
        }
    }

    fn stands(&self, unit: &UnitId) -> Caused {
        let found = self.game.unit(unit);
        unless(
            found.is_some_and(crate::game::Unit::is_on_table),
            format!("{unit} is not on the table"),
        )
    }
}

/// Whether it happens within a player turn, between its sheet and its close.
fn is_fought(event: &Event) -> bool {
    matches!(
        event,
        Event::Arrived { .. }
            | Event::Left { .. }
            | Event::Withdrew { .. }
            | Event::BattleFought { .. }
            | Event::CommandersAttacked { .. }
            | Event::GunsSilent { .. }
            | Event::BattleLapsed { .. }
            | Event::Lost { .. }
            | Event::FellBack { .. }
            | Event::Removed { .. }
            | Event::FollowedUp { .. }
            | Event::Disordered { .. }
    )
}

/// Whether a text is 32 bytes in lower-case hex.
fn is_hash(text: &str, what: &str) -> Caused {
    let bytes: Option<Bytes32> = bytes_of(text);
    unless(
        bytes.is_some_and(|bytes| hex::encode(bytes) == text),
        format!("the {what} is not 32 bytes in hex"),
    )
}

fn bytes_of<const N: usize>(text: &str) -> Option<[u8; N]> {
    hex::decode(text).ok()?.try_into().ok()
}
