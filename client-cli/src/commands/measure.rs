//! `measure`, `reach`, `placing`: what an umpire or a player would read off a tape.

use fieldpost_rules::game::Game;
use fieldpost_rules::orders::UnitId;
use fieldpost_rules::orders::text::unit_meant;
use fieldpost_rules::referee;
use fieldpost_view::measure_words;
use fieldpost_view::placing::{TapeUnit, placing as entries, placing_sheet};
use serde_json::json;

use super::session::Refresh;
use crate::arguments::{CommonArgs, MeasureArgs, PlacingArgs, ReachArgs, Tape};
use crate::error::{CliError, CliResult};
use crate::output::Output;
use crate::render;

/// Measures between two units.
///
/// # Errors
/// [`CliError::Usage`] when they cannot be measured.
pub fn measure(args: &MeasureArgs, common: &CommonArgs, output: Output) -> CliResult {
    let refresh = Refresh::if_fresh(args.fresh);
    let game = args
        .source
        .position(args.moment, refresh, common, output)?
        .game;
    let (first, second) = (unit(&args.first, &game)?, unit(&args.second, &game)?);
    let measured = referee::measure(&game, &first, &second)
        .map_err(|fault| CliError::Usage(fault.to_string()))?;
    if args.pictures.any() {
        args.pictures
            .draw(&render::measured_svg(&game, &first, &second), output)?;
    }
    output.result(&measured, || {
        measure_words::measurement(&measured).join("\n")
    })
}

/// Shows what a unit can reach.
///
/// # Errors
/// [`CliError::Usage`] when it is not on the table.
pub fn reach(args: &ReachArgs, common: &CommonArgs, output: Output) -> CliResult {
    let refresh = Refresh::if_fresh(args.fresh);
    let game = args
        .source
        .position(args.moment, refresh, common, output)?
        .game;
    let id = unit(&args.unit, &game)?;
    let reach = referee::reach(&game, &id).map_err(|fault| CliError::Usage(fault.to_string()))?;
    if args.pictures.any() {
        args.pictures
            .draw(&render::reach_svg(&game, &reach), output)?;
    }
    output.result(&reach, || measure_words::reach(&reach, &game))
}

/// Tells how to lay the units out.
///
/// # Errors
/// When there is no such event.
pub fn placing(args: &PlacingArgs, common: &CommonArgs, output: Output) -> CliResult {
    let refresh = Refresh::if_fresh(args.fresh);
    let game = args
        .source
        .position(args.moment, refresh, common, output)?
        .game;
    let tape = TapeUnit::from(args.tape);
    output.result(&json!({ "units": entries(&game, tape) }), || {
        placing_sheet(&game, tape)
    })
}

impl From<Tape> for TapeUnit {
    fn from(tape: Tape) -> Self {
        match tape {
            Tape::Centimetres => Self::Centimetres,
            Tape::Inches => Self::Inches,
        }
    }
}

fn unit(typed: &str, game: &Game) -> CliResult<UnitId> {
    unit_meant(typed, game).map_err(|fault| CliError::Invalid(fault.sentence()))
}
