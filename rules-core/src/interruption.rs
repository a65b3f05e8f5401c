//! Ending long work before it is done: whoever asked has gone, or has waited for long enough.
//!
//! The core reads no clock and knows no caller. It asks between the parts of its work, each of which is short: an order,
//! a leg, an attempt at a remedy, a battle.

use std::fmt;
use std::sync::Arc;

/// Whether to go on: asked often, so it must be cheap. Once it has said that the work shall end it must keep saying so.
#[derive(Clone, Default)]
pub struct Interruption(Option<Arc<dyn Fn() -> bool + Send + Sync>>);

impl Interruption {
    /// Never: the work goes on to its end.
    #[must_use]
    pub fn never() -> Self {
        Self(None)
    }

    /// When `ends` says so.
    #[must_use]
    pub fn when(ends: impl Fn() -> bool + Send + Sync + 'static) -> Self {
        Self(Some(Arc::new(ends)))
    }

    /// Whether the work shall end here.
    #[must_use]
    pub fn is_due(&self) -> bool {
        self.0.as_ref().is_some_and(|ends| ends())
    }
}

impl fmt::Debug for Interruption {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_tuple("Interruption")
            .field(&self.0.is_some())
            .finish()
    }
}

/// Work that was ended before it was done. It says nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Interrupted;

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicUsize, Ordering};

    use super::*;
    use crate::referee::testing::sheet;
    use crate::referee::wild::{Draws, wild_game, wild_orders};
    use crate::referee::{judge_sheet, judge_sheet_unless};

    /// Ends at the so-manieth question; how often it was asked.
    fn after(questions: usize) -> (Interruption, Arc<AtomicUsize>) {
        let asked = Arc::new(AtomicUsize::new(0));
        let count = Arc::clone(&asked);
        let ends = move || count.fetch_add(1, Ordering::Relaxed) >= questions;
        (Interruption::when(ends), asked)
    }

    #[test]
    fn a_judgment_ends_where_it_is_told_to_and_is_the_same_where_it_is_not() {
        let mut most_asked = 0;
        for seed in 0..40 {
            let mut draws = Draws::new(seed);
            let game = wild_game(&mut draws);
            let sheet = sheet(wild_orders(&mut draws, &game));
            let whole = judge_sheet(&game, &sheet);
            let (never, asked) = after(usize::MAX);
            assert_eq!(judge_sheet_unless(&game, &sheet, &never), Ok(whole));
            let asked = asked.load(Ordering::Relaxed);
            most_asked = most_asked.max(asked);
            for questions in [0, 1, asked / 2, asked.saturating_sub(1)] {
                let (soon, asked_again) = after(questions);
                let ended = judge_sheet_unless(&game, &sheet, &soon);
                assert_eq!(
                    ended,
                    Err(Interrupted),
                    "seed {seed}, {questions} of {asked}"
                );
                // it comes back at once: nothing goes on once the end was told
                let more = asked_again.load(Ordering::Relaxed) - questions;
                assert!(more <= 100, "seed {seed}: asked {more} times more");
            }
        }
        assert!(most_asked > 100, "{most_asked}");
    }
}
