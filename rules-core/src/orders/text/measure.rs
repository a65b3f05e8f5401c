//! Reading distances and angles.

use std::ops::Range;

use winnow::Parser;
use winnow::ascii::digit1;
use winnow::combinator::{alt, opt};
use winnow::error::ContextError;
use winnow::token::rest;

use super::cursor::Cursor;
use super::fault::{Problem, plain};
use super::numerals;
use super::tokens::Kind;
use super::units::{Unit, unit_at, unit_named};
use super::words::is_reserved;
use crate::orders::{ANGLE_MAX_DEG, LENGTH_MAX_MM};
use crate::ruleset::{LengthUnit, Scale};

const DISTANCE_ADVICE: &str =
    "write a distance such as 80 mm, 8 cm, 3½ in, 2 bw or 1 MP; a bare number is millimetres";
const ANGLE_ADVICE: &str = "write an angle such as 20° or 20 degrees; a bare number is degrees";

/// A number with what it counts.
#[derive(Debug, Clone)]
pub(super) struct Measure {
    pub amount: f64,
    pub unit: Unit,
    pub span: Range<usize>,
}

/// Reads a measure, if a number is next.
pub(super) fn measure(cursor: &mut Cursor<'_>) -> Result<Option<Measure>, Problem> {
    let from = cursor.at();
    let Some((mut amount, unit)) = counted(cursor, from)? else {
        return Ok(None);
    };
    let mut unit = unit;
    if unit != Unit::Bare {
        amount += numerals::and_a_part(cursor).unwrap_or(0.0);
    }
    if unit == Unit::Length(LengthUnit::Feet)
        && let Some(inches) = inches_after(cursor)
    {
        amount = amount * 12.0 + inches;
        unit = Unit::Length(LengthUnit::Inches);
    }
    Ok(Some(Measure {
        amount,
        unit,
        span: cursor.since(from),
    }))
}

/// A number in figures or words, and what it counts.
fn counted(cursor: &mut Cursor<'_>, from: usize) -> Result<Option<(f64, Unit)>, Problem> {
    if let Some(amount) = numerals::spelled(cursor) {
        return Ok(Some((amount, unit_after(cursor))));
    }
    let Some((whole, suffix)) = next_number(cursor)? else {
        return Ok(None);
    };
    let suffix_span = cursor.here();
    cursor.advance(1);
    let (amount, suffix) = match (suffix, next_fraction(cursor)) {
        ("", Some((part, after))) => {
            cursor.advance(1);
            (whole + part, after)
        }
        _ => (whole, suffix),
    };
    refuse_decimal_comma(cursor, from)?;
    if suffix.is_empty() {
        let part = numerals::and_a_part(cursor).unwrap_or(0.0);
        return Ok(Some((amount + part, unit_after(cursor))));
    }
    let (part, suffix) = hyphenated(suffix);
    let unit = if suffix.is_empty() {
        unit_after(cursor)
    } else {
        unit_named(suffix).ok_or_else(|| no_unit(suffix_span, suffix))?
    };
    Ok(Some((amount + part, unit)))
}

/// What a hyphen joins to a number: `3-inch`, `3-1/2`, `3-½in`.
fn hyphenated(suffix: &str) -> (f64, &str) {
    let Some(after) = suffix.strip_prefix('-') else {
        return (0.0, suffix);
    };
    part_of(after).unwrap_or((0.0, after))
}

/// The inches after feet, as in `1 ft 6 in`. Takes nothing else.
fn inches_after(cursor: &mut Cursor<'_>) -> Option<f64> {
    let mut ahead = cursor.ahead(0);
    let from = ahead.at();
    let (amount, unit) = counted(&mut ahead, from).ok()??;
    if unit != Unit::Length(LengthUnit::Inches) {
        return None;
    }
    cursor.go_to(&ahead);
    Some(amount)
}

/// The number that the next word begins with, and the rest of that word. Takes nothing.
fn next_number<'a>(cursor: &Cursor<'a>) -> Result<Option<(f64, &'a str)>, Problem> {
    let Some(token) = cursor.peek().filter(|token| token.kind == Kind::Word) else {
        return Ok(None);
    };
    let text = token.text;
    if let Some(number) = text.strip_prefix(['-', '−', '+'])
        && number.starts_with(|c: char| c.is_ascii_digit())
    {
        return Err(Problem::new(
            token.span.clone(),
            "a number here carries no sign",
            "say which way instead: back, left or right",
        ));
    }
    Ok(number(text))
}

/// `12`, `12.5`, `.5`, `4½`, `½`, `1/2`, and what follows in the same word.
fn number(text: &str) -> Option<(f64, &str)> {
    let decimal = alt((
        (digit1, opt(('.', digit1))).void(),
        ('.', digit1).void(),
        (digit1::<&str, ContextError>, '.').void(),
    ))
    .take()
    .try_map(str::parse::<f64>);
    let share = (digit1, '/', digit1).take().verify_map(share);
    let vulgar = winnow::token::any.verify_map(vulgar);
    let mixed = (decimal, opt(vulgar)).map(|(whole, part)| whole + part.unwrap_or(0.0));
    let vulgar = winnow::token::any.verify_map(self::vulgar);
    (alt((share, mixed, vulgar)), rest).parse(text).ok()
}

/// A fraction written after a blank, as in `4 1/2 in`.
fn next_fraction<'a>(cursor: &Cursor<'a>) -> Option<(f64, &'a str)> {
    let token = cursor.peek().filter(|token| token.kind == Kind::Word)?;
    part_of(token.text)
}

/// `1/2`, `½`, and what follows in the same word.
fn part_of(text: &str) -> Option<(f64, &str)> {
    let share = (digit1::<&str, ContextError>, '/', digit1)
        .take()
        .verify_map(share);
    let vulgar = winnow::token::any.verify_map(vulgar);
    (alt((share, vulgar)), rest).parse(text).ok()
}

fn share(text: &str) -> Option<f64> {
    let (above, below) = text.split_once('/')?;
    let (above, below): (f64, f64) = (above.parse().ok()?, below.parse().ok()?);
    (below > 0.0 && above.is_finite() && below.is_finite()).then(|| above / below)
}

fn vulgar(c: char) -> Option<f64> {
    Some(match c {
        '¼' => 0.25,
        '½' => 0.5,
        '¾' => 0.75,
        '⅛' => 0.125,
        '⅜' => 0.375,
        '⅝' => 0.625,
        '⅞' => 0.875,
        '⅓' => 1.0 / 3.0,
        '⅔' => 2.0 / 3.0,
        _ => return None,
    })
}

/// `12,5` would be read as two legs' numbers, so it is refused with the remedy.
fn refuse_decimal_comma(cursor: &Cursor<'_>, from: usize) -> Result<(), Problem> {
    let [comma, digits, ..] = cursor.rest() else {
        return Ok(());
    };
    let span = cursor.since(from);
    let touching = span.end == comma.span.start && comma.span.end == digits.span.start;
    if comma.is_mark(",") && touching && digits.text.starts_with(|c: char| c.is_ascii_digit()) {
        return Err(Problem::new(
            span.start..digits.span.end,
            "a comma separates legs and cannot stand in a number",
            "write decimals with a point, such as 12.5, and a blank after a separating comma",
        ));
    }
    Ok(())
}

/// A word right after a bare number that means nothing here stands where its unit would.
pub(super) fn refuse_unknown_unit(cursor: &Cursor<'_>) -> Result<(), Problem> {
    let is_bare = cursor.before().is_some_and(|token| {
        token.kind == Kind::Word && matches!(number(token.text), Some((_, "")))
    });
    match cursor.peek() {
        Some(word) if is_bare && word.kind == Kind::Word && !is_reserved(word.text) => {
            Err(no_unit(word.span.clone(), word.text))
        }
        _ => Ok(()),
    }
}

fn no_unit(span: Range<usize>, word: &str) -> Problem {
    Problem::new(
        span,
        format!("{:?} is not a unit", plain(word, 40)),
        "use mm, cm, in, ft, bw, MP or °",
    )
}

/// The unit that the next words or mark name; takes it.
fn unit_after(cursor: &mut Cursor<'_>) -> Unit {
    let Some((unit, tokens)) = unit_at(cursor.rest()) else {
        return Unit::Bare;
    };
    cursor.advance(tokens);
    unit
}

impl Measure {
    /// This measure as a distance in millimetres. A converted one is brought to whole micrometres.
    pub fn distance_mm(&self, scale: &Scale) -> Result<f64, Problem> {
        let mm = match self.unit {
            Unit::Bare | Unit::Length(LengthUnit::Millimetres) => self.amount,
            Unit::Length(unit) => (self.amount * unit.worth_mm(scale) * 1e3).round() / 1e3,
            Unit::Degrees => {
                return Err(Problem::new(
                    self.span.clone(),
                    "this is an angle, and a distance is expected",
                    DISTANCE_ADVICE,
                ));
            }
        };
        if mm <= LENGTH_MAX_MM {
            return Ok(mm);
        }
        Err(Problem::new(
            self.span.clone(),
            "no table is that long",
            format!("a distance is at most {LENGTH_MAX_MM} mm"),
        ))
    }

    /// This measure as an angle in degrees.
    pub fn angle_deg(&self) -> Result<f64, Problem> {
        if let Unit::Length(_) = self.unit {
            return Err(Problem::new(
                self.span.clone(),
                "this is a distance, and an angle is expected",
                ANGLE_ADVICE,
            ));
        }
        if self.amount <= ANGLE_MAX_DEG {
            return Ok(self.amount);
        }
        Err(Problem::new(
            self.span.clone(),
            "that is more than once round",
            format!("an angle is at most {ANGLE_MAX_DEG}°"),
        ))
    }

    /// Whether it can be nothing but a distance.
    pub fn is_length(&self) -> bool {
        matches!(self.unit, Unit::Length(_))
    }
}

/// Reads a distance that must be next.
pub(super) fn distance_mm(cursor: &mut Cursor<'_>, scale: &Scale) -> Result<f64, Problem> {
    match measure(cursor)? {
        Some(measure) => measure.distance_mm(scale),
        None => Err(cursor.expected("a distance", DISTANCE_ADVICE)),
    }
}

/// What to say when a distance is missing.
pub(super) fn distance_advice() -> &'static str {
    DISTANCE_ADVICE
}

/// What to say when an angle is missing.
pub(super) fn angle_advice() -> &'static str {
    ANGLE_ADVICE
}
