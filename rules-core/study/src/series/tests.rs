//! Series of battles: the same from the same seed, counted rightly, and of use.

use std::collections::BTreeSet;
use std::sync::Arc;

use fieldpost_commander::{self, Chance};
use fieldpost_rules::game::{Battlefield, Event, Game};
use fieldpost_rules::referee::victory::{Manner, manner};
use fieldpost_rules::referee::{Posting, play};
use fieldpost_rules::shipped;

use super::laws::Tally;
use super::{
    Fought, Law, OtherWayRound, Stuck, compared, compared_in_words, fight, report, report_in_words,
};

fn field(key: &str) -> Arc<Battlefield> {
    let battle = shipped::find(key).expect("shipped");
    Arc::new(battle.open().expect("sound"))
}

fn series(field: &Arc<Battlefield>, seed: u64, battles: u64) -> Vec<Result<Fought, Stuck>> {
    (1..=battles)
        .map(|number| fight(field, seed, number))
        .collect()
}

#[test]
fn a_battle_follows_from_seed_and_number_alone() {
    let field = field("withy-bridge");
    let forward = series(&field, 7, 4);
    let backward: Vec<_> = (1..=4)
        .rev()
        .map(|number| fight(&field, 7, number))
        .collect();
    assert!(forward.iter().eq(backward.iter().rev()));
    // neither neighbouring numbers nor neighbouring seeds share their chances
    let lengths = |fought: &[Result<Fought, Stuck>]| -> BTreeSet<String> {
        let told = fought.iter().map(|one| {
            let mut one = one.clone().expect("fought to its end");
            one.number = 0;
            format!("{one:?}")
        });
        told.collect()
    };
    let mut all = lengths(&forward);
    all.extend(lengths(&series(&field, 8, 4)));
    assert_eq!(all.len(), 8, "eight different battles");
}

/// Everything that is removed is removed by some law, every throw falls in some column.
#[test]
fn counts_add_up_on_every_shipped_battle() {
    for shipped in shipped::SCENARIOS {
        let field = field(shipped.key);
        for fought in series(&field, 1, 6) {
            let fought = fought.unwrap_or_else(|stuck| panic!("{}: {stuck:?}", shipped.key));
            let of = |law| fought.laws.of(law);
            let removed = [
                Law::LastBase,
                Law::Eliminated,
                Law::Surrounded,
                Law::NoWayOpen,
                Law::OffTable,
                Law::CommandersLost,
            ];
            let removed: u32 = removed.into_iter().map(of).sum();
            let lost = fought.sides[0].units_lost + fought.sides[1].units_lost;
            assert_eq!(removed, lost, "{} {}", shipped.key, fought.number);
            let throws: u32 = fought.outcomes.values().sum();
            assert_eq!(throws, fought.columns.iter().sum::<u32>());
            assert_eq!(throws, of(Law::Battles) + of(Law::GunFire));
            assert!(of(Law::FanUsed) <= of(Law::FallsBack));
            assert!(of(Law::HaltZoneMet) <= of(Law::Moves) + of(Law::Arrivals));
            assert!(fought.player_turns <= u64::from(field.scenario.game_turns) * 2);
            for side in fought.sides {
                assert!((0.0..=1.0).contains(&side.strength_lost));
                assert!(side.out_of_command <= side.unit_turns);
            }
        }
    }
}

/// A unit that takes two turns to recover is disordered once, however often its countdown is told.
#[test]
fn a_unit_becomes_disordered_once() {
    let game = Game::new(field("withy-bridge"));
    let unit = || game.units().next().expect("a unit").id.clone();
    let mut tally = Tally::of(&game);
    for turns in [2, 1, 0, 2, 2, 1] {
        let unit = unit();
        tally.happened(&game, &Event::Disordered { unit, turns });
    }
    let laws = tally.fought(&game, 1).laws;
    assert_eq!((laws.of(Law::Disordered), laws.of(Law::Recovered)), (2, 1));
}

/// A counted law that never comes to bear would be a dead line in every report. Those named are rare:
/// six battles of each scenario show none.
#[test]
fn the_shipped_battles_use_nearly_every_law() {
    let mut never: BTreeSet<Law> = Law::ALL.into_iter().collect();
    for shipped in shipped::SCENARIOS {
        for fought in series(&field(shipped.key), 2, 6).into_iter().flatten() {
            never.retain(|law| fought.laws.of(*law) == 0);
        }
    }
    let rare = [
        Law::Exits,
        Law::Marginal,
        Law::Withdrawals,
        Law::Surrounded,
        Law::NoWayOpen,
        Law::OffTable,
        Law::FanUsed,
        Law::Lapsed,
        Law::ArmiesBroken,
    ];
    never.retain(|law| !rare.contains(law));
    assert!(never.is_empty(), "never used: {never:?}");
}

/// A law that the set or the scenario lacks is not told as never used; what is left out can never have come to bear.
#[test]
fn only_laws_that_the_set_has_are_told_of() {
    for shipped in shipped::SCENARIOS {
        let field = field(shipped.key);
        let fought = series(&field, 3, 4);
        for one in fought.iter().flatten() {
            for law in Law::ALL.into_iter().filter(|law| !law.is_in(&field)) {
                assert_eq!(one.laws.of(law), 0, "{}: {law:?}", shipped.key);
            }
        }
        let told: Vec<Law> = report(&field, 3, &fought)
            .laws
            .iter()
            .map(|used| used.law)
            .collect();
        let has = |law| told.contains(&law);
        let rules = &field.ruleset;
        assert_eq!(has(Law::ArmiesBroken), rules.breaking.is_some());
        assert_eq!(has(Law::Disordered), rules.disorder.is_some());
        assert_eq!(has(Law::Withdrawals), rules.withdrawal.is_some());
        assert_eq!(has(Law::Exits), !field.scenario.exit.is_empty());
        assert_eq!(has(Law::Roads), !field.scenario.road.is_empty());
    }
}

/// Armies that a battle broke are counted, whether or not that ended it: against the losses told at its end.
#[test]
fn broken_armies_are_counted() {
    let mut counted = 0;
    for then in [
        fieldpost_rules::ruleset::Broken::Loses,
        fieldpost_rules::ruleset::Broken::NoAttacks,
    ] {
        let mut field = (*field("withy-bridge")).clone();
        let at_share = 0.25;
        field.ruleset.breaking = Some(fieldpost_rules::ruleset::Breaking { at_share, then });
        for fought in series(&Arc::new(field), 5, 8).into_iter().flatten() {
            let broken = fought
                .sides
                .iter()
                .filter(|side| side.strength_lost + 1e-9 >= at_share);
            let broken = u32::try_from(broken.count()).expect("two at most");
            assert_eq!(fought.laws.of(Law::ArmiesBroken), broken, "{fought:?}");
            counted += broken;
        }
    }
    assert!(counted > 4, "{counted}");
}

/// The kind of an ending is found again from the table; the ending's own words say the same.
#[test]
fn the_manner_of_an_ending_is_that_of_its_words() {
    let mut seen = BTreeSet::new();
    for (key, battles) in [
        ("quern-bridge", 4),
        ("withy-bridge", 6),
        ("three-cairns", 6),
    ] {
        for number in 1..=battles {
            let mut game = Game::new(field(key));
            assert_eq!(manner(&game), None);
            while game.ending().is_none() {
                let mut chance = Chance::of(&[3, number, game.player_turn()]);
                let sheet = fieldpost_commander::sheet(&game, &mut chance).expect("a sheet");
                let posting = Posting {
                    sheet: &sheet,
                    standing: &fieldpost_commander::instructions(&mut chance),
                    game_id: [0; 16],
                    attempt: 1,
                    secret: chance.bytes(),
                    number: chance.bytes(),
                    next_commitment: [0; 32],
                    sealed: &[],
                };
                let events: Vec<Event> = play(&game, &posting).expect("accepted");
                events.iter().for_each(|event| game.apply(event));
            }
            let why = &game.ending().expect("over").why;
            let told = match manner(&game).expect("over") {
                Manner::Broken => "is broken",
                Manner::NobodyLeft => "has no unit left",
                Manner::PointsReached => "points that win at once",
                Manner::LastTurn => "last game turn is over",
            };
            assert!(why.contains(told), "{key} {number}: {why}");
            seen.insert(told);
        }
    }
    assert!(seen.len() > 1, "only {seen:?}");
}

#[test]
fn reports_count_what_was_fought_in_any_order() {
    let field = field("withy-bridge");
    let fought = series(&field, 1, 12);
    let summed = report(&field, 1, &fought);
    let mut shuffled = fought.clone();
    shuffled.reverse();
    assert_eq!(report(&field, 1, &shuffled), summed);
    let [red, blue] = &summed.sides;
    assert_eq!(red.wins.count + blue.wins.count + summed.draws.count, 12);
    let decided = &summed.first_of_decided;
    assert_eq!(
        (decided.count, decided.of),
        (red.wins.count, 12 - summed.draws.count)
    );
    assert_eq!(
        summed
            .endings
            .iter()
            .map(|one| one.share.count)
            .sum::<u64>(),
        12
    );
    let words = report_in_words(&summed);
    assert!(
        words.lines().all(|line| line.chars().count() <= 80),
        "{words}"
    );
    for needed in [
        "Withy Bridge",
        "12 battles of seed 1",
        &red.name,
        "halt zones met",
    ] {
        assert!(words.contains(needed), "no {needed:?} in {words}");
    }
}

/// Where the second side moves first, it does, and what comes of it is told by the places that the sides have in the scenario.
#[test]
fn sides_the_other_way_round_keep_their_places_in_what_is_told() {
    let field = field("quern-bridge");
    let other = OtherWayRound::of(&field);
    let fought: Vec<_> = (1..=12)
        .map(|number| match number % 2 {
            0 => other.fight(3, number),
            _ => fight(&field, 3, number),
        })
        .collect();
    for (one, number) in fought.iter().flatten().zip(1..) {
        assert_eq!(one.first, usize::from(number % 2 == 0));
        let [red, blue] = one.sides.map(|side| side.points);
        // Who has more points has won, whoever moved first.
        if let Some(winner) = one.winner {
            let more = usize::from(blue > red);
            assert_eq!(winner, more, "battle {number}: {red} and {blue}");
        }
    }
    let summed = report(&field, 3, &fought);
    assert_eq!(summed.first_side_began, 6);
    let first_to_move = fought
        .iter()
        .flatten()
        .filter(|one| one.winner == Some(one.first));
    assert_eq!(summed.first_mover.count, first_to_move.count() as u64);
    assert_eq!(summed.first_mover.of, summed.first_of_decided.of);
    let words = report_in_words(&summed);
    assert!(words.contains("Whoever moved first won"), "{words}");
    let always = report_in_words(&report(&field, 3, &series(&field, 3, 2)));
    assert!(
        always.contains("Army of the Vale moved first in all of them."),
        "{always}"
    );
}

/// Every shipped battle is level between equal commanders, as it is shipped, or its text says which way it leans. So few battles
/// cannot show that one is level; that its interval reaches between 45 and 55 % they can.
#[test]
fn every_shipped_battle_is_level_or_says_that_it_is_not() {
    for shipped in shipped::SCENARIOS {
        let field = field(shipped.key);
        let summed = report(&field, 1, &series(&field, 1, 150));
        let share = &summed.first_of_decided;
        let about = field.scenario.about.replace('\n', " ").to_lowercase();
        let leans_to = |place: usize| {
            let name = summed.sides[place].name.to_lowercase();
            let name = name.strip_prefix("the ").unwrap_or(&name);
            about.contains(&format!("leans to the {name}"))
        };
        let (told, is_so) = match (leans_to(0), leans_to(1)) {
            (false, false) => ("level", share.low <= 0.55 && share.high >= 0.45),
            (first, second) => (
                "leaning",
                first != second
                    && if first {
                        share.low > 0.5
                    } else {
                        share.high < 0.5
                    },
            ),
        };
        assert!(is_so, "{} is told to be {told}: {share:?}", shipped.key);
    }
}

/// A battle that stuck is told, and counted nowhere.
#[test]
fn what_stuck_is_told() {
    let field = field("withy-bridge");
    let mut fought = series(&field, 1, 3);
    fought[1] = Err(Stuck {
        number: 2,
        player_turn: 5,
    });
    let summed = report(&field, 1, &fought);
    assert_eq!(summed.battles, 2);
    let words = report_in_words(&summed);
    assert!(words.contains("battle 2, in its player turn 5"), "{words}");
    let other = report(&field, 1, &series(&field, 1, 3));
    let compared = compared((summed, &fought), (other, &series(&field, 1, 3)));
    assert_eq!(compared.pairs, 2, "the one that stuck has no fellow");
    // all of them stuck: still words, no division by nothing
    let none = report(&field, 1, &[fought[1].clone()]);
    assert!(report_in_words(&none).contains("0 battles"));
}

#[test]
fn a_battle_compared_with_itself_does_not_differ() {
    let field = field("withy-bridge");
    let fought = series(&field, 4, 10);
    let summed = report(&field, 4, &fought);
    let compared = compared((summed.clone(), &fought), (summed, &fought));
    for wins in compared.wins.iter().chain([&compared.draws]) {
        assert_eq!((wins.first_only, wins.second_only), (0, 0));
        assert_eq!((wins.difference, wins.chance_if_equal), (0.0, 1.0));
        assert!(wins.low < 0.0 && wins.high > 0.0);
    }
    assert_eq!(compared.points[0].difference.mean, 0.0);
    assert_eq!(compared.game_turns.difference.high, Some(0.0));
    let words = compared_in_words(&compared, "a.toml", "b.toml");
    assert!(
        words.lines().all(|line| line.chars().count() <= 80),
        "{words}"
    );
    assert!(!words.contains(" clear"), "{words}");
}
