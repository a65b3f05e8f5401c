//! `placed`: a unit's place read back off a real table.

use fieldpost_rules::orders::text::parse_readings;
use fieldpost_view::placing::{ReadBack, Steps, TapeUnit, read_back, read_back_sheet};
use serde_json::json;

use super::story::Ask;
use crate::failure::{Failure, Outcome};
use crate::keep::files;
use crate::out::Out;
use crate::sheet;
use crate::typed::{Common, PlacedArgs};

/// Reads units back and compares them with the record.
///
/// # Errors
/// [`Failure::NotValid`] when a reading cannot be read, [`Failure::Mismatch`] when a unit does not stand as recorded.
pub fn placed(args: &PlacedArgs, common: &Common, out: Out) -> Outcome {
    let ask = Ask::only_if(args.fresh);
    let game = args.source.told(args.after, ask, common, out)?.game;
    let tape = TapeUnit::from(args.tape);
    let (name, text) = match &args.list {
        Some(path) => files::read_named(path)?,
        None => ("what was measured".to_owned(), typed(args)),
    };
    let noted = parse_readings(&name, &text, &game, tape.length_unit())
        .map_err(|faults| sheet::told(&faults, "nothing was read back", out))?;
    let steps = Steps {
        placed_mm: args.placed_to.unwrap_or(tape.step_mm()),
        read_mm: args.read_to.unwrap_or(tape.step_mm()),
    };
    let found: Vec<ReadBack> = noted
        .iter()
        .map(|noted| read_back(&game, noted, tape, steps))
        .collect::<Result<_, _>>()
        .map_err(|why| Failure::NotValid(format!("error: {why}")))?;
    if found.is_empty() {
        return Err(Failure::NotValid(format!(
            "error: {name} holds no reading; one looks like R3: 41.5, 16, 49.5, 16"
        )));
    }
    out.result(&json!({ "units": found }), || {
        read_back_sheet(&game, &found, tape)
    })?;
    let is_off = |one: &&ReadBack| !one.reading.is_within_tolerance;
    match found.iter().filter(is_off).count() {
        0 => Ok(()),
        1 => Err(Failure::Mismatch(
            "a unit does not stand as recorded".to_owned(),
        )),
        some => Err(Failure::Mismatch(format!(
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
