//! `measure`: what an umpire would read off the table between two units.

use fieldpost_rules::orders::text::unit_meant;
use fieldpost_rules::referee;
use fieldpost_rules::view::measure_words::measurement;

use super::story::{Ask, Story};
use crate::failure::{Failure, Outcome};
use crate::out::{Out, in_colour};
use crate::typed::{Common, MeasureArgs};

/// Measures between two units.
///
/// # Errors
/// [`Failure::Usage`] when they cannot be measured.
pub fn measure(args: &MeasureArgs, common: &Common, out: Out) -> Outcome {
    let ask = if args.fresh {
        Ask::Server
    } else {
        Ask::IfNothingKept
    };
    let story = Story::at_hand(common, ask, out)?;
    let game = story.record.game_after(None)?;
    let unit = |typed: &str| {
        unit_meant(typed, &game).map_err(|fault| Failure::NotValid(fault.drawn(in_colour())))
    };
    let (first, second) = (unit(&args.first)?, unit(&args.second)?);
    let measured = referee::measure(&game, &first, &second)
        .map_err(|fault| Failure::Usage(fault.to_string()))?;
    out.result(&measured, || measurement(&measured).join("\n"))
}
