//! The organiser's commands.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};

use super::ClockFlags;

/// `open`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost open quern-bridge\n  fieldpost open my-rules.toml my-battle.toml\n  \
fieldpost open quern-bridge --closed --invitations-folder invitations\n  fieldpost open quern-bridge --days 3 --leave-days 14 --remind 2,1"
)]
pub struct OpenArgs {
    /// A battle that comes with the server ("fieldpost battles" lists those that come with this program), or a ruleset
    /// and a scenario: files of your own, or keys of those that come with this program.
    #[arg(required = true, num_args = 1..=2, value_names = ["BATTLE", "SCENARIO"])]
    pub battle: Vec<PathBuf>,
    /// Only the players may read the game.
    #[arg(long)]
    pub closed: bool,
    /// Minutes after which spectators see what happened.
    #[arg(long, value_name = "MINUTES", default_value_t = 0, value_parser = clap::value_parser!(u32).range(0..=10_080))]
    pub spectator_delay: u32,
    /// Let seats act without signatures: then only the host's word says that a sheet was its player's.
    #[arg(long)]
    pub without_signatures: bool,
    /// The clock it is played by, if it is.
    #[command(flatten)]
    pub clock: ClockFlags,
    /// Write each invitation to a file of its own in this folder, instead of showing it.
    #[arg(long, value_name = "FOLDER")]
    pub invitations_folder: Option<PathBuf>,
}

/// `spectators`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost spectators on\n  fieldpost spectators on --delay 120\n  fieldpost spectators off --game 0192f0c1e8a07b3c9d4e5f6071829304"
)]
pub struct SpectatorsArgs {
    /// Whether they may read.
    #[arg(value_enum)]
    pub switch: Switch,
    /// Minutes after which they see what happened [else as it was].
    #[arg(long, value_name = "MINUTES", value_parser = clap::value_parser!(u32).range(0..=10_080))]
    pub delay: Option<u32>,
}

/// `members`.
#[derive(Debug, Args)]
#[command(
    after_help = "A member's key is written to a file, to be handed over; its holder keeps it with \"fieldpost seats keep\" and\n\
renews it with \"fieldpost seats renew\", so that nobody else has it.\n\n\
Examples:\n  fieldpost members list\n  fieldpost members add Ann --out ann.key\n  fieldpost members role 0123456789abcdef organiser\n  \
fieldpost members rekey 0123456789abcdef --out ann.key\n  fieldpost members remove 0123456789abcdef"
)]
pub struct MembersArgs {
    /// What to do with them; they are listed otherwise.
    #[command(subcommand)]
    pub command: Option<MembersCommand>,
}

/// What can be done with members.
#[derive(Debug, Subcommand)]
pub enum MembersCommand {
    /// List them.
    List,
    /// Add one, with a key of their own.
    Add {
        /// The name they go by.
        name: String,
        /// What they may do.
        #[arg(long, value_enum, default_value_t = MemberRole::Member)]
        role: MemberRole,
        /// Write the key to this file instead of showing it.
        #[arg(long, short, value_name = "FILE")]
        out: Option<PathBuf>,
    },
    /// Change what one may do.
    Role {
        /// Their id, as listed.
        member: String,
        /// What they may do from now on.
        #[arg(value_enum)]
        role: MemberRole,
    },
    /// Give one another key; those they had open nothing from then on.
    Rekey {
        /// Their id, as listed.
        member: String,
        /// Write the key to this file instead of showing it.
        #[arg(long, short, value_name = "FILE")]
        out: Option<PathBuf>,
    },
    /// Remove one; their keys and those of the seats they took open nothing from then on.
    Remove {
        /// Their id, as listed.
        member: String,
    },
}

/// What a member may do beside playing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum MemberRole {
    /// All that an organiser may.
    Organiser,
    /// Nothing more.
    Member,
}

/// `seating`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost seating list\n  fieldpost seating add red\n  fieldpost seating add --umpire --out umpire.txt\n  \
fieldpost seating add --spectator\n  fieldpost seating free 0123456789abcdef"
)]
pub struct SeatingArgs {
    /// What to do with the seats; they are listed otherwise.
    #[command(subcommand)]
    pub command: Option<SeatingCommand>,
}

/// What can be done with a game's seats.
#[derive(Debug, Subcommand)]
pub enum SeatingCommand {
    /// List them and who holds them.
    List,
    /// Add one, with an invitation to it.
    Add {
        /// The side, for another player of it.
        #[arg(required_unless_present_any = ["umpire", "spectator"], conflicts_with_all = ["umpire", "spectator"])]
        side: Option<String>,
        /// For an umpire.
        #[arg(long, conflicts_with = "spectator")]
        umpire: bool,
        /// For somebody who may look on though the game is closed.
        #[arg(long)]
        spectator: bool,
        /// Write the invitation to this file instead of showing it.
        #[arg(long, short, value_name = "FILE")]
        out: Option<PathBuf>,
    },
    /// Free one of whoever holds it: its key opens nothing, and another can be invited.
    Free {
        /// The seat's id, as listed.
        #[arg(value_name = "SEAT-ID")]
        id: String,
    },
}

/// `invite`.
#[derive(Debug, Args)]
#[command(
    after_help = "An earlier invitation to the same seat that was not used works no longer.\n\n\
Examples:\n  fieldpost invite red\n  fieldpost invite red --game 0192f0c1e8a07b3c9d4e5f6071829304 --out red.txt\n  fieldpost invite --seat-id 0123456789abcdef"
)]
pub struct InviteArgs {
    /// The side: its first seat that is free.
    #[arg(required_unless_present = "seat_id", conflicts_with = "seat_id")]
    pub side: Option<String>,
    /// The seat by its id, as "fieldpost seating" lists it.
    #[arg(long, value_name = "SEAT-ID")]
    pub seat_id: Option<String>,
    /// Write the invitation to this file instead of showing it.
    #[arg(long, short, value_name = "FILE")]
    pub out: Option<PathBuf>,
}

/// On or off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Switch {
    /// Everybody may read.
    On,
    /// Only players may.
    Off,
}
