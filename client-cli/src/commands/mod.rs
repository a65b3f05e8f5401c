//! What each command does.

pub mod authoring;
pub mod battle_files;
pub mod battles;
pub mod clock;
pub mod compare;
pub mod convert;
pub mod event;
pub mod keys;
pub mod local;
pub mod measure;
pub mod members;
pub mod moved_server;
pub mod news;
pub mod notices;
pub mod organiser;
pub mod placed;
pub mod position;
pub mod post;
pub mod print;
pub mod program;
pub mod record;
pub mod replay;
pub mod rulings;
pub mod schema;
pub mod seating;
pub mod seats;
pub mod session;
pub mod settings;
pub mod signed_posting;
pub mod standing;
pub mod study;
pub mod table;
pub mod table_data;
pub mod trials;
pub mod try_sheet;

use crate::output::{NARROW, sanitize, text_columns};
use comfy_table::{ContentArrangement, Table, presets};

/// Rows under headings, fitted to the terminal.
#[must_use]
pub(crate) fn columns<const N: usize>(headings: [&str; N], rows: Vec<[String; N]>) -> String {
    if text_columns(None) < NARROW {
        return records(&headings, &rows);
    }
    let mut table = Table::new();
    table
        .load_style(presets::NOTHING)
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_header(headings.map(str::to_uppercase));
    for row in rows {
        table.add_row(row.map(|cell| sanitize(&cell)));
    }
    for column in table.column_iter_mut() {
        column.set_padding((0, 2));
    }
    let lines = table.to_string();
    let lines: Vec<&str> = lines.lines().map(str::trim_end).collect();
    lines.join("\n")
}

/// Rows one below another, a line a cell, for a terminal too narrow for columns.
fn records<const N: usize>(headings: &[&str; N], rows: &[[String; N]]) -> String {
    let records = rows.iter().map(|row| {
        let cells = headings
            .iter()
            .zip(row)
            .filter(|(_, cell)| !cell.is_empty());
        let lines: Vec<String> = cells
            .enumerate()
            .map(
                |(index, (heading, cell))| match (index, heading.is_empty()) {
                    (0, _) => cell.clone(),
                    (_, true) => format!("  {cell}"),
                    (_, false) => format!("  {heading}: {cell}"),
                },
            )
            .collect();
        lines.join("\n")
    });
    sanitize(&records.collect::<Vec<_>>().join("\n"))
}
