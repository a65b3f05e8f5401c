//! `notices`.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};

/// `notices`.
#[derive(Debug, Args)]
#[command(
    after_help = "A mail holds the news in words and the table as a picture; each has a link that stops them.\n\
A webhook is signed as the Standard Webhooks specification has it.\n\n\
Examples:\n  fieldpost notices\n  fieldpost notices show\n  fieldpost notices set --mail ann@example.org\n  \
fieldpost notices set --webhook https://hooks.example/fieldpost --secret-file hook.secret\n  \
fieldpost notices set --about turns,clock\n  fieldpost notices stop mail\n  fieldpost notices stop\n\
For the organiser:\n  fieldpost notices dead --seat organiser\n  fieldpost notices again --seat organiser"
)]
pub struct NoticesArgs {
    /// What to do; they are shown otherwise.
    #[command(subcommand)]
    pub command: Option<NoticesCommand>,
}

/// What can be done with notices.
#[derive(Debug, Subcommand)]
pub enum NoticesCommand {
    /// Show where your seat hears of the game.
    Show,
    /// Set where and of what your seat hears; what is not named stays as it is.
    Set(NoticesSetArgs),
    /// Hear no more.
    Stop {
        /// Which way [else both].
        #[arg(value_enum)]
        way: Option<Way>,
    },
    /// List notices that were given up (organiser).
    Dead,
    /// Try notices again that were given up (organiser).
    Again {
        /// Which, by the ids in the list [else all].
        #[arg(value_name = "ID")]
        ids: Vec<String>,
    },
}

/// `notices set`.
#[derive(Debug, Args)]
pub struct NoticesSetArgs {
    /// An e-mail address.
    #[arg(long, value_name = "ADDRESS", required_unless_present_any = ["webhook", "about"])]
    pub mail: Option<String>,
    /// A URL, https.
    #[arg(long, value_name = "URL")]
    pub webhook: Option<String>,
    /// What to hear of, comma between [else as set; at first everything].
    #[arg(long, value_enum, value_delimiter = ',', value_name = "TOPICS")]
    pub about: Option<Vec<Topic>>,
    /// Write a new webhook's signing secret to this file, for your eyes only, instead of showing it.
    #[arg(long, value_name = "FILE")]
    pub secret_file: Option<PathBuf>,
}

/// How notices travel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Way {
    /// By e-mail.
    Mail,
    /// By webhook.
    Webhook,
}

/// What notices are about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Topic {
    /// The other side has posted.
    Turns,
    /// The game can begin; it has ended.
    Game,
    /// Disputes and rulings.
    Rulings,
    /// Days that are left; time that is out.
    Clock,
}

impl Topic {
    /// As it travels.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Turns => "turns",
            Self::Game => "game",
            Self::Rulings => "rulings",
            Self::Clock => "clock",
        }
    }
}
