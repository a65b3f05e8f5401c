//! Legs, their tape, what they charge.

use super::*;

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
    // in tenths, as the remedy says
    assert_eq!(verdict.furthest.expect("some").y_mm, 629.9);
    assert_eq!(verdict.furthest, Some(verdict.remedies[0].end));
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
    // What is granted is the furthest legal place of what asks for more.
    for legs in [vec![forward(21.0)], vec![forward(20.0), forward(1.0)]] {
        let verdict = judged(&table, "r1", &legs);
        assert_eq!(verdict.furthest.expect("somewhere").y_mm, 620.0, "{legs:?}");
    }
    let stopped = judged(&table, "r1", &[forward_up_to(90.0)]);
    assert_eq!(stopped.legs[0].stopped_by.as_deref(), Some("minimum move"));
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
