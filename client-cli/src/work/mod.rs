//! The work of each command.

pub mod about;
pub mod battles;
pub mod by_post;
pub mod compare;
pub mod convert;
pub mod event;
pub mod keys;
pub mod local;
pub mod measure;
pub mod members;
pub mod news;
pub mod notices;
pub mod organise;
pub mod placed;
pub mod posting;
pub mod print;
pub mod record;
pub mod replay;
pub mod seating;
pub mod seats;
pub mod settings;
pub mod signed;
pub mod source;
pub mod standing;
pub mod story;
pub mod study;
pub mod table;
pub mod trials;
pub mod trying;
pub mod write;

use comfy_table::{ContentArrangement, Table, presets};

/// Rows under headings, fitted to the terminal.
#[must_use]
pub(crate) fn columns<const N: usize>(headings: [&str; N], rows: Vec<[String; N]>) -> String {
    let mut table = Table::new();
    table
        .load_style(presets::NOTHING)
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_header(headings.map(str::to_uppercase));
    for row in rows {
        table.add_row(row.map(|cell| crate::out::harmless(&cell)));
    }
    for column in table.column_iter_mut() {
        column.set_padding((0, 2));
    }
    let lines = table.to_string();
    let lines: Vec<&str> = lines.lines().map(str::trim_end).collect();
    lines.join("\n")
}
