//! The manual's table of laws names tests that exist.

const MANUAL: &str = include_str!("../../../manual/laws-of-battle.md");
const TRIALS: [&str; 7] = [
    include_str!("fights.rs"),
    include_str!("optional_laws.rs"),
    include_str!("properties.rs"),
    include_str!("rulings.rs"),
    include_str!("strings.rs"),
    include_str!("weights.rs"),
    include_str!("winning.rs"),
];

#[test]
fn every_law_has_its_example_and_its_property() {
    let (_, table) = MANUAL
        .split_once("## Tests of these laws")
        .expect("the table");
    let rows: Vec<&str> = table
        .lines()
        .filter(|line| line.starts_with("| "))
        .skip(2)
        .collect();
    assert!(rows.len() >= 19, "{} rows", rows.len());
    for row in rows {
        let cells: Vec<&str> = row.split('|').map(str::trim).collect();
        for cell in &cells[2..4] {
            assert!(cell.contains('`'), "no test in {row}");
            for name in cell.split('`').skip(1).step_by(2) {
                let test = format!("fn {name}(");
                assert!(
                    TRIALS.iter().any(|file| file.contains(&test)),
                    "no test {name}"
                );
            }
        }
    }
}
