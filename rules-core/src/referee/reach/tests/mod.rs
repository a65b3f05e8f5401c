//! The outlines against moves judged by the referee: no legal end lies outside, and every place on
//! an outline can be come to.

mod ends;
mod lanes;

use ends::{check_anchor_lines, check_nothing_outside};
use lanes::check_footprint_lines;

use super::rays::check_outlooks;
use super::reach;
use crate::game::{Game, Unit};
use crate::geometry::{Footprint, Point, Pose, larger, smaller};
use crate::orders::{Extent, Hand, Leg, UnitId};
use crate::referee::measure::MeasureFault;
use crate::referee::movement::{self, Movement, Purpose, TurnStart};
use crate::referee::testing::{block, game, pair, rules};
use crate::referee::wild::{Draws, wild_game};
use crate::verdict::{Outline, Reach, Ruling};

/// Legs that may come first.
pub(super) const LIFTS: [Option<Leg>; 4] = [
    None,
    Some(Leg::Turn { side: Hand::Left }),
    Some(Leg::Turn { side: Hand::Right }),
    Some(Leg::About),
];

fn forward(distance_mm: f64, up_to: bool) -> Leg {
    Leg::Forward {
        distance_mm: Extent::new(distance_mm, up_to),
    }
}

/// Judges moves of one unit, as the referee does.
struct Judge<'a> {
    game: &'a Game,
    unit: &'a Unit,
    turn: TurnStart,
}

impl<'a> Judge<'a> {
    fn of(game: &'a Game, id: &str) -> Self {
        Self {
            game,
            unit: game.unit(&UnitId::from(id)).expect("it exists"),
            turn: TurnStart::of(game),
        }
    }

    /// The end of a move, if it is legal.
    fn end(&self, legs: &[Leg]) -> Option<Pose> {
        let units = [self.unit];
        let movement = Movement {
            order: 0,
            units: &units,
            legs,
            purpose: Purpose::March,
        };
        let verdicts = movement::judge(self.game, &self.turn, &movement);
        let verdict = verdicts.first()?;
        (verdict.verdict == Ruling::Legal)
            .then_some(verdict.end_pose)
            .flatten()
    }

    fn footprint(&self, pose: Pose) -> Footprint {
        Footprint::new(&pose.placement(), self.unit.block())
    }
}

fn sides(outline: &Outline) -> impl Iterator<Item = (Point, Point)> + '_ {
    let count = outline.points.len();
    (0..count).map(move |index| {
        let from = Point::from(outline.points[index]);
        let to = Point::from(outline.points[(index + 1) % count]);
        (from, to)
    })
}

fn away(point: Point, from: Point, to: Point) -> f64 {
    let along = to - from;
    let squared = along.dot(along);
    let share = if squared > 0.0 {
        (point - from).dot(along) / squared
    } else {
        0.0
    };
    point.distance_to(from + along * larger(smaller(share, 1.0), 0.0))
}

/// How far outside the outlined ground a point lies; 0 inside.
fn outside_mm(outlines: &[Outline], point: Point) -> f64 {
    let mut inside = false;
    let mut nearest = f64::INFINITY;
    for (from, to) in outlines.iter().flat_map(sides) {
        if (from.y > point.y) != (to.y > point.y) {
            let x = from.x + (to.x - from.x) * (point.y - from.y) / (to.y - from.y);
            if x > point.x {
                inside = !inside;
            }
        }
        nearest = smaller(nearest, away(point, from, to));
    }
    if inside { 0.0 } else { nearest }
}

fn border_mm(outlines: &[Outline], point: Point) -> f64 {
    outlines
        .iter()
        .flat_map(sides)
        .map(|(from, to)| away(point, from, to))
        .fold(f64::INFINITY, smaller)
}

fn reached(game: &Game, id: &str) -> Reach {
    reach(game, &UnitId::from(id)).expect("it stands")
}

/// Corners and middles of the sides of every outline.
fn places_on(outlines: &[Outline]) -> Vec<Point> {
    outlines
        .iter()
        .flat_map(sides)
        .flat_map(|(from, to)| [from, from.towards(to, 0.5)])
        .collect()
}

/// Where legs end that would be legal but for ending on a friend: found by marching on.
fn wheeled_over(judge: &Judge<'_>, first: &[Leg]) -> Option<Pose> {
    let mut alone = judge.game.clone();
    for unit in judge.game.on_table() {
        if unit.side == judge.unit.side && unit.id != judge.unit.id && !unit.is_commander() {
            let gone = crate::game::State::Gone(crate::game::Cause::Exited);
            alone.suppose(&unit.id, gone, unit.files);
        }
    }
    if !judge.game.ruleset().movement.pass_friends {
        return None;
    }
    Judge {
        game: &alone,
        unit: judge.unit,
        turn: judge.turn.clone(),
    }
    .end(first)
}

#[test]
fn a_pair_alone() {
    // 3 MP: forward 120, back 60 and sidesteps 60 at twice the charge
    let game = game(rules(), vec![pair("r1", "foot", (600.0, 600.0, 0.0))]);
    let reached = reached(&game, "r1");
    assert!((reached.allowance_mm - 120.0).abs() < 1e-9 && reached.in_command);
    // after an about turn it still marches 80 from a front edge at 580
    for (x, y) in [(600.0, 720.0), (600.0, 500.0)] {
        let off = border_mm(&reached.anchor, Point::new(x, y));
        assert!(off < 1.5, "({x}, {y}) is {off} from the line");
    }
    for x in [540.0, 660.0] {
        assert!(outside_mm(&reached.anchor, Point::new(x, 600.0)) < 1.5);
    }
    // the oblique at 45° for 120
    let far = 120.0 * std::f64::consts::FRAC_1_SQRT_2;
    assert!(border_mm(&reached.anchor, Point::new(600.0 - far, 600.0 + far)) < 1.5);
    // its front corners after the march
    for x in [560.0, 640.0] {
        assert!(border_mm(&reached.footprint, Point::new(x, 720.0)) < 1.5);
    }
    assert!(
        reached
            .families
            .iter()
            .any(|name| name == "wheel left, forward")
    );
    assert!(
        reached
            .families
            .iter()
            .any(|name| name == "turn right, oblique left")
    );
    assert_eq!(outside_mm(&reached.anchor, Point::new(600.0, 650.0)), 0.0);
    assert!(outside_mm(&reached.anchor, Point::new(600.0, 730.0)) > 8.0);
}

#[test]
fn a_locked_unit_may_only_close() {
    let units = vec![
        pair("r1", "foot", (600.0, 600.0, 0.0)),
        pair("b1", "foot", (600.0, 615.0, 180.0)),
    ];
    let reached = reached(&game(rules(), units), "r1");
    assert!(border_mm(&reached.anchor, Point::new(600.0, 615.0)) < 1.0);
    assert!(outside_mm(&reached.anchor, Point::new(600.0, 595.0)) > 4.0);
    assert!(outside_mm(&reached.anchor, Point::new(600.0, 620.0)) > 4.0);
    assert!(!reached.families.iter().any(|name| name.contains("turn")));
}

#[test]
fn an_enemy_casts_a_shadow_and_a_friend_leaves_a_hole() {
    let units = vec![
        block("r1", "horse", (1, 1), (600.0, 500.0, 0.0)),
        pair("b1", "foot", (600.0, 600.0, 180.0)),
    ];
    let reached_of_horse = reached(&game(rules(), units), "r1");
    // up to its zone, 20 mm before it, and not behind it
    assert!(border_mm(&reached_of_horse.anchor, Point::new(600.0, 580.0)) < 1.5);
    assert!(outside_mm(&reached_of_horse.anchor, Point::new(600.0, 660.0)) > 10.0);
    let units = vec![
        block("r1", "horse", (1, 1), (600.0, 500.0, 0.0)),
        pair("r2", "foot", (600.0, 600.0, 0.0)),
    ];
    let passed = reached(&game(rules(), units), "r1");
    assert_eq!(outside_mm(&passed.anchor, Point::new(600.0, 660.0)), 0.0);
    assert!(outside_mm(&passed.anchor, Point::new(600.0, 595.0)) > 5.0);
    assert!(passed.anchor.iter().any(|outline| outline.hole));
}

#[test]
fn what_is_not_on_the_table_reaches_nothing() {
    let game = game(rules(), vec![pair("r1", "foot", (600.0, 600.0, 0.0))]);
    let fault = reach(&game, &UnitId::from("r7")).expect_err("a fault");
    assert_eq!(fault, MeasureFault::NoSuchUnit("r7".into()));
}

/// Where the widest block wheels along a halt zone, the notches between its fronts are not filled.
#[test]
fn notches_between_turned_fronts_stay_open() {
    let notch = Point::new(555.0, 635.0);
    check_footprint_lines(10_889_337_485_440_235_701, |place| {
        place.distance_to(notch) < 8.0
    });
}

/// Held in a zone that may be left for a charge, one may slide along it for nothing as long as the leg as a
/// whole gets no farther from the enemy.
#[test]
fn sliding_along_a_zone_is_free() {
    let mut draws = Draws::new(4);
    let game = wild_game(&mut draws);
    let judge = Judge::of(&game, "r1");
    let sidestep = |distance_mm: f64| {
        judge.end(&[Leg::Sidestep {
            side: Hand::Left,
            distance_mm: Extent::Exactly(distance_mm),
        }])
    };
    let end = sidestep(60.0).expect("all its allowance, and nothing for the zone");
    assert!(sidestep(61.0).is_none());
    let front = judge.footprint(end).at(-20.0, 0.0);
    assert_eq!(outside_mm(&reached(&game, "r1").footprint, front), 0.0);
    let edge = Point::new(678.9, 648.7);
    check_footprint_lines(4, |place| place.distance_to(edge) < 8.0);
}

/// Where a wheel's reach rises to a sharp peak, no cell's middle lies in its tip: it is not cut off.
#[test]
fn a_sharp_peak_is_not_cut_off() {
    for seed in [47, 370, 498] {
        assert!(check_nothing_outside(seed, 1500) > 100);
    }
}

/// Many more seeds than a run of all tests has time for: run it by name, with `--run-ignored all`.
#[test]
#[ignore = "takes minutes"]
fn many_battlefields() {
    let mut legal = 0;
    for seed in 0..600 {
        legal += check_nothing_outside(seed, 1500);
    }
    for seed in 0..150 {
        check_anchor_lines(seed);
    }
    for seed in 0..40 {
        check_footprint_lines(seed, |_| true);
    }
    for seed in 150..3000 {
        check_outlooks(seed);
    }
    println!("{legal} legal ends");
}
