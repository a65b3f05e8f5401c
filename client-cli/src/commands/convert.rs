//! `convert`: a board game's numbers as table distances.

use std::path::Path;

use fieldpost_convert::{Board, ConvertError, FILE_WIDTHS, Gait, Plan};
use fieldpost_rules::ruleset::{Distance, LengthUnit};
use serde_json::json;

use super::columns;
use crate::arguments::{ConvertArgs, ConvertCommand};
use crate::error::{CliError, CliResult};
use crate::output::{Output, uses_colour};
use crate::storage::files;

/// Converts a board game.
///
/// # Errors
/// When its file is not valid, or it cannot be laid out as asked.
pub fn convert(args: &ConvertArgs, output: Output) -> CliResult {
    match &args.command {
        ConvertCommand::Starter => {
            let text = fieldpost_convert::starter_board();
            output.result(&json!({ "text": text }), || text.to_owned())
        }
        ConvertCommand::Schema => output.print_json(fieldpost_convert::schema_board()),
        ConvertCommand::Handbooks => handbooks(output),
        ConvertCommand::Fit {
            board,
            width,
            depth,
            step,
        } => {
            let board = read(board)?;
            let table = (millimetres(width)?, millimetres(depth)?);
            let per_hex = board.laying.bases_per_hex;
            let fit = fieldpost_convert::fit(&board.map, per_hex, table, millimetres(step)?);
            let fit = fit.map_err(convert_error)?;
            output.result(&fit, || fieldpost_convert::fit_in_words(&board, &fit))
        }
        ConvertCommand::Plan { board, base } => {
            let (_, plan) = plan(board, base)?;
            output.result(&plan, || fieldpost_convert::plan_in_words(&plan))
        }
        ConvertCommand::Write {
            board,
            base,
            folder,
        } => {
            let (board, plan) = plan(board, base)?;
            write(&board, &plan, folder, output)
        }
    }
}

fn plan(board: &Path, base: &str) -> CliResult<(Board, Plan)> {
    let board = read(board)?;
    let plan = fieldpost_convert::convert(&board, millimetres(base)?).map_err(convert_error)?;
    Ok((board, plan))
}

fn write(board: &Board, plan: &Plan, folder: &Path, output: Output) -> CliResult {
    let skeleton = fieldpost_convert::skeleton(board, plan).map_err(convert_error)?;
    let both = [
        ("ruleset.toml", skeleton.ruleset.as_str()),
        ("scenario.toml", skeleton.scenario.as_str()),
    ];
    let written = files::write_new(folder, &both)?;
    for path in &written {
        output.info(&format!("written: {}", path.display()));
    }
    for warning in &plan.warnings {
        output.warn(&format!("warning ({}): {}", warning.code, warning.text));
    }
    if output.json {
        return output.print_json(&json!({ "written": written, "warnings": plan.warnings }));
    }
    Ok(())
}

fn read(path: &Path) -> CliResult<Board> {
    let (name, text) = files::read_named(path)?;
    fieldpost_convert::read_board(&name, &text)
        .map_err(|faults| CliError::Invalid(faults.rendered(uses_colour())))
}

/// Reads `30`, `30 mm`, `3cm` or `1.5 in`.
fn millimetres(text: &str) -> CliResult<f64> {
    let fault = |why: String| CliError::Usage(why);
    let length = Distance::parse(text).map_err(fault)?;
    match length.unit {
        LengthUnit::BaseWidths if !text.to_ascii_lowercase().contains("bw") => Ok(length.amount),
        LengthUnit::Millimetres => Ok(length.amount),
        LengthUnit::Centimetres => Ok(length.amount * 10.0),
        LengthUnit::Inches => Ok(length.amount * 25.4),
        LengthUnit::Feet => Ok(length.amount * 304.8),
        LengthUnit::BaseWidths | LengthUnit::MovementPoints => Err(CliError::Usage(format!(
            "{text:?} has no measure yet; write millimetres, or a number with cm or in"
        ))),
    }
}

fn convert_error(error: ConvertError) -> CliError {
    CliError::Invalid(format!("error: {error}"))
}

fn handbooks(output: Output) -> CliResult {
    let rates: Vec<_> = Gait::ALL
        .iter()
        .map(|gait| {
            json!({ "gait": gait, "words": gait.words(), "yards_per_minute": gait.yards_per_minute(),
                "metres_per_minute": gait.metres_per_minute(), "source": gait.source() })
        })
        .collect();
    let fronts_source = "W. Balck, Tactics, vol. I (Fort Leavenworth, 1915), p. 48";
    let data = json!({ "marches": rates, "fronts": FILE_WIDTHS, "fronts_source": fronts_source });
    output.result(&data, || {
        let marches = Gait::ALL
            .iter()
            .map(|gait| {
                [
                    gait.words().to_owned(),
                    format!("{}", gait.yards_per_minute()),
                    format!("{:.1}", gait.metres_per_minute()),
                    gait.source().to_owned(),
                ]
            })
            .collect();
        let fronts = FILE_WIDTHS
            .iter()
            .map(|front| [front.army.to_owned(), format!("{:.2}", front.metres)])
            .collect();
        format!(
            "{}\n\n{}\n\nFronts: {fronts_source}.",
            columns(["march", "yd/min", "m/min", "source"], marches),
            columns(["front of a man", "m"], fronts)
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_read_with_their_units() {
        for (text, mm) in [("30", 30.0), ("30 mm", 30.0), ("3cm", 30.0), ("2 in", 50.8)] {
            assert!((millimetres(text).unwrap() - mm).abs() < 1e-9, "{text}");
        }
        for bad in ["", "wide", "2 bw", "2 MP", "-3", "NaN"] {
            assert_eq!(millimetres(bad).unwrap_err().exit_code(), 2, "{bad}");
        }
    }
}
