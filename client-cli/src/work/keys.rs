//! `keys`: the keys that seats sign with.

use fieldpost_rules::game::Event;
use fieldpost_rules::record::PostingKind;
use jiff::Timestamp;
use serde_json::{Value, json};
use ureq::http::Method;

use super::by_post::told;
use super::columns;
use super::story::{Ask, Story};
use crate::failure::{Failure, Outcome};
use crate::keep::signing::{SigningKey, spoken};
use crate::meant::must_be_id;
use crate::out::Out;
use crate::typed::{Common, KeysArgs, KeysCommand};

/// Shows the keys, or does something about them.
///
/// # Errors
/// When the server refuses, or a key cannot be kept.
pub fn keys(args: &KeysArgs, common: &Common, out: Out) -> Outcome {
    match &args.command {
        None | Some(KeysCommand::List) => list(common, out),
        Some(KeysCommand::New) => new(common, out),
        Some(KeysCommand::Add { public }) => {
            let body = json!({ "key": public });
            post(common, PostingKind::KeyAdded, "keys", &body, out)
        }
        Some(KeysCommand::Remove { public }) => {
            let body = json!({ "key": public });
            post(common, PostingKind::KeyRemoved, "keys/removals", &body, out)
        }
        Some(KeysCommand::Replace { id, public, reason }) => {
            must_be_id(id, "seat", "fieldpost keys")?;
            let body = json!({ "seat": id, "key": public, "reason": reason });
            let rest = "keys/replacements";
            post(common, PostingKind::KeyReplaced, rest, &body, out)
        }
        Some(KeysCommand::Countersign { id, public }) => {
            must_be_id(id, "seat", "fieldpost keys")?;
            let body = json!({ "seat": id, "key": public });
            let rest = "keys/countersignatures";
            post(common, PostingKind::KeyCountersigned, rest, &body, out)
        }
    }
}

fn post(common: &Common, kind: PostingKind, rest: &str, body: &Value, out: Out) -> Outcome {
    let mut story = Story::at_hand(common, Ask::Server, out)?;
    if kind == PostingKind::KeyReplaced {
        story.seat_organiser(out)?;
    }
    let body = body.to_string();
    let done = story.post(kind, &Method::POST, rest, Some(body.as_bytes()))?;
    out.result(&done, || told(&done))
}

/// Every seat's keys, in digits to be read aloud.
fn list(common: &Common, out: Out) -> Outcome {
    let story = Story::at_hand(common, Ask::Server, out)?;
    let own = own_key(&story)?;
    let (record_state, now) = (story.record.fold()?.record_state, Timestamp::now());
    let data: Vec<Value> = record_state
        .seats()
        .map(|seat| {
            json!({ "seat": seat, "held_by": held_by(&story, seat), "keys": record_state.keys(seat, now),
                "replacing": record_state.key_to_come(seat, now),
                "on_organisers_word": record_state.is_on_organisers_word(seat, now) })
        })
        .collect();
    let own_public = own.as_ref().map(SigningKey::public);
    out.result(&json!({ "seats": data, "own": own_public }), || {
        let mut rows = Vec::new();
        for seat in record_state.seats() {
            let shown = |key: &str, how: &str| {
                let is_own = own_public.as_deref() == Some(key);
                [
                    seat.to_owned(),
                    held_by(&story, seat),
                    spoken(key),
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
fn held_by(story: &Story, seat: &str) -> String {
    let entries = story.record.entries().iter().rev();
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

fn own_key(story: &Story) -> Outcome<Option<SigningKey>> {
    let seat = story.meant.seat.as_ref();
    let key = seat.and_then(|(_, seat)| seat.signing_key.as_deref());
    key.map(SigningKey::from_hex).transpose()
}

/// Makes a key for a seat that is kept here without one, or shows the one it has.
fn new(common: &Common, out: Out) -> Outcome {
    let mut story = Story::at_hand(common, Ask::Server, out)?;
    let Some((name, seat)) = story.meant.seat.clone() else {
        return Err(Failure::Usage(
            "for which seat? Keep its key first: fieldpost seats keep".to_owned(),
        ));
    };
    let key = match own_key(&story)? {
        Some(key) => key,
        None => {
            let key = SigningKey::fresh()?;
            story.meant.keep_signing_key(&name, &key)?;
            key
        }
    };
    let (public, seat) = (key.public(), seat.seat_id.unwrap_or_default());
    out.result(
        &json!({ "seat": name, "key": public, "read_aloud": spoken(&public) }),
        || {
            format!(
                "This machine's key for {name}:\n  {public}\nto be read aloud:\n  {}\n\
                 On a device that signs for the seat already: fieldpost keys add {public}\n\
                 If none is left, the organiser says: fieldpost keys replace {seat} {public} \"why\"",
                spoken(&public)
            )
        },
    )
}
