//! The dishonest host: the three ways in which it chose throws unseen before, and more.

use fieldpost_commander::Chance;
use fieldpost_rules::dice::Bytes32;
use fieldpost_rules::game::{BattleReport, Event, WhenOut};
use fieldpost_rules::orders::{Order, TurnSheet};
use fieldpost_rules::record::audit::audit;
use fieldpost_rules::record::{Posted, PostingKind, public_key};
use serde_json::{Value, json};

use crate::post::{Post, chained, entries};

/// A game whose next sheet fights: the host, its sheet and the number it comes with.
fn before_a_battle() -> (Post, TurnSheet, Bytes32) {
    for seed in 20.. {
        let mut post = Post::open(seed, true, None);
        for _ in 0..4 {
            if post.fold.game.ending().is_some() {
                break;
            }
            let sheet =
                fieldpost_commander::sheet(&post.fold.game, &mut post.chance).expect("a sheet");
            let number = post.chance.bytes();
            if !dice_of(&post, &sheet, number).is_empty() {
                return (post, sheet, number);
            }
            post.turn_of(&sheet, number).expect("it may follow");
        }
    }
    unreachable!("outposts meet in the first game turn")
}

/// The dice of every battle that a sheet with this number would fight.
fn dice_of(post: &Post, sheet: &TurnSheet, number: Bytes32) -> Vec<Vec<u32>> {
    reports(&post.played(sheet, number, post.secret, [0; 32]))
        .map(|report| report.dice.clone())
        .collect()
}

fn reports(events: &[Event]) -> impl Iterator<Item = &BattleReport> {
    events.iter().filter_map(|event| match event {
        Event::BattleFought { report } => Some(report),
        _ => None,
    })
}

/// The record after a sheet was played from this number, with this posting beside it.
fn recorded(
    post: &Post,
    sheet: &TurnSheet,
    number: Bytes32,
    posted: Posted,
) -> Result<Post, String> {
    let mut post = post.clone();
    let events = post.played(sheet, number, post.secret, [9; 32]);
    post.append(events, Some(posted))?;
    Ok(post)
}

fn posting(post: &Post, sheet: &TurnSheet, number: Bytes32) -> Posted {
    let body = json!({"sheet": sheet, "number": hex::encode(number)}).to_string();
    let device = post.device(Some(post.mover()));
    post.posted(&device, PostingKind::Sheet, body, Some(number))
}

/// The first way: the host throws with another number than it was sent.
#[test]
fn a_swapped_number_is_found() {
    let (post, sheet, number) = before_a_battle();
    let sent = posting(&post, &sheet, number);
    assert!(recorded(&post, &sheet, number, sent.clone()).is_ok());
    let better = (0..200)
        .map(|byte| [byte; 32])
        .find(|other| dice_of(&post, &sheet, *other) != dice_of(&post, &sheet, number));
    let better = better.expect("other dice");
    // thrown with another number than stands in the posting
    let told = recorded(&post, &sheet, better, sent.clone())
        .map(|_| ())
        .expect_err("swapped");
    assert!(told.contains("not the one that was posted"), "{told}");
    // another number in the posting as well
    let mut forged = sent;
    forged.number = Some(hex::encode(better));
    forged.body = json!({"sheet": sheet, "number": hex::encode(better)}).to_string();
    let told = recorded(&post, &sheet, better, forged)
        .map(|_| ())
        .expect_err("swapped");
    assert!(told.contains("signature"), "{told}");
}

/// The second way: the host plays another sheet than it was sent, so that the dice fall otherwise. They do not.
#[test]
fn a_swapped_sheet_is_found_and_would_change_no_die() {
    let (post, sheet, number) = before_a_battle();
    let sent = posting(&post, &sheet, number);
    let other = (0..)
        .filter_map(|seed| fieldpost_commander::sheet(&post.fold.game, &mut Chance::new(seed)))
        .find(|other| *other != sheet)
        .expect("another legal sheet");
    let told = recorded(&post, &other, number, sent.clone()).map(|_| ());
    let told = told.expect_err("swapped");
    assert!(told.contains("not what its posting says"), "{told}");
    // in the posting as well
    let mut forged = sent;
    forged.body = json!({"sheet": other, "number": hex::encode(number)}).to_string();
    let told = recorded(&post, &other, number, forged).map(|_| ());
    let told = told.expect_err("swapped");
    assert!(told.contains("signature"), "{told}");
    // what is thrown for an order is the same, whatever else is ordered
    let with = |sheet: &TurnSheet| post.played(sheet, number, post.secret, [0; 32]);
    let mut longer = sheet.clone();
    let stands = post.fold.game.on_table().find(|unit| {
        unit.side == post.mover()
            && sheet
                .orders
                .iter()
                .all(|order| !order.units().contains(&&unit.id))
    });
    if let Some(unit) = stands {
        let (unit, legs) = (unit.id.clone(), Vec::new());
        longer.orders.push(Order::Move { unit, legs });
    }
    let dice = |events: &[Event]| {
        let thrown = reports(events).map(|report| (report.order, report.dice.clone()));
        thrown.collect::<Vec<_>>()
    };
    assert_eq!(dice(&with(&longer)), dice(&with(&sheet)));
}

/// The third way: the host learns the number, appends events of its own until the dice please, answers that the
/// posting came too late, and is sent the same number for the new head. The dice stay as they were.
#[test]
fn events_appended_after_the_number_was_shown_change_no_die() {
    let (post, sheet, number) = before_a_battle();
    let before = dice_of(&post, &sheet, number);
    let mut later = post.clone();
    for side in [0, 1, 0] {
        later.dispute(side);
        later.instruct(side);
    }
    assert_eq!(dice_of(&later, &sheet, number), before);
    let told = later.turn_of(&sheet, number);
    assert_eq!(told, Ok(()));
    assert_eq!(
        reports(&events(&later))
            .map(|report| report.dice.clone())
            .collect::<Vec<_>>(),
        before
    );
    // a posting that was written before them counts as well: nothing on table or clock has changed since
    let sent = posting(&post, &sheet, number);
    let mut after = post.clone();
    after.dispute(0);
    assert!(recorded(&after, &sheet, number, sent).is_ok());
}

fn events(post: &Post) -> Vec<Event> {
    post.lines
        .iter()
        .map(|line| crate::post::entry(line).event)
        .collect()
}

/// Another way: the host renews the secret after it has seen what would be thrown. The record shows the secret that
/// was thrown away, and whoever had shown the number works out which dice those were.
#[test]
fn a_renewed_secret_shows_what_was_thrown_away() {
    let (mut post, sheet, number) = before_a_battle();
    let (shown, before) = (post.secret, dice_of(&post, &sheet, number));
    let sent = posting(&post, &sheet, number);
    let earlier = post.clone();
    post.renew();
    assert_ne!(post.secret, shown);
    let told = recorded(&post, &sheet, number, sent)
        .map(|_| ())
        .expect_err("for another attempt");
    assert!(told.contains("another player turn or attempt"), "{told}");
    post.turn_of(&sheet, number).expect("it may follow");
    let audited = audit(&post.lines).unwrap_or_else(|fault| panic!("{fault}"));
    assert_eq!(audited.renewals.len(), 1);
    let renewal = &post.lines[usize::try_from(audited.renewals[0]).expect("small") - 1];
    let Event::SecretsRenewed { secret, .. } = crate::post::entry(renewal).event else {
        panic!("not a renewal");
    };
    let secret: Bytes32 = hex::decode(secret)
        .expect("hex")
        .try_into()
        .expect("32 bytes");
    let thrown_away = earlier.played(&sheet, number, secret, [0; 32]);
    assert_eq!(
        reports(&thrown_away)
            .map(|report| report.dice.clone())
            .collect::<Vec<_>>(),
        before
    );
    // and a secret that was not the one committed to cannot be shown in its place
    let mut forged = entries(&post.lines);
    for entry in &mut forged {
        if entry["event"]["event"] == "secrets-renewed" {
            entry["event"]["secret"] = json!("ab".repeat(32));
        }
    }
    let told = audit(&chained(forged))
        .expect_err("another secret")
        .to_string();
    assert!(told.contains("committed to"), "{told}");
}

/// Another way: the host records a posting twice, or long after it was written.
#[test]
fn a_posting_counts_once_and_in_its_time() {
    let mut post = Post::open(31, true, None);
    let device = post.device(Some(0));
    let body = json!({"text": "Was that so?"}).to_string();
    let sent = post.posted(&device, PostingKind::Dispute, body, None);
    let event = Event::DisputeRaised {
        side: post.side(0),
        about: None,
        text: "Was that so?".to_owned(),
    };
    post.append(vec![event.clone()], Some(sent.clone()))
        .expect("the first time");
    let told = post
        .append(vec![event.clone()], Some(sent))
        .expect_err("the second");
    assert!(told.contains("stands in the record already"), "{told}");
    let body = json!({"text": "Was that so?", "about": 1}).to_string();
    let kept = post.posted(&device, PostingKind::Dispute, body, None);
    post.turn();
    let told = post
        .append(vec![event], Some(kept))
        .expect_err("a turn later");
    assert!(
        told.contains("another player turn") || told.contains("earlier state"),
        "{told}"
    );
}

/// Another way: the host tells the waiting side what will be thrown, and lets it change its instructions. They wait a
/// turn.
#[test]
fn instructions_sealed_after_the_number_was_shown_do_not_count() {
    let mut post = Post::open(32, true, None);
    let waiting = post.side(1 - post.mover());
    post.instruct(1 - post.mover());
    assert_eq!(post.fold.record_state.seal_in_force(&waiting, true), None);
    post.turn();
    // of the side that waited; it counts from the next turn that it waits in
    assert_eq!(
        post.fold.record_state.seal_in_force(&waiting, true),
        Some(0)
    );
    post.turn();
    let sealed = post.fold.record_state.seal_in_force(&waiting, true);
    assert_eq!(sealed, Some(0));
    post.instruct(1);
    assert_eq!(
        post.fold.record_state.seal_in_force(&waiting, true),
        Some(0)
    );
}

/// Another way: the host puts a key of its own in the place of a player's.
#[test]
fn a_key_of_the_hosts_own_is_found_or_marked() {
    let mut post = Post::open(33, true, None);
    let own = [77; 32];
    let key = hex::encode(public_key(&own));
    let red = post.device(Some(0));
    let replaced = Event::KeyReplaced {
        seat: red.seat.clone(),
        key: key.clone(),
        reason: "lost".to_owned(),
    };
    post.host(vec![replaced]);
    let forged = crate::post::Device {
        seed: own,
        ..red.clone()
    };
    // not in force at once
    let mut early = post.clone();
    early.devices.push(forged.clone());
    let sheet = TurnSheet {
        game_turn: 1,
        side: early.side(0),
        orders: Vec::new(),
    };
    let told = early.turn_of(&sheet, [1; 32]).expect_err("not in force");
    assert!(told.contains("key that its seat does not have"), "{told}");
    // the player, who still has the key, plays on; and after three days what the other one signs is marked
    let mut own_key = post.clone();
    own_key
        .turn_of(&sheet, [1; 32])
        .expect("the player's own key is in force");
    post.devices.push(forged);
    for _ in 0..40 {
        post.host(vec![Event::SeatFreed {
            seat: "chair".to_owned(),
        }]);
        post.take("chair", None);
    }
    post.turn_of(&sheet, [1; 32])
        .expect("in force on the organiser's word");
    let audited = audit(&post.lines).unwrap_or_else(|fault| panic!("{fault}"));
    assert_eq!(audited.on_organisers_word.len(), 1);
}

/// Another way: keys of small order, by which anybody could sign anything.
#[test]
fn keys_that_anybody_can_sign_for_are_refused() {
    let identity = {
        let mut key = [0; 32];
        key[0] = 1;
        key
    };
    for key in [[0; 32], identity] {
        let post = Post::open(34, true, Some(WhenOut::Claim));
        let mut post = post;
        let seat = post.device(Some(0)).seat;
        let event = Event::KeyReplaced {
            seat,
            key: hex::encode(key),
            reason: "lost".to_owned(),
        };
        let told = post.append(vec![event], None).expect_err("of small order");
        assert!(told.contains("none that can sign"), "{told}");
    }
}

/// Another way: a signed game is served as one that need not be signed.
#[test]
fn signatures_cannot_be_taken_off() {
    let mut post = Post::open(35, true, None);
    post.turn();
    post.turn();
    let mut bare = entries(&post.lines);
    for entry in &mut bare {
        if let Some(posted) = entry.get_mut("posted").and_then(Value::as_object_mut) {
            posted.remove("signed");
        }
    }
    let told = audit(&chained(bare.clone())).expect_err("bare").to_string();
    assert!(
        told.contains("not signed") || told.contains("earlier state"),
        "{told}"
    );
    // and where the opening is altered too, every posting after it was written for another record
    bare[0]["event"]
        .as_object_mut()
        .expect("an event")
        .remove("signed");
    let told = audit(&chained(bare))
        .expect_err("written for another")
        .to_string();
    assert!(told.contains("earlier state"), "{told}");
}
