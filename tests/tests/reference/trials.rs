//! Intervals of trials against a statistics library (crate `statrs`) and published values.

use fieldpost_study::{Mean, Paired, Share};
use statrs::distribution::{Binomial, ContinuousCDF, Discrete, DiscreteCDF, Normal, StudentsT};

fn normal_quantile() -> f64 {
    Normal::new(0.0, 1.0).unwrap().inverse_cdf(0.975)
}

/// R. G. Newcombe, "Two-sided confidence intervals for the single proportion", Statistics in Medicine 17
/// (1998), table I, Wilson's method without continuity correction. Values from memory.
#[test]
fn wilsons_interval_has_the_published_values() {
    for (count, of, low, high) in [
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ] {
        let share = Share::of(count, of);
        assert!(
            (share.low - low).abs() < 5e-5,
            "{count} of {of}: {}",
            share.low
        );
        assert!(
            (share.high - high).abs() < 5e-5,
            "{count} of {of}: {}",
            share.high
        );
    }
}

/// The interval's ends are the chances whose standard deviation, times the normal quantile, is just
/// their distance from the share: its definition, solved by halving.
#[test]
fn wilsons_interval_solves_its_own_definition() {
    let z = normal_quantile();
    for of in [1u64, 2, 7, 50, 1000, 100_000] {
        for count in [0, 1, of / 3, of / 2, of - 1, of] {
            let n = of as f64;
            let share = count as f64 / n;
            let beyond = |p: f64| (share - p).abs() - z * (p * (1.0 - p) / n).sqrt();
            let solve = |mut outside: f64, mut inside: f64| {
                for _ in 0..200 {
                    let middle = (outside + inside) / 2.0;
                    if beyond(middle) > 0.0 {
                        outside = middle;
                    } else {
                        inside = middle;
                    }
                }
                inside
            };
            let found = Share::of(count, of);
            let low = if count == 0 { 0.0 } else { solve(0.0, share) };
            let high = if count == of { 1.0 } else { solve(1.0, share) };
            assert!((found.low - low).abs() < 1e-9, "{count} of {of}");
            assert!((found.high - high).abs() < 1e-9, "{count} of {of}");
        }
    }
}

/// Over all chances a 95 % interval of 200 battles holds the true one 95 times in 100, counted exactly.
#[test]
fn intervals_cover_as_often_as_they_claim() {
    let battles = 200;
    let shares: Vec<Share> = (0..=battles)
        .map(|count| Share::of(count, battles))
        .collect();
    let mut sum = 0.0;
    let mut worst = 1.0f64;
    let steps = 199;
    for step in 1..=steps {
        let chance = f64::from(step) / f64::from(steps + 1);
        let binomial = Binomial::new(chance, battles).unwrap();
        let covered: f64 = shares
            .iter()
            .filter(|share| share.low <= chance && chance <= share.high)
            .map(|share| binomial.pmf(share.count))
            .sum();
        sum += covered;
        worst = worst.min(covered);
    }
    let mean = sum / f64::from(steps);
    println!("coverage {mean:.4} on average, {worst:.4} at worst");
    assert!((mean - 0.95).abs() < 0.005, "{mean}");
    assert!(worst > 0.90, "{worst}");
}

#[test]
fn means_have_students_interval() {
    for (n, tolerance) in [
        (3usize, 0.01),
        (4, 0.002),
        (8, 1e-4),
        (30, 1e-6),
        (500, 1e-9),
    ] {
        let values: Vec<f64> = (0..n).map(|i| ((i * 37) % 11) as f64).collect();
        let found = Mean::of(&values);
        let mean = values.iter().sum::<f64>() / n as f64;
        let squares: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
        let deviation = (squares / (n as f64 - 1.0)).sqrt();
        let student = StudentsT::new(0.0, 1.0, n as f64 - 1.0).unwrap();
        let half = student.inverse_cdf(0.975) * deviation / (n as f64).sqrt();
        assert!((found.mean - mean).abs() < 1e-12);
        assert!((found.deviation - deviation).abs() < 1e-12);
        let off = (found.high.unwrap() - mean - half).abs() / half;
        assert!(off < tolerance, "{n}: off by {off}");
        assert!((found.high.unwrap() + found.low.unwrap() - 2.0 * mean).abs() < 1e-9);
    }
    assert_eq!(Mean::of(&[4.0]).low, None);
    assert_eq!(Mean::of(&[]).mean, 0.0);
}

fn pairs(counts: [u64; 4]) -> Paired {
    let kinds = [(true, true), (true, false), (false, true), (false, false)];
    Paired::of(
        kinds
            .into_iter()
            .zip(counts)
            .flat_map(|(pair, count)| (0..count).map(move |_| pair)),
    )
}

/// A. Agresti, Categorical Data Analysis: 1600 voters asked twice, 794 approving both times, 150 the first
/// time only, 86 the second time only, 570 neither: a change of −0.04, 95 % interval −0.06 to −0.02, and
/// McNemar's statistic 17.36. From memory.
#[test]
fn paired_shares_have_the_published_values() {
    let found = pairs([794, 150, 86, 570]);
    assert_eq!(
        (
            found.both,
            found.first_only,
            found.second_only,
            found.neither
        ),
        (794, 150, 86, 570)
    );
    assert!((found.difference + 0.04).abs() < 1e-12);
    assert!((found.low + 0.06).abs() < 0.005 && (found.high + 0.02).abs() < 0.005);
    let normal = Normal::new(0.0, 1.0).unwrap();
    let of_statistic = 2.0 * (1.0 - normal.cdf(17.36f64.sqrt()));
    let ratio = found.chance_if_equal / of_statistic;
    assert!((0.8..1.3).contains(&ratio), "{ratio}");
}

/// Wald's interval with half a pair added to each count, and the exact binomial tail, by the library.
#[test]
fn paired_shares_agree_with_the_library() {
    let z = normal_quantile();
    for counts in [
        [5, 0, 0, 5],
        [0, 1, 0, 0],
        [40, 12, 3, 45],
        [100, 200, 300, 400],
        [0, 0, 9, 1],
    ] {
        let found = pairs(counts);
        let [_, first, second, _] = counts;
        let n = counts.iter().sum::<u64>() as f64 + 2.0;
        let (p, q) = ((first as f64 + 0.5) / n, (second as f64 + 0.5) / n);
        let deviation = ((p + q - (q - p).powi(2)) / n).sqrt();
        assert!((found.low - (q - p - z * deviation).max(-1.0)).abs() < 1e-12);
        assert!((found.high - (q - p + z * deviation).min(1.0)).abs() < 1e-12);
        let tail = match first + second {
            0 => 1.0,
            all => Binomial::new(0.5, all).unwrap().cdf(first.min(second)),
        };
        let expected = (2.0 * tail).min(1.0);
        let off = (found.chance_if_equal - expected).abs();
        assert!(
            off < 1e-9,
            "{counts:?}: {} for {expected}",
            found.chance_if_equal
        );
    }
    assert_eq!(pairs([0; 4]).difference, 0.0);
}
