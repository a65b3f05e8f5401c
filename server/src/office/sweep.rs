//! Seeing to clocks that wake: reminders, and what happens when time is out.

use fieldpost_rules::game::WhenOut;
use jiff::Timestamp;

use crate::store::{StoreError, Waking};

use super::{Failure, Office, Outcome};

/// Clocks seen to at a time.
const PAGE: u32 = 100;

impl Office {
    /// Sees to every clock that wakes by now; how many. Of several servers on one database each clock
    /// is seen to by one: the others find that it was.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn sweep(&self, now: Timestamp) -> Outcome<usize> {
        let mut seen_to = 0;
        loop {
            let waking = self.store.waking(now.as_second(), PAGE).await?;
            for clock in &waking {
                match self.see_to(clock, now).await {
                    Ok(()) => seen_to += 1,
                    Err(Failure::Store(StoreError::Overtaken)) => {}
                    Err(failure) => return Err(failure),
                }
            }
            if waking.len() < PAGE as usize {
                return Ok(seen_to);
            }
        }
    }

    async fn see_to(&self, waking: &Waking, now: Timestamp) -> Outcome<()> {
        let folded = self.desk.folded(waking.game).await?;
        let clock = &folded.clock;
        let when_out = clock.rules().map(|rules| rules.when_out);
        if clock.is_out(now) && when_out == Some(WhenOut::Pass) {
            return self.pass_late(waking, now).await;
        }
        let next = clock.wake_at(now).filter(|at| *at > now);
        let next = next.map(Timestamp::as_second);
        Ok(self.store.wake_next(waking, next).await?)
    }

    /// Passes the turn of a side whose time is out, unless it has posted meanwhile.
    async fn pass_late(&self, waking: &Waking, now: Timestamp) -> Outcome<()> {
        self.act(waking.game, |standing| {
            let is_late = standing.folded.clock.is_out(now);
            if standing.folded.game.ending().is_some() || !is_late {
                return Ok((Vec::new(), Vec::new()));
            }
            standing.pass("time is out")
        })
        .await?;
        Ok(())
    }
}
