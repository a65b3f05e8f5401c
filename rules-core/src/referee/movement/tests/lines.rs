//! Lines: what is paid once, until the unit has been clear of it, from leg to leg and from turn to turn.

use super::*;
use crate::game::{Event, LinesPaid, Push};
use crate::referee::judge_sheet;
use crate::ruleset::ChargeLines;

/// A brook that costs 30 mm across the table at this y.
fn brook_at(y: f64) -> Ground {
    let mut ground = bare_ground();
    let course = [(100.0, y), (1100.0, y)];
    ground.lines.push(line("brook", 30.0, false, &course));
    ground
}

/// r1 as horse, 80 wide and 20 deep, with 200 mm to spend.
fn horse(ground: Ground, at: (f64, f64, f64)) -> Game {
    let units = vec![
        pair("r1", "horse", at),
        pair("b9", "foot", (100.0, 1150.0, 180.0)),
    ];
    game_on(rules(), scenario(units), ground)
}

fn paid(game: &Game) -> &LinesPaid {
    &game.unit(&UnitId::from("r1")).expect("there").lines_paid
}

/// The game after the order, as if the next turn were red's again.
fn after(game: &Game, legs: &[Leg]) -> Game {
    let order = Order::Move {
        unit: UnitId::from("r1"),
        legs: legs.to_vec(),
    };
    let sheet = sheet(vec![order]);
    let verdict = judge_sheet(game, &sheet);
    assert_ne!(verdict.verdict, Ruling::Refused, "{verdict:#?}");
    let mut after = game.clone();
    let written = serde_json::to_string(&Event::SheetAccepted { sheet, verdict }).expect("json");
    after.apply(&serde_json::from_str(&written).expect("an event"));
    after
}

fn charge(game: &Game, legs: &[Leg]) -> f64 {
    judged(game, "r1", legs).charge_mm
}

fn stood(game: &Game) -> Pose {
    game.unit(&UnitId::from("r1"))
        .and_then(crate::game::Unit::pose)
        .expect("it stands")
}

#[test]
fn what_is_paid_for_stays_paid_from_turn_to_turn_until_the_unit_is_clear() {
    let table = horse(brook_at(630.0), (600.0, 600.0, 0.0));
    // over it by 10, the rear 10 short of it
    let astride = after(&table, &[forward(40.0)]);
    assert_eq!(paid(&astride), &LinesPaid::Only(vec![0]));
    assert_eq!(
        charge(&astride, &[back(20.0)]),
        40.0,
        "back over it for nothing"
    );
    let said = judged(&astride, "r1", &[back(20.0)]);
    let free = said.legs[0].lines[0].free.clone().expect("free");
    assert_eq!(free, "paid already: still astride");
    // the rear on the line is not clear of it, the rear 0.01 beyond is
    assert_eq!(
        charge(&after(&astride, &[forward(10.0)]), &[back(20.0)]),
        40.0
    );
    assert_eq!(
        charge(&after(&astride, &[forward(10.01)]), &[back(30.0)]),
        90.0
    );
}

/// One corner over the line, paid for by nobody, is no crossing in the next turn.
#[test]
fn who_ends_upon_a_line_without_paying_has_not_paid() {
    let table = horse(brook_at(605.0), (600.0, 600.0, 90.0));
    // deployed with its left side 35 mm beyond the line: paid, as the game was set up
    assert_eq!(paid(&table), &LinesPaid::All);
    assert_eq!(charge(&table, &[sidestep(Hand::Left, 10.0)]), 20.0);
    // away to the right, clear of it, and back with a side over it but not the anchor
    let away = after(&table, &[sidestep(Hand::Right, 36.0)]);
    assert_eq!(paid(&away), &LinesPaid::All, "no line is under it");
    let upon = after(&away, &[sidestep(Hand::Left, 20.0)]);
    assert_eq!(paid(&upon), &LinesPaid::Only(vec![]));
    assert_eq!(
        charge(&upon, &[sidestep(Hand::Left, 30.0)]),
        90.0,
        "60 and the brook"
    );
}

#[test]
fn who_falls_back_is_pushed_or_put_upon_a_line_has_paid() {
    let table = horse(brook_at(590.0), (600.0, 640.0, 0.0));
    let upon = Pose::from_mm_deg(600.0, 600.0, 0.0).expect("in reach");
    let unit = UnitId::from("r1");
    let from = stood(&table);
    let fell = Event::FellBack {
        unit: unit.clone(),
        from,
        to: upon,
        turned_deg: 0.0,
        pushed: vec![],
    };
    let pushed = Event::FellBack {
        unit: UnitId::from("b9"),
        from,
        to: from,
        turned_deg: 0.0,
        pushed: vec![Push {
            unit: unit.clone(),
            from,
            to: Some(upon),
        }],
    };
    let followed = Event::FollowedUp {
        unit: unit.clone(),
        from,
        to: upon,
    };
    let put = Event::PositionCorrected {
        unit,
        to: upon,
        reason: "it slipped".to_owned(),
    };
    for event in [fell, pushed, followed, put] {
        let mut there = table.clone();
        there.apply(&event);
        assert_eq!(charge(&there, &[back(20.0)]), 40.0, "{event:?}");
        // and by its own move it pays: from beyond, over it, not clear of it
        assert_eq!(charge(&table, &[back(60.0)]), 150.0);
    }
}

#[test]
fn losses_that_clear_a_line_count() {
    let units = vec![block("r1", "horse", (2, 2), (600.0, 640.0, 0.0))];
    let table = game_on(rules(), scenario(units), brook_at(605.0));
    assert_eq!(charge(&table, &[back(40.0)]), 80.0, "deployed upon it");
    let mut fewer = table.clone();
    fewer.apply(&Event::Lost {
        unit: UnitId::from("r1"),
        bases: 2,
    });
    // it now reaches back to 620, clear of the brook
    assert_eq!(charge(&fewer, &[back(40.0)]), 110.0);
    // the same after a move that paid: over the brook at 665, astride, then a rank less
    let units = vec![block("r1", "horse", (2, 2), (600.0, 640.0, 0.0))];
    let mut moved = after(
        &game_on(rules(), scenario(units), brook_at(665.0)),
        &[forward(55.0)],
    );
    assert_eq!(charge(&moved, &[back(40.0)]), 80.0);
    moved.apply(&Event::Lost {
        unit: UnitId::from("r1"),
        bases: 2,
    });
    assert_eq!(charge(&moved, &[back(40.0)]), 110.0);
}

/// Verdicts of older records do not say what was paid: a unit then owes nothing for what is under it.
#[test]
fn an_older_record_says_nothing_of_lines() {
    let table = horse(brook_at(630.0), (600.0, 600.0, 0.0));
    let order = Order::Move {
        unit: UnitId::from("r1"),
        legs: vec![forward(40.0)],
    };
    let sheet = sheet(vec![order]);
    let mut verdict = judge_sheet(&table, &sheet);
    verdict.moves[0].lines_paid = None;
    let written = serde_json::to_string(&Event::SheetAccepted { sheet, verdict }).expect("json");
    assert!(!written.contains("lines_paid"), "{written}");
    let mut after = table.clone();
    after.apply(&serde_json::from_str(&written).expect("an event"));
    assert_eq!(paid(&after), &LinesPaid::All);
}

/// Backing over a stream and turning about, or ending with a corner beyond, was a way to cross it for nothing.
#[test]
fn no_way_round_a_line_is_free() {
    let ways: [&[&[Leg]]; 3] = [
        // back over it, about
        &[&[Leg::About, back(25.0)], &[Leg::About, forward(30.0)]],
        // a wheel with the outer corner short of it, then on
        &[&[wheel(Hand::Left, 10.0)], &[forward(60.0), Leg::About]],
        // sideways over it in two turns
        &[
            &[Leg::Turn { side: Hand::Left }],
            &[sidestep(Hand::Right, 60.0)],
        ],
    ];
    for way in ways {
        let mut game = horse(brook_at(620.0), (600.0, 600.0, 0.0));
        let mut lines_mm = 0.0;
        for legs in way {
            let legs_charged = judged(&game, "r1", legs).legs;
            let charges = legs_charged.iter().flat_map(|leg| &leg.lines);
            lines_mm += charges.map(|line| line.charge_mm).sum::<f64>();
            game = after(&game, legs);
        }
        assert!(
            stood(&game).y_mm() > 620.0,
            "{way:?} ends at {:?}",
            stood(&game)
        );
        assert_eq!(lines_mm, 30.0, "{way:?}");
    }
}

#[test]
fn with_every_tape_nothing_is_remembered() {
    let mut ruleset = rules();
    ruleset.movement.charge_lines = ChargeLines::EveryTape;
    let units = vec![pair("r1", "horse", (600.0, 600.0, 0.0))];
    let table = game_on(ruleset, scenario(units), brook_at(630.0));
    let astride = after(&table, &[forward(40.0)]);
    assert_eq!(paid(&astride), &LinesPaid::All);
    assert_eq!(charge(&astride, &[back(20.0)]), 70.0);
}

/// What the tolerance grants is said with its figure, and is marginal only where it could not have been paid for.
#[test]
fn the_ledger_says_what_the_tolerance_grants() {
    let table = horse(brook_at(630.0), (600.0, 600.0, 0.0));
    let verdict = judged(&table, "r1", &[forward(30.4), back(1.0)]);
    assert_eq!(verdict.verdict, Ruling::Legal);
    let free = verdict.legs[0].lines[0].free.clone().expect("free");
    assert_eq!(free, "passed by 0.4 mm and come back over");
    let mut ground = brook_at(630.0);
    ground.lines[0].spans.push(GroundSpan {
        name: "Mill Bridge".to_owned(),
        from_mm: 489.7,
        to_mm: 499.75,
    });
    let verdict = judged(&horse(ground, (600.0, 600.0, 0.0)), "r1", &[forward(40.0)]);
    let free = verdict.legs[0].lines[0].free.clone().expect("free");
    assert_eq!(free, "Mill Bridge, missed by 0.25 mm");
    assert_eq!((verdict.verdict, verdict.charge_mm), (Ruling::Legal, 40.0));
}

/// The unit whose whole tape is dearest is charged: r2 for the bog of the first leg, r1 for more bog in the second.
#[test]
fn a_body_is_charged_by_the_whole_move() {
    let mut ground = bare_ground();
    let bog = |west: f64, south: f64, north: f64| {
        let east = west + 100.0;
        patch(
            "bog",
            2.0,
            false,
            &[(west, south), (east, south), (east, north), (west, north)],
        )
    };
    ground.patches = vec![bog(750.0, 605.0, 615.0), bog(350.0, 625.0, 645.0)];
    let units = vec![
        pair("r1", "horse", (400.0, 600.0, 0.0)),
        pair("r2", "horse", (800.0, 600.0, 0.0)),
    ];
    let table = game_on(rules(), scenario(units), ground);
    let order = Order::MoveTogether {
        units: vec![UnitId::from("r1"), UnitId::from("r2")],
        legs: vec![forward(20.0), forward(30.0)],
    };
    let verdict = judge_sheet(&table, &sheet(vec![order]));
    // leg by leg it was 30 by r2 and 50 by r1
    for moved in &verdict.moves {
        assert_eq!(moved.charge_mm, 70.0);
        for leg in &moved.legs {
            assert_eq!(leg.tape_of, Some(UnitId::from("r1")));
        }
    }
}

/// Beside an enemy the distance grows slowly at first: guns whose corner is 20 mm beside its front edge get farther by
/// 0.005 mm, and pay, only after hypot(s, 20) = 20.005, s = 0.447.
#[test]
fn leaving_is_due_where_the_unit_is_farther() {
    let mut ruleset = rules();
    ruleset.zones.zone_exit = ZoneExit::Pay;
    ruleset.zones.zone_exit_charge = serde_json::from_str("9").expect("a charge");
    let units = vec![
        block("r1", "horse", (1, 1), (600.0, 600.0, 0.0)),
        block("b1", "foot", (1, 1), (640.0, 620.0, 180.0)),
    ];
    let table = game_on(ruleset, scenario(units), bare_ground());
    let up_to = Leg::Sidestep {
        side: Hand::Left,
        distance_mm: Extent::UpTo(6.0),
    };
    let verdict = judged(&table, "r1", &[up_to]);
    assert_eq!(verdict.verdict, Ruling::Legal, "{verdict:#?}");
    assert!(
        (verdict.legs[0].tape_mm - 0.447).abs() < 0.001,
        "{verdict:#?}"
    );
    // trying again gains nothing
    let again = judged(&table, "r1", &[up_to, up_to]);
    assert_eq!(again.verdict, Ruling::Legal, "{again:#?}");
    assert!(again.legs[1].tape_mm < 0.001, "{again:#?}");
    let refused = judged(&table, "r1", &[sidestep(Hand::Left, 6.0)]);
    assert_eq!(refused.reasons[0].code().as_str(), "over-allowance");
    let at = refused.reasons[0].place_on_path().expect("a place");
    assert!((at.along_mm - 0.44).abs() < 0.001, "{at:?}");
}
