//! The clock of a game played by post.

use clap::{Args, Subcommand, ValueEnum};
use fieldpost_rules::game::{ClockRules, WhenOut};

/// How a clock runs.
#[derive(Debug, Clone, Args)]
pub struct ClockFlags {
    /// Play by the clock: days that each player turn adds to what its side has saved.
    #[arg(long, value_name = "DAYS")]
    pub days: Option<u16>,
    /// Days that each side has saved at the start.
    #[arg(long, value_name = "DAYS", requires = "days", default_value_t = 0)]
    pub days_at_start: u16,
    /// The most days that can be saved.
    #[arg(long, value_name = "DAYS", requires = "days")]
    pub most_saved: Option<u16>,
    /// After so many days over one turn each further day counts as two.
    #[arg(long, value_name = "DAYS", requires = "days")]
    pub double_after: Option<u16>,
    /// Days of leave that each side may take in a calendar year.
    #[arg(long, value_name = "DAYS", requires = "days", default_value_t = 0)]
    pub leave_days: u16,
    /// Remind when so many days are left.
    #[arg(long, value_name = "DAYS", requires = "days", value_delimiter = ',')]
    pub remind: Vec<u16>,
    /// What happens when time is out.
    #[arg(long, value_enum, requires = "days", default_value_t = WhenTimeIsOut::Claim)]
    pub when_out: WhenTimeIsOut,
}

/// What happens when time is out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum WhenTimeIsOut {
    /// The other side may claim the battle.
    Claim,
    /// The turn passes with units standing.
    Pass,
    /// The umpire decides.
    Umpire,
}

impl ClockFlags {
    /// The rules that are meant, if any are.
    #[must_use]
    pub fn rules(&self) -> Option<ClockRules> {
        Some(ClockRules {
            days_per_turn: self.days?,
            days_at_start: self.days_at_start,
            most_saved: self.most_saved,
            double_after: self.double_after,
            leave_days: self.leave_days,
            remind_days: self.remind.clone(),
            when_out: match self.when_out {
                WhenTimeIsOut::Claim => WhenOut::Claim,
                WhenTimeIsOut::Pass => WhenOut::Pass,
                WhenTimeIsOut::Umpire => WhenOut::Umpire,
            },
        })
    }
}

/// `clock`.
#[derive(Debug, Args)]
#[command(
    args_conflicts_with_subcommands = true,
    after_help = "Examples:\n  fieldpost clock\n  fieldpost clock zone Europe/Lisbon\n  fieldpost clock leave 2026-07-31 7\n  \
fieldpost clock pause\n  fieldpost clock resume\n  fieldpost clock claim\n  fieldpost clock set --days 3 --leave-days 14 --remind 2,1"
)]
pub struct ClockArgs {
    /// What is to be done; else the clock is shown.
    #[command(subcommand)]
    pub command: Option<ClockCommand>,
}

/// What can be done about a clock.
#[derive(Debug, Subcommand)]
pub enum ClockCommand {
    /// Let your days count in a time zone.
    Zone {
        /// Its name, as in Europe/Lisbon [else this machine's].
        zone: Option<String>,
    },
    /// Take leave: your clock stands on those days.
    Leave {
        /// The first day, as in 2026-07-31.
        from: String,
        /// How many days.
        days: u16,
    },
    /// Ask for a pause; when the other side has asked too, the clocks stand.
    Pause,
    /// Let the clocks run again.
    Resume,
    /// Claim the battle because the other side's time is out.
    Claim,
    /// Set the clock of the game, or another way for it to run (umpire).
    Set(ClockFlags),
}
