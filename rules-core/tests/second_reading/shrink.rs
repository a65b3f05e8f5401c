//! Making a case that differs as small as it stays differing in the same way.

use fieldpost_rules::orders::Order;

use crate::cases::{Case, legs_of, legs_of_mut};
use crate::compare::{Outcome, judge};

/// The smallest case found that differs in the same way.
pub fn smallest(case: &Case, kind: &str) -> Case {
    smallest_by(case, |case| {
        judge(case).is_some_and(
            |answers| matches!(&answers.outcome, Outcome::Differ(what) if what == kind),
        )
    })
}

/// The smallest case found of which something still holds.
pub fn smallest_by(case: &Case, differs: impl Fn(&Case) -> bool) -> Case {
    let mut best = case.clone();
    loop {
        let smaller = candidates(&best).into_iter().find(|case| differs(case));
        match smaller {
            Some(case) => best = case,
            None => return best,
        }
    }
}

fn candidates(case: &Case) -> Vec<Case> {
    let mut all = Vec::new();
    let mut add = |change: &dyn Fn(&mut Case)| {
        let mut smaller = case.clone();
        change(&mut smaller);
        all.push(smaller);
    };
    for n in 0..case.orders.len() {
        if case.orders.len() > 1 {
            add(&|case| {
                case.orders.remove(n);
            });
        }
        let legs = legs_of(&case.orders[n]).len();
        for leg in 0..legs {
            if legs > 1 {
                add(&|case| {
                    legs_of_mut(&mut case.orders[n]).unwrap().remove(leg);
                });
            }
        }
    }
    let named: Vec<String> = case
        .orders
        .iter()
        .flat_map(Order::units)
        .map(|unit| unit.0.clone())
        .collect();
    let sides = |red: bool| case.units.iter().filter(|unit| unit.red == red).count();
    for n in 0..case.units.len() {
        if !named.contains(&case.units[n].id) && sides(case.units[n].red) > 1 {
            add(&|case| {
                case.units.remove(n);
            });
        }
    }
    for n in 0..case.patches.len() {
        add(&|case| {
            case.patches.remove(n);
        });
    }
    for n in 0..case.lines.len() {
        add(&|case| {
            case.lines.remove(n);
        });
        if case.lines[n].span.is_some() {
            add(&|case| case.lines[n].span = None);
        }
    }
    for n in 0..case.roads.len() {
        add(&|case| {
            case.roads.remove(n);
        });
    }
    let kept = ["attacks.compulsory"];
    for key in case.settings.keys() {
        if !kept.contains(&key.as_str()) {
            add(&|case| {
                case.settings.remove(key);
            });
        }
    }
    for n in 0..case.units.len() {
        let unit = &case.units[n];
        if unit.bases > 1 {
            add(&|case| {
                let unit = &mut case.units[n];
                (unit.files, unit.ranks, unit.bases) = (1, 1, 1);
            });
        }
        let whole = unit.at.map(f64::round);
        if whole != unit.at {
            add(&|case| case.units[n].at = case.units[n].at.map(f64::round));
        }
    }
    all
}
