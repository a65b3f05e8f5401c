//! Coming onto the table, worked by hand and over random tables.

use proptest::prelude::*;

use super::{answer, forward};
use crate::game::{Event, Game};
use crate::geometry::{Footprint, Point, Vector, distance_mm, signed_distance_mm};
use crate::orders::{Hand, Leg, Order, UnitId};
use crate::referee::testing::{
    TABLE_MM, bare_ground, close, game, game_on, ground, pair, patch, played, rules, scenario,
};
use crate::ruleset::TerrainKind;
use crate::scenario::{Arrival, Edge, UnitEntry};
use crate::verdict::Ruling;

/// A pair of foot that waits to arrive, from the first game turn on, between 300 and 800 mm.
fn waiting(id: &str, edge: Edge, game_turn: u32) -> UnitEntry {
    UnitEntry {
        at: None,
        arrives: Some(Arrival {
            game_turn,
            edge,
            from_mm: 300.0,
            to_mm: 800.0,
        }),
        ..pair(id, "foot", (0.0, 0.0, 0.0))
    }
}

fn arrive(unit: &str, along_mm: f64, legs: &[Leg]) -> Order {
    Order::Arrive {
        unit: unit.into(),
        along_mm,
        legs: legs.to_vec(),
    }
}

fn table(mut others: Vec<UnitEntry>) -> Game {
    others.push(waiting("r1", Edge::South, 1));
    others.push(pair("b9", "foot", (600.0, 1100.0, 180.0)));
    game(rules(), others)
}

#[test]
fn units_arrive_at_their_edge_in_their_turn() {
    // a pair is 80 mm wide and 20 deep: with its rear on the edge its front stands 20 mm in
    for (edge, end) in [
        (Edge::North, "500.0 1180.0 180.0"),
        (Edge::South, "500.0 20.0 0.0"),
        (Edge::West, "20.0 500.0 90.0"),
        (Edge::East, "1180.0 500.0 270.0"),
    ] {
        let units = vec![
            waiting("r1", edge, 1),
            pair("b9", "foot", (600.0, 600.0, 180.0)),
        ];
        let found = answer(&game(rules(), units), arrive("r1", 500.0, &[]));
        assert_eq!(found, format!("legal; 0.0 of 120.0; {end}"));
    }
    // in its turn or any later one
    let units = vec![
        waiting("r1", Edge::South, 2),
        pair("b9", "foot", (600.0, 600.0, 180.0)),
    ];
    let mut later = game(rules(), units);
    let order = || arrive("r1", 500.0, &[]);
    assert!(answer(&later, order()).starts_with("refused not-in-phase"));
    for _ in 0..2 {
        close(&mut later);
        close(&mut later);
        assert!(answer(&later, order()).starts_with("legal"));
    }
}

#[test]
fn an_arrival_keeps_its_whole_frontage_within_its_stretch() {
    // from 300 to 800 mm the middle of 80 mm may come from 340 to 760
    let table = table(vec![]);
    for (along_mm, ruling) in [
        (340.0, "legal"),
        (339.6, "marginal not-possible"),
        (339.4, "refused not-possible"),
        (760.0, "legal"),
        (760.5, "marginal not-possible"),
        (760.6, "refused not-possible"),
        (f64::NAN, "refused not-possible"),
    ] {
        let found = answer(&table, arrive("r1", along_mm, &[]));
        assert!(found.starts_with(ruling), "{along_mm}: {found}");
    }
}

#[test]
fn coming_on_costs_nothing_and_the_legs_after_it_are_charged() {
    let open = table(vec![]);
    let go = |legs: &[Leg]| answer(&open, arrive("r1", 500.0, legs));
    assert_eq!(
        go(&[forward(100.0)]),
        "legal; 100.0 of 120.0; 500.0 120.0 0.0"
    );
    assert_eq!(
        go(&[forward(130.0)]),
        "refused over-allowance; 130.0 of 120.0; 500.0 150.0 0.0"
    );
    // a friend may be passed but not ended on
    let friend = table(vec![pair("r2", "foot", (500.0, 30.0, 0.0))]);
    let go = |legs: &[Leg]| answer(&friend, arrive("r1", 500.0, legs));
    assert!(go(&[]).starts_with("refused ends-on-friend"));
    assert!(go(&[forward(60.0)]).starts_with("legal; 60.0"));
}

#[test]
fn an_arriving_unit_is_set_down_clear() {
    let set_down =
        |others: Vec<UnitEntry>, legs: &[Leg]| answer(&table(others), arrive("r1", 500.0, legs));
    // its front edge is at y = 20; the enemy's at 15, at 35 and at 45
    let facing = |y: f64| vec![pair("b1", "foot", (500.0, y, 180.0))];
    assert!(set_down(facing(15.0), &[]).starts_with("refused enemy-contact"));
    // no deeper than 0 in a halt zone; at its edge it is in it, and locked
    assert!(set_down(facing(35.0), &[]).starts_with("refused enemy-zone"));
    assert!(set_down(facing(39.6), &[]).starts_with("marginal enemy-zone"));
    assert!(set_down(facing(40.0), &[forward(5.0)]).starts_with("legal"));
    assert!(set_down(facing(40.0), &[Leg::About]).starts_with("refused locked"));
    let align = Leg::Align {
        side: Hand::Left,
        angle_deg: 0.5,
    };
    // (a corner behind it then comes off the table: 40 mm × sin 0.5° = 0.35 mm)
    assert!(set_down(facing(40.0), &[align]).starts_with("marginal off-table"));
    assert!(set_down(facing(45.0), &[forward(5.0)]).starts_with("legal"));
    let kind = TerrainKind {
        impassable: true,
        ..TerrainKind::default()
    };
    let rock = patch("Rock", kind, (530.0, 5.0), (600.0, 15.0));
    let units = vec![
        waiting("r1", Edge::South, 1),
        pair("b9", "foot", (600.0, 1100.0, 180.0)),
    ];
    let rocky = game_on(rules(), scenario(units), ground(vec![rock], vec![]));
    assert!(answer(&rocky, arrive("r1", 500.0, &[])).starts_with("refused impassable"));
    assert!(answer(&rocky, arrive("r1", 480.0, &[])).starts_with("legal"));
}

#[test]
fn who_waits_is_not_on_the_table() {
    let mut table = table(vec![pair("r2", "foot", (500.0, 300.0, 0.0))]);
    let moves = Order::Move {
        unit: "r1".into(),
        legs: vec![],
    };
    assert!(answer(&table, moves).starts_with("refused no-such-unit"));
    let again = arrive("r2", 500.0, &[]);
    assert!(answer(&table, again).starts_with("refused not-possible"));
    // a second order for one that arrives by the first says so, and not that there is no such unit
    let twice = vec![arrive("r1", 500.0, &[]), arrive("r1", 700.0, &[])];
    let verdict = crate::referee::judge_sheet(&table, &crate::referee::testing::sheet(twice));
    let told: Vec<String> = verdict.moves[1]
        .reasons
        .iter()
        .map(|reason| reason.text())
        .collect();
    assert_eq!(told, ["r1 has an order already."]);
    let orders = vec![arrive("r1", 500.0, &[forward(50.0)])];
    let events = played(&mut table, orders, 1).expect("legal");
    assert!(matches!(&events[1], Event::Arrived { unit, .. } if unit.0 == "r1"));
    let stands = table.unit(&"r1".into()).and_then(crate::game::Unit::pose);
    assert_eq!(
        stands.map(|pose| (pose.x_um, pose.y_um)),
        Some((500_000, 70_000))
    );
}

fn edge() -> impl Strategy<Value = Edge> {
    prop_oneof![
        Just(Edge::North),
        Just(Edge::East),
        Just(Edge::South),
        Just(Edge::West)
    ]
}

/// The ground of a pair whose rear edge lies on a table edge, straight from the law.
fn drawn_up(edge: Edge, along_mm: f64) -> Footprint {
    let (centre, ahead) = match edge {
        Edge::North => (
            Point::new(along_mm, TABLE_MM - 10.0),
            Vector::new(0.0, -1.0),
        ),
        Edge::South => (Point::new(along_mm, 10.0), Vector::new(0.0, 1.0)),
        Edge::West => (Point::new(10.0, along_mm), Vector::new(1.0, 0.0)),
        Edge::East => (
            Point::new(TABLE_MM - 10.0, along_mm),
            Vector::new(-1.0, 0.0),
        ),
    };
    Footprint {
        centre,
        ahead,
        half_frontage: 40.0,
        half_depth: 10.0,
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, ..ProptestConfig::default() })]

    #[test]
    fn an_arrival_is_legal_where_it_is_clear(
        edge in edge(), along_mm in 280.0..820.0f64,
        others in prop::collection::vec((any::<bool>(), -120.0..120.0f64, 0.0..60.0f64, 0.0..360.0f64), 0..4),
    ) {
        let along_mm = along_mm.round();
        let place = drawn_up(edge, along_mm);
        let mut units = vec![waiting("r1", edge, 1), pair("b9", "foot", (600.0, 600.0, 180.0))];
        for (index, (friend, aside_mm, in_mm, bearing)) in others.into_iter().enumerate() {
            let at = place.centre + place.right() * aside_mm + place.ahead * (in_mm + 10.0);
            let id = format!("{}{}", if friend { "r" } else { "b" }, index + 2);
            units.push(pair(&id, "foot", (at.x.round(), at.y.round(), bearing.round())));
        }
        let table = game_on(rules(), scenario(units), bare_ground());
        let overlap_mm = table
            .on_table()
            .filter_map(crate::game::Unit::footprint)
            .map(|ground| -signed_distance_mm(&place, &ground))
            .fold(0.0, crate::geometry::larger);
        let deep_mm = table
            .on_table()
            .filter(|unit| unit.side == 1)
            .filter_map(crate::game::Unit::footprint)
            .map(|ground| 20.0 - distance_mm(&place, &ground))
            .fold(0.0, crate::geometry::larger);
        prop_assume!((deep_mm - 0.5).abs() > 0.01);
        let outside_mm = crate::geometry::larger(340.0 - along_mm, along_mm - 760.0);
        let worst_mm = [overlap_mm, outside_mm, deep_mm].into_iter().fold(0.0, crate::geometry::larger);
        prop_assume!((worst_mm - 0.5).abs() > 0.01);
        let mut orders = crate::referee::testing::sheet(vec![arrive("r1", along_mm, &[])]);
        orders.game_turn = 1;
        let verdict = crate::referee::judge_sheet(&table, &orders).moves.remove(0);
        prop_assert_eq!(verdict.verdict == Ruling::Refused, worst_mm > 0.5, "{} mm: {:#?}", worst_mm, verdict);
        if verdict.verdict != Ruling::Refused {
            let end = verdict.end_pose.expect("stands").placement();
            let ground = Footprint::new(&end, table.unit(&UnitId::from("r1")).expect("there").block());
            prop_assert!(ground.centre.distance_to(place.centre) < 1e-3);
            prop_assert!(ground.ahead.dot(place.ahead) > 1.0 - 1e-9);
        }
    }
}
