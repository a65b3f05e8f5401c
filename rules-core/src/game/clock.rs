//! The clock of a game played by post, as its record holds it. What time means is the server's doing; the
//! referee only keeps what was agreed.

use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How long a side may think, in days of its player's own calendar.
///
/// Reflection time saved from one turn to the next, days that count double after long thought, and
/// leave by the year follow the practice of correspondence games (common practice, no source).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ClockRules {
    /// Days that each player turn adds to what its side has saved: 1 to 365.
    pub days_per_turn: u16,
    /// Days that each side has saved when the game begins: 0 to 365.
    #[serde(default)]
    pub days_at_start: u16,
    /// The most days that can be saved; absent: no limit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most_saved: Option<u16>,
    /// After so many days over one turn each further day counts as two; absent: never.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub double_after: Option<u16>,
    /// Days of leave that each side may take in a calendar year: 0 to 365.
    #[serde(default)]
    pub leave_days: u16,
    /// A reminder goes out when so many days are left; up to eight.
    #[serde(default)]
    pub remind_days: Vec<u16>,
    /// What happens when the time is out.
    #[serde(default)]
    pub when_out: WhenOut,
}

/// What happens when a side's time is out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum WhenOut {
    /// The other side may claim the game, until the late sheet is posted after all.
    #[default]
    Claim,
    /// The player turn passes with units standing, and the other side moves.
    Pass,
    /// The umpire decides.
    Umpire,
}

/// Why rules for a clock cannot be used: the setting, and what would work.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClockFault {
    /// Name of the setting.
    pub setting: &'static str,
    /// What it must be.
    pub must: &'static str,
}

impl fmt::Display for ClockFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} must be {}", self.setting, self.must)
    }
}

impl std::error::Error for ClockFault {}

impl ClockRules {
    /// Nothing when these rules can be used.
    ///
    /// # Errors
    /// The first setting that is out of reach.
    pub fn check(&self) -> Result<(), ClockFault> {
        let fault = |setting, must| Err(ClockFault { setting, must });
        let is_days = |days: u16| (1..=365).contains(&days);
        if !is_days(self.days_per_turn) {
            return fault("days_per_turn", "1 to 365");
        }
        if self.days_at_start > 365 {
            return fault("days_at_start", "0 to 365");
        }
        if self.most_saved.is_some_and(|days| days > 3650) {
            return fault("most_saved", "0 to 3650");
        }
        if self.double_after.is_some_and(|days| !is_days(days)) {
            return fault("double_after", "1 to 365");
        }
        if self.leave_days > 365 {
            return fault("leave_days", "0 to 365");
        }
        if self.remind_days.len() > 8 || !self.remind_days.iter().all(|days| is_days(*days)) {
            return fault(
                "remind_days",
                "at most eight numbers of days, each 1 to 365",
            );
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rules_out_of_reach_name_their_setting() {
        let good: ClockRules =
            serde_json::from_str(r#"{"days_per_turn": 5, "remind_days": [2, 1]}"#).expect("read");
        assert_eq!(good.check(), Ok(()));
        assert_eq!(good.when_out, WhenOut::Claim);
        let of = |change: fn(&mut ClockRules)| {
            let mut rules = good.clone();
            change(&mut rules);
            rules.check().expect_err("out of reach").setting
        };
        assert_eq!(of(|rules| rules.days_per_turn = 0), "days_per_turn");
        assert_eq!(of(|rules| rules.days_at_start = 366), "days_at_start");
        assert_eq!(of(|rules| rules.most_saved = Some(3651)), "most_saved");
        assert_eq!(of(|rules| rules.double_after = Some(0)), "double_after");
        assert_eq!(of(|rules| rules.leave_days = 400), "leave_days");
        assert_eq!(of(|rules| rules.remind_days = vec![1; 9]), "remind_days");
        assert_eq!(of(|rules| rules.remind_days = vec![0]), "remind_days");
    }
}
