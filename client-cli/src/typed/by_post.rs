//! Commands of a game played by post: the clock, giving up, asking the umpire, ruling.

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
    #[arg(long, value_enum, requires = "days", default_value_t = Out::Claim)]
    pub when_out: Out,
}

/// What happens when time is out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Out {
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
                Out::Claim => WhenOut::Claim,
                Out::Pass => WhenOut::Pass,
                Out::Umpire => WhenOut::Umpire,
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

/// `consent`.
#[derive(Debug, Args)]
#[command(
    after_help = "An organiser, or an umpire, who plays in the game as well rules in it only once the other side has agreed.\n\n\
Examples:\n  fieldpost consent\n  fieldpost consent --seat-id 0123456789abcdef"
)]
pub struct ConsentArgs {
    /// The umpire's seat, whose id "fieldpost seating" lists [else the organiser, who rules without one].
    #[arg(long, value_name = "ID")]
    pub seat_id: Option<String>,
}

/// `concede`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  fieldpost concede --sure")]
pub struct ConcedeArgs {
    /// Say so: it cannot be taken back.
    #[arg(long, required = true)]
    pub sure: bool,
}

/// `dispute`.
#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  fieldpost dispute --about 14 \"Was the hill edge not in the way?\""
)]
pub struct DisputeArgs {
    /// Number of the event it is about.
    #[arg(long, value_name = "EVENT")]
    pub about: Option<u64>,
    /// What is disputed: up to 1000 characters, for everybody to read.
    pub text: String,
}

/// `rule`.
#[derive(Debug, Args)]
#[command(
    after_help = "A ruling stands in the record for good, with what it did.\n\n\
Examples:\n  fieldpost rule --about 14 \"The edge is north of the path: it stands as measured.\"\n  \
fieldpost rule --place red-3 412,233.5,45 \"Set back to where it was before the slip.\"\n  \
fieldpost rule --place red-3 412,233.5,45 --place red-4 492,233.5,45 \"They had changed places.\"\n  \
fieldpost rule --more-days 5 \"Ann is ill.\"\n  fieldpost rule --end draw \"By agreement.\""
)]
pub struct RuleArgs {
    /// Number of the event it is about.
    #[arg(long, value_name = "EVENT")]
    pub about: Option<u64>,
    /// What is done besides.
    #[command(flatten)]
    pub then: RuleActions,
    /// The ruling: up to 1000 characters, for everybody to read.
    pub text: String,
}

/// What an umpire may do besides: one of these.
#[derive(Debug, Args)]
#[group(multiple = false)]
pub struct RuleActions {
    /// Give the side to move more days.
    #[arg(long, value_name = "DAYS")]
    pub more_days: Option<u16>,
    /// Pass the player turn with units standing.
    #[arg(long)]
    pub pass: bool,
    /// End the battle: the winning side, by key or name, or "draw".
    #[arg(long, value_name = "WINNER")]
    pub end: Option<String>,
    /// Put a unit, named as in a sheet, where it should stand: its front's middle in mm from west and
    /// south, and its bearing. Several are put together, or none is: write --place for each.
    #[arg(long, num_args = 2, value_names = ["UNIT", "X,Y,BEARING"])]
    pub place: Vec<String>,
    /// Stop every clock.
    #[arg(long)]
    pub pause: bool,
    /// Let the clocks run again.
    #[arg(long)]
    pub resume: bool,
}
