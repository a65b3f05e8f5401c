//! The outlines against moves judged by the referee: no legal end lies outside, and every place on
//! an outline can be come to.

use proptest::prelude::*;

use super::rays::check_outlooks;
use super::{WITHIN_MM, reach};
use crate::game::{Game, Unit};
use crate::geometry::{
    Footprint, Point, Pose, Vector, distance_point_footprint_mm, larger, smaller,
};
use crate::orders::{Hand, Leg, UnitId};
use crate::referee::measure::MeasureFault;
use crate::referee::movement::{self, Movement, Purpose, TurnStart};
use crate::referee::testing::{block, game, pair, rules};
use crate::referee::wild::{Draws, wild_game};
use crate::ruleset::ZoneExit;
use crate::verdict::{Outline, Reach, Ruling};

/// Legs that may come first.
pub(super) const LIFTS: [Option<Leg>; 4] = [
    None,
    Some(Leg::Turn { side: Hand::Left }),
    Some(Leg::Turn { side: Hand::Right }),
    Some(Leg::About),
];

fn forward(distance_mm: f64, up_to: bool) -> Leg {
    Leg::Forward { distance_mm, up_to }
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

/// A move of a family that counts, drawn at random; some stop by themselves.
fn drawn_move(draws: &mut Draws, most_mm: f64) -> Vec<Leg> {
    let lift = draws.one_of(&LIFTS);
    let side = draws.one_of(&[Hand::Left, Hand::Right]);
    let up_to = draws.chance(0.6);
    let distance_mm = if up_to {
        5000.0
    } else {
        draws.between(0.0, most_mm)
    };
    let mut legs: Vec<Leg> = lift.into_iter().collect();
    match draws.below(6) {
        0 if lift.is_none() => legs.push(Leg::Back { distance_mm, up_to }),
        1 if lift.is_none() => legs.push(Leg::Sidestep {
            side,
            distance_mm,
            up_to,
        }),
        0 => legs.push(forward(distance_mm, up_to)),
        1..=3 => legs.push(Leg::Oblique {
            side,
            angle_deg: draws.between(0.0, 45.0),
            distance_mm,
            up_to,
        }),
        _ => {
            legs.push(Leg::Wheel {
                side,
                angle_deg: draws.between(0.0, 1.0) * draws.between(0.0, 200.0),
                up_to: draws.chance(0.2),
            });
            legs.push(forward(distance_mm, up_to));
        }
    }
    legs
}

/// Checks that no drawn legal end lies outside; how many were legal.
fn check_nothing_outside(seed: u64, moves: usize) -> usize {
    let mut draws = Draws::new(seed);
    let game = wild_game(&mut draws);
    let judge = Judge::of(&game, "r1");
    let reached = reached(&game, "r1");
    let mut legal = 0;
    for _ in 0..moves {
        let legs = drawn_move(&mut draws, 1.2 * reached.allowance_mm);
        let Some(end) = judge.end(&legs) else {
            continue;
        };
        legal += 1;
        let footprint = judge.footprint(end);
        let off = outside_mm(&reached.anchor, footprint.anchor());
        assert!(
            off <= WITHIN_MM,
            "seed {seed}: the anchor ends {off} mm outside after {legs:?}"
        );
        for corner in footprint.corners().into_iter().chain([footprint.centre]) {
            let off = outside_mm(&reached.footprint, corner);
            assert!(
                off <= WITHIN_MM,
                "seed {seed}: it covers ground {off} mm outside after {legs:?}"
            );
        }
    }
    legal
}

/// Moves that bring the anchor to a place or as near as they go, one of each family that can.
fn moves_to(judge: &Judge<'_>, lift: Option<Leg>, place: Point) -> Vec<Vec<Leg>> {
    let start = match lift {
        None => judge.unit.pose(),
        // one may turn where one cannot stay
        Some(lift) => judge.end(&[lift]).or_else(|| wheeled_over(judge, &[lift])),
    };
    let Some(start) = start else {
        return Vec::new();
    };
    let footprint = judge.footprint(start);
    let to = place - footprint.anchor();
    let (beside, ahead) = (to.dot(footprint.right()), to.dot(footprint.ahead));
    let side = if beside < 0.0 {
        Hand::Left
    } else {
        Hand::Right
    };
    let mut moves = vec![
        vec![forward(larger(ahead, 0.0), true)],
        vec![Leg::Oblique {
            side,
            angle_deg: smaller(
                libm::atan2(beside.abs(), ahead).to_degrees(),
                judge.game.ruleset().movement.oblique_max,
            ),
            distance_mm: to.length(),
            up_to: true,
        }],
    ];
    if lift.is_none() {
        moves.push(vec![Leg::Back {
            distance_mm: larger(-ahead, 0.0),
            up_to: true,
        }]);
        moves.push(vec![Leg::Sidestep {
            side,
            distance_mm: beside.abs(),
            up_to: true,
        }]);
    }
    for side in [Hand::Left, Hand::Right] {
        let half = footprint.half_frontage;
        let across = half - beside * side.sign();
        let away = (across * across + ahead * ahead).sqrt();
        // wheeling alone, as near as the anchor's own circle comes
        let round = libm::atan2(ahead, across).to_degrees();
        moves.push(vec![Leg::Wheel {
            side,
            angle_deg: if round < 0.0 { round + 360.0 } else { round },
            up_to: true,
        }]);
        if away < half {
            continue;
        }
        let mut angle = libm::atan2(ahead, across) - libm::acos(half / away);
        if angle < 0.0 {
            angle += std::f64::consts::TAU;
        }
        moves.push(vec![
            Leg::Wheel {
                side,
                angle_deg: angle.to_degrees(),
                up_to: true,
            },
            forward((away * away - half * half).sqrt(), true),
        ]);
    }
    for legs in &mut moves {
        if let Some(lift) = lift {
            legs.insert(0, lift);
        }
    }
    moves
}

/// Whether a legal move brings the anchor within the promised distance of a place.
fn can_come_to(judge: &Judge<'_>, place: Point) -> bool {
    // a few aims about it first, then closer together: some ground is a sliver a tenth wide
    let mut aims = vec![place];
    for (outs, around) in [(2, 8), (20, 48)] {
        for (out, step) in (1..=outs).flat_map(|out| (0..around).map(move |step| (out, step))) {
            let bearing = std::f64::consts::TAU * f64::from(step) / f64::from(around);
            let out_mm = 0.97 * WITHIN_MM * f64::from(out) / f64::from(outs);
            aims.push(place + Vector::along_bearing(bearing) * out_mm);
        }
    }
    let standing = judge.unit.footprint().expect("it stands");
    if standing.anchor().distance_to(place) <= WITHIN_MM {
        return true;
    }
    let comes = |legs: &[Leg]| {
        judge
            .end(legs)
            .is_some_and(|end| judge.footprint(end).anchor().distance_to(place) <= WITHIN_MM)
    };
    let aimed = aims.into_iter().any(|aim| {
        LIFTS
            .into_iter()
            .any(|lift| moves_to(judge, lift, aim).iter().any(|legs| comes(legs)))
    });
    // slivers before a limit: wheels a hundredth of a degree apart, each as far as it goes
    aimed
        || LIFTS.into_iter().any(|lift| {
            moves_to(judge, lift, place)
                .iter()
                .any(|legs| close_wheels(legs).iter().any(|legs| comes(legs)))
        })
}

/// Wheels a little wider or less wide, and then a march as far as it goes.
fn close_wheels(legs: &[Leg]) -> Vec<Vec<Leg>> {
    let [
        before @ ..,
        Leg::Wheel {
            side, angle_deg, ..
        },
        _,
    ] = legs
    else {
        return Vec::new();
    };
    (-300..300)
        .map(|step| {
            let wheel = Leg::Wheel {
                side: *side,
                angle_deg: larger(angle_deg + f64::from(step) / 100.0, 0.0),
                up_to: false,
            };
            [before, &[wheel, forward(5000.0, true)]].concat()
        })
        .collect()
}

/// Corners and middles of the sides of every outline.
fn places_on(outlines: &[Outline]) -> Vec<Point> {
    outlines
        .iter()
        .flat_map(sides)
        .flat_map(|(from, to)| [from, from.towards(to, 0.5)])
        .collect()
}

fn check_anchor_lines(seed: u64) {
    let mut draws = Draws::new(seed);
    let game = wild_game(&mut draws);
    let judge = Judge::of(&game, "r1");
    let reached = reached(&game, "r1");
    for place in places_on(&reached.anchor) {
        assert!(
            can_come_to(&judge, place),
            "seed {seed}: the anchor cannot come within {WITHIN_MM} mm of {place:?}"
        );
    }
}

/// A move whose last leg is straight, and how long that leg may be.
struct Lane {
    legs: Vec<Leg>,
    start: Footprint,
    end: Footprint,
    length_mm: f64,
}

/// Every family's moves a small angle apart, each as far as it goes.
fn lanes(judge: &Judge<'_>, most_mm: f64) -> Vec<Lane> {
    let movement = &judge.game.ruleset().movement;
    let mut lanes = Vec::new();
    let add = |first: Vec<Leg>, last: Leg, lanes: &mut Vec<Lane>| {
        let began = if first.is_empty() {
            judge.unit.pose()
        } else {
            // where a wheel ends on a friend it is no end, but the way goes on from there
            judge.end(&first).or_else(|| wheeled_over(judge, &first))
        };
        let Some(began) = began else { return };
        let start = judge.footprint(began);
        let is_first = first.is_empty();
        let legs = [first, vec![last]].concat();
        // who asks for more than it can do pays for leaving a zone; who asks for less may slide along it
        let pays = judge.game.ruleset().zones.zone_exit == ZoneExit::Pay && is_first;
        let slid = pays.then(|| longest_of(judge, &legs, most_mm)).flatten();
        let ends = [far_of(judge, &legs), slid];
        for (end, length_mm) in ends.into_iter().flatten() {
            lanes.push(Lane {
                legs: legs.clone(),
                start,
                end,
                length_mm,
            });
        }
    };
    let step_deg = (1.0 / (most_mm + judge.unit.block().frontage_mm)).to_degrees();
    for lift in LIFTS {
        let first: Vec<Leg> = lift.into_iter().collect();
        add(first.clone(), forward(most_mm, false), &mut lanes);
        if lift.is_none() {
            add(
                vec![],
                Leg::Back {
                    distance_mm: most_mm,
                    up_to: false,
                },
                &mut lanes,
            );
        }
        for side in [Hand::Left, Hand::Right] {
            if lift.is_none() {
                let sidestep = Leg::Sidestep {
                    side,
                    distance_mm: most_mm,
                    up_to: false,
                };
                add(vec![], sidestep, &mut lanes);
            }
            for angle_deg in angles(movement.oblique_max, step_deg) {
                let oblique = Leg::Oblique {
                    side,
                    angle_deg,
                    distance_mm: most_mm,
                    up_to: false,
                };
                add(first.clone(), oblique, &mut lanes);
            }
            let most_deg = (most_mm / judge.unit.block().frontage_mm).to_degrees();
            for angle_deg in angles(smaller(most_deg, 360.0), step_deg) {
                let wheel = Leg::Wheel {
                    side,
                    angle_deg,
                    up_to: angle_deg >= most_deg,
                };
                let legs = [first.clone(), vec![wheel]].concat();
                add(legs, forward(most_mm, false), &mut lanes);
            }
        }
    }
    lanes
}

/// Angles from none to the widest, a step apart.
fn angles(widest_deg: f64, step_deg: f64) -> impl Iterator<Item = f64> {
    let next = move |angle_deg: &f64| {
        let wider_deg = smaller(angle_deg + step_deg, widest_deg);
        (*angle_deg < widest_deg).then_some(wider_deg)
    };
    std::iter::successors(Some(0.0), next)
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

/// The longest last leg that is legal as ordered, to a millimetre.
fn longest_of(judge: &Judge<'_>, legs: &[Leg], most_mm: f64) -> Option<(Footprint, f64)> {
    let lengths = std::iter::successors(Some(most_mm), |length_mm| Some(length_mm - 1.0));
    lengths
        .take_while(|length_mm| *length_mm >= 0.0)
        .find_map(|length_mm| {
            let end = judge.end(&with_length(legs, length_mm))?;
            Some((judge.footprint(end), length_mm))
        })
}

/// How far the last leg goes when it says up to.
fn far_of(judge: &Judge<'_>, legs: &[Leg]) -> Option<(Footprint, f64)> {
    let mut legs = legs.to_vec();
    match legs.last_mut()? {
        Leg::Forward { up_to, .. }
        | Leg::Back { up_to, .. }
        | Leg::Sidestep { up_to, .. }
        | Leg::Oblique { up_to, .. } => *up_to = true,
        _ => return None,
    }
    let units = [judge.unit];
    let movement = Movement {
        order: 0,
        units: &units,
        legs: &legs,
        purpose: Purpose::March,
    };
    // it may end on a friend: then its stretches are judged one by one
    let verdicts = movement::judge(judge.game, &judge.turn, &movement);
    let verdict = verdicts.first()?;
    let end = judge.footprint(verdict.end_pose?);
    Some((end, verdict.legs.last()?.tape_mm))
}

fn with_length(legs: &[Leg], length_mm: f64) -> Vec<Leg> {
    let mut legs = legs.to_vec();
    match legs.last_mut() {
        Some(
            Leg::Forward { distance_mm, .. }
            | Leg::Back { distance_mm, .. }
            | Leg::Sidestep { distance_mm, .. }
            | Leg::Oblique { distance_mm, .. },
        ) => *distance_mm = length_mm,
        _ => panic!("a straight leg"),
    }
    legs
}

/// Whether a legal end covers ground within the promised distance of a place.
fn can_cover(judge: &Judge<'_>, lanes: &[Lane], place: Point) -> bool {
    let near = |footprint: &Footprint| distance_point_footprint_mm(place, footprint) <= WITHIN_MM;
    if near(&judge.unit.footprint().expect("it stands")) {
        return true;
    }
    lanes.iter().any(|lane| {
        let way = lane.end.centre - lane.start.centre;
        let steps = (lane.length_mm / 1.0).ceil();
        let mut step = steps;
        while step >= 0.0 {
            let share = if steps > 0.0 { step / steps } else { 0.0 };
            let there = lane.start.shifted(way * share);
            if near(&there) {
                let legs = with_length(&lane.legs, lane.length_mm * share);
                if judge
                    .end(&legs)
                    .is_some_and(|end| near(&judge.footprint(end)))
                {
                    return true;
                }
            }
            step -= 1.0;
        }
        false
    })
}

fn check_footprint_lines(seed: u64, counts: impl Fn(Point) -> bool) {
    let mut draws = Draws::new(seed);
    let game = wild_game(&mut draws);
    let judge = Judge::of(&game, "r1");
    let reached = reached(&game, "r1");
    let lanes = lanes(&judge, larger(reached.allowance_mm, 40.0) * 2.0);
    let places = places_on(&reached.footprint);
    for place in places.into_iter().filter(|place| counts(*place)) {
        assert!(
            can_cover(&judge, &lanes, place),
            "seed {seed}: nothing can be covered within {WITHIN_MM} mm of {place:?}"
        );
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, max_shrink_iters: 0, ..ProptestConfig::default() })]

    /// No legal move of the families that count ends outside the outlines by more than 2 mm.
    #[test]
    fn no_legal_end_lies_outside(seed: u64) {
        check_nothing_outside(seed, 250);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, max_shrink_iters: 0, ..ProptestConfig::default() })]

    /// Every place on an anchor's outline has a legal end within 2 mm.
    #[test]
    fn the_anchor_can_come_to_every_place_on_its_outline(seed: u64) {
        check_anchor_lines(seed);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4, max_shrink_iters: 0, ..ProptestConfig::default() })]

    /// Every place on a footprint's outline has a legal end that covers ground within 2 mm.
    #[test]
    fn the_footprint_can_cover_every_place_on_its_outline(seed: u64) {
        check_footprint_lines(seed, |_| true);
    }
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
            distance_mm,
            up_to: false,
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
