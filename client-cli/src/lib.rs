//! The player's, umpire's and organiser's command line: what the user typed ([`typed`]), what it
//! means ([`meant`]), the work ([`work`]).

pub mod failure;
pub mod keep;
pub mod meant;
pub mod office;
pub mod out;
pub mod picture;
pub mod problem;
pub mod sheet;
pub mod shown;
pub mod terminal;
pub mod typed;
pub mod wire;
pub mod work;

use std::ffi::OsString;
use std::process::ExitCode;

use failure::Outcome;
use out::Out;
use typed::{Command, Typed};

/// Runs a command line, the program's own name first, and gives its exit code.
pub fn run(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let typed = match Typed::understood(args) {
        Ok(typed) => typed,
        Err(error) => {
            let code = if error.use_stderr() { 2 } else { 0 };
            // clap's own printing keeps help on standard output and errors off it
            let _ = error.print();
            return ExitCode::from(code);
        }
    };
    let out = Out {
        json: typed.common.json,
        quiet: typed.common.quiet,
    };
    match done(&typed, out) {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            out.fail(&failure);
            ExitCode::from(failure.exit_code())
        }
    }
}

fn done(typed: &Typed, out: Out) -> Outcome {
    let common = &typed.common;
    match &typed.command {
        Command::Join(args) => work::seats::join(args, common, out),
        Command::Seats(args) => work::seats::seats(args, common, out),
        Command::News(args) => work::news::news(args, common, out),
        Command::Table(args) => work::table::table(args, common, out),
        Command::Try(args) => work::trying::try_sheet(args, common, out),
        Command::Post(args) => work::posting::post(args, common, out),
        Command::Event(args) => work::event::event(args, common, out),
        Command::Measure(args) => work::measure::measure(args, common, out),
        Command::Reach(args) => work::measure::reach(args, common, out),
        Command::Placing(args) => work::measure::placing(args, common, out),
        Command::Placed(args) => work::placed::placed(args, common, out),
        Command::Print(args) => work::print::print(args, common, out),
        Command::Replay(args) => work::replay::replay(args, common, out),
        Command::Standing(args) => work::standing::standing(args, common, out),
        Command::Clock(args) => work::by_post::clock(args, common, out),
        Command::Concede(_) => work::by_post::concede(common, out),
        Command::Dispute(args) => work::by_post::dispute(args, common, out),
        Command::Rule(args) => work::by_post::rule(args, common, out),
        Command::Notices(args) => work::notices::notices(args, common, out),
        Command::Keys(args) => work::keys::keys(args, common, out),
        Command::Consent(args) => work::by_post::consent(args, common, out),
        Command::Compare(args) => work::compare::compare(args, common, out),
        Command::Record(args) => work::record::record(args, common, out),
        Command::Audit(args) => work::record::audit(args, out),
        Command::Words => work::about::words(out),
        Command::Games => work::organise::games(common, out),
        Command::Open(args) => work::organise::open(args, common, out),
        Command::Invite(args) => work::organise::invite(args, common, out),
        Command::Spectators(args) => work::organise::spectators(args, common, out),
        Command::Seating(args) => work::seating::seating(args, common, out),
        Command::Members(args) => work::members::members(args, common, out),
        Command::Check(args) => work::write::check(args, out),
        Command::Draw(args) => work::write::draw(args, out),
        Command::Battles(args) => work::battles::battles(args, out),
        Command::Schema { kind } => work::write::schema(*kind, out),
        Command::Settings(args) => work::settings::settings(args, out),
        Command::Starter { kind } => work::write::starter(*kind, out),
        Command::Study(args) => work::study::study(args, out),
        Command::Trials(args) => work::trials::trials(args, out),
        Command::Convert(args) => work::convert::convert(args, out),
        Command::Local(args) => work::local::local(args, out),
        Command::Config => work::about::config(common, out),
        Command::Completions { shell } => work::about::completions(*shell, out),
        Command::ManualPage { command, folder } => {
            work::about::manual_page(command, folder.as_deref(), out)
        }
    }
}
