//! The least value of a measurement during a motion, for reporting.

/// Steps of the first, even search.
const STEPS: u32 = 64;
/// Steps of the refinement; each keeps 0.618 of the interval.
const REFINEMENTS: u32 = 60;
const GOLDEN: f64 = 0.618_033_988_749_894_8;

/// The share between `from` and `to` at which `f` is least, and its value there: an even search
/// in 64 steps, then a golden-section search about the best. A dip narrower than a step between
/// two samples can be overlooked, so decisions are made by spans, and this only for the figure
/// shown. A value that is not a number is never least; if none is, the answer is `from` with
/// what `f` gave there.
pub fn least(f: impl Fn(f64) -> f64, from: f64, to: f64) -> (f64, f64) {
    let step = (to - from) / f64::from(STEPS);
    let mut best = (from, f(from));
    for index in 1..=STEPS {
        let share = if index == STEPS {
            to
        } else {
            from + step * f64::from(index)
        };
        let value = f(share);
        if value < best.1 || best.1.is_nan() {
            best = (share, value);
        }
    }
    let (mut low, mut high) = (
        super::larger(best.0 - step, from),
        super::smaller(best.0 + step, to),
    );
    let mut left = high - (high - low) * GOLDEN;
    let mut right = low + (high - low) * GOLDEN;
    let (mut at_left, mut at_right) = (f(left), f(right));
    for _ in 0..REFINEMENTS {
        if at_left < at_right {
            high = right;
            (right, at_right) = (left, at_left);
            left = high - (high - low) * GOLDEN;
            at_left = f(left);
        } else {
            low = left;
            (left, at_left) = (right, at_right);
            right = low + (high - low) * GOLDEN;
            at_right = f(right);
        }
    }
    for (share, value) in [(left, at_left), (right, at_right)] {
        if value < best.1 {
            best = (share, value);
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_the_bottom_of_a_bowl_and_an_end() {
        let (share, value) = least(|s| (s - 0.37) * (s - 0.37) - 2.0, 0.0, 1.0);
        assert!((share - 0.37).abs() < 1e-7 && (value + 2.0).abs() < 1e-12);
        assert_eq!(least(|s| -s, 0.2, 0.8), (0.8, -0.8));
        assert_eq!(least(|s| s, 0.2, 0.8), (0.2, 0.2));
    }

    #[test]
    fn a_value_that_is_no_number_is_passed_over() {
        let (share, value) = least(|s| if s < 0.5 { f64::NAN } else { s }, 0.0, 1.0);
        assert!((share - 0.5).abs() < 1e-7 && (value - 0.5).abs() < 1e-7);
    }
}
