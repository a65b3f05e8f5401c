//! `measure`, `reach`, `placing`: what an umpire or a player would read off a tape.

use fieldpost_rules::game::Game;
use fieldpost_rules::orders::UnitId;
use fieldpost_rules::orders::text::unit_meant;
use fieldpost_rules::referee;
use fieldpost_view::measure_words;
use fieldpost_view::placing::{TapeUnit, placing as entries, placing_sheet};
use serde_json::json;

use super::story::Ask;
use crate::failure::{Failure, Outcome};
use crate::out::{Out, in_colour};
use crate::shown;
use crate::typed::{Common, MeasureArgs, PlacingArgs, ReachArgs, Tape};

/// Measures between two units.
///
/// # Errors
/// [`Failure::Usage`] when they cannot be measured.
pub fn measure(args: &MeasureArgs, common: &Common, out: Out) -> Outcome {
    let ask = Ask::only_if(args.fresh);
    let game = args.source.told(args.after, ask, common, out)?.game;
    let (first, second) = (unit(&args.first, &game)?, unit(&args.second, &game)?);
    let measured = referee::measure(&game, &first, &second)
        .map_err(|fault| Failure::Usage(fault.to_string()))?;
    if args.pictures.any() {
        args.pictures
            .draw(&shown::measured_svg(&game, &first, &second), out)?;
    }
    out.result(&measured, || {
        measure_words::measurement(&measured).join("\n")
    })
}

/// Shows what a unit can reach.
///
/// # Errors
/// [`Failure::Usage`] when it is not on the table.
pub fn reach(args: &ReachArgs, common: &Common, out: Out) -> Outcome {
    let ask = Ask::only_if(args.fresh);
    let game = args.source.told(args.after, ask, common, out)?.game;
    let id = unit(&args.unit, &game)?;
    let reach = referee::reach(&game, &id).map_err(|fault| Failure::Usage(fault.to_string()))?;
    if args.pictures.any() {
        args.pictures.draw(&shown::reach_svg(&game, &reach), out)?;
    }
    out.result(&reach, || measure_words::reach(&reach, &game))
}

/// Tells how to lay the units out.
///
/// # Errors
/// When there is no such event.
pub fn placing(args: &PlacingArgs, common: &Common, out: Out) -> Outcome {
    let ask = Ask::only_if(args.fresh);
    let game = args.source.told(args.after, ask, common, out)?.game;
    let tape = TapeUnit::from(args.tape);
    out.result(&json!({ "units": entries(&game, tape) }), || {
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

fn unit(typed: &str, game: &Game) -> Outcome<UnitId> {
    unit_meant(typed, game).map_err(|fault| Failure::NotValid(fault.drawn(in_colour())))
}
