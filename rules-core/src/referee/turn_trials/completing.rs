//! A refused declaration is answered with one that would be accepted.

use super::forward;
use crate::game::Game;
use crate::orders::Order;
use crate::referee::judge_sheet;
use crate::referee::testing::{battle, game, pair, rules, sheet};
use crate::verdict::{Ruling, SheetVerdict};

/// `r1` and `r2` side by side, each 10 mm from an enemy of its own, `r3` 40 mm behind `r1`.
fn lines() -> Game {
    let units = vec![
        pair("r1", "foot", (460.0, 500.0, 0.0)),
        pair("r2", "foot", (540.0, 500.0, 0.0)),
        pair("r3", "foot", (460.0, 440.0, 0.0)),
        pair("b1", "foot", (460.0, 510.0, 180.0)),
        pair("b2", "foot", (540.0, 510.0, 180.0)),
    ];
    game(rules(), units)
}

fn judged(game: &Game, orders: Vec<Order>) -> SheetVerdict {
    judge_sheet(game, &sheet(orders))
}

#[test]
fn a_declaration_refused_is_answered_with_one_that_stands() {
    let game = lines();
    for declared in [
        vec![],
        vec![battle(&["r1"], &["b1"])],
        vec![battle(&["r3"], &["b1"]), battle(&["r1"], &["b2"])],
        vec![battle(&["r1", "r2"], &["b1", "b9"])],
    ] {
        let verdict = judged(&game, declared);
        assert_eq!(verdict.verdict, Ruling::Refused);
        let orders = verdict.completion.clone().expect("a completion");
        assert_eq!(judged(&game, orders).verdict, Ruling::Legal);
        let json = serde_json::to_value(&verdict).expect("data");
        assert_eq!(json["completion"][0]["order"], "battle");
    }
}

/// Each could as well attack the enemy before it; but that is not what the player wanted.
#[test]
fn what_could_stand_of_a_declaration_is_kept() {
    let game = lines();
    for crosswise in [
        vec![battle(&["r1"], &["b2"])],
        vec![battle(&["r1", "r3"], &["b2"])],
    ] {
        let verdict = judged(&game, crosswise);
        assert_eq!(
            verdict.completion,
            Some(vec![battle(&["r1"], &["b2"]), battle(&["r2"], &["b1"])])
        );
    }
}

#[test]
fn none_at_all_may_be_the_answer() {
    // 110 mm off nobody need fight, and nobody is in reach
    let units = vec![
        pair("r1", "foot", (460.0, 500.0, 0.0)),
        pair("b1", "foot", (460.0, 610.0, 180.0)),
    ];
    let apart = crate::referee::testing::game(rules(), units);
    let verdict = judged(&apart, vec![battle(&["r1"], &["b1"])]);
    assert_eq!(verdict.completion, Some(vec![]));
}

#[test]
fn nothing_is_offered_where_it_would_not_help() {
    let game = lines();
    // a legal sheet, and one whose moves are refused
    let whole = vec![battle(&["r1"], &["b1"]), battle(&["r2"], &["b2"])];
    assert_eq!(judged(&game, whole).completion, None);
    let march = Order::Move {
        unit: "r3".into(),
        legs: vec![forward(300.0)],
    };
    assert_eq!(judged(&game, vec![march]).completion, None);
}
