//! Fighting withdrawal, worked by hand and over random tables.

use proptest::prelude::*;

use super::{answer, back, forward};
use crate::dice::{Seeds, Throws};
use crate::game::{Cause, Event, Game, State, Unit};
use crate::geometry::{Footprint, distance_mm};
use crate::orders::{Extent, Hand, Leg, Order};
use crate::referee::judge_sheet;
use crate::referee::testing::{
    GAME_ID, bare_ground, block, game_on, pair, played, rules, scenario, sheet,
};
use crate::ruleset::{Ruleset, Withdrawal};
use crate::scenario::UnitEntry;
use crate::verdict::Ruling;

fn withdraw(legs: &[Leg]) -> Order {
    Order::Withdraw {
        unit: "r1".into(),
        legs: legs.to_vec(),
    }
}

fn ruled(law: Withdrawal) -> Ruleset {
    Ruleset {
        withdrawal: Some(law),
        ..rules()
    }
}

/// `r1`, four bases of foot two abreast, its front at y = 600; `b1` so far ahead of it.
fn facing(rules: Ruleset, gap_mm: f64, mut others: Vec<UnitEntry>) -> Game {
    others.push(block("r1", "foot", (2, 2), (600.0, 600.0, 0.0)));
    others.push(pair("b1", "foot", (600.0, 600.0 + gap_mm, 180.0)));
    game_on(rules, scenario(others), bare_ground())
}

#[test]
fn a_locked_unit_may_withdraw_at_a_price() {
    let game = facing(ruled(Withdrawal::default()), 15.0, vec![]);
    // locked: it may not simply go; back costs twice, and the zone is 20 mm deep
    let moves = Order::Move {
        unit: "r1".into(),
        legs: vec![back(30.0)],
    };
    assert!(answer(&game, moves).starts_with("refused locked"));
    assert_eq!(
        answer(&game, withdraw(&[back(30.0)])),
        "legal; 60.0 of 120.0; 600.0 570.0 0.0"
    );
    // it must end outside the zone it began in: 4.4 mm off brings it to 19.4 of 20
    let ends = |mm| answer(&game, withdraw(&[back(mm)]));
    assert!(ends(4.4).starts_with("refused locked"));
    assert!(ends(4.6).starts_with("marginal locked"));
    assert!(ends(5.1).starts_with("legal"));
    let told = |mm, leg| {
        let verdict = judge_sheet(&game, &sheet(vec![withdraw(&[leg, back(mm)])]));
        verdict.moves[0].reasons[0].text()
    };
    assert_eq!(
        told(2.0, forward(1.0)),
        "It ends 16.0 mm from b1 and must end beyond 20.0 mm: a withdrawal must end outside the halt zones it began in."
    );
    // records hold what is marginal as it was written
    assert_eq!(
        told(5.6, forward(1.0)),
        "It began in the halt zone of b1 and may only align or close straight in; this takes it from 20.0 mm to \
         19.6 mm away: a withdrawal must end outside the halt zones it began in."
    );
    let turns = Order::Move {
        unit: "r1".into(),
        legs: vec![Leg::About],
    };
    assert_eq!(
        judge_sheet(&game, &sheet(vec![turns])).moves[0].reasons[0].text(),
        "It began in the halt zone of b1 and may only align or move straight: \"about\" is neither aligning nor a \
         straight leg."
    );
    // any leg will do, the allowance is the usual one
    assert_eq!(
        answer(&game, withdraw(&[Leg::About, forward(70.0)])),
        "legal; 110.0 of 120.0; 600.0 490.0 180.0"
    );
    assert!(answer(&game, withdraw(&[back(61.0)])).starts_with("refused over-allowance"));
    // who is not held need not withdraw, and without the law nobody may
    let free = facing(ruled(Withdrawal::default()), 30.0, vec![]);
    assert!(answer(&free, withdraw(&[back(30.0)])).starts_with("refused not-possible"));
    let lawless = facing(rules(), 15.0, vec![]);
    assert!(answer(&lawless, withdraw(&[back(30.0)])).starts_with("refused"));
}

#[test]
fn the_price_is_paid_by_the_throw() {
    let paid = |law: Withdrawal| {
        let mut game = facing(ruled(law), 15.0, vec![]);
        let events = played(&mut game, vec![withdraw(&[back(30.0)])], 3).expect("legal");
        let unit = game.unit(&"r1".into()).expect("known").clone();
        (events, unit)
    };
    let law = |costs_up_to, loses| Withdrawal {
        costs_up_to,
        loses,
        ..Withdrawal::default()
    };
    // of six faces none, then all
    let (_, unit) = paid(law(0, 1));
    assert_eq!(unit.bases, 4);
    let (events, unit) = paid(law(6, 1));
    assert!(matches!(&events[1], Event::Withdrew { lost: 1, .. }));
    assert_eq!((unit.bases, unit.ranks()), (3, 2));
    // more than it has: it is removed
    let (events, unit) = paid(law(6, 9));
    assert!(matches!(&events[1], Event::Withdrew { lost: 4, .. }));
    assert!(matches!(unit.state, State::Gone(Cause::NoBasesLeft)));
}

fn leg() -> impl Strategy<Value = Leg> {
    let hand = || prop_oneof![Just(Hand::Left), Just(Hand::Right)];
    prop_oneof![
        4 => (0.0..60.0f64).prop_map(|d| back(d.round())),
        1 => (0.0..100.0f64).prop_map(|d| forward(d.round())),
        2 => (hand(), 0.0..60.0f64).prop_map(|(side, d)| Leg::Sidestep {
            side, distance_mm: Extent::Exactly(d.round()),
        }),
        1 => (hand(), 0.0..90.0f64).prop_map(|(side, a)| Leg::Wheel {
            side, angle_deg: Extent::Exactly(a.round()),
        }),
        1 => Just(Leg::About),
    ]
}

/// Up to two enemies besides the one ahead, near enough to hold the unit as well.
fn table() -> impl Strategy<Value = Vec<UnitEntry>> {
    let place = (530.0..670.0f64, 500.0..640.0f64, 0.0..360.0f64);
    prop::collection::vec(place, 0..3).prop_map(|places| {
        let others = places.into_iter().zip(["b2", "b3"]);
        others
            .map(|((x, y, bearing), id)| pair(id, "foot", (x.round(), y.round(), bearing.round())))
            .collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, ..ProptestConfig::default() })]

    #[test]
    fn a_withdrawal_ends_outside_the_zones_it_began_in(
        others in table(), legs in prop::collection::vec(leg(), 1..4),
    ) {
        const ZONE_MM: f64 = 20.0;
        let game = facing(ruled(Withdrawal::default()), 15.0, others);
        let start = game.unit(&"r1".into()).and_then(Unit::footprint).expect("stands");
        let verdict = judge_sheet(&game, &sheet(vec![withdraw(&legs)])).moves.remove(0);
        let end = Footprint::new(
            &verdict.end_pose.expect("stands").placement(),
            game.unit(&"r1".into()).expect("there").block(),
        );
        let held: Vec<f64> = game
            .on_table()
            .filter(|unit| unit.side == 1)
            .filter_map(Unit::footprint)
            .filter(|enemy| distance_mm(&start, enemy) <= ZONE_MM)
            .map(|enemy| distance_mm(&end, &enemy))
            .collect();
        let still_in = held.iter().any(|after_mm| *after_mm < ZONE_MM - 0.51);
        if still_in {
            prop_assert_eq!(verdict.verdict, Ruling::Refused);
        }
        if verdict.verdict == Ruling::Legal {
            prop_assert!(held.iter().all(|after_mm| *after_mm > ZONE_MM - 0.01), "{:?}", held);
        }
    }

    #[test]
    fn a_withdrawal_costs_what_its_throw_says(
        seed in any::<u8>(), faces in 2u32..13, costs_up_to in 0u32..13, loses in 0u32..7,
    ) {
        let law = Withdrawal { faces, costs_up_to, loses, allowance_share: 1.0 };
        let mut game = facing(ruled(law), 15.0, vec![]);
        let orders = vec![withdraw(&[back(30.0)])];
        let mut throws = Throws::new(&Seeds {
            game: &GAME_ID,
            player_turn: 1,
            attempt: 1,
            secret: &[seed; 32],
            number: &[1; 32],
        });
        let due = throws.throw("withdrawal r1", 1, faces)[0];
        let events = played(&mut game, orders, seed).expect("legal");
        let Event::Withdrew { throw, lost, .. } = &events[1] else {
            panic!("{events:#?}");
        };
        prop_assert_eq!(*throw, due);
        prop_assert!((1..=faces).contains(throw));
        let cost = if *throw <= costs_up_to { loses.min(4) } else { 0 };
        prop_assert_eq!(u32::from(*lost), cost);
        let stands = game.unit(&"r1".into()).is_some_and(Unit::is_on_table);
        prop_assert_eq!(stands, cost < 4);
    }
}

#[test]
fn a_commander_pays_no_price_for_withdrawing() {
    let always_paid = Withdrawal {
        costs_up_to: 6,
        loses: 1,
        ..Withdrawal::default()
    };
    let units = vec![
        block("r1", "general", (1, 1), (600.0, 600.0, 0.0)),
        pair("b1", "foot", (600.0, 615.0, 180.0)),
    ];
    let mut rules = ruled(always_paid);
    rules.attacks.compulsory = false;
    let mut game = game_on(rules, scenario(units), bare_ground());
    let events = played(&mut game, vec![withdraw(&[back(30.0)])], 1).expect("legal");
    assert!(
        events
            .iter()
            .all(|event| !matches!(event, Event::Withdrew { .. } | Event::Removed { .. })),
        "{events:?}"
    );
    let Some(Event::TurnClosed { dice, .. }) = events.last() else {
        panic!("not closed");
    };
    assert_eq!((dice.attempt, dice.throws), (Some(1), None));
    assert!(game.unit(&"r1".into()).is_some_and(Unit::is_on_table));
}
