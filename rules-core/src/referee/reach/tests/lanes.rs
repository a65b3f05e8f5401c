//! The ground that moves cover: some beside every part of the footprints' line.

use proptest::prelude::*;

use super::super::WITHIN_MM;
use super::*;
use crate::geometry::distance_point_footprint_mm;
use crate::ruleset::ZoneExit;

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
                    distance_mm: Extent::Exactly(most_mm),
                },
                &mut lanes,
            );
        }
        for side in [Hand::Left, Hand::Right] {
            if lift.is_none() {
                let sidestep = Leg::Sidestep {
                    side,
                    distance_mm: Extent::Exactly(most_mm),
                };
                add(vec![], sidestep, &mut lanes);
            }
            for angle_deg in angles(movement.oblique_max, step_deg) {
                let oblique = Leg::Oblique {
                    side,
                    angle_deg,
                    distance_mm: Extent::Exactly(most_mm),
                };
                add(first.clone(), oblique, &mut lanes);
            }
            let most_deg = (most_mm / judge.unit.block().frontage_mm).to_degrees();
            for angle_deg in angles(smaller(most_deg, 360.0), step_deg) {
                let wheel = Leg::Wheel {
                    side,
                    angle_deg: Extent::new(angle_deg, angle_deg >= most_deg),
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
    let last = legs.last_mut()?;
    *last = last.with_extent(last.extent()?.said_up_to());
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
        ) => *distance_mm = Extent::Exactly(length_mm),
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

pub(super) fn check_footprint_lines(seed: u64, counts: impl Fn(Point) -> bool) {
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
