//! Forged entries: of every kind of event one that has no cause, at the end of a record where nothing signed follows
//! that would give it away.

use std::collections::BTreeSet;

use fieldpost_rules::game::{Event, WhenOut};
use fieldpost_rules::orders::{SideId, UnitId};
use fieldpost_rules::record::audit::{Line, audit};
use fieldpost_rules::record::{BEFORE_THE_FIRST, seal};
use fieldpost_rules::referee;
use serde_json::{Value, json};

use crate::post::{Post, chained, entries, random_game};
use crate::sound::games_of_every_kind;

/// What an audit says of a record with these events, which nobody signed, at its end.
fn with(post: &Post, events: Vec<Event>) -> Result<u64, String> {
    with_at(post, None, events)
}

fn with_at(post: &Post, at: Option<&str>, events: Vec<Event>) -> Result<u64, String> {
    let mut lines = post.lines.clone();
    let last = lines.last().expect("not empty");
    let entry: Value = serde_json::from_str(&last.body).expect("JSON");
    let at = at.map_or_else(
        || entry["at"].as_str().expect("a moment").to_owned(),
        str::to_owned,
    );
    let hash = hex::decode(&last.hash)
        .expect("hex")
        .try_into()
        .expect("32 bytes");
    let sealed = seal((last.number, hash), &at, events).expect("canonical");
    lines.extend(sealed.into_iter().map(|sealed| Line {
        number: sealed.entry.number,
        hash: hex::encode(sealed.hash),
        body: sealed.body,
    }));
    let audited = audit(&lines).map_err(|fault| fault.to_string())?;
    Ok(audited.entries)
}

fn nobody() -> SideId {
    SideId("green".to_owned())
}

/// Without signatures as well: what the audit took before.
#[test]
fn events_without_a_cause_are_found_in_unsigned_games() {
    let post = Post::open(3, false, None);
    let with_clock = Post::open(3, false, Some(WhenOut::Claim));
    let unit = post.fold.game.on_table().next().expect("somebody stands");
    let (id, to) = (unit.id.clone(), unit.pose().expect("it stands"));
    let off = fieldpost_rules::geometry::Pose {
        x_um: -900_000,
        ..to
    };
    let corrected = |unit: UnitId, to| Event::PositionCorrected {
        unit,
        to,
        reason: "So it is.".to_owned(),
    };
    let ruling = || Event::RulingGiven {
        about: None,
        text: "So it is.".to_owned(),
    };
    let (red, blue) = (post.side(0), post.side(1));
    let end = |winner: &SideId| referee::stop(&post.fold.game, Some(winner.clone()), "so", &[]);
    let leave = |side: &SideId| Event::LeaveTaken {
        side: side.clone(),
        from: "2026-08-01".to_owned(),
        days: 3,
    };
    let waits = post
        .fold
        .game
        .units()
        .find(|unit| !unit.is_on_table())
        .expect("somebody waits");
    let told = |event: Event| with(&post, vec![event]).expect_err("without a cause");
    let told_all = |events: Vec<Event>| with(&post, events).expect_err("without a cause");
    let both = |told: String, part: &str| assert!(told.contains(part), "{told}");

    both(
        told(corrected(id.clone(), to)),
        "without a ruling before it",
    );
    both(
        told_all(vec![ruling(), corrected(id.clone(), off)]),
        "off the table",
    );
    both(
        told_all(vec![ruling(), corrected(waits.id.clone(), to)]),
        "not on the table",
    );
    both(
        told_all(vec![ruling(), corrected("ghost-9".into(), to)]),
        "no order of battle",
    );
    both(
        told_all(vec![Event::TimeClaimed { side: blue.clone() }, end(&blue)]),
        "no clock",
    );
    both(
        with(
            &with_clock,
            vec![Event::TimeClaimed { side: blue.clone() }, end(&blue)],
        )
        .expect_err("too early"),
        "there was time until",
    );
    both(
        told_all(vec![Event::Conceded { side: nobody() }, end(&red)]),
        "is no side",
    );
    both(told(leave(&nobody())), "is no side");
    both(told(leave(&red)), "no clock");
    both(
        told(Event::Paused {
            why: "so".to_owned(),
        }),
        "nobody called for",
    );
    both(
        told(Event::Resumed {
            why: "so".to_owned(),
        }),
        "the clocks are running",
    );
    both(
        told(Event::DeadlineMoved {
            side: red.clone(),
            days: 3,
            reason: "so".to_owned(),
        }),
        "without a ruling before it",
    );
    both(
        told(Event::TurnPassed {
            side: red.clone(),
            why: "so".to_owned(),
        }),
        "the game's clock says otherwise",
    );
    both(told(end(&red)), "nothing before it ends it so");
    both(
        told(Event::Conceded { side: red.clone() }),
        "before what must follow",
    );
    both(
        told(Event::ZoneSet {
            side: red.clone(),
            zone: "Mars/Olympus".to_owned(),
        }),
        "no such time zone",
    );
    both(
        told(Event::DisputeRaised {
            side: red.clone(),
            about: Some(99),
            text: "?".to_owned(),
        }),
        "has not happened",
    );
    both(
        told(Event::SeatFreed {
            seat: "no such seat".to_owned(),
        }),
        "nobody has taken that seat",
    );
    both(
        told(Event::Removed {
            unit: id,
            cause: fieldpost_rules::game::Cause::Eliminated,
        }),
        "outside any player turn",
    );
    let early = with_at(&post, Some("2026-05-31T12:00:00Z"), vec![ruling()]).expect_err("earlier");
    both(early, "times run backwards");
    let odd =
        with_at(&post, Some("2026-06-02T12:00:00.000Z"), vec![ruling()]).expect_err("another form");
    both(odd, "not written as moments are");
}

/// In a signed game nothing that a seat does can be made up, not even what would have a cause.
#[test]
fn what_nobody_signed_is_found_in_signed_games() {
    let post = Post::open(4, true, Some(WhenOut::Claim));
    let (red, blue) = (post.side(0), post.side(1));
    let seat = post.device(Some(0)).seat;
    let key = hex::encode(fieldpost_rules::record::public_key(&[1; 32]));
    let end = |winner: &SideId| referee::stop(&post.fold.game, Some(winner.clone()), "so", &[]);
    let text = || "So it is.".to_owned();
    let clock = post.fold.clock.rules().expect("a clock").clone();
    for events in [
        vec![Event::InstructionsChanged {
            side: red.clone(),
            seal: "00".repeat(32),
        }],
        vec![Event::DisputeRaised {
            side: red.clone(),
            about: None,
            text: text(),
        }],
        vec![Event::RulingGiven {
            about: None,
            text: text(),
        }],
        vec![Event::Conceded { side: red.clone() }, end(&blue)],
        vec![Event::LeaveTaken {
            side: red.clone(),
            from: "2026-08-01".to_owned(),
            days: 3,
        }],
        vec![Event::ZoneSet {
            side: red.clone(),
            zone: "Europe/Lisbon".to_owned(),
        }],
        vec![Event::PauseAsked { side: red.clone() }],
        vec![Event::ClockSet { clock }],
        vec![Event::KeyAdded {
            seat: seat.clone(),
            key: key.clone(),
        }],
        vec![Event::UmpireAccepted {
            side: red.clone(),
            seat: "organiser".to_owned(),
        }],
    ] {
        let kind = events[0].kind();
        let told = with(&post, events).expect_err(kind);
        assert!(told.contains("must be signed"), "{kind}: {told}");
    }
    let told = with(
        &post,
        vec![Event::KeyRemoved {
            seat: seat.clone(),
            key,
        }],
    )
    .expect_err("no such key");
    assert!(told.contains("no such key"), "{told}");
    // a seat that signs is not put into other hands in silence
    let taken = Event::SeatTaken {
        side: red,
        player: "Somebody".to_owned(),
        seat: Some(seat),
        key: Some(hex::encode(fieldpost_rules::record::public_key(&[2; 32]))),
    };
    let told = with(&post, vec![taken]).expect_err("taken already");
    assert!(told.contains("taken already"), "{told}");
}

/// Of every kind of event in a signed record: cut after it and what belongs to it, any of its figures and words
/// altered, chained anew. What is not found is said by the server alone, and nobody has signed anything since.
#[test]
fn an_altered_entry_of_every_kind_is_found_at_the_very_end() {
    let (mut missed, mut tried) = (BTreeSet::new(), BTreeSet::new());
    for post in games_of_every_kind().iter().chain([&random_game(2, true)]) {
        let all = entries(&post.lines);
        for cut in 1..=all.len() {
            let kind = all[cut - 1]["event"]["event"].as_str().expect("a kind");
            // once of each kind, where the record may end
            if tried.contains(kind) || audit(&post.lines[..cut]).is_err() {
                continue;
            }
            tried.insert(kind.to_owned());
            let mut forged = all[..cut].to_vec();
            let event = forged[cut - 1]["event"].as_object_mut().expect("an event");
            let kind = event["event"].as_str().expect("a kind").to_owned();
            let names: Vec<String> = event
                .keys()
                .filter(|name| *name != "event")
                .cloned()
                .collect();
            for name in names {
                let mut forged = forged.clone();
                let value = &mut forged[cut - 1]["event"][&name];
                *value = match value.take() {
                    Value::String(text) => json!(format!("{text}a")),
                    Value::Number(number) => json!(number.as_u64().unwrap_or(0) + 1),
                    Value::Bool(flag) => json!(!flag),
                    Value::Null => json!(1),
                    Value::Array(mut items) => {
                        items.push(json!("more"));
                        json!(items)
                    }
                    Value::Object(mut fields) => {
                        fields.insert("more".to_owned(), json!(1));
                        json!(fields)
                    }
                };
                if audit(&chained(forged)).is_ok() {
                    missed.insert(format!("{kind} {name}"));
                }
            }
        }
    }
    let missed: Vec<&str> = missed.iter().map(String::as_str).collect();
    // the list of the manual, "What is free"
    assert_eq!(missed, FREE_AT_THE_END);
}

/// What the server says of its own account is free until somebody signs again: who took a seat, which is named how
/// while nothing hangs on it, why something was done, and what it commits to for a turn to come.
const FREE_AT_THE_END: [&str; 9] = [
    "instructions-cleared why",
    "opened commitment",
    "paused why",
    "resumed why",
    "seat-taken player",
    "seat-taken seat",
    "secrets-renewed why",
    "umpire-seated player",
    "umpire-seated seat",
];

#[test]
fn the_first_entry_chains_to_nothing_else() {
    let post = Post::open(9, true, None);
    let mut lines = post.lines;
    lines[0].body = lines[0]
        .body
        .replace(&hex::encode(BEFORE_THE_FIRST), &"11".repeat(32));
    lines[0].hash = hex::encode(fieldpost_rules::record::hash_of(lines[0].body.as_bytes()));
    assert!(audit(&lines[..1]).is_err());
}
