//! Numbers in words: `three`, `twenty-five`, `half a`, `one and a half`, `three quarters of an`.

use super::cursor::Cursor;
use super::tokens::{Kind, Token};
use super::units::unit_at;

const CARDINALS: [(&str, f64); 28] = [
    ("zero", 0.0),
    ("one", 1.0),
    ("two", 2.0),
    ("three", 3.0),
    ("four", 4.0),
    ("five", 5.0),
    ("six", 6.0),
    ("seven", 7.0),
    ("eight", 8.0),
    ("nine", 9.0),
    ("ten", 10.0),
    ("eleven", 11.0),
    ("twelve", 12.0),
    ("thirteen", 13.0),
    ("fourteen", 14.0),
    ("fifteen", 15.0),
    ("sixteen", 16.0),
    ("seventeen", 17.0),
    ("eighteen", 18.0),
    ("nineteen", 19.0),
    ("twenty", 20.0),
    ("thirty", 30.0),
    ("forty", 40.0),
    ("fifty", 50.0),
    ("sixty", 60.0),
    ("seventy", 70.0),
    ("eighty", 80.0),
    ("ninety", 90.0),
];

const PARTS: [(&[&str], f64); 3] = [
    (&["half", "halves"], 2.0),
    (&["third", "thirds"], 3.0),
    (&["quarter", "quarters"], 4.0),
];

const A: &[&str] = &["a", "an"];
const ARTICLES: &[&str] = &["a", "an", "one"];

/// Reads a number in words, if one is next. `a` and parts such as `half` are numbers only before what can be counted:
/// `half right` is none.
pub(super) fn spelled(cursor: &mut Cursor<'_>) -> Option<f64> {
    part_of_one(cursor).or_else(|| whole(cursor)).or_else(|| {
        let counts = cursor.rest().get(1..).and_then(unit_at).is_some();
        (counts && cursor.word(A)).then_some(1.0)
    })
}

/// Reads `and a half`, `and three quarters`, if it is next and is no half of a turn.
pub(super) fn and_a_part(cursor: &mut Cursor<'_>) -> Option<f64> {
    let mut ahead = cursor.ahead(0);
    if !ahead.word(&["and"]) {
        return None;
    }
    let (above, below) = match ahead.peek().and_then(|token| written_part(token.text)) {
        Some(part) => part,
        None => {
            let above = count_of_parts(&mut ahead);
            (above, part(ahead.peek()?)?)
        }
    };
    ahead.advance(1);
    let goes_on = ahead.peek().is_some_and(|token| {
        token.kind == Kind::Word
            && unit_at(ahead.rest()).is_none()
            && !token.is_word(&["then", "and"])
    });
    if goes_on {
        return None;
    }
    cursor.go_to(&ahead);
    Some(above / below)
}

/// `half a`, `half`, `a quarter of an`, `two thirds of a`, before what is counted.
fn part_of_one(cursor: &mut Cursor<'_>) -> Option<f64> {
    let mut ahead = cursor.ahead(0);
    let (above, below) = match ahead.peek().and_then(|token| hyphenated_part(token.text)) {
        Some(part) => part,
        None => {
            let above = count_of_parts(&mut ahead);
            (above, part(ahead.peek()?)?)
        }
    };
    ahead.advance(1);
    let _ = ahead.word(&["of"]);
    let _ = ahead.word(ARTICLES);
    unit_at(ahead.rest())?;
    cursor.go_to(&ahead);
    Some(above / below)
}

/// The number before a part: `a half`, `three quarters`; one where there is none.
fn count_of_parts(cursor: &mut Cursor<'_>) -> f64 {
    if cursor.word(A) {
        return 1.0;
    }
    let parts_follow = cursor.rest().get(1).and_then(part).is_some();
    let count = cursor.peek().and_then(|token| cardinal(token.text));
    match count {
        Some(count) if parts_follow => {
            cursor.advance(1);
            count
        }
        _ => 1.0,
    }
}

fn part(token: &Token<'_>) -> Option<f64> {
    let found = PARTS.iter().find(|(words, _)| token.is_word(words));
    found.map(|(_, below)| *below)
}

/// `three-quarters`.
fn hyphenated_part(word: &str) -> Option<(f64, f64)> {
    let (above, below) = word.split_once('-')?;
    let known = PARTS
        .iter()
        .find(|(words, _)| words.contains(&below.to_lowercase().as_str()));
    Some((cardinal(above)?, known?.1))
}

/// `1/2` after a whole number and `and`.
fn written_part(word: &str) -> Option<(f64, f64)> {
    let (above, below) = word.split_once('/')?;
    let (above, below): (u8, u8) = (above.parse().ok()?, below.parse().ok()?);
    (below > 0).then(|| (f64::from(above), f64::from(below)))
}

/// `eighty`, `twenty five`, `a hundred and twenty`, `two hundred`, and `… and a half`.
fn whole(cursor: &mut Cursor<'_>) -> Option<f64> {
    let mut ahead = cursor.ahead(0);
    let mut amount = below_hundred(&mut ahead);
    let is_hundred = ahead
        .peek()
        .is_some_and(|token| token.is_word(&["hundred"]))
        || (amount.is_none() && ahead.has(&[A, &["hundred"]]));
    if is_hundred {
        let _ = ahead.word(A);
        ahead.advance(1);
        let mut more = ahead.ahead(0);
        let _ = more.word(&["and"]);
        let rest = below_hundred(&mut more);
        if rest.is_some() {
            ahead.go_to(&more);
        }
        amount = Some(amount.unwrap_or(1.0) * 100.0 + rest.unwrap_or(0.0));
    }
    let amount = amount?;
    let part = and_a_part(&mut ahead).unwrap_or(0.0);
    cursor.go_to(&ahead);
    Some(amount + part)
}

fn below_hundred(cursor: &mut Cursor<'_>) -> Option<f64> {
    let first = cursor.peek().and_then(|token| cardinal(token.text))?;
    cursor.advance(1);
    let is_tens = first >= 20.0 && first % 10.0 == 0.0;
    let ones = cursor.peek().and_then(|token| cardinal(token.text));
    match ones {
        Some(ones) if is_tens && (1.0..10.0).contains(&ones) => {
            cursor.advance(1);
            Some(first + ones)
        }
        _ => Some(first),
    }
}

/// `five`, `twenty-five`.
fn cardinal(word: &str) -> Option<f64> {
    let one = |word: &str| {
        let found = CARDINALS
            .iter()
            .find(|(known, _)| known.eq_ignore_ascii_case(word));
        found.map(|(_, value)| *value)
    };
    match word.split_once('-') {
        Some((tens, ones)) => {
            let (tens, ones) = (one(tens)?, one(ones)?);
            (tens >= 20.0 && (1.0..10.0).contains(&ones)).then_some(tens + ones)
        }
        None => one(word),
    }
}
