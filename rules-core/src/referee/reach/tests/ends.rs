//! Where single moves end: none outside the outline of anchors, and some by every part of its line.

use super::super::WITHIN_MM;
use super::*;
use crate::geometry::Vector;

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
        0 if lift.is_none() => legs.push(Leg::Back {
            distance_mm: Extent::new(distance_mm, up_to),
        }),
        1 if lift.is_none() => legs.push(Leg::Sidestep {
            side,
            distance_mm: Extent::new(distance_mm, up_to),
        }),
        0 => legs.push(forward(distance_mm, up_to)),
        1..=3 => legs.push(Leg::Oblique {
            side,
            angle_deg: draws.between(0.0, 45.0),
            distance_mm: Extent::new(distance_mm, up_to),
        }),
        _ => {
            legs.push(Leg::Wheel {
                side,
                angle_deg: Extent::new(
                    draws.between(0.0, 1.0) * draws.between(0.0, 200.0),
                    draws.chance(0.2),
                ),
            });
            legs.push(forward(distance_mm, up_to));
        }
    }
    legs
}

/// Checks that no drawn legal end lies outside; how many were legal.
pub(super) fn check_nothing_outside(seed: u64, moves: usize) -> usize {
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
            distance_mm: Extent::UpTo(to.length()),
        }],
    ];
    if lift.is_none() {
        moves.push(vec![Leg::Back {
            distance_mm: Extent::UpTo(larger(-ahead, 0.0)),
        }]);
        moves.push(vec![Leg::Sidestep {
            side,
            distance_mm: Extent::UpTo(beside.abs()),
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
            angle_deg: Extent::UpTo(if round < 0.0 { round + 360.0 } else { round }),
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
                angle_deg: Extent::UpTo(angle.to_degrees()),
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
    let angle_deg = angle_deg.amount().expect("it was drawn");
    (-300..300)
        .map(|step| {
            let wheel = Leg::Wheel {
                side: *side,
                angle_deg: Extent::Exactly(larger(angle_deg + f64::from(step) / 100.0, 0.0)),
            };
            [before, &[wheel, forward(5000.0, true)]].concat()
        })
        .collect()
}

pub(super) fn check_anchor_lines(seed: u64) {
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
