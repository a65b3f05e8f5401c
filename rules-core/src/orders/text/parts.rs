//! Reading what is said of one leg: words, sides, lengths, angles and limits, in whatever order they come.

use super::aim;
use super::blocks::{block, formation};
use super::clause::Clause;
use super::cursor::Cursor;
use super::fault::Problem;
use super::limits::{limit, share};
use super::measure;
use super::roster::Roster;
use super::subject::AS_ONE_BODY;
use super::tokens::Token;
use super::words::{self, LEFT, RIGHT, Sense, TOGETHER};
use crate::orders::Hand;

/// Words that may stand between the parts of a leg and mean nothing.
const FILLERS: &[&str] = &[
    "take", "takes", "make", "makes", "perform", "performs", "execute", "executes", "round",
    "around", "by", "to", "the", "at", "on", "for", "of", "a", "an", "its", "their", "his", "her",
    "it", "they", "them", "directly", "exactly", "just", "now", "first", "next", "finally", "more",
    "another", "further", "distance", "angle", "in", "through", "will", "shall", "should", "must",
    "is", "are", "again", "way", "hand", "side", "unit", "figures", "front", "table", "please",
    "corner",
];
/// What a unit that stands is said to keep.
const KEEPS: &[&str] = &[
    "put", "ground", "position", "place", "fast", "firm", "still", "where", "here", "there",
    "down", "ready", "line",
];
/// Reads one clause: up to what parts it from the next, or a word of movement that begins another leg.
pub(super) fn clause(cursor: &mut Cursor<'_>, roster: &Roster<'_>) -> Result<Clause, Problem> {
    let mut clause = Clause::default();
    let from = cursor.at();
    // a side that was the last thing said may belong to the leg that follows
    let mut side_last: Option<usize> = None;
    loop {
        let here = cursor.at();
        if share(&mut clause, cursor)
            || limit(&mut clause, cursor, roster)?
            || aimed(&mut clause, cursor, roster)?
        {
            side_last = None;
        } else if stands(&mut clause, cursor) || formation(&mut clause, cursor) {
        } else if let Some(side) = hand_of(cursor.peek()) {
            if clause.side.is_some_and(|known| known != side) {
                break;
            }
            clause.side = Some(side);
            side_last = Some(here);
            cursor.advance(1);
        } else if let Some((sense, words)) = words::sense_of(cursor.rest()) {
            if !joins(&mut clause, sense) {
                if let Some(at) = side_last
                    && !needs_side(&clause)
                {
                    clause.side = None;
                    cursor.stand_at(at);
                }
                break;
            }
            cursor.advance(words);
            if clause.sense == Some(Sense::Reform) && clause.block.is_none() {
                block(&mut clause, cursor)?;
            }
            side_last = None;
        } else if let Some(measure) = measure::measure(cursor)? {
            clause.measures.push(measure);
            side_last = None;
        } else if !filler(&mut clause, cursor) {
            break;
        }
    }
    clause.span = cursor.since(from);
    clause.end = cursor.here();
    Ok(clause)
}

/// Whether the leg has no side but the last one said, and needs one.
fn needs_side(clause: &Clause) -> bool {
    let needs = matches!(
        clause.sense,
        Some(
            Sense::Sidestep
                | Sense::Oblique
                | Sense::Wheel
                | Sense::Turn
                | Sense::Align
                | Sense::Step
                | Sense::Go
        )
    );
    needs && clause.goal.is_none()
}

/// Puts a word of movement to what was said; `false` where it begins another leg.
fn joins(clause: &mut Clause, sense: Sense) -> bool {
    let is_complete = !clause.measures.is_empty() || clause.has_extent();
    let joined = match (clause.sense, sense) {
        (None | Some(Sense::Go | Sense::Step), Sense::Go | Sense::Step) => Some(sense),
        (None, _) => Some(sense),
        (Some(Sense::Step), Sense::Sidestep) => Some(sense),
        (Some(Sense::Go | Sense::Step), _) => Some(sense),
        (Some(known), _) if known == sense && !is_complete => Some(sense),
        // "advance obliquely", "advances back" is no leg
        (Some(Sense::Forward), Sense::Oblique | Sense::Sidestep) if !is_complete => Some(sense),
        (Some(Sense::Oblique), Sense::Forward | Sense::Go) => Some(Sense::Oblique),
        (Some(Sense::Sidestep), Sense::Step | Sense::Go) => Some(Sense::Sidestep),
        (Some(Sense::Wheel), Sense::Turn) if !is_complete => Some(Sense::Wheel),
        (Some(Sense::Turn), Sense::About) => Some(Sense::About),
        (Some(known), Sense::Go) if !is_complete => Some(known),
        _ => None,
    };
    if let Some(sense) = joined {
        clause.sense = Some(sense);
    }
    joined.is_some()
}

/// Takes `left` or `right`.
pub(super) fn hand(cursor: &mut Cursor<'_>) -> Option<Hand> {
    let found = hand_of(cursor.peek())?;
    cursor.advance(1);
    Some(found)
}

pub(super) fn hand_of(token: Option<&Token<'_>>) -> Option<Hand> {
    let token = token?;
    let is = |usual: &[&str], others: &[&str]| token.is_word(usual) || token.is_word(others);
    if is(LEFT, &["leftward", "leftwards", "left-hand", "lefthand"]) {
        Some(Hand::Left)
    } else if is(
        RIGHT,
        &["rightward", "rightwards", "right-hand", "righthand"],
    ) {
        Some(Hand::Right)
    } else {
        None
    }
}

fn filler(clause: &mut Clause, cursor: &mut Cursor<'_>) -> bool {
    if cursor.words(&AS_ONE_BODY) || cursor.word(TOGETHER) {
        clause.together = true;
        return true;
    }
    if cursor.word(FILLERS) {
        return true;
    }
    // "moves up 80"
    let goes = matches!(clause.sense, Some(Sense::Go | Sense::Step | Sense::Back))
        || cursor
            .before()
            .is_some_and(|token| token.is_word(&["advance", "advances"]));
    goes && clause.measures.is_empty() && cursor.word(&["up", "off", "along", "out"])
}

/// Takes what a unit that stands keeps, and what says that it does nothing.
fn stands(clause: &mut Clause, cursor: &mut Cursor<'_>) -> bool {
    if clause.sense == Some(Sense::Stand) && cursor.word(KEEPS) {
        return true;
    }
    if clause.sense.is_some() {
        return false;
    }
    const NOT: &[&str] = &[
        "not",
        "don't",
        "doesn't",
        "don’t",
        "doesn’t",
        "dont",
        "doesnt",
    ];
    const MOVE: &[&str] = &["move", "moves", "moving", "stir", "budge"];
    let found = cursor.words(&[&["do", "does"], NOT, MOVE])
        || cursor.words(&[NOT, MOVE])
        || cursor.words(&[&["nothing"]]);
    if found {
        clause.sense = Some(Sense::Stand);
    }
    found
}

/// Takes `to face B1`, `until it faces B1`, `towards B1`, and `face B1`.
fn aimed(
    clause: &mut Clause,
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
) -> Result<bool, Problem> {
    const FACE: &[&str] = &["face", "faces", "facing"];
    const LOOK: &[&str] = &[
        "look", "looks", "looking", "point", "points", "pointing", "aim", "aims",
    ];
    const AT: &[&str] = &["at", "towards", "toward", "to"];
    let mut ahead = cursor.ahead(0);
    let is_so = ahead.word(&["to", "until", "till"])
        || ahead.words(&[&["so"], &["that", "as"]])
        || ahead.words(&[&["in"], &["order"], &["to"]]);
    if is_so {
        let _ = ahead.words(&[&["its", "their", "the"], &["front", "fronts"]])
            || ahead.word(&["it", "they", "to"]);
        let _ = ahead.word(&["is", "are"]);
    }
    let face = ahead.word(FACE) || ahead.words(&[LOOK, AT]);
    let towards = !face && ahead.word(&["towards", "toward"]);
    if !face && !towards {
        return Ok(false);
    }
    if hand_of(ahead.peek()).is_some()
        || words::sense_of(cursor.rest()).is_some_and(|(sense, _)| sense == Sense::About)
    {
        return Ok(false);
    }
    let must_be = is_so || towards || clause.sense == Some(Sense::Wheel);
    let _ = ahead.word(&["towards", "toward"]);
    let goal = if must_be {
        Some(aim::goal(&mut ahead, roster)?)
    } else {
        aim::goal_if_named(&mut ahead, roster)
    };
    let Some(goal) = goal else {
        return Ok(false);
    };
    cursor.go_to(&ahead);
    clause.goal = Some(goal);
    clause.goal_of_turn = face && !matches!(clause.sense, Some(Sense::Wheel));
    if clause.sense.is_none() {
        clause.sense = Some(Sense::Turn);
    }
    Ok(true)
}
