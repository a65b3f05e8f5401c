//! Giving up, asking the umpire, ruling.

use clap::Args;

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
