//! `local`: a battle on one machine, kept in a file as a server would keep its record; by two people in
//! turn, or by one against an automatic commander.
//!
//! The secret of the next player turn's dice stands in a second file beside it, for this user's
//! eyes only; nothing but the player's honesty keeps it unread, which is said in the help.

use std::path::Path;

use fieldpost_commander::Chance;
use fieldpost_rules::game::{Battlefield, Game};
use fieldpost_rules::orders::{Instructions, SideId};
use serde_json::json;

use super::battle_files::BattleFiles;
use super::event::local_event;
use super::news::{self, paragraphs, tell, to_move, whose_turn};
use super::position::Position;
use super::{table, try_sheet};
use crate::answers::LocalNewsAnswer;
use crate::arguments::{LocalArgs, LocalCommand, LocalNewArgs, LocalPostArgs, LocalReplyArgs};
use crate::error::{CliError, CliResult};
use crate::output::Output;
use crate::random::random;
use crate::render;
use crate::sheet;
use crate::storage::local_battle::LocalBattle;

/// Plays a battle kept in a file.
///
/// # Errors
/// When the file cannot be read or written, or a sheet is not valid.
pub fn local(args: &LocalArgs, output: Output) -> CliResult {
    match &args.command {
        LocalCommand::New(args) => new(args, output),
        LocalCommand::Table { battle, view } => {
            let record = LocalBattle::read(battle)?.record;
            table::show(&Position::of_record(record, view.moment)?, view, output)
        }
        LocalCommand::News {
            battle,
            after,
            pictures,
        } => news::of_record(&LocalBattle::read(battle)?.record, *after, pictures, output),
        LocalCommand::Event { battle, event } => local_event(battle, event, output),
        LocalCommand::Try { battle, trial } => {
            let record = LocalBattle::read(battle)?.record;
            let position = Position::of_record(record, trial.moment)?;
            try_sheet::measure(trial, &position, None, output)
        }
        LocalCommand::Post(args) => post(args, output),
        LocalCommand::Reply(args) => reply(args, output),
    }
}

fn new(args: &LocalNewArgs, output: Output) -> CliResult {
    // clap asks for two names at least
    let Some((path, names)) = args.files.split_last() else {
        return Err(CliError::Usage(
            "name a battle, or a ruleset and a scenario, and then the file to keep it in"
                .to_owned(),
        ));
    };
    let files = BattleFiles::of(names, None)?;
    let field = files.open()?;
    let opponent = args.opponent.as_deref();
    let opponent = match opponent {
        None => None,
        Some(name) => Some((
            side_called(&field, name)?,
            fieldpost_commander::instructions(&mut chance()?),
        )),
    };
    let mut battle = LocalBattle::begin(path, files.ruleset.1, files.scenario.1, opponent)?;
    let begun = battle.game.clone();
    let seen = battle.record.head().number;
    answer(&mut battle, None)?;
    let (news_items, after) = tell(&battle.record, begun, seen);
    output.result(
        &json!({ "battle": path, "name": field.scenario.name, "head": battle.record.head(), "news": news_items }),
        || {
            let mut text = format!(
                "{} begins, kept in {}.\n",
                field.scenario.name,
                path.display()
            );
            if let Some(side) = battle.automatic() {
                let names = &field.scenario.side;
                text.push_str(&format!(
                    "An automatic commander has {}; you have {}.\n",
                    names[side].name,
                    names[1 - side].name
                ));
            }
            if !news_items.is_empty() {
                text.push_str(&format!("\n{}\n{}\n", paragraphs(&news_items), whose_turn(&after, None)));
            }
            text.push_str(&format!("Next: fieldpost local table {}", path.display()));
            text
        },
    )
}

/// The side that someone names by its key or its name.
fn side_called(field: &Battlefield, name: &str) -> CliResult<SideId> {
    let sides = &field.scenario.side;
    let is_meant = |known: &str| known.to_lowercase() == name.trim().to_lowercase();
    let found = sides
        .iter()
        .find(|side| is_meant(&side.key) || is_meant(&side.name));
    found.map(|side| SideId(side.key.clone())).ok_or_else(|| {
        let keys: Vec<&str> = sides.iter().map(|side| side.key.as_str()).collect();
        CliError::Usage(format!(
            "{name:?} is no side of {}; there are {}",
            field.scenario.name,
            keys.join(" and ")
        ))
    })
}

fn post(args: &LocalPostArgs, output: Output) -> CliResult {
    let mut battle = LocalBattle::read(&args.battle)?;
    let before = battle.game.clone();
    let head = battle.record.head();
    still_on(&before)?;
    if battle.automatic() == Some(before.player()) {
        return Err(CliError::Other(format!(
            "it is the turn of the automatic commander; let it play: fieldpost local reply {}",
            args.battle.display()
        )));
    }
    let sheet = sheet::read(&args.file.sheet, &before, output)?;
    sheet::confirm_orders(&sheet, &args.file.sheet, args.all_stand, output)?;
    // against an automatic commander they are the player's own, for its answer
    let own = 1 - battle.automatic().unwrap_or(before.player());
    let given = instructions(args.standing.as_deref(), &before, own, output)?;
    let (at_once, afterwards) = match battle.automatic() {
        Some(_) => (None, given.as_ref()),
        None => (given.as_ref(), None),
    };
    if let Err(verdict) = battle.play(&sheet, at_once)? {
        return try_sheet::answer(&before, &head, &sheet, &verdict, output);
    }
    answer(&mut battle, afterwards)?;
    report(&battle, before, head.number, output)
}

/// Nothing is played once a battle is over.
fn still_on(game: &Game) -> CliResult {
    match game.ending() {
        None => Ok(()),
        Some(_) => Err(CliError::Other(format!("{}.", render::turn_line(game)))),
    }
}

/// Standing instructions of a side out of a file, if one is named.
fn instructions(
    path: Option<&Path>,
    game: &Game,
    side: usize,
    output: Output,
) -> CliResult<Option<Instructions>> {
    let read = |path| sheet::read_instructions(path, game, &game.side_id(side), output);
    path.map(read).transpose()
}

/// Lets an automatic commander play for whoever is to move, and then for the side that it has.
fn reply(args: &LocalReplyArgs, output: Output) -> CliResult {
    let mut battle = LocalBattle::read(&args.battle)?;
    let before = battle.game.clone();
    let seen = battle.record.head().number;
    still_on(&before)?;
    // the side that the player has: the one no automatic commander was given, else the one that waits
    let own = 1 - battle.automatic().unwrap_or(before.player());
    let given = instructions(args.standing.as_deref(), &before, own, output)?;
    let mut played = 0;
    while battle.game.ending().is_none() && (args.to_the_end || played < args.turns) {
        let waits = 1 - battle.game.player() == own;
        command(&mut battle, given.as_ref().filter(|_| waits))?;
        played += 1;
    }
    answer(&mut battle, given.as_ref())?;
    report(&battle, before, seen, output)
}

/// Lets the automatic commander play as long as it is its turn.
fn answer(battle: &mut LocalBattle, standing: Option<&Instructions>) -> CliResult {
    while battle.game.ending().is_none() && battle.automatic() == Some(battle.game.player()) {
        command(battle, standing)?;
    }
    Ok(())
}

/// One player turn by an automatic commander.
fn command(battle: &mut LocalBattle, standing: Option<&Instructions>) -> CliResult {
    let Some(sheet) = fieldpost_commander::sheet(&battle.game, &mut chance()?) else {
        return battle.pass(
            "no orders were found that the referee would accept",
            standing,
        );
    };
    let played = battle.play(&sheet, standing)?;
    played.map_err(|_| {
        CliError::Other("the referee refused what it had accepted; nothing was played".to_owned())
    })
}

/// Chances that nobody knows beforehand.
fn chance() -> CliResult<Chance> {
    Ok(Chance::new(u64::from_le_bytes(random::<8>()?)))
}

/// What happened after an entry, before which the game stood as given.
fn report(battle: &LocalBattle, before: Game, after: u64, output: Output) -> CliResult {
    let (news, game) = tell(&battle.record, before, after);
    output.result(
        &LocalNewsAnswer {
            head: battle.record.head(),
            news: &news,
            to_move: to_move(&game),
        },
        || format!("{}\n{}", paragraphs(&news), whose_turn(&game, None)),
    )
}
