//! Searching a path by sampling, golden sections and halving.

const GOLDEN: f64 = 0.618_033_988_749_894_8;

/// Samples of a function over the shares 0 to 1 of a path `length` long, with its local peaks found
/// between them. The function is taken to change by no more than the path goes.
pub fn profile(f: impl Fn(f64) -> f64, steps: usize, length: f64) -> Vec<(f64, f64)> {
    let steps = steps.max(2);
    let share = |i: usize| i as f64 / steps as f64;
    let samples: Vec<(f64, f64)> = (0..=steps).map(|i| (share(i), f(share(i)))).collect();
    let best = samples
        .iter()
        .fold(f64::NEG_INFINITY, |best, s| best.max(s.1));
    let slack = 2.0 * length / steps as f64;
    let mut all = samples.clone();
    for i in 0..=steps {
        let before = samples[i.saturating_sub(1)].1;
        let after = samples[(i + 1).min(steps)].1;
        let here = samples[i].1;
        let peak = here >= before && here >= after && here + slack >= best;
        let flat = (here - before).abs() < 1e-10 && (here - after).abs() < 1e-10;
        if peak && !flat {
            let (low, high) = (share(i.saturating_sub(1)), share((i + 1).min(steps)));
            all.push(golden(&f, low, high));
        }
    }
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    all
}

fn golden(f: &impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> (f64, f64) {
    let mut left = high - GOLDEN * (high - low);
    let mut right = low + GOLDEN * (high - low);
    let (mut at_left, mut at_right) = (f(left), f(right));
    for _ in 0..36 {
        if at_left >= at_right {
            high = right;
            (right, at_right) = (left, at_left);
            left = high - GOLDEN * (high - low);
            at_left = f(left);
        } else {
            low = left;
            (left, at_left) = (right, at_right);
            right = low + GOLDEN * (high - low);
            at_right = f(right);
        }
    }
    let ends = [(low, f(low)), (high, f(high))];
    ends.into_iter().fold(
        (left, at_left),
        |best, end| if end.1 > best.1 { end } else { best },
    )
}

/// The greatest value and where.
pub fn greatest(f: impl Fn(f64) -> f64, steps: usize, length: f64) -> (f64, f64) {
    highest(&profile(f, steps, length))
}

pub fn highest(profile: &[(f64, f64)]) -> (f64, f64) {
    profile.iter().fold((0.0, f64::NEG_INFINITY), |best, here| {
        if here.1 > best.1 { *here } else { best }
    })
}

/// The first share at which a profiled function goes above a limit, by halving.
pub fn first_above(f: impl Fn(f64) -> f64, profile: &[(f64, f64)], limit: f64) -> Option<f64> {
    let first = profile.iter().position(|here| here.1 > limit)?;
    if first == 0 {
        return Some(0.0);
    }
    Some(halve(profile[first - 1].0, profile[first].0, |share| {
        f(share) > limit
    }))
}

/// Halves between a share where something is not so and one where it is; answers the last not so.
pub fn halve(mut not: f64, mut so: f64, is: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..46 {
        let middle = (not + so) / 2.0;
        if is(middle) {
            so = middle;
        } else {
            not = middle;
        }
    }
    not
}
