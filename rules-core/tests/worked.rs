//! Tables worked by hand from the laws of measurement: one order each, with the ruling, the reasons, the charge and
//! the place that follow from the laws (`tables/worked.json` holds the working in words).

use std::collections::BTreeMap;

use fieldpost_rules::authored;
use fieldpost_rules::game::Game;
use fieldpost_rules::orders::{Order, SideId, TurnSheet};
use fieldpost_rules::referee;
use serde::Deserialize;
use serde_json::Value;

/// Figures worked by hand agree with the referee's within this many millimetres.
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
#[serde(deny_unknown_fields)]
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
#[serde(deny_unknown_fields)]
struct ExpectedReason {
    code: String,
    ruling: String,
    excess_mm: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Stop {
    leg: usize,
    along_mm: f64,
}

#[test]
fn every_table_worked_by_hand_is_judged_as_it_was_worked() {
    let worked: Worked = serde_json::from_str(include_str!("tables/worked.json")).unwrap();
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
    let of = worked.cases.len();
    assert!(
        wrong.is_empty(),
        "{} of {of} are judged otherwise:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

/// What the referee says otherwise than the working.
fn faults(case: &Case, ruleset: &str) -> Vec<String> {
    let verdict = verdict_of(case, ruleset);
    let mut faults = Vec::new();
    if verdict["verdict"] != case.expect.verdict.as_str() {
        faults.push(format!(
            "{} instead of {}",
            verdict["verdict"], case.expect.verdict
        ));
    }
    compare_reasons(&verdict, &case.expect, &mut faults);
    if let Some(charge_mm) = case.expect.charge_mm {
        compare("charge", &verdict["charge_mm"], charge_mm, &mut faults);
    }
    if let Some(stop) = &case.expect.stop {
        let leg = &verdict["legs"][stop.leg];
        compare("stop", &leg["tape_mm"], stop.along_mm, &mut faults);
    }
    for (code, at) in &case.expect.at {
        let Some(reason) = reasons(&verdict).find(|reason| reason["code"] == code.as_str()) else {
            continue;
        };
        let place = &reason["at"];
        if place["leg"] != at.leg {
            faults.push(format!("{code} at {place} instead of leg {}", at.leg));
        }
        compare(code, &place["along_mm"], at.along_mm, &mut faults);
    }
    faults
}

fn verdict_of(case: &Case, ruleset: &str) -> Value {
    let scenario = ("scenario", case.scenario.as_str());
    let field = authored::open_battle(("ruleset", ruleset), scenario)
        .unwrap_or_else(|faults| panic!("{}: {faults:?}", case.name));
    let game = Game::new(field.into());
    let sheet = TurnSheet {
        game_turn: 1,
        side: SideId::from("red"),
        orders: vec![case.order.clone()],
    };
    let verdict = referee::judge_sheet(&game, &sheet);
    let whole = serde_json::to_value(&verdict).unwrap();
    // a body's units have a verdict each: the worst is compared
    let severity = |verdict: &Value| match verdict["verdict"].as_str() {
        Some("refused") => 2,
        Some("marginal") => 1,
        _ => 0,
    };
    let mut moves = whole["moves"].as_array().cloned().unwrap_or_default();
    moves.sort_by_key(|verdict| std::cmp::Reverse(severity(verdict)));
    moves
        .into_iter()
        .next()
        .unwrap_or_else(|| panic!("{}: no verdict in {whole}", case.name))
}

fn reasons(verdict: &Value) -> impl Iterator<Item = &Value> {
    verdict["reasons"].as_array().into_iter().flatten()
}

fn compare_reasons(verdict: &Value, expected: &Expected, faults: &mut Vec<String>) {
    let mut left: Vec<&ExpectedReason> = expected.reasons.iter().collect();
    for reason in reasons(verdict) {
        let code = reason["code"].as_str().unwrap_or_default();
        let excess_mm = reason["excess_mm"].as_f64();
        let fits = |expected: &&ExpectedReason| {
            expected.code == code
                && excess_mm
                    .zip(expected.excess_mm)
                    .is_none_or(|(is, should)| (is - should).abs() <= WITHIN_MM)
        };
        match left.iter().position(fits) {
            Some(place) => {
                left.remove(place);
            }
            None if expected
                .reasons_allowed
                .iter()
                .any(|allowed| allowed == code) => {}
            None => faults.push(format!("a reason too many: {reason}")),
        }
    }
    for missing in left {
        faults.push(format!(
            "no {} ({}) by {:?}",
            missing.code, missing.ruling, missing.excess_mm
        ));
    }
}

fn compare(what: &str, is: &Value, should_mm: f64, faults: &mut Vec<String>) {
    let agrees = is
        .as_f64()
        .is_some_and(|is_mm| (is_mm - should_mm).abs() <= WITHIN_MM);
    if !agrees {
        faults.push(format!("{what} {is} instead of {should_mm}"));
    }
}
