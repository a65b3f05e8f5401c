//! `try`: measuring a sheet without posting it.

use fieldpost_rules::game::Game;
use fieldpost_rules::orders::TurnSheet;
use fieldpost_rules::referee::judge_sheet;
use fieldpost_rules::verdict::{Ruling, SheetVerdict};
use serde_json::json;

use super::story::{Ask, Story};
use crate::failure::{Failure, Outcome};
use crate::out::Out;
use crate::sheet;
use crate::shown;
use crate::typed::{Common, OrderPictures, TryArgs};
use crate::wire::{CheckSheet, Checked, Head};

/// Measures a sheet and says what the referee would.
///
/// # Errors
/// [`Failure::NotValid`] when the sheet cannot be read or is refused.
pub fn try_sheet(args: &TryArgs, common: &Common, out: Out) -> Outcome {
    let ask = Ask::only_if(args.fresh || args.on_server);
    let story = Story::at_hand(common, ask, out)?;
    let game = story.record.game_after(None)?;
    let sheet = sheet::read(&args.file.sheet, &game, out)?;
    if args.on_server {
        return on_server(args, &story, &game, &sheet, out);
    }
    let head = story.record.head();
    if !(args.fresh || out.quiet) {
        out.remark(&format!(
            "measured on the table as seen last, after event {}",
            head.number
        ));
    }
    let verdict = judge_sheet(&game, &sheet);
    draw(&args.pictures, &game, &sheet, &verdict, out)?;
    answer(&game, &head, &sheet, &verdict, out)
}

fn on_server(args: &TryArgs, story: &Story, game: &Game, sheet: &TurnSheet, out: Out) -> Outcome {
    let body = serde_json::to_vec(&CheckSheet { sheet })
        .map_err(|error| Failure::Plain(format!("the sheet cannot be sent: {error}")))?;
    let path = format!("/v1/games/{}/check", story.meant.game()?);
    let ask = crate::office::Ask::send(ureq::http::Method::POST, path, &body);
    let checked: Checked = story.office.ask(&ask)?.accepted()?.json()?;
    draw(&args.pictures, game, sheet, &checked.verdict, out)?;
    out.result(&checked, || checked.words.clone())?;
    refused(&checked.verdict)
}

/// Says a verdict and turns a refusal into the exit code for it.
///
/// # Errors
/// [`Failure::NotValid`] when the sheet is refused.
pub fn answer(
    game: &Game,
    head: &Head,
    sheet: &TurnSheet,
    verdict: &SheetVerdict,
    out: Out,
) -> Outcome {
    out.result(
        &json!({ "head": head, "sheet": sheet, "verdict": verdict }),
        || {
            let words = shown::verdict_words(game, verdict);
            if sheet.orders.is_empty() {
                return format!("The sheet orders nothing.\n{words}");
            }
            words
        },
    )?;
    refused(verdict)
}

/// A refusal as a failure.
fn refused(verdict: &SheetVerdict) -> Outcome {
    if verdict.verdict != Ruling::Refused {
        return Ok(());
    }
    Err(Failure::NotValid(
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
    out: Out,
) -> Outcome {
    if !pictures.files.any() {
        return Ok(());
    }
    let svg = shown::tried_svg(game, sheet, verdict, pictures.order)
        .ok_or_else(|| nothing_to_draw(pictures.order))?;
    pictures.files.draw(&svg, out)
}

/// An order that has no picture.
#[must_use]
pub fn nothing_to_draw(order: Option<u16>) -> Failure {
    let number = order.unwrap_or(1);
    Failure::Usage(format!(
        "order {number} has nothing to draw: moves and battles have, counted from 1 in the sheet's order"
    ))
}
