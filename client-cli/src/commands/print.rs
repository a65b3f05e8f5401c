//! `print`: the table at true scale.

use fieldpost_view::print::{Layout, Orientation, Paper, PrintOptions, pdf};
use serde_json::json;

use super::session::Refresh;
use crate::arguments::{CommonArgs, PaperOrientation, PaperSize, PrintArgs};
use crate::error::{CliError, CliResult};
use crate::output::Output;
use crate::storage::files;

/// Prints the table.
///
/// # Errors
/// When it cannot be put on paper so, or the file not be written.
pub fn print(args: &PrintArgs, common: &CommonArgs, output: Output) -> CliResult {
    let refresh = Refresh::if_fresh(args.fresh);
    let game = args
        .source
        .position(args.moment, refresh, common, output)?
        .game;
    let options = PrintOptions {
        paper: match args.paper {
            PaperSize::A4 => Paper::A4,
            PaperSize::A3 => Paper::A3,
            PaperSize::Letter => Paper::LETTER,
        },
        orientation: match args.orientation {
            None => Orientation::Fewest,
            Some(PaperOrientation::Portrait) => Orientation::Portrait,
            Some(PaperOrientation::Landscape) => Orientation::Landscape,
        },
        margin_mm: args.margin,
        overlap_mm: args.overlap,
        part: args.part.part_of(&game)?,
        units: !args.no_units,
        tints: !args.outlines,
    };
    let wrong = |fault: fieldpost_view::print::PrintFault| CliError::Usage(fault.to_string());
    let layout = Layout::of(&game.scenario().table, &options).map_err(wrong)?;
    let file = pdf(&game, &options).map_err(wrong)?;
    if args.file.as_os_str() == "-" {
        return output.print_bytes(&file);
    }
    files::write_plain(&args.file, &file)?;
    output.result(
        &json!({ "file": args.file, "paper": layout.paper, "page_mm": layout.page_mm, "columns": layout.columns,
            "rows": layout.rows, "sheets": layout.count(), "overlap_mm": layout.overlap_mm }),
        || {
            format!(
                "{}: {} {} sheets, {} across and {} deep, after a page that says how they go together.\n\
                 Print at actual size (100 %), and check the bar on the first page.",
                args.file.display(),
                layout.count(),
                layout.paper,
                layout.columns,
                layout.rows
            )
        },
    )
}
