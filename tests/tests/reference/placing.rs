//! Corners off a real table: the crate `geo` turns and measures the front edge, the tape rounds it,
//! and what is read back keeps within the stated error.
//!
//! The bound, derived: let h be half the tape's step. Each of a corner's two distances is off by at
//! most h, so the corner by at most h√2, and so is the midpoint of two. The front edge as noted
//! differs from the true one, f long, by at most 2h√2 across, which turns it by at most asin(2h√2 / f).
//! A corner put back from midpoint and bearing is off by at most the midpoint's error and the chord of
//! half a front edge turned so: h√2 + f sin(turn / 2).

use std::sync::Arc;

use fieldpost_commander::Chance;
use fieldpost_rules::game::Game;
use fieldpost_rules::orders::UnitId;
use fieldpost_rules::scenario::Edge;
use fieldpost_rules::shipped;
use fieldpost_view::placing::{Corner, Edges, Steps, TapeUnit, pose_from_corners};
use geo::{Distance, Euclidean, Line, Point, Rotate};

const CASES: u32 = 10_000;

/// Poses are stored in whole micrometres and micro-degrees.
const QUANTUM_MM: f64 = 0.002;
const QUANTUM_DEG: f64 = 1e-4;

#[test]
fn ten_thousand_poses_are_read_back_within_the_stated_error() {
    let battle = shipped::find("quern-bridge").expect("shipped");
    let game = Game::new(Arc::new(battle.open().expect("sound files")));
    let table = game.scenario().table;
    let units: Vec<UnitId> = game.on_table().map(|unit| unit.id.clone()).collect();
    let mut chance = Chance::new(40_961);
    for case in 0..CASES {
        let unit = &units[case as usize % units.len()];
        let front_mm = game.unit(unit).expect("it is there").block().frontage_mm;
        let anchor = Point::new(
            front_mm + chance.share() * (table.width_mm - 2.0 * front_mm),
            front_mm + chance.share() * (table.depth_mm - 2.0 * front_mm),
        );
        let bearing = chance.share() * 360.0;
        // geo turns counter-clockwise
        let front = Line::new(
            Point::new(anchor.x() - front_mm / 2.0, anchor.y()),
            Point::new(anchor.x() + front_mm / 2.0, anchor.y()),
        )
        .rotate_around_point(-bearing, anchor);
        let tape = if chance.comes(0.5) {
            TapeUnit::Centimetres
        } else {
            TapeUnit::Inches
        };
        let edges = Edges {
            across: if chance.comes(0.5) {
                Edge::West
            } else {
                Edge::East
            },
            along: if chance.comes(0.5) {
                Edge::South
            } else {
                Edge::North
            },
        };
        let (left, left_noted) = noted(front.start_point(), edges, tape, &table);
        let (right, right_noted) = noted(front.end_point(), edges, tape, &table);
        let steps = Steps {
            placed_mm: tape.step_mm(),
            read_mm: tape.step_mm(),
        };
        let reading = pose_from_corners(&game, unit, edges, left, right, steps)
            .unwrap_or_else(|why| panic!("case {case}: {why}"));

        let found = reading.pose.placement().anchor;
        let found = Point::new(found.x, found.y);
        let off = Euclidean.distance(found, anchor);
        assert!(
            off <= reading.error.midpoint_mm + QUANTUM_MM,
            "case {case}: {off}"
        );
        let turned = between(bearing, reading.pose.bearing_deg());
        assert!(
            turned <= reading.error.bearing_deg + QUANTUM_DEG,
            "case {case}: {turned}"
        );
        let back = Line::new(
            Point::new(found.x() - front_mm / 2.0, found.y()),
            Point::new(found.x() + front_mm / 2.0, found.y()),
        )
        .rotate_around_point(-reading.pose.bearing_deg(), found);
        for (corner, true_corner) in [
            (back.start_point(), front.start_point()),
            (back.end_point(), front.end_point()),
        ] {
            let off = Euclidean.distance(corner, true_corner);
            assert!(
                off <= reading.error.corner_mm + QUANTUM_MM,
                "case {case}: {off}"
            );
        }

        // how far it is from the record, by geo
        let record = game
            .unit(unit)
            .and_then(|unit| unit.pose())
            .expect("it stands");
        let stands = record.placement().anchor;
        let away = Euclidean.distance(found, Point::new(stands.x, stands.y));
        assert!(
            (away - reading.off_mm).abs() < QUANTUM_MM,
            "case {case}: {away}"
        );
        let turned = between(record.bearing_deg(), reading.pose.bearing_deg());
        assert!(
            (turned - reading.turned_deg.abs()).abs() < QUANTUM_DEG,
            "case {case}: {turned}"
        );
        let long = Euclidean.distance(left_noted, right_noted);
        assert!(
            (long - front_mm - reading.frontage_over_mm).abs() < 1e-9,
            "case {case}: {long}"
        );
    }
}

/// What a person notes of a corner, and where on the table that is.
fn noted(
    corner: Point,
    edges: Edges,
    tape: TapeUnit,
    table: &fieldpost_rules::scenario::TableSize,
) -> (Corner, Point) {
    let step = tape.step_mm();
    let rounded = |mm: f64| (mm / step).round() * step;
    let (across, x) = match edges.across {
        Edge::East => {
            let across = rounded(table.width_mm - corner.x());
            (across, table.width_mm - across)
        }
        _ => (rounded(corner.x()), rounded(corner.x())),
    };
    let (along, y) = match edges.along {
        Edge::North => {
            let along = rounded(table.depth_mm - corner.y());
            (along, table.depth_mm - along)
        }
        _ => (rounded(corner.y()), rounded(corner.y())),
    };
    (
        Corner {
            across_mm: across,
            along_mm: along,
        },
        Point::new(x, y),
    )
}

/// The smaller angle between two bearings, in degrees.
fn between(first: f64, second: f64) -> f64 {
    let turn = (second - first).rem_euclid(360.0);
    turn.min(360.0 - turn)
}
