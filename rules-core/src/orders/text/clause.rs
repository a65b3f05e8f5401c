//! Reading what is said of one leg: words, sides, lengths, angles and limits, in whatever order they come.

use std::ops::Range;

use super::aim::{self, Goal};
use super::cursor::Cursor;
use super::fault::Problem;
use super::measure::{self, Measure};
use super::roster::{Roster, Whose};
use super::tokens::{Kind, Token};
use super::words::{self, LEFT, RIGHT, Sense};
use crate::orders::Hand;

/// Words that may stand between the parts of a leg and mean nothing.
const FILLERS: &[&str] = &[
    "by", "to", "the", "at", "on", "for", "of", "a", "an", "its", "their", "his", "her", "it", "they", "them",
    "directly", "exactly", "just", "now", "first", "next", "finally", "more", "another", "further", "distance",
    "angle", "in", "through", "will", "shall", "should", "must", "is", "are", "again", "way", "hand", "side",
    "unit", "figures", "front", "table", "please", "corner",
];
/// Words that end a leg.
const THEN: &[&str] = &["then", "and", "afterwards"];
/// What a unit that stands is said to keep.
const KEEPS: &[&str] = &[
    "put", "ground", "position", "place", "fast", "firm", "still", "where", "here", "there", "down", "ready",
    "line",
];
/// Haste is no distance.
const HASTE: [&[&str]; 6] = [
    &["flat", "out"],
    &["full", "speed"],
    &["full", "tilt"],
    &["as", "fast", "as"],
    &["at", "the", "double"],
    &["top", "speed"],
];

/// All that was said of one leg.
#[derive(Debug, Clone, Default)]
pub(super) struct Clause {
    pub sense: Option<Sense>,
    pub side: Option<Hand>,
    /// `half right`, `quarter turn`: this share of a right angle.
    pub share: Option<Share>,
    pub measures: Vec<Measure>,
    pub up_to: bool,
    pub as_far: bool,
    /// It should hurry, which says nothing of how far.
    pub haste: bool,
    pub goal: Option<Goal>,
    /// Whether the goal hangs on a word that could be a turn: `face B4`.
    pub goal_of_turn: bool,
    /// Bases abreast, and deep where that was said.
    pub block: Option<(Option<u16>, Option<u16>)>,
    /// A formation by name.
    pub formation: Option<Range<usize>>,
    /// Whether a comma or a word such as `then` stands before it.
    pub parted: bool,
    pub span: Range<usize>,
    /// Where a part is missing, if one is.
    pub end: Range<usize>,
}

/// A share of a right angle, by its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Share {
    /// 45°, as in `half right`.
    Half,
    /// A quarter of the circle.
    Quarter,
}

impl Clause {
    /// Whether nothing was said.
    pub fn is_empty(&self) -> bool {
        self.sense.is_none() && self.says_no_more() && self.side.is_none()
    }

    /// Whether nothing but a word and a side was said.
    fn says_no_more(&self) -> bool {
        self.share.is_none()
            && self.measures.is_empty()
            && !self.as_far
            && !self.up_to
            && !self.haste
            && self.goal.is_none()
            && self.block.is_none()
            && self.formation.is_none()
    }

    /// Whether it says how far.
    fn has_extent(&self) -> bool {
        self.as_far || self.haste || self.goal.is_some() || self.share.is_some()
    }

    /// What the leg still needs to be made, if anything.
    pub fn missing(&self) -> Option<&'static str> {
        let lengths = self.measures.len();
        match self.sense? {
            Sense::Forward | Sense::Back | Sense::Go if lengths == 0 && !self.has_extent() => {
                Some("a distance")
            }
            Sense::Sidestep | Sense::Step if lengths == 0 && !self.has_extent() => Some("a distance"),
            Sense::Oblique if lengths == 0 => Some("an angle"),
            Sense::Oblique if lengths == 1 && !self.as_far && self.share.is_none() => {
                Some("an angle and a distance")
            }
            Sense::Wheel | Sense::Align if lengths == 0 && !self.has_extent() => Some("an angle"),
            Sense::Sidestep | Sense::Oblique | Sense::Wheel | Sense::Turn | Sense::Align
                if self.side.is_none() && self.goal.is_none() =>
            {
                Some("left or right")
            }
            _ => None,
        }
    }

    /// Takes in what another clause says, which names no movement of its own.
    fn take_in(&mut self, other: Self) {
        self.side = self.side.or(other.side);
        self.share = self.share.or(other.share);
        self.measures.extend(other.measures);
        self.up_to |= other.up_to;
        self.as_far |= other.as_far;
        self.haste |= other.haste;
        self.goal = self.goal.take().or(other.goal);
        self.span.end = self.span.end.max(other.span.end);
        self.end = other.end;
    }
}

/// Reads all legs of a line up to its end, another order, or something that is no part of a leg.
pub(super) fn clauses(cursor: &mut Cursor<'_>, roster: &Roster<'_>) -> Result<Vec<Clause>, Problem> {
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
        let completes = clause.sense.is_none() && last.missing().is_some();
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
    let hides = words::begins_order(first) || words::is_soft(first);
    let starts_with_figure = first.text.starts_with(|c: char| c.is_ascii_digit());
    !hides && !starts_with_figure && first.kind == Kind::Word && roster.words_named(rest) > 0
}

/// Reads one clause: up to what parts it from the next, or a word of movement that begins another leg.
fn clause(cursor: &mut Cursor<'_>, roster: &Roster<'_>) -> Result<Clause, Problem> {
    let mut clause = Clause::default();
    let from = cursor.at();
    // a side that was the last thing said may belong to the leg that follows
    let mut side_last: Option<usize> = None;
    loop {
        let here = cursor.at();
        if share(&mut clause, cursor) || limit(&mut clause, cursor, roster)? || aimed(&mut clause, cursor, roster)? {
            side_last = None;
        } else if stands(&mut clause, cursor) {
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
        } else if !filler(&clause, cursor) {
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
        Some(Sense::Sidestep | Sense::Oblique | Sense::Wheel | Sense::Turn | Sense::Align | Sense::Step | Sense::Go)
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

fn hand_of(token: Option<&Token<'_>>) -> Option<Hand> {
    let token = token?;
    let is = |usual: &[&str], others: &[&str]| token.is_word(usual) || token.is_word(others);
    if is(LEFT, &["leftward", "leftwards", "left-hand", "lefthand"]) {
        Some(Hand::Left)
    } else if is(RIGHT, &["rightward", "rightwards", "right-hand", "righthand"]) {
        Some(Hand::Right)
    } else {
        None
    }
}

fn filler(clause: &Clause, cursor: &mut Cursor<'_>) -> bool {
    if cursor.word(FILLERS) {
        return true;
    }
    // "moves up 80"
    let goes = matches!(clause.sense, Some(Sense::Go | Sense::Step | Sense::Back))
        || cursor.before().is_some_and(|token| token.is_word(&["advance", "advances"]));
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
    const NOT: &[&str] = &["not", "don't", "doesn't", "don’t", "doesn’t", "dont", "doesnt"];
    const MOVE: &[&str] = &["move", "moves", "moving", "stir", "budge"];
    let found = cursor.words(&[&["do", "does"], NOT, MOVE])
        || cursor.words(&[NOT, MOVE])
        || cursor.words(&[&["nothing"]]);
    if found {
        clause.sense = Some(Sense::Stand);
    }
    found
}

/// Takes `half` or `quarter` where it is no number.
fn share(clause: &mut Clause, cursor: &mut Cursor<'_>) -> bool {
    const TURNS: &[&str] = &["left", "right", "turn", "wheel", "pivot", "circle", "l", "r"];
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
fn limit(clause: &mut Clause, cursor: &mut Cursor<'_>, roster: &Roster<'_>) -> Result<bool, Problem> {
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
    let said_ahead = cursor.before().is_some_and(|token| token.is_word(&["forward", "forwards", "fwd", "ahead"]));
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
    if let Some(far) = far(clause, cursor, roster)? {
        clause.as_far = far;
        clause.up_to = true;
        return Ok(true);
    }
    Ok(false)
}

/// What says that a leg goes on to the first limit; `Some(false)` for `max 80`, which is up to a length.
fn far(clause: &Clause, cursor: &mut Cursor<'_>, roster: &Roster<'_>) -> Result<Option<bool>, Problem> {
    if cursor.words(&[&["as"], &["far"], &["as"]]) {
        let said = cursor.words(&[&["it", "they", "she", "he", "you", "is"], &["can", "may", "allowed", "possible"]])
            || cursor.word(&["allowed", "possible", "permitted"]);
        let _ = said && cursor.word(&["go", "move"]);
        return if said {
            Ok(Some(true))
        } else {
            Err(cursor.expected("\"allowed\"", "write as far as allowed"))
        };
    }
    const FULL: &[&str] = &["full", "whole", "entire", "maximum", "max"];
    const MOVE: &[&str] = &[
        "move", "advance", "distance", "allowance", "movement", "march", "range", "reach", "extent",
    ];
    if cursor.has(&[FULL, MOVE]) {
        let is_advance = cursor.rest().get(1).is_some_and(|token| token.is_word(&["advance", "march"]));
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
    if cursor.words(&[&["to", "into"], &["contact"]]) || cursor.words(&[&["to"], &["the"], &["limit", "maximum", "max"]]) {
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
    let meets = ahead.word(&["meets", "meet", "touches", "touch", "hits", "hit", "contacts", "reaches", "reach"])
        || ahead.words(&[&["in"], &["contact"], &["with"]])
        || ahead.words(&[&["touching", "meeting"]]);
    if !meets {
        return Ok(None);
    }
    let _ = roster.unit(&mut ahead, Whose::Enemy)?;
    cursor.go_to(&ahead);
    Ok(Some(true))
}

/// Takes `to face B1`, `until it faces B1`, `towards B1`, and `face B1`.
fn aimed(clause: &mut Clause, cursor: &mut Cursor<'_>, roster: &Roster<'_>) -> Result<bool, Problem> {
    const FACE: &[&str] = &["face", "faces", "facing"];
    let mut ahead = cursor.ahead(0);
    let is_so = ahead.word(&["to", "until", "till"])
        || ahead.words(&[&["so"], &["that", "as"]])
        || ahead.words(&[&["in"], &["order"], &["to"]]);
    if is_so {
        let _ = ahead.word(&["it", "they", "to"]);
        let _ = ahead.word(&["is", "are"]);
    }
    let face = ahead.word(FACE);
    let towards = !face && ahead.word(&["towards", "toward"]);
    if !face && !towards {
        return Ok(false);
    }
    if hand_of(ahead.peek()).is_some() || words::sense_of(cursor.rest()).is_some_and(|(sense, _)| sense == Sense::About)
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

/// Takes `4x2`, `4 x 2`, `4 by 2`, `4 wide 2 deep`, `3 abreast`, `2 deep`, or a formation's name.
fn block(clause: &mut Clause, cursor: &mut Cursor<'_>) -> Result<(), Problem> {
    let advice = "write bases abreast and deep, such as reform 4x2, reform 4 by 2 or form 4 wide";
    let count = |text: &str| text.parse::<u16>().ok().filter(|count| *count > 0);
    let mut ahead = cursor.ahead(0);
    while ahead.word(&["to", "into", "in", "a", "an", "up", "as", "on", "frontage", "of", "front", "block"]) {}
    const FORMATIONS: &[&str] = &["column", "columns", "line", "square", "lines", "squares"];
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
    const WIDE: &[&str] = &["wide", "abreast", "files", "file", "across", "broad"];
    const DEEP: &[&str] = &["deep", "ranks", "rank"];
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
    let amount = super::numerals::spelled(cursor)?;
    let is_count = amount.fract() == 0.0 && (1.0..=1_000.0).contains(&amount);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a whole number from 1 to 1000"
    )]
    is_count.then_some(amount as u16)
}
