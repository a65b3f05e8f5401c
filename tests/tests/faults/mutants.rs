//! Servers with a known fault, on which the trials here must fail: a trial that a fault survives proves nothing.
//!
//! They are built and tried by hand, since that takes minutes:
//! `cargo test -p fieldpost-tests --test faults -- --ignored`.

use fieldpost_tests::programs::mutant;

use crate::kills::{Trial, tried};
use crate::servers::Place;

/// Kills until a fault is found.
fn is_caught(fault: &'static str, place: impl Fn() -> Option<Place>) {
    for seed in 1..=20 {
        let Some(place) = place() else {
            return;
        };
        let trial = Trial {
            servers: 1,
            games: 3,
            clients: 4,
            kills: 10,
            most_ms: 200,
            seed,
        };
        let outcome = tried(&place, &trial, move || mutant(fault));
        if let Some(first) = outcome.faults.first() {
            println!(
                "{fault}, seed {seed}: {} faults, the first: {first}",
                outcome.faults.len()
            );
            return;
        }
    }
    panic!("{fault} survived 200 kills");
}

#[test]
#[ignore = "builds a faulty server and takes minutes"]
fn an_answer_before_the_commit_is_caught() {
    is_caught("answer-first", || Some(Place::file()));
}

#[test]
#[ignore = "builds a faulty server and takes minutes"]
fn the_lack_of_a_transaction_is_caught() {
    is_caught("no-transaction", || Some(Place::file()));
    is_caught("no-transaction", Place::postgres);
}

#[test]
#[ignore = "builds a faulty server and takes minutes"]
fn the_lack_of_idempotency_is_caught() {
    is_caught("no-idempotency", || Some(Place::file()));
    is_caught("no-idempotency", Place::postgres);
}
