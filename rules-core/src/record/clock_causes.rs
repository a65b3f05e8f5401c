//! What events of the clock need before they may follow: whether time was out is worked out here.

use jiff::civil::Date;

use crate::clock::time_zone;
use crate::game::{Event, WhenOut};
use crate::orders::SideId;

use super::causes::{Before, CauseFault, Caused, unless};
use super::state::{After, Due};

impl Before<'_> {
    /// What only clocks have to do with.
    pub(super) fn is_possible_by_the_clock(&self, event: &Event) -> Caused {
        let clock = self.clock;
        let has_clock = || unless(clock.rules().is_some(), "the game has no clock");
        match event {
            Event::ClockSet { clock } => clock
                .check()
                .map_err(|fault| CauseFault::new(fault.to_string())),
            Event::ZoneSet { side, zone } => {
                self.is_side(side)?;
                unless(time_zone(zone).is_some(), "there is no such time zone")
            }
            Event::LeaveTaken { side, from, days } => {
                self.is_side(side)?;
                has_clock()?;
                let from: Date = from
                    .parse()
                    .map_err(|_| CauseFault::new("leave from a day that is none"))?;
                let is_late = clock.to_move() == Some(side.0.as_str()) && clock.is_out(self.at);
                unless(!is_late, "leave when time is out already")?;
                clock
                    .may_take(&side.0, from, *days, self.at)
                    .map_err(|why| CauseFault::new(why.to_string()))
            }
            Event::PauseAsked { side } => {
                self.is_side(side)?;
                has_clock()?;
                unless(!clock.is_paused(), "the clocks stand already")
            }
            Event::Paused { .. } => {
                let is_ruled = matches!(
                    self.record_state.after,
                    After::PauseDue | After::Ruled { .. }
                );
                unless(is_ruled, "a pause that nobody called for")?;
                unless(!clock.is_paused(), "the clocks stand already")
            }
            Event::Resumed { .. } => unless(clock.is_paused(), "the clocks are running"),
            Event::DeadlineMoved { side, days, reason } => {
                self.is_ruled("more time is given", reason)?;
                has_clock()?;
                let is_theirs = clock.to_move() == Some(side.0.as_str());
                unless(is_theirs, "more time for a side whose clock does not run")?;
                let is_said = match &self.record_state.after {
                    After::Ruled {
                        due: Due::MoreTime(said),
                        ..
                    } => said == days,
                    _ => true,
                };
                unless(
                    is_said && (1..=365).contains(days),
                    "more time than a ruling gives",
                )
            }
            Event::TimeClaimed { side } => {
                self.is_side(side)?;
                unless(
                    *side != self.game.player_side(),
                    format!("{side} claims time in its own player turn"),
                )?;
                has_clock()?;
                self.is_out(WhenOut::Claim, "time is claimed")
            }
            _ => Ok(()),
        }
    }

    fn is_out(&self, when_out: WhenOut, what: &str) -> Caused {
        let rules = self.clock.rules();
        unless(
            rules.is_some_and(|rules| rules.when_out == when_out),
            format!("{what}, and the game's clock says otherwise"),
        )?;
        let due = self.clock.due();
        let until = due.map_or("no clock runs".to_owned(), |due| {
            format!("there was time until {due}")
        });
        unless(self.clock.is_out(self.at), format!("{what}, and {until}"))
    }

    pub(super) fn passes(&self, side: &SideId) -> Caused {
        unless(
            *side == self.game.player_side(),
            "a player turn passes that is not to come",
        )?;
        self.has_second_form()?;
        if self.record_state.format == 1 || self.record_state.is_ruled_to_pass() {
            return Ok(());
        }
        self.is_out(WhenOut::Pass, "a player turn passes")
    }

    /// Whether a ruling, or a correction that follows one, stands before it with these words.
    pub(super) fn is_ruled(&self, what: &str, reason: &str) -> Caused {
        match &self.record_state.after {
            After::Ruled { text, .. } => unless(
                text == reason,
                format!("{what} for another reason than the ruling's"),
            ),
            _ => Err(CauseFault::new(format!(
                "{what} without a ruling before it"
            ))),
        }
    }
}
