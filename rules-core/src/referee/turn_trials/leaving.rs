//! Leaving over an exit, worked by hand and over random tables.

use proptest::prelude::*;

use super::{answer, forward};
use crate::game::{Cause, Event, Game, State, Unit};
use crate::geometry::{Point, distance_point_footprint_mm, smaller};
use crate::orders::Order;
use crate::referee::judge_sheet;
use crate::referee::testing::{bare_ground, block, game_on, pair, played, rules, scenario, sheet};
use crate::scenario::{Edge, Exit, UnitEntry};
use crate::verdict::{Reason, Ruling};

/// Red may leave over the east edge between 300 and 700 mm for half a point a strength point.
fn exit(side: &str, edge: Edge) -> Exit {
    Exit {
        side: side.to_owned(),
        edge,
        from_mm: 300.0,
        to_mm: 700.0,
        points_per_strength: 0.5,
    }
}

fn table(exits: Vec<Exit>, mut units: Vec<UnitEntry>) -> Game {
    units.push(pair("b9", "foot", (100.0, 1100.0, 180.0)));
    let mut scenario = scenario(units);
    scenario.exit = exits;
    game_on(rules(), scenario, bare_ground())
}

fn leave(unit: &str) -> Order {
    Order::Leave { unit: unit.into() }
}

/// A pair that faces east, its front edge at `x` and its middle at `y`.
fn eastward(x: f64, y: f64) -> UnitEntry {
    pair("r1", "foot", (x, y, 90.0))
}

#[test]
fn units_leave_over_their_exits() {
    let ruled = |x, y| {
        answer(
            &table(vec![exit("red", Edge::East)], vec![eastward(x, y)]),
            leave("r1"),
        )
    };
    // touching the stretch, within the tolerance of it, and short of it
    assert!(ruled(1200.0, 500.0).starts_with("legal"));
    assert!(ruled(1199.5, 500.0).starts_with("marginal not-possible"));
    assert!(ruled(1199.4, 500.0).starts_with("refused not-possible"));
    // orders are carried out as written: who has not moved yet is told so
    let told = |orders| {
        let game = table(vec![exit("red", Edge::East)], vec![eastward(1150.0, 500.0)]);
        let verdict = judge_sheet(&game, &sheet(orders));
        let reason = verdict.all_reasons().next().map(Reason::text);
        reason.unwrap_or_default()
    };
    let march = |mm| Order::Move {
        unit: "r1".into(),
        legs: vec![forward(mm)],
    };
    let hint = "write its move to the edge on a line before";
    assert!(told(vec![leave("r1"), march(50.0)]).contains(hint));
    assert!(!told(vec![march(40.0), leave("r1")]).contains(hint));
    assert_eq!(told(vec![march(50.0), leave("r1")]), "");
    // its 80 mm along the edge reach to 740 and 741
    assert!(ruled(1200.0, 740.0).starts_with("legal"));
    assert!(ruled(1200.0, 741.0).starts_with("refused not-possible"));
    // the other side's exit, and none at all
    let others = table(
        vec![exit("blue", Edge::East)],
        vec![eastward(1200.0, 500.0)],
    );
    assert!(answer(&others, leave("r1")).starts_with("refused not-possible"));
    let none = table(vec![], vec![eastward(1200.0, 500.0)]);
    assert!(answer(&none, leave("r1")).starts_with("refused not-possible"));
    // an enemy 15 mm off holds it
    let held = vec![
        eastward(1200.0, 500.0),
        pair("b1", "foot", (1190.0, 555.0, 180.0)),
    ];
    let held = table(vec![exit("red", Edge::East)], held);
    assert!(answer(&held, leave("r1")).starts_with("refused locked"));
}

#[test]
fn who_leaves_is_gone_before_battles_and_earns_its_strength() {
    // r1's two bases of strength 1 are worth a point; the enemy 30 mm off would have to be attacked
    let units = vec![
        eastward(1150.0, 500.0),
        block("rc", "general", (1, 1), (1200.0, 600.0, 90.0)),
        pair("b1", "foot", (1190.0, 570.0, 180.0)),
    ];
    let mut table = table(vec![exit("red", Edge::East)], units);
    let march = Order::Move {
        unit: "r1".into(),
        legs: vec![forward(50.0)],
    };
    assert!(played(&mut table, vec![march.clone()], 1).is_err());
    let events = played(&mut table, vec![march, leave("r1")], 1).expect("legal");
    assert!(matches!(
        &events[1],
        Event::Left { unit, points } if unit.0 == "r1" && (*points - 1.0).abs() < 1e-9
    ));
    assert!(matches!(
        table.unit(&"r1".into()).map(|unit| &unit.state),
        Some(State::Gone(Cause::Exited))
    ));
    assert_eq!(table.exit_points(), [1.0, 0.0]);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, ..ProptestConfig::default() })]

    #[test]
    fn a_unit_leaves_where_it_touches_an_exit(
        corner in (0usize..4, 250.0..750.0f64), in_mm in -2.0..30.0f64, bearing in prop_oneof![
            Just(0.0), Just(90.0), Just(180.0), Just(270.0), 0.0..360.0f64
        ],
    ) {
        let (edge, along_mm) = ([Edge::North, Edge::East, Edge::South, Edge::West][corner.0], corner.1.round());
        let onto = |along_mm: f64, in_mm: f64| match edge {
            Edge::North => Point::new(along_mm, 1200.0 - in_mm),
            Edge::South => Point::new(along_mm, in_mm),
            Edge::West => Point::new(in_mm, along_mm),
            Edge::East => Point::new(1200.0 - in_mm, along_mm),
        };
        let middle = onto(along_mm, in_mm);
        let unit = pair("r1", "foot", (middle.x, middle.y, bearing.round()));
        let mut game = table(vec![exit("red", edge)], vec![unit]);
        let ground = game.unit(&"r1".into()).and_then(Unit::footprint).expect("stands");
        // the exit in steps of a tenth of a millimetre
        let away_mm = (3000..=7000)
            .map(|tenth| distance_point_footprint_mm(onto(f64::from(tenth) / 10.0, 0.0), &ground))
            .fold(f64::INFINITY, smaller);
        prop_assume!((away_mm - 0.5).abs() > 0.06);
        let before = game.exit_points()[0];
        let left = played(&mut game, vec![leave("r1")], 1);
        prop_assert_eq!(left.is_ok(), away_mm < 0.5, "{} mm: {:#?}", away_mm, left);
        let earned = game.exit_points()[0] - before;
        prop_assert_eq!(earned, if left.is_ok() { 1.0 } else { 0.0 });
        if let Err(verdict) = left {
            prop_assert_eq!(verdict.verdict, Ruling::Refused);
        }
    }
}
