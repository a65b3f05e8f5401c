//! Halt zones: entering, contact, being locked, leaving.

use super::*;

#[test]
fn a_move_may_not_go_deeper_than_the_edge_of_a_halt_zone() {
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
fn at_the_edge_of_a_zone_a_move_goes_on_unless_it_has_aligned() {
    let table = with(facing(100.0));
    let aligned = [forward(80.0), align(Hand::Left, 5.0)];
    check(&table, &aligned, LEGAL, 80.0, (600.0, 680.0, 355.0));
    let legs = [forward(80.0), back(10.0)];
    check(&table, &legs, LEGAL, 100.0, (600.0, 670.0, 0.0));
    let legs = [forward(80.0), Leg::About];
    check(&table, &legs, LEGAL, 120.0, (600.0, 660.0, 180.0));
    let verdict = check(
        &table,
        &[forward(80.0), align(Hand::Left, 5.0), back(10.0)],
        (Ruling::Refused, "enemy-zone"),
        100.0,
        (600.872, 670.038, 355.0),
    );
    assert_eq!(
        verdict.reasons[0].text(),
        "It aligned in the halt zone of b1, in which it did not begin: having aligned in the zone it may only align."
    );
    // an aligning outside any zone is not made, and what follows is judged from where it stands
    check(
        &table,
        &[align(Hand::Left, 5.0), forward(10.0)],
        (Ruling::Refused, "not-possible"),
        10.0,
        (600.0, 610.0, 0.0),
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
fn the_sentences_of_zones_left_and_of_fronts_passed() {
    let told = |table: &Game, legs: &[Leg]| judged(table, "r1", legs).reasons[0].text();
    // bearing 20: the corner is 40 sin 20 = 13.681 ahead of the anchor; square to the enemy it is 25 away
    let slanting = |ahead_mm: f64| {
        let units = vec![
            pair("b1", "foot", (600.0, 600.0 + ahead_mm, 180.0)),
            pair("r1", "foot", (600.0, 600.0, 20.0)),
        ];
        game(rules(), units)
    };
    assert_eq!(
        told(&slanting(25.0), &[align(Hand::Left, 20.0)]),
        "It began in the halt zone of b1 and must end within 20.0 mm; this ends 25.0 mm away: no leg may leave the zone."
    );
    assert_eq!(
        told(&slanting(15.0), &[Leg::About]),
        "It began in the halt zone of b1 and may only align or move straight: \"about\" is neither aligning nor a straight leg."
    );
    let mut ruleset = rules();
    ruleset.zones.zone_front = crate::ruleset::ZoneFront::Ahead;
    // beside the enemy, 10 mm from it and 5 mm behind the line of its front
    let beside = vec![pair("b1", "foot", (510.0, 605.0, 0.0))];
    let table = on(ruleset, bare_ground(), beside);
    assert_eq!(
        told(&table, &[forward(8.0)]),
        "It must stop at the line of b1's front, ahead of which its halt zone lies; this comes 3.0 mm ahead of it."
    );
}

/// Who ends outside by no more than the tolerance is held still, until it is put elsewhere or the enemy is gone.
#[test]
fn who_slips_out_by_less_than_the_tolerance_is_held_still() {
    let slips = |mm: f64| {
        let mut ruleset = rules();
        ruleset.attacks.compulsory = false;
        let mut table = on(ruleset, bare_ground(), facing(20.0));
        let order = Order::Move {
            unit: UnitId::from("r1"),
            legs: vec![back(mm)],
        };
        crate::referee::testing::played(&mut table, vec![order], 1).expect("not refused");
        crate::referee::testing::close(&mut table);
        table
    };
    let code = |table: &Game, legs: &[Leg]| {
        let order = Order::Move {
            unit: UnitId::from("r1"),
            legs: legs.to_vec(),
        };
        let mut sheet = sheet(vec![order]);
        sheet.game_turn = table.game_turn();
        let moved = judge_sheet(table, &sheet).moves.remove(0);
        let code = moved.reasons.first().map(|reason| reason.code().as_str());
        (moved.verdict, code.unwrap_or(""))
    };
    let held = slips(0.4);
    let unit = held.unit(&UnitId::from("r1")).expect("there");
    assert_eq!(unit.still_held_by, [UnitId::from("b1")]);
    assert_eq!(code(&held, &[Leg::About]), (Ruling::Refused, "locked"));
    // 0.45 and 0.6 outside
    assert_eq!(code(&held, &[back(0.05)]), (Ruling::Marginal, "locked"));
    assert_eq!(code(&held, &[back(0.2)]), (Ruling::Refused, "locked"));
    // as far outside as it began
    assert_eq!(code(&held, &[sidestep(Hand::Left, 5.0)]), LEGAL);
    // the record says so
    let written = serde_json::to_value(judged(&with(facing(20.0)), "r1", &[back(0.4)]));
    assert_eq!(written.expect("json")["still_held_by"][0], "b1");
    // where the enemy has gone back farther, nobody holds it
    let mut gone = held.clone();
    let pose = Pose::from_mm_deg(600.0, 620.2, 180.0).expect("a pose");
    gone.suppose(&UnitId::from("b1"), crate::game::State::Standing(pose), 2);
    assert_eq!(code(&gone, &[Leg::About]), LEGAL);
    // nor one that was put there by no move of its own
    let mut put = held;
    let to = put
        .unit(&UnitId::from("r1"))
        .and_then(crate::game::Unit::pose);
    put.apply(&crate::game::Event::PositionCorrected {
        unit: UnitId::from("r1"),
        to: to.expect("stands"),
        reason: "as it stands".to_owned(),
    });
    assert_eq!(code(&put, &[Leg::About]), LEGAL);
}

#[test]
fn a_wheel_about_a_corner_on_the_edge_of_the_table_leaves_it_where_the_other_does() {
    let units = vec![
        block("r1", "foot", (1, 1), (20.0, 600.0, 0.0)),
        pair("b9", "foot", (900.0, 1100.0, 180.0)),
    ];
    let table = game(rules(), units);
    // a quarter turn brings its front along the edge: 40 × π/2 = 62.83 mm of arc
    let verdict = judged(&table, "r1", &[wheel(Hand::Left, 100.0)]);
    let reason = &verdict.reasons[0];
    assert_eq!(reason.code().as_str(), "off-table");
    let at = reason.place_on_path().expect("a place");
    assert!((at.along_mm - 62.83).abs() < 0.011, "{at:?}");
    let to_it = judged(&table, "r1", &[wheel(Hand::Left, 90.0)]);
    assert_eq!(to_it.verdict, Ruling::Legal);
    let stopped = judged(&table, "r1", &[wheel_up_to(Hand::Left, 100.0)]);
    assert_eq!(stopped.verdict, Ruling::Legal);
    assert!((stopped.legs[0].tape_mm - 62.83).abs() < 0.011);
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
fn a_locked_unit_may_align_or_move_straight_but_not_off() {
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

/// Behind an enemy whose zone looks ahead there is none to align in, however near: it was let through as marginal up to
/// the zone's depth.
#[test]
fn behind_a_zone_that_looks_ahead_nobody_aligns() {
    let mut ruleset = rules();
    ruleset.zones.zone_front = crate::ruleset::ZoneFront::Ahead;
    // the enemy shows its back, 10 mm away
    let behind = vec![pair("b1", "foot", (600.0, 630.0, 0.0))];
    let table = on(ruleset, bare_ground(), behind);
    check(
        &table,
        &[align(Hand::Left, 2.0)],
        (Ruling::Refused, "not-possible"),
        0.0,
        (600.0, 600.0, 0.0),
    );
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
