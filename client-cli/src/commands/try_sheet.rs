//! `try`: measuring a sheet without posting it.

use fieldpost_rules::game::Game;
use fieldpost_rules::orders::{Order, TurnSheet, UnitId};
use fieldpost_rules::referee::judge_sheet;
use fieldpost_rules::verdict::{Ruling, SheetVerdict};
use serde_json::json;

use super::session::{GameSession, Refresh};
use crate::arguments::{CommonArgs, OrderPictures, TryArgs};
use crate::error::{CliError, CliResult};
use crate::output::Output;
use crate::render;
use crate::sheet;
use crate::wire::{CheckSheet, Checked, Head};

/// Measures a sheet and says what the referee would.
///
/// # Errors
/// [`CliError::Invalid`] when the sheet cannot be read or is refused.
pub fn try_sheet(args: &TryArgs, common: &CommonArgs, output: Output) -> CliResult {
    let refresh = Refresh::if_fresh(args.fresh || args.on_server);
    let session = GameSession::open(common, refresh, output)?;
    let game = session.record.game_after(None)?;
    let sheet = sheet::read(&args.file.sheet, &game, output)?;
    if args.on_server {
        return on_server(args, &session, &game, &sheet, output);
    }
    if let Some(own) = session.own_side() {
        refuse_out_of_turn(own, &game, &sheet, args.fresh)?;
    }
    let head = session.record.head();
    if !(args.fresh || output.quiet) {
        output.info(&format!(
            "measured on the table as seen last, after event {}",
            head.number
        ));
    }
    let verdict = judge_sheet(&game, &sheet);
    draw(&args.pictures, &game, &sheet, &verdict, output)?;
    answer(&game, &head, &sheet, &verdict, output)
}

/// A sheet for a seat whose turn it is not would have every order refused for being of the other side:
/// that is said once, and where the turn may have come since. What the other side could do may be tried.
fn refuse_out_of_turn(own: &str, game: &Game, sheet: &TurnSheet, is_fresh: bool) -> CliResult {
    let player = game.player_side();
    let of_own = |unit: &UnitId| {
        let side = game.unit(unit).map(|unit| game.side_id(unit.side));
        side.is_some_and(|side| side.0 == own)
    };
    // a battle may name own units as those attacked
    let acts = |order: &Order| match order {
        Order::Battle {
            attackers, guns, ..
        } => attackers.iter().chain(guns).any(of_own),
        Order::Fire { guns, .. } => guns.iter().any(of_own),
        other => other.units().into_iter().any(of_own),
    };
    let is_own = sheet.side.0 == own || sheet.orders.iter().any(acts);
    if game.ending().is_some() || player.0 == own || !is_own {
        return Ok(());
    }
    let turn = render::turn_line(game);
    Err(CliError::Invalid(if is_fresh {
        format!("error: it is not your turn: {turn}.")
    } else {
        format!(
            "error: as seen last, it is not your turn: {turn}. Read the news first: fieldpost news \
             (or measure on the table as the server has it: --fresh)."
        )
    }))
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
    draw(&args.pictures, game, sheet, &checked.verdict, output)?;
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
        &json!({ "head": head, "sheet": sheet, "verdict": verdict }),
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
    use fieldpost_rules::orders::text::parse;

    use super::*;

    #[test]
    fn a_sheet_out_of_turn_is_refused_once_and_told_where_the_turn_may_be() {
        let battle = fieldpost_rules::shipped::find("withy-bridge").expect("it comes with it");
        let game = Game::new(std::sync::Arc::new(battle.open().expect("it opens")));
        let said = |own: &str, text: &str, is_fresh| {
            let sheet = parse("orders.txt", text, &game).expect("it can be read");
            let refused = refuse_out_of_turn(own, &game, &sheet, is_fresh).err();
            refused.map(|failure| format!("{failure:?}"))
        };
        let waits = said("blue", "blue-chief: about\nblue-1: about", false).expect("red's turn");
        assert!(
            waits.contains("not your turn") && waits.contains("fieldpost news"),
            "{waits}"
        );
        let fresh = said("blue", "turn 1 blue", true).expect("red's turn");
        assert!(!fresh.contains("fieldpost news"), "{fresh}");
        // one's own turn, and what the other side could do
        assert_eq!(said("red", "red-1: about", false), None);
        assert_eq!(
            said("blue", "red-1: about\nred-1 attacks blue-1", false),
            None
        );
    }
}
