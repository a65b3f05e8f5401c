//! What is offered for a refused move, by example and by property.

use proptest::prelude::*;

use crate::game::Game;
use crate::geometry::{Point, larger};
use crate::orders::{Extent, Hand, Leg, Order, UnitId};
use crate::referee::judge_sheet;
use crate::referee::testing::{block, game, pair, rules, sheet};
use crate::referee::wild::{Draws, wild_game, wild_leg, wild_orders};
use crate::scenario::UnitEntry;
use crate::verdict::{Change, Code, MoveVerdict, Reason, Remedy, Ruling};

use super::amount::Amount;

fn forward(distance_mm: f64) -> Leg {
    Leg::Forward {
        distance_mm: Extent::Exactly(distance_mm),
    }
}

fn wheel(angle_deg: f64) -> Leg {
    Leg::Wheel {
        side: Hand::Left,
        angle_deg: Extent::Exactly(angle_deg),
    }
}

fn with(mut others: Vec<UnitEntry>) -> Game {
    others.push(pair("r1", "foot", (600.0, 600.0, 0.0)));
    others.push(pair("b9", "foot", (100.0, 1150.0, 180.0)));
    game(rules(), others)
}

fn judged(game: &Game, legs: &[Leg]) -> MoveVerdict {
    let order = Order::Move {
        unit: UnitId::from("r1"),
        legs: legs.to_vec(),
    };
    let mut verdict = judge_sheet(game, &sheet(vec![order]));
    verdict.moves.swap_remove(0)
}

fn offered(game: &Game, legs: &[Leg]) -> Vec<(Change, String)> {
    let verdict = judged(game, legs);
    assert_eq!(verdict.verdict, Ruling::Refused, "{verdict:#?}");
    verdict
        .remedies
        .into_iter()
        .map(|remedy| (remedy.change, remedy.words))
        .collect()
}

#[test]
fn nothing_is_offered_for_what_is_allowed() {
    let table = with(vec![]);
    assert!(judged(&table, &[forward(100.0)]).remedies.is_empty());
    assert!(judged(&table, &[forward(120.4)]).remedies.is_empty());
}

#[test]
fn too_long_a_march_is_cut_to_the_allowance() {
    // 3 MP of 40 mm
    assert_eq!(
        offered(&with(vec![]), &[forward(156.0)]),
        [
            (
                Change::CutShort,
                "the furthest on this path: forward 120.0 mm instead of 156.0 mm, 36.0 mm less"
                    .to_owned()
            ),
            (
                Change::UpTo,
                "forward up to 156.0 mm, which stops after 120.0 mm (allowance)".to_owned()
            ),
        ]
    );
}

#[test]
fn less_of_one_leg_or_less_of_another() {
    // a wheel of 20° on 80 mm costs 27.925; 100 mm more make 127.925, 7.925 too much: 92.0 mm may
    // be marched (92.075 rounded down), or 14.3° wheeled (20 mm ÷ 80 mm = 14.324°)
    let legs = [wheel(20.0), forward(100.0)];
    let words = offered(&with(vec![]), &legs);
    let changes: Vec<Change> = words.iter().map(|(change, _)| *change).collect();
    assert_eq!(
        changes,
        [Change::CutShort, Change::UpTo, Change::SmallerAngle],
        "{words:#?}"
    );
    assert_eq!(
        words[0].1,
        "the furthest on this path: leg 2: forward 92.0 mm instead of 100.0 mm, 8.0 mm less"
    );
    assert_eq!(words[2].1, "leg 1: wheel left 14.3° instead of 20.0°");
}

#[test]
fn before_a_zone_it_stops_a_tenth_short() {
    // the enemy's front at 700 facing south, its zone 20 mm deep: 80 mm may be marched
    let table = with(vec![pair("b1", "foot", (600.0, 700.0, 180.0))]);
    let verdict = judged(&table, &[forward(90.0)]);
    assert_eq!(verdict.remedies[0].legs, [forward(80.0)]);
    let table = with(vec![pair("b1", "foot", (600.0, 700.07, 180.0))]);
    let verdict = judged(&table, &[forward(90.0)]);
    assert_eq!(verdict.remedies[0].legs, [forward(80.0)]);
    assert!((verdict.remedies[0].off_mm - 10.0).abs() < 0.002);
}

#[test]
fn a_place_beyond_a_friend_or_before_it() {
    // a friend's rear edge at 680, its front at 700: to end clear one marches 80 or less, or 120
    let table = with(vec![pair("r2", "foot", (600.0, 700.0, 0.0))]);
    let verdict = judged(&table, &[forward(90.0)]);
    assert_eq!(verdict.reasons[0].code().as_str(), "ends-on-friend");
    assert_eq!(verdict.remedies[0].legs, [forward(80.0)]);
    // and cut at the allowance it would end on it: so before it
    let table = with(vec![pair("r2", "foot", (600.0, 730.0, 0.0))]);
    let verdict = judged(&table, &[forward(150.0)]);
    assert_eq!(verdict.remedies[0].legs, [forward(110.0)]);
}

#[test]
fn a_turn_too_many_is_left_out() {
    let turn = Leg::Turn { side: Hand::Right };
    let legs = [turn, forward(100.0)];
    let words = offered(&with(vec![]), &legs);
    assert_eq!(
        words[0].1,
        "the furthest on this path: leg 2: forward 80.0 mm instead of 100.0 mm, 20.0 mm less"
    );
    let left_out = words.iter().find(|(change, _)| *change == Change::LeftOut);
    let left_out = left_out.expect("one may march without turning");
    assert_eq!(left_out.1, "without leg 1, turn right");
}

#[test]
fn an_oblique_too_wide_is_made_narrower() {
    let oblique = |angle_deg: f64| Leg::Oblique {
        side: Hand::Left,
        angle_deg,
        distance_mm: Extent::Exactly(100.0),
    };
    let verdict = judged(&with(vec![]), &[oblique(60.0)]);
    assert_eq!(verdict.remedies.len(), 1, "{:#?}", verdict.remedies);
    assert_eq!(verdict.remedies[0].legs, [oblique(45.0)]);
}

#[test]
fn a_block_that_does_not_hold_the_bases_is_put_right() {
    let mut units = vec![block("r2", "foot", (3, 2), (300.0, 600.0, 0.0))];
    units.push(pair("b9", "foot", (100.0, 1150.0, 180.0)));
    let table = game(rules(), units);
    let order = Order::Move {
        unit: UnitId::from("r2"),
        legs: vec![Leg::Reform { files: 2, ranks: 2 }],
    };
    let verdict = judge_sheet(&table, &sheet(vec![order]));
    let remedies = &verdict.moves[0].remedies;
    assert_eq!(remedies.len(), 1, "{verdict:#?}");
    assert_eq!(remedies[0].legs, [Leg::Reform { files: 2, ranks: 3 }]);
    assert_eq!(remedies[0].words, "reform 2×3 instead of reform 2×2");
}

#[test]
fn as_far_as_allowed_names_no_length_in_any_remedy() {
    // 120 mm of allowance: the march takes all of it, and nothing is left for the turn's 40 mm
    let far = Leg::Forward {
        distance_mm: Extent::AsFarAsAllowed,
    };
    let turn = Leg::Turn { side: Hand::Right };
    let verdict = judged(&with(vec![]), &[far, turn]);
    assert_eq!(verdict.verdict, Ruling::Refused, "{verdict:#?}");
    let words: Vec<&str> = verdict.remedies.iter().map(|r| r.words.as_str()).collect();
    assert_eq!(
        words,
        [
            "the furthest on this path: leg 1: whole, and the leg after it left out",
            "leg 1: forward up to 80.0 mm instead of as far as allowed",
        ]
    );
    assert_eq!(verdict.remedies[0].legs, [far]);
    // nor does the verdict as data hold any figure but those that were measured: nothing on this
    // table is as far from the corner as its width and depth together, which stood for it once
    let data = serde_json::to_value(&verdict).expect("a verdict");
    assert!(data.to_string().contains("\"as-far-as-allowed\""), "{data}");
    assert!(largest_number(&data) < 1_000.0, "{data}");
}

/// The largest figure of a verdict, but for stored poses, which are in micrometres.
fn largest_number(data: &serde_json::Value) -> f64 {
    use serde_json::Value;
    match data {
        Value::Number(number) => number.as_f64().unwrap_or(0.0),
        Value::Array(items) => items.iter().map(largest_number).fold(0.0, larger),
        Value::Object(fields) => fields
            .iter()
            .filter(|(name, _)| *name != "end_pose")
            .map(|(_, field)| largest_number(field))
            .fold(0.0, larger),
        _ => 0.0,
    }
}

/// An *up to* leg in a refused order is taken down from where it stopped, not from what it named.
#[test]
fn what_an_up_to_leg_named_does_not_matter_beyond_where_it_stopped() {
    let turn = Leg::Turn { side: Hand::Right };
    let table = with(vec![]);
    let remedies = |named_mm: f64| {
        let leg = Leg::Forward {
            distance_mm: Extent::UpTo(named_mm),
        };
        let remedies = judged(&table, &[leg, turn]).remedies;
        remedies
            .into_iter()
            .map(|remedy| (remedy.change, remedy.end))
            .collect::<Vec<_>>()
    };
    let near = remedies(130.0);
    assert!(near.len() > 1, "{near:?}");
    assert_eq!(near, remedies(90_000.0));
}

#[test]
fn what_no_legs_would_cure_gets_no_remedy() {
    let table = with(vec![]);
    let legs = vec![forward(500.0)];
    let withdraw = Order::Withdraw {
        unit: UnitId::from("r1"),
        legs: legs.clone(),
    };
    let verdict = judge_sheet(&table, &sheet(vec![withdraw]));
    assert_eq!(verdict.verdict, Ruling::Refused);
    assert!(verdict.moves[0].remedies.is_empty());
    let unknown = Order::Move {
        unit: UnitId::from("r7"),
        legs,
    };
    let verdict = judge_sheet(&table, &sheet(vec![unknown]));
    assert!(verdict.moves[0].remedies.is_empty());
}

#[test]
fn a_line_refused_stands_as_one_body_at_its_furthest() {
    // r2 would go on within the zone of b1, so the whole line stops
    let units = vec![
        pair("r1", "foot", (600.0, 600.0, 0.0)),
        pair("r2", "foot", (680.0, 600.0, 0.0)),
        pair("b1", "foot", (720.0, 700.0, 180.0)),
    ];
    let order = Order::MoveTogether {
        units: vec![UnitId::from("r1"), UnitId::from("r2")],
        legs: vec![forward(100.0)],
    };
    let verdict = judge_sheet(&game(rules(), units), &sheet(vec![order]));
    let places: Vec<(f64, f64)> = verdict
        .moves
        .iter()
        .filter_map(|moved| moved.furthest)
        .map(|place| (place.x_mm, place.y_mm))
        .collect();
    // b1's corner at x 680 is straight ahead of both, 20 mm deep
    assert_eq!(places, [(600.0, 680.0), (680.0, 680.0)], "{verdict:#?}");
}

#[test]
fn absurd_orders_cost_little_and_crash_nothing() {
    let table = with(vec![]);
    for amount in [f64::NAN, f64::INFINITY, -1.0, 1e300, 0.0] {
        let legs = [wheel(amount), forward(amount), forward(1e9)];
        let _ = judged(&table, &legs);
    }
    let many = vec![wheel(90.0); 300];
    let verdict = judged(&table, &many);
    assert_eq!(verdict.verdict, Ruling::Refused);
}

/// The sheet's order with other legs.
fn with_legs(order: &Order, legs: &[Leg]) -> Order {
    let legs = legs.to_vec();
    match order.clone() {
        Order::Move { unit, .. } => Order::Move { unit, legs },
        Order::MoveTogether { units, .. } => Order::MoveTogether { units, legs },
        other => other,
    }
}

fn check_remedy(game: &Game, orders: &[Order], moved: &MoveVerdict, remedy: &Remedy) {
    let mut changed = orders.to_vec();
    changed[moved.order] = with_legs(&changed[moved.order], &remedy.legs);
    let verdict = judge_sheet(game, &sheet(changed));
    let again: Vec<&MoveVerdict> = verdict
        .moves
        .iter()
        .filter(|again| again.order == moved.order)
        .collect();
    assert!(
        again.iter().all(|again| again.verdict == Ruling::Legal),
        "{remedy:#?} is not legal: {again:#?}"
    );
    let end = again[0].end.expect("it stands");
    let off =
        Point::new(end.x_mm, end.y_mm).distance_to(Point::new(remedy.end.x_mm, remedy.end.y_mm));
    assert!(off < 0.02 && !remedy.words.is_empty());
}

#[test]
fn the_drawn_orders_try_every_kind_of_remedy() {
    let mut kinds = std::collections::BTreeMap::new();
    for seed in 0..250 {
        let mut draws = Draws::new(seed);
        let game = wild_game(&mut draws);
        let orders = wild_orders(&mut draws, &game);
        for moved in judge_sheet(&game, &sheet(orders)).moves {
            for remedy in moved.remedies {
                *kinds.entry(remedy.change).or_insert(0) += 1;
            }
        }
    }
    let rare = kinds.values().filter(|count| **count < 3).count();
    assert!(kinds.len() == 6 && rare == 0, "{kinds:?}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]

    /// Every remedy offered is legal in its place in the sheet, and ends where it says.
    #[test]
    fn every_remedy_is_legal(seed: u64) {
        let mut draws = Draws::new(seed);
        let game = wild_game(&mut draws);
        let orders = wild_orders(&mut draws, &game);
        let verdict = judge_sheet(&game, &sheet(orders.clone()));
        for moved in &verdict.moves {
            prop_assert!(moved.verdict == Ruling::Refused || moved.remedies.is_empty());
            for remedy in &moved.remedies {
                check_remedy(&game, &orders, moved, remedy);
            }
        }
    }

    /// What is not looked for is not there: no less of a leg cures what was refused before it.
    #[test]
    fn less_of_a_later_leg_cures_nothing(seed: u64) {
        let mut draws = Draws::new(seed);
        let game = wild_game(&mut draws);
        let legs: Vec<Leg> = (0..3).map(|_| wild_leg(&mut draws)).collect();
        let grants_minimum = game.ruleset().movement.minimum_move.is_some();
        let stands = |reason: &&Reason| {
            let may_go = match reason.code() {
                Code::EndsOnFriend => true,
                Code::OverAllowance => grants_minimum,
                _ => false,
            };
            reason.ruling() == Ruling::Refused && !may_go
        };
        let refused = judged(&game, &legs);
        let first = refused.reasons.iter().filter(stands).filter_map(|reason| reason.place_on_path()).map(|at| at.leg).min();
        for index in first.map_or(legs.len(), |first| first + 1)..legs.len() {
            let mut without = legs.clone();
            without.remove(index);
            prop_assert_eq!(judged(&game, &without).verdict, Ruling::Refused, "{:?} {:?}", legs, without);
            for amount in Amount::all_of(&legs[index]) {
                let most = amount.most_tenths(&legs[index], None);
                for tenths in [1, most / 2, most.saturating_sub(1)] {
                    let mut less = legs.clone();
                    less[index] = amount.set(&legs[index], tenths, most);
                    prop_assert_eq!(judged(&game, &less).verdict, Ruling::Refused, "{:?} {:?}", legs, less);
                }
            }
        }
    }

    /// A single straight leg cut short is cut by less than two tenths: a tenth more is not legal.
    #[test]
    fn a_tenth_more_would_not_be_legal(seed: u64) {
        let mut draws = Draws::new(seed);
        let game = wild_game(&mut draws);
        let legs = [forward((draws.between(0.0, 400.0) * 10.0).round() / 10.0)];
        let verdict = judged(&game, &legs);
        if let Some(Remedy { change: Change::CutShort, legs: cut, .. }) = verdict.remedies.first() {
            let cut_mm = cut[0].extent().and_then(Extent::amount).expect("a length");
            let more = judged(&game, &[forward(cut_mm + 0.1)]);
            prop_assert_ne!(more.verdict, Ruling::Legal, "{:#?}", more);
        }
    }
}
