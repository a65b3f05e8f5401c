//! Exact chances against a statistics library (crate `statrs`) and against a closed form that
//! convolves nothing.

use fieldpost_rules::ruleset::{
    Column, Dice, Distance, Fate, Losses, Outcome, Results, ResultsKind, Row, Throw,
};
use fieldpost_study::{Aim, Totals};
use statrs::distribution::{Binomial, Discrete, DiscreteCDF};
use statrs::function::factorial;

/// A table for any dice: in column `c` the lowest sixths of the totals go to the defender.
pub(super) fn table(dice: Dice) -> Results {
    let (least, most) = (dice.count, dice.count * dice.faces);
    let names = ["repulse", "stalemate", "push", "rout"];
    let outcome = |attacker: u32, defender: u32, back: bool| Outcome {
        words: String::new(),
        attacker: Fate {
            loses: attacker,
            ..Fate::default()
        },
        defender: Fate {
            loses: defender,
            falls_back: back.then(|| Distance::new(1.0)),
            ..Fate::default()
        },
        exchange: false,
    };
    Results {
        kind: ResultsKind::Differential,
        dice,
        columns: (0..5)
            .map(|column| Column::Difference(f64::from(column)))
            .collect(),
        row: (least..=most)
            .map(|total| Row {
                throw: Throw::Total(total),
                outcomes: (0..5)
                    .map(|column| {
                        let sixth = (total - least) * 6 / (most - least + 1);
                        names[usize::try_from((sixth + column) / 3).unwrap()].to_owned()
                    })
                    .collect(),
            })
            .collect(),
        outcome: names
            .into_iter()
            .zip([
                outcome(2, 0, false),
                outcome(1, 1, false),
                outcome(0, 1, true),
                outcome(0, 3, true),
            ])
            .map(|(name, outcome)| (name.to_owned(), outcome))
            .collect(),
        losses: Losses::EachUnit,
    }
}

/// De Moivre's count of the ways `n` dice of `f` faces come to `s`, by inclusion and exclusion:
/// Σ (−1)^k C(n, k) C(s − f k − 1, n − 1). (Doctrine of Chances, from memory; found in any
/// textbook of probability.)
fn ways_by_inclusion(n: u32, f: u32, s: u32) -> i128 {
    let mut sum = 0i128;
    for k in 0..=(s - n) / f {
        let term = choose(n, k) * choose(s - f * k - 1, n - 1);
        sum += if k % 2 == 0 { term } else { -term };
    }
    sum
}

fn choose(n: u32, k: u32) -> i128 {
    (0..k).fold(1i128, |product, i| {
        product * i128::from(n - i) / i128::from(i + 1)
    })
}

#[test]
fn totals_agree_with_de_moivres_formula_for_all_dice_a_ruleset_may_have() {
    let mut checked = 0;
    for count in 1..=10 {
        for faces in [2, 3, 4, 6, 8, 10, 12, 20, 100] {
            for (total, ways) in Totals::of(Dice { count, faces }).unwrap().each() {
                let expected = ways_by_inclusion(count, faces, total);
                assert_eq!(
                    i128::try_from(ways).unwrap(),
                    expected,
                    "{count}d{faces} = {total}"
                );
                checked += 1;
            }
        }
    }
    println!("{checked} totals agree exactly");
}

/// The library's own binomial coefficients, as far as doubles hold them exactly.
#[test]
fn coins_agree_with_the_librarys_binomials() {
    for count in 1u32..=10 {
        let totals = Totals::of(Dice { count, faces: 2 }).unwrap();
        let fair = Binomial::new(0.5, u64::from(count)).unwrap();
        for (total, ways) in totals.each() {
            let heads = u64::from(total - count);
            assert_eq!(ways as f64, factorial::binomial(u64::from(count), heads));
            assert!((totals.chance(total).value() - fair.pmf(heads)).abs() < 1e-12);
        }
    }
}

/// A chain of battles in one column is a binomial.
#[test]
fn chains_agree_with_the_librarys_binomial() {
    let mut worst = 0.0f64;
    for dice in [
        Dice { count: 1, faces: 6 },
        Dice { count: 2, faces: 6 },
        Dice {
            count: 3,
            faces: 10,
        },
    ] {
        let studied = fieldpost_study::chances(&table(dice), None).unwrap();
        for column in 0..studied.columns.len() {
            for battles in [1usize, 2, 5, 12, 40] {
                let chain =
                    fieldpost_study::chain(&studied, &vec![column; battles], Aim::Ground).unwrap();
                let chance = studied.of(Aim::Ground, column).value();
                let binomial = Binomial::new(chance, battles as u64).unwrap();
                for successes in 0..=battles {
                    let (k, exactly) = (successes as u64, chain.exactly[successes].value);
                    worst = worst.max((exactly - binomial.pmf(k)).abs());
                    if let Some(before) = k.checked_sub(1) {
                        let at_least = chain.at_least[successes].value;
                        worst = worst.max((at_least - binomial.sf(before)).abs());
                    }
                }
            }
        }
    }
    println!("worst difference {worst:.1e}");
    assert!(worst < 1e-11);
}

/// Expected losses by the definition of a mean, in floating point and one total at a time.
#[test]
fn expected_losses_agree_with_plain_means() {
    for dice in [
        Dice { count: 2, faces: 6 },
        Dice { count: 4, faces: 8 },
        Dice {
            count: 10,
            faces: 100,
        },
    ] {
        let results = table(dice);
        let studied = fieldpost_study::chances(&results, None).unwrap();
        for (index, column) in studied.columns.iter().enumerate() {
            let mut mean = 0.0;
            let all = f64::from(dice.faces).powi(i32::try_from(dice.count).unwrap());
            for row in &results.row {
                let total = row.throw.ends().0;
                let ways = ways_by_inclusion(dice.count, dice.faces, total) as f64;
                mean +=
                    ways / all * f64::from(results.outcome[&row.outcomes[index]].defender.loses);
            }
            assert!((column.defender.expected_loss.value() - mean).abs() < 1e-9);
        }
    }
}
