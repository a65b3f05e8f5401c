//! Who is ordered, and whether as one body or each by itself.

use super::cursor::Cursor;
use super::fault::Problem;
use super::words::{EVERYONE, TOGETHER};
use crate::orders::UnitId;

/// Words between who and what that order nothing.
const HELPING: &[&str] = &[
    "is", "are", "will", "shall", "should", "must", "to", "now", "just", "also", "please", "then",
];

/// Who is ordered.
pub(super) struct Subject {
    pub units: Vec<UnitId>,
    /// As one body.
    pub together: bool,
    /// Each by itself, in so many words.
    pub each: bool,
    /// Whoever no order has named.
    pub rest: bool,
}

impl Subject {
    pub fn of(units: Vec<UnitId>) -> Self {
        Self {
            units,
            together: false,
            each: false,
            rest: false,
        }
    }
}

/// What several units are said to move as.
pub(super) const AS_ONE_BODY: [&[&str]; 3] = [&["as", "in"], &["one", "a"], &["body", "block"]];

/// Takes `each`, `together`, `as one body`, `will`, `is to`.
pub(super) fn manner(cursor: &mut Cursor<'_>, subject: &mut Subject) {
    loop {
        if cursor.words(&AS_ONE_BODY) {
            subject.together = true;
        } else if cursor.words(&[&["to", "is", "are"], &["face", "faces"]]) {
            // "R2 is to face left": no goal of a wheel before a wheel
            cursor.stand_at(cursor.at() - 1);
            return;
        } else if subject.units.len() > 1 && cursor.word(TOGETHER) {
            subject.together = true;
        } else if subject.units.len() > 1
            && (cursor.word(&["each", "both"]) || cursor.word(EVERYONE))
        {
            subject.each = true;
        } else if !cursor.word(HELPING) {
            return;
        }
    }
}

pub(super) fn nobody(cursor: &Cursor<'_>) -> Problem {
    Problem::new(
        cursor.since(0),
        "nobody is ordered to do this",
        "name the units that do it",
    )
}
