//! Reading the legs of a move.

use super::cursor::Cursor;
use super::fault::Problem;
use super::measure::{self, Measure};
use super::tokens::{Kind, Token};
use super::words::{self, LEFT, RIGHT};
use crate::game::Game;
use crate::orders::{ANGLE_MAX_DEG, Extent, Hand, Leg};

/// Words that may stand between the parts of a leg and mean nothing.
const FILLERS: &[&str] = &["by", "to", "the", "at", "on", "for", "of", "a"];

const LEG_ADVICE: &str =
    "legs are forward, back, sidestep, oblique, wheel, turn, about, align and reform";

/// Base width in millimetres and bases abreast of the unit that moves, where a wheel may be
/// given by its arc; `None` for a body of several units.
pub(super) type Frontage = Option<(f64, u16)>;

/// Reads the legs up to the end of the line, at least one.
pub(super) fn legs(
    cursor: &mut Cursor<'_>,
    game: &Game,
    mut frontage: Frontage,
) -> Result<Vec<Leg>, Problem> {
    if cursor.word(&["stand", "stands"]) {
        cursor.done("a unit that stands makes no legs")?;
        return Ok(Vec::new());
    }
    let mut legs = Vec::new();
    loop {
        if let Some(token) = cursor.peek()
            && token.is_word(&["stand", "stands"])
        {
            return Err(Problem::new(
                token.span.clone(),
                "a unit that stands makes no legs, and this one has made some",
                "leave it out: a unit stands where its last leg ends",
            ));
        }
        let leg = leg(cursor, game, frontage)?;
        if let (Leg::Reform { files, .. }, Some((_, abreast))) = (&leg, &mut frontage) {
            *abreast = *files;
        }
        legs.push(leg);
        if cursor.is_at_end() {
            return Ok(legs);
        }
        if !separator(cursor) {
            measure::refuse_unknown_unit(cursor)?;
            let remedy = "separate legs by a comma or \"then\"";
            return Err(cursor.expected("a comma or the end of the line", remedy));
        }
    }
}

fn separator(cursor: &mut Cursor<'_>) -> bool {
    let mark = cursor.mark(",") || cursor.mark(";");
    let and = cursor.word(&["and"]);
    let then = cursor.word(&["then"]);
    mark || and || then
}

/// Whether a token begins a leg.
pub(super) fn begins_leg(token: &Token<'_>) -> bool {
    token.kind == Kind::Word && words::leg_named(token.text).is_some()
}

fn leg(cursor: &mut Cursor<'_>, game: &Game, frontage: Frontage) -> Result<Leg, Problem> {
    let from = cursor.at();
    let side_before = hand(cursor);
    let Some(name) = leg_word(cursor) else {
        let typed = cursor.peek().map_or("", |token| token.text);
        let usual = words::LEGS.map(|(usual, _)| usual);
        let near = words::suggestion(typed, usual);
        return Err(cursor.expected("a leg", format!("{LEG_ADVICE}{near}")));
    };
    if name == "reform" {
        let (files, ranks) = block(cursor)?;
        return Ok(Leg::Reform { files, ranks });
    }
    let mut parts = Parts::read(cursor)?;
    parts.side = parts.side.or(side_before);
    parts.span = cursor.since(from);
    parts.leg(name, cursor, game, frontage)
}

/// Takes the word or words that name a leg.
fn leg_word(cursor: &mut Cursor<'_>) -> Option<&'static str> {
    if let [first, second, ..] = cursor.rest() {
        let pair = |a: &[&str], b: &[&str]| first.is_word(a) && second.is_word(b);
        let name = if pair(&["side"], &["step", "steps"]) {
            Some("sidestep")
        } else if pair(&["turn", "turns"], &["about"]) || pair(&["about"], &["turn"]) {
            Some("about")
        } else {
            None
        };
        if name.is_some() {
            cursor.advance(2);
            return name;
        }
    }
    let token = cursor.peek().filter(|token| token.kind == Kind::Word)?;
    let name = words::leg_named(token.text).filter(|name| *name != "stand")?;
    cursor.advance(1);
    Some(name)
}

/// Takes `left` or `right`.
pub(super) fn hand(cursor: &mut Cursor<'_>) -> Option<Hand> {
    if cursor.word(LEFT) {
        Some(Hand::Left)
    } else if cursor.word(RIGHT) {
        Some(Hand::Right)
    } else {
        None
    }
}

/// `4x2`, `4 x 2`, `4 by 2`, `4 wide 2 deep`.
fn block(cursor: &mut Cursor<'_>) -> Result<(u16, u16), Problem> {
    let advice = "write bases abreast and deep, such as reform 4x2 or reform 4 by 2";
    let bad = |cursor: &Cursor<'_>| cursor.expected("files and ranks", advice);
    let _ = cursor.word(&["to"]) || cursor.word(&["into"]);
    let token = cursor.peek().ok_or_else(|| bad(cursor))?;
    let count = |text: &str| text.parse::<u16>().ok().filter(|count| *count > 0);
    if let Some((files, ranks)) = token.text.split_once(['x', 'X', '×'])
        && let (Some(files), Some(ranks)) = (count(files), count(ranks))
    {
        cursor.advance(1);
        return Ok((files, ranks));
    }
    let files = count(token.text).ok_or_else(|| bad(cursor))?;
    cursor.advance(1);
    let _ = cursor.word(&["x", "×", "by", "wide", "abreast", "files", "file"]);
    let _ = cursor.mark(",") || cursor.word(&["and", "by"]);
    let ranks = cursor.peek().and_then(|token| count(token.text));
    let ranks = ranks.ok_or_else(|| bad(cursor))?;
    cursor.advance(1);
    let _ = cursor.word(&["deep", "ranks", "rank"]);
    Ok((files, ranks))
}

/// What was written after a leg's name, in whatever order.
#[derive(Default)]
struct Parts {
    side: Option<Hand>,
    measures: Vec<Measure>,
    up_to: bool,
    as_far: bool,
    span: std::ops::Range<usize>,
}

impl Parts {
    fn read(cursor: &mut Cursor<'_>) -> Result<Self, Problem> {
        let mut parts = Self::default();
        loop {
            let side = hand(cursor);
            if side.is_some() {
                parts.side = side;
            } else if parts.limit_words(cursor)? || cursor.word(FILLERS) {
            } else if let Some(measure) = measure::measure(cursor)? {
                parts.measures.push(measure);
            } else {
                return Ok(parts);
            }
        }
    }

    /// Takes `up to`, `up to the limit`, `as far as allowed`.
    fn limit_words(&mut self, cursor: &mut Cursor<'_>) -> Result<bool, Problem> {
        let rest = cursor.rest();
        let run = |at: usize, words: &[&str]| {
            words
                .iter()
                .enumerate()
                .all(|(i, word)| rest.get(at + i).is_some_and(|token| token.is_word(&[word])))
        };
        if run(0, &["up", "to"]) {
            self.up_to = true;
            self.as_far = run(2, &["the", "limit"]);
            cursor.advance(if self.as_far { 4 } else { 2 });
            return Ok(true);
        }
        if run(0, &["up"]) {
            cursor.advance(1);
            return Err(cursor.expected("\"to\"", "write up to, as in \"forward up to 4 in\""));
        }
        if run(0, &["as", "far", "as"]) {
            let words = if run(3, &["it", "can"]) || run(3, &["it", "may"]) {
                5
            } else if run(3, &["allowed"]) || run(3, &["possible"]) {
                4
            } else {
                cursor.advance(3);
                return Err(cursor.expected("\"allowed\"", "write as far as allowed"));
            };
            (self.up_to, self.as_far) = (true, true);
            cursor.advance(words);
            return Ok(true);
        }
        Ok(false)
    }

    fn leg(
        mut self,
        name: &str,
        cursor: &Cursor<'_>,
        game: &Game,
        frontage: Frontage,
    ) -> Result<Leg, Problem> {
        let leg = match name {
            "forward" | "back" => {
                self.no_side(name)?;
                let distance_mm = self.distance(cursor, game)?;
                if name == "forward" {
                    Leg::Forward { distance_mm }
                } else {
                    Leg::Back { distance_mm }
                }
            }
            "sidestep" => Leg::Sidestep {
                side: self.need_side(cursor)?,
                distance_mm: self.distance(cursor, game)?,
            },
            "oblique" => Leg::Oblique {
                side: self.need_side(cursor)?,
                angle_deg: self.angle(cursor)?,
                distance_mm: self.distance(cursor, game)?,
            },
            "wheel" => Leg::Wheel {
                side: self.need_side(cursor)?,
                angle_deg: if self.as_far {
                    Extent::AsFarAsAllowed
                } else {
                    Extent::new(self.wheel_angle(cursor, game, frontage)?, self.up_to)
                },
            },
            "turn" => {
                self.no_limit(name)?;
                let side = self.need_side(cursor)?;
                self.quarter()?;
                Leg::Turn { side }
            }
            "about" => {
                self.no_limit(name)?;
                self.no_side(name)?;
                Leg::About
            }
            // "align": leg_word gives no other name
            _ => {
                self.no_limit(name)?;
                Leg::Align {
                    side: self.need_side(cursor)?,
                    angle_deg: self.angle(cursor)?,
                }
            }
        };
        match self.measures.first() {
            None => Ok(leg),
            Some(left) => Err(Problem::new(
                left.span.clone(),
                format!("this number is one too many for {name:?}"),
                "take it out, or separate legs by a comma",
            )),
        }
    }

    fn need_side(&self, cursor: &Cursor<'_>) -> Result<Hand, Problem> {
        let advice = "say to which side: left or right";
        self.side
            .ok_or_else(|| cursor.expected("left or right", advice))
    }

    fn no_side(&self, name: &str) -> Result<(), Problem> {
        let remedy = "take left or right out, or write sidestep, oblique, wheel or turn";
        match self.side {
            None => Ok(()),
            Some(_) => Err(Problem::new(
                self.span.clone(),
                format!("{name:?} has no side"),
                remedy,
            )),
        }
    }

    fn no_limit(&self, name: &str) -> Result<(), Problem> {
        if !self.up_to {
            return Ok(());
        }
        Err(Problem::new(
            self.span.clone(),
            format!("{name:?} cannot be cut short"),
            "only forward, back, sidestep, oblique and wheel can go up to a limit",
        ))
    }

    /// A turn is a quarter; saying so is allowed.
    fn quarter(&mut self) -> Result<(), Problem> {
        let Some(measure) = self.measures.first() else {
            return Ok(());
        };
        if measure.angle_deg()? == 90.0 {
            self.measures.remove(0);
            return Ok(());
        }
        Err(Problem::new(
            measure.span.clone(),
            "a turn is always a quarter turn",
            "write wheel for another angle, or turn left",
        ))
    }

    fn distance(&mut self, cursor: &Cursor<'_>, game: &Game) -> Result<Extent, Problem> {
        if self.as_far {
            return Ok(Extent::AsFarAsAllowed);
        }
        if self.measures.is_empty() {
            return Err(cursor.expected("a distance", measure::distance_advice()));
        }
        let length = self.measures.iter().position(Measure::is_length);
        let measure = self.measures.remove(length.unwrap_or(0));
        let distance_mm = measure.distance_mm(&game.ruleset().scale)?;
        Ok(Extent::new(distance_mm, self.up_to))
    }

    fn angle(&mut self, cursor: &Cursor<'_>) -> Result<f64, Problem> {
        let angle = self
            .measures
            .iter()
            .position(|measure| !measure.is_length());
        match angle {
            Some(at) => self.measures.remove(at).angle_deg(),
            None => match self.measures.first() {
                Some(measure) => measure.angle_deg(),
                None => Err(cursor.expected("an angle", measure::angle_advice())),
            },
        }
    }

    /// A wheel's angle, or the arc of its outer corner measured with a tape.
    fn wheel_angle(
        &mut self,
        cursor: &Cursor<'_>,
        game: &Game,
        frontage: Frontage,
    ) -> Result<f64, Problem> {
        let is_arc = self.measures.first().is_some_and(Measure::is_length);
        if !is_arc {
            return self.angle(cursor);
        }
        let arc = self.measures.remove(0);
        let Some((base_mm, files)) = frontage else {
            return Err(Problem::new(
                arc.span,
                "the arc of a whole body cannot be measured here",
                "give the angle of the wheel, such as 15°",
            ));
        };
        // arc = frontage × angle in radians
        let arc_mm = arc.distance_mm(&game.ruleset().scale)?;
        let angle_deg = (arc_mm / (base_mm * f64::from(files))).to_degrees();
        let angle_deg = (angle_deg * 1e6).round() / 1e6;
        if angle_deg <= ANGLE_MAX_DEG {
            return Ok(angle_deg);
        }
        Err(Problem::new(
            arc.span,
            "that arc is more than once round",
            "give a shorter arc, or the angle in degrees",
        ))
    }
}
