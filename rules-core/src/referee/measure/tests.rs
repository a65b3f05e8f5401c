//! Measurements by example, and against each other by property.

use proptest::prelude::*;

use super::{MeasureFault, measure};
use crate::game::{Game, GroundLine, GroundPatch};
use crate::geometry::{Point, Polygon, Polyline};
use crate::orders::UnitId;
use crate::referee::testing::{bare_ground, block, game, game_on, pair, rules, scenario};
use crate::referee::wild::{Draws, wild_game};
use crate::referee::zones;
use crate::ruleset::{
    Distance, Flanks, LineKind, RangeBand, Ruleset, Sight, TerrainKind, ZoneFront,
};
use crate::scenario::UnitEntry;
use crate::verdict::{Arc, Cover, Measurement};

fn measured(game: &Game, first: &str, second: &str) -> Measurement {
    measure(game, &UnitId::from(first), &UnitId::from(second)).expect("both stand")
}

/// r1 at (600, 600) facing north with its front edge from 560 to 640, and b1.
fn facing(ruleset: Ruleset, b1: UnitEntry) -> Game {
    game(ruleset, vec![pair("r1", "foot", (600.0, 600.0, 0.0)), b1])
}

#[test]
fn distance_and_nearest_points_of_a_corner_to_a_corner() {
    // r1's corner (640, 600) to b1's (670, 640): 3-4-5 times ten
    let game = facing(rules(), pair("b1", "foot", (710.0, 640.0, 180.0)));
    let measured = measured(&game, "r1", "b1");
    assert!((measured.distance_mm - 50.0).abs() < 1e-9);
    let [from, to] = measured.nearest;
    assert_eq!((from.x_mm, from.y_mm), (640.0, 600.0));
    assert_eq!((to.x_mm, to.y_mm), (670.0, 640.0));
    assert!(measured.enemies);
}

#[test]
fn zones_with_their_figures() {
    // 20 mm halt, 40 mm strike
    let game = facing(rules(), pair("b1", "foot", (600.0, 635.0, 180.0)));
    let [red, blue] = measured(&game, "r1", "b1").regards;
    for regard in [&red, &blue] {
        let halt = regard.halt_zone.as_ref().expect("an enemy");
        assert!(!halt.within && halt.limit_mm == 20.0);
        assert!((halt.measured_mm.expect("all round") - 35.0).abs() < 1e-9);
        let strike = regard.strike_zone.as_ref().expect("an enemy");
        assert!(strike.within && strike.limit_mm == 40.0);
        assert_eq!(regard.arc, Arc::Front);
    }
    assert_eq!((red.bearing_deg, red.off_ahead_deg), (0.0, 0.0));
    assert_eq!((blue.bearing_deg, blue.off_ahead_deg), (180.0, 0.0));
    assert!(red.bombardment.is_none() && red.sight.is_none() && red.fire.is_none());
}

#[test]
fn a_zone_that_looks_ahead_does_not_see_behind() {
    let mut ruleset = rules();
    ruleset.zones.zone_front = ZoneFront::Ahead;
    let game = facing(ruleset, pair("b1", "foot", (600.0, 635.0, 0.0)));
    // b1 shows r1 its back: its rear edge is at 615
    let [red, blue] = measured(&game, "r1", "b1").regards;
    assert!(red.halt_zone.expect("an enemy").within);
    let halt = blue.halt_zone.expect("an enemy");
    assert!(!halt.within && halt.measured_mm.is_none());
    assert_eq!(blue.arc, Arc::Rear);
    assert_eq!(blue.off_ahead_deg.abs(), 180.0);
}

#[test]
fn left_and_right_and_the_flank() {
    // due east of r1, facing it
    let game = facing(rules(), pair("b1", "foot", (700.0, 590.0, 270.0)));
    let [red, blue] = measured(&game, "r1", "b1").regards;
    assert_eq!((red.bearing_deg, red.off_ahead_deg), (90.0, 90.0));
    assert_eq!(red.arc, Arc::Flank);
    assert_eq!((blue.bearing_deg, blue.off_ahead_deg), (270.0, 0.0));
    // with a front arc of 100° it is before the front
    let mut ruleset = rules();
    ruleset.flanks = Some(Flanks {
        front_arc: 100.0,
        ..Flanks::default()
    });
    let game = facing(ruleset, pair("b1", "foot", (700.0, 590.0, 270.0)));
    assert_eq!(measured(&game, "r1", "b1").regards[0].arc, Arc::Front);
}

#[test]
fn friends_have_no_zones_for_each_other() {
    let game = game(
        rules(),
        vec![
            pair("r1", "foot", (600.0, 600.0, 0.0)),
            pair("r2", "foot", (680.0, 600.0, 0.0)),
        ],
    );
    let measured = measured(&game, "r1", "r2");
    assert!(measured.distance_mm < 1e-9 && !measured.enemies);
    let [one, other] = measured.regards;
    assert!(one.halt_zone.is_none() && other.strike_zone.is_none());
}

#[test]
fn guns_have_a_range_and_a_string() {
    let mut ruleset = rules();
    ruleset.sight = Some(Sight {
        units_block: true,
        bands: vec![RangeBand {
            within: Distance::new(8.0),
            strength: 1.0,
            shift: 0,
        }],
    });
    let units = vec![
        block("r1", "guns", (1, 1), (600.0, 600.0, 0.0)),
        pair("b1", "foot", (600.0, 700.0, 180.0)),
        pair("b2", "foot", (600.0, 760.0, 180.0)),
    ];
    let game = game(ruleset, units);
    let [near, _] = measured(&game, "r1", "b1").regards;
    let bombardment = near.bombardment.expect("guns");
    assert_eq!((bombardment.limit_mm, bombardment.within), (80.0, false));
    let fire = near.fire.expect("a law of fire");
    assert_eq!((fire.limit_mm, fire.within), (320.0, true));
    assert!(near.sight.expect("a law of sight").clear);
    // b1 is as wide as b2, so every string to it is stopped after 100 mm or a little more
    let [far, back] = measured(&game, "r1", "b2").regards;
    let sight = far.sight.expect("a law of sight");
    assert!(
        !sight.clear && sight.by.as_deref() == Some("b1"),
        "{sight:?}"
    );
    assert!((sight.clear_mm - 100.0).abs() < 0.01);
    assert!(back.fire.is_none() && back.bombardment.is_none());
}

#[test]
fn ground_that_a_defender_stands_on_or_behind() {
    let mut ground = bare_ground();
    let corner = |x: f64, y: f64| Point::new(x, y);
    ground.patches.push(GroundPatch {
        name: "Thicket".to_owned(),
        kind_name: "wood".to_owned(),
        kind: TerrainKind {
            defence: 2.0,
            shift: -1,
            ..TerrainKind::default()
        },
        outline: Polygon::new(
            vec![
                corner(500.0, 640.0),
                corner(700.0, 640.0),
                corner(700.0, 720.0),
                corner(500.0, 720.0),
            ],
            Vec::new(),
        )
        .expect("a square"),
    });
    ground.lines.push(GroundLine {
        name: "Wall".to_owned(),
        kind_name: "wall".to_owned(),
        kind: LineKind {
            shift: -2,
            ..LineKind::default()
        },
        charge_mm: 0.0,
        course: Polyline::new(vec![corner(500.0, 610.0), corner(700.0, 610.0)]).expect("a line"),
        spans: Vec::new(),
    });
    let units = vec![
        pair("r1", "foot", (600.0, 600.0, 0.0)),
        pair("b1", "foot", (600.0, 650.0, 180.0)),
    ];
    let game = game_on(rules(), scenario(units), ground);
    let [red, blue] = measured(&game, "r1", "b1").regards;
    let wall = Cover {
        ground: "Wall".to_owned(),
        line: true,
        factor: 1.0,
        shift: -2,
    };
    assert_eq!(red.cover, std::slice::from_ref(&wall));
    let thicket = Cover {
        ground: "Thicket (wood)".to_owned(),
        line: false,
        factor: 2.0,
        shift: -1,
    };
    assert_eq!(blue.cover, [thicket, wall]);
}

#[test]
fn command_as_it_stands() {
    let general = block("r9", "general", (1, 1), (901.0, 600.0, 0.0));
    let units = vec![
        pair("r1", "foot", (600.0, 600.0, 0.0)),
        general,
        pair("b1", "foot", (600.0, 700.0, 180.0)),
    ];
    let game = game(rules(), units);
    let [red, blue] = measured(&game, "r1", "b1").regards;
    assert!(!red.command.in_command);
    assert_eq!(red.command.commander, Some(UnitId::from("r9")));
    assert!((red.command.distance_mm - 241.0).abs() < 1e-9);
    assert!((red.command.radius_mm - 240.0).abs() < 1e-9);
    assert!(blue.command.in_command && blue.command.commander.is_none());
}

#[test]
fn what_cannot_be_measured_says_why() {
    let mut late = pair("b2", "foot", (0.0, 0.0, 0.0));
    late.at = None;
    late.arrives = Some(crate::scenario::Arrival {
        game_turn: 2,
        edge: crate::scenario::Edge::North,
        from_mm: 0.0,
        to_mm: 200.0,
    });
    let units = vec![pair("r1", "foot", (600.0, 600.0, 0.0)), late];
    let game = game(rules(), units);
    let fault = |first: &str, second: &str| {
        measure(&game, &UnitId::from(first), &UnitId::from(second)).expect_err("a fault")
    };
    assert_eq!(fault("r1", "r1"), MeasureFault::SameUnit("r1".into()));
    assert_eq!(fault("r1", "r7"), MeasureFault::NoSuchUnit("r7".into()));
    assert_eq!(fault("b2", "r1"), MeasureFault::NotOnTable("b2".into()));
    assert!(fault("b2", "r1").to_string().contains("not on the table"));
}

proptest! {
    /// Measuring the other way round gives the same, mirrored; the nearest points are as far apart
    /// as the distance says; zones agree with the law that stops moves; and it survives the wire.
    #[test]
    fn both_ways_agree(seed: u64) {
        let mut draws = Draws::new(seed);
        let game = wild_game(&mut draws);
        let units: Vec<_> = game.on_table().collect();
        for one in &units {
            for other in units.iter().filter(|other| other.id != one.id) {
                let there = measure(&game, &one.id, &other.id).expect("both stand");
                let back = measure(&game, &other.id, &one.id).expect("both stand");
                prop_assert!((there.distance_mm - back.distance_mm).abs() < 1e-9);
                let [first, second] = &there.regards;
                prop_assert_eq!((first, second), (&back.regards[1], &back.regards[0]));
                let [from, to] = there.nearest.map(Point::from);
                prop_assert!((from.distance_to(to) - there.distance_mm).abs() < 1e-6);
                if let Some(halt) = &first.halt_zone {
                    let (enemy, own) = (one.footprint().expect("stands"), other.footprint().expect("stands"));
                    let law = zones::is_in_halt_zone(game.ruleset(), &enemy, &own);
                    prop_assert_eq!(halt.within, law);
                }
                let wire = serde_json::to_string(&there).expect("it serialises");
                let read: Measurement = serde_json::from_str(&wire).expect("it reads back");
                prop_assert_eq!(serde_json::to_string(&read).expect("it serialises"), wire);
            }
        }
    }
}

/// A sheet that aims a wheel and the measuring of it come to the same angle.
#[test]
fn the_wheel_that_faces_each_point_is_the_one_that_a_sheet_aims() {
    use crate::orders::{Extent, Hand, Leg, Order};
    use crate::verdict::AimPoint;
    let units = vec![
        block("r1", "foot", (3, 2), (300.0, 200.0, 20.0)),
        block("b1", "foot", (2, 1), (700.0, 640.0, 215.0)),
    ];
    let game = game(rules(), units);
    let measured = measured(&game, "r1", "b1");
    let aims = &measured.regards[0].aims;
    let points: Vec<AimPoint> = aims.iter().map(|aim| aim.point).collect();
    assert_eq!(points[0], AimPoint::Middle);
    assert_eq!(points.len(), 5);
    for (word, hand, angle_deg) in [
        ("left", Hand::Left, aims[0].wheel_left_deg),
        ("right", Hand::Right, aims[0].wheel_right_deg),
    ] {
        let line = format!("r1: wheel {word} to face b1");
        let sheet = crate::orders::text::parse("sheet", &line, &game);
        let orders = match sheet {
            Ok(sheet) => sheet.orders,
            // the long way round is asked, and written out
            Err(faults) => {
                let readings = &faults[0].readings;
                let long = readings
                    .iter()
                    .find(|line| line.contains(word))
                    .expect("a reading");
                crate::orders::text::parse("sheet", long, &game)
                    .expect("it reads")
                    .orders
            }
        };
        let [Order::Move { legs, .. }] = &orders[..] else {
            panic!("{orders:?}");
        };
        let angle_deg = Extent::Exactly(angle_deg.expect("a wheel faces it"));
        assert_eq!(
            legs[..],
            [Leg::Wheel {
                side: hand,
                angle_deg
            }]
        );
    }
}
