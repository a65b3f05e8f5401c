//! Seeing to clocks that wake: reminders, and what happens when time is out.

use fieldpost_rules::game::WhenOut;
use jiff::Timestamp;
use tracing::warn;

use crate::store::{GameId, Kind, Recipients, StoreError, Waking};

use super::act::Act;
use super::{FoldedGame, Service, ServiceError, ServiceResult};

/// Clocks seen to at a time.
const PAGE: u32 = 100;

impl Service {
    /// Sees to every clock that wakes by now; how many. Of several servers on one database each clock
    /// is seen to by one: the others find that it was.
    ///
    /// # Errors
    /// When none of some could be seen to.
    pub async fn sweep(&self, now: Timestamp) -> ServiceResult<usize> {
        let mut seen_to = 0;
        loop {
            let waking = self.store.waking(now.as_second(), PAGE).await?;
            let before = seen_to;
            let mut failed = None;
            for clock in &waking {
                match self.wake(clock, now).await {
                    Ok(()) => seen_to += 1,
                    Err(ServiceError::Store(StoreError::Overtaken)) => {}
                    // One game that cannot be read must not stop the clocks of all others.
                    Err(failure) => {
                        warn!(game = %clock.game, ?failure, "a clock could not be seen to");
                        failed = Some(failure);
                    }
                }
            }
            match failed {
                Some(failure) if seen_to == before => return Err(failure),
                _ if waking.len() < PAGE as usize || seen_to == before => return Ok(seen_to),
                _ => {}
            }
        }
    }

    async fn wake(&self, waking: &Waking, now: Timestamp) -> ServiceResult<()> {
        let folded = self.cache.folded(waking.game).await?;
        let clock = &folded.clock;
        let when_out = clock.rules().map(|rules| rules.when_out);
        if clock.is_out(now) && when_out == Some(WhenOut::Pass) {
            return self.pass_late(waking, now).await;
        }
        self.tell_of_time(waking.game, &folded, now).await?;
        let next = clock.wake_at(now).filter(|at| *at > now);
        let next = next.map(Timestamp::as_second);
        Ok(self.store.wake_next(waking, next).await?)
    }

    /// Reminds the side to move, or tells the players that its time is out, and the umpire if that is for them to
    /// decide. Swept twice, it is queued once.
    async fn tell_of_time(
        &self,
        game: GameId,
        folded: &FoldedGame,
        now: Timestamp,
    ) -> ServiceResult<()> {
        let clock = &folded.clock;
        let Some(rules) = clock.rules().filter(|_| folded.game.ending().is_none()) else {
            return Ok(());
        };
        let side = folded.game.player_side().0;
        let (to, kind, words) = if clock.is_out(now) {
            let (to, words) = match rules.when_out {
                WhenOut::Claim => (
                    Recipients::Players,
                    "The other side may claim the battle, until the late turn is posted after all.",
                ),
                WhenOut::Umpire => (
                    Recipients::All,
                    "What happens now is for the umpire to say.",
                ),
                WhenOut::Pass => return Ok(()),
            };
            (to, Kind::TimeOut, words)
        } else {
            let has_come = |days: &&u16| clock.when_left(**days).is_some_and(|at| at <= now);
            let Some(days) = rules.remind_days.iter().filter(has_come).min() else {
                return Ok(());
            };
            (Recipients::Side(side), Kind::Reminder(*days), "")
        };
        let began = self.turn_began(game).await?;
        self.queue_notice(game, to, kind, (began, words)).await
    }

    /// Passes the turn of a side whose time is out, unless it has posted meanwhile.
    async fn pass_late(&self, waking: &Waking, now: Timestamp) -> ServiceResult<()> {
        let act = Act::of_office();
        self.append_decided_at(waking.game, &act, now, |situation| {
            let is_late = situation.folded.clock.is_out(now);
            if situation.folded.game.ending().is_some() || !is_late {
                return Ok((Vec::new(), Vec::new()));
            }
            situation.pass("time is out")
        })
        .await?;
        Ok(())
    }
}
