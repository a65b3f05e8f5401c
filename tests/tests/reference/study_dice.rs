//! The core's dice against published critical values of chi-square, and the chances of a
//! results table against a million of its throws. Seeds are fixed, so the figures never change.

use fieldpost_rules::dice::{Seeds, Throws};
use fieldpost_rules::ruleset::{Dice, Results};
use fieldpost_study::Totals;
use statrs::distribution::{Binomial, ChiSquared, ContinuousCDF, DiscreteCDF, Normal};

/// NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4, critical values of the
/// chi-square distribution, upper tail, 5 degrees of freedom.
const FIVE_PER_CENT: f64 = 11.070;
const ONE_PER_CENT: f64 = 15.086;

/// Dice that a throw may hold: a stream has 8,160 bytes, and a few are skipped.
const DICE_A_THROW: u32 = 5_000;

fn throws(seed: u8) -> Throws {
    Throws::new(&Seeds {
        game: &[7; 16],
        player_turn: 1,
        attempt: 1,
        secret: &[seed; 32],
        number: &[seed.wrapping_mul(31); 32],
    })
}

/// How often each face came up.
fn faces(throws: &mut Throws, dice: u32, faces: u32) -> Vec<u64> {
    let mut counts = vec![0u64; faces as usize];
    let mut left = dice;
    while left > 0 {
        let batch = left.min(DICE_A_THROW);
        let thrown = throws.throw(&format!("{left} left"), batch, faces);
        assert_eq!(thrown.len(), batch as usize);
        for face in thrown {
            counts[face as usize - 1] += 1;
        }
        left -= batch;
    }
    counts
}

/// Pearson's statistic of counts that should be equal.
fn chi_square(counts: &[u64]) -> f64 {
    let expected = counts.iter().sum::<u64>() as f64 / counts.len() as f64;
    counts
        .iter()
        .map(|&count| (count as f64 - expected).powi(2) / expected)
        .sum()
}

#[test]
fn the_library_agrees_with_the_published_critical_values() {
    let five = ChiSquared::new(5.0).unwrap();
    assert!((five.inverse_cdf(0.95) - FIVE_PER_CENT).abs() < 5e-4);
    assert!((five.inverse_cdf(0.99) - ONE_PER_CENT).abs() < 5e-4);
}

#[test]
fn a_million_dice_of_six_faces_are_even() {
    let counts = faces(&mut throws(1), 1_000_000, 6);
    let statistic = chi_square(&counts);
    println!("a million dice: {counts:?}, chi-square {statistic:.3}");
    assert!(statistic < FIVE_PER_CENT, "{statistic} of {counts:?}");
}

/// Dice that are too even would pass any single test: of many series one in twenty must fail
/// the 5 % value, and the share lie within its 99.9 % interval.
#[test]
fn one_series_in_twenty_exceeds_the_five_per_cent_value() {
    let series = 250u64;
    let (mut over_five, mut over_one) = (0, 0);
    for seed in 0..u8::try_from(series).unwrap() {
        let statistic = chi_square(&faces(&mut throws(seed), 4_000, 6));
        over_five += u64::from(statistic > FIVE_PER_CENT);
        over_one += u64::from(statistic > ONE_PER_CENT);
    }
    println!("of {series} series {over_five} over the 5 % value, {over_one} over the 1 % value");
    for (chance, seen) in [(0.05, over_five), (0.01, over_one)] {
        let expected = Binomial::new(chance, series).unwrap();
        assert!(expected.cdf(seen) > 0.0005, "only {seen}");
        assert!(expected.sf(seen - 1) > 0.0005, "as many as {seen}");
    }
}

/// Faces that do not divide 256 make bytes be skipped; none may come short.
#[test]
fn dice_of_other_faces_are_even_too() {
    for sides in [2u32, 3, 8, 10, 20, 100] {
        let statistic = chi_square(&faces(&mut throws(9), 200_000, sides));
        let critical = ChiSquared::new(f64::from(sides - 1))
            .unwrap()
            .inverse_cdf(0.99);
        assert!(
            statistic < critical,
            "d{sides}: {statistic} over {critical}"
        );
    }
}

/// Every chance of the table lies within the 99.9 % interval of its share among a million throws.
#[test]
fn a_million_throws_of_a_table_are_within_the_interval() {
    for dice in [
        Dice { count: 1, faces: 6 },
        Dice { count: 2, faces: 6 },
        Dice {
            count: 3,
            faces: 10,
        },
    ] {
        let results = super::study::table(dice);
        let studied = fieldpost_study::chances(&results, None).unwrap();
        let trials = 1_000_000u32;
        let seen = outcomes_thrown(&results, trials);
        let wide = Normal::new(0.0, 1.0).unwrap().inverse_cdf(0.9995);
        let mut worst = 0.0f64;
        for (column, counts) in studied.columns.iter().zip(&seen) {
            for ((outcome, chance), count) in
                studied.outcomes.iter().zip(&column.chance).zip(counts)
            {
                let (chance, share) = (chance.value(), *count as f64 / f64::from(trials));
                let deviation = (chance * (1.0 - chance) / f64::from(trials)).sqrt();
                let off = (share - chance).abs();
                assert!(
                    off <= wide * deviation,
                    "{dice} {} {}: {share} for {chance}",
                    column.head,
                    outcome.name
                );
                if deviation > 0.0 {
                    worst = worst.max(off / deviation);
                }
            }
        }
        println!("{dice}: worst of all outcomes {worst:.2} standard deviations off");
    }
}

/// For each column how often each outcome, in the study's order, came of so many throws.
fn outcomes_thrown(results: &Results, trials: u32) -> Vec<Vec<u64>> {
    let studied = fieldpost_study::chances(results, None).unwrap();
    let most = results.dice.count * results.dice.faces;
    let place = |total: u32, column: usize| {
        let row = results
            .row
            .iter()
            .find(|row| row.throw.holds(total))
            .unwrap();
        let named = |outcome: &fieldpost_study::Meaning| outcome.name == row.outcomes[column];
        studied.outcomes.iter().position(named).unwrap()
    };
    let mut totals = vec![0u64; most as usize + 1];
    let mut throws = throws(2);
    let batch = DICE_A_THROW / results.dice.count;
    let mut left = trials;
    while left > 0 {
        let now = left.min(batch);
        let dice = throws.throw(
            &format!("{left} left"),
            now * results.dice.count,
            results.dice.faces,
        );
        for throw in dice.chunks(results.dice.count as usize) {
            totals[throw.iter().sum::<u32>() as usize] += 1;
        }
        left -= now;
    }
    (0..results.columns.len())
        .map(|column| {
            let mut counts = vec![0u64; studied.outcomes.len()];
            for (total, _) in Totals::of(results.dice).unwrap().each() {
                counts[place(total, column)] += totals[total as usize];
            }
            counts
        })
        .collect()
}
