//! Trials of the shipped files: they open, and their tables are what the manual says they are.

use super::model::{MODELS, ways};
use super::{Battle, RULESETS, SCENARIOS, find, find_ruleset};
use crate::game::Battlefield;
use crate::ruleset::Dice;

pub(super) fn open(battle: Battle) -> Battlefield {
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
        let scenario = SCENARIOS
            .iter()
            .find(|s| s.ruleset == model.key)
            .expect("one");
        let field = open(find(scenario.key).expect("shipped"));
        let results = &field.ruleset.results;
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
    for model in &MODELS {
        let scenario = SCENARIOS
            .iter()
            .find(|s| s.ruleset == model.key)
            .expect("one");
        let field = open(find(scenario.key).expect("shipped"));
        let section = model.section(&field.ruleset);
        assert!(
            MANUAL.contains(&section),
            "manual/results-table.md should hold this section:\n\n{section}"
        );
    }
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
