//! A rate limiter: so many a minute for each of many callers, all at once or spread out.
//!
//! It is the generic cell rate algorithm of ITU-T I.371 (a leaky bucket), kept as one moment for each caller.

use std::collections::HashMap;
use std::hash::Hash;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

/// The span that limits are given for.
const SPAN: Duration = Duration::from_secs(60);
/// Callers remembered: about 10 MB.
const CAPACITY: usize = 100_000;

/// A limit for each of many callers.
pub(crate) struct RateLimiter<K> {
    /// What one request takes of the span; absent: no limit.
    takes: Option<Duration>,
    /// When each bucket will have leaked out.
    empty_at: Mutex<HashMap<K, Instant>>,
}

impl<K: Hash + Eq> RateLimiter<K> {
    /// So many a minute; 0: without limit.
    pub(crate) fn new(a_minute: u32) -> Self {
        Self {
            takes: (a_minute > 0).then(|| SPAN / a_minute),
            empty_at: Mutex::default(),
        }
    }

    /// Counts one more.
    ///
    /// # Errors
    /// How long to wait, when it is one too many; it is not counted then.
    pub(crate) fn take(&self, caller: K, now: Instant) -> Result<(), Duration> {
        let Some(takes) = self.takes else {
            return Ok(());
        };
        let mut empty_at = self.lock();
        if empty_at.len() >= CAPACITY {
            forget_some(&mut empty_at, now);
        }
        let stored = empty_at.entry(caller).or_insert(now);
        let filled = (*stored).max(now) + takes;
        let over = filled.duration_since(now).saturating_sub(SPAN);
        if !over.is_zero() {
            return Err(over);
        }
        *stored = filled;
        Ok(())
    }

    /// Whether one more would be taken, without counting it.
    ///
    /// # Errors
    /// How long to wait.
    pub(crate) fn look(&self, caller: &K, now: Instant) -> Result<(), Duration> {
        let Some(takes) = self.takes else {
            return Ok(());
        };
        let filled = self.lock().get(caller).map_or(now, |stored| *stored) + takes;
        match filled.duration_since(now).saturating_sub(SPAN) {
            Duration::ZERO => Ok(()),
            over => Err(over),
        }
    }

    fn lock(&self) -> MutexGuard<'_, HashMap<K, Instant>> {
        self.empty_at.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Forgets whose bucket is empty; were that too few, all: to fill the map again takes more requests
/// than any limit that is forgotten with it.
fn forget_some<K: Hash + Eq>(empty_at: &mut HashMap<K, Instant>, now: Instant) {
    empty_at.retain(|_, empty_at| *empty_at > now);
    if empty_at.len() > CAPACITY / 2 {
        empty_at.clear();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SECOND: Duration = Duration::from_secs(1);

    #[test]
    fn so_many_a_minute_at_once_or_spread_and_then_a_wait() {
        let limiter = RateLimiter::new(3);
        let start = Instant::now();
        for _ in 0..3 {
            limiter.take("a", start).expect("within the limit");
        }
        assert_eq!(limiter.look(&"a", start), Err(20 * SECOND));
        assert_eq!(limiter.take("a", start), Err(20 * SECOND));
        assert_eq!(
            limiter.take("b", start),
            Ok(()),
            "each caller has their own"
        );
        assert_eq!(limiter.take("a", start + 19 * SECOND), Err(SECOND));
        assert_eq!(limiter.take("a", start + 20 * SECOND), Ok(()));
        assert_eq!(limiter.take("a", start + 20 * SECOND), Err(20 * SECOND));
        for second in 0..600 {
            let at = start + 200 * SECOND + second * 20 * SECOND;
            assert_eq!(limiter.take("a", at), Ok(()));
        }
    }

    #[test]
    fn nought_is_no_limit() {
        let limiter = RateLimiter::new(0);
        let now = Instant::now();
        for _ in 0..10_000 {
            limiter.take("a", now).expect("no limit");
        }
        assert!(limiter.lock().is_empty());
    }

    #[test]
    fn what_is_remembered_is_bounded_and_the_busy_are_remembered() {
        let limiter = RateLimiter::new(1);
        let start = Instant::now();
        for caller in 0..CAPACITY {
            limiter.take(caller, start).expect("the first");
        }
        let later = start + SPAN + SECOND;
        limiter
            .take(CAPACITY + 1, later)
            .expect("there is room again");
        assert!(limiter.lock().len() < CAPACITY);
        assert!(limiter.take(CAPACITY + 1, later).is_err());
    }
}
