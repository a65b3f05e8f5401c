//! The manual's table of the laws of movement names tests that exist.

const MANUAL: &str = include_str!("../../../manual/laws-of-movement.md");
const TRIALS: [&str; 5] = [
    include_str!("../movement/tests.rs"),
    include_str!("../movement/properties.rs"),
    include_str!("arrivals.rs"),
    include_str!("leaving.rs"),
    include_str!("withdrawal.rs"),
];

#[test]
fn every_law_of_movement_has_its_example_and_its_property() {
    let (_, table) = MANUAL
        .split_once("## Tests of these laws")
        .expect("the table");
    let rows: Vec<&str> = table
        .lines()
        .filter(|line| line.starts_with("| "))
        .skip(2)
        .collect();
    assert!(rows.len() >= 12, "{} rows", rows.len());
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
