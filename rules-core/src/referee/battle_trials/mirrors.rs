//! A table seen in a mirror, turned by a quarter or shifted by whole millimetres fights the same battle,
//! event for event, but for hands: on random tables and on tables of exact coincidences.

use proptest::prelude::*;

use crate::game::{Event, Game};
use crate::geometry::Pose;
use crate::referee::attacks;
use crate::referee::battles::fight;
use crate::referee::testing::{sheet, throws};
use crate::verdict::Amounts;

use super::crowds::{Crowd, Seen, crowds, lattice_crowds};

/// Ends are settled on whole micrometres, some battles after one another: they differ by this much at most,
/// in millimetres.
const WITHIN_MM: f64 = 0.02;
/// Directions are narrowed down to 0.001°, on either table for itself.
const WITHIN_DEG: f64 = 0.003;

/// An event as data: what must be the same, places in millimetres, and how far off straight away in degrees.
type Told = (String, Vec<f64>, f64);

fn places(seen: Seen, poses: &[Pose]) -> Vec<f64> {
    let place = |pose: &Pose| {
        let (x, y, _) = seen.place((pose.x_mm(), pose.y_mm()), pose.bearing_deg());
        [x, y]
    };
    poses.iter().flat_map(place).collect()
}

/// An event as someone sees it who sees the table so.
fn told(event: &Event, seen: Seen) -> Told {
    match event {
        Event::BattleFought { report } => (format!("{report:?}"), vec![], 0.0),
        Event::FellBack {
            unit,
            from,
            to,
            turned_deg,
            pushed,
        } => {
            let mut pushed = pushed.clone();
            pushed.sort_by(|a, b| a.unit.cmp(&b.unit));
            let mut poses = vec![*from, *to];
            poses.extend(
                pushed
                    .iter()
                    .flat_map(|push| [Some(push.from), push.to])
                    .flatten(),
            );
            let pushed: Vec<_> = pushed
                .iter()
                .map(|push| (&push.unit, push.to.is_some()))
                .collect();
            let hand = if matches!(seen, Seen::Mirrored) {
                -1.0
            } else {
                1.0
            };
            let same = format!("{unit} falls back, pushing {pushed:?}");
            (same, places(seen, &poses), turned_deg * hand)
        }
        Event::FollowedUp { unit, from, to } => (
            format!("{unit} follows up"),
            places(seen, &[*from, *to]),
            0.0,
        ),
        other => (format!("{other:?}"), vec![], 0.0),
    }
}

fn fought(crowd: &Crowd, seen: Seen) -> Vec<Event> {
    let mut game = crowd.game(seen);
    let sheet = crowd.sheet(seen).expect("a legal declaration");
    let standing = crowd.standing(seen);
    fight(&mut game, &sheet, &standing, &mut throws(crowd.seed())).events
}

/// Whether every unit is so far from the edges that a shift makes no difference to who leaves the table.
fn is_far_from_edges(game: &Game) -> bool {
    game.on_table()
        .filter_map(crate::game::Unit::footprint)
        .all(|ground| game.ground().table.margin_mm(&ground) > 300.0)
}

fn ways_to_see(crowd: &Crowd) -> Vec<Seen> {
    let mut ways = vec![Seen::Mirrored, Seen::QuarterTurned];
    if is_far_from_edges(&crowd.game(Seen::AsIs)) {
        ways.push(Seen::Shifted(37.0, -53.0));
    }
    ways
}

fn fights_alike(crowd: &Crowd) -> Result<(), TestCaseError> {
    let first = fought(crowd, Seen::AsIs);
    for seen in ways_to_see(crowd) {
        let second = fought(crowd, seen);
        prop_assert_eq!(
            first.len(),
            second.len(),
            "{:?}\n{:#?}\n{:#?}",
            seen,
            first,
            second
        );
        for (one, two) in first.iter().zip(&second) {
            let (one, two) = (told(one, seen), told(two, Seen::AsIs));
            prop_assert_eq!(&one.0, &two.0, "{:?}", seen);
            let off = one.1.iter().zip(&two.1).map(|(a, b)| (a - b).abs());
            prop_assert!(
                off.clone().all(|off| off <= WITHIN_MM),
                "{seen:?}: {one:?} {two:?}"
            );
            prop_assert!(
                (one.2 - two.2).abs() <= WITHIN_DEG,
                "{seen:?}: {one:?} {two:?}"
            );
        }
    }
    Ok(())
}

/// Every reason of a declaration and of none, with what was measured.
fn reasons(crowd: &Crowd, seen: Seen) -> Vec<(String, f64)> {
    let game = crowd.game(seen);
    let declared = crowd.sheet(Seen::AsIs).expect("a legal declaration");
    let (battles, duties) = attacks::judge(&game, &declared);
    let (_, idle) = attacks::judge(&game, &sheet(vec![]));
    let odds = battles
        .iter()
        .map(|battle| (format!("{:?}", battle.odds), 0.0));
    let all = battles.iter().flat_map(|battle| &battle.reasons);
    let all = all.chain(&duties).chain(&idle).map(|reason| {
        let measured = match reason.amounts() {
            Amounts::Millimetres { measured, .. } => measured,
            _ => 0.0,
        };
        let what = format!(
            "{:?} {:?} {:?}",
            reason.code(),
            reason.ruling(),
            reason.other()
        );
        (what, measured)
    });
    odds.chain(all).collect()
}

fn judged_alike(crowd: &Crowd) -> Result<(), TestCaseError> {
    let first = reasons(crowd, Seen::AsIs);
    for seen in [
        Seen::Mirrored,
        Seen::QuarterTurned,
        Seen::Shifted(500.0, 37.0),
    ] {
        let second = reasons(crowd, seen);
        prop_assert_eq!(first.len(), second.len());
        for (one, two) in first.iter().zip(&second) {
            // a shifted table's own edge is no party to a declaration
            prop_assert_eq!(&one.0, &two.0, "{:?}", seen);
            prop_assert!((one.1 - two.1).abs() < 1e-6);
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]

    #[test]
    fn a_lattice_table_and_its_mirror_fight_alike(crowd in lattice_crowds(14)) {
        fights_alike(&crowd)?;
    }

    #[test]
    fn a_lattice_table_and_its_mirror_are_judged_alike(crowd in lattice_crowds(14)) {
        judged_alike(&crowd)?;
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    #[test]
    fn a_random_table_and_its_mirror_fight_alike(crowd in crowds(14)) {
        fights_alike(&crowd)?;
    }
}
