//! Trials of the shipped files: they open, and their tables are what the manual says they are.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::model::{MODELS, ways};
use super::{Battle, RULESETS, SCENARIOS, find, find_ruleset};
use crate::authored::{read_ruleset, settings_reference};
use crate::game::{Battlefield, Game, Unit};
use crate::geometry::distance_mm;
use crate::ruleset::{Dice, Ruleset};

fn ruleset(key: &str) -> Ruleset {
    let shipped = find_ruleset(key).expect("shipped");
    match read_ruleset(&shipped.file_name(), shipped.text) {
        Ok(ruleset) => ruleset,
        Err(faults) => panic!("{faults}"),
    }
}

fn open(battle: Battle) -> Battlefield {
    match battle.open() {
        Ok(field) => field,
        Err(faults) => panic!("{faults}"),
    }
}

#[test]
fn every_shipped_battle_opens() {
    for scenario in SCENARIOS {
        let battle = find(scenario.key).expect("its ruleset is shipped");
        let field = open(battle);
        assert_eq!(field.scenario.name, scenario.title);
        assert_eq!(field.ruleset.name, battle.ruleset.title);
        assert_eq!(field.scenario.ruleset, field.ruleset.name);
    }
    assert!(find("no such battle").is_none());
    for ruleset in RULESETS {
        assert_eq!(find_ruleset(ruleset.key), Some(ruleset));
        assert!(
            SCENARIOS
                .iter()
                .any(|scenario| scenario.ruleset == ruleset.key)
        );
    }
}

#[test]
fn every_table_follows_from_its_model() {
    assert_eq!(MODELS.len(), RULESETS.len());
    for model in &MODELS {
        let ruleset = ruleset(model.key);
        let results = &ruleset.results;
        for (total, outcomes) in model.rows(results) {
            let row = results.row.iter().find(|row| row.throw.holds(total));
            assert_eq!(
                row.expect("a row").outcomes,
                outcomes,
                "{}: {total}",
                model.key
            );
        }
    }
}

#[test]
fn the_manual_tells_the_chances_of_every_table() {
    const MANUAL: &str = include_str!("../../manual/results-table.md");
    let missing: Vec<String> = MODELS
        .iter()
        .map(|model| model.section(&ruleset(model.key)))
        .filter(|section| !MANUAL.contains(section))
        .collect();
    assert!(
        missing.is_empty(),
        "manual/results-table.md should hold this:\n\n{}",
        missing.join("\n")
    );
}

#[test]
fn two_dice_total_as_every_handbook_says() {
    // From memory, and countable on fingers: 1 to 6 to 1 ways in 36.
    let (ways, all) = ways(Dice { count: 2, faces: 6 });
    assert_eq!(all, 36);
    assert_eq!(
        ways.into_values().collect::<Vec<_>>(),
        [1, 2, 3, 4, 5, 6, 5, 4, 3, 2, 1]
    );
}

/// The paths of all settings that a file sets, as the reference writes them: entries of lists
/// as `[]`, and under the tables that take names of the author's own, NAME.
fn paths_set(text: &str) -> BTreeSet<String> {
    const NAMED: [&str; 4] = ["terrain", "lines", "troops", "results.outcome"];
    fn walk(value: &toml::Value, path: &str, named: bool, found: &mut BTreeSet<String>) {
        match value {
            toml::Value::Table(table) => {
                for (key, value) in table {
                    let key = if named { "NAME" } else { key };
                    let below = if path.is_empty() {
                        key.to_owned()
                    } else {
                        format!("{path}.{key}")
                    };
                    found.insert(below.clone());
                    let named = NAMED.contains(&below.as_str()) && value.is_table();
                    walk(value, &below, named, found);
                }
            }
            toml::Value::Array(list) => {
                for value in list {
                    walk(value, &format!("{path}[]"), false, found);
                }
            }
            _ => {}
        }
    }
    let mut found = BTreeSet::new();
    let table: toml::Table = text.parse().expect("shipped files parse");
    walk(&toml::Value::Table(table), "", false, &mut found);
    found
}

#[test]
fn every_setting_is_used_by_a_shipped_file() {
    let [rules, scenarios] = settings_reference();
    for (settings, files) in [(rules, &RULESETS[..]), (scenarios, &SCENARIOS[..])] {
        let used: BTreeSet<String> = files.iter().flat_map(|file| paths_set(file.text)).collect();
        for setting in settings {
            assert!(
                used.contains(&setting.path),
                "no shipped file sets {}",
                setting.path
            );
        }
    }
}

#[test]
fn every_choice_is_made_by_a_shipped_file() {
    let texts: String = RULESETS
        .iter()
        .chain(&SCENARIOS)
        .map(|file| file.text)
        .collect();
    let [rules, scenarios] = settings_reference();
    for setting in rules.into_iter().chain(scenarios) {
        let key = setting.path.rsplit('.').next().unwrap_or_default();
        let Some(choices) = setting.kind.strip_prefix("one of ") else {
            continue;
        };
        for choice in choices.split(", ") {
            let line = format!("{key} = {choice}");
            assert!(texts.contains(&line), "no shipped file chooses {line}");
        }
    }
}

#[test]
fn the_armies_start_too_far_apart_to_collide_in_a_first_move() {
    for scenario in SCENARIOS {
        // Outposts within reach of each other: this battle is there to begin at once.
        if scenario.key == "withy-bridge" {
            continue;
        }
        let field = open(find(scenario.key).expect("shipped"));
        let game = Game::new(Arc::new(field));
        let ruleset = game.ruleset();
        let reach_mm = |unit: &Unit| {
            let troops = unit.troop_type(ruleset).expect("known");
            troops.movement_points * ruleset.scale.movement_point_mm()
        };
        for first in game.on_table().filter(|unit| unit.side == 0) {
            for second in game.on_table().filter(|unit| unit.side == 1) {
                let (ours, theirs) = (
                    first.footprint().expect("on"),
                    second.footprint().expect("on"),
                );
                assert!(
                    distance_mm(&ours, &theirs) > reach_mm(first),
                    "{}: {} reaches {}",
                    scenario.key,
                    first.id,
                    second.id
                );
            }
        }
        let strength = |side| -> f64 {
            game.units()
                .filter(|unit| unit.side == side)
                .map(Unit::strength)
                .sum()
        };
        let (ours, theirs) = (strength(0), strength(1));
        // A fair battle to begin with: neither army a tenth stronger than the other.
        assert!(
            ours < theirs * 1.1 && theirs < ours * 1.1,
            "{}: {ours} to {theirs}",
            scenario.key
        );
    }
}
