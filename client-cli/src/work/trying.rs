//! `try`: measuring a sheet without posting it.

use fieldpost_rules::game::Game;
use fieldpost_rules::orders::{Order, TurnSheet, UnitId};
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
    if let Some(own) = story.own_side() {
        refuse_out_of_turn(own, &game, &sheet, args.fresh)?;
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

/// A sheet for a seat whose turn it is not would have every order refused for being of the other side:
/// that is said once, and where the turn may have come since. What the other side could do may be tried.
fn refuse_out_of_turn(own: &str, game: &Game, sheet: &TurnSheet, is_fresh: bool) -> Outcome {
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
    let turn = shown::turn_line(game);
    Err(Failure::NotValid(if is_fresh {
        format!("error: it is not your turn: {turn}.")
    } else {
        format!(
            "error: as seen last, it is not your turn: {turn}. Read the news first: fieldpost news \
             (or measure on the table as the server has it: --fresh)."
        )
    }))
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
