//! `local`: both sides on one machine, the battle in a file as a server would keep its record.
//!
//! The secret of the next player turn's dice stands in a second file beside it, for this user's
//! eyes only; nothing but the player's honesty keeps it unread, which is said in the help.

use std::path::{Path, PathBuf};

use fieldpost_rules::dice::{Bytes32, commitment};
use fieldpost_rules::game::Event;
use fieldpost_rules::orders::Instructions;
use fieldpost_rules::record::{BEFORE_THE_FIRST, seal};
use fieldpost_rules::referee::{Posting, judge_sheet, play};
use fieldpost_rules::shipped::Shipped;
use serde_json::json;

use super::news::{paragraphs, tell, whose_turn};
use super::{battles, posting, table, trying, write};
use crate::failure::{Failure, Outcome};
use crate::keep::files;
use crate::keep::record::{Record, hash_bytes};
use crate::out::Out;
use crate::sheet;
use crate::shown;
use crate::typed::{LocalArgs, LocalCommand, LocalNewArgs, LocalPostArgs, LocalSheetArgs};

/// Plays a battle kept in a file.
///
/// # Errors
/// When the file cannot be read or written, or a sheet is not valid.
pub fn local(args: &LocalArgs, out: Out) -> Outcome {
    match &args.command {
        LocalCommand::New(args) => new(args, out),
        LocalCommand::Table { battle, pictures } => {
            let game = read(battle)?.game_after(None)?;
            if pictures.any() {
                return pictures.draw(&shown::table_svg(&game, false), out);
            }
            out.result(&table::as_data(&game, game.events_seen()), || {
                shown::table_text(&game, table::columns(None))
            })
        }
        LocalCommand::News { battle } => {
            let record = read(battle)?;
            let (news, game) = tell(&record, record.game_after(Some(0))?, 0);
            out.result(&json!({ "head": record.head(), "news": news }), || {
                format!("{}\n{}", paragraphs(&news), whose_turn(&game, None))
            })
        }
        LocalCommand::Try(args) => try_sheet(args, out),
        LocalCommand::Post(args) => post(args, out),
    }
}

fn read(path: &Path) -> Outcome<Record> {
    let (name, text) = files::read_named(path)?;
    let record = Record::parse(&name, &text)?;
    if record.game_id().is_none() {
        return Err(Failure::NotValid(format!(
            "error: {name} holds no battle; begin one: fieldpost local new BATTLE FILE"
        )));
    }
    Ok(record)
}

/// The file of the secret that goes with a battle's file.
fn secret_path(battle: &Path) -> PathBuf {
    let mut name = battle.as_os_str().to_owned();
    name.push(".secret");
    PathBuf::from(name)
}

fn keep_secret(battle: &Path, secret: &Bytes32) -> Outcome {
    files::write_private(
        &secret_path(battle),
        format!("{}\n", hex::encode(secret)).as_bytes(),
    )
}

fn now() -> String {
    let now = jiff::Timestamp::now();
    now.strftime("%Y-%m-%dT%H:%M:%SZ").to_string()
}

fn new(args: &LocalNewArgs, out: Out) -> Outcome {
    let (ruleset, scenario, battle) = match args.files.as_slice() {
        [key, battle] => {
            let shipped = battles::find(&key.to_string_lossy())?;
            let text = |file: Shipped| (file.file_name(), file.text.to_owned());
            (text(shipped.ruleset), text(shipped.scenario), battle)
        }
        [ruleset, scenario, battle] => (
            files::read_named(ruleset)?,
            files::read_named(scenario)?,
            battle,
        ),
        _ => {
            return Err(Failure::Usage(
                "name a battle, or a ruleset and a scenario, and then the file to keep it in"
                    .to_owned(),
            ));
        }
    };
    if battle.exists() {
        return Err(Failure::Plain(format!(
            "{} is there already; choose another name",
            battle.display()
        )));
    }
    let field = write::field((&ruleset.0, &ruleset.1), (&scenario.0, &scenario.1))?;
    let (game_id, secret) = (posting::random::<16>()?, posting::random::<32>()?);
    let opened = Event::Opened {
        format: 1,
        game: hex::encode(game_id),
        ruleset: ruleset.1,
        scenario: scenario.1,
        commitment: hex::encode(commitment(&game_id, 1, &secret)),
    };
    let record = Record::of(&sealed((0, BEFORE_THE_FIRST), vec![opened])?);
    keep_secret(battle, &secret)?;
    files::write_private(battle, record.exported().as_bytes())?;
    out.result(
        &json!({ "battle": battle, "name": field.scenario.name, "head": record.head() }),
        || {
            format!(
                "{} begins, kept in {}.\nNext: fieldpost local table {}",
                field.scenario.name,
                battle.display(),
                battle.display()
            )
        },
    )
}

fn sealed(
    head: (u64, Bytes32),
    events: Vec<Event>,
) -> Outcome<Vec<fieldpost_rules::record::Sealed>> {
    seal(head, &now(), events)
        .map_err(|error| Failure::Plain(format!("the events cannot be sealed: {error}")))
}

fn try_sheet(args: &LocalSheetArgs, out: Out) -> Outcome {
    let record = read(&args.battle)?;
    let game = record.game_after(None)?;
    let sheet = sheet::read(&args.file.sheet, &game, out)?;
    let verdict = judge_sheet(&game, &sheet);
    trying::draw(&args.pictures, &game, &sheet, &verdict, out)?;
    trying::answer(&game, &record.head(), &sheet, &verdict, out)
}

fn post(args: &LocalPostArgs, out: Out) -> Outcome {
    let record = read(&args.battle)?;
    let game = record.game_after(None)?;
    let sheet = sheet::read(&args.file.sheet, &game, out)?;
    let waiting = game.side_id(1 - game.player());
    let standing = match &args.standing {
        None => Instructions::default(),
        Some(path) => sheet::read_instructions(path, &game, &waiting, out)?,
    };
    let head = record.head();
    let spoilt = || Failure::Mismatch(format!("{} is spoilt", args.battle.display()));
    let previous_hash = hash_bytes(&head.hash).ok_or_else(spoilt)?;
    let mut game_id = [0; 16];
    let id = record.game_id().unwrap_or_default();
    hex::decode_to_slice(id, &mut game_id).map_err(|_| spoilt())?;
    let secret = secret_of(&args.battle)?;
    let next_secret = posting::random::<32>()?;
    let turn = Posting {
        sheet: &sheet,
        standing: &standing,
        game_id,
        previous_hash,
        secret,
        number: posting::random::<32>()?,
        next_commitment: commitment(&game_id, game.player_turn() + 1, &next_secret),
        sealed: &[],
    };
    let events = match play(&game, &turn) {
        Ok(events) => events,
        Err(verdict) => return trying::answer(&game, &head, &sheet, &verdict, out),
    };
    let new = Record::of(&sealed((head.number, previous_hash), events)?);
    let text = record.exported() + &new.exported();
    let record = Record::parse("the battle", &text)?;
    // the old secret is of no more use once the turn is written; a crash between the two writes
    // leaves a turn that was not played
    let kept = secret_path(&args.battle);
    let next = kept.with_extension("secret-next");
    files::write_private(&next, format!("{}\n", hex::encode(next_secret)).as_bytes())?;
    files::write_private(&args.battle, text.as_bytes())?;
    std::fs::rename(&next, &kept).map_err(|error| Failure::of_file("write", &kept, &error))?;
    let (news, after) = tell(&record, game, head.number);
    out.result(&json!({ "head": record.head(), "news": news }), || {
        format!("{}\n{}", paragraphs(&news), whose_turn(&after, None))
    })
}

/// The secret committed to, checked against nothing here: the audit does that.
fn secret_of(battle: &Path) -> Outcome<Bytes32> {
    let path = secret_path(battle);
    let text = files::read_if_there(&path)?;
    text.as_deref()
        .and_then(|text| hash_bytes(text.trim()))
        .ok_or_else(|| {
            Failure::Plain(format!(
                "{}, which holds the secret of the next dice, is gone or spoilt: the battle can be looked at, not gone on with",
                path.display()
            ))
        })
}
