//! Where an *up to* stops by itself.

use crate::costs;
use crate::legs::{Kind, Step};
use crate::limits::{self, NOISE_MM};
use crate::moves::Judge;
use crate::plane::{distance, overlap};
use crate::search::{first_above, halve, profile};
use crate::table::IN_ZONE_MM;
use crate::zones;

impl Judge<'_> {
    /// The share at which an *up to* stops.
    pub fn stop(&self, steps: &[Step], last: bool) -> f64 {
        let mut least = 1.0f64;
        for (i, step) in steps.iter().enumerate() {
            for limit in &self.limits[i] {
                let from = limit.depth(self.table, &step.from);
                let may_be = limit.may_be.max(from);
                let may_be = if limit.stops_at < 0.0 {
                    from.max(limit.stops_at)
                } else {
                    may_be
                };
                let all = limits::sampled(self.table, limit.what, step);
                let at = |share: f64| limit.depth(self.table, &step.rect_at(share));
                let (_, deepest) = crate::search::highest(&all);
                self.note(&format!("up to at {:?}", limit.what), deepest - may_be);
                if deepest > may_be + NOISE_MM {
                    least = least.min(first_above(at, &all, may_be + 1e-9).unwrap_or(1.0));
                }
            }
            least = least.min(self.stop_locked(i, step));
        }
        least = least.min(self.stop_allowance(steps));
        if last && self.table.rules.movement.pass_friends {
            least = self.stop_friend(steps, least);
        }
        least
    }

    pub fn stop_locked(&self, i: usize, step: &Step) -> f64 {
        let mut least = 1.0f64;
        if !self.locked {
            return least;
        }
        for (n, &enemy) in self.begun[i].enemies.iter().enumerate() {
            let other = self.table.units[enemy].rect;
            let before = distance(&step.from, &other);
            let start = self.sums[i][n];
            let sum = |share: f64| start + distance(&step.rect_at(share), &other) - before;
            let all = profile(sum, 24, step.longest());
            let (_, most) = crate::search::highest(&all);
            self.note("up to: locked sum", most);
            // it stops where the sum, which sinks and then rises, would rise above 0, or rise at all if it is above
            if step.kind == Kind::Straight && most > NOISE_MM {
                let (lowest, _) = crate::search::greatest(|share| -sum(share), 24, step.longest());
                let above = |share: f64| sum(share) > 1e-9 && sum(share) > sum(lowest) - 1e-9;
                let rises = sum(1.0) > sum(lowest) + 1e-9 || sum(1.0) > 1e-9 && lowest < 1e-9;
                if rises && sum(1.0) > NOISE_MM {
                    let from = if sum(lowest) > 1e-6 {
                        halve(lowest, 1.0, |share| sum(share) > sum(lowest) + 1e-6)
                    } else {
                        halve(lowest, 1.0, above)
                    };
                    least = least.min(from);
                }
            }
            let out = |share: f64| -zones::depth(self.table, &step.rect_at(share), &other);
            let may_be = out(0.0).max(0.0);
            let all = profile(out, 24, step.longest());
            let (_, most) = crate::search::highest(&all);
            if most > may_be - IN_ZONE_MM {
                least = least.min(first_above(out, &all, may_be + 1e-9).unwrap_or(1.0));
            }
        }
        least
    }

    /// The first place whose sum could not be paid, each line paid for as if the tape ended there.
    pub fn stop_allowance(&self, steps: &[Step]) -> f64 {
        let mut least = 1.0f64;
        for (i, step) in steps.iter().enumerate() {
            let sum = |share: f64| {
                let mut all = self.steps[i].clone();
                all.push(step.cut(share));
                costs::sum(self.table, self.units[i], &self.begun[i], &all, false)
            };
            let over = |share: f64| sum(share).total() > self.allowance_mm + 1e-9;
            let over_fee = |share: f64| sum(share).fee_mm > self.allowance_mm + 1e-9;
            let mut stop = if over(1.0) {
                halve(0.0, 1.0, over)
            } else {
                1.0
            };
            if over(1e-12) {
                stop = 0.0;
            }
            if stop < 1.0 {
                let (low, high) = (sum(stop), sum((stop + 1e-7).min(1.0)));
                if high.lines_mm - low.lines_mm > 0.02 {
                    let length = step.tape().map_or(0.0, |tape| tape.length());
                    stop = (stop - 0.01 / length.max(0.01)).max(0.0);
                }
            }
            if let Some(minimum) = self.minimum_mm {
                let before: f64 = self.steps[i].iter().map(Step::longest).sum();
                let length = step.longest();
                let granted = ((minimum - before) / length).clamp(0.0, 1.0);
                let fee = if over_fee(1.0) {
                    halve(0.0, 1.0, over_fee)
                } else {
                    1.0
                };
                stop = stop.max(granted.min(fee));
            }
            least = least.min(stop);
        }
        least
    }

    /// The last clear place before a stop on a friend, if there is one.
    pub fn stop_friend(&self, steps: &[Step], stop: f64) -> f64 {
        let on_friend = |share: f64| {
            steps.iter().enumerate().any(|(i, step)| {
                let rect = step.rect_at(share);
                self.table
                    .friends(self.indices[i])
                    .filter(|f| !self.indices.contains(f))
                    .any(|friend| {
                        let began =
                            overlap(&self.units[i].rect, &self.table.units[friend].rect).max(0.0);
                        let deep = overlap(&rect, &self.table.units[friend].rect) - began;
                        if share == stop {
                            self.note("up to: ends on a friend", deep);
                        }
                        deep > NOISE_MM
                    })
            })
        };
        if !on_friend(stop) {
            return stop;
        }
        let samples = (steps[0].longest() * stop / 0.5).ceil().max(2.0) as usize;
        let mut shares: Vec<f64> = (0..=samples)
            .map(|n| stop * n as f64 / samples as f64)
            .collect();
        // where a friend is come upon or left, by halving: a clear place may be a point between two of them
        for friend in self.friends_of_all() {
            let grid: Vec<f64> = shares.clone();
            let upon = |share: f64| self.is_upon(steps, share, friend);
            for pair in grid.windows(2) {
                match (upon(pair[0]), upon(pair[1])) {
                    (false, true) => shares.push(halve(pair[0], pair[1], upon)),
                    (true, false) => shares.push(halve(pair[1], pair[0], upon)),
                    _ => {}
                }
            }
        }
        shares.sort_by(f64::total_cmp);
        match (0..shares.len() - 1).rev().find(|&n| !on_friend(shares[n])) {
            Some(n) => halve(shares[n], shares[n + 1], on_friend),
            None => stop,
        }
    }

    fn friends_of_all(&self) -> Vec<usize> {
        let friends = self
            .indices
            .iter()
            .flat_map(|&unit| self.table.friends(unit));
        friends.filter(|f| !self.indices.contains(f)).collect()
    }

    /// Whether a unit of the move is upon a friend, deeper than it began.
    fn is_upon(&self, steps: &[Step], share: f64, friend: usize) -> bool {
        let other = &self.table.units[friend].rect;
        steps.iter().enumerate().any(|(i, step)| {
            let began = overlap(&self.units[i].rect, other).max(0.0);
            overlap(&step.rect_at(share), other) - began > NOISE_MM
        })
    }
}
