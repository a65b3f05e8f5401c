//! Thousands of orders judged both ways, counted by leg and setting, with every difference made small.

use std::collections::BTreeMap;

use crate::cases::{Case, legs_of};
use crate::chance::Chance;
use crate::compare::{Outcome, judge};
use crate::generate;
use crate::shrink::smallest;

/// What a sweep found.
#[derive(Default)]
pub struct Found {
    pub orders: usize,
    pub counts: BTreeMap<String, usize>,
    pub excused: BTreeMap<String, usize>,
    /// Kind of difference: how often, and the first few cases.
    pub differ: BTreeMap<String, (usize, Vec<Case>)>,
}

pub fn number(variable: &str, otherwise: u64) -> u64 {
    std::env::var(variable)
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(otherwise)
}

/// Judges so many orders by chances from a seed.
pub fn sweep(orders: usize, seed: u64) -> Found {
    let mut found = Found::default();
    let mut number = 0;
    while found.orders < orders {
        number += 1;
        let mut chance = Chance::new(seed.wrapping_mul(1_000_000_007).wrapping_add(number));
        let lattice = chance.one_in(2);
        let mut table = generate::table(&mut chance, lattice);
        if table.open().is_none() {
            continue;
        }
        for _ in 0..6 {
            let mut case = table.clone();
            case.orders = match chance.below(10) {
                0 => vec![generate::arrival(&mut chance, &mut case)],
                1 | 2 => (0..3)
                    .map(|_| generate::order(&mut chance, &case))
                    .collect(),
                _ => vec![generate::order(&mut chance, &case)],
            };
            one_each(&mut case);
            found.judge(&case);
        }
        table.orders.clear();
    }
    found
}

/// Nobody is ordered twice.
fn one_each(case: &mut Case) {
    let mut named = Vec::new();
    case.orders.retain(|order| {
        let units: Vec<String> = order.units().iter().map(|unit| unit.0.clone()).collect();
        let fresh = units.iter().all(|unit| !named.contains(unit));
        named.extend(units);
        fresh
    });
}

impl Found {
    fn judge(&mut self, case: &Case) {
        let Some(answers) = judge(case) else {
            return;
        };
        self.orders += case.orders.len();
        let mut count = |key: String| *self.counts.entry(key).or_default() += 1;
        for leg in case.orders.iter().flat_map(|order| legs_of(order)) {
            count(format!(
                "leg {}{}",
                leg.name(),
                if leg.is_up_to() { " up to" } else { "" }
            ));
        }
        for order in &case.orders {
            let kind = serde_json::to_value(order).unwrap()["order"].to_string();
            count(format!("order {kind}"));
        }
        for (key, value) in &case.settings {
            count(format!("setting {key} = {value}"));
        }
        count(format!("ruling {:?}", answers.ruling));
        count(format!("lattice {}", case.lattice));
        match answers.outcome {
            Outcome::Agree => {}
            Outcome::Excused(what) => *self.excused.entry(what).or_default() += 1,
            Outcome::Differ(what) => {
                let entry = self.differ.entry(what).or_default();
                entry.0 += 1;
                if entry.1.len() < 2 {
                    entry.1.push(case.clone());
                }
            }
        }
    }

    pub fn report(&self) -> String {
        let mut text = format!("{} orders\n", self.orders);
        for (key, count) in &self.counts {
            text.push_str(&format!("  {count:>8} {key}\n"));
        }
        let excused: usize = self.excused.values().sum();
        text.push_str(&format!(
            "excused, within 0.01 mm of a threshold: {excused}\n"
        ));
        for (what, count) in &self.excused {
            text.push_str(&format!("  {count:>8} {what}\n"));
        }
        let differ: usize = self.differ.values().map(|entry| entry.0).sum();
        text.push_str(&format!(
            "differ: {differ} in {} kinds\n",
            self.differ.len()
        ));
        let mut kinds: Vec<_> = self.differ.iter().collect();
        kinds.sort_by_key(|(_, (count, _))| std::cmp::Reverse(*count));
        let shown = number("FIELDPOST_TEST_SHOWN", 40) as usize;
        for (what, (count, cases)) in kinds.into_iter().take(shown) {
            for case in cases {
                let small = smallest(case, what);
                let answers = judge(&small).unwrap();
                text.push_str(&format!(
                    "* {what}: {count}\n{}    referee: {}\n    second:  {}\n",
                    small.words(),
                    answers.referee,
                    answers.second
                ));
            }
        }
        text
    }
}

#[test]
fn the_referee_and_the_second_reading_agree_over_chance_tables() {
    let orders = number("FIELDPOST_TEST_FEW", 3000) as usize;
    let found = sweep(orders, number("FIELDPOST_TEST_SEED", 1));
    assert!(found.orders >= orders, "so many were judged");
    assert!(found.differ.is_empty(), "{}", found.report());
}

/// `FIELDPOST_TEST_ORDERS=1000000 FIELDPOST_TEST_SEED=7 cargo test --release -p fieldpost-rules --test
/// second_reading -- --ignored --nocapture long_sweep`
#[test]
#[ignore = "a long run"]
fn long_sweep() {
    let orders = number("FIELDPOST_TEST_ORDERS", 100_000) as usize;
    let found = sweep(orders, number("FIELDPOST_TEST_SEED", 1));
    println!("{}", found.report());
    assert!(found.differ.is_empty(), "they differ");
}
