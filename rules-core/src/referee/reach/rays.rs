//! The rays of a fan: where they end, and that what an outlook leaves out of them does not matter.

use proptest::prelude::*;

use super::tests::LIFTS;
use super::{Course, Outlook, Probe, Stance, View, outlook_of_obliques, outlook_of_wheels};
use crate::game::{Game, GroundLine, GroundPatch};
use crate::geometry::{ARITHMETIC_MM, Point, Polygon, Polyline, Vector, larger};
use crate::orders::{Hand, Leg, UnitId};
use crate::referee::testing::{bare_ground, block, game_on, pair, rules, scenario};
use crate::referee::wild::{Draws, wild_game};
use crate::ruleset::{LineKind, TerrainKind};

/// Who stands on a friend after turning, with a line before it that it cannot pay for, has not come to stand there.
#[test]
fn nobody_stands_on_a_friend_before_a_line() {
    let (x, y) = (600.0, 600.0);
    let mut ground = bare_ground();
    let just_ahead = [200.0, -200.0].map(|beside| Point::new(x + 40.005, y + beside));
    ground.lines.push(GroundLine {
        name: "ravine".to_owned(),
        kind_name: "ravine".to_owned(),
        kind: LineKind::default(),
        charge_mm: 120.0,
        spans: Vec::new(),
        course: Polyline::new(just_ahead.to_vec()).expect("straight"),
    });
    let stretches = |friend: Option<(f64, f64, f64)>| {
        let mut units = vec![block("r1", "foot", (1, 4), (x, y + 40.0, 0.0))];
        units.extend(friend.map(|at| block("r2", "foot", (1, 1), at)));
        let game = game_on(rules(), scenario(units), ground.clone());
        let unit = game.unit(&UnitId::from("r1")).expect("it exists");
        let lift = Leg::Turn { side: Hand::Right };
        let mut probe = Probe::begin(&game, unit, Some(lift)).expect("it may turn");
        let here = probe.here();
        let course = Course {
            along: here.placement.ahead,
            rate: 1.0,
            minimum: false,
        };
        let everything = probe.everything();
        let view = View {
            outlook: &everything,
            angle_rad: 0.0,
        };
        probe.straight(&here, &course, &view).stretches
    };
    assert_eq!(stretches(None), [(0.0, 0.0)]);
    assert_eq!(stretches(Some((x + 40.0, y, 90.0))), []);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, max_shrink_iters: 0, ..ProptestConfig::default() })]

    /// Stretches of a run are sorted and apart, and each end is legal or no farther than a hair from one.
    #[test]
    fn stretches_of_a_run_are_in_order(seed: u64) {
        let mut draws = Draws::new(seed);
        let game = wild_game(&mut draws);
        let unit = game.unit(&UnitId::from("r1")).expect("it exists");
        let mut probe = Probe::begin(&game, unit, None).expect("it stands");
        let here = probe.here();
        let longest_mm = probe.longest_mm(&here, 1.0);
        let everything = probe.everything();
        let view = View { outlook: &everything, angle_rad: 0.0 };
        for _ in 0..40 {
            let along = Vector::along_bearing(draws.between(0.0, std::f64::consts::TAU));
            let run = probe.straight(&here, &Course { along, rate: 1.0, minimum: false }, &view);
            let ends: Vec<f64> = run.stretches.iter().flat_map(|part| [part.0, part.1]).collect();
            prop_assert!(ends.is_sorted(), "{ends:?}");
            prop_assert!(run.stretches.windows(2).all(|pair| pair[0].1 < pair[1].0), "{ends:?}");
            prop_assert!(ends.iter().all(|end| (0.0..=longest_mm).contains(end)), "{ends:?}");
        }
    }
}

/// A fan as the search would cast it: the stance and the course of the leg at an angle.
struct Fan<'a> {
    leg: &'a dyn Fn(f64) -> (Stance, Course),
    widest_rad: f64,
    outlook: &'a Outlook,
}

impl Fan<'_> {
    /// Checks at drawn angles that a leg ends where it does when it looks at everything; how many things the
    /// outlook left out.
    fn check(&self, probe: &mut Probe<'_>, draws: &mut Draws) -> usize {
        let everything = probe.everything();
        let mut left_out = 0;
        for _ in 0..40 {
            let angle_rad = draws.between(0.0, self.widest_rad);
            let (from, course) = (self.leg)(angle_rad);
            let views = [self.outlook, &everything].map(|outlook| View { outlook, angle_rad });
            let [seen, all] = views.map(|view| probe.straight(&from, &course, &view).stretches);
            let off_mm = seen.iter().zip(&all).fold(0.0, |most, (one, other)| {
                larger(
                    most,
                    larger((one.0 - other.0).abs(), (one.1 - other.1).abs()),
                )
            });
            let alike = seen.len() == all.len() && off_mm < 1000.0 * ARITHMETIC_MM;
            assert!(alike, "{angle_rad}: {seen:?}, not {all:?}");
            let [some, every] = views.map(|view| view.count());
            left_out += every - some;
        }
        left_out
    }
}

pub(super) fn check_outlooks(seed: u64) -> usize {
    let mut draws = Draws::new(seed);
    let game = wild_game(&mut draws);
    check_outlooks_of(&game, &mut draws)
}

/// Checks every fan of r1; how many things the outlooks left out.
fn check_outlooks_of(game: &Game, draws: &mut Draws) -> usize {
    let unit = game.unit(&UnitId::from("r1")).expect("it exists");
    let movement = &game.ruleset().movement;
    let mut left_out = 0;
    for lift in LIFTS {
        let Some(mut probe) = Probe::begin(game, unit, lift) else {
            continue;
        };
        let here = probe.here();
        let course = |along: Vector, rate: f64| Course {
            along,
            rate,
            minimum: false,
        };
        for side in [Hand::Left, Hand::Right] {
            let along = |angle_rad: f64| here.placement.ahead.turned(side.sign() * angle_rad);
            let farthest_mm = probe.longest_mm(&here, movement.oblique);
            let obliques = Fan {
                leg: &|angle_rad| (here.clone(), course(along(angle_rad), movement.oblique)),
                widest_rad: movement.oblique_max.to_radians(),
                outlook: &outlook_of_obliques(&probe, side, farthest_mm),
            };
            left_out += obliques.check(&mut probe, draws);
            let Some(wheels) = probe.wheels(side) else {
                continue;
            };
            let march = |from: Stance| {
                let ahead = from.placement.ahead;
                (from, course(ahead, movement.forward))
            };
            let fan = Fan {
                leg: &|angle_rad| march(wheels.by(angle_rad)),
                widest_rad: wheels.widest_rad,
                outlook: &outlook_of_wheels(game, &probe, side, &wheels.by(0.0)),
            };
            left_out += fan.check(&mut probe, draws);
        }
    }
    left_out
}

/// What bearings say cannot matter does not, and they say so of much.
#[test]
fn what_an_outlook_leaves_out_does_not_matter() {
    let left_out: usize = (0..150).map(check_outlooks).sum();
    assert!(left_out > 100_000, "{left_out}");
}

/// Ground matters to who stands in the midst of it, whether or not the edge of it is in reach.
#[test]
fn ground_all_about_is_seen() {
    let square = |half_mm: f64| {
        let corners = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];
        corners
            .map(|(x, y)| Point::new(600.0 + half_mm * x, 600.0 + half_mm * y))
            .to_vec()
    };
    for (rate, holes) in [
        (0.5, vec![]),
        (3.0, vec![]),
        (0.5, vec![square(90.0)]),
        (3.0, vec![square(90.0)]),
    ] {
        let mut ground = bare_ground();
        ground.patches.push(GroundPatch {
            name: "plain".to_owned(),
            kind_name: "plain".to_owned(),
            kind: TerrainKind {
                rate,
                ..TerrainKind::default()
            },
            outline: Polygon::new(square(200.0), holes).expect("a square"),
        });
        let units = vec![pair("r1", "foot", (600.0, 600.0, 0.0))];
        let game = game_on(rules(), scenario(units), ground);
        check_outlooks_of(&game, &mut Draws::new(1));
    }
}
