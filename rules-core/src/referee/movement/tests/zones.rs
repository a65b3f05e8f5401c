//! Halt zones: entering, contact, being locked, leaving.

use super::*;

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
        (600.0, 600.0, 358.0),
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
