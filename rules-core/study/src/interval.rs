//! How far figures of so many trials can be trusted: 95 % intervals of shares, means and differences.

use serde::Serialize;

use fieldpost_rules::geometry::{larger, smaller};

/// Confidence of every interval here.
pub const CONFIDENCE: f64 = 0.95;
/// The standard normal's quantile of 97.5 % (any table of it; statrs agrees to the last digit shown).
const NORMAL: f64 = 1.959_963_984_540_054;

/// A share of trials with its interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Share {
    /// Trials that count.
    pub count: u64,
    /// Trials in all.
    pub of: u64,
    /// One divided by the other; 0 of no trials.
    pub share: f64,
    /// Lower end of the interval.
    pub low: f64,
    /// Upper end of the interval.
    pub high: f64,
}

impl Share {
    /// Wilson's score interval (E. B. Wilson, "Probable inference, the law of succession, and statistical
    /// inference", Journal of the American Statistical Association 22, 1927): all chances `p` for which the
    /// share lies within `z` of their own standard deviations, `|share − p| ≤ z √(p (1 − p) / n)`.
    #[must_use]
    pub fn of(count: u64, of: u64) -> Self {
        if of == 0 {
            return Self {
                count,
                of,
                share: 0.0,
                low: 0.0,
                high: 1.0,
            };
        }
        let (n, share) = (number(of), number(count) / number(of));
        let z2 = NORMAL * NORMAL;
        let middle = (share + z2 / (2.0 * n)) / (1.0 + z2 / n);
        let half =
            NORMAL * (share * (1.0 - share) / n + z2 / (4.0 * n * n)).sqrt() / (1.0 + z2 / n);
        Self {
            count,
            of,
            share,
            low: if count == 0 { 0.0 } else { middle - half },
            high: if count == of { 1.0 } else { middle + half },
        }
    }
}

/// A mean over trials with its interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Mean {
    /// The mean; 0 of no trials.
    pub mean: f64,
    /// Standard deviation of a single trial; 0 of fewer than two.
    pub deviation: f64,
    /// Lower end of the interval; absent for fewer than three trials.
    pub low: Option<f64>,
    /// Upper end of the interval.
    pub high: Option<f64>,
}

impl Mean {
    /// Student's interval of a mean.
    #[must_use]
    pub fn of(values: &[f64]) -> Self {
        let n = number(u64::try_from(values.len()).unwrap_or(u64::MAX));
        if values.is_empty() {
            return Self {
                mean: 0.0,
                deviation: 0.0,
                low: None,
                high: None,
            };
        }
        let mut sum = 0.0;
        for value in values {
            sum += value;
        }
        let mean = sum / n;
        let mut squares = 0.0;
        for value in values {
            squares += (value - mean) * (value - mean);
        }
        let deviation = if values.len() > 1 {
            (squares / (n - 1.0)).sqrt()
        } else {
            0.0
        };
        let half = (values.len() > 2).then(|| student(n - 1.0) * deviation / n.sqrt());
        Self {
            mean,
            deviation,
            low: half.map(|half| mean - half),
            high: half.map(|half| mean + half),
        }
    }
}

/// Student's quantile of 97.5 % for so many degrees of freedom, by the expansion of Abramowitz and Stegun,
/// Handbook of Mathematical Functions, 26.7.5; within 1 % from two degrees on, 0.2 % from three.
fn student(freedom: f64) -> f64 {
    let z = NORMAL;
    let (z3, z5, z7, z9) = (
        z * z * z,
        z * z * z * z * z,
        z * z * z * z * z * z * z,
        z * z * z * z * z * z * z * z * z,
    );
    let (f2, f3, f4) = (
        freedom * freedom,
        freedom * freedom * freedom,
        freedom * freedom * freedom * freedom,
    );
    z + (z3 + z) / (4.0 * freedom)
        + (5.0 * z5 + 16.0 * z3 + 3.0 * z) / (96.0 * f2)
        + (3.0 * z7 + 19.0 * z5 + 17.0 * z3 - 15.0 * z) / (384.0 * f3)
        + (79.0 * z9 + 776.0 * z7 + 1482.0 * z5 - 1920.0 * z3 - 945.0 * z) / (92_160.0 * f4)
}

/// How often something came about in two series of trials in which each trial of one has its fellow
/// in the other.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Paired {
    /// Pairs in which it came about in both.
    pub both: u64,
    /// Pairs in which it came about in the first only.
    pub first_only: u64,
    /// Pairs in which it came about in the second only.
    pub second_only: u64,
    /// Pairs in which it came about in neither.
    pub neither: u64,
    /// Share in the second less share in the first.
    pub difference: f64,
    /// Lower end of the difference's interval.
    pub low: f64,
    /// Upper end of the difference's interval.
    pub high: f64,
    /// How likely a split of the pairs that differ as uneven as this, or more so, is when neither is favoured.
    pub chance_if_equal: f64,
}

impl Paired {
    /// Counts the pairs. The interval is that of A. Agresti and Y. Min, "Simple improved confidence intervals
    /// for comparing matched proportions", Statistics in Medicine 24, 2005: Wald's, with half a pair added to
    /// each of the four counts. `chance_if_equal` is the exact two-sided form of Q. McNemar's test
    /// (Psychometrika 12, 1947): of the pairs that differ, each is as likely to go either way.
    #[must_use]
    pub fn of(pairs: impl IntoIterator<Item = (bool, bool)>) -> Self {
        let (mut both, mut first_only, mut second_only, mut neither) = (0u64, 0u64, 0u64, 0u64);
        for pair in pairs {
            match pair {
                (true, true) => both += 1,
                (true, false) => first_only += 1,
                (false, true) => second_only += 1,
                (false, false) => neither += 1,
            }
        }
        let all = both + first_only + second_only + neither;
        let (lost, won, n) = (
            number(first_only) + 0.5,
            number(second_only) + 0.5,
            number(all) + 2.0,
        );
        let middle = (won - lost) / n;
        let half = NORMAL * (((won + lost) - (won - lost) * (won - lost) / n) / (n * n)).sqrt();
        Self {
            both,
            first_only,
            second_only,
            neither,
            difference: if all == 0 {
                0.0
            } else {
                (number(second_only) - number(first_only)) / number(all)
            },
            low: larger(middle - half, -1.0),
            high: smaller(middle + half, 1.0),
            chance_if_equal: as_uneven(first_only, second_only),
        }
    }
}

/// How likely a fair coin falls as unevenly as this, or more so.
fn as_uneven(heads: u64, tails: u64) -> f64 {
    let (n, fewer) = (heads + tails, heads.min(tails));
    // the chance of exactly so many, in logarithms so that nothing underflows
    let mut logarithm = -number(n) * core::f64::consts::LN_2;
    for k in 1..=fewer {
        logarithm += libm::log(number(n - fewer + k) / number(k));
    }
    let mut term = libm::exp(logarithm);
    let mut tail = 0.0;
    for k in (0..=fewer).rev() {
        tail += term;
        term *= number(k) / number(n - k + 1);
    }
    smaller(2.0 * tail, 1.0)
}

/// Counts of trials are far below 2^53.
#[expect(clippy::cast_precision_loss, reason = "counts of trials")]
fn number(count: u64) -> f64 {
    count as f64
}
