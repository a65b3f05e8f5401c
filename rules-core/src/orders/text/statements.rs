//! Reading the orders of one line: who, and what they do.

use std::collections::BTreeSet;

use super::battles;
use super::cursor::Cursor;
use super::deeds::deeds;
use super::fault::Problem;
use super::imperative::{fire_with, imperative};
use super::moves::moves;
use super::roster::{Roster, Whose};
use super::several::{begins_predicate, list, rest};
use super::subject::{Subject, manner};
use super::tokens::Token;
use super::words::{self, Deed, EVERYONE, TOGETHER};
use crate::orders::{Order, UnitId};

/// Words before who is ordered that order nothing.
const COURTESY: &[&str] = &[
    "i", "i'd", "i’d", "want", "would", "like", "please", "let", "have", "order", "orders", "then",
    "now", "and", "also", "next",
];
/// Reads the orders of a whole line. `before` are those of the lines before it.
pub(super) fn orders(
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
    before: &[Order],
) -> Result<Vec<Order>, Problem> {
    let mut found: Vec<Order> = Vec::new();
    loop {
        let earlier: Vec<&Order> = before.iter().chain(&found).collect();
        let orders = statement(cursor, roster, &earlier)?;
        found.extend(orders);
        if cursor.is_at_end() {
            return Ok(found);
        }
        let parted = cursor.mark(";") || cursor.mark(",");
        let then = cursor.word(&["and", "then"]);
        if !(parted || then) || cursor.is_at_end() {
            cursor.done("one order a line, or several parted by semicolons")?;
        }
    }
}

fn statement(
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
    before: &[&Order],
) -> Result<Vec<Order>, Problem> {
    while roster.words_named(cursor.rest()) == 0 && cursor.word(COURTESY) {}
    if cursor.word(TOGETHER) {
        let _ = cursor.mark(":") || cursor.mark(",");
        let mut subject = Subject::of(list(cursor, roster, Whose::Own)?);
        subject.together = true;
        return predicate(cursor, roster, subject);
    }
    if rest(cursor, roster) {
        let named: BTreeSet<&UnitId> = before.iter().flat_map(|order| order.units()).collect();
        let mut subject = Subject::of(roster.standing(|unit| !named.contains(&unit.id)));
        (subject.each, subject.rest) = (true, true);
        return predicate(cursor, roster, subject);
    }
    if let Some(turned) = imperative(cursor, roster) {
        let mut inner = Cursor::new(&turned);
        let deed = words::deed_of(inner.rest());
        let orders = match deed {
            Some((Deed::Attack, words)) => {
                inner.advance(words);
                vec![battles::attack_with(&mut inner, roster)?]
            }
            Some((Deed::Fire, words)) => {
                inner.advance(words);
                vec![fire_with(&mut inner, roster)?]
            }
            _ => statement(&mut inner, roster, before)?,
        };
        cursor.advance(inner.at());
        return Ok(orders);
    }
    let says_each =
        |token: &Token<'_>| token.is_word(EVERYONE) || token.is_word(&["each", "every"]);
    let each = cursor.peek().is_some_and(says_each);
    let mut subject = Subject::of(list(cursor, roster, Whose::Own)?);
    subject.each = each;
    predicate(cursor, roster, subject)
}

/// Reads what the units do, from their names on.
fn predicate(
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
    mut subject: Subject,
) -> Result<Vec<Order>, Problem> {
    let _ = colon(cursor, roster);
    manner(cursor, &mut subject);
    let mut found = Vec::new();
    loop {
        let deed = words::deed_of(cursor.rest());
        let orders = match deed {
            Some((deed, words)) => {
                let from = cursor.at();
                cursor.advance(words);
                deeds(cursor, roster, &subject, deed, from)?
            }
            None => moves(cursor, roster, &mut subject)?,
        };
        found.extend(orders);
        let mut ahead = cursor.ahead(0);
        let parted = ahead.mark(",") || ahead.mark(";");
        let and = ahead.word(&["and"]);
        let then = ahead.word(&["then"]);
        let goes_on = words::deed_of(ahead.rest()).is_some();
        if !goes_on || !(parted || and || then || deed.is_none()) {
            return Ok(found);
        }
        cursor.go_to(&ahead);
    }
}

/// Takes a colon, a dash, or a comma before what is done.
fn colon(cursor: &mut Cursor<'_>, roster: &Roster<'_>) -> bool {
    if cursor.mark(":") {
        return true;
    }
    if cursor.peek().is_some_and(Token::is_dash) {
        cursor.advance(1);
        return true;
    }
    let ahead = cursor.ahead(1);
    begins_predicate(&ahead, roster, Whose::Own) && cursor.mark(",")
}
