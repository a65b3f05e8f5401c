//! Every setting of a ruleset, one entry each: two or more of its values, and what comes of each
//! on the same small table. A setting that is missing here, or makes no difference, fails.

mod attacks;
mod ground;
mod movement;
mod optional;
mod results;
mod tables;
mod troops;
mod zones;

use crate::authored::settings_reference;
use crate::referee::testing::rules;
use crate::ruleset::Ruleset;

/// A setting: its path as the reference lists it, values to give it with what comes of each, and
/// the question asked.
struct Setting {
    path: &'static str,
    ask: fn(Ruleset) -> String,
    values: Vec<Value>,
}

/// A change to the rules, and what then comes of the question.
type Value = (fn(&mut Ruleset), &'static str);

/// Settings that change words or drawings only: they are tried where those are made.
const TOLD_ELSEWHERE: [&str; 6] = [
    "format",
    "name",
    "about",
    "results.outcome.NAME.words",
    "terrain.NAME.drawn_as",
    "lines.NAME.drawn_as",
];

#[test]
fn every_setting_makes_the_difference_it_should() {
    let mut wrong = Vec::new();
    for Setting { path, ask, values } in settings() {
        let mut answers = Vec::new();
        for (index, (change, expected)) in values.into_iter().enumerate() {
            let mut rules = rules();
            change(&mut rules);
            let found = ask(rules);
            if found != expected {
                wrong.push(format!(
                    "{path}, value {index}: {found:?}, not {expected:?}"
                ));
            }
            answers.push(found);
        }
        answers.sort_unstable();
        answers.dedup();
        assert!(answers.len() >= 2, "{path} makes no difference");
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn no_setting_is_left_out() {
    let [reference, _] = settings_reference();
    let paths: Vec<&str> = reference.iter().map(|setting| &setting.path[..]).collect();
    let is_table = |path: &str| {
        let inside = [format!("{path}."), format!("{path}[].")];
        let below = |other: &&str| inside.iter().any(|start| other.starts_with(start));
        paths.iter().any(below)
    };
    let tried: Vec<&str> = settings().iter().map(|setting| setting.path).collect();
    let missing: Vec<&&str> = paths
        .iter()
        .filter(|path| !is_table(path))
        .filter(|path| !tried.contains(path) && !TOLD_ELSEWHERE.contains(path))
        .collect();
    assert!(missing.is_empty(), "settings without a test: {missing:#?}");
    let unknown: Vec<&&str> = tried.iter().filter(|path| !paths.contains(path)).collect();
    assert!(unknown.is_empty(), "no such settings: {unknown:#?}");
}

fn settings() -> Vec<Setting> {
    [
        movement::settings(),
        zones::settings(),
        attacks::settings(),
        results::settings(),
        ground::settings(),
        troops::settings(),
        optional::settings(),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn setting(path: &'static str, ask: fn(Ruleset) -> String, values: Vec<Value>) -> Setting {
    Setting { path, ask, values }
}
