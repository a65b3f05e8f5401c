//! Out of command, units that move as one body, and who may be ordered.

use super::*;
use crate::geometry::Footprint;
use crate::referee::testing::{ground, line, patch};

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
    check(&barred, &[forward(40.0)], LEGAL, 40.0, (600.0, 640.0, 0.0));
    check(
        &barred,
        &[forward(40.4)],
        (Ruling::Marginal, "out-of-command"),
        40.4,
        (600.0, 640.4, 0.0),
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

fn together(leg: Leg) -> Vec<Order> {
    vec![Order::MoveTogether {
        units: vec![UnitId::from("r1"), UnitId::from("r2")],
        legs: vec![leg],
    }]
}

/// The ground between units costs nothing; that under any of them costs all.
#[test]
fn a_body_pays_the_dearest_of_its_units_tapes() {
    let units = vec![
        pair("r1", "foot", (400.0, 600.0, 0.0)),
        pair("r2", "foot", (800.0, 600.0, 0.0)),
    ];
    let slow = || crate::ruleset::TerrainKind {
        rate: 2.0,
        ..crate::ruleset::TerrainKind::default()
    };
    let bog = |west: f64| patch("Bog", slow(), (west - 50.0, 610.0), (west + 50.0, 630.0));
    let stream = |from: f64, to: f64| {
        let mut stream = line(
            "Stream",
            crate::ruleset::LineKind::default(),
            &[(from, 620.0), (to, 620.0)],
            &[],
        );
        stream.charge_mm = 40.0;
        stream
    };
    let charge = |patches, lines| {
        let table = game_on(rules(), scenario(units.clone()), ground(patches, lines));
        let verdict = judge_sheet(&table, &sheet(together(forward(50.0))));
        let tape_of = verdict.moves[0].legs[0]
            .tape_of
            .clone()
            .expect("somebody's");
        (verdict.moves[0].charge_mm, tape_of.0)
    };
    let is = |mm: f64, unit: &str| (mm, unit.to_owned());
    assert_eq!(charge(vec![], vec![]), is(50.0, "r1"));
    assert_eq!(charge(vec![bog(600.0)], vec![]), is(50.0, "r1"), "between");
    assert_eq!(charge(vec![bog(400.0)], vec![]), is(70.0, "r1"));
    assert_eq!(charge(vec![bog(800.0)], vec![]), is(70.0, "r2"));
    assert_eq!(charge(vec![], vec![stream(700.0, 900.0)]), is(90.0, "r2"));
    assert_eq!(charge(vec![], vec![stream(500.0, 700.0)]), is(50.0, "r1"));
}

/// Of several units, too, the first whose allowance is used up stops the leg.
#[test]
fn a_body_goes_as_far_as_its_slowest_tape() {
    let units = vec![
        pair("r1", "foot", (400.0, 600.0, 0.0)),
        pair("r2", "foot", (800.0, 600.0, 0.0)),
    ];
    let slow = crate::ruleset::TerrainKind {
        rate: 2.0,
        ..crate::ruleset::TerrainKind::default()
    };
    let bog = patch("Bog", slow, (700.0, 610.0), (900.0, 900.0));
    let table = game_on(rules(), scenario(units), ground(vec![bog], vec![]));
    let alone = judge_sheet(
        &table,
        &sheet(vec![Order::Move {
            unit: UnitId::from("r2"),
            legs: vec![forward_up_to(500.0)],
        }]),
    );
    let both = judge_sheet(&table, &sheet(together(forward_up_to(500.0))));
    assert_eq!(both.verdict, Ruling::Legal, "{both:#?}");
    let far = |verdict: &crate::verdict::SheetVerdict, at: usize| {
        verdict.moves[at].end.expect("it stands").y_mm
    };
    assert_eq!(far(&both, 0), far(&alone, 0));
    assert_eq!(far(&both, 1), far(&alone, 0));
}

/// About the middle of them all, two units would change places for one movement point.
#[test]
fn units_that_turn_together_stay_where_they_are() {
    let table = with(vec![pair("r2", "foot", (900.0, 600.0, 0.0))]);
    for leg in [Leg::About, Leg::Turn { side: Hand::Left }] {
        let verdict = judge_sheet(&table, &sheet(together(leg)));
        assert_eq!(verdict.verdict, Ruling::Legal, "{verdict:#?}");
        for (moved, middle) in verdict.moves.iter().zip([600.0, 900.0]) {
            let end = Footprint::new(
                &moved.end_pose.expect("it stands").placement(),
                table.unit(&moved.unit).expect("there").block(),
            );
            assert!(end.centre.distance_to(Point::new(middle, 590.0)) < 0.002);
        }
    }
}

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
    assert_eq!(
        verdict.reasons[0].text(),
        "This cannot be ordered now: the sheet is for game turn 2, and it is game turn 1."
    );
    let mut others = sheet(vec![order("r1")]);
    others.side = "blue".into();
    assert_eq!(
        judge_sheet(&table, &others).reasons[0].text(),
        "This cannot be ordered now: the sheet is for blue, and it is the turn of red."
    );
    let mut ended = table.clone();
    ended.apply(&crate::referee::stop(&table, None, "it was so", &[]));
    assert_eq!(
        judge_sheet(&ended, &sheet(vec![order("r1")])).reasons[0].text(),
        "This cannot be ordered now: the game ended before red played game turn 1."
    );
}

/// Units that touch are each stored by themselves after a wheel: what storing can do is no overlap, however small the
/// tolerance.
#[test]
fn a_body_side_by_side_does_not_overlap_itself_by_storing() {
    let mut ruleset = rules();
    ruleset.scale.tolerance_mm = 0.0;
    ruleset.scale.movement_point = crate::ruleset::Distance::new(8.0);
    let units = vec![
        block("r1", "foot", (1, 3), (490.0, 595.0, 0.0)),
        block("r3", "horse", (1, 3), (450.0, 595.0, 0.0)),
        block("r2", "foot", (4, 2), (570.0, 595.0, 0.0)),
    ];
    let table = game_on(ruleset, scenario(units), ground(vec![], vec![]));
    let mut wheeled = 0;
    for tenths in 1..700 {
        let legs = vec![
            forward(0.3),
            Leg::Wheel {
                side: Hand::Left,
                angle_deg: Extent::Exactly(f64::from(tenths) / 10.0),
            },
            Leg::Back {
                distance_mm: Extent::Exactly(0.3),
            },
        ];
        let order = Order::MoveTogether {
            units: ["r1", "r2", "r3"].map(UnitId::from).to_vec(),
            legs,
        };
        let verdict = judge_sheet(&table, &sheet(vec![order]));
        let mut reasons = verdict.moves.iter().flat_map(|moved| &moved.reasons);
        let overlap = reasons.find(|reason| reason.code() == crate::verdict::Code::EndsOnFriend);
        assert!(overlap.is_none(), "{tenths}: {overlap:?}");
        wheeled += usize::from(verdict.verdict == Ruling::Legal);
    }
    assert!(wheeled > 300, "{wheeled}");
}
