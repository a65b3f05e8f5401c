//! The clock of a game played by post: a fold of its record, like the table.
//!
//! Each player turn adds days to what its side has saved; days used are whole days of the player's
//! own calendar since the turn came to them, less leave and pauses. The record says everything that is needed: its
//! entries carry their moments, and the events of the clock what was agreed. Nothing here asks what time it is.

mod days;

use std::collections::{BTreeMap, BTreeSet};

use crate::game::{ClockRules, Event};
use jiff::civil::Date;
use jiff::tz::{TimeZone, TimeZoneDatabase};
use jiff::{Span, Timestamp};
use thiserror::Error;

use days::{Stretch, civil_seconds, due_after, elapsed, moment_of};

/// Seconds of a day on the calendar; a day that the clocks change counts as one too.
const DAY: i64 = 86_400;

/// A time zone by its name in the IANA database, as it comes with this program: the same wherever it runs.
#[must_use]
pub fn time_zone(name: &str) -> Option<TimeZone> {
    TimeZoneDatabase::bundled().get(name).ok()
}

/// A zone's name as the database writes it.
#[must_use]
pub fn zone_name(name: &str) -> Option<String> {
    let zone = time_zone(name.trim())?;
    zone.iana_name().map(str::to_owned)
}

/// A side's leave: days on the calendar that it had when it took them. They stay where they are when its calendar
/// changes, as a pause does: else leave could be stretched by going west before it ends.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Leave {
    from: Date,
    days: u16,
    zone: TimeZone,
}

impl Leave {
    /// Its moments on another calendar, its own included.
    fn on(&self, zone: &TimeZone) -> Stretch {
        let (from, to) = (
            days::midnight(self.from),
            days::midnight(self.from) + i64::from(self.days) * DAY,
        );
        if *zone == self.zone {
            return Stretch { from, to };
        }
        let shown =
            |civil| moment_of(civil, &self.zone).map_or(civil, |at| civil_seconds(at, zone));
        Stretch {
            from: shown(from),
            to: shown(to),
        }
    }
}

/// What a side has of its own.
#[derive(Debug, Clone)]
struct Side {
    zone: TimeZone,
    leave: Vec<Leave>,
    /// Days saved from turns before.
    saved: i64,
    is_seated: bool,
    asks_pause: bool,
}

/// The turn that is being thought about.
#[derive(Debug, Clone, Copy)]
struct Turn {
    since: Timestamp,
    /// Days that the umpire gave on top.
    more: i64,
}

/// The clock of a game; one that was never set never runs out.
#[derive(Debug, Clone)]
pub struct Clock {
    rules: Option<ClockRules>,
    sides: BTreeMap<String, Side>,
    to_move: String,
    /// Absent until each side has a player, and after the end.
    turn: Option<Turn>,
    /// Pauses, each until it ended.
    pauses: Vec<(Timestamp, Option<Timestamp>)>,
}

/// Why leave cannot be taken.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum LeaveError {
    /// No days, or more than a year's.
    #[error("Leave is 1 to 366 days.")]
    NotDays,
    /// It begins before today.
    #[error("Leave is taken before it begins; today is {0} where you are.")]
    Past(Date),
    /// It begins more than a year from now.
    #[error("Leave begins within a year from now.")]
    TooFar,
    /// It meets leave taken already.
    #[error("You have leave on {0} already.")]
    Overlaps(Date),
    /// The year has not so many days of leave left.
    #[error("In {year} you have {left} days of leave left.")]
    TooMany {
        /// The calendar year.
        year: i16,
        /// Days of leave left in it.
        left: i64,
    },
}

impl Clock {
    /// The clock of a game of these sides that has just been opened, with the side that moves first.
    #[must_use]
    pub fn new(sides: &[String], to_move: &str) -> Self {
        let side = Side {
            zone: TimeZone::UTC,
            leave: Vec::new(),
            saved: 0,
            is_seated: false,
            asks_pause: false,
        };
        Self {
            sides: sides
                .iter()
                .map(|key| (key.clone(), side.clone()))
                .collect(),
            to_move: to_move.to_owned(),
            turn: None,
            pauses: Vec::new(),
            rules: None,
        }
    }

    /// How it runs; absent when the game is played without.
    #[must_use]
    pub fn rules(&self) -> Option<&ClockRules> {
        self.rules.as_ref()
    }

    /// The first setting begins the turn that runs anew; a later one keeps it, and what was saved.
    fn set(&mut self, rules: &ClockRules, at: Timestamp) {
        if self.rules.is_none() {
            for side in self.sides.values_mut() {
                side.saved = i64::from(rules.days_at_start);
            }
            self.turn = self.turn.map(|_| Turn { since: at, more: 0 });
        }
        self.rules = Some(rules.clone());
    }

    /// Applies an event of the game's record, appended at that moment; `to_move` is the side to move after it,
    /// absent once the game has ended.
    pub fn apply(&mut self, event: &Event, at: Timestamp, to_move: Option<&str>) {
        match event {
            Event::ClockSet { clock } => self.set(clock, at),
            Event::SeatTaken { side, .. } => {
                self.with(&side.0, |side| side.is_seated = true);
                if self.turn.is_none() && self.sides.values().all(|side| side.is_seated) {
                    self.turn = Some(Turn { since: at, more: 0 });
                }
            }
            Event::ZoneSet { side, zone } => {
                if let Some(zone) = time_zone(zone) {
                    self.with(&side.0, |side| side.zone = zone.clone());
                }
            }
            Event::LeaveTaken { side, from, days } => {
                if let Ok(from) = from.parse() {
                    self.with(&side.0, |side| {
                        let (days, zone) = (*days, side.zone.clone());
                        side.leave.push(Leave { from, days, zone });
                    });
                }
            }
            Event::PauseAsked { side } => self.with(&side.0, |side| side.asks_pause = true),
            Event::Paused { .. } if !self.is_paused() => self.pauses.push((at, None)),
            Event::Resumed { .. } => {
                if let Some((_, end @ None)) = self.pauses.last_mut() {
                    *end = Some(at);
                }
                for side in self.sides.values_mut() {
                    side.asks_pause = false;
                }
            }
            Event::DeadlineMoved { days, .. } => {
                if let Some(turn) = &mut self.turn {
                    turn.more += i64::from(*days);
                }
            }
            Event::TurnClosed { .. } => self.close_turn(at, to_move),
            Event::GameEnded { .. } => self.turn = None,
            _ => {}
        }
    }

    /// The side whose clock runs, or would if it did not stand.
    #[must_use]
    pub fn to_move(&self) -> Option<&str> {
        self.turn.map(|_| self.to_move.as_str())
    }

    /// When the side to move is out of time; absent while nobody's clock runs or every clock stands.
    #[must_use]
    pub fn due(&self) -> Option<Timestamp> {
        self.when_left(0)
    }

    /// When so many days will be left to the side to move.
    #[must_use]
    pub fn when_left(&self, days: u16) -> Option<Timestamp> {
        let turn = self.turn?;
        if self.is_paused() {
            return None;
        }
        let side = self.sides.get(&self.to_move)?;
        let limit = self.limit(self.budget()?) - i64::from(days) * DAY;
        if limit < 0 {
            return None;
        }
        let start = civil_seconds(turn.since, &side.zone);
        let due = due_after(start, limit, &self.stopped(side));
        moment_of(due, &side.zone)
    }

    /// Whether the side to move is out of time.
    #[must_use]
    pub fn is_out(&self, now: Timestamp) -> bool {
        self.due().is_some_and(|due| due <= now)
    }

    /// Whole days left to the side to move; 0 on its last day and when its time is out.
    #[must_use]
    pub fn days_left(&self, now: Timestamp) -> Option<i64> {
        let side = self.sides.get(&self.to_move)?;
        let used = self.used(side, self.turn?, now);
        let left = (self.limit(self.budget()?) - used).div_euclid(DAY);
        Some(left.max(0))
    }

    /// Days a side has saved from turns before.
    #[must_use]
    pub fn saved(&self, side: &str) -> Option<i64> {
        self.sides.get(side).map(|side| side.saved)
    }

    /// Name of the time zone that a side's days count in.
    #[must_use]
    pub fn zone(&self, side: &str) -> Option<&str> {
        let zone = &self.sides.get(side)?.zone;
        Some(zone.iana_name().unwrap_or("UTC"))
    }

    /// Leave of a side: each first day with how many days, and the name of the time zone that they count in.
    pub fn leave(&self, side: &str) -> impl Iterator<Item = (Date, u16, &str)> + '_ {
        let leave = self.sides.get(side).map(|side| side.leave.iter());
        leave.into_iter().flatten().map(|leave| {
            let zone = leave.zone.iana_name().unwrap_or("UTC");
            (leave.from, leave.days, zone)
        })
    }

    /// Days of leave that a side has left in a calendar year.
    #[must_use]
    pub fn leave_left(&self, side: &str, year: i16) -> i64 {
        let taken = self
            .leave(side)
            .flat_map(|(from, days, _)| dates(from, days))
            .filter(|date| date.year() == year)
            .count();
        let taken = i64::try_from(taken).unwrap_or(i64::MAX);
        let granted = self.rules.as_ref().map_or(0, |rules| rules.leave_days);
        (i64::from(granted) - taken).max(0)
    }

    /// Today, on the calendar of a side.
    #[must_use]
    pub fn today(&self, side: &str, now: Timestamp) -> Option<Date> {
        let zone = self.sides.get(side)?.zone.clone();
        Some(now.to_zoned_datetime(zone).date())
    }

    /// Whether a side may take that leave.
    ///
    /// # Errors
    /// Why not.
    pub fn may_take(
        &self,
        side: &str,
        from: Date,
        days: u16,
        now: Timestamp,
    ) -> Result<(), LeaveError> {
        if !(1..=366).contains(&days) {
            return Err(LeaveError::NotDays);
        }
        let today = self.today(side, now).unwrap_or(from);
        if from < today {
            return Err(LeaveError::Past(today));
        }
        if today
            .checked_add(Span::new().days(366))
            .is_ok_and(|last| from > last)
        {
            return Err(LeaveError::TooFar);
        }
        let wanted: Vec<Date> = dates(from, days).collect();
        let taken: BTreeSet<Date> = self
            .leave(side)
            .flat_map(|(from, days, _)| dates(from, days))
            .collect();
        if let Some(both) = wanted.iter().find(|date| taken.contains(date)) {
            return Err(LeaveError::Overlaps(*both));
        }
        for year in wanted
            .iter()
            .map(|date| date.year())
            .collect::<BTreeSet<_>>()
        {
            let of_year = wanted.iter().filter(|date| date.year() == year).count();
            let left = self.leave_left(side, year);
            if i64::try_from(of_year).unwrap_or(i64::MAX) > left {
                return Err(LeaveError::TooMany { year, left });
            }
        }
        Ok(())
    }

    /// Whether every clock stands.
    #[must_use]
    pub fn is_paused(&self) -> bool {
        matches!(self.pauses.last(), Some((_, None)))
    }

    /// Whether a side asks for a pause.
    #[must_use]
    pub fn asks_pause(&self, side: &str) -> bool {
        self.sides.get(side).is_some_and(|side| side.asks_pause)
    }

    /// Whether both sides have asked for a pause that has not begun.
    #[must_use]
    pub fn is_pause_agreed(&self) -> bool {
        !self.is_paused() && self.sides.values().all(|side| side.asks_pause)
    }

    /// When somebody must be notified or something be done next: the next reminder after `now`, or the moment the
    /// time is out, even if that has passed.
    #[must_use]
    pub fn wake_at(&self, now: Timestamp) -> Option<Timestamp> {
        let due = self.due()?;
        let reminders = self.rules.iter().flat_map(|rules| &rules.remind_days);
        reminders
            .filter_map(|days| self.when_left(*days))
            .filter(|at| *at > now && *at < due)
            .min()
            .or(Some(due))
    }

    fn with(&mut self, side: &str, change: impl FnOnce(&mut Side)) {
        if let Some(side) = self.sides.get_mut(side) {
            change(side);
        }
    }

    /// Days that the side to move has for its turn.
    fn budget(&self) -> Option<i64> {
        let side = self.sides.get(&self.to_move)?;
        let per_turn = self.rules.as_ref()?.days_per_turn;
        Some(side.saved + i64::from(per_turn) + self.turn?.more)
    }

    fn double_after(&self) -> Option<i64> {
        self.rules.as_ref()?.double_after.map(i64::from)
    }

    /// Seconds on the calendar after which so many days are used up, some of them counted twice.
    fn limit(&self, budget: i64) -> i64 {
        match self.double_after() {
            Some(after) if budget > after => after * DAY + (budget - after) * DAY / 2,
            _ => budget * DAY,
        }
    }

    /// Whole days as they are charged, those after long thought twice.
    fn charged(&self, days: i64) -> i64 {
        match self.double_after() {
            Some(after) if days > after => after + 2 * (days - after),
            _ => days,
        }
    }

    fn close_turn(&mut self, at: Timestamp, to_move: Option<&str>) {
        if let Some(saved) = self.saved_by(at) {
            let mover = self.to_move.clone();
            self.with(&mover, |side| side.saved = saved);
        }
        if self.turn.is_some() {
            self.turn = to_move.map(|_| Turn { since: at, more: 0 });
        }
        if let Some(side) = to_move {
            self.to_move = side.to_owned();
        }
    }

    /// What the side to move has saved if its turn ends then.
    fn saved_by(&self, at: Timestamp) -> Option<i64> {
        let side = self.sides.get(&self.to_move)?;
        let days = self.used(side, self.turn?, at).div_euclid(DAY);
        let most = self.rules.as_ref()?.most_saved;
        let most = most.map_or(i64::MAX, i64::from);
        Some((self.budget()? - self.charged(days)).clamp(0, most))
    }

    /// Seconds on a side's calendar that it has thought.
    fn used(&self, side: &Side, turn: Turn, now: Timestamp) -> i64 {
        let start = civil_seconds(turn.since, &side.zone);
        let end = civil_seconds(now, &side.zone);
        elapsed(start, end, &self.stopped(side))
    }

    /// Stretches of a side's calendar on which its clock stands, in order, none touching another.
    fn stopped(&self, side: &Side) -> Vec<Stretch> {
        let leave = side.leave.iter().map(|leave| leave.on(&side.zone));
        let pauses = self.pauses.iter().map(|(from, to)| Stretch {
            from: civil_seconds(*from, &side.zone),
            to: to.map_or(i64::MAX, |to| civil_seconds(to, &side.zone)),
        });
        days::merged(leave.chain(pauses).collect())
    }
}

/// The days of a leave.
fn dates(from: Date, days: u16) -> impl Iterator<Item = Date> {
    from.series(Span::new().days(1)).take(usize::from(days))
}

#[cfg(test)]
mod tests;
