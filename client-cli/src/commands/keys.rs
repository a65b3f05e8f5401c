//! `keys`: the keys that seats sign with.

use fieldpost_rules::game::Event;
use fieldpost_rules::record::PostingKind;
use jiff::Timestamp;
use serde_json::{Value, json};
use ureq::http::Method;

use super::clock::done_in_words;
use super::columns;
use super::session::{GameSession, Refresh};
use crate::arguments::{CommonArgs, KeysArgs, KeysCommand};
use crate::context::require_id;
use crate::error::{CliError, CliResult};
use crate::output::Output;
use crate::signing::{SigningKey, readable_fingerprint};

/// Shows the keys, or does something about them.
///
/// # Errors
/// When the server refuses, or a key cannot be kept.
pub fn keys(args: &KeysArgs, common: &CommonArgs, output: Output) -> CliResult {
    match &args.command {
        None | Some(KeysCommand::List) => list(common, output),
        Some(KeysCommand::New) => new(common, output),
        Some(KeysCommand::Add { public }) => {
            let body = json!({ "key": public });
            post(common, PostingKind::KeyAdded, "keys", &body, output)
        }
        Some(KeysCommand::Remove { public }) => {
            let body = json!({ "key": public });
            post(
                common,
                PostingKind::KeyRemoved,
                "keys/removals",
                &body,
                output,
            )
        }
        Some(KeysCommand::Replace { id, public, reason }) => {
            require_id(id, "seat", "fieldpost keys")?;
            let body = json!({ "seat": id, "key": public, "reason": reason });
            let rest = "keys/replacements";
            post(common, PostingKind::KeyReplaced, rest, &body, output)
        }
        Some(KeysCommand::Countersign { id, public }) => {
            require_id(id, "seat", "fieldpost keys")?;
            let body = json!({ "seat": id, "key": public });
            let rest = "keys/countersignatures";
            post(common, PostingKind::KeyCountersigned, rest, &body, output)
        }
    }
}

fn post(
    common: &CommonArgs,
    kind: PostingKind,
    rest: &str,
    body: &Value,
    output: Output,
) -> CliResult {
    let mut session = GameSession::open(common, Refresh::Always, output)?;
    if kind == PostingKind::KeyReplaced {
        session.seat_organiser(output)?;
    }
    let body = body.to_string();
    let done = session.post(kind, &Method::POST, rest, Some(body.as_bytes()))?;
    output.result(&done, || done_in_words(&done))
}

/// Every seat's keys, in digits to be read aloud.
fn list(common: &CommonArgs, output: Output) -> CliResult {
    let session = GameSession::open(common, Refresh::Always, output)?;
    let own = own_key(&session)?;
    let (record_state, now) = (session.record.fold()?.record_state, Timestamp::now());
    let data: Vec<Value> = record_state
        .seats()
        .map(|seat| {
            json!({ "seat": seat, "held_by": held_by(&session, seat), "keys": record_state.keys(seat, now),
                "replacing": record_state.key_to_come(seat, now),
                "on_organisers_word": record_state.is_on_organisers_word(seat, now) })
        })
        .collect();
    let own_public = own.as_ref().map(SigningKey::public);
    output.result(&json!({ "seats": data, "own": own_public }), || {
        let mut rows = Vec::new();
        for seat in record_state.seats() {
            let shown = |key: &str, how: &str| {
                let is_own = own_public.as_deref() == Some(key);
                [
                    seat.to_owned(),
                    held_by(&session, seat),
                    readable_fingerprint(key),
                    if is_own { "this machine's" } else { how }.to_owned(),
                ]
            };
            let how = match record_state.is_on_organisers_word(seat, now) {
                true => "on the organiser's word",
                false => "",
            };
            rows.extend(
                record_state
                    .keys(seat, now)
                    .into_iter()
                    .map(|key| shown(key, how)),
            );
            let waits = record_state.key_to_come(seat, now);
            rows.extend(waits.map(|key| shown(key, "waits: to be countersigned")));
        }
        match rows.is_empty() {
            true => "Nobody signs in this game.".to_owned(),
            false => columns(["seat", "held by", "key, to be read aloud", ""], rows),
        }
    })
}

/// Who took a seat, by what the record says.
fn held_by(session: &GameSession, seat: &str) -> String {
    let entries = session.record.entries().iter().rev();
    let mut names = entries.filter_map(|entry| match &entry.event {
        Event::SeatTaken {
            seat: Some(taken),
            side,
            player,
            ..
        } if taken == seat => Some(format!("{player}, {side}")),
        Event::UmpireSeated {
            seat: taken,
            player,
            ..
        } if taken == seat => Some(format!("{player}, umpire")),
        _ => None,
    });
    names.next().unwrap_or_default()
}

fn own_key(session: &GameSession) -> CliResult<Option<SigningKey>> {
    let seat = session.context.seat.as_ref();
    let key = seat.and_then(|(_, seat)| seat.signing_key.as_deref());
    key.map(SigningKey::from_hex).transpose()
}

/// Makes a key for a seat that is kept here without one, or shows the one it has.
fn new(common: &CommonArgs, output: Output) -> CliResult {
    let mut session = GameSession::open(common, Refresh::Always, output)?;
    let Some((name, seat)) = session.context.seat.clone() else {
        return Err(CliError::Usage(
            "for which seat? Keep its key first: fieldpost seats keep".to_owned(),
        ));
    };
    let key = match own_key(&session)? {
        Some(key) => key,
        None => {
            let key = SigningKey::fresh()?;
            session.context.save_signing_key(&name, &key)?;
            key
        }
    };
    let (public, seat) = (key.public(), seat.seat_id.unwrap_or_default());
    output.result(
        &json!({ "seat": name, "key": public, "read_aloud": readable_fingerprint(&public) }),
        || {
            format!(
                "This machine's key for {name}:\n  {public}\nto be read aloud:\n  {}\n\
                 On a device that signs for the seat already: fieldpost keys add {public}\n\
                 If none is left, the organiser says: fieldpost keys replace {seat} {public} \"why\"",
                readable_fingerprint(&public)
            )
        },
    )
}
