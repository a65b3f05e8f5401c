//! `try`: measuring a sheet without posting it.

use fieldpost_rules::game::Game;
use fieldpost_rules::orders::{Order, TurnSheet, UnitId};
use fieldpost_rules::referee::{self, Closing, judge_sheet};
use fieldpost_rules::verdict::{Ruling, SheetVerdict};

use super::position::Position;
use super::session::{GameSession, Refresh};
use crate::answers::TryAnswer;
use crate::arguments::{CommonArgs, OrderPictures, Trial, TryArgs};
use crate::error::{CliError, CliResult};
use crate::output::Output;
use crate::render;
use crate::sheet::{self, SheetText};
use crate::wire::{CheckSheet, Checked, Head};

/// Measures a sheet and says what the referee would.
///
/// # Errors
/// [`CliError::Invalid`] when the sheet cannot be read or is refused.
pub fn try_sheet(args: &TryArgs, common: &CommonArgs, output: Output) -> CliResult {
    if let Some(position) = args.source.named(args.trial.moment)? {
        return measure(&args.trial, &position, None, output);
    }
    let refresh = Refresh::if_fresh(args.fresh || args.on_server);
    let session = GameSession::open(common, refresh, output)?;
    if args.on_server {
        let game = session.record.game_after(None)?;
        let sheet = sheet::read(&args.trial.file.sheet, &game, output)?;
        return on_server(args, &session, &game, &sheet, output);
    }
    let own = session.own_side().map(str::to_owned);
    let position = Position::of_record(session.record, args.trial.moment)?;
    if !(args.fresh || output.quiet) {
        output.info(&format!(
            "measured on the table as seen last, after event {}",
            position.number
        ));
    }
    measure(&args.trial, &position, own.as_deref(), output)
}

/// Measures a sheet on a table; `own` is the side of the seat acted for.
///
/// # Errors
/// As [`try_sheet`].
pub fn measure(trial: &Trial, position: &Position, own: Option<&str>, output: Output) -> CliResult {
    let now = &position.game;
    let text = sheet::text(&trial.file.sheet)?;
    let ahead = trial.ahead || own.is_some_and(|own| waits_with(own, now, &text));
    let passed = ahead.then(|| turn_passed(now)).transpose()?;
    let game = passed.as_ref().unwrap_or(now);
    if ahead {
        output.info(&format!(
            "it is not your turn yet ({}): measured as your next turn, on the table as it is, as if no unit moved \
             until then. Whether the turn has come: fieldpost news",
            render::turn_line(now)
        ));
    }
    let sheet = sheet::parse(&text, game, output)?;
    let verdict = judge_sheet(game, &sheet);
    draw(&trial.pictures, game, &sheet, &verdict, output)?;
    answer(game, &position.head(), &sheet, &verdict, output)
}

/// The table as it would be if the side to move passed its turn: the waiting side's next turn is tried on it.
///
/// # Errors
/// [`CliError::Other`] when there would be no next turn.
fn turn_passed(game: &Game) -> CliResult<Game> {
    let mut passed = game.clone();
    // no dice are thrown, so that no secret matters
    let closing = Closing {
        attempt: None,
        secret: [0; 32],
        number: [0; 32],
        next_commitment: [0; 32],
        sealed: &[],
    };
    for event in referee::pass(game, "", &closing) {
        passed.apply(&event);
    }
    match passed.ending() {
        None => Ok(passed),
        Some(_) => Err(CliError::Other(
            "there is no next turn to try: the battle ends before it".to_owned(),
        )),
    }
}

/// Whether a seat waits for the other side and the sheet is its own. What the other side could do may be tried too: that
/// is a sheet for now.
fn waits_with(own: &str, game: &Game, text: &SheetText) -> bool {
    if game.ending().is_some() || game.player_side().0 == own {
        return false;
    }
    match text.parsed(game) {
        // it may be readable in one's own turn alone
        None => true,
        Some(sheet) => is_of_side(own, game, &sheet),
    }
}

/// Whether a sheet orders units of a side.
fn is_of_side(side: &str, game: &Game, sheet: &TurnSheet) -> bool {
    let of_side = |unit: &UnitId| {
        let known = game.unit(unit).map(|unit| game.side_id(unit.side));
        known.is_some_and(|known| known.0 == side)
    };
    // a battle may name own units as those attacked
    let acts = |order: &Order| match order {
        Order::Battle {
            attackers, guns, ..
        } => attackers.iter().chain(guns).any(of_side),
        Order::Fire { guns, .. } => guns.iter().any(of_side),
        other => other.units().into_iter().any(of_side),
    };
    sheet.side.0 == side || sheet.orders.iter().any(acts)
}

fn on_server(
    args: &TryArgs,
    session: &GameSession,
    game: &Game,
    sheet: &TurnSheet,
    output: Output,
) -> CliResult {
    let body = serde_json::to_vec(&CheckSheet { sheet })
        .map_err(|error| CliError::Other(format!("the sheet cannot be sent: {error}")))?;
    let path = format!("/v1/games/{}/check", session.context.game()?);
    let request = crate::api::ApiRequest::send(ureq::http::Method::POST, path, &body);
    let checked: Checked = session.client.send(&request)?.success()?.json()?;
    draw(&args.trial.pictures, game, sheet, &checked.verdict, output)?;
    output.result(&checked, || checked.words.clone())?;
    refused(&checked.verdict)
}

/// Says a verdict and turns a refusal into the exit code for it.
///
/// # Errors
/// [`CliError::Invalid`] when the sheet is refused.
pub fn answer(
    game: &Game,
    head: &Head,
    sheet: &TurnSheet,
    verdict: &SheetVerdict,
    output: Output,
) -> CliResult {
    output.result(
        &TryAnswer {
            head,
            sheet,
            verdict,
        },
        || {
            let words = render::verdict_words(game, verdict);
            if sheet.orders.is_empty() {
                return format!("The sheet orders nothing.\n{words}");
            }
            words
        },
    )?;
    refused(verdict)
}

/// A refusal as a failure.
fn refused(verdict: &SheetVerdict) -> CliResult {
    if verdict.verdict != Ruling::Refused {
        return Ok(());
    }
    Err(CliError::Invalid(
        "The sheet is refused as it stands; nothing was posted.".to_owned(),
    ))
}

/// Draws a tried sheet, or one of its orders.
///
/// # Errors
/// When a picture cannot be written, or the order asked for has nothing to draw.
pub fn draw(
    pictures: &OrderPictures,
    game: &Game,
    sheet: &TurnSheet,
    verdict: &SheetVerdict,
    output: Output,
) -> CliResult {
    if !pictures.files.any() {
        return Ok(());
    }
    let svg = render::tried_svg(game, sheet, verdict, pictures.order)
        .ok_or_else(|| nothing_to_draw(pictures.order))?;
    pictures.files.draw(&svg, output)
}

/// An order that has no picture.
#[must_use]
pub fn nothing_to_draw(order: Option<u16>) -> CliError {
    let number = order.unwrap_or(1);
    CliError::Usage(format!(
        "order {number} has nothing to draw: moves and battles have, counted from 1 in the sheet's order"
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_waiting_seats_sheet_is_for_its_next_turn() {
        let battle = fieldpost_rules::shipped::find("withy-bridge").expect("it comes with it");
        let game = Game::new(std::sync::Arc::new(battle.open().expect("it opens")));
        let waits = |own: &str, text: &str| {
            let text = SheetText {
                name: "orders.txt".to_owned(),
                text: text.to_owned(),
            };
            waits_with(own, &game, &text)
        };
        // it is red's turn
        assert!(waits("blue", "blue-chief: about\nblue-1: about"));
        assert!(waits("blue", "turn 1 blue"));
        // one's own turn, and what the other side could do
        assert!(!waits("red", "red-1: about"));
        assert!(!waits("blue", "red-1: about\nred-1 attacks blue-1"));
        let next = turn_passed(&game).expect("a next turn");
        assert_eq!(next.player_side().0, "blue");
        let places = |game: &Game| {
            game.units()
                .map(|unit| unit.state.clone())
                .collect::<Vec<_>>()
        };
        assert_eq!(places(&game), places(&next));
    }

    #[test]
    fn after_the_last_turn_there_is_none_to_try() {
        let battle = fieldpost_rules::shipped::find("withy-bridge").expect("it comes with it");
        let mut game = Game::new(std::sync::Arc::new(battle.open().expect("it opens")));
        let turns = 2 * game.scenario().game_turns;
        for _ in 1..turns {
            game = turn_passed(&game).expect("a next turn");
        }
        assert!(turn_passed(&game).is_err());
    }
}
