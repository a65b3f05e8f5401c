//! Orders that begin with what to do: `advance R2 80 mm`, `bombard B2 with the battery`.

use super::battles;
use super::cursor::Cursor;
use super::fault::Problem;
use super::roster::{Roster, Whose};
use super::several::list;
use super::tokens::{Kind, Token};
use super::units::unit_at;
use super::words::{self, Deed, WITH};
use crate::orders::Order;

/// A line that begins with what to do and then says who: its tokens, with who first; as they are where the first
/// one named is an enemy, to be attacked or fired at.
pub(super) fn imperative<'a>(cursor: &Cursor<'a>, roster: &Roster<'_>) -> Option<Vec<Token<'a>>> {
    const BETWEEN: &[&str] = &[
        "on", "out", "round", "around", "at", "up", "into", "off", "about", "back", "the", "in",
    ];
    let rest = cursor.rest();
    let begins = words::sense_of(rest).is_some() || words::deed_of(rest).is_some() || {
        let hand = rest
            .first()
            .is_some_and(|token| token.is_word(&["left", "right"]));
        hand && rest.get(1..).and_then(words::sense_of).is_some()
    };
    if !begins || roster.words_named(rest) > 0 {
        return None;
    }
    let is_verb = |token: &Token<'_>| match token.kind {
        Kind::Word => {
            words::is_soft(token)
                || words::begins_order(token)
                || token.is_word(BETWEEN)
                || token.text.starts_with(|c: char| c.is_ascii_digit())
                || unit_at(std::slice::from_ref(token)).is_some()
        }
        Kind::Mark => unit_at(std::slice::from_ref(token)).is_some() || token.is_mark(":"),
        Kind::Exact => false,
    };
    let at = (1..rest.len()).find(|at| {
        let tokens = &rest[*at..];
        tokens[0].kind == Kind::Exact || roster.words_named(tokens) > 0 || !is_verb(&tokens[0])
    })?;
    let mut list_end = cursor.ahead(at);
    let is_attack =
        words::deed_of(rest).is_some_and(|(deed, _)| matches!(deed, Deed::Attack | Deed::Fire));
    if is_attack {
        let mut whom = cursor.ahead(at);
        let unit = roster.unit(&mut whom, Whose::Enemy).ok()?;
        let side = roster.game.unit(&unit).map(|unit| unit.side);
        if side != Some(roster.side) {
            return Some(rest.to_vec());
        }
    }
    list(&mut list_end, roster, Whose::Own).ok()?;
    let end = list_end.at() - cursor.at();
    // "forward 80 with R2", "forward 80: R2"
    let joins = rest[at - 1].is_word(WITH) || rest[at - 1].is_mark(":");
    let verbs = &rest[..at - usize::from(joins)];
    let turned = rest[at..end].iter().chain(verbs).chain(&rest[end..]);
    Some(turned.cloned().collect())
}

/// `Shoot at B2 with Old Thunderers`, after the verb.
pub(super) fn fire_with(cursor: &mut Cursor<'_>, roster: &Roster<'_>) -> Result<Order, Problem> {
    let Order::Fire { target, .. } = battles::fire(cursor, roster, Vec::new())? else {
        return Err(cursor.expected("a target", "write \"red-7 fires at blue-2\""));
    };
    let _ = cursor.mark(",");
    if !(cursor.word(WITH) || cursor.word(&["by", "using", "from"])) {
        let remedy = "say which guns: \"red-7 fires at blue-2\", or \"fire at blue-2 with red-7\"";
        return Err(cursor.expected("\"with\" and which guns", remedy));
    }
    let guns = list(cursor, roster, Whose::Own)?;
    Ok(Order::Fire { guns, target })
}
