//! The probability model that the shipped results tables follow, and what the manual says of it.
//!
//! How far a battle swings is a number of steps on a ladder of outcomes. Its middle grows with
//! the odds or the difference of strength; chance adds a logistic error. A row of the table
//! stands for the middle of its total's share of that error.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use crate::ruleset::{Column, Dice, Fate, Results, Ruleset};

/// The model of one table.
pub(super) struct Model {
    /// Key of the shipped ruleset.
    pub(super) key: &'static str,
    /// Steps of the ladder, from the attackers' worst, with the lowest step's number.
    pub(super) ladder: (i32, &'static [&'static str]),
    /// Steps for each doubling of the odds, or for each point of difference.
    pub(super) slope: f64,
    /// Steps at even strength.
    pub(super) bias: f64,
    /// Scale of the logistic error, in steps.
    pub(super) spread: f64,
}

/// A figure of the manual and what each outcome adds to it.
type Mean<'r> = (&'static str, &'r dyn Fn(&str) -> f64);

/// The models of the shipped rulesets.
pub(super) const MODELS: [Model; 3] = [
    Model {
        key: "musket",
        ladder: (
            -4,
            &[
                "attackers destroyed",
                "attackers shattered",
                "attackers repulsed",
                "attackers give way",
                "both bleed",
                "defenders give way",
                "defenders repulsed",
                "defenders shattered",
                "defenders destroyed",
            ],
        ),
        slope: 1.4,
        bias: 0.0,
        spread: 0.8,
    },
    Model {
        key: "shield",
        ladder: (
            -4,
            &[
                "attackers break",
                "attackers recoil badly",
                "attackers recoil",
                "attackers shaken",
                "locked",
                "defenders shaken",
                "defenders recoil",
                "defenders recoil badly",
                "defenders break",
                "stand to the last",
            ],
        ),
        slope: 0.3,
        bias: 0.0,
        spread: 0.9,
    },
    Model {
        key: "rifle",
        ladder: (
            -3,
            &[
                "attackers cut down",
                "attackers repulsed",
                "attackers pinned",
                "both suffer",
                "defenders waver",
                "defenders driven out",
                "defenders overrun",
            ],
        ),
        slope: 1.0,
        bias: -0.4,
        spread: 0.75,
    },
];

/// Ways to throw each total of some dice, and of all together: counted one die after another.
pub(super) fn ways(dice: Dice) -> (BTreeMap<u32, u64>, u64) {
    let mut ways = BTreeMap::from([(0, 1)]);
    for _ in 0..dice.count {
        let mut next = BTreeMap::new();
        for (total, count) in ways {
            for face in 1..=dice.faces {
                *next.entry(total + face).or_insert(0) += count;
            }
        }
        ways = next;
    }
    let all = ways.values().sum();
    (ways, all)
}

impl Model {
    fn middle(&self, column: &Column) -> f64 {
        self.bias
            + self.slope
                * match column {
                    Column::Odds { attack, defence } => libm::log2(attack / defence),
                    Column::Difference(difference) => *difference,
                }
    }

    /// The outcome of a column when the share `share` of all errors lies below.
    fn outcome(&self, column: &Column, share: f64) -> &'static str {
        let swing = self.middle(column) + self.spread * libm::log(share / (1.0 - share));
        let (lowest, names) = self.ladder;
        let highest = lowest + i32::try_from(names.len()).expect("short") - 1;
        #[expect(clippy::cast_possible_truncation, reason = "a few steps")]
        let step = (swing.round() as i32).clamp(lowest, highest);
        names[usize::try_from(step - lowest).expect("clamped")]
    }

    /// The outcomes of every total, from the least.
    pub(super) fn rows(&self, results: &Results) -> BTreeMap<u32, Vec<&'static str>> {
        let (ways, all) = ways(results.dice);
        let mut below = 0;
        let mut rows = BTreeMap::new();
        for (total, count) in ways {
            #[expect(clippy::cast_precision_loss, reason = "a few dozen")]
            let share = (below as f64 + count as f64 / 2.0) / all as f64;
            below += count;
            let outcomes = results.columns.iter();
            let outcomes = outcomes.map(|column| self.outcome(column, share)).collect();
            rows.insert(total, outcomes);
        }
        rows
    }

    /// The manual's section on this table.
    pub(super) fn section(&self, ruleset: &Ruleset) -> String {
        let results = &ruleset.results;
        let (ways, all) = ways(results.dice);
        let rows = self.rows(results);
        let mut text = format!("## {} (`{}`)\n\n", ruleset.name, self.key);
        let _ = writeln!(
            text,
            "Dice: {}. Slope {} steps for each {}, bias {}, spread {}.\n",
            results.dice,
            self.slope,
            match results.columns.first() {
                Some(Column::Odds { .. }) => "doubling of the odds",
                _ => "point of difference",
            },
            self.bias,
            self.spread
        );
        let heads: Vec<_> = results.columns.iter().map(Column::to_string).collect();
        let head = |first: &str| {
            format!(
                "| {first} | {} |\n| --- |{}\n",
                heads.join(" | "),
                " ---: |".repeat(heads.len())
            )
        };
        let _ = write!(text, "{}", head(&format!("Outcome: ways of {all}")));
        let counted = |column: usize, wanted: &dyn Fn(&str) -> f64| -> f64 {
            let each = ways.iter().map(|(total, count)| {
                #[expect(clippy::cast_precision_loss, reason = "a few dozen")]
                let count = *count as f64;
                count * wanted(rows[total][column])
            });
            each.sum()
        };
        for (step, name) in self.ladder.1.iter().enumerate() {
            let cells: Vec<_> = (0..heads.len())
                .map(|column| counted(column, &|outcome| f64::from(u8::from(outcome == *name))))
                .map(|ways| {
                    if ways > 0.0 {
                        ways.to_string()
                    } else {
                        String::new()
                    }
                })
                .collect();
            let step = self.ladder.0 + i32::try_from(step).expect("short");
            let _ = writeln!(text, "| {step} {name} | {} |", cells.join(" | "));
        }
        let _ = write!(text, "\n{}", head("Mean of a battle"));
        #[expect(clippy::cast_precision_loss, reason = "a few dozen")]
        let all = all as f64;
        let bw = |fate: &Fate| fate.falls_back.map_or(0.0, |back| back.amount);
        let means: [Mean<'_>; 7] = [
            ("attackers' bases lost", &|o| {
                f64::from(results.outcome[o].attacker.loses)
            }),
            ("defenders' bases lost", &|o| {
                f64::from(results.outcome[o].defender.loses)
            }),
            ("attackers fall back, bw", &|o| {
                bw(&results.outcome[o].attacker)
            }),
            ("defenders fall back, bw", &|o| {
                bw(&results.outcome[o].defender)
            }),
            ("attackers destroyed, chance", &|o| {
                share(results.outcome[o].attacker.eliminated)
            }),
            ("defenders destroyed, chance", &|o| {
                share(results.outcome[o].defender.eliminated)
            }),
            ("exchange, chance", &|o| share(results.outcome[o].exchange)),
        ];
        for (name, of) in means {
            let cells: Vec<_> = (0..heads.len())
                .map(|column| format!("{:.2}", counted(column, of) / all))
                .collect();
            let _ = writeln!(text, "| {name} | {} |", cells.join(" | "));
        }
        text
    }
}

fn share(yes: bool) -> f64 {
    f64::from(u8::from(yes))
}
