//! Counting on a calendar: civil time as whole seconds, in which every day has 86,400 of them.
//!
//! A turn that comes at seven in the evening has used a day at seven the next evening, whatever the
//! clocks did in the night.

use jiff::Timestamp;
use jiff::civil::{Date, DateTime};
use jiff::tz::TimeZone;

/// A stretch of civil time, its end not in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Stretch {
    pub(super) from: i64,
    pub(super) to: i64,
}

/// What a clock on the wall shows at a moment, in seconds since the first midnight of 1970.
pub(super) fn civil_seconds(at: Timestamp, zone: &TimeZone) -> i64 {
    seconds(at.to_zoned_datetime(zone.clone()).datetime())
}

/// The midnight that a date begins with.
pub(super) fn midnight(date: Date) -> i64 {
    seconds(date.at(0, 0, 0, 0))
}

fn seconds(shown: DateTime) -> i64 {
    // as if it stood in a zone without offset: only differences are used
    shown
        .to_zoned_datetime(TimeZone::UTC)
        .map_or(i64::MAX, |zoned| zoned.timestamp().as_second())
}

/// The moment at which a clock on the wall first shows that; what a change of clocks leaves out is shown at the
/// change. Absent beyond the years that can be told.
pub(super) fn moment_of(civil: i64, zone: &TimeZone) -> Option<Timestamp> {
    let shown = Timestamp::from_second(civil).ok()?;
    let shown = shown.to_zoned_datetime(TimeZone::UTC).datetime();
    let zoned = shown.to_zoned_datetime(zone.clone()).ok()?;
    Some(zoned.timestamp())
}

/// Stretches in order, those that touch made one.
pub(super) fn merged(mut stretches: Vec<Stretch>) -> Vec<Stretch> {
    stretches.sort_by_key(|stretch| (stretch.from, stretch.to));
    let mut kept: Vec<Stretch> = Vec::with_capacity(stretches.len());
    for stretch in stretches {
        match kept.last_mut() {
            Some(last) if stretch.from <= last.to => last.to = last.to.max(stretch.to),
            _ => kept.push(stretch),
        }
    }
    kept
}

/// Seconds from start to end that lie in none of the stretches.
pub(super) fn elapsed(start: i64, end: i64, stopped: &[Stretch]) -> i64 {
    let stood: i64 = stopped
        .iter()
        .map(|stretch| (stretch.to.min(end) - stretch.from.max(start)).max(0))
        .sum();
    (end - start - stood).max(0)
}

/// When so many seconds outside the stretches have gone by.
pub(super) fn due_after(start: i64, seconds: i64, stopped: &[Stretch]) -> i64 {
    let (mut at, mut left) = (start, seconds);
    for stretch in stopped.iter().filter(|stretch| stretch.to > start) {
        let runs = (stretch.from - at).max(0);
        if runs >= left {
            break;
        }
        left -= runs;
        at = at.max(stretch.to);
    }
    at.saturating_add(left)
}
