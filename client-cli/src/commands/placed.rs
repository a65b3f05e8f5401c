//! `placed`: a unit's place read back off a real table.

use fieldpost_rules::orders::text::parse_readings;
use fieldpost_view::placing::{ReadBack, Steps, TapeUnit, read_back, read_back_sheet};
use serde_json::json;

use super::session::Refresh;
use crate::arguments::{CommonArgs, PlacedArgs};
use crate::error::{CliError, CliResult};
use crate::output::Output;
use crate::sheet;
use crate::storage::files;

/// Reads units back and compares them with the record.
///
/// # Errors
/// [`CliError::Invalid`] when a reading cannot be read, [`CliError::Mismatch`] when a unit does not stand as recorded.
pub fn placed(args: &PlacedArgs, common: &CommonArgs, output: Output) -> CliResult {
    let refresh = Refresh::if_fresh(args.fresh);
    let game = args
        .source
        .position(args.moment, refresh, common, output)?
        .game;
    let tape = TapeUnit::from(args.tape);
    let (name, text) = match &args.list {
        Some(path) => files::read_named(path)?,
        None => ("what was measured".to_owned(), typed(args)),
    };
    let noted = parse_readings(&name, &text, &game, tape.length_unit())
        .map_err(|faults| sheet::faults_error(&faults, "nothing was read back", output))?;
    let steps = Steps {
        placed_mm: args.placed_to.unwrap_or(tape.step_mm()),
        read_mm: args.read_to.unwrap_or(tape.step_mm()),
    };
    let found: Vec<ReadBack> = noted
        .iter()
        .map(|noted| read_back(&game, noted, tape, steps))
        .collect::<Result<_, _>>()
        .map_err(|why| CliError::Invalid(format!("error: {why}")))?;
    if found.is_empty() {
        return Err(CliError::Invalid(format!(
            "error: {name} holds no reading; one looks like R3: 41.5, 16, 49.5, 16"
        )));
    }
    output.result(&json!({ "units": found }), || {
        read_back_sheet(&game, &found, tape)
    })?;
    let is_off = |one: &&ReadBack| !one.reading.is_within_tolerance;
    match found.iter().filter(is_off).count() {
        0 => Ok(()),
        1 => Err(CliError::Mismatch(
            "a unit does not stand as recorded".to_owned(),
        )),
        some => Err(CliError::Mismatch(format!(
            "{some} units do not stand as recorded"
        ))),
    }
}

/// The command line as a line of a list.
fn typed(args: &PlacedArgs) -> String {
    let unit = args.unit.as_deref().unwrap_or_default();
    let from = args
        .from
        .as_ref()
        .map_or_else(String::new, |from| format!(" from {from}"));
    format!("{unit}: {}{from}", args.lengths.join(", "))
}
