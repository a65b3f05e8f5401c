//! Standing instructions as people type them.

use super::cursor::Cursor;
use super::each_line;
use super::fault::{Problem, TextFault};
use super::parts::hand;
use super::roster::{Roster, Whose};
use super::tokens::Token;
use super::words::{EVERYONE, FOLLOW, GIVE, HOLD};
use crate::game::Game;
use crate::orders::{Hand, Instruction, Instructions, SideId, UnitId};

const ADVICE: &str = "write \"all hold\" or \"red-4 follows up, gives way left\"";

/// What one line says; what it leaves open stays as for all.
#[derive(Default, Clone, Copy)]
struct Said {
    follow_up: Option<bool>,
    give_way: Option<Option<Hand>>,
}

/// Reads the standing instructions of a side. A unit's line decides what it names; the rest is
/// as for all. Units not named do as for all; without an `all` line they hold.
///
/// # Errors
/// Every faulty line, in order.
pub fn parse_instructions(
    file_name: &str,
    text: &str,
    game: &Game,
    side: &SideId,
) -> Result<Instructions, Vec<TextFault>> {
    let roster = Roster::new(game, game.side_index(side).unwrap_or(game.player()));
    let mut all: Option<Said> = None;
    let mut units: Vec<(UnitId, Said)> = Vec::new();
    each_line(file_name, text, |cursor| {
        let named_twice = |cursor: &Cursor<'_>| {
            Problem::new(
                cursor.since(0),
                "this was laid down on an earlier line",
                "keep one of the two lines",
            )
        };
        if is_for_all(cursor, &roster) {
            cursor.advance(1);
            let twice = named_twice(cursor);
            let said = said(cursor)?;
            return all.replace(said).map_or(Ok(()), |_| Err(twice));
        }
        let unit = roster.unit(cursor, Whose::Own)?;
        if units.iter().any(|(named, _)| *named == unit) {
            return Err(named_twice(cursor));
        }
        units.push((unit, said(cursor)?));
        Ok(())
    })?;
    let filled = |said: Said, rest: Instruction| Instruction {
        follow_up: said.follow_up.unwrap_or(rest.follow_up),
        give_way: said.give_way.unwrap_or(rest.give_way),
    };
    let all = filled(all.unwrap_or_default(), Instruction::default());
    let units = units.into_iter();
    Ok(Instructions {
        all,
        units: units
            .map(|(unit, said)| (unit, filled(said, all)))
            .collect(),
    })
}

/// Whether the line begins with `all` and not with a unit of that name, which takes brackets.
fn is_for_all(cursor: &Cursor<'_>, roster: &Roster<'_>) -> bool {
    let rest = cursor.rest();
    let is_all = rest.first().is_some_and(|token| token.is_word(EVERYONE));
    let says = |token: &Token<'_>| {
        token.is_mark(":") || [HOLD, FOLLOW, GIVE].iter().any(|verb| token.is_word(verb))
    };
    is_all && (rest.get(1).is_some_and(says) || roster.words_named(rest) == 0)
}

fn said(cursor: &mut Cursor<'_>) -> Result<Said, Problem> {
    let mut said = Said::default();
    let _ = cursor.mark(":");
    loop {
        if said.follow_up.is_none() && cursor.word(HOLD) {
            while cursor.word(&["ground", "its", "their", "the", "position"]) {}
            said.follow_up = Some(false);
        } else if said.follow_up.is_none() && cursor.word(FOLLOW) {
            if !cursor.word(&["up"]) {
                return Err(cursor.expected("\"up\"", ADVICE));
            }
            said.follow_up = Some(true);
        } else if said.give_way.is_none() && cursor.word(GIVE) {
            said.give_way = Some(way(cursor)?);
        } else {
            return Err(
                cursor.expected("\"hold\", \"follow up\" or \"give way\", each once", ADVICE)
            );
        }
        if cursor.is_at_end() {
            return Ok(said);
        }
        if !(cursor.mark(";") || cursor.joint()) {
            return Err(cursor.expected("a comma or the end of the line", ADVICE));
        }
    }
}

/// `left`, `right`, or `either side` for no preference.
fn way(cursor: &mut Cursor<'_>) -> Result<Option<Hand>, Problem> {
    if !cursor.word(&["way", "ground"]) {
        return Err(cursor.expected("\"way\"", ADVICE));
    }
    let _ = cursor.word(&["to"]);
    let _ = cursor.word(&["the"]);
    if cursor.word(&["either"]) {
        let _ = cursor.word(&["side", "way"]);
        return Ok(None);
    }
    match hand(cursor) {
        Some(hand) => Ok(Some(hand)),
        None => Err(cursor.expected("left, right or either side", ADVICE)),
    }
}
