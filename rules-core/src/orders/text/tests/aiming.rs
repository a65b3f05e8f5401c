//! Wheels that face something become angles, and the referee carries them out.

use proptest::prelude::*;
use proptest::sample::select;

use super::phrases::quern_bridge;
use crate::game::{Game, Unit};
use crate::geometry::{Footprint, Point};
use crate::orders::text::parse;
use crate::orders::{Extent, Hand, Leg, Order, UnitId};
use crate::referee::judge_sheet;
use crate::referee::testing::{bare_ground, block, game_on, rules, scenario};
use crate::verdict::Ruling;

/// The line ahead of a wheeled unit passes a goal by no more than this, in millimetres: what storing a pose in whole
/// micrometres and micro-degrees can do on a table, and more than ten times less than a tape shows.
const PASSES_BY_MM: f64 = 0.01;

/// A table where a unit can go anywhere: it has movement points enough, and its enemy no strength.
fn open_table(unit: (f64, f64, f64), enemy: (f64, f64, f64), files: u16) -> Game {
    let mut rules = rules();
    let foot = rules.troops.get_mut("foot").expect("foot");
    foot.movement_points = 1_000.0;
    let units = vec![
        block("red-1", "foot", (files, 2), unit),
        block("blue-1", "general", (1, 1), enemy),
    ];
    game_on(rules, scenario(units), bare_ground())
}

/// How far the line straight ahead from a unit's anchor passes a point, and how far ahead it does.
fn passes_by(footprint: &Footprint, point: Point) -> (f64, f64) {
    let offset = point - footprint.anchor();
    (
        offset.cross(footprint.ahead).abs(),
        offset.dot(footprint.ahead),
    )
}

/// The legs of the one order of a line.
fn legs(line: &str, game: &Game) -> Result<Vec<Leg>, String> {
    let sheet = parse("orders", line, game).map_err(|faults| faults[0].to_string())?;
    match &sheet.orders[..] {
        [Order::Move { legs, .. }] => Ok(legs.clone()),
        other => panic!("{other:?}"),
    }
}

fn angle_deg(leg: &Leg) -> f64 {
    leg.extent().and_then(Extent::amount).expect("an angle")
}

proptest! {
    /// Whatever was ordered before, the line ahead from the anchor meets the middle of the footprint after the wheel.
    #[test]
    fn the_line_ahead_meets_the_middle(
        at in (400.0..800.0f64, 400.0..800.0f64, 0.0..360.0f64),
        enemy in (60.0..1_140.0f64, 60.0..1_140.0f64, 0.0..360.0f64),
        files in 1u16..5,
        before in select(vec![
            "", "forward 37.5, ", "back 12, ", "sidestep right 2 bw, ", "oblique left 30 41.25, ",
            "turn left, ", "about, ", "wheel left 13.7, ", "reform 1x8, forward 3, ", "wheel right 200, turn right, back 5, ",
        ]),
        side in select(vec!["", "left ", "right "]),
    ) {
        let game = open_table(at, enemy, files);
        let line = format!("red-1: {before}wheel {side}to face blue-1");
        // too near, or the long way round: that is asked
        let Ok(legs) = legs(&line, &game) else { return Ok(()); };
        prop_assert!(matches!(legs.last(), Some(Leg::Wheel { .. })), "{line}: {legs:?}");
        let sheet = parse("orders", &line, &game).expect("it was read");
        let verdict = judge_sheet(&game, &sheet);
        if verdict.verdict == Ruling::Refused { return Ok(()); }
        let end = verdict.moves[0].end.expect("it stands somewhere");
        let block = game.unit(&UnitId::from("red-1")).map(Unit::block).expect("a unit");
        let reformed = if before.starts_with("reform") {
            crate::geometry::Block { frontage_mm: 40.0, depth_mm: 160.0 }
        } else { block };
        let pose = crate::geometry::Pose::from_mm_deg(end.x_mm, end.y_mm, end.bearing_deg).expect("on the table");
        let footprint = Footprint::new(&pose.placement(), reformed);
        let goal = game.unit(&UnitId::from("blue-1")).and_then(Unit::footprint).expect("it stands").centre;
        let (by_mm, ahead_mm) = passes_by(&footprint, goal);
        prop_assert!(by_mm <= PASSES_BY_MM && ahead_mm > 0.0, "{line}: by {by_mm} mm, {ahead_mm} mm ahead");
    }
}

#[test]
fn the_angle_is_the_one_of_the_nearer_way_and_is_written_out() {
    let game = quern_bridge();
    // B4's middle lies north-east of R2, which faces north
    let nearer = legs("R2: wheel to face B4", &game).unwrap();
    let right = legs("R2: wheel right until it faces B4", &game).unwrap();
    assert_eq!(nearer, right);
    let [
        Leg::Wheel {
            side: Hand::Right,
            angle_deg: Extent::Exactly(angle_deg),
        },
    ] = right[..]
    else {
        panic!("{right:?}");
    };
    // by hand: from the right corner (530, 190) to the middle (800, 720) are 270 east and 530 north, 26.995°, and the
    // anchor is 60 mm from that corner: asin(60 / 594.81) = 5.790° more
    assert!((angle_deg - 32.785).abs() < 0.001, "{angle_deg}");
    let faults = parse("orders", "R2: wheel left to face B4", &game).unwrap_err();
    assert!(
        faults[0].problem.contains("lies to the right"),
        "{}",
        faults[0]
    );
    assert_eq!(faults[0].readings.len(), 2, "{}", faults[0]);
}

#[test]
fn what_can_be_faced() {
    let game = quern_bridge();
    for (line, goal) in [
        ("R2: wheel to face Quern Bridge", Point::new(540.0, 440.0)),
        (
            "R2: wheel right to face the Maltster's Ford",
            Point::new(880.0, 420.0),
        ),
        ("R2: wheel right towards Quern", Point::new(645.0, 555.0)),
        (
            "R2: pivot so that it faces Tollgate Foot",
            Point::new(800.0, 720.0),
        ),
    ] {
        let legs = legs(line, &game).unwrap_or_else(|fault| panic!("{line}: {fault}"));
        let unit = game
            .unit(&UnitId::from("red-2"))
            .and_then(Unit::footprint)
            .expect("R2");
        let (pivot, sign) = match legs[0].side() {
            Some(Hand::Left) => (unit.front_left(), -1.0),
            _ => (unit.front_right(), 1.0),
        };
        let turned = unit.turned_about(pivot, (sign * angle_deg(&legs[0])).to_radians());
        let (by_mm, ahead_mm) = passes_by(&turned, goal);
        assert!(by_mm < PASSES_BY_MM && ahead_mm > 0.0, "{line}: {by_mm}");
    }
    let east = legs("R2: wheel right to face east", &game).unwrap();
    assert_eq!(angle_deg(&east[0]), 90.0);
    let again = legs("R2: wheel right 30, wheel right to face north-east", &game).unwrap();
    assert_eq!(angle_deg(&again[1]), 15.0);
}
