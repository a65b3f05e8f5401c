//! Reading all legs of a move: clause by clause, what belongs together put together.

use super::clause::Clause;
use super::cursor::Cursor;
use super::fault::Problem;
use super::parts::{clause, hand_of};
use super::roster::{Roster, Whose};
use super::several::rest as rest_of_the_side;
use super::tokens::{Kind, Token};
use super::words::{self, EVERYONE, Sense};

/// Words that end a leg.
const THEN: &[&str] = &["then", "and", "afterwards"];
/// Reads all legs of a line up to its end, another order, or something that is no part of a leg.
pub(super) fn clauses(
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
) -> Result<Vec<Clause>, Problem> {
    let mut found: Vec<Clause> = Vec::new();
    let mut parted = true;
    loop {
        let mut clause = clause(cursor, roster)?;
        clause.parted = parted;
        if clause.is_empty() {
            return if found.is_empty() {
                Ok(found)
            } else {
                Err(no_leg(cursor))
            };
        }
        add(&mut found, clause);
        if cursor.is_at_end() {
            return Ok(found);
        }
        let mut ahead = cursor.ahead(0);
        parted = separator(&mut ahead);
        if parted && begins_other_order(&ahead, roster) {
            return Ok(found);
        }
        if !parted && words::sense_of(ahead.rest()).is_none() && hand_of(ahead.peek()).is_none() {
            return Ok(found);
        }
        cursor.go_to(&ahead);
    }
}

const LEG_ADVICE: &str =
    "legs are forward, back, sidestep, oblique, wheel, turn, about, align and reform";

/// What is next begins no leg.
pub(super) fn no_leg(cursor: &Cursor<'_>) -> Problem {
    let typed = cursor.peek().map_or("", |token| token.text);
    let usual = words::LEGS.iter().map(|(usual, _)| *usual);
    let near = words::suggestion(typed, usual.chain(words::others()));
    cursor.expected("a leg", format!("{LEG_ADVICE}{near}"))
}

/// Adds a clause, or what it says to the clause before: `left wheel, 10 degrees`, `80 mm straight ahead`.
fn add(found: &mut Vec<Clause>, clause: Clause) {
    if let Some(last) = found.last_mut() {
        let completes = clause.sense.is_none() && last.is_open();
        let repeats = !clause.parted
            && clause.says_no_more()
            && clause.side.is_none()
            && match clause.sense {
                Some(Sense::Go) => true,
                Some(sense) => last.sense == Some(sense),
                None => false,
            };
        if completes || repeats {
            last.take_in(clause);
            return;
        }
        // "forward 40 and halt"
        let halts = clause.sense == Some(Sense::Stand) && clause.says_no_more();
        if halts && last.sense != Some(Sense::Stand) {
            return;
        }
    }
    found.push(clause);
}

/// Takes what parts legs.
fn separator(cursor: &mut Cursor<'_>) -> bool {
    let from = cursor.at();
    loop {
        let mark = cursor.mark(",") || cursor.mark(";") || cursor.mark("&") || cursor.mark("+");
        let dash = !mark && cursor.peek().is_some_and(Token::is_dash);
        if dash {
            cursor.advance(1);
        }
        let word = cursor.words(&[&["after"], &["that"]])
            || cursor.words(&[&["followed"], &["by"]])
            || cursor.word(THEN);
        if !(mark || dash || word) {
            return cursor.at() > from;
        }
        if cursor.is_at_end() {
            return true;
        }
    }
}

/// Whether what comes after a comma is no leg but an attack, or another unit's order.
fn begins_other_order(cursor: &Cursor<'_>, roster: &Roster<'_>) -> bool {
    let rest = cursor.rest();
    let Some(first) = rest.first() else {
        return false;
    };
    if first.kind == Kind::Exact {
        return true;
    }
    if words::deed_of(rest).is_some() {
        return true;
    }
    if first.is_word(EVERYONE) || rest_of_the_side(&mut cursor.ahead(0), roster) {
        return true;
    }
    // "gren: about; lancers: forward 40"
    let mut named = cursor.ahead(0);
    let after_semicolon = cursor.before().is_some_and(|token| token.is_mark(";"));
    if after_semicolon && roster.unit(&mut named, Whose::Own).is_ok() {
        let next = named.rest();
        return next.first().is_some_and(|token| token.is_mark(":"))
            || words::sense_of(next).is_some()
            || words::deed_of(next).is_some();
    }
    let hides = words::begins_order(first) || words::is_soft(first);
    let starts_with_figure = first.text.starts_with(|c: char| c.is_ascii_digit());
    !hides && !starts_with_figure && first.kind == Kind::Word && roster.words_named(rest) > 0
}
