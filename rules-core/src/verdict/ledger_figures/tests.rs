//! Printed ledgers add up.

use super::*;
use crate::referee::judge_sheet;
use crate::referee::testing::sheet;
use crate::referee::wild::{Draws, wild_game, wild_orders};

fn count(text: &str) -> i64 {
    let digits: String = text.chars().filter(|c| *c != '.').collect();
    let decimals = text.split_once('.').map_or(0, |(_, rest)| rest.len());
    let number: i64 = digits.parse().expect("a figure");
    number * [1000, 100, 10, 1][decimals]
}

/// Legs add up to the charge, pieces, lines and fixed charges to their leg, and the balance is the difference, all as
/// they are written; a ledger read back from its wire form is written alike.
#[test]
fn every_sum_adds_up_as_it_is_written() {
    let (mut ledgers, mut pieces, mut shared_out) = (0, 0, 0);
    for seed in 0..100 {
        let mut draws = Draws::new(seed);
        let game = wild_game(&mut draws);
        let verdict = judge_sheet(&game, &sheet(wild_orders(&mut draws, &game)));
        for moved in verdict.moves.iter().filter(|moved| !moved.legs.is_empty()) {
            let figures = of(moved);
            let legs: i64 = figures.legs.iter().map(|leg| count(&leg.charge)).sum();
            assert_eq!(legs, count(&figures.charge), "seed {seed}: {figures:?}");
            let balance = (count(&figures.allowance) - count(&figures.charge)).abs();
            assert_eq!(balance, count(&figures.balance), "seed {seed}: {figures:?}");
            for (leg, shown) in moved.legs.iter().zip(&figures.legs) {
                let parts = shown.pieces.iter().map(|piece| &piece.charge);
                let parts = parts.chain(&shown.lines).chain(&shown.fixed);
                let sum: i64 = parts.map(|part| count(part)).sum();
                assert_eq!(sum, count(&shown.charge), "seed {seed}: {leg:?}\n{shown:?}");
                for (piece, shown) in leg.pieces.iter().zip(&shown.pieces) {
                    let product = shown
                        .product
                        .split(" × ")
                        .map(|factor| factor.parse::<f64>());
                    let product = product.fold(1.0, |all, factor| all * factor.expect("a figure"));
                    let off = (product - piece.charge_mm).abs();
                    // the length is written to a hundredth, or to a tenth where that comes to the charge
                    assert!(off < 0.16, "seed {seed}: {piece:?} {shown:?}");
                    pieces += 1;
                }
                let own = |text: &String, exact| *text != tenths(exact);
                shared_out += shown
                    .pieces
                    .iter()
                    .zip(&leg.pieces)
                    .filter(|(shown, piece)| own(&shown.charge, piece.charge_mm))
                    .count();
            }
            let wire = serde_json::to_string(moved).expect("json");
            let read: MoveVerdict = serde_json::from_str(&wire).expect("a verdict");
            assert_eq!(of(&read), figures, "seed {seed}");
            ledgers += 1;
        }
    }
    assert!(ledgers > 180 && pieces > 300, "{ledgers} {pieces}");
    assert!(shared_out > 0, "no sum was ever off by a tenth");
}
