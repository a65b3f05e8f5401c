//! Properties of the optional laws, and of points, over random tables.

use proptest::prelude::*;

use crate::game::{Event, Game, Unit};
use crate::geometry::{Footprint, Location, Placement, Point, Vector, larger, smaller};
use crate::orders::Order;
use crate::referee::battles::fight;
use crate::referee::flanks::{Aspect, aspect};
use crate::referee::sight::sighting;
use crate::referee::testing::{sheet, throws};
use crate::referee::{attacks, breaking, victory};
use crate::ruleset::Flanks;

use super::crowds::{Crowd, Seen, crowds};

type Body<'a> = (&'a Unit, Footprint);

fn bodies(game: &Game) -> Vec<Body<'_>> {
    game.on_table()
        .filter_map(|unit| Some((unit, unit.footprint()?)))
        .collect()
}

/// Every pair of a red gun and a blue unit that is no commander.
fn shots(game: &Game) -> Vec<(Body<'_>, Body<'_>)> {
    let standing = bodies(game);
    let guns = standing
        .iter()
        .filter(|(unit, _)| unit.side == 0 && unit.is_guns());
    guns.flat_map(|gun| {
        standing
            .iter()
            .filter(|(unit, _)| unit.side == 1 && !unit.is_commander())
            .map(|target| (*gun, *target))
    })
    .collect()
}

/// How much of a string lies in a block or patch, by points every quarter of a millimetre.
fn sampled_mm(from: Point, to: Point, is_in: impl Fn(Point) -> bool) -> f64 {
    let length = from.distance_to(to);
    let steps = (length * 4.0).ceil() as u32 + 1;
    let inside = (0..steps)
        .filter(|step| is_in(from.towards(to, (f64::from(*step) + 0.5) / f64::from(steps))))
        .count();
    length * inside as f64 / f64::from(steps)
}

fn holds(block: &Footprint, point: Point) -> bool {
    let (right, ahead) = block.local(point);
    right.abs() < block.half_frontage && ahead.abs() < block.half_depth
}

/// The longest stretch of a string, among corners, middles and the middle itself as aims, that
/// is in no other unit; whether one of them is free by sampling, with `spare_mm` of overlap
/// allowed.
fn some_string_is_free(game: &Game, gun: &Body<'_>, target: &Body<'_>, spare_mm: f64) -> bool {
    let eye = gun.1.anchor();
    let (across, along) = (target.1.half_frontage, target.1.half_depth);
    let mut aims: Vec<Point> = target.1.corners().to_vec();
    for (right, ahead) in [(0.0, along), (0.0, -along), (across, 0.0), (-across, 0.0)] {
        aims.push(target.1.at(right, ahead));
    }
    let (right, ahead) = target.1.local(eye);
    aims.push(target.1.at(
        larger(smaller(right, across), -across),
        larger(smaller(ahead, along), -along),
    ));
    aims.iter().any(|aim| {
        bodies(game)
            .iter()
            .filter(|(unit, _)| {
                unit.id != gun.0.id && unit.id != target.0.id && !unit.is_commander()
            })
            .all(|(_, block)| sampled_mm(eye, *aim, |point| holds(block, point)) <= spare_mm)
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    /// On ground that blocks nothing, what is in sight is what some string reaches by sampling.
    /// Stretches within 1 mm of the tolerance decide nothing.
    #[test]
    fn strings_agree_with_sampling(crowd in crowds(16)) {
        let game = crowd.on_plain_ground(false).game(Seen::AsIs);
        for (gun, target) in shots(&game) {
            let seen = sighting(&game, &gun, &target).by.is_none();
            prop_assert!(!seen || some_string_is_free(&game, &gun, &target, 1.5));
            prop_assert!(seen || !some_string_is_free(&game, &gun, &target, 0.0));
        }
    }

    /// A string that ends in a wood too deep, or goes through one, is stopped there: what is in
    /// sight past woods runs at most a base width in each wood that holds neither end.
    #[test]
    fn woods_stop_strings(crowd in crowds(16)) {
        let game = crowd.on_plain_ground(true).game(Seen::AsIs);
        for (gun, target) in shots(&game) {
            let sighting = sighting(&game, &gun, &target);
            prop_assert!(sighting.clear_mm <= sighting.string_mm + 1e-9);
            prop_assert_eq!(sighting.by.is_none(), sighting.clear_mm >= sighting.string_mm);
            for patch in game.ground().patches.iter().filter(|patch| patch.kind.blocks_sight) {
                let outside = |point| patch.outline.locate(point) == Location::Outside;
                let between = target.1.corners().iter().chain([&target.1.anchor()]).all(|aim| {
                    let eye = gun.1.anchor();
                    outside(eye) && outside(*aim) && sampled_mm(eye, *aim, |point| !outside(point)) > 2.0
                });
                // a convex wood before every corner is before the whole target
                prop_assert!(!between || sighting.by.is_some());
            }
        }
    }

    /// Fire gets the same answer, and the same odds, on a moved table.
    #[test]
    fn fire_is_judged_alike_on_a_moved_table(crowd in crowds(14)) {
        let judged = |seen| {
            let game = crowd.game(seen);
            shots(&game)
                .iter()
                .map(|((gun, _), (target, _))| {
                    let order = Order::Fire { guns: vec![gun.id.clone()], target: target.id.clone() };
                    let (battles, _) = attacks::judge(&game, &sheet(vec![order]));
                    let codes: Vec<_> = battles[0].reasons.iter().map(|reason| (reason.code(), reason.ruling())).collect();
                    (codes, battles[0].odds.clone())
                })
                .collect::<Vec<_>>()
        };
        let first = judged(Seen::AsIs);
        for seen in [Seen::Shifted(83.0, 37.0), Seen::QuarterTurned, Seen::Mirrored] {
            prop_assert_eq!(&first, &judged(seen), "{:?}", seen);
        }
    }

    /// Opening the front arc never takes an attack out of it; the rear does not depend on it;
    /// a full circle leaves no flank but what is level with the block.
    #[test]
    fn a_wider_arc_is_attacked_in_front_more_often(
        x in -200.0..200.0f64, y in -200.0..200.0f64, deg in 0.0..360.0f64,
        arc in 0.0..170.0f64, wider in 0.0..10.0f64,
    ) {
        let block = crate::geometry::Block { frontage_mm: 80.0, depth_mm: 40.0 };
        let at = |x, y, deg: f64| Footprint::new(
            &Placement { anchor: Point::new(x, y), ahead: Vector::along_bearing(deg.to_radians()) },
            block,
        );
        let (attacker, defender) = (at(x, y, deg), at(0.0, 0.0, 0.0));
        let law = |front_arc| Flanks { front_arc, ..Flanks::default() };
        let narrow = aspect(&law(arc), &attacker, &defender);
        let wide = aspect(&law(arc + wider), &attacker, &defender);
        prop_assert!(wide <= narrow);
        prop_assert_eq!(narrow == Aspect::Rear, wide == Aspect::Rear);
        let corners = [attacker.front_left(), attacker.front_right()];
        prop_assert_eq!(narrow == Aspect::Rear, corners.iter().all(|corner| corner.y < -40.0 - 0.001));
        // mirrored, the same
        let mirrored = aspect(&law(arc), &at(-x, y, 360.0 - deg), &defender);
        prop_assert_eq!(narrow, mirrored);
    }

    /// Who falls back and stays on the table is disordered when the law is on, and nobody when
    /// it is off.
    #[test]
    fn who_falls_back_is_disordered(crowd in crowds(20)) {
        let (after, events) = fought(&crowd)?;
        let turns = crowd.rules.disorder.as_ref().map_or(0, |law| law.turns_to_recover);
        for unit in after.on_table() {
            let fell = events.iter().any(|event| matches!(event, Event::FellBack { unit: id, .. } if *id == unit.id));
            prop_assert_eq!(unit.disorder, if fell { turns } else { 0 }, "{}", unit.id);
        }
    }

    /// Event by event, the share an army has lost and the points for losses never go back, and
    /// the share is never more than all.
    #[test]
    fn losses_and_points_never_go_back(crowd in crowds(20)) {
        let mut game = crowd.game(Seen::AsIs);
        let (_, events) = fought(&crowd)?;
        let mut last = ([0.0; 2], [0.0; 2]);
        for event in &events {
            game.apply(event);
            let shares = [0, 1].map(|side| breaking::share_lost(&game, side));
            let points = victory::scores(&game).map(|score| score.losses);
            for side in 0..2 {
                prop_assert!(shares[side] >= last.0[side] && shares[side] <= 1.0);
                prop_assert!(points[side] >= last.1[side]);
            }
            last = (shares, points);
        }
        for (score, side) in victory::scores(&game).iter().zip(0..2) {
            prop_assert!((score.total - score.losses - score.exits - score.ground).abs() < 1e-9);
            let lives = game.on_table().any(|unit| unit.side == side);
            let ending = victory::ending(&game, false);
            prop_assert!(lives || ending.is_some() || game.units().all(|unit| unit.side != side));
        }
    }
}

fn fought(crowd: &Crowd) -> Result<(Game, Vec<Event>), TestCaseError> {
    let mut game = crowd.game(Seen::AsIs);
    let declared = crowd
        .sheet(Seen::AsIs)
        .ok_or_else(|| TestCaseError::fail("no legal declaration"))?;
    let standing = crowd.standing(Seen::AsIs);
    let fought = fight(&mut game, &declared, &standing, &mut throws(crowd.seed()));
    Ok((game, fought.events))
}
