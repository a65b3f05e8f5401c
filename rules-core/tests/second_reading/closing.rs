//! What is judged when a move has ended: the allowance, friends, and withdrawing.

use fieldpost_rules::orders::Leg;

use crate::costs;
use crate::legs::Step;
use crate::limits::NOISE_MM;
use crate::moves::{Judge, Ruled};
use crate::plane::overlap;
use crate::search::halve;
use crate::table::IN_ZONE_MM;
use crate::zones;

impl Judge<'_> {
    pub fn close(mut self, legs: &[Leg]) -> Ruled {
        self.allowance(legs);
        self.ends();
        let ends = self.rects();
        let (table, tolerance) = (self.table, self.table.tolerance_mm);
        for (i, steps) in self.steps.iter().enumerate() {
            let (_, paid) = crate::lines::charges(table, &self.units[i].paid, steps, true);
            self.ruled.paid.push(paid);
            let outside = self.begun[i].enemies.iter().filter(|&&enemy| {
                let deep = zones::depth(table, &ends[i], &table.units[enemy].rect);
                self.locked && deep < IN_ZONE_MM && deep >= -tolerance - 1e-6
            });
            let still_in = outside
                .map(|&enemy| table.units[enemy].id.clone())
                .collect();
            self.ruled.still_in.push(still_in);
        }
        self.ruled.worst_of_each_code();
        self.ruled.tapes = self.steps[0]
            .iter()
            .map(|step| step.tape().map_or(0.0, |tape| tape.length()))
            .collect();
        self.ruled.ends = ends;
        self.ruled.allowance_mm = self.allowance_mm;
        self.ruled.near = self.near.take();
        self.ruled
    }

    pub fn allowance(&mut self, legs: &[Leg]) {
        let allowance = self.allowance_mm;
        let sums = |tolerant: bool| -> Vec<costs::Sum> {
            (0..self.units.len())
                .map(|i| {
                    costs::sum(
                        self.table,
                        self.units[i],
                        &self.begun[i],
                        &self.steps[i],
                        tolerant,
                    )
                })
                .collect()
        };
        let dearest = |sums: &[costs::Sum]| {
            let totals = sums.iter().map(costs::Sum::total);
            totals.fold(0.0, f64::max)
        };
        let tolerant = sums(true);
        let strict = dearest(&sums(false));
        let charge = dearest(&tolerant);
        self.ruled.charge_mm = charge;
        let length: f64 = self.steps[0].iter().map(Step::longest).sum();
        for (what, gap) in [
            ("allowance", charge - allowance),
            ("allowance", charge - allowance - self.table.tolerance_mm),
            ("allowance with every line", strict - allowance),
            (
                "minimum move",
                self.minimum_mm.map_or(1.0, |minimum| length - minimum),
            ),
            (
                "minimum move",
                self.minimum_mm
                    .map_or(1.0, |m| length - m - self.table.tolerance_mm),
            ),
            (
                "fee",
                if tolerant[0].fee_mm > 0.0 {
                    tolerant[0].fee_mm - allowance
                } else {
                    1.0
                },
            ),
        ] {
            self.note(what, gap);
        }
        for (gap, what) in tolerant.iter().flat_map(|sum| sum.near.iter()) {
            self.note(what, *gap);
        }
        for steps in &self.steps {
            for (what, gap) in crate::lines::near(self.table, steps) {
                self.note(what, gap);
            }
        }
        let excess = charge - allowance;
        let tolerance = self.table.tolerance_mm;
        let fee_over = tolerant[0].fee_mm - allowance;
        if let Some(minimum) = self.minimum_mm {
            if length <= minimum + tolerance + 1e-6 && legs.len() == self.steps[0].len() {
                let over = length - minimum;
                if fee_over > 1e-6 {
                    self.reason(
                        "over-allowance",
                        Some(fee_over),
                        tolerance,
                        None,
                        "fee".to_owned(),
                    );
                } else if over > NOISE_MM && excess > 1e-6 {
                    self.reason(
                        "over-allowance",
                        Some(over),
                        tolerance,
                        None,
                        "minimum".to_owned(),
                    );
                }
                return;
            }
        }
        if excess > 1e-6 {
            let at = self.over_at();
            self.reason(
                "over-allowance",
                Some(excess),
                tolerance,
                at,
                "sum".to_owned(),
            );
        } else if strict - allowance > 1e-6 {
            // the tolerance of a line or a crossing decides, whatever the charge would have been
            let about = "tolerance of a line".to_owned();
            self.reason(
                "over-allowance",
                Some(strict - allowance),
                f64::INFINITY,
                None,
                about,
            );
        }
    }

    /// Where the sum of a single unit first goes over.
    pub fn over_at(&self) -> Option<(usize, f64)> {
        if self.units.len() > 1 {
            return None;
        }
        let steps = &self.steps[0];
        let total = |steps: &[Step]| {
            costs::sum(self.table, self.units[0], &self.begun[0], steps, true).total()
        };
        let longer = |steps: &[Step]| {
            let length: f64 = steps.iter().map(Step::longest).sum();
            self.minimum_mm
                .is_none_or(|minimum| length > minimum + 1e-9)
        };
        let is_over = |steps: &[Step]| total(steps) > self.allowance_mm + 1e-9 && longer(steps);
        let leg = (0..steps.len()).find(|&n| is_over(&steps[..=n]))?;
        let length = steps[leg].tape().map_or(0.0, |tape| tape.length());
        let over = |share: f64| {
            let mut all = steps[..leg].to_vec();
            all.push(steps[leg].cut(share));
            is_over(&all)
        };
        Some((
            leg,
            if length > 0.0 {
                halve(0.0, 1.0, over) * length
            } else {
                0.0
            },
        ))
    }

    /// No move may end overlapping a friend, nor a body itself; who withdraws must be out.
    pub fn ends(&mut self) {
        let ends = self.rects();
        let tolerance = self.table.tolerance_mm;
        for i in 0..ends.len() {
            let unit = self.units[i];
            for friend in self.table.friends(self.indices[i]).collect::<Vec<_>>() {
                let own = self.indices.iter().position(|&u| u == friend);
                let (now, began) = match own {
                    Some(j) => (ends[j], self.units[j].rect),
                    None => (self.table.units[friend].rect, self.table.units[friend].rect),
                };
                let began = if self.how.arrives {
                    0.0
                } else {
                    overlap(&unit.rect, &began).max(0.0)
                };
                let deep = overlap(&ends[i], &now);
                self.note_depth("ends on a friend", deep, began);
                if deep > began + NOISE_MM {
                    let about = format!("ends on {}", self.table.units[friend].id);
                    self.reason("ends-on-friend", Some(deep), tolerance, None, about);
                }
            }
            if self.how.withdraws {
                for enemy in self.begun[i].enemies.clone() {
                    let deep = zones::depth(self.table, &ends[i], &self.table.units[enemy].rect);
                    self.note("withdraws", deep - IN_ZONE_MM);
                    self.note("withdraws", deep);
                    self.note_depth("withdraws", deep, 0.0);
                    if deep >= IN_ZONE_MM {
                        self.reason(
                            "locked",
                            Some(deep.max(0.0)),
                            tolerance,
                            None,
                            "withdraws".to_owned(),
                        );
                    }
                }
            }
        }
    }
}
