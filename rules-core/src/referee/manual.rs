//! The manual's tables of laws name tests that exist.

const MOVEMENT: &str = include_str!("../../manual/laws-of-movement.md");
const BATTLE: &str = include_str!("../../manual/laws-of-battle.md");

const TRIALS_OF_MOVEMENT: [&str; 10] = [
    include_str!("movement/line_properties.rs"),
    include_str!("movement/properties.rs"),
    include_str!("movement/tests/clear_ground.rs"),
    include_str!("movement/tests/legs.rs"),
    include_str!("movement/tests/lines.rs"),
    include_str!("movement/tests/orders.rs"),
    include_str!("movement/tests/zones.rs"),
    include_str!("turn_trials/arrivals.rs"),
    include_str!("turn_trials/leaving.rs"),
    include_str!("turn_trials/withdrawal.rs"),
];
const TRIALS_OF_BATTLE: [&str; 9] = [
    include_str!("battle_trials/fights.rs"),
    include_str!("battle_trials/mirrors.rs"),
    include_str!("battle_trials/optional_laws.rs"),
    include_str!("battle_trials/properties.rs"),
    include_str!("battle_trials/rulings.rs"),
    include_str!("battle_trials/strings.rs"),
    include_str!("battle_trials/ties.rs"),
    include_str!("battle_trials/weights.rs"),
    include_str!("battle_trials/winning.rs"),
];

#[test]
fn every_law_of_movement_has_its_example_and_its_property() {
    check(MOVEMENT, 12, &TRIALS_OF_MOVEMENT);
}

#[test]
fn every_law_of_battle_has_its_example_and_its_property() {
    check(BATTLE, 19, &TRIALS_OF_BATTLE);
}

/// Of a page's laws, at least so many: each names tests of its example and of its property that
/// the trials have.
fn check(page: &str, at_least: usize, trials: &[&str]) {
    let (_, table) = page
        .split_once("## Tests of these laws")
        .expect("the table");
    let rows: Vec<&str> = table
        .lines()
        .filter(|line| line.starts_with("| "))
        .skip(2)
        .collect();
    assert!(rows.len() >= at_least, "{} rows", rows.len());
    for row in rows {
        let cells: Vec<&str> = row.split('|').map(str::trim).collect();
        for cell in &cells[2..4] {
            assert!(cell.contains('`'), "no test in {row}");
            for name in cell.split('`').skip(1).step_by(2) {
                let test = format!("fn {name}(");
                assert!(
                    trials.iter().any(|file| file.contains(&test)),
                    "no test {name}"
                );
            }
        }
    }
}
