//! Trials of reading: every fault in its own words, and no panic on any bytes.

mod hostile;
mod reference;
mod remarks;
mod wording;

use super::{Faults, open_battle, starter_ruleset, starter_scenario};
use crate::game::Battlefield;

/// Opens the starter files, with `edits` made to them as (what stands there, what to put there).
fn open_with(ruleset: &[(&str, &str)], scenario: &[(&str, &str)]) -> Result<Battlefield, Faults> {
    let ruleset = edited(starter_ruleset(), ruleset);
    let scenario = edited(starter_scenario(), scenario);
    open_battle(
        ("rules.toml", ruleset.as_str()),
        ("battle.toml", scenario.as_str()),
    )
}

fn edited(text: &str, edits: &[(&str, &str)]) -> String {
    edits.iter().fold(text.to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "{from:?} does not stand in the text");
        text.replacen(from, to, 1)
    })
}

#[test]
fn the_starters_open() {
    if let Err(faults) = open_with(&[], &[]) {
        panic!("{faults}");
    }
}

#[test]
fn marks_are_short_and_each_is_one_units() {
    let with = |mark: &str, other: &str| {
        let edits = [
            ("id = \"red-1\"", format!("id = \"red-1\"\nmark = {mark:?}")),
            (
                "id = \"blue-1\"",
                format!("id = \"blue-1\"\nmark = {other:?}"),
            ),
        ];
        let edits = edits.each_ref().map(|(from, to)| (*from, to.as_str()));
        open_with(&[], &edits)
            .err()
            .map(|faults| faults.to_string())
    };
    assert_eq!(with("G", "BG12"), None);
    for (mark, other, told) in [
        ("Guard", "B1", "\"Guard\" is no mark"),
        ("1R", "B1", "\"1R\" is no mark"),
        ("", "B1", "\"\" is no mark"),
        ("Gd", "gD", "is the mark of"),
    ] {
        let faults = with(mark, other).unwrap_or_default();
        assert!(
            faults.contains(told) && faults.contains("mark"),
            "{mark}: {faults}"
        );
    }
}
