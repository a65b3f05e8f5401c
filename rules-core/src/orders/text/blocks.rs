//! Reading the block that bases form: so many abreast, so many deep, or a formation by name.

use super::clause::Clause;
use super::cursor::Cursor;
use super::fault::Problem;
use super::numerals;
use super::tokens::Kind;
use super::words::Sense;

const FORMATIONS: &[&str] = &["column", "columns", "line", "square", "lines", "squares"];

const WIDE: &[&str] = &["wide", "abreast", "files", "file", "across", "broad"];
const DEEP: &[&str] = &["deep", "ranks", "rank"];

/// Takes `in column` and `3 abreast` where no movement was named.
pub(super) fn formation(clause: &mut Clause, cursor: &mut Cursor<'_>) -> bool {
    let mut ahead = cursor.ahead(0);
    let counts = clause.sense.is_none() && number(&mut ahead).is_some() && {
        let _ = ahead.word(&["bases", "base"]);
        ahead.word(WIDE) || ahead.word(DEEP)
    };
    if counts && block(clause, cursor).is_ok() {
        clause.sense = Some(Sense::Reform);
        return true;
    }
    let found = clause.sense.is_none() && cursor.has(&[&["in", "into"], FORMATIONS]);
    if found {
        cursor.advance(2);
        clause.sense = Some(Sense::Reform);
        clause.formation = Some(cursor.here());
    }
    found
}

/// Takes `4x2`, `4 x 2`, `4 by 2`, `4 wide 2 deep`, `3 abreast`, `2 deep`, or a formation's name.
pub(super) fn block(clause: &mut Clause, cursor: &mut Cursor<'_>) -> Result<(), Problem> {
    let advice = "write bases abreast and deep, such as reform 4x2, reform 4 by 2 or form 4 wide";
    let count = |text: &str| text.parse::<u16>().ok().filter(|count| *count > 0);
    let mut ahead = cursor.ahead(0);
    while ahead.word(&[
        "to", "into", "in", "a", "an", "up", "as", "on", "frontage", "of", "front", "block",
    ]) {}
    if ahead.peek().is_some_and(|token| token.is_word(FORMATIONS)) {
        clause.formation = Some(ahead.here());
        ahead.advance(1);
        let _ = ahead.words(&[&["of"], &["march"]]);
        cursor.go_to(&ahead);
        return Ok(());
    }
    let bad = |cursor: &Cursor<'_>| Err(cursor.expected("files and ranks", advice));
    let Some(token) = ahead.peek().filter(|token| token.kind == Kind::Word) else {
        return bad(&ahead);
    };
    if let Some((files, ranks)) = token.text.split_once(['x', 'X', '×'])
        && let (Some(files), Some(ranks)) = (count(files), count(ranks))
    {
        ahead.advance(1);
        cursor.go_to(&ahead);
        clause.block = Some((Some(files), Some(ranks)));
        return Ok(());
    }
    let Some(first) = number(&mut ahead) else {
        return bad(&ahead);
    };
    let _ = ahead.word(&["bases", "base", "stands", "figures"]);
    if ahead.word(DEEP) {
        cursor.go_to(&ahead);
        clause.block = Some((None, Some(first)));
        return Ok(());
    }
    let is_wide = ahead.word(WIDE);
    let mut more = ahead.ahead(0);
    let by = more.word(&["x", "×", "by"]);
    let _ = more.mark(",") || more.word(&["and", "by"]);
    let second = number(&mut more);
    let _ = more.word(&["bases", "base", "stands"]);
    let deep = more.word(DEEP);
    if let Some(second) = second
        && (by || deep || !is_wide)
    {
        cursor.go_to(&more);
        clause.block = Some((Some(first), Some(second)));
    } else if is_wide {
        cursor.go_to(&ahead);
        clause.block = Some((Some(first), None));
    } else {
        return bad(&more);
    }
    Ok(())
}

/// A whole count in figures or words.
fn number(cursor: &mut Cursor<'_>) -> Option<u16> {
    let token = cursor.peek().filter(|token| token.kind == Kind::Word)?;
    if let Some(count) = token.text.parse::<u16>().ok().filter(|count| *count > 0) {
        cursor.advance(1);
        return Some(count);
    }
    let amount = numerals::spelled(cursor)?;
    let is_count = amount.fract() == 0.0 && (1.0..=1_000.0).contains(&amount);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a whole number from 1 to 1000"
    )]
    is_count.then_some(amount as u16)
}
