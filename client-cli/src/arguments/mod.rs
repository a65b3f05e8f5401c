//! What the user typed: each command's definition, help and examples.

mod authoring;
mod clock;
mod keys;
mod local;
mod notices;
mod organiser;
mod overview;
mod pictures;
mod play;
mod position;
mod real_table;
mod rulings;
mod study;
mod trials;

use std::ffi::OsString;
use std::path::{Path, PathBuf};

use clap::builder::styling::{AnsiColor, Styles};
use clap::{Args, CommandFactory, FromArgMatches, Parser, Subcommand};
use fieldpost_command_line::with_own_examples;

pub use authoring::{
    BattlesArgs, BattlesCommand, CheckArgs, DrawArgs, FileKind, SchemaKind, SettingsArgs,
};
pub use clock::{ClockArgs, ClockCommand, ClockFlags};
pub use keys::{KeysArgs, KeysCommand};
pub use local::{LocalArgs, LocalCommand, LocalNewArgs, LocalPostArgs, LocalReplyArgs};
pub use notices::{
    NoticesArgs, NoticesCommand, NoticesSetArgs, Topic as NoticeTopic, Way as NoticeWay,
};
pub use organiser::{
    InviteArgs, MemberRole, MembersArgs, MembersCommand, OpenArgs, SeatingArgs, SeatingCommand,
    SpectatorsArgs, Switch,
};
pub use overview::{GROUPS, overview};
pub use pictures::{OrderPictures, Pictures, ShowMethod};
pub use play::{
    AuditArgs, CompareArgs, EventArgs, JoinArgs, MeasureArgs, NewsArgs, OneEvent, PostArgs,
    ReachArgs, RecordArgs, ReplayArgs, SeatsArgs, SeatsCommand, SeatsKeepArgs, SheetFile,
    StandingArgs, StandingCommand, TableArgs, TableView, Trial, TryArgs,
};
pub use position::{Moment, RecordSource, Source, TablePart};
pub use real_table::{PaperOrientation, PaperSize, PlacedArgs, PlacingArgs, PrintArgs, Tape};
pub use rulings::{ConcedeArgs, ConsentArgs, DisputeArgs, RuleActions, RuleArgs};
pub use study::{ConvertArgs, ConvertCommand, StudyArgs, StudyCommand, StudyInput};
pub use trials::TrialsArgs;

const STYLES: Styles = Styles::styled()
    .header(AnsiColor::Yellow.on_default().bold())
    .usage(AnsiColor::Yellow.on_default().bold())
    .literal(AnsiColor::Cyan.on_default())
    .placeholder(AnsiColor::Green.on_default());

const AFTER: &str = "\
A first game:
  fieldpost join --server https://games.example --player Ann   take your seat
  fieldpost news                                               what happened since you last looked
  fieldpost table --svg table.svg                              the table as text, and as a picture
  fieldpost try orders.txt                                     measure your orders at home
  fieldpost post orders.txt                                    post them

The whole program on one screen: fieldpost help. One command explained: fieldpost help COMMAND.

Exit codes: 0 ok, 1 failure, 2 usage, 3 orders or files not valid, 4 the server refused, 5 network,
6 a record that does not hold.";

/// Play measured battles by post: read the news, try your orders, post them.
#[derive(Debug, Parser)]
#[command(
    name = "fieldpost",
    bin_name = "fieldpost",
    version,
    styles = STYLES,
    after_help = AFTER,
    disable_help_subcommand = true,
    subcommand_required = true,
    arg_required_else_help = true,
    max_term_width = 100
)]
pub struct Arguments {
    /// What is to be done.
    #[command(subcommand)]
    pub command: Command,
    /// What every command understands.
    #[command(flatten)]
    pub common: CommonArgs,
}

/// What every command understands.
#[derive(Debug, Clone, Default, Args)]
#[command(next_help_heading = "Everywhere")]
pub struct CommonArgs {
    /// The kept seat to act for [else the one chosen with "seats use", else the only one].
    #[arg(
        long,
        global = true,
        value_name = "NAME",
        env = "FIELDPOST_SEAT",
        hide_env = true
    )]
    pub seat: Option<String>,
    /// The server's address [else the seat's].
    #[arg(
        long,
        global = true,
        value_name = "URL",
        env = "FIELDPOST_SERVER",
        hide_env = true
    )]
    pub server: Option<String>,
    /// The game, by its name or id [else the seat's].
    #[arg(
        long,
        global = true,
        value_name = "NAME",
        env = "FIELDPOST_GAME",
        hide_env = true
    )]
    pub game: Option<String>,
    /// Read the key from this file, "-" for standard input [else the seat's].
    #[arg(
        long,
        global = true,
        value_name = "FILE",
        env = "FIELDPOST_KEY_FILE",
        hide_env = true
    )]
    pub key_file: Option<PathBuf>,
    /// Trust the certificate authorities in this file instead of the public ones [else the seat's, else SSL_CERT_FILE].
    #[arg(long, global = true, value_name = "FILE")]
    pub ca_file: Option<PathBuf>,
    /// Use letters and signs of ASCII alone.
    #[arg(long, global = true)]
    pub ascii: bool,
    /// Answer in JSON.
    #[arg(long, global = true)]
    pub json: bool,
    /// Leave remarks out.
    #[arg(long, short, global = true)]
    pub quiet: bool,
}

/// A command.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Take a seat with an invitation.
    Join(JoinArgs),
    /// Show the seats kept here; choose, forget or add one.
    Seats(SeatsArgs),
    /// Tell what happened since you last looked.
    News(NewsArgs),
    /// Show the table.
    Table(TableArgs),
    /// Measure a turn sheet without posting it.
    Try(TryArgs),
    /// Post a turn sheet.
    Post(PostArgs),
    /// Show one event with everything that was measured.
    Event(EventArgs),
    /// Measure between two units: distance, zones, sight, command, cover.
    Measure(MeasureArgs),
    /// Show the ground that a unit can reach this turn.
    Reach(ReachArgs),
    /// Tell how to lay the units out on a real table, with a tape from two edges.
    Placing(PlacingArgs),
    /// Read a unit's place back off a real table, and compare it with the record.
    Placed(PlacedArgs),
    /// Print the table at true scale, on sheets that go together.
    Print(PrintArgs),
    /// Make a page or a picture that plays the whole game by itself.
    Replay(ReplayArgs),
    /// Show or set what your units do in the enemy's turn.
    Standing(StandingArgs),
    /// Show the clock; take leave, pause, claim the battle.
    Clock(ClockArgs),
    /// Give the battle up.
    Concede(ConcedeArgs),
    /// Ask the umpire to look at something.
    Dispute(DisputeArgs),
    /// Give a ruling and do what follows from it (umpire).
    Rule(RuleArgs),
    /// Agree that somebody who plays on the other side rules as well.
    Consent(ConsentArgs),
    /// Show the keys that seats sign with; add, remove, replace or countersign one.
    Keys(KeysArgs),
    /// Show or set where you hear that it is your turn: by e-mail, by webhook.
    Notices(NoticesArgs),
    /// Show the head of the record in digits, to read to the other side.
    Compare(CompareArgs),
    /// Save the whole record of a game.
    Record(RecordArgs),
    /// Check a record from nothing: its chain, its dice, every verdict.
    Audit(AuditArgs),
    /// Explain how orders are written.
    #[command(after_help = "Example:\n  fieldpost words | less")]
    Words,

    /// List the games that you may read.
    #[command(
        after_help = "Examples:\n  fieldpost games --server https://games.example\n  fieldpost games --json"
    )]
    Games,
    /// Open a game (organiser).
    Open(OpenArgs),
    /// Issue a new invitation to a seat (organiser).
    Invite(InviteArgs),
    /// Let everybody read a game, or nobody but its players (organiser).
    Spectators(SpectatorsArgs),
    /// Show the seats of a game and who holds them; add or free one (organiser).
    Seating(SeatingArgs),
    /// Show the members of the club; add, change or remove one (organiser).
    Members(MembersArgs),

    /// Check ruleset, scenario and board game files, showing every fault.
    Check(CheckArgs),
    /// Draw a scenario's opening table.
    Draw(DrawArgs),
    /// List the battles that come with this program, or write one's files out.
    Battles(BattlesArgs),
    /// Print the JSON Schema of a kind of file, or of what a command answers with --json.
    #[command(
        after_help = "Examples:\n  fieldpost schema ruleset > ruleset.schema.json\n  fieldpost schema answer table\n  fieldpost schema answer local try"
    )]
    Schema {
        /// Which kind of file, or "answer" and a command.
        #[arg(value_enum)]
        kind: SchemaKind,
        /// The command whose answer is described.
        command: Vec<String>,
    },
    /// Explain every setting of ruleset and scenario files.
    Settings(SettingsArgs),
    /// Print a new file to start writing from.
    #[command(after_help = "Example:\n  fieldpost starter ruleset > my-rules.toml")]
    Starter {
        /// Which kind of file.
        #[arg(value_enum)]
        kind: FileKind,
    },
    /// Study a results table: chances, losses, shifts, chains of battles.
    Study(StudyArgs),
    /// Let automatic commanders fight a battle many times: who wins, which laws are used.
    Trials(TrialsArgs),
    /// Convert a board game's numbers into table distances.
    Convert(ConvertArgs),
    /// Play a battle kept in a file, by two people or alone, without a server.
    Local(LocalArgs),

    /// Show the whole program on one screen, or explain a command.
    #[command(
        after_help = "Examples:\n  fieldpost help\n  fieldpost help table\n  fieldpost help seats keep"
    )]
    Help {
        /// The command to explain [else a table of all].
        command: Vec<String>,
    },
    /// Show the effective settings and where each comes from.
    #[command(after_help = "Example:\n  fieldpost config")]
    Config,
    /// Print completions for a shell.
    #[command(
        after_help = "Example:\n  fieldpost completions bash > ~/.local/share/bash-completion/completions/fieldpost"
    )]
    Completions {
        /// Which shell.
        #[arg(value_enum)]
        shell: clap_complete::Shell,
    },
    /// Print a manual page, or write them all to a folder.
    #[command(
        after_help = "Examples:\n  fieldpost manual-page > fieldpost.1\n  fieldpost manual-page table\n  fieldpost manual-page seats keep\n  \
fieldpost manual-page --folder ~/.local/share/man/man1"
    )]
    ManualPage {
        /// The command that it is about [else the program].
        #[arg(conflicts_with = "folder")]
        command: Vec<String>,
        /// Write a page for the program and one for every command to this folder.
        #[arg(long, value_name = "FOLDER")]
        folder: Option<PathBuf>,
    },
}

/// The whole definition. A command within a command shows those of its parent's examples that are its own.
#[must_use]
pub fn definition() -> clap::Command {
    let whole = Arguments::command();
    whole.mut_subcommands(|command| {
        let path = format!("fieldpost {}", command.get_name());
        with_own_examples(command, &path)
    })
}

impl Arguments {
    /// Understands a command line, the program's own name first.
    ///
    /// # Errors
    /// When it is not understood, or asks for help.
    pub fn parse(args: impl IntoIterator<Item = OsString>) -> Result<Self, clap::Error> {
        let mut definition = definition();
        let args = help_asked_for(args.into_iter().collect(), &definition);
        let matches = definition.try_get_matches_from_mut(args)?;
        Self::from_arg_matches(&matches).map_err(|error| error.format(&mut definition))
    }
}

/// "help" before or after a command asks for that command's help, as --help does.
fn help_asked_for(mut args: Vec<OsString>, definition: &clap::Command) -> Vec<OsString> {
    let is_flag = |arg: &OsString| arg.to_string_lossy().starts_with('-');
    if args.len() > 2 && args[1] == "help" && !is_flag(&args[2]) {
        args.remove(1);
        args.push("--help".into());
        return args;
    }
    let [_, path @ .., last] = args.as_slice() else {
        return args;
    };
    // this one takes names of commands itself
    let takes_names = path.first().is_some_and(|name| name == "manual-page");
    if last != "help" || path.is_empty() || takes_names {
        return args;
    }
    let mut command = Some(definition);
    for name in path {
        command = command.and_then(|command| command.find_subcommand(name));
    }
    // a file of that name is a file
    let is_help = command.is_some_and(|command| {
        !command.has_subcommands() && command.get_positionals().count() == 0
            || !Path::new("help").exists()
    });
    if is_help {
        args.pop();
        args.push("--help".into());
    }
    args
}

#[cfg(test)]
mod tests {
    use clap::error::ErrorKind;

    use super::*;

    #[test]
    fn the_definition_is_sound() {
        definition().debug_assert();
    }

    #[test]
    fn every_command_shows_examples_of_itself() {
        fn walk(command: &clap::Command, path: &str) {
            for sub in command.get_subcommands() {
                let path = format!("{path} {}", sub.get_name());
                assert!(
                    sub.get_about().is_some(),
                    "{path} says nothing about itself"
                );
                let after = sub.get_after_help().map(ToString::to_string);
                assert!(
                    after.is_some_and(|after| after.contains("Example") && after.contains(&path)),
                    "{path} shows no example of itself"
                );
                walk(sub, &path);
            }
        }
        walk(&definition(), "fieldpost");
    }

    /// Every example that help shows is understood.
    #[test]
    fn every_example_shown_can_be_typed() {
        fn walk(command: &clap::Command, shown: &mut Vec<String>) {
            let after = command.get_after_help().map(ToString::to_string);
            for line in after.unwrap_or_default().lines() {
                shown.extend(commands_in(line));
            }
            for sub in command.get_subcommands() {
                walk(sub, shown);
            }
        }
        let mut shown = Vec::new();
        walk(&definition(), &mut shown);
        assert!(shown.len() > 60, "{}", shown.len());
        for line in shown {
            let words = words_of(&line).into_iter().map(std::ffi::OsString::from);
            match Arguments::parse(words) {
                Ok(_) => {}
                Err(error) if error.kind() == ErrorKind::DisplayHelp => {}
                Err(error) => panic!("{line}: {error}"),
            }
        }
    }

    /// The commands of this program in a line of a shell, without what a shell does to them.
    fn commands_in(line: &str) -> Vec<String> {
        let Some(from) = line
            .strip_prefix("  ")
            .filter(|line| !line.starts_with(' '))
        else {
            return Vec::new();
        };
        let of_us = from.split('|').map(str::trim);
        of_us
            .filter(|command| command.starts_with("fieldpost "))
            .map(|command| {
                let command = command.split(" > ").next().unwrap_or(command);
                let command = command.split(" < ").next().unwrap_or(command);
                // the first game explains itself beside its commands
                let command = command.split("   ").next().unwrap_or(command);
                command.trim().to_owned()
            })
            .collect()
    }

    /// Words as a shell parts them.
    fn words_of(line: &str) -> Vec<String> {
        let mut words = vec![String::new()];
        let mut quoted = false;
        for letter in line.chars() {
            match letter {
                '"' => quoted = !quoted,
                ' ' if !quoted => words.push(String::new()),
                letter => {
                    if let Some(word) = words.last_mut() {
                        word.push(letter);
                    }
                }
            }
        }
        words.retain(|word| !word.is_empty());
        words
    }

    #[test]
    fn no_secret_can_be_given_as_a_value() {
        fn walk(command: &clap::Command) {
            for arg in command.get_arguments() {
                let name = arg.get_id().as_str();
                assert!(
                    !["key", "invitation", "secret", "password", "token"].contains(&name),
                    "{name} would show in lists of processes"
                );
            }
            command.get_subcommands().for_each(walk);
        }
        walk(&definition());
    }

    #[test]
    fn what_is_typed_is_understood() {
        let typed = |line: &str| Arguments::parse(line.split(' ').map(std::ffi::OsString::from));
        assert!(matches!(
            typed("fieldpost table --svg a.svg --json --seat red").unwrap(),
            Arguments {
                command: Command::Table(TableArgs {
                    view: TableView {
                        pictures: Pictures { svg: Some(_), .. },
                        ..
                    },
                    ..
                }),
                common: CommonArgs { json: true, .. }
            }
        ));
        assert!(
            typed("fieldpost tabel")
                .unwrap_err()
                .to_string()
                .contains("table")
        );
        assert!(typed("fieldpost try").is_err());
        assert!(typed("fieldpost event 0").is_err());
    }
}
