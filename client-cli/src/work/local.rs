//! `local`: a battle on one machine, kept in a file as a server would keep its record; by two people in
//! turn, or by one against an automatic commander.
//!
//! The secret of the next player turn's dice stands in a second file beside it, for this user's
//! eyes only; nothing but the player's honesty keeps it unread, which is said in the help.

use std::path::Path;

use fieldpost_commander::Chance;
use fieldpost_rules::game::{Battlefield, Game};
use fieldpost_rules::orders::{Instructions, SideId};
use fieldpost_rules::referee::judge_sheet;
use fieldpost_rules::shipped::Shipped;
use serde_json::json;

use super::news::{paragraphs, tell, to_move, whose_turn};
use super::{battles, table, trying, write};
use crate::failure::{Failure, Outcome};
use crate::keep::battle::Battle;
use crate::keep::{files, random};
use crate::out::{Out, text_columns};
use crate::sheet;
use crate::shown;
use crate::typed::{
    LocalArgs, LocalCommand, LocalNewArgs, LocalPostArgs, LocalReplyArgs, LocalSheetArgs,
};

/// Plays a battle kept in a file.
///
/// # Errors
/// When the file cannot be read or written, or a sheet is not valid.
pub fn local(args: &LocalArgs, out: Out) -> Outcome {
    match &args.command {
        LocalCommand::New(args) => new(args, out),
        LocalCommand::Table { battle, pictures } => {
            let game = Battle::read(battle)?.game;
            pictures.answer(
                || shown::table_svg(&game, shown::TableOptions::default()),
                &table::as_data(&game, game.events_seen()),
                || shown::table_text(&game, text_columns(None), None),
                out,
            )
        }
        LocalCommand::News { battle } => {
            let battle = Battle::read(battle)?;
            news(&battle, battle.record.game_after(Some(0))?, 0, out)
        }
        LocalCommand::Try(args) => try_sheet(args, out),
        LocalCommand::Post(args) => post(args, out),
        LocalCommand::Reply(args) => reply(args, out),
    }
}

fn new(args: &LocalNewArgs, out: Out) -> Outcome {
    let (ruleset, scenario, path) = match args.files.as_slice() {
        [key, path] => {
            let shipped = battles::find(&key.to_string_lossy())?;
            let text = |file: Shipped| (file.file_name(), file.text.to_owned());
            (text(shipped.ruleset), text(shipped.scenario), path)
        }
        [ruleset, scenario, path] => (
            files::read_named(ruleset)?,
            files::read_named(scenario)?,
            path,
        ),
        _ => {
            return Err(Failure::Usage(
                "name a battle, or a ruleset and a scenario, and then the file to keep it in"
                    .to_owned(),
            ));
        }
    };
    let field = write::field((&ruleset.0, &ruleset.1), (&scenario.0, &scenario.1))?;
    let opponent = args.opponent.as_deref();
    let opponent = match opponent {
        None => None,
        Some(name) => Some((
            side_called(&field, name)?,
            fieldpost_commander::instructions(&mut chance()?),
        )),
    };
    let mut battle = Battle::begin(path, ruleset.1, scenario.1, opponent)?;
    let begun = battle.game.clone();
    let seen = battle.record.head().number;
    answer(&mut battle, None)?;
    let (told, after) = tell(&battle.record, begun, seen);
    out.result(
        &json!({ "battle": path, "name": field.scenario.name, "head": battle.record.head(), "news": told }),
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
            if !told.is_empty() {
                text.push_str(&format!("\n{}\n{}\n", paragraphs(&told), whose_turn(&after, None)));
            }
            text.push_str(&format!("Next: fieldpost local table {}", path.display()));
            text
        },
    )
}

/// The side that someone names by its key or its name.
fn side_called(field: &Battlefield, name: &str) -> Outcome<SideId> {
    let sides = &field.scenario.side;
    let is_meant = |known: &str| known.to_lowercase() == name.trim().to_lowercase();
    let found = sides
        .iter()
        .find(|side| is_meant(&side.key) || is_meant(&side.name));
    found.map(|side| SideId(side.key.clone())).ok_or_else(|| {
        let keys: Vec<&str> = sides.iter().map(|side| side.key.as_str()).collect();
        Failure::Usage(format!(
            "{name:?} is no side of {}; there are {}",
            field.scenario.name,
            keys.join(" and ")
        ))
    })
}

fn try_sheet(args: &LocalSheetArgs, out: Out) -> Outcome {
    let battle = Battle::read(&args.battle)?;
    let game = &battle.game;
    let sheet = sheet::read(&args.file.sheet, game, out)?;
    let verdict = judge_sheet(game, &sheet);
    trying::draw(&args.pictures, game, &sheet, &verdict, out)?;
    trying::answer(game, &battle.record.head(), &sheet, &verdict, out)
}

fn post(args: &LocalPostArgs, out: Out) -> Outcome {
    let mut battle = Battle::read(&args.battle)?;
    let before = battle.game.clone();
    let head = battle.record.head();
    still_on(&before)?;
    if battle.automatic() == Some(before.player()) {
        return Err(Failure::Plain(format!(
            "it is the turn of the automatic commander; let it play: fieldpost local reply {}",
            args.battle.display()
        )));
    }
    let sheet = sheet::read(&args.file.sheet, &before, out)?;
    sheet::must_order(&sheet, &args.file.sheet, args.all_stand, out)?;
    // against an automatic commander they are the player's own, for its answer
    let own = 1 - battle.automatic().unwrap_or(before.player());
    let given = instructions(args.standing.as_deref(), &before, own, out)?;
    let (at_once, afterwards) = match battle.automatic() {
        Some(_) => (None, given.as_ref()),
        None => (given.as_ref(), None),
    };
    if let Err(verdict) = battle.play(&sheet, at_once)? {
        return trying::answer(&before, &head, &sheet, &verdict, out);
    }
    answer(&mut battle, afterwards)?;
    news(&battle, before, head.number, out)
}

/// Nothing is played once a battle is over.
fn still_on(game: &Game) -> Outcome {
    match game.ending() {
        None => Ok(()),
        Some(_) => Err(Failure::Plain(format!("{}.", shown::turn_line(game)))),
    }
}

/// Standing instructions of a side out of a file, if one is named.
fn instructions(
    path: Option<&Path>,
    game: &Game,
    side: usize,
    out: Out,
) -> Outcome<Option<Instructions>> {
    let read = |path| sheet::read_instructions(path, game, &game.side_id(side), out);
    path.map(read).transpose()
}

/// Lets an automatic commander play for whoever is to move, and then for the side that it has.
fn reply(args: &LocalReplyArgs, out: Out) -> Outcome {
    let mut battle = Battle::read(&args.battle)?;
    let before = battle.game.clone();
    let seen = battle.record.head().number;
    still_on(&before)?;
    // the side that the player has: the one no automatic commander was given, else the one that waits
    let own = 1 - battle.automatic().unwrap_or(before.player());
    let given = instructions(args.standing.as_deref(), &before, own, out)?;
    let mut played = 0;
    while battle.game.ending().is_none() && (args.to_the_end || played < args.turns) {
        let waits = 1 - battle.game.player() == own;
        command(&mut battle, given.as_ref().filter(|_| waits))?;
        played += 1;
    }
    answer(&mut battle, given.as_ref())?;
    news(&battle, before, seen, out)
}

/// Lets the automatic commander play as long as it is its turn.
fn answer(battle: &mut Battle, standing: Option<&Instructions>) -> Outcome {
    while battle.game.ending().is_none() && battle.automatic() == Some(battle.game.player()) {
        command(battle, standing)?;
    }
    Ok(())
}

/// One player turn by an automatic commander.
fn command(battle: &mut Battle, standing: Option<&Instructions>) -> Outcome {
    let Some(sheet) = fieldpost_commander::sheet(&battle.game, &mut chance()?) else {
        return battle.pass(
            "no orders were found that the referee would accept",
            standing,
        );
    };
    let played = battle.play(&sheet, standing)?;
    played.map_err(|_| {
        Failure::Plain("the referee refused what it had accepted; nothing was played".to_owned())
    })
}

/// Chances that nobody knows beforehand.
fn chance() -> Outcome<Chance> {
    Ok(Chance::new(u64::from_le_bytes(random::<8>()?)))
}

/// What happened after an entry, before which the game stood as given.
fn news(battle: &Battle, before: Game, after: u64, out: Out) -> Outcome {
    let (news, game) = tell(&battle.record, before, after);
    out.result(
        &json!({ "head": battle.record.head(), "news": news, "to_move": to_move(&game) }),
        || format!("{}\n{}", paragraphs(&news), whose_turn(&game, None)),
    )
}
