//! Sound records are taken as such, and every kind of event comes about in them.

use std::collections::BTreeSet;

use fieldpost_rules::record::audit::{audit, holds};
use fieldpost_rules::record::bodies::Action;

use crate::post::{Post, entry, random_game};

#[test]
fn random_games_are_sound_signed_or_not() {
    for seed in 0..24 {
        for is_signed in [true, false] {
            let post = random_game(seed, is_signed);
            let audited = audit(&post.lines).unwrap_or_else(|fault| panic!("seed {seed}: {fault}"));
            assert_eq!(audited.game, post.fold.game);
            assert_eq!(audited.must_be_signed, is_signed);
            assert_eq!(audited.signed > 0, is_signed, "seed {seed}");
            assert_eq!(audited.unsigned > 0, !is_signed, "seed {seed}");
        }
    }
}

/// A head that somebody remembers is found in every longer record, and in none that was cut before it.
#[test]
fn a_cut_record_is_found_by_a_remembered_head() {
    let post = random_game(5, true);
    let head = post.lines.last().expect("not empty").hash.clone();
    let head = hex::decode(head)
        .expect("hex")
        .try_into()
        .expect("32 bytes");
    assert_eq!(holds(&post.lines, &head), Some(post.lines.len() as u64));
    let cut = &post.lines[..post.lines.len() - 1];
    assert_eq!(holds(cut, &head), None);
}

#[test]
fn keys_on_the_organisers_word_and_renewed_secrets_are_told() {
    let mut post = Post::open(1, true, None);
    post.replace_key(0, false);
    post.turn();
    post.replace_key(1, true);
    post.renew();
    post.turn();
    let audited = audit(&post.lines).unwrap_or_else(|fault| panic!("{fault}"));
    let kinds = |numbers: &[u64]| {
        let line = |number: &u64| &post.lines[usize::try_from(*number).expect("small") - 1];
        let kinds = numbers
            .iter()
            .map(|number| entry(line(number)).event.kind());
        kinds.collect::<Vec<_>>()
    };
    // the countersignature is the first side's too, by its replaced key
    assert_eq!(
        kinds(&audited.on_organisers_word),
        ["sheet-accepted", "key-countersigned"]
    );
    assert_eq!(kinds(&audited.renewals), ["secrets-renewed"]);
}

/// Games that hold every kind of event but those of old records.
pub fn games_of_every_kind() -> Vec<Post> {
    use fieldpost_rules::game::WhenOut;
    let mut games = Vec::new();
    for when_out in [WhenOut::Claim, WhenOut::Pass] {
        let mut post = Post::open(11, true, Some(when_out));
        post.instruct(0);
        post.instruct(1);
        post.dispute(0);
        post.turn();
        post.leave(0);
        post.zone(1);
        post.pause();
        post.change_key(0);
        post.replace_key(1, true);
        post.replace_key(1, false);
        post.accept_umpire();
        post.correct();
        post.rule(Some(Action::MoreTime { days: 2 }));
        post.turn();
        post.renew();
        post.change_player(1);
        post.rule(None);
        post.rule(Some(Action::Pause));
        post.rule(Some(Action::Resume));
        match when_out {
            WhenOut::Claim => post.claim(),
            _ => {
                post.set_clock();
                post.rule(Some(Action::Pass));
                for _ in 0..4 {
                    post.turn();
                }
                post.concede(0);
            }
        }
        games.push(post);
    }
    let mut late = Post::open(12, true, Some(WhenOut::Pass));
    late.pass_late();
    late.rule(Some(Action::End {
        winner: Some("blue".to_owned()),
    }));
    games.push(late);
    games
}

#[test]
fn every_kind_of_event_that_is_posted_comes_about() {
    let games = games_of_every_kind();
    let mut kinds = BTreeSet::new();
    for post in &games {
        audit(&post.lines).unwrap_or_else(|fault| panic!("{fault}"));
        kinds.extend(post.lines.iter().map(|line| entry(line).event.kind()));
    }
    for kind in [
        "opened",
        "seat-taken",
        "umpire-seated",
        "umpire-accepted",
        "seat-freed",
        "key-added",
        "key-removed",
        "key-replaced",
        "key-countersigned",
        "secrets-renewed",
        "instructions-cleared",
        "instructions-changed",
        "sheet-accepted",
        "battle-fought",
        "turn-closed",
        "game-ended",
        "position-corrected",
        "clock-set",
        "zone-set",
        "leave-taken",
        "pause-asked",
        "paused",
        "resumed",
        "deadline-moved",
        "turn-passed",
        "time-claimed",
        "conceded",
        "dispute-raised",
        "ruling-given",
    ] {
        assert!(kinds.contains(kind), "no {kind}");
    }
}
