//! What is told of a sheet whose moves get in each other's way, or leave the table unknown.

use super::forward;
use crate::orders::{Order, UnitId};
use crate::referee::judge_sheet;
use crate::referee::testing::{battle, game, pair, rules, sheet};
use crate::verdict::{Code, Ruling, SheetVerdict};

fn march(unit: &str, distance_mm: f64) -> Order {
    Order::Move {
        unit: UnitId::from(unit),
        legs: vec![forward(distance_mm)],
    }
}

fn codes(verdict: &SheetVerdict) -> Vec<Code> {
    verdict.all_reasons().map(|reason| reason.code()).collect()
}

/// `r1` marches to where `r2` stands, which goes on later in the same sheet.
#[test]
fn who_moves_away_later_should_come_first() {
    let units = vec![
        pair("r1", "foot", (600.0, 600.0, 0.0)),
        pair("r2", "foot", (600.0, 660.0, 0.0)),
        pair("b1", "foot", (100.0, 1150.0, 180.0)),
    ];
    let game = game(rules(), units);
    let told = |orders: Vec<Order>| {
        let verdict = judge_sheet(&game, &sheet(orders));
        verdict.moves[0]
            .reasons
            .first()
            .map_or(String::new(), |reason| reason.text())
    };
    let named = told(vec![march("r1", 60.0), march("r2", 100.0)]);
    assert!(
        named.contains("r2") && named.contains("put that unit's line first"),
        "{named}"
    );
    // that does help
    assert_eq!(told(vec![march("r2", 100.0), march("r1", 60.0)]), "");
    // not said where it would not: the friend stands, or stays in the way
    for other in [
        vec![march("r1", 60.0)],
        vec![march("r1", 60.0), march("r2", 5.0)],
    ] {
        let plain = told(other);
        assert!(
            plain.contains("overlapping r2") && !plain.contains("line first"),
            "{plain}"
        );
    }
}

/// `r1` must attack `b1` before it. While another's move is refused nobody knows where all stand, so no duty is told.
#[test]
fn duties_are_told_of_a_table_that_is_known() {
    let units = vec![
        pair("r1", "foot", (460.0, 500.0, 0.0)),
        pair("r2", "foot", (800.0, 500.0, 0.0)),
        pair("b1", "foot", (460.0, 530.0, 180.0)),
    ];
    let game = game(rules(), units);
    let judged = |orders| judge_sheet(&game, &sheet(orders));
    let idle = judged(vec![march("r2", 20.0)]);
    assert_eq!(codes(&idle), [Code::MustAttack, Code::MustBeAttacked]);
    let too_far = judged(vec![march("r2", 900.0)]);
    assert_eq!(too_far.verdict, Ruling::Refused);
    assert!(too_far.reasons.is_empty(), "{:#?}", too_far.reasons);
    let whole = judged(vec![march("r2", 20.0), battle(&["r1"], &["b1"])]);
    assert_eq!(whole.verdict, Ruling::Legal);
}
