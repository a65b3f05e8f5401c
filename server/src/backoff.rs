//! Backoff: when a notice that did not arrive is tried again.

use std::time::Duration;

const MINUTE: u64 = 60;
const HOUR: u64 = 60 * MINUTE;

/// Seconds before each try after the first: the example schedule of the Standard Webhooks specification 1.0.0,
/// "Deliverability and reliability"; three days and a few hours in all.
const WAITS_S: [u64; 9] = [
    5,
    5 * MINUTE,
    30 * MINUTE,
    2 * HOUR,
    5 * HOUR,
    10 * HOUR,
    14 * HOUR,
    20 * HOUR,
    24 * HOUR,
];

/// Attempts in the whole schedule.
pub const ATTEMPTS_MAX: u32 = 10;
const _: () = assert!(WAITS_S.len() + 1 == ATTEMPTS_MAX as usize);

/// The longest wait that somebody else may ask for.
const LONGEST: Duration = Duration::from_secs(24 * HOUR);

/// Milliseconds until a notice whose receiver has enough to do is looked at again; `jitter` is a number from 0 to 1.
pub(crate) fn lane_wait_ms(jitter: f64) -> i64 {
    const LEAST_MS: f64 = 1000.0;
    (LEAST_MS * (1.0 + jitter.clamp(0.0, 1.0))) as i64
}

/// How long to wait after that many tries, of at most `most`; none when it was the last. `asked` is what the other side
/// asked for, `jitter` a number from 0 to 1 that spreads those who failed together.
pub(crate) fn wait(
    tries: u32,
    most: u32,
    requested: Option<Duration>,
    jitter: f64,
) -> Option<Duration> {
    if tries >= most.min(ATTEMPTS_MAX) {
        return None;
    }
    let step = usize::try_from(tries.max(1) - 1).ok()?;
    let usual = Duration::from_secs(*WAITS_S.get(step)?);
    let wait = requested.map_or(usual, |requested| requested.min(LONGEST).max(usual));
    Some(wait.mul_f64(1.0 + jitter.clamp(0.0, 1.0) / 10.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// "Time since start" in the specification's table.
    const SINCE_START_S: [u64; 9] = [
        5, 305, 2_105, 9_305, 27_305, 63_305, 113_705, 185_705, 272_105,
    ];

    #[test]
    fn the_schedule_is_the_published_one() {
        let mut since = 0;
        for (tries, expected) in (1..).zip(SINCE_START_S) {
            since += wait(tries, ATTEMPTS_MAX, None, 0.0)
                .expect("not the last")
                .as_secs();
            assert_eq!(since, expected, "after try {tries}");
        }
        assert_eq!(wait(ATTEMPTS_MAX, ATTEMPTS_MAX, None, 0.0), None);
        assert_eq!(wait(ATTEMPTS_MAX + 1, u32::MAX, None, 0.0), None);
    }

    #[test]
    fn chance_adds_up_to_a_tenth() {
        for tries in 1..ATTEMPTS_MAX {
            let usual = wait(tries, ATTEMPTS_MAX, None, 0.0).expect("not the last");
            let late = wait(tries, ATTEMPTS_MAX, None, 1.0).expect("not the last");
            assert_eq!(late, usual.mul_f64(1.1));
        }
    }

    #[test]
    fn fewer_tries_end_earlier() {
        assert_eq!(wait(1, 1, None, 0.0), None);
        assert!(wait(1, 2, None, 0.0).is_some());
        assert_eq!(wait(2, 2, None, 0.0), None);
    }

    #[test]
    fn what_the_other_side_asks_for_is_kept_within_reason() {
        let requested =
            |s| wait(1, ATTEMPTS_MAX, Some(Duration::from_secs(s)), 0.0).map(|wait| wait.as_secs());
        assert_eq!(requested(0), Some(5), "never sooner than the schedule");
        assert_eq!(requested(600), Some(600));
        assert_eq!(requested(u64::MAX), Some(24 * HOUR));
    }
}
