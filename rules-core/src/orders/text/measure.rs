//! Reading distances and angles.

use std::ops::Range;

use winnow::Parser;
use winnow::ascii::digit1;
use winnow::combinator::{alt, opt};
use winnow::error::ContextError;
use winnow::token::rest;

use super::cursor::Cursor;
use super::fault::{Problem, plain};
use super::tokens::Kind;
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

/// What a typed number counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Unit {
    Bare,
    Degrees,
    Length(LengthUnit),
}

/// Reads a measure, if a number is next.
pub(super) fn measure(cursor: &mut Cursor<'_>) -> Result<Option<Measure>, Problem> {
    let from = cursor.at();
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
    let unit = if suffix.is_empty() {
        unit_after(cursor)
    } else {
        unit_named(suffix).ok_or_else(|| no_unit(suffix_span, suffix))?
    };
    Ok(Some(Measure {
        amount,
        unit,
        span: cursor.since(from),
    }))
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
    let share = (digit1::<&str, ContextError>, '/', digit1)
        .take()
        .verify_map(share);
    let vulgar = winnow::token::any.verify_map(vulgar);
    (alt((share, vulgar)), rest).parse(token.text).ok()
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
        "use mm, cm, in, bw, MP or °",
    )
}

/// The unit that the next word or mark names; takes it.
fn unit_after(cursor: &mut Cursor<'_>) -> Unit {
    if cursor.mark("°") {
        return Unit::Degrees;
    }
    if cursor.mark("\"") || cursor.mark("″") {
        return Unit::Length(LengthUnit::Inches);
    }
    let two = match cursor.rest() {
        [first, second, ..] if second.is_word(&["width", "widths"]) => {
            first.is_word(&["base"]).then_some(LengthUnit::BaseWidths)
        }
        [first, second, ..] if second.is_word(&["point", "points"]) => first
            .is_word(&["movement"])
            .then_some(LengthUnit::MovementPoints),
        _ => None,
    };
    if let Some(unit) = two {
        cursor.advance(2);
        return Unit::Length(unit);
    }
    let word = cursor.peek().filter(|token| token.kind == Kind::Word);
    if let Some(unit) = word.and_then(|token| unit_named(token.text)) {
        cursor.advance(1);
        return unit;
    }
    Unit::Bare
}

fn unit_named(word: &str) -> Option<Unit> {
    if let Some(unit) = LengthUnit::named(word) {
        return Some(Unit::Length(unit));
    }
    Some(match word.to_lowercase().as_str() {
        "deg" | "degs" | "degree" | "degrees" => Unit::Degrees,
        "mms" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => {
            Unit::Length(LengthUnit::Millimetres)
        }
        "cms" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => {
            Unit::Length(LengthUnit::Centimetres)
        }
        "ins" => Unit::Length(LengthUnit::Inches),
        "bws" => Unit::Length(LengthUnit::BaseWidths),
        "mps" => Unit::Length(LengthUnit::MovementPoints),
        _ => return None,
    })
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
