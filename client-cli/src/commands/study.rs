//! `study`: a results table as chances and losses.

use std::path::Path;

use fieldpost_rules::authored;
use fieldpost_rules::ruleset::Ruleset;
use fieldpost_rules::shipped;
use fieldpost_study::{Chances, Force, Forces, StudyError};
use fieldpost_view::plot;

use crate::arguments::{StudyArgs, StudyCommand, StudyInput};
use crate::error::{CliError, CliResult};
use crate::output::{Output, text_columns, uses_colour};
use crate::storage::files;

/// Studies a results table.
///
/// # Errors
/// When the rules are not valid, or what is asked for does not fit their table.
pub fn study(args: &StudyArgs, output: Output) -> CliResult {
    match &args.command {
        StudyCommand::Table { studied, pictures } => {
            let (name, chances) = chances(studied)?;
            if pictures.any() {
                pictures.draw(&plot::plot_svg(&chances, &name), output)?;
            }
            output.result(&chances, || fieldpost_study::chances_in_words(&chances))
        }
        StudyCommand::Plot {
            studied,
            width,
            pictures,
        } => {
            let (name, chances) = chances(studied)?;
            pictures.answer(
                || plot::plot_svg(&chances, &name),
                &chances,
                || plot::plot_text(&chances, text_columns(*width)),
                output,
            )
        }
        StudyCommand::Shift {
            studied,
            columns,
            aim,
        } => {
            let (_, chances) = chances(studied)?;
            let worth = fieldpost_study::worth_of_shift(&chances, *columns, (*aim).into());
            output.result(&worth, || fieldpost_study::worth_in_words(&worth))
        }
        StudyCommand::Multiplier {
            studied,
            factor,
            defence,
            aim,
        } => {
            let (_, chances) = chances(studied)?;
            let worth =
                fieldpost_study::worth_of_multiplier(&chances, *factor, *defence, (*aim).into());
            let worth = worth.map_err(usage)?;
            output.result(&worth, || fieldpost_study::worth_in_words(&worth))
        }
        StudyCommand::Chain {
            studied,
            columns,
            aim,
        } => {
            let (_, chances) = chances(studied)?;
            let columns =
                fieldpost_study::columns_of(&chances, &columns.join(" ")).map_err(usage)?;
            let chain = fieldpost_study::chain(&chances, &columns, (*aim).into()).map_err(usage)?;
            output.result(&chain, || fieldpost_study::chain_in_words(&chain))
        }
        StudyCommand::Compare {
            studied,
            other,
            aim,
        } => {
            let forces = forces(studied)?;
            let (first, second) = (rules(&studied.rules)?, rules(other)?);
            let compared = fieldpost_study::compare(
                &counted(&first, forces.as_ref())?,
                &counted(&second, forces.as_ref())?,
                (*aim).into(),
            )
            .map_err(usage)?;
            output.result(&compared, || {
                fieldpost_study::comparison_in_words(&compared, &first.name, &second.name)
            })
        }
    }
}

/// The ruleset's name and its table, studied.
fn chances(studied: &StudyInput) -> CliResult<(String, Chances)> {
    let forces = forces(studied)?;
    let ruleset = rules(&studied.rules)?;
    let chances = counted(&ruleset, forces.as_ref())?;
    Ok((ruleset.name, chances))
}

fn counted(ruleset: &Ruleset, forces: Option<&Forces>) -> CliResult<Chances> {
    fieldpost_study::chances(&ruleset.results, forces)
        .map_err(|error| CliError::Invalid(format!("error: {error}")))
}

/// Rules of a file, or shipped ones by their key; a file of that name comes first.
fn rules(path: &Path) -> CliResult<Ruleset> {
    let key = path.to_str().unwrap_or_default();
    let (name, text) = match shipped::find_ruleset(key) {
        Some(ruleset) if !path.exists() => (ruleset.file_name(), ruleset.text.to_owned()),
        _ => files::read_named(path)?,
    };
    authored::read_ruleset(&name, &text)
        .map_err(|faults| CliError::Invalid(faults.rendered(uses_colour())))
}

fn forces(studied: &StudyInput) -> CliResult<Option<Forces>> {
    match (&studied.attacker, &studied.defender) {
        (Some(attacker), Some(defender)) => Ok(Some(Forces {
            attacker: force(attacker)?,
            defender: force(defender)?,
        })),
        _ => Ok(None),
    }
}

/// Reads `2x4` or `2x4x1.5`: units, bases of each, strength of a base.
fn force(text: &str) -> CliResult<Force> {
    let fault = || {
        CliError::Usage(format!(
            "{text:?} is not a force; write units x bases, such as 2x4, or with the strength of a base, 2x4x1.5"
        ))
    };
    let parts: Vec<&str> = text.split(['x', 'X', '×']).map(str::trim).collect();
    let (units, bases, strength) = match parts.as_slice() {
        [units, bases] => (units, bases, "1"),
        [units, bases, strength] => (units, bases, *strength),
        _ => return Err(fault()),
    };
    let whole = |part: &str| part.parse::<u32>().map_err(|_| fault());
    let strength = strength.parse::<f64>().map_err(|_| fault())?;
    Force::new(whole(units)?, whole(bases)?, strength).map_err(usage)
}

fn usage(error: StudyError) -> CliError {
    CliError::Usage(error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn forces_are_read_as_people_write_them() {
        assert_eq!(force("2x4").unwrap(), Force::new(2, 4, 1.0).unwrap());
        assert_eq!(
            force("2 × 4 X 1.5").unwrap(),
            Force::new(2, 4, 1.5).unwrap()
        );
        for bad in ["", "2", "x", "0x4", "2x4x0", "2x4xNaN", "-1x4", "2x4x1x1"] {
            assert_eq!(force(bad).unwrap_err().exit_code(), 2, "{bad}");
        }
    }
}
