//! The tables worked by hand: the second reading gives the answers that were worked.

use std::collections::BTreeMap;

use fieldpost_rules::authored;
use fieldpost_rules::orders::Order;
use serde::Deserialize;

use crate::moves::Ruling;
use crate::sheets::carry_out;
use crate::table::Table;

const WITHIN_MM: f64 = 0.02;

#[derive(Deserialize)]
struct Worked {
    rulesets: BTreeMap<String, String>,
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    name: String,
    about: String,
    ruleset: String,
    scenario: String,
    order: Order,
    expect: Expected,
}

#[derive(Deserialize)]
struct Expected {
    verdict: String,
    reasons: Vec<ExpectedReason>,
    #[serde(default)]
    reasons_allowed: Vec<String>,
    charge_mm: Option<f64>,
    stop: Option<Stop>,
    #[serde(default)]
    at: BTreeMap<String, Stop>,
}

#[derive(Deserialize)]
struct ExpectedReason {
    code: String,
    ruling: String,
    excess_mm: Option<f64>,
}

#[derive(Deserialize)]
struct Stop {
    leg: usize,
    along_mm: f64,
}

#[test]
fn the_second_reading_agrees_with_every_table_worked_by_hand() {
    let worked: Worked = serde_json::from_str(include_str!("../tables/worked.json")).unwrap();
    assert!(worked.cases.len() > 100, "the tables are there");
    let wrong: Vec<String> = worked
        .cases
        .iter()
        .filter_map(|case| {
            let faults = faults(case, &worked.rulesets[&case.ruleset]);
            (!faults.is_empty())
                .then(|| format!("{}: {}\n  {}", case.name, faults.join("; "), case.about))
        })
        .collect();
    assert!(
        wrong.is_empty(),
        "{} read otherwise:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

fn word(ruling: Ruling) -> &'static str {
    match ruling {
        Ruling::Legal => "legal",
        Ruling::Marginal => "marginal",
        Ruling::Refused => "refused",
    }
}

fn faults(case: &Case, ruleset: &str) -> Vec<String> {
    let scenario = ("scenario", case.scenario.as_str());
    let field = authored::open_battle(("ruleset", ruleset), scenario)
        .unwrap_or_else(|faults| panic!("{}: {faults:?}", case.name));
    let mut table = Table::new(&field);
    let ruled = carry_out(&mut table, &case.order).unwrap();
    let expect = &case.expect;
    let mut faults = Vec::new();
    if word(ruled.ruling()) != expect.verdict {
        faults.push(format!(
            "{} instead of {}",
            word(ruled.ruling()),
            expect.verdict
        ));
    }
    for reason in &ruled.reasons {
        let fits = |expected: &ExpectedReason| {
            expected.code == reason.code
                && expected.ruling == word(reason.ruling)
                && reason
                    .excess
                    .zip(expected.excess_mm)
                    .is_none_or(|(is, should)| (is - should).abs() <= WITHIN_MM)
        };
        let allowed = expect
            .reasons_allowed
            .iter()
            .any(|code| code == reason.code);
        if !allowed && !expect.reasons.iter().any(fits) {
            faults.push(format!("a reason too many: {reason:?}"));
        }
    }
    for expected in &expect.reasons {
        if !ruled
            .reasons
            .iter()
            .any(|reason| reason.code == expected.code)
        {
            faults.push(format!("no {}", expected.code));
        }
    }
    let mut compare = |what: &str, is: f64, should: f64| {
        if (is - should).abs() > WITHIN_MM {
            faults.push(format!("{what} {is} instead of {should}"));
        }
    };
    if let Some(charge) = expect.charge_mm {
        compare("charge", ruled.charge_mm, charge);
    }
    if let Some(stop) = &expect.stop {
        compare("stop", ruled.tapes[stop.leg], stop.along_mm);
    }
    for (code, at) in &expect.at {
        let place = ruled
            .reasons
            .iter()
            .find(|reason| reason.code == code)
            .and_then(|r| r.at);
        let (leg, along) = place.unwrap_or((99, 0.0));
        compare("leg", leg as f64, at.leg as f64);
        compare(code, along, at.along_mm);
    }
    faults
}
