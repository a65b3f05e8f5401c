//! What a number counts: units of length, and degrees.

use super::tokens::{DEGREES, DOUBLE_QUOTES, Kind, Token};
use crate::ruleset::LengthUnit;

/// What a typed number counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Unit {
    Bare,
    Degrees,
    Length(LengthUnit),
}

/// Signs that are written for a foot; two of them for an inch.
const SINGLE_QUOTES: &str = "'’‘′ʹ´`";

/// The unit that the tokens begin with, and how many of them name it.
pub(super) fn unit_at(tokens: &[Token<'_>]) -> Option<(Unit, usize)> {
    let [first, rest @ ..] = tokens else {
        return None;
    };
    if first.is_mark_of(DEGREES) {
        return Some((Unit::Degrees, 1));
    }
    if first.is_mark_of(DOUBLE_QUOTES) {
        return Some((Unit::Length(LengthUnit::Inches), 1));
    }
    let pair = |one: &[&str], two: &[&str]| {
        first.is_word(one) && rest.first().is_some_and(|second| second.is_word(two))
    };
    if pair(&["base", "bases"], &["width", "widths"]) {
        return Some((Unit::Length(LengthUnit::BaseWidths), 2));
    }
    if pair(&["movement", "move"], &["point", "points"]) {
        return Some((Unit::Length(LengthUnit::MovementPoints), 2));
    }
    let is_word = first.kind == Kind::Word;
    let named = is_word.then(|| unit_named(first.text)).flatten();
    named.map(|unit| (unit, 1))
}

/// The unit of that name or sign.
pub(super) fn unit_named(word: &str) -> Option<Unit> {
    if let Some(unit) = LengthUnit::named(word) {
        return Some(Unit::Length(unit));
    }
    let is_quotes = word.chars().all(|c| SINGLE_QUOTES.contains(c));
    Some(match word.to_lowercase().as_str() {
        "deg" | "degs" | "degree" | "degrees" => Unit::Degrees,
        "mms" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => {
            Unit::Length(LengthUnit::Millimetres)
        }
        "cms" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => {
            Unit::Length(LengthUnit::Centimetres)
        }
        "ins" => Unit::Length(LengthUnit::Inches),
        "bws" | "base-width" | "base-widths" | "basewidth" | "basewidths" => {
            Unit::Length(LengthUnit::BaseWidths)
        }
        "mps" | "movement-point" | "movement-points" => Unit::Length(LengthUnit::MovementPoints),
        _ if is_quotes => match word.chars().count() {
            1 => Unit::Length(LengthUnit::Feet),
            2 => Unit::Length(LengthUnit::Inches),
            _ => return None,
        },
        _ => return None,
    })
}
