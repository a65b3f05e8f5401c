//! Studies against values worked by hand, and properties over random tables.

use proptest::prelude::*;

use super::*;
use fieldpost_rules::ruleset::{
    Column, Dice, Fate, Losses, Outcome, Results, ResultsKind, Row, Throw,
};

/// A table worked by hand below: d6; columns 1:1 and 2:1.
///
/// | throw | 1:1 | 2:1 |
/// | --- | --- | --- |
/// | 1 | attacker out | attacker back |
/// | 2, 3 | attacker back | defender back |
/// | 4, 5 | defender back | defender loses 2 |
/// | 6 | swap | defender out |
fn table() -> Results {
    let outcome = |attacker: Fate, defender: Fate, exchange: bool| Outcome {
        words: String::new(),
        attacker,
        defender,
        exchange,
    };
    let stands = Fate::default();
    let back = Fate {
        falls_back: Some(fieldpost_rules::ruleset::Distance::new(1.0)),
        ..Fate::default()
    };
    let out = Fate {
        eliminated: true,
        ..Fate::default()
    };
    let loses = Fate {
        loses: 2,
        ..back.clone()
    };
    let row = |throw, outcomes: [&str; 2]| Row {
        throw,
        outcomes: outcomes.map(str::to_owned).to_vec(),
    };
    Results {
        kind: ResultsKind::Odds,
        dice: Dice { count: 1, faces: 6 },
        columns: vec![odds(1.0, 1.0), odds(2.0, 1.0)],
        row: vec![
            row(Throw::Total(1), ["attacker out", "attacker back"]),
            row(Throw::Between([2, 3]), ["attacker back", "defender back"]),
            row(Throw::Between([4, 5]), ["defender back", "defender loses"]),
            row(Throw::Total(6), ["swap", "defender out"]),
        ],
        outcome: [
            ("attacker out", outcome(out.clone(), stands.clone(), false)),
            (
                "attacker back",
                outcome(back.clone(), stands.clone(), false),
            ),
            ("defender back", outcome(stands.clone(), back, false)),
            ("defender loses", outcome(stands.clone(), loses, false)),
            ("defender out", outcome(stands.clone(), out, false)),
            ("swap", outcome(stands.clone(), stands, true)),
        ]
        .map(|(name, outcome)| (name.to_owned(), outcome))
        .into(),
        losses: Losses::EachUnit,
    }
}

fn odds(attack: f64, defence: f64) -> Column {
    Column::Odds { attack, defence }
}

fn part(over: u128, under: u128) -> Fraction {
    Fraction::new(over, under).unwrap()
}

fn forces() -> Forces {
    Forces {
        attacker: Force::new(2, 3, 1.0).unwrap(),
        defender: Force::new(1, 4, 1.0).unwrap(),
    }
}

/// Two dice of six: 1 2 3 4 5 6 5 4 3 2 1 ways of 36 (any textbook of probability).
#[test]
fn two_dice_fall_in_36_ways() {
    let totals = Totals::of(Dice { count: 2, faces: 6 }).unwrap();
    let ways: Vec<(u32, u128)> = totals.each().collect();
    let expected = [1, 2, 3, 4, 5, 6, 5, 4, 3, 2, 1];
    assert_eq!(ways, (2..=12).zip(expected).collect::<Vec<_>>());
    assert_eq!(totals.chance(7), part(1, 6));
    assert_eq!(totals.chance(1), Fraction::ZERO);
    assert_eq!(totals.chance(13), Fraction::ZERO);
}

/// Three dice of six: 27 ways of 216 to throw 10, the old gamblers' question (Galilei's reckoning,
/// from memory), and 25 ways to throw 9.
#[test]
fn three_dice_throw_ten_more_often_than_nine() {
    let totals = Totals::of(Dice { count: 3, faces: 6 }).unwrap();
    assert_eq!(totals.chance(10), part(27, 216));
    assert_eq!(totals.chance(9), part(25, 216));
}

#[test]
fn the_table_worked_by_hand() {
    let studied = chances(&table(), None).unwrap();
    let even = &studied.columns[0];
    assert_eq!(even.attacker.removed, part(1, 6));
    assert_eq!(even.attacker.falls_back, part(2, 6));
    assert_eq!(even.defender.falls_back, part(2, 6));
    assert_eq!(even.ground_taken, part(2, 6));
    assert_eq!(even.exchange, part(1, 6));
    assert_eq!(even.nothing, Fraction::ZERO);
    assert_eq!(even.defender.expected_loss, Fraction::ZERO);
    let double = &studied.columns[1];
    assert_eq!(double.defender.falls_back, part(4, 6));
    assert_eq!(double.defender.removed, part(1, 6));
    assert_eq!(double.ground_taken, part(5, 6));
    // 2 bases on two throws of six
    assert_eq!(double.defender.expected_loss, part(4, 6));
    assert_eq!(studied.of(Aim::Destroy, 1), part(1, 6));
    assert_eq!(studied.of(Aim::Stand, 1), part(5, 6));
}

#[test]
fn outcomes_run_from_the_attackers_worst_to_his_best() {
    let studied = chances(&table(), None).unwrap();
    let names: Vec<&str> = studied.outcomes.iter().map(|o| o.name.as_str()).collect();
    assert_eq!(
        names,
        [
            "attacker out",
            "attacker back",
            "swap",
            "defender back",
            "defender loses",
            "defender out"
        ]
    );
}

/// Two units of 3 attack one of 4, a base worth 1. At 1:1: attackers lose 6 on a 1 and, in the
/// exchange on a 6, the weaker side's 4: (6 + 4) / 6. Defenders lose 4 in the exchange: 4 / 6,
/// and are gone then. At 2:1 defenders lose 2, 2 and 4: 8 / 6.
#[test]
fn losses_of_forces_worked_by_hand() {
    let studied = chances(&table(), Some(&forces())).unwrap();
    let even = &studied.columns[0];
    assert_eq!(even.attacker.expected_loss, part(10, 6));
    assert_eq!(even.defender.expected_loss, part(4, 6));
    assert_eq!(even.defender.removed, part(1, 6));
    assert_eq!(even.ground_taken, part(3, 6));
    assert_eq!(studied.columns[1].defender.expected_loss, part(8, 6));
}

/// An exchange that also takes a base of each unit: two units of 3 against one of 4 lose 4 first
/// (1 and 1 left), then one each: all 6. Had they 5 each, 3 and 3 would be left: 4 + 2.
#[test]
fn an_exchange_comes_before_stated_losses() {
    let mut results = table();
    results.outcome.get_mut("swap").unwrap().attacker.loses = 1;
    let swap = &results.outcome["swap"];
    let taken = |bases| {
        let attacker = Force::new(2, bases, 1.0).unwrap();
        toll(
            swap,
            Losses::EachUnit,
            Some(&Forces {
                attacker,
                ..forces()
            }),
        )
        .attacker
    };
    assert_eq!((taken(3).bases, taken(3).removed), (6, true));
    assert_eq!((taken(5).bases, taken(5).removed), (6, false));
}

#[test]
fn a_fall_back_of_no_distance_is_none() {
    let mut results = table();
    for outcome in results.outcome.values_mut() {
        outcome.defender.falls_back = Some(fieldpost_rules::ruleset::Distance::new(0.0));
    }
    let studied = chances(&results, None).unwrap();
    assert!(studied.columns[1].defender.falls_back.is_zero());
    // on the table nothing happens, and that is what is told
    let harmless = fieldpost_rules::ruleset::Outcome {
        defender: fieldpost_rules::ruleset::Fate {
            falls_back: Some(fieldpost_rules::ruleset::Distance::new(0.0)),
            ..Default::default()
        },
        ..Default::default()
    };
    for outcome in results.outcome.values_mut() {
        *outcome = harmless.clone();
    }
    let studied = chances(&results, None).unwrap();
    assert_eq!(studied.columns[1].nothing.value(), 1.0);
}

#[test]
fn a_side_loses_once_where_the_table_says_so() {
    let mut results = table();
    for outcome in results.outcome.values_mut() {
        std::mem::swap(&mut outcome.attacker, &mut outcome.defender);
    }
    let each = chances(&results, Some(&forces())).unwrap();
    results.losses = Losses::Side;
    let side = chances(&results, Some(&forces())).unwrap();
    // "loses 2" on two throws of six, "out" (6 bases) on one; two units
    assert_eq!(each.columns[1].attacker.expected_loss, part(2 * 4 + 6, 6));
    assert_eq!(side.columns[1].attacker.expected_loss, part(2 * 2 + 6, 6));
}

/// A shift of one to the right at 1:1 turns 2/6 into 5/6; at 2:1 the table ends.
#[test]
fn a_shift_worked_by_hand() {
    let studied = chances(&table(), None).unwrap();
    let worth = worth_of_shift(&studied, 1, Aim::Ground);
    assert_eq!(worth.rows[0].after, part(5, 6));
    assert!((worth.rows[0].gain - 0.5).abs() < 1e-12);
    assert_eq!(worth.rows[1].moved, 0);
    assert!((worth.mean_gain - 0.25).abs() < 1e-12);
    let back = worth_of_shift(&studied, -7, Aim::Ground);
    assert_eq!((back.rows[1].to.as_str(), back.rows[1].moved), ("1:1", -1));
}

#[test]
fn a_multiplier_moves_just_reached_columns_down() {
    let studied = chances(&table(), None).unwrap();
    let worth = worth_of_multiplier(&studied, 2.0, None, Aim::Ground).unwrap();
    assert_eq!(worth.rows[1].to, "1:1");
    assert_eq!(worth.rows[0].to, "1:1");
    let slight = worth_of_multiplier(&studied, 1.1, None, Aim::Ground).unwrap();
    assert_eq!(slight.rows[1].to, "1:1");
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(worth_of_multiplier(&studied, bad, None, Aim::Ground).is_err());
    }
}

#[test]
fn a_multiplier_in_a_table_of_differences_needs_a_strength() {
    let mut results = table();
    results.kind = ResultsKind::Differential;
    results.columns = vec![Column::Difference(0.0), Column::Difference(4.0)];
    let studied = chances(&results, None).unwrap();
    assert!(worth_of_multiplier(&studied, 2.0, None, Aim::Ground).is_err());
    // attackers 4 + 4 against 4 x 1.5 = 6: a difference of 2
    let worth = worth_of_multiplier(&studied, 1.5, Some(4.0), Aim::Ground).unwrap();
    assert_eq!(worth.rows[1].to, "0");
    assert_eq!(column_of(&studied, "+3").unwrap(), 0);
    assert_eq!(column_of(&studied, "5").unwrap(), 1);
    assert!(column_of(&studied, "2:1").is_err());
}

/// Both of two battles at 2:1: 25/36; at least one: 35/36; none: 1/36.
#[test]
fn a_chain_worked_by_hand() {
    let studied = chances(&table(), None).unwrap();
    let chain = chain(&studied, &[1, 1], Aim::Ground).unwrap();
    let exact = |figure: &Figure| figure.exact.unwrap();
    assert_eq!(exact(&chain.exactly[0]), part(1, 36));
    assert_eq!(exact(&chain.exactly[1]), part(10, 36));
    assert_eq!(exact(&chain.at_least[2]), part(25, 36));
    assert_eq!(exact(&chain.at_least[1]), part(35, 36));
    assert_eq!(exact(&chain.at_least[0]), Fraction::ONE);
    assert!((chain.all_fought.defender - 8.0 / 6.0).abs() < 1e-12);
    assert!((chain.stopping_at_failure.battles - (1.0 + 5.0 / 6.0)).abs() < 1e-12);
    assert!((chain.stopping_at_failure.defender - 4.0 / 6.0 * (1.0 + 5.0 / 6.0)).abs() < 1e-12);
}

/// Where 128 bits no longer hold the fractions, numbers go on.
#[test]
fn a_long_chain_goes_on_in_numbers() {
    let studied = chances(&table(), None).unwrap();
    let long = chain(&studied, &[1; 200], Aim::Ground).unwrap();
    assert_eq!(long.at_least[200].exact, None);
    let expected = libm::pow(5.0 / 6.0, 200.0);
    assert!((long.at_least[200].value / expected - 1.0).abs() < 1e-12);
    assert!((long.at_least[0].value - 1.0).abs() < 1e-12);
    assert!(chain(&studied, &[], Aim::Ground).is_err());
    assert!(chain(&studied, &[0; 201], Aim::Ground).is_err());
    assert!(chain(&studied, &[2], Aim::Ground).is_err());
}

#[test]
fn tables_meet_at_every_head_of_either() {
    let first = chances(&table(), None).unwrap();
    let mut other = table();
    other.columns = vec![odds(3.0, 2.0), odds(4.0, 2.0)];
    let second = chances(&other, None).unwrap();
    let compared = compare(&first, &second, Aim::Ground).unwrap();
    let heads: Vec<&str> = compared.rows.iter().map(|r| r.head.as_str()).collect();
    assert_eq!(heads, ["1:1", "3:2", "2:1"]);
    let at = &compared.rows[1];
    assert_eq!(
        (at.first_column.as_str(), at.second_column.as_str()),
        ("1:1", "3:2")
    );
    assert!(compared.largest_change.abs() < 1e-12);
    other.kind = ResultsKind::Differential;
    let differences = chances(&other, None).unwrap();
    assert_eq!(
        compare(&first, &differences, Aim::Ground),
        Err(StudyError::Kinds)
    );
}

#[test]
fn tables_that_are_not_whole_are_refused_in_words() {
    let mut holed = table();
    holed.row.pop();
    let error = chances(&holed, None).unwrap_err();
    assert_eq!(error, StudyError::NoRow { total: 6 });
    assert!(error.to_string().contains("throw of 6"));
    let mut misnamed = table();
    misnamed.row[3].outcomes[1] = "nothing of the kind".to_owned();
    assert!(
        chances(&misnamed, None)
            .unwrap_err()
            .to_string()
            .contains("column 2:1")
    );
    let mut many = table();
    many.dice = Dice {
        count: 11,
        faces: 6,
    };
    assert!(
        chances(&many, None)
            .unwrap_err()
            .to_string()
            .contains("11 dice")
    );
    many.dice = Dice {
        count: u32::MAX,
        faces: u32::MAX,
    };
    assert!(chances(&many, None).is_err());
}

#[test]
fn words_keep_to_80_columns() {
    let studied = chances(&table(), Some(&forces())).unwrap();
    let chain = chain(&studied, &[0, 1, 1], Aim::Ground).unwrap();
    let shift = worth_of_shift(&studied, -1, Aim::Destroy);
    let compared = compare(&studied, &studied, Aim::Stand).unwrap();
    let all = [
        chances_in_words(&chances(&table(), None).unwrap()),
        chances_in_words(&studied),
        chain_in_words(&chain),
        worth_in_words(&shift),
        comparison_in_words(&compared, "Old rules", "New rules"),
    ];
    for text in &all {
        for line in text.lines() {
            assert!(line.chars().count() <= 80, "{line:?}");
        }
    }
    insta::assert_snapshot!(all.join("\n=====\n"));
}

fn any_table() -> impl Strategy<Value = Results> {
    let fate = (0u8..3, 0u32..4, prop::bool::weighted(0.2));
    let fate = fate.prop_map(|(back, loses, eliminated)| Fate {
        falls_back: (back > 0).then(|| fieldpost_rules::ruleset::Distance::new(f64::from(back))),
        loses,
        eliminated,
    });
    let outcome = (fate.clone(), fate, prop::bool::weighted(0.2));
    let dice = (1u32..=3, 2u32..=12);
    let outcomes = prop::collection::vec(outcome, 1..6);
    (dice, outcomes, 1usize..8, any::<u64>()).prop_map(
        |((count, faces), outcomes, columns, seed)| {
            let mut state = seed | 1;
            let mut pick = |below: usize| {
                state = state
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(1_442_695_040_888_963_407);
                usize::try_from(state >> 33).unwrap() % below
            };
            Results {
                kind: ResultsKind::Differential,
                dice: Dice { count, faces },
                columns: (0..u32::try_from(columns).unwrap())
                    .map(|c| Column::Difference(f64::from(c)))
                    .collect(),
                row: (count..=count * faces)
                    .map(|total| Row {
                        throw: Throw::Total(total),
                        outcomes: (0..columns)
                            .map(|_| format!("o{}", pick(outcomes.len())))
                            .collect(),
                    })
                    .collect(),
                outcome: outcomes
                    .into_iter()
                    .enumerate()
                    .map(|(index, (attacker, defender, exchange))| {
                        (
                            format!("o{index}"),
                            Outcome {
                                words: String::new(),
                                attacker,
                                defender,
                                exchange,
                            },
                        )
                    })
                    .collect(),
                losses: Losses::EachUnit,
            }
        },
    )
}

proptest! {
    #[test]
    fn chances_of_a_column_add_up_to_certainty(results in any_table()) {
        let studied = chances(&results, None).unwrap();
        for column in &studied.columns {
            let sum = column.chance.iter().try_fold(Fraction::ZERO, |sum, p| sum.plus(*p));
            prop_assert_eq!(sum, Some(Fraction::ONE));
        }
    }

    /// Every throw counted one die at a time, with no convolution.
    #[test]
    fn every_throw_counted_one_by_one(results in any_table()) {
        let studied = chances(&results, Some(&forces())).unwrap();
        let Dice { count, faces } = results.dice;
        let all = u128::from(faces.pow(count));
        for (index, column) in studied.columns.iter().enumerate() {
            let mut ways = vec![0u128; studied.outcomes.len()];
            for throw in 0..faces.pow(count) {
                let total: u32 = (0..count).map(|die| 1 + throw / faces.pow(die) % faces).sum();
                let row = results.row.iter().find(|row| row.throw.holds(total)).unwrap();
                let outcome = studied.outcomes.iter().position(|o| o.name == row.outcomes[index]);
                ways[outcome.unwrap()] += 1;
            }
            let counted: Vec<Fraction> = ways.iter().map(|&ways| part(ways, all)).collect();
            prop_assert_eq!(&column.chance, &counted);
        }
    }

    #[test]
    fn a_chain_is_certain_to_end_somehow(
        results in any_table(),
        picks in prop::collection::vec(any::<prop::sample::Index>(), 1..8),
    ) {
        let studied = chances(&results, None).unwrap();
        let columns: Vec<usize> = picks.iter().map(|p| p.index(studied.columns.len())).collect();
        let chain = chain(&studied, &columns, Aim::Ground).unwrap();
        prop_assert!((chain.at_least[0].value - 1.0).abs() < 1e-12);
        let mut mean = 0.0;
        let mut count = 0.0;
        for exactly in &chain.exactly {
            mean += count * exactly.value;
            count += 1.0;
        }
        prop_assert!((mean - chain.expected_successes).abs() < 1e-9);
        prop_assert!(chain.stopping_at_failure.attacker <= chain.all_fought.attacker + 1e-12);
    }

    #[test]
    fn fractions_add_and_multiply_like_numbers(a in 0u32..9999, b in 1u32..9999, c in 0u32..9999, d in 1u32..9999) {
        let (x, y) = (part(a.into(), b.into()), part(c.into(), d.into()));
        prop_assert!((x.plus(y).unwrap().value() - (x.value() + y.value())).abs() < 1e-9);
        prop_assert!((x.times(y).unwrap().value() - x.value() * y.value()).abs() < 1e-6);
    }
}

#[test]
fn fractions_that_do_not_fit_are_no_fractions() {
    let tiny = Fraction::new(1, u128::MAX).unwrap();
    assert_eq!(tiny.times(tiny), None);
    assert_eq!(tiny.plus(part(1, 2)), None);
    assert_eq!(Fraction::new(1, 0), None);
    assert_eq!(part(0, 5), Fraction::ZERO);
}
