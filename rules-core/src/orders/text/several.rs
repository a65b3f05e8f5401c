//! Several units said at once: lists, ranges of marks, all of an arm, the rest.

use super::cursor::Cursor;
use super::fault::{Problem, plain};
use super::names::{atoms, joined};
use super::roster::{Roster, Whose};
use super::tokens::{Kind, Token};
use super::units::unit_at;
use super::words::{self, EVERYONE, GUNS, LEFT, NOBODY, RIGHT};
use crate::game::Unit;
use crate::orders::UnitId;
use crate::ruleset::Arm;

const EACH: &[&str] = &["each", "every", "any", "both"];
const EXCEPT: &[&str] = &["except", "but", "save", "excepting", "without"];
const THE: &[&str] = &["the", "my", "our", "of"];
const UNITS: &[&str] = &["unit", "units", "troops", "them", "body", "one"];
/// Who is not named by another order.
const REST: &[&str] = &["rest", "others", "remainder"];
const ELSE: &[&str] = &["else", "other", "others"];

/// What an arm is called.
const ARMS: [(Arm, &[&str]); 4] = [
    (Arm::Foot, &["foot", "infantry", "footmen"]),
    (Arm::Horse, &["horse", "horses", "cavalry", "mounted"]),
    (
        Arm::Guns,
        &["guns", "gun", "artillery", "batteries", "cannon", "cannons"],
    ),
    (
        Arm::Commander,
        &["commanders", "generals", "leaders", "officers", "commander"],
    ),
];

/// Units joined by commas and `and`; `nobody` is an empty list.
pub(super) fn list(
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
    whose: Whose,
) -> Result<Vec<UnitId>, Problem> {
    let is_nobody = cursor.peek().is_some_and(|token| token.is_word(NOBODY));
    if is_nobody && roster.words_named(cursor.rest()) < 2 {
        cursor.advance(1);
        return Ok(Vec::new());
    }
    let mut units = member(cursor, roster, whose)?;
    loop {
        let mut ahead = cursor.ahead(0);
        if !ahead.joint() || begins_predicate(&ahead, roster, whose) {
            return Ok(units);
        }
        cursor.go_to(&ahead);
        units.extend(member(cursor, roster, whose)?);
    }
}

/// One member of a list, which may stand for several units.
fn member(
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
    whose: Whose,
) -> Result<Vec<UnitId>, Problem> {
    if let Some(units) = all_of(cursor, roster)? {
        return Ok(units);
    }
    if let Some(units) = in_one_word(cursor, roster, whose)? {
        return Ok(units);
    }
    let from = cursor.at();
    let first = roster.unit(cursor, whose)?;
    let mut ahead = cursor.ahead(0);
    let runs_on = ahead.word(&["to", "through", "thru"])
        || (ahead.peek().is_some_and(Token::is_dash) && {
            ahead.advance(1);
            true
        });
    if !runs_on || roster.words_named(ahead.rest()) == 0 {
        return Ok(vec![first]);
    }
    let last = roster.unit(&mut ahead, whose)?;
    cursor.go_to(&ahead);
    range(cursor, from, roster, &first, &last)
}

fn range(
    cursor: &Cursor<'_>,
    from: usize,
    roster: &Roster<'_>,
    first: &UnitId,
    last: &UnitId,
) -> Result<Vec<UnitId>, Problem> {
    roster.range(first, last).ok_or_else(|| {
        Problem::new(
            cursor.since(from),
            format!("{first} and {last} are not the ends of a row of marks"),
            "a range runs up between two marks of one side, such as R1-R4; else name each unit",
        )
    })
}

/// `R2-R4`, `R2–4`, `R2..R4`, `R2/R3`, `R2+R3`.
fn in_one_word(
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
    whose: Whose,
) -> Result<Option<Vec<UnitId>>, Problem> {
    let Some(token) = cursor.peek().filter(|token| token.kind == Kind::Word) else {
        return Ok(None);
    };
    if roster.words_named(cursor.rest()) > 0 {
        return Ok(None);
    }
    let text = token.text;
    for sign in ["/", "+"] {
        let parts: Option<Vec<UnitId>> = text
            .contains(sign)
            .then(|| {
                text.split(sign)
                    .map(|part| roster.called(part, whose))
                    .collect()
            })
            .flatten();
        if parts.is_some() {
            cursor.advance(1);
            return Ok(parts);
        }
    }
    for sign in ["–", "—", "−", "...", "..", "…", "-"] {
        for (at, _) in text.match_indices(sign) {
            let (first, last) = (&text[..at], &text[at + sign.len()..]);
            let Some(from) = roster.called(first, whose) else {
                continue;
            };
            let row = first.trim_end_matches(|c: char| c.is_ascii_digit());
            let is_number = !last.is_empty() && last.chars().all(|c| c.is_ascii_digit());
            let to = if is_number {
                roster.called(&format!("{row}{last}"), whose)
            } else {
                roster.called(last, whose)
            };
            if let Some(to) = to {
                let start = cursor.at();
                cursor.advance(1);
                return range(cursor, start, roster, &from, &to).map(Some);
            }
        }
    }
    Ok(None)
}

/// `all foot`, `every gun`, `the cavalry`, `everybody`: units of the side that orders, on the table.
fn all_of(cursor: &mut Cursor<'_>, roster: &Roster<'_>) -> Result<Option<Vec<UnitId>>, Problem> {
    let from = cursor.at();
    let mut ahead = cursor.ahead(0);
    if roster.words_named(ahead.rest()) > 0 {
        return Ok(None);
    }
    let says_both = ahead.peek().is_some_and(|token| token.is_word(&["both"]));
    let says_all = ahead.word(EVERYONE) || ahead.word(EACH);
    let article = ahead.word(THE);
    while says_all && ahead.word(THE) {}
    if !says_all && !article {
        return Ok(None);
    }
    if says_all && roster.words_named(ahead.rest()) > 0 {
        // "all of R2, R3 and R4"
        cursor.go_to(&ahead);
        return Ok(None);
    }
    let kind = kind(&mut ahead, roster);
    if !says_all && !matches!(kind, Some(Kin::Arm(_))) {
        return Ok(None);
    }
    let _ = ahead.word(UNITS);
    let mut units = roster.standing(|unit| kind.as_ref().is_none_or(|kind| kind.holds(unit)));
    let _ = ahead.mark(",");
    if ahead.word(EXCEPT) {
        let _ = ahead.word(&["for"]);
        let others = list(&mut ahead, roster, Whose::Own)?;
        units.retain(|unit| !others.contains(unit));
    } else if ahead.before().is_some_and(|token| token.is_mark(",")) {
        ahead.stand_at(ahead.at() - 1);
    }
    if says_both && units.len() != 2 {
        return Err(Problem::new(
            ahead.since(from),
            format!("{} units are of that kind, not two", units.len()),
            format!("name those that are meant: {}", names(&units)),
        ));
    }
    if units.is_empty() {
        return Err(Problem::new(
            ahead.since(from),
            "no unit of that kind stands on the table",
            "name units, all foot, all horse, all guns, or all of a troop type",
        ));
    }
    cursor.go_to(&ahead);
    Ok(Some(units))
}

/// What units have in common.
enum Kin {
    Arm(Arm),
    Troops(String),
}

impl Kin {
    fn holds(&self, unit: &Unit) -> bool {
        match self {
            Self::Arm(arm) => unit.arm == *arm,
            Self::Troops(name) => unit.troops == *name,
        }
    }
}

/// Takes the name of an arm, else of a troop type of the ruleset; a type of several words first.
fn kind(cursor: &mut Cursor<'_>, roster: &Roster<'_>) -> Option<Kin> {
    let rest = cursor.rest();
    let of_words = |words: usize| {
        let tokens = rest.get(..words)?;
        let typed = joined(tokens.iter().flat_map(|token| atoms(token.text)));
        let mut known = roster.game.ruleset().troops.keys();
        known.find(|name| joined(atoms(name)) == typed).cloned()
    };
    if let Some((words, name)) = (2..=4).rev().find_map(|n| Some((n, of_words(n)?))) {
        cursor.advance(words);
        return Some(Kin::Troops(name));
    }
    let first = rest.first()?;
    if let Some((arm, _)) = ARMS.iter().find(|(_, words)| first.is_word(words)) {
        cursor.advance(1);
        return Some(Kin::Arm(*arm));
    }
    let name = of_words(1)?;
    cursor.advance(1);
    Some(Kin::Troops(name))
}

/// Takes `the rest`, `everybody else`, `all other units`: whoever no order has named.
pub(super) fn rest(cursor: &mut Cursor<'_>, roster: &Roster<'_>) -> bool {
    let mut ahead = cursor.ahead(0);
    if roster.words_named(ahead.rest()) > 0 {
        return false;
    }
    let says_all = ahead.word(EVERYONE) || ahead.word(EACH);
    let _ = ahead.word(THE);
    let found = if says_all {
        ahead.word(ELSE)
    } else {
        ahead.word(REST) || ahead.word(&["other", "remaining"])
    };
    let _ = ahead.word(&["of"]) && ahead.word(THE);
    let _ = ahead.word(UNITS);
    if found {
        cursor.go_to(&ahead);
    }
    found
}

/// Whether what comes is no further unit of a list but what the units do.
pub(super) fn begins_predicate(cursor: &Cursor<'_>, roster: &Roster<'_>, whose: Whose) -> bool {
    let rest = cursor.rest();
    let Some(first) = rest.first().filter(|token| token.kind == Kind::Word) else {
        return false;
    };
    let named = roster.words_named(rest);
    if first.is_word(GUNS) {
        let names_one = rest.get(1).is_some_and(|t| t.kind != Kind::Mark) && named < 2;
        return whose == Whose::Enemy && names_one;
    }
    if words::begins_order(first) {
        return named < 2;
    }
    if named > 0 || first.is_word(EVERYONE) {
        return false;
    }
    let says = &[
        "each",
        "both",
        "do",
        "does",
        "no",
        "not",
        "half",
        "full",
        "as",
        "up",
        "supported",
        "helped",
        "backed",
        "bombarded",
        "in",
        "without",
        "don't",
        "doesn't",
        "don’t",
        "doesn’t",
        "until",
    ];
    first.is_word(says)
        || first.is_word(LEFT)
        || first.is_word(RIGHT)
        || words::sense_of(rest).is_some()
        || words::deed_of(rest).is_some()
        || (rest.len() > 1 && unit_at(&rest[1..]).is_some())
        || unit_glued(first)
}

/// `80mm`: a number with its unit in one word.
fn unit_glued(token: &Token<'_>) -> bool {
    let after = token
        .text
        .trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
    let is_number = after.len() < token.text.len();
    is_number && !after.is_empty() && super::units::unit_named(after).is_some()
}

/// Names of units for people.
pub(super) fn names(units: &[UnitId]) -> String {
    let names: Vec<String> = units.iter().map(|unit| plain(&unit.0, 40)).collect();
    names.join(", ")
}
