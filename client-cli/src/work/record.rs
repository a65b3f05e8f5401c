//! `record` and `audit`.

use fieldpost_rules::game::LAWS;
use fieldpost_rules::record::audit::{Audited, audit as audit_of};
use serde_json::json;

use super::story::{Ask, Story};
use crate::failure::{Failure, Outcome};
use crate::keep::files;
use crate::keep::record::{self, Record};
use crate::keep::signing::must_sign;
use crate::meant::Meant;
use crate::out::Out;
use crate::shown;
use crate::typed::{AuditArgs, Common, RecordArgs};

/// Saves the whole record.
///
/// # Errors
/// When it cannot be read or written.
pub fn record(args: &RecordArgs, common: &Common, out: Out) -> Outcome {
    let text = if args.fresh {
        let meant = Meant::by(common)?;
        let office = meant.office(out)?;
        record::fetch(&office, meant.game()?, 0)?
    } else {
        let ask = Ask::unless(args.offline);
        Story::at_hand(common, ask, out)?.record.exported()
    };
    match &args.out {
        None => out.raw(text.as_bytes()),
        Some(path) => {
            files::write_plain(path, text.as_bytes())?;
            let count = text.lines().count();
            out.remark(&format!("{count} events saved to {}", path.display()));
            Ok(())
        }
    }
}

/// Checks a record from nothing.
///
/// # Errors
/// [`Failure::Mismatch`] when anything in it does not hold.
pub fn audit(args: &AuditArgs, out: Out) -> Outcome {
    let (name, text) = files::read_named(&args.file)?;
    let record = Record::parse(&name, &text)?;
    let audited = match audit_of(record.lines()) {
        Ok(audited) => audited,
        Err(fault) => {
            if out.json {
                out.json(&json!({ "sound": false, "fault": fault }))?;
            }
            return Err(Failure::Mismatch(format!("{name} does not hold: {fault}")));
        }
    };
    out.result(
        &json!({ "sound": true, "entries": audited.entries, "head": hex::encode(audited.head),
            "signed": must_sign(&record), "player_turns": audited.player_turns, "moves": audited.moves, "throws": audited.throws,
            "opened_under_laws": audited.opened_under, "laws": audited.game.laws(),
            "player_turns_not_measured": audited.turns_as_recorded,
            "moves_not_measured": audited.moves_as_recorded }),
        || {
            format!(
                "{name} holds: {} entries in one chain, {} player turns played again, {} moves measured again, \
                 {} throws derived again.\n{}{}head {}\n{}.",
                audited.entries,
                audited.player_turns,
                audited.moves,
                audited.throws,
                not_measured(&audited),
                not_signed(&record),
                hex::encode(audited.head),
                shown::turn_line(&audited.game)
            )
        },
    )
}

/// What was judged by older laws, a line; nothing where there is none.
fn not_measured(audited: &Audited) -> String {
    match (audited.turns_as_recorded, audited.moves_as_recorded) {
        (0, _) => String::new(),
        (turns, moves) => format!(
            "The verdicts of {turns} player turns and {moves} moves were given under laws {} and were not measured \
             again: this program judges by laws {LAWS}. Their chain, dice and seals hold.\n",
            audited.opened_under
        ),
    }
}

/// That a game was opened without signatures, a line; nothing where it was opened with them.
fn not_signed(record: &Record) -> &'static str {
    match must_sign(record) {
        true => "",
        false => {
            "It was opened without signatures: that a sheet is its player's is the word of whoever kept the record.\n"
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn audited(file: &str) -> Audited {
        let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("../rules-core/records")
            .join(file);
        let text = std::fs::read_to_string(path).unwrap();
        let record = Record::parse(file, &text).unwrap();
        audit_of(record.lines()).unwrap()
    }

    #[test]
    fn verdicts_of_older_laws_are_said_to_be_unmeasured() {
        let old = not_measured(&audited("laws-1/three-cairns.ndjson"));
        assert!(
            old.starts_with("The verdicts of 16 player turns and ")
                && old.contains("given under laws 1 and were not measured again"),
            "{old}"
        );
        let mut measured = audited("laws-1/three-cairns.ndjson");
        measured.turns_as_recorded = 0;
        assert_eq!(not_measured(&measured), "");
    }
}
