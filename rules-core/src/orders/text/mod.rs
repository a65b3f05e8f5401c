//! Turn sheets and standing instructions as people type them.
//!
//! The language is described in `manual/orders.md`, whose examples are tests. One statement a
//! line, so that every faulty line is reported; forgiving in form, strict in meaning.

mod aim;
mod battles;
mod blocks;
mod clause;
mod cursor;
mod deeds;
mod fault;
mod imperative;
mod instructions;
mod legs;
mod limits;
mod meaning;
mod measure;
mod moves;
mod names;
mod numerals;
mod parts;
mod readings;
mod roster;
mod several;
mod statements;
mod subject;
#[cfg(test)]
mod tests;
mod tokens;
mod turning;
mod units;
mod words;

use self::cursor::Cursor;
use self::fault::Problem;
use self::roster::{Roster, Whose};
use self::tokens::{Kind, Token, bullet, tokens, without_comment};
use super::{SideId, TurnSheet, UnitId};
use crate::game::Game;

pub use self::fault::TextFault;
pub use self::instructions::parse_instructions;
pub use self::readings::{CornerReading, parse_readings};
pub(crate) use self::words::is_reserved;

/// The language explained, with examples.
pub const MANUAL: &str = include_str!("../../../manual/orders.md");

/// The longest text that is read, in bytes.
pub const TEXT_BYTES_MAX: usize = 256 * 1024;
/// The longest line that is read, in bytes.
const LINE_BYTES_MAX: usize = 4 * 1024;
/// The most orders of one sheet.
const ORDERS_MAX: usize = 2_000;
/// After so many faults the rest of the text is not read.
const FAULTS_MAX: usize = 50;

/// Reads a typed turn sheet for the game as it stands. Without a `turn` line it is for the turn
/// and the side whose turn it is. Units may be named by id, by name or by a short mark.
///
/// # Errors
/// Every faulty line, in order, each with its place, what is wrong and what would do.
pub fn parse(file_name: &str, text: &str, game: &Game) -> Result<TurnSheet, Vec<TextFault>> {
    let mut sheet = TurnSheet {
        game_turn: game.game_turn(),
        side: game.player_side(),
        orders: Vec::new(),
    };
    let mut roster = Roster::new(game, game.player());
    let mut has_header = false;
    let read = each_line(file_name, text, |cursor| {
        if let Some(turn) = header(cursor, game)? {
            if has_header || !sheet.orders.is_empty() {
                return Err(Problem::new(
                    cursor.since(0),
                    "the turn is named once, before the orders",
                    "take this line out, or move it to the top",
                ));
            }
            has_header = true;
            sheet.game_turn = turn.0;
            if let Some(side) = turn.1 {
                let index = game.side_index(&side).unwrap_or(game.player());
                roster = Roster::new(game, index);
                sheet.side = side;
            }
            return Ok(());
        }
        let too_many = Problem::new(
            cursor.here(),
            "there are too many orders",
            format!("a sheet holds at most {ORDERS_MAX}"),
        );
        if sheet.orders.len() >= ORDERS_MAX {
            return Err(too_many);
        }
        let orders = statements::orders(cursor, &roster, &sheet.orders)?;
        if sheet.orders.len() + orders.len() > ORDERS_MAX {
            return Err(too_many);
        }
        sheet.orders.extend(orders);
        Ok(())
    });
    match read {
        Ok(()) => Ok(sheet),
        Err(mut faults) => {
            for fault in &mut faults {
                fault.readings.retain(|line| is_read(line, &roster));
            }
            Err(faults)
        }
    }
}

/// Whether a line is read as orders.
fn is_read(line: &str, roster: &Roster<'_>) -> bool {
    let tokens = tokens(line);
    statements::orders(&mut Cursor::new(&tokens), roster, &[]).is_ok()
}

/// The unit that a person means by an id, a name, a mark or the start of one; of those that fit,
/// one of the side to move is taken first.
///
/// # Errors
/// When none fits, or several do.
pub fn unit_meant(text: &str, game: &Game) -> Result<UnitId, TextFault> {
    one_unit(text, game, Whose::Own)
}

/// As [`unit_meant`], for who favours neither side: where a unit of each fits, none is taken.
///
/// # Errors
/// When none fits, or several do.
pub fn unit_of_either(text: &str, game: &Game) -> Result<UnitId, TextFault> {
    one_unit(text, game, Whose::Either)
}

fn one_unit(text: &str, game: &Game, whose: Whose) -> Result<UnitId, TextFault> {
    let roster = Roster::new(game, game.player());
    let tokens = tokens(text);
    let mut cursor = Cursor::new(&tokens);
    let unit = roster.unit(&mut cursor, whose);
    unit.and_then(|unit| cursor.done("name one unit").map(|()| unit))
        .map_err(|problem| problem.in_line("the unit named", 1, text))
}

/// The side that a person means by its key, its name or the start of one.
///
/// # Errors
/// When none fits, or both do.
pub fn side_meant(text: &str, game: &Game) -> Result<SideId, TextFault> {
    let tokens = tokens(text);
    let mut cursor = Cursor::new(&tokens);
    let side = roster::side(&mut cursor, game);
    side.and_then(|side| cursor.done("name one side").map(|()| side))
        .map_err(|problem| problem.in_line("the side named", 1, text))
}

/// Reads `turn 3 blue`; `None` and nothing taken when the line is something else.
fn header(cursor: &mut Cursor<'_>, game: &Game) -> Result<Option<(u32, Option<SideId>)>, Problem> {
    let rest = cursor.rest();
    let skipped = usize::from(rest.first().is_some_and(|token| token.is_word(&["game"])));
    let (Some(word), number) = (rest.get(skipped), rest.get(skipped + 1)) else {
        return Ok(None);
    };
    let is_figure = |token: &Token<'_>| {
        token.kind == Kind::Word && token.text.starts_with(|c: char| c.is_ascii_digit())
    };
    if !word.is_word(&["turn"]) || !number.is_some_and(is_figure) {
        return Ok(None);
    }
    cursor.advance(skipped + 1);
    let turn = number.and_then(|token| token.text.parse::<u32>().ok());
    let turn = turn
        .filter(|turn| (1..=1_000_000).contains(turn))
        .ok_or_else(|| {
            cursor.expected(
                "the number of a game turn",
                "write \"turn 3\" or \"turn 3 blue\"",
            )
        })?;
    cursor.advance(1);
    let _ = cursor.mark(",") || cursor.mark(":");
    // a side may be called "for"
    let _ = cursor.rest().len() > 1 && cursor.word(&["for"]);
    if cursor.is_at_end() {
        return Ok(Some((turn, None)));
    }
    let side = roster::side(cursor, game)?;
    let _ = cursor.mark(":");
    cursor.done("write \"turn 3\" or \"turn 3 blue\"")?;
    Ok(Some((turn, Some(side))))
}

/// Hands every line that says something to `read` and gathers the faults.
fn each_line(
    file_name: &str,
    text: &str,
    mut read: impl FnMut(&mut Cursor<'_>) -> Result<(), Problem>,
) -> Result<(), Vec<TextFault>> {
    let whole = |problem: String, remedy: &str| {
        vec![Problem::new(0..1, problem, remedy).in_line(file_name, 1, "")]
    };
    if text.len() > TEXT_BYTES_MAX {
        return Err(whole(
            format!(
                "the text is {} bytes long, more than the {TEXT_BYTES_MAX} that are read",
                text.len()
            ),
            "a turn sheet is a page or two: is this the right file?",
        ));
    }
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut faults = Vec::new();
    for (index, line) in text.lines().enumerate() {
        let said = without_comment(line);
        let problem = if said.len() > LINE_BYTES_MAX {
            Err(Problem::new(
                0..1,
                format!("the line is {} bytes long", said.len()),
                format!("a line has at most {LINE_BYTES_MAX}; one order a line"),
            ))
        } else {
            let mut tokens = tokens(said);
            let bullet = bullet(said);
            tokens.retain(|token| token.span.start >= bullet);
            while tokens.last().is_some_and(|token| token.is_mark(";")) {
                tokens.pop();
            }
            let mut cursor = Cursor::new(&tokens);
            if cursor.is_at_end() {
                Ok(())
            } else {
                read(&mut cursor)
            }
        };
        if let Err(problem) = problem {
            // a long line is cut, but never before the place at fault
            let shown: String = if line.len() > LINE_BYTES_MAX {
                said.chars().take(LINE_BYTES_MAX).collect()
            } else {
                line.to_owned()
            };
            faults.push(problem.in_line(file_name, index + 1, &shown));
        }
        if faults.len() >= FAULTS_MAX {
            break;
        }
    }
    if faults.is_empty() {
        Ok(())
    } else {
        Err(faults)
    }
}
