//! Reading how far a leg goes where no number says it: up to a limit, as far as allowed, half a right angle.

use super::clause::{Clause, Share};
use super::cursor::Cursor;
use super::fault::Problem;
use super::measure;
use super::roster::{Roster, Whose};

/// Haste is no distance.
const HASTE: [&[&str]; 6] = [
    &["flat", "out"],
    &["full", "speed"],
    &["full", "tilt"],
    &["as", "fast", "as"],
    &["at", "the", "double"],
    &["top", "speed"],
];

/// Takes `half` or `quarter` where it is no number.
pub(super) fn share(clause: &mut Clause, cursor: &mut Cursor<'_>) -> bool {
    const TURNS: &[&str] = &[
        "left", "right", "turn", "wheel", "pivot", "circle", "l", "r",
    ];
    let rest = cursor.rest();
    let follows = rest.get(1).is_some_and(|token| token.is_word(TURNS));
    if !follows || clause.share.is_some() {
        return false;
    }
    let share = if cursor.word(&["half", "half-"]) {
        Share::Half
    } else if cursor.word(&["quarter"]) {
        Share::Quarter
    } else {
        return false;
    };
    clause.share = Some(share);
    true
}

/// Takes `up to`, `as far as allowed`, `at most`, `until it meets B3`, `flat out`.
pub(super) fn limit(
    clause: &mut Clause,
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
) -> Result<bool, Problem> {
    for haste in HASTE {
        let run: Vec<&[&str]> = haste.iter().map(std::slice::from_ref).collect();
        if cursor.words(&run) {
            let _ = cursor.words(&[&["it", "they"], &["can", "may"]]) || cursor.word(&["possible"]);
            clause.haste = true;
            return Ok(true);
        }
    }
    if cursor.has(&[&["up"], &["to"]]) {
        cursor.advance(2);
        clause.up_to = true;
        let _ = cursor.has(&[&["the", "its", "their"], &["limit", "maximum", "max"]]) && {
            clause.as_far = true;
            cursor.advance(2);
            true
        };
        return Ok(true);
    }
    let up = cursor.has(&[&["up"]]);
    let said_ahead = cursor
        .before()
        .is_some_and(|token| token.is_word(&["forward", "forwards", "fwd", "ahead"]));
    if up && said_ahead {
        cursor.advance(1);
        return Err(cursor.expected("\"to\"", "write up to, as in \"forward up to 4 in\""));
    }
    const MOST: [&[&[&str]]; 4] = [
        &[&["at"], &["most"]],
        &[&["no", "not"], &["more"], &["than"]],
        &[&["or"], &["less"]],
        &[&["not"], &["over"]],
    ];
    if MOST.iter().any(|run| cursor.words(run)) {
        clause.up_to = true;
        return Ok(true);
    }
    let mut or_far = cursor.ahead(0);
    if !clause.measures.is_empty()
        && or_far.word(&["or"])
        && far(clause, &mut or_far, roster)?.is_some()
    {
        cursor.go_to(&or_far);
        clause.up_to = true;
        return Ok(true);
    }
    if let Some(far) = far(clause, cursor, roster)? {
        clause.as_far = far;
        clause.up_to = true;
        return Ok(true);
    }
    Ok(false)
}

/// What says that a leg goes on to the first limit; `Some(false)` for `max 80`, which is up to a length.
fn far(
    clause: &Clause,
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
) -> Result<Option<bool>, Problem> {
    if cursor.words(&[&["as"], &["far"], &["as"]]) {
        let said = cursor.words(&[
            &["it", "they", "she", "he", "you", "is"],
            &["can", "may", "allowed", "possible"],
        ]) || cursor.word(&["allowed", "possible", "permitted"]);
        let _ = said && cursor.word(&["go", "move"]);
        return if said {
            Ok(Some(true))
        } else {
            Err(cursor.expected("\"allowed\"", "write as far as allowed"))
        };
    }
    const FULL: &[&str] = &["full", "whole", "entire", "maximum", "max"];
    const MOVE: &[&str] = &[
        "move",
        "advance",
        "distance",
        "allowance",
        "movement",
        "march",
        "range",
        "reach",
        "extent",
    ];
    if cursor.has(&[FULL, MOVE]) {
        let is_advance = cursor
            .rest()
            .get(1)
            .is_some_and(|token| token.is_word(&["advance", "march"]));
        cursor.advance(if is_advance { 1 } else { 2 });
        return Ok(Some(true));
    }
    if cursor.word(&["maximum", "max", "maximally"]) {
        let has_number = !clause.measures.is_empty() || {
            let mut ahead = cursor.ahead(0);
            let _ = ahead.word(&["of"]);
            measure::measure(&mut ahead)?.is_some()
        };
        return Ok(Some(!has_number));
    }
    if cursor.words(&[&["to", "into"], &["contact"]])
        || cursor.words(&[&["to"], &["the"], &["limit", "maximum", "max"]])
    {
        if cursor.word(&["with"]) {
            let _ = roster.unit(cursor, Whose::Enemy)?;
        }
        return Ok(Some(true));
    }
    if !cursor.has(&[&["until", "till"]]) {
        return Ok(None);
    }
    let mut ahead = cursor.ahead(1);
    let _ = ahead.word(&["it", "they"]);
    let _ = ahead.word(&["is", "are"]);
    if ahead.word(&["stopped", "halted", "contact", "blocked", "stops", "stop"]) {
        cursor.go_to(&ahead);
        return Ok(Some(true));
    }
    let meets = ahead.word(&[
        "meets", "meet", "touches", "touch", "hits", "hit", "contacts", "reaches", "reach",
    ]) || ahead.words(&[&["in"], &["contact"], &["with"]])
        || ahead.words(&[&["touching", "meeting"]]);
    if !meets {
        return Ok(None);
    }
    let _ = roster.unit(&mut ahead, Whose::Enemy)?;
    cursor.go_to(&ahead);
    Ok(Some(true))
}
