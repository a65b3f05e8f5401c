//! The player's, umpire's and organiser's command line: its [`arguments`], where and for whom it acts
//! ([`context`]), its [`commands`].

pub mod answers;
pub mod api;
pub mod arguments;
pub mod ascii;
pub mod commands;
pub mod context;
pub mod error;
pub mod games;
pub mod output;
pub mod picture;
pub mod problem;
pub mod random;
pub mod render;
pub mod secret;
pub mod sheet;
pub mod signing;
pub mod storage;
pub mod terminal;
pub mod tls;
pub mod wire;

use std::ffi::OsString;
use std::process::ExitCode;

use arguments::{Arguments, Command};
use error::CliResult;
use output::Output;

/// Runs a command line, the program's own name first, and gives its exit code.
pub fn run(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let arguments = match Arguments::parse(args) {
        Ok(arguments) => arguments,
        Err(error) => {
            let code = if error.use_stderr() { 2 } else { 0 };
            // clap's own printing keeps help on standard output and errors off it
            let _ = error.print();
            return ExitCode::from(code);
        }
    };
    let output = Output {
        json: arguments.common.json,
        quiet: arguments.common.quiet,
        ascii: arguments.common.ascii,
    };
    match dispatch(&arguments, output) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            output.error(&error);
            ExitCode::from(error.exit_code())
        }
    }
}

fn dispatch(arguments: &Arguments, output: Output) -> CliResult {
    let common = &arguments.common;
    match &arguments.command {
        Command::Join(args) => commands::seats::join(args, common, output),
        Command::Seats(args) => commands::seats::seats(args, common, output),
        Command::News(args) => commands::news::news(args, common, output),
        Command::Table(args) => commands::table::table(args, common, output),
        Command::Try(args) => commands::try_sheet::try_sheet(args, common, output),
        Command::Post(args) => commands::post::post(args, common, output),
        Command::Event(args) => commands::event::event(args, common, output),
        Command::Measure(args) => commands::measure::measure(args, common, output),
        Command::Reach(args) => commands::measure::reach(args, common, output),
        Command::Placing(args) => commands::measure::placing(args, common, output),
        Command::Placed(args) => commands::placed::placed(args, common, output),
        Command::Print(args) => commands::print::print(args, common, output),
        Command::Replay(args) => commands::replay::replay(args, common, output),
        Command::Standing(args) => commands::standing::standing(args, common, output),
        Command::Clock(args) => commands::clock::clock(args, common, output),
        Command::Concede(_) => commands::rulings::concede(common, output),
        Command::Dispute(args) => commands::rulings::dispute(args, common, output),
        Command::Rule(args) => commands::rulings::rule(args, common, output),
        Command::Notices(args) => commands::notices::notices(args, common, output),
        Command::Keys(args) => commands::keys::keys(args, common, output),
        Command::Consent(args) => commands::rulings::consent(args, common, output),
        Command::Compare(args) => commands::compare::compare(args, common, output),
        Command::Record(args) => commands::record::record(args, common, output),
        Command::Audit(args) => commands::record::audit(args, output),
        Command::Words => commands::program::words(output),
        Command::Games => commands::organiser::list_games(common, output),
        Command::Open(args) => commands::organiser::open(args, common, output),
        Command::Invite(args) => commands::organiser::invite(args, common, output),
        Command::Spectators(args) => commands::organiser::spectators(args, common, output),
        Command::Seating(args) => commands::seating::seating(args, common, output),
        Command::Members(args) => commands::members::members(args, common, output),
        Command::Check(args) => commands::authoring::check(args, output),
        Command::Draw(args) => commands::authoring::draw(args, output),
        Command::Battles(args) => commands::battles::battles(args, output),
        Command::Schema { kind, command } => commands::schema::schema(*kind, command, output),
        Command::Settings(args) => commands::settings::settings(args, output),
        Command::Starter { kind } => commands::authoring::starter(*kind, output),
        Command::Study(args) => commands::study::study(args, output),
        Command::Trials(args) => commands::trials::trials(args, output),
        Command::Convert(args) => commands::convert::convert(args, output),
        Command::Local(args) => commands::local::local(args, output),
        Command::Help { .. } => commands::program::help(output),
        Command::Config => commands::program::config(common, output),
        Command::Completions { shell } => commands::program::completions(*shell, output),
        Command::ManualPage { command, folder } => {
            commands::program::manual_page(command, folder.as_deref(), output)
        }
    }
}
