//! `trials`: battles fought on all processors, and what they come to.

use std::io::IsTerminal as _;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::thread;

use fieldpost_rules::game::Battlefield;
use fieldpost_study::series::{self, Fought, OtherWayRound, Report, Stuck};
use indicatif::{ProgressBar, ProgressStyle};
use serde_json::json;

use super::battle_files::BattleFiles;
use crate::arguments::TrialsArgs;
use crate::error::{CliError, CliResult};
use crate::output::Output;

/// Fights a battle many times and tells what came of it.
///
/// # Errors
/// When files cannot be read or are not valid, or no battle could be fought to its end.
pub fn trials(args: &TrialsArgs, output: Output) -> CliResult {
    let first = BattleFiles::of(&args.battle, None)?;
    let second = match args.against.as_slice() {
        [] => None,
        against => Some(BattleFiles::of(against, Some(&first))?),
    };
    let title = |files: &BattleFiles| format!("{} and {}", files.ruleset.0, files.scenario.0);
    let names = (
        title(&first),
        second.as_ref().map(title).unwrap_or_default(),
    );
    // both are opened before either is fought: faults are told at once
    let first = Arc::new(first.open()?);
    let second = second.map(|files| files.open()).transpose()?.map(Arc::new);
    let all = args.battles * if second.is_some() { 2 } else { 1 };
    let bar = progress(all, output);
    let fought = fight(&first, args, &bar);
    let report = series::report(&first, args.seed, &fought);
    let Some(second) = second else {
        bar.finish_and_clear();
        let data = with_each(&report, &[("fought", &fought)], args.each)?;
        output.result(&data, || series::report_in_words(&report))?;
        return ended(&report);
    };
    let others = fight(&second, args, &bar);
    bar.finish_and_clear();
    let other = series::report(&second, args.seed, &others);
    let compared = series::compared((report, &fought), (other, &others));
    let lists = [("first_fought", &fought), ("second_fought", &others)];
    let data = with_each(&compared, &lists, args.each)?;
    output.result(&data, || {
        series::compared_in_words(&compared, &names.0, &names.1)
    })?;
    ended(&compared.first)?;
    ended(&compared.second)
}

/// A series of which nothing came is a failure.
fn ended(report: &Report) -> CliResult {
    if report.battles > 0 {
        return Ok(());
    }
    Err(CliError::Other(format!(
        "no battle of {} could be fought to its end",
        report.scenario
    )))
}

type Battles = Vec<Result<Fought, Stuck>>;

/// A result as JSON, with every battle if they are wanted.
fn with_each(
    result: &impl serde::Serialize,
    lists: &[(&str, &Battles)],
    each: bool,
) -> CliResult<serde_json::Value> {
    let failed = |error| CliError::Other(format!("cannot be put as JSON: {error}"));
    let mut data = serde_json::to_value(result).map_err(failed)?;
    for (name, battles) in lists.iter().filter(|_| each) {
        let ended: Vec<&Fought> = battles.iter().filter_map(|one| one.as_ref().ok()).collect();
        data[*name] = json!(ended);
    }
    Ok(data)
}

/// Fights the battles of a series, each on whichever thread is free.
fn fight(field: &Arc<Battlefield>, args: &TrialsArgs, bar: &ProgressBar) -> Battles {
    let most = usize::try_from(args.battles).unwrap_or(usize::MAX);
    let threads = args
        .threads
        .or_else(|| thread::available_parallelism().ok())
        .map_or(1, usize::from)
        .min(most);
    let other = args.swap_sides.then(|| OtherWayRound::of(field));
    let next = AtomicU64::new(1);
    let work = || {
        let mut fought = Vec::new();
        loop {
            let number = next.fetch_add(1, Ordering::Relaxed);
            if number > args.battles {
                return fought;
            }
            fought.push(match &other {
                Some(other) if number.is_multiple_of(2) => other.fight(args.seed, number),
                _ => series::fight(field, args.seed, number),
            });
            bar.inc(1);
        }
    };
    let mut all: Battles = thread::scope(|scope| {
        let hands: Vec<_> = (1..threads).map(|_| scope.spawn(work)).collect();
        let mut all = work();
        for hand in hands {
            match hand.join() {
                Ok(fought) => all.extend(fought),
                // what broke there is to be seen here as well
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        all
    });
    all.sort_by_key(|one| match one {
        Ok(fought) => fought.number,
        Err(stuck) => stuck.number,
    });
    all
}

/// A bar on a terminal; elsewhere nothing.
fn progress(battles: u64, output: Output) -> ProgressBar {
    if output.quiet || !std::io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let style =
        ProgressStyle::with_template("{bar:40} {human_pos} of {human_len} battles, {eta} left");
    ProgressBar::new(battles).with_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()))
}
