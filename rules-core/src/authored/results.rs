//! Whether a results table is whole: every throw, every column, every outcome.

use std::collections::BTreeSet;

use crate::ruleset::{Column, Results, ResultsKind};

use super::findings::Findings;
use super::place::Place;

/// Checks a results table that fits its schema.
pub(super) fn check(results: &Results, findings: &mut Findings<'_>) {
    check_columns(results, findings);
    check_rows(results, findings);
    // without the dice nobody knows which totals are due
    if !findings.is_spoilt(&table().key("dice")) {
        check_throws(results, findings);
    }
    check_outcomes(results, findings);
}

fn table() -> Place {
    Place::of("results")
}

fn check_columns(results: &Results, findings: &mut Findings<'_>) {
    let mut before: Option<&Column> = None;
    for (index, column) in results.columns.iter().enumerate() {
        let place = table().key("columns").item(index);
        match (results.kind, column) {
            (ResultsKind::Odds, Column::Difference(_)) => findings.fault(
                &place,
                format!("{column} is a difference, and the table's kind is odds"),
                "write odds such as \"3:2\", or set kind = \"differential\"",
            ),
            (ResultsKind::Differential, Column::Odds { .. }) => findings.fault(
                &place,
                format!("{column} are odds, and the table's kind is differential"),
                "write a difference such as -2, or set kind = \"odds\"",
            ),
            _ => {
                if before.is_some_and(|before| !ascends(before, column)) {
                    findings.fault(
                        &place,
                        format!("column {column} is no better for the attacker than the one before it"),
                        "order the columns from the defender's best to the attacker's best, each once",
                    );
                }
                before = Some(column);
            }
        }
    }
}

/// Whether the second column is better for the attacker; odds are compared crosswise, exactly.
fn ascends(first: &Column, second: &Column) -> bool {
    match (first, second) {
        (
            Column::Odds { attack, defence },
            Column::Odds {
                attack: more,
                defence: less,
            },
        ) => attack * less < more * defence,
        (Column::Difference(low), Column::Difference(high)) => low < high,
        _ => true,
    }
}

/// Whether each row runs upward and has an outcome for each column.
fn check_rows(results: &Results, findings: &mut Findings<'_>) {
    for (index, row) in results.row.iter().enumerate() {
        let place = table().key("row").item(index);
        let (first, last) = row.throw.ends();
        if first > last {
            findings.fault(
                &place.key("throw"),
                format!("the row runs from {first} down to {last}"),
                format!("write throw = [{last}, {first}]"),
            );
        } else if row.outcomes.len() != results.columns.len() {
            findings.fault(
                &place.key("outcomes"),
                format!(
                    "the row has {} outcomes for {} columns",
                    row.outcomes.len(),
                    results.columns.len()
                ),
                "name one outcome for each column",
            );
        }
    }
}

/// Whether every total of the dice has one row, and no row has another.
fn check_throws(results: &Results, findings: &mut Findings<'_>) {
    let dice = results.dice;
    let (least, most) = (dice.count, dice.count.saturating_mul(dice.faces));
    let mut rows: BTreeSet<u32> = BTreeSet::new();
    let mut all_run_upward = true;
    for (index, row) in results.row.iter().enumerate() {
        let place = table().key("row").item(index).key("throw");
        let (first, last) = row.throw.ends();
        if first > last {
            all_run_upward = false;
            continue;
        }
        if first < least || last > most {
            let beyond = if first < least { first } else { last };
            findings.fault(
                &place,
                format!("a throw of {dice} cannot come to {beyond}"),
                format!("totals run from {least} to {most}"),
            );
        }
        let mut again = None;
        for total in first.max(least)..=last.min(most) {
            if !rows.insert(total) {
                again = again.or(Some(total));
            }
        }
        if let Some(total) = again {
            findings.fault(
                &place,
                format!("a throw of {total} has a row already"),
                "give every total exactly one row",
            );
        }
    }
    let missing: Vec<String> = (least..=most)
        .filter(|total| !rows.contains(total))
        .map(|total| total.to_string())
        .collect();
    if !missing.is_empty() && all_run_upward {
        findings.fault(
            &table(),
            format!("there is no row for a throw of {}", missing.join(", ")),
            format!(
                "throws of {dice} run from {least} to {most}; add a [[results.row]] for each total"
            ),
        );
    }
}

fn check_outcomes(results: &Results, findings: &mut Findings<'_>) {
    let mut used = BTreeSet::new();
    let mut all_known = true;
    for (index, row) in results.row.iter().enumerate() {
        for (column, outcome) in row.outcomes.iter().enumerate() {
            let place = table().key("row").item(index).key("outcomes").item(column);
            let known = results.outcome.keys().map(String::as_str);
            all_known &= findings.known(
                &place,
                outcome,
                "outcome of this table",
                "outcomes under [results.outcome]",
                known,
            );
            used.insert(outcome.as_str());
        }
    }
    // An outcome that no row names may be one that a row misspells.
    if !all_known {
        return;
    }
    for name in results.outcome.keys() {
        if !used.contains(name.as_str()) {
            findings.fault_of_key(
                &table().key("outcome").key(name),
                format!("no row comes to the outcome {name:?}"),
                "use it in a row, or leave it out",
            );
        }
    }
}
