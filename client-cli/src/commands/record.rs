//! `record` and `audit`.

use fieldpost_rules::game::LAWS;
use std::fmt::Write as _;

use fieldpost_rules::record::audit::{Audited, audit as audit_of, holds};
use fieldpost_rules::sanitize::listed;
use serde_json::json;

use super::session::{GameSession, Refresh};
use crate::answers::AuditAnswer;
use crate::arguments::{AuditArgs, CommonArgs, RecordArgs};
use crate::context::Context;
use crate::error::{CliError, CliResult};
use crate::output::Output;
use crate::render;
use crate::storage::files;
use crate::storage::record::{self, Record, hash_bytes};

/// Saves the whole record.
///
/// # Errors
/// When it cannot be read or written.
pub fn record(args: &RecordArgs, common: &CommonArgs, output: Output) -> CliResult {
    let text = if args.fresh {
        let context = Context::load(common)?;
        let client = context.connect(output)?;
        record::fetch(&client, context.game()?, 0)?
    } else {
        let refresh = Refresh::unless_offline(args.offline);
        GameSession::open(common, refresh, output)?
            .record
            .exported()
    };
    match &args.out {
        None => output.print_bytes(text.as_bytes()),
        Some(path) => {
            files::write_plain(path, text.as_bytes())?;
            let count = text.lines().count();
            output.info(&format!("{count} events saved to {}", path.display()));
            Ok(())
        }
    }
}

/// Checks a record from nothing.
///
/// # Errors
/// [`CliError::Mismatch`] when anything in it does not hold.
pub fn audit(args: &AuditArgs, output: Output) -> CliResult {
    let (name, text) = files::read_named(&args.file)?;
    let record = Record::parse(&name, &text)?;
    if let Some(head) = &args.head {
        check_head(&record, &name, head)?;
    }
    let audited = match audit_of(record.lines()) {
        Ok(audited) => audited,
        Err(fault) => {
            if output.json {
                output.print_json(&json!({ "sound": false, "fault": fault }))?;
            }
            return Err(CliError::Mismatch(format!("{name} does not hold: {fault}")));
        }
    };
    output.result(
        &AuditAnswer {
            sound: true,
            entries: audited.entries,
            head: hex::encode(audited.head),
            player_turns: audited.player_turns,
            moves: audited.moves,
            throws: audited.throws,
            opened_under_laws: audited.opened_under,
            laws: audited.game.laws(),
            must_be_signed: audited.must_be_signed,
            signed: audited.signed,
            unsigned: audited.unsigned,
            secrets_renewed: audited.renewals.clone(),
            on_organisers_word: audited.on_organisers_word.clone(),
            player_turns_not_measured: audited.turns_as_recorded,
            moves_not_measured: audited.moves_as_recorded,
        },
        || {
            format!(
                "{name} holds: {} entries in one chain, {} player turns played again, {} moves measured again, \
                 {} throws derived again.\n{}{}head {}\n{}.",
                audited.entries,
                audited.player_turns,
                audited.moves,
                audited.throws,
                not_measured(&audited),
                signatures(&audited),
                hex::encode(audited.head),
                render::turn_line(&audited.game)
            )
        },
    )
}

/// Refuses a record that a remembered head does not stand in: it is another's, or was cut short.
fn check_head(record: &Record, name: &str, head: &str) -> CliResult {
    let head = head.trim().to_ascii_lowercase();
    let Some(bytes) = hash_bytes(&head) else {
        return Err(CliError::Usage(
            "a head is the hash of an entry: 64 hexadecimal digits".to_owned(),
        ));
    };
    if holds(record.lines(), &bytes).is_some() {
        return Ok(());
    }
    let last = record.head();
    Err(CliError::Mismatch(format!(
        "{name} does not hold the head {head}: it was cut short, or is another record. It ends with entry {}, {}",
        last.number, last.hash
    )))
}

/// What the audit found of signatures, renewed secrets and keys on the organiser's word, each a line.
fn signatures(audited: &Audited) -> String {
    let mut lines = match (audited.must_be_signed, audited.signed, audited.unsigned) {
        (true, signed, _) => {
            format!("Whatever a seat did is signed: {signed} signatures checked.\n")
        }
        (false, 0, _) => {
            "This game is played without signatures: a host could have written any of it.\n"
                .to_owned()
        }
        (false, signed, unsigned) => format!(
            "This game may be played without signatures: {signed} were checked, and {unsigned} postings have none.\n"
        ),
    };
    let entries = |numbers: &[u64]| {
        let numbers: Vec<String> = numbers.iter().map(u64::to_string).collect();
        listed(&numbers)
    };
    if !audited.renewals.is_empty() {
        let _ = writeln!(
            lines,
            "Secrets of dice were renewed at entries {}.",
            entries(&audited.renewals)
        );
    }
    if !audited.on_organisers_word.is_empty() {
        let _ = writeln!(
            lines,
            "Signed with a key that is in force on nothing but the organiser's word: entries {}.",
            entries(&audited.on_organisers_word)
        );
    }
    lines
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
