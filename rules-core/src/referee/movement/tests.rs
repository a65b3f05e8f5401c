//! One line a ruling: orders with the verdict and the figures a person would measure.
//!
//! Bases are 40 mm wide and 20 mm deep, a pair has a frontage of 80 mm, foot has 3 MP of 40 mm,
//! the halt zone is 20 mm, the tolerance 0.5 mm.

use crate::game::{Game, Ground, GroundLine, GroundPatch, GroundRoad, GroundSpan};
use crate::geometry::{Point, Polygon, Polyline, Pose};
use crate::orders::{Hand, Leg, Order, UnitId};
use crate::referee::judge_sheet;
use crate::referee::testing::{bare_ground, block, game, game_on, pair, rules, scenario, sheet};
use crate::ruleset::{Distance, LineKind, MinimumMove, Ruleset, TerrainBy, TerrainKind, ZoneExit};
use crate::scenario::UnitEntry;
use crate::verdict::{MoveVerdict, Ruling};

fn forward(distance_mm: f64) -> Leg {
    Leg::Forward {
        distance_mm,
        up_to: false,
    }
}
fn forward_up_to(distance_mm: f64) -> Leg {
    Leg::Forward {
        distance_mm,
        up_to: true,
    }
}
fn back(distance_mm: f64) -> Leg {
    Leg::Back {
        distance_mm,
        up_to: false,
    }
}
fn sidestep(side: Hand, distance_mm: f64) -> Leg {
    Leg::Sidestep {
        side,
        distance_mm,
        up_to: false,
    }
}
fn oblique(side: Hand, angle_deg: f64, distance_mm: f64) -> Leg {
    Leg::Oblique {
        side,
        angle_deg,
        distance_mm,
        up_to: false,
    }
}
fn wheel(side: Hand, angle_deg: f64) -> Leg {
    Leg::Wheel {
        side,
        angle_deg,
        up_to: false,
    }
}
fn wheel_up_to(side: Hand, angle_deg: f64) -> Leg {
    Leg::Wheel {
        side,
        angle_deg,
        up_to: true,
    }
}
fn align(side: Hand, angle_deg: f64) -> Leg {
    Leg::Align { side, angle_deg }
}

fn judged(game: &Game, unit: &str, legs: &[Leg]) -> MoveVerdict {
    let order = Order::Move {
        unit: UnitId::from(unit),
        legs: legs.to_vec(),
    };
    let verdict = judge_sheet(game, &sheet(vec![order]));
    verdict
        .moves
        .into_iter()
        .next()
        .expect("one move was ordered")
}

/// Checks ruling, headline code ("" when legal), whole charge and end.
#[track_caller]
fn check(
    game: &Game,
    legs: &[Leg],
    (ruling, code): (Ruling, &str),
    charge_mm: f64,
    (x_mm, y_mm, bearing_deg): (f64, f64, f64),
) -> MoveVerdict {
    let verdict = judged(game, "r1", legs);
    let headline = verdict
        .reasons
        .first()
        .map_or("", |reason| reason.code().as_str());
    let end = verdict.end.expect("on the table");
    assert_eq!((verdict.verdict, headline), (ruling, code), "{verdict:#?}");
    assert!(
        (verdict.charge_mm - charge_mm).abs() < 0.006,
        "charge {} not {charge_mm}",
        verdict.charge_mm
    );
    let off = Point::new(end.x_mm, end.y_mm).distance_to(Point::new(x_mm, y_mm));
    assert!(off < 0.006, "ends at {end:?}");
    assert!(
        (end.bearing_deg - bearing_deg).abs() < 0.001,
        "ends facing {end:?}"
    );
    verdict
}

const LEGAL: (Ruling, &str) = (Ruling::Legal, "");

/// A pair of foot at (600, 600) facing north, alone with whatever else is given.
fn with(others: Vec<UnitEntry>) -> Game {
    on(rules(), bare_ground(), others)
}

fn on(ruleset: Ruleset, ground: Ground, mut others: Vec<UnitEntry>) -> Game {
    others.push(pair("r1", "foot", (600.0, 600.0, 0.0)));
    if !others.iter().any(|unit| unit.side == "blue") {
        others.push(pair("b9", "foot", (100.0, 1150.0, 180.0)));
    }
    game_on(ruleset, scenario(others), ground)
}

fn patch(name: &str, rate: f64, impassable: bool, corners: &[(f64, f64)]) -> GroundPatch {
    let points = corners.iter().map(|&(x, y)| Point::new(x, y)).collect();
    GroundPatch {
        name: name.to_owned(),
        kind_name: name.to_owned(),
        kind: TerrainKind {
            rate,
            impassable,
            ..TerrainKind::default()
        },
        outline: Polygon::new(points, Vec::new()).expect("a good outline"),
    }
}

fn line(name: &str, charge_mm: f64, slope: bool, corners: &[(f64, f64)]) -> GroundLine {
    let points = corners.iter().map(|&(x, y)| Point::new(x, y)).collect();
    GroundLine {
        name: name.to_owned(),
        kind_name: name.to_owned(),
        kind: LineKind {
            slope,
            ..LineKind::default()
        },
        charge_mm,
        course: Polyline::new(points).expect("a good line"),
        spans: Vec::new(),
    }
}

// ---- §4: legs, tape, charge ----

#[test]
fn every_leg_has_its_tape_and_charge() {
    let table = with(vec![]);
    check(&table, &[forward(100.0)], LEGAL, 100.0, (600.0, 700.0, 0.0));
    check(&table, &[back(60.0)], LEGAL, 120.0, (600.0, 540.0, 0.0));
    check(
        &table,
        &[sidestep(Hand::Left, 30.0)],
        LEGAL,
        60.0,
        (570.0, 600.0, 0.0),
    );
    check(
        &table,
        &[sidestep(Hand::Right, 30.0)],
        LEGAL,
        60.0,
        (630.0, 600.0, 0.0),
    );
    // along bearing 30°: sin 30° = 1/2, cos 30° = √3/2
    check(
        &table,
        &[oblique(Hand::Right, 30.0, 100.0)],
        LEGAL,
        100.0,
        (650.0, 686.603, 0.0),
    );
    check(
        &table,
        &[oblique(Hand::Left, 30.0, 100.0)],
        LEGAL,
        100.0,
        (550.0, 686.603, 0.0),
    );
    // arc of a wheel: frontage × angle in radians (any geometry handbook): 80 × π/6 = 41.888
    check(
        &table,
        &[wheel(Hand::Left, 30.0)],
        LEGAL,
        41.888,
        (594.641, 620.0, 330.0),
    );
    check(
        &table,
        &[wheel(Hand::Right, 30.0)],
        LEGAL,
        41.888,
        (605.359, 620.0, 30.0),
    );
    // about the footprint's centre, 10 mm behind the front
    check(
        &table,
        &[Leg::Turn { side: Hand::Right }],
        LEGAL,
        40.0,
        (610.0, 590.0, 90.0),
    );
    check(
        &table,
        &[Leg::Turn { side: Hand::Left }],
        LEGAL,
        40.0,
        (590.0, 590.0, 270.0),
    );
    check(&table, &[Leg::About], LEGAL, 40.0, (600.0, 580.0, 180.0));
    check(
        &table,
        &[Leg::Reform { files: 1, ranks: 2 }],
        LEGAL,
        40.0,
        (600.0, 600.0, 0.0),
    );
}

#[test]
fn legs_follow_one_another_and_their_charges_add_up() {
    let legs = [wheel(Hand::Right, 90.0), forward(20.0)];
    // wheel about (640, 600): the anchor comes to (640, 640); arc 80 × π/2 = 125.664 > 120
    let refused = (Ruling::Refused, "over-allowance");
    let verdict = check(&with(vec![]), &legs, refused, 145.664, (660.0, 640.0, 90.0));
    let reason = serde_json::to_value(&verdict.reasons[0]).expect("json");
    assert_eq!(reason["limit_mm"], 120.0);
    assert_eq!(reason["measured_mm"], 145.66);
    assert_eq!(reason["excess_mm"], 25.66);
    assert_eq!(reason["at"]["leg"], 0);
    assert_eq!(reason["at"]["along_mm"], 120.0);
}

#[test]
fn tolerance_makes_the_difference_between_marginal_and_refused() {
    let table = with(vec![]);
    check(&table, &[forward(120.0)], LEGAL, 120.0, (600.0, 720.0, 0.0));
    check(
        &table,
        &[forward(120.5)],
        (Ruling::Marginal, "over-allowance"),
        120.5,
        (600.0, 720.5, 0.0),
    );
    check(
        &table,
        &[forward(120.6)],
        (Ruling::Refused, "over-allowance"),
        120.6,
        (600.0, 720.6, 0.0),
    );
}

/// The ledger of the laws' own example: bearing 45°, a brook for 80 mm at 40 mm, rough ground from
/// 72.7 mm at twice the rate; an allowance of 200 mm lasts to 96.35 mm.
#[test]
fn the_ledger_of_the_published_example() {
    let mut ground = bare_ground();
    let away = |along: f64| {
        (
            500.0 + along * 0.5_f64.sqrt(),
            300.0 + along * 0.5_f64.sqrt(),
        )
    };
    let across = |along: f64| {
        let (x, y) = away(along);
        [(x - 100.0, y + 100.0), (x + 100.0, y - 100.0)]
    };
    let [near_left, near_right] = across(72.7);
    let [far_left, far_right] = across(400.0);
    ground.lines.push(line("brook", 80.0, false, &across(40.0)));
    ground.patches.push(patch(
        "rough",
        2.0,
        false,
        &[near_left, near_right, far_right, far_left],
    ));
    let units = vec![
        pair("r1", "horse", (500.0, 300.0, 45.0)),
        pair("b1", "foot", (100.0, 1150.0, 180.0)),
    ];
    let table = game_on(rules(), scenario(units), ground);
    let verdict = judged(&table, "r1", &[forward(120.0)]);
    let wire = serde_json::to_value(&verdict).expect("json");
    assert_eq!(wire["legs"][0]["tape_mm"], 120.0);
    assert_eq!(wire["legs"][0]["pieces"][0]["to_mm"], 72.7);
    assert_eq!(wire["legs"][0]["pieces"][0]["ground"], "open");
    assert_eq!(wire["legs"][0]["pieces"][1]["from_mm"], 72.7);
    assert_eq!(wire["legs"][0]["pieces"][1]["charge_mm"], 94.6);
    assert_eq!(wire["legs"][0]["lines"][0]["at_mm"], 40.0);
    assert_eq!(wire["legs"][0]["lines"][0]["charge_mm"], 80.0);
    assert_eq!(wire["charge_mm"], 247.3);
    // horse has 5 MP of 40 mm
    assert_eq!(wire["reasons"][0]["code"], "over-allowance");
    assert_eq!(wire["reasons"][0]["limit_mm"], 200.0);
    assert_eq!(wire["reasons"][0]["excess_mm"], 47.3);
    assert_eq!(wire["reasons"][0]["at"]["along_mm"], 96.35);
    assert_eq!(wire["furthest"]["bearing_deg"], 45.0);
}

#[test]
fn a_road_is_open_ground_and_overlapping_patches_charge_the_highest_rate() {
    let mut ground = bare_ground();
    let square = [
        (500.0, 620.0),
        (700.0, 620.0),
        (700.0, 700.0),
        (500.0, 700.0),
    ];
    ground.patches.push(patch("wood", 2.0, false, &square));
    ground.patches.push(patch(
        "bog",
        3.0,
        false,
        &[
            (500.0, 640.0),
            (700.0, 640.0),
            (700.0, 650.0),
            (500.0, 650.0),
        ],
    ));
    // 20 open + 20 wood × 2 + 10 bog × 3 + 10 wood × 2 = 110
    check(
        &on(rules(), ground.clone(), vec![]),
        &[forward(60.0)],
        LEGAL,
        110.0,
        (600.0, 660.0, 0.0),
    );
    ground.roads.push(GroundRoad {
        name: "Ridge Road".to_owned(),
        course: Polyline::new(vec![Point::new(600.0, 500.0), Point::new(600.0, 900.0)])
            .expect("a road"),
        half_width_mm: 10.0,
    });
    check(
        &on(rules(), ground, vec![]),
        &[forward(60.0)],
        LEGAL,
        60.0,
        (600.0, 660.0, 0.0),
    );
}

#[test]
fn terrain_may_be_charged_by_the_base() {
    let mut ruleset = rules();
    ruleset.movement.terrain_by = TerrainBy::Base;
    let mut ground = bare_ground();
    // beside the tape, but under the right half of the base
    ground.patches.push(patch(
        "wood",
        2.0,
        false,
        &[
            (620.0, 620.0),
            (700.0, 620.0),
            (700.0, 900.0),
            (620.0, 900.0),
        ],
    ));
    check(
        &on(ruleset, ground.clone(), vec![]),
        &[forward(50.0)],
        LEGAL,
        80.0,
        (600.0, 650.0, 0.0),
    );
    check(
        &on(rules(), ground, vec![]),
        &[forward(50.0)],
        LEGAL,
        50.0,
        (600.0, 650.0, 0.0),
    );
}

#[test]
fn lines_charge_when_reached_and_crossed_or_stopped_on() {
    let brook = |spans: Vec<GroundSpan>| {
        let mut ground = bare_ground();
        let course = [(400.0, 630.0), (800.0, 630.0)];
        ground.lines.push(GroundLine {
            spans,
            ..line("brook", 80.0, false, &course)
        });
        on(rules(), ground, vec![])
    };
    let table = brook(vec![]);
    check(&table, &[forward(29.0)], LEGAL, 29.0, (600.0, 629.0, 0.0));
    check(&table, &[forward(30.0)], LEGAL, 110.0, (600.0, 630.0, 0.0));
    check(&table, &[forward(40.0)], LEGAL, 120.0, (600.0, 640.0, 0.0));
    // stopping on it and going on is one crossing
    check(
        &table,
        &[forward(30.0), forward(10.0)],
        LEGAL,
        120.0,
        (600.0, 640.0, 0.0),
    );
    let bridge = GroundSpan {
        name: "Mill Bridge".to_owned(),
        from_mm: 190.0,
        to_mm: 210.0,
    };
    let verdict = check(
        &brook(vec![bridge]),
        &[forward(40.0)],
        LEGAL,
        40.0,
        (600.0, 640.0, 0.0),
    );
    assert_eq!(
        verdict.legs[0].lines[0].free.as_deref(),
        Some("Mill Bridge")
    );
}

#[test]
fn an_allowance_that_cannot_pay_for_a_line_ends_short_of_it() {
    let mut ground = bare_ground();
    ground.lines.push(line(
        "brook",
        100.0,
        false,
        &[(400.0, 630.0), (800.0, 630.0)],
    ));
    let table = on(rules(), ground, vec![]);
    let verdict = check(
        &table,
        &[forward(40.0)],
        (Ruling::Refused, "over-allowance"),
        140.0,
        (600.0, 640.0, 0.0),
    );
    assert_eq!(verdict.furthest.expect("some").y_mm, 629.99);
    check(
        &table,
        &[forward_up_to(40.0)],
        LEGAL,
        29.99,
        (600.0, 629.99, 0.0),
    );
}

#[test]
fn a_slope_charges_only_when_climbed() {
    // drawn west to east its left is north: going north climbs
    let slope = |points: &[(f64, f64)]| {
        let mut ground = bare_ground();
        ground.lines.push(line("scarp", 40.0, true, points));
        on(rules(), ground, vec![])
    };
    check(
        &slope(&[(400.0, 630.0), (800.0, 630.0)]),
        &[forward(40.0)],
        LEGAL,
        80.0,
        (600.0, 640.0, 0.0),
    );
    check(
        &slope(&[(800.0, 630.0), (400.0, 630.0)]),
        &[forward(40.0)],
        LEGAL,
        40.0,
        (600.0, 640.0, 0.0),
    );
}

#[test]
fn a_unit_that_begins_astride_a_line_has_paid() {
    let mut ground = bare_ground();
    // through the base behind its front: 5 mm back
    ground.lines.push(line(
        "brook",
        80.0,
        false,
        &[(400.0, 595.0), (800.0, 595.0)],
    ));
    let table = on(rules(), ground.clone(), vec![]);
    check(&table, &[back(10.0)], LEGAL, 20.0, (600.0, 590.0, 0.0));
    let mut every = rules();
    every.movement.charge_lines = crate::ruleset::ChargeLines::EveryTape;
    check(
        &on(every, ground, vec![]),
        &[back(10.0)],
        LEGAL,
        100.0,
        (600.0, 590.0, 0.0),
    );
}

#[test]
fn a_minimum_move_is_always_allowed() {
    let mut ground = bare_ground();
    ground.patches.push(patch(
        "bog",
        9.0,
        false,
        &[(0.0, 600.0), (1200.0, 600.0), (1200.0, 900.0), (0.0, 900.0)],
    ));
    let mut ruleset = rules();
    check(
        &on(ruleset.clone(), ground.clone(), vec![]),
        &[forward(20.0)],
        (Ruling::Refused, "over-allowance"),
        180.0,
        (600.0, 620.0, 0.0),
    );
    ruleset.movement.minimum_move = Some(MinimumMove {
        forward: Distance::new(0.5),
    });
    let table = on(ruleset, ground, vec![]);
    check(&table, &[forward(20.0)], LEGAL, 180.0, (600.0, 620.0, 0.0));
    check(
        &table,
        &[forward_up_to(90.0)],
        LEGAL,
        180.0,
        (600.0, 620.0, 0.0),
    );
    check(
        &table,
        &[forward(20.0), forward(1.0)],
        (Ruling::Refused, "over-allowance"),
        189.0,
        (600.0, 621.0, 0.0),
    );
}

#[test]
fn angles_and_blocks_have_limits() {
    let table = with(vec![]);
    // the tolerance subtends atan(0.5 / 40) = 0.716° at half the frontage
    check(
        &table,
        &[oblique(Hand::Left, 45.0, 0.0)],
        LEGAL,
        0.0,
        (600.0, 600.0, 0.0),
    );
    check(
        &table,
        &[oblique(Hand::Left, 45.7, 0.0)],
        (Ruling::Marginal, "angle-too-large"),
        0.0,
        (600.0, 600.0, 0.0),
    );
    check(
        &table,
        &[oblique(Hand::Left, 45.8, 0.0)],
        (Ruling::Refused, "angle-too-large"),
        0.0,
        (600.0, 600.0, 0.0),
    );
    check(
        &table,
        &[Leg::Reform { files: 3, ranks: 1 }],
        LEGAL,
        40.0,
        (600.0, 600.0, 0.0),
    );
    check(
        &table,
        &[Leg::Reform { files: 1, ranks: 1 }],
        (Ruling::Refused, "not-possible"),
        0.0,
        (600.0, 600.0, 0.0),
    );
    check(
        &table,
        &[Leg::Reform { files: 2, ranks: 2 }],
        (Ruling::Refused, "not-possible"),
        0.0,
        (600.0, 600.0, 0.0),
    );
    check(
        &table,
        &[forward(-1.0)],
        (Ruling::Refused, "not-possible"),
        0.0,
        (600.0, 600.0, 0.0),
    );
    check(
        &table,
        &[forward(f64::NAN)],
        (Ruling::Refused, "not-possible"),
        0.0,
        (600.0, 600.0, 0.0),
    );
    check(
        &table,
        &[forward(1e300)],
        (Ruling::Refused, "not-possible"),
        0.0,
        (600.0, 600.0, 0.0),
    );
}

// ---- §4: clear ground ----

#[test]
fn the_table_ends() {
    let units = vec![
        pair("r1", "foot", (600.0, 1150.0, 0.0)),
        pair("b1", "foot", (100.0, 100.0, 0.0)),
    ];
    let table = game(rules(), units);
    check(&table, &[forward(50.0)], LEGAL, 50.0, (600.0, 1200.0, 0.0));
    check(
        &table,
        &[forward(50.4)],
        (Ruling::Marginal, "off-table"),
        50.4,
        (600.0, 1200.4, 0.0),
    );
    let verdict = check(
        &table,
        &[forward(60.0)],
        (Ruling::Refused, "off-table"),
        60.0,
        (600.0, 1210.0, 0.0),
    );
    assert_eq!(verdict.furthest.expect("some").y_mm, 1200.0);
    check(
        &table,
        &[forward_up_to(60.0)],
        LEGAL,
        50.0,
        (600.0, 1200.0, 0.0),
    );
}

#[test]
fn impassable_ground_stops_the_whole_footprint() {
    let mut ground = bare_ground();
    // only under the right end of the front
    ground.patches.push(patch(
        "crag",
        1.0,
        true,
        &[
            (630.0, 640.0),
            (700.0, 640.0),
            (700.0, 700.0),
            (630.0, 700.0),
        ],
    ));
    let table = on(rules(), ground, vec![]);
    check(&table, &[forward(40.0)], LEGAL, 40.0, (600.0, 640.0, 0.0));
    let verdict = check(
        &table,
        &[forward(50.0)],
        (Ruling::Refused, "impassable"),
        50.0,
        (600.0, 650.0, 0.0),
    );
    assert_eq!(verdict.furthest.expect("some").y_mm, 640.0);
    check(
        &table,
        &[forward_up_to(50.0)],
        LEGAL,
        40.0,
        (600.0, 640.0, 0.0),
    );
    // a wheel left carries the right corner up and then away to the left of the crag: 630 − 560 = 70 < 80
    check(
        &table,
        &[wheel(Hand::Left, 60.0)],
        (Ruling::Refused, "impassable"),
        83.776,
        (580.0, 634.641, 300.0),
    );
}

#[test]
fn friends_may_be_passed_but_not_ended_on() {
    let friend = || vec![pair("r2", "foot", (600.0, 660.0, 0.0))];
    let table = with(friend());
    check(&table, &[forward(90.0)], LEGAL, 90.0, (600.0, 690.0, 0.0));
    let verdict = check(
        &table,
        &[forward(50.0)],
        (Ruling::Refused, "ends-on-friend"),
        50.0,
        (600.0, 650.0, 0.0),
    );
    assert_eq!(verdict.furthest.expect("some").y_mm, 640.0);
    let mut ruleset = rules();
    ruleset.movement.pass_friends = false;
    let table = on(ruleset, bare_ground(), friend());
    check(
        &table,
        &[forward(90.0)],
        (Ruling::Refused, "ends-on-friend"),
        90.0,
        (600.0, 690.0, 0.0),
    );
    check(
        &table,
        &[forward_up_to(90.0)],
        LEGAL,
        40.0,
        (600.0, 640.0, 0.0),
    );
}

// ---- §5: zones ----

/// An enemy whose front lies `gap_mm` ahead of the mover's.
fn facing(gap_mm: f64) -> Vec<UnitEntry> {
    vec![pair("b1", "foot", (600.0, 600.0 + gap_mm, 180.0))]
}

#[test]
fn a_move_ends_at_an_enemy_halt_zone() {
    let table = with(facing(100.0));
    check(&table, &[forward(80.0)], LEGAL, 80.0, (600.0, 680.0, 0.0));
    check(
        &table,
        &[forward(80.4)],
        (Ruling::Marginal, "enemy-zone"),
        80.4,
        (600.0, 680.4, 0.0),
    );
    let verdict = check(
        &table,
        &[forward(90.0)],
        (Ruling::Refused, "enemy-zone"),
        90.0,
        (600.0, 690.0, 0.0),
    );
    let reason = serde_json::to_value(&verdict.reasons[0]).expect("json");
    assert_eq!(
        (reason["limit_mm"].as_f64(), reason["measured_mm"].as_f64()),
        (Some(20.0), Some(10.0))
    );
    assert_eq!(
        (
            reason["at"]["leg"].as_u64(),
            reason["at"]["along_mm"].as_f64()
        ),
        (Some(0), Some(80.0))
    );
    assert_eq!(verdict.furthest.expect("some").y_mm, 680.0);
    check(
        &table,
        &[forward_up_to(200.0)],
        LEGAL,
        80.0,
        (600.0, 680.0, 0.0),
    );
}

#[test]
fn contact_is_reported_beside_the_zone() {
    let verdict = judged(&with(facing(100.0)), "r1", &[forward(110.0)]);
    let codes: Vec<&str> = verdict
        .reasons
        .iter()
        .map(|reason| reason.code().as_str())
        .collect();
    assert_eq!(codes, ["enemy-contact", "enemy-zone"]);
}

#[test]
fn in_a_zone_only_aligning_is_left() {
    let table = with(facing(100.0));
    check(
        &table,
        &[forward(80.0), align(Hand::Left, 5.0)],
        LEGAL,
        80.0,
        (600.0, 680.0, 355.0),
    );
    check(
        &table,
        &[forward(80.0), back(10.0)],
        (Ruling::Refused, "enemy-zone"),
        100.0,
        (600.0, 670.0, 0.0),
    );
    check(
        &table,
        &[forward(80.0), Leg::About],
        (Ruling::Refused, "enemy-zone"),
        120.0,
        (600.0, 660.0, 180.0),
    );
    check(
        &table,
        &[align(Hand::Left, 5.0)],
        (Ruling::Refused, "not-possible"),
        0.0,
        (600.0, 600.0, 355.0),
    );
    check(
        &table,
        &[forward(80.0), align(Hand::Left, 30.0)],
        (Ruling::Refused, "angle-too-large"),
        80.0,
        (600.0, 680.0, 330.0),
    );
}

#[test]
fn wheeling_into_a_zone_stops_at_its_first_instant() {
    // the outer corner (640, 600) turns about (560, 600), under the enemy's west corner (600, 660)
    let table = with(vec![pair("b1", "foot", (640.0, 660.0, 180.0))]);
    let verdict = judged(&table, "r1", &[wheel(Hand::Left, 60.0)]);
    let codes: Vec<&str> = verdict
        .reasons
        .iter()
        .map(|reason| reason.code().as_str())
        .collect();
    assert_eq!(codes, ["enemy-contact", "enemy-zone"]);
    let stopped = judged(&table, "r1", &[wheel_up_to(Hand::Left, 60.0)]);
    assert_eq!(stopped.verdict, Ruling::Legal);
    assert_eq!(
        stopped.legs[0].stopped_by.as_deref(),
        Some("halt zone of b1")
    );
    let pose = stopped.end_pose.expect("on the table");
    let moved = crate::geometry::Footprint::new(
        &pose.placement(),
        crate::geometry::Block {
            frontage_mm: 80.0,
            depth_mm: 20.0,
        },
    );
    let enemy = table
        .unit(&UnitId::from("b1"))
        .and_then(crate::game::Unit::footprint)
        .expect("there");
    let distance_mm = crate::geometry::distance_mm(&moved, &enemy);
    assert!(
        (distance_mm - 20.0).abs() < 0.002,
        "stopped {distance_mm} mm away"
    );
}

#[test]
fn a_locked_unit_may_align_or_close_straight_in() {
    let table = with(facing(15.0));
    check(&table, &[forward(10.0)], LEGAL, 10.0, (600.0, 610.0, 0.0));
    check(
        &table,
        &[align(Hand::Right, 2.0), forward(5.0)],
        LEGAL,
        5.0,
        (600.174, 604.997, 2.0),
    );
    check(
        &table,
        &[back(0.4)],
        (Ruling::Marginal, "locked"),
        0.8,
        (600.0, 599.6, 0.0),
    );
    check(
        &table,
        &[back(10.0)],
        (Ruling::Refused, "locked"),
        20.0,
        (600.0, 590.0, 0.0),
    );
    check(
        &table,
        &[wheel(Hand::Right, 5.0)],
        (Ruling::Refused, "locked"),
        6.981,
        (600.152, 603.486, 5.0),
    );
    check(
        &table,
        &[Leg::About],
        (Ruling::Refused, "locked"),
        40.0,
        (600.0, 580.0, 180.0),
    );
    check(
        &table,
        &[forward_up_to(50.0)],
        LEGAL,
        15.0,
        (600.0, 615.0, 0.0),
    );
}

#[test]
fn leaving_a_zone_may_cost_or_be_free() {
    let mut ruleset = rules();
    ruleset.zones.zone_exit = ZoneExit::Pay;
    let table = on(ruleset.clone(), bare_ground(), facing(15.0));
    check(&table, &[back(30.0)], LEGAL, 100.0, (600.0, 570.0, 0.0));
    check(
        &table,
        &[back(10.0), back(10.0)],
        LEGAL,
        80.0,
        (600.0, 580.0, 0.0),
    );
    check(&table, &[forward(10.0)], LEGAL, 10.0, (600.0, 610.0, 0.0));
    ruleset.zones.zone_exit = ZoneExit::Free;
    let table = on(ruleset, bare_ground(), facing(15.0));
    check(&table, &[back(30.0)], LEGAL, 60.0, (600.0, 570.0, 0.0));
}

#[test]
fn zones_may_look_ahead_only() {
    let mut ruleset = rules();
    // the enemy shows its back
    let away = vec![pair("b1", "foot", (600.0, 700.0, 0.0))];
    let all_round = on(ruleset.clone(), bare_ground(), away.clone());
    check(
        &all_round,
        &[forward(75.0)],
        (Ruling::Refused, "enemy-zone"),
        75.0,
        (600.0, 675.0, 0.0),
    );
    ruleset.zones.zone_front = crate::ruleset::ZoneFront::Ahead;
    let ahead = on(ruleset, bare_ground(), away);
    check(&ahead, &[forward(75.0)], LEGAL, 75.0, (600.0, 675.0, 0.0));
    check(
        &ahead,
        &[forward(90.0)],
        (Ruling::Refused, "enemy-contact"),
        90.0,
        (600.0, 690.0, 0.0),
    );
}

// ---- §6: command ----

#[test]
fn out_of_command_halves_the_allowance_and_bars_from_zones() {
    let general = |x_mm: f64| block("r9", "general", (1, 1), (x_mm, 600.0, 0.0));
    // radius 6 bw = 240 mm, base to base: the general's west edge is at x − 20, the unit's east edge at 640
    let near = on(rules(), bare_ground(), vec![general(900.0)]);
    check(&near, &[forward(120.0)], LEGAL, 120.0, (600.0, 720.0, 0.0));
    let marginal = on(rules(), bare_ground(), vec![general(900.4)]);
    check(
        &marginal,
        &[forward(120.0)],
        LEGAL,
        120.0,
        (600.0, 720.0, 0.0),
    );
    let far = on(rules(), bare_ground(), vec![general(901.0)]);
    let verdict = check(
        &far,
        &[forward(61.0)],
        (Ruling::Refused, "over-allowance"),
        61.0,
        (600.0, 661.0, 0.0),
    );
    assert!(!verdict.in_command);
    let mut units = facing(60.0);
    units.push(general(901.0));
    let barred = on(rules(), bare_ground(), units);
    check(&barred, &[forward(39.9)], LEGAL, 39.9, (600.0, 639.9, 0.0));
    check(
        &barred,
        &[forward(40.0)],
        (Ruling::Marginal, "out-of-command"),
        40.0,
        (600.0, 640.0, 0.0),
    );
    check(
        &barred,
        &[forward(50.0)],
        (Ruling::Refused, "out-of-command"),
        50.0,
        (600.0, 650.0, 0.0),
    );
    check(
        &barred,
        &[forward_up_to(60.0)],
        LEGAL,
        39.99,
        (600.0, 639.99, 0.0),
    );
    let mut units = facing(15.0);
    units.push(general(901.0));
    let held = on(rules(), bare_ground(), units);
    check(
        &held,
        &[forward(5.0)],
        (Ruling::Refused, "out-of-command"),
        5.0,
        (600.0, 605.0, 0.0),
    );
}

// ---- moving together ----

#[test]
fn units_wheel_as_one_body() {
    let units = vec![
        pair("r1", "foot", (600.0, 600.0, 0.0)),
        pair("r2", "foot", (680.0, 600.0, 0.0)),
        pair("b1", "foot", (100.0, 1150.0, 180.0)),
    ];
    let table = game(rules(), units);
    let order = Order::MoveTogether {
        units: vec![UnitId::from("r1"), UnitId::from("r2")],
        legs: vec![wheel(Hand::Left, 30.0)],
    };
    let verdict = judge_sheet(&table, &sheet(vec![order]));
    assert_eq!(verdict.verdict, Ruling::Legal, "{verdict:#?}");
    // the line is 160 mm wide and turns about (560, 600): arc 160 × π/6 = 83.776
    assert!((verdict.moves[0].charge_mm - 83.776).abs() < 0.001);
    let ends: Vec<Pose> = verdict
        .moves
        .iter()
        .filter_map(|moved| moved.end_pose)
        .collect();
    let apart = Point::new(ends[0].x_mm(), ends[0].y_mm())
        .distance_to(Point::new(ends[1].x_mm(), ends[1].y_mm()));
    assert!((apart - 80.0).abs() < 0.003, "{apart}");
    assert!((ends[1].x_mm() - (560.0 + 120.0 * 0.75_f64.sqrt())).abs() < 0.001);
    assert!((ends[1].y_mm() - 660.0).abs() < 0.001);
}

// ---- orders that name the wrong unit ----

#[test]
fn orders_must_name_ones_own_units_once() {
    let table = with(vec![]);
    let legs = vec![forward(10.0)];
    let order = |unit: &str| Order::Move {
        unit: UnitId::from(unit),
        legs: legs.clone(),
    };
    let codes = |orders: Vec<Order>| -> Vec<&'static str> {
        judge_sheet(&table, &sheet(orders))
            .all_reasons()
            .map(|reason| reason.code().as_str())
            .collect()
    };
    assert_eq!(codes(vec![order("r1")]), Vec::<&str>::new());
    assert_eq!(codes(vec![order("r7")]), ["no-such-unit"]);
    assert_eq!(codes(vec![order("b9")]), ["not-your-unit"]);
    assert_eq!(codes(vec![order("r1"), order("r1")]), ["moved-already"]);
    let mut late = sheet(vec![order("r1")]);
    late.game_turn = 2;
    let verdict = judge_sheet(&table, &late);
    assert_eq!(verdict.reasons[0].code().as_str(), "not-in-phase");
}
