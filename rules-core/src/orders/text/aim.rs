//! What a leg may be aimed at, and the wheel that aims it: an aimed wheel becomes an angle as it is read.

use super::cursor::Cursor;
use super::fault::{Problem, plain};
use super::names::{atoms, joined};
use super::roster::{Roster, Whose};
use super::tokens::Kind;
use crate::game::{Game, State, Unit};
use crate::geometry::{Block, Footprint, Placement, Point, Pose, Vector, wheel_to_face_rad};
use crate::orders::{Hand, Leg, UnitId};

/// Something on the table that a leg can be aimed at.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Goal {
    /// The middle of a unit's footprint.
    Unit(UnitId),
    /// An objective or a crossing, by name.
    Place(String, Point),
    /// A bearing in degrees clockwise from north, with the word for it.
    Bearing(String, f64),
}

/// The points of the compass.
const COMPASS: [(&[&str], f64); 8] = [
    (&["north"], 0.0),
    (&["north-east", "northeast", "ne"], 45.0),
    (&["east"], 90.0),
    (&["south-east", "southeast", "se"], 135.0),
    (&["south"], 180.0),
    (&["south-west", "southwest", "sw"], 225.0),
    (&["west"], 270.0),
    (&["north-west", "northwest", "nw"], 315.0),
];

/// Longest name of a place in words that is looked for.
const PLACE_WORDS_MAX: usize = 8;

/// Reads the goal that must be next.
pub(super) fn goal(cursor: &mut Cursor<'_>, roster: &Roster<'_>) -> Result<Goal, Problem> {
    if let Some(goal) = goal_if_named(cursor, roster) {
        return Ok(goal);
    }
    let unit = roster.unit(cursor, Whose::Enemy);
    let unit =
        unit.map_err(|problem| problem.or("an objective, a crossing or a point of the compass"))?;
    Ok(Goal::Unit(unit))
}

/// Takes a goal that is named in full.
pub(super) fn goal_if_named(cursor: &mut Cursor<'_>, roster: &Roster<'_>) -> Option<Goal> {
    let mut ahead = cursor.ahead(0);
    if roster.words_named(ahead.rest()) == 0 {
        let _ = ahead.word(&["the"]);
        let _ = ahead.word(&["enemy"]);
    }
    if ahead.peek()?.kind == Kind::Exact || roster.words_named(ahead.rest()) > 0 {
        let unit = roster.unit(&mut ahead, Whose::Enemy).ok()?;
        cursor.go_to(&ahead);
        return Some(Goal::Unit(unit));
    }
    if let Some((place, words)) = place(&ahead, roster.game) {
        ahead.advance(words);
        cursor.go_to(&ahead);
        return Some(place);
    }
    let _ = ahead.word(&["due"]);
    let (words, bearing_deg) = COMPASS
        .iter()
        .find(|(words, _)| ahead.peek().is_some_and(|token| token.is_word(words)))?;
    ahead.advance(1);
    cursor.go_to(&ahead);
    Some(Goal::Bearing(words[0].to_owned(), *bearing_deg))
}

/// The objective or crossing whose whole name comes next, the longest, and in how many words.
fn place(cursor: &Cursor<'_>, game: &Game) -> Option<(Goal, usize)> {
    let rest = cursor.rest();
    let run = rest
        .iter()
        .take(PLACE_WORDS_MAX)
        .take_while(|token| token.kind == Kind::Word)
        .count();
    let scenario = game.scenario();
    let spans = scenario.line.iter().flat_map(|line| &line.span);
    let places = scenario
        .objective
        .iter()
        .map(|objective| (&objective.name, objective.at))
        .chain(spans.map(|span| (&span.name, span.at)));
    let places: Vec<_> = places.collect();
    (1..=run).rev().find_map(|words| {
        let typed = joined(rest[..words].iter().flat_map(|token| atoms(token.text)));
        let (name, [x, y]) = places
            .iter()
            .find(|(name, _)| !typed.is_empty() && joined(atoms(name)) == typed)?;
        Some((Goal::Place((*name).clone(), Point::new(*x, *y)), words))
    })
}

impl Goal {
    /// What it is called in a sheet.
    pub fn name(&self) -> String {
        match self {
            Self::Unit(unit) => plain(&unit.0, 40),
            Self::Place(name, _) => plain(name, 40),
            Self::Bearing(word, _) => word.clone(),
        }
    }
}

/// Where a unit comes to stand, leg by leg, as far as that follows from what was ordered alone.
#[derive(Clone)]
pub(super) struct Course<'g> {
    unit: &'g Unit,
    files: u16,
    at: Option<Pose>,
}

impl<'g> Course<'g> {
    pub fn of(unit: &'g Unit) -> Self {
        let at = match unit.state {
            State::Standing(pose) => Some(pose),
            State::Waiting(_) | State::Gone(_) => None,
        };
        Self {
            unit,
            files: unit.files,
            at,
        }
    }

    /// Bases abreast.
    pub fn files(&self) -> u16 {
        self.files
    }

    fn block(&self) -> Block {
        let mut unit = self.unit.clone();
        unit.files = self.files;
        unit.block()
    }

    fn footprint(&self) -> Option<Footprint> {
        Some(Footprint::new(&self.at?.placement(), self.block()))
    }

    /// Makes a leg. Where that follows only from a limit of the table, nobody knows from here on where the unit stands.
    pub fn make(&mut self, leg: &Leg) {
        if let Leg::Reform { files, .. } = leg {
            self.files = *files;
            return;
        }
        self.at = self.after(leg);
    }

    fn after(&self, leg: &Leg) -> Option<Pose> {
        let pose = self.at?;
        let footprint = self.footprint()?;
        let extent = match leg.extent() {
            Some(extent) if extent.is_up_to() => return None,
            Some(extent) => extent.amount()?,
            None => 0.0,
        };
        let slid = |way: Vector| pose.placement().shifted(way * extent).rounded();
        match *leg {
            Leg::Forward { .. } => slid(footprint.ahead),
            Leg::Back { .. } => slid(-footprint.ahead),
            Leg::Sidestep { side, .. } => slid(footprint.right() * side.sign()),
            Leg::Oblique {
                side, angle_deg, ..
            } => slid(
                footprint
                    .ahead
                    .turned((side.sign() * angle_deg).to_radians()),
            ),
            Leg::Wheel { side, .. } => {
                let pivot = match side {
                    Hand::Left => footprint.front_left(),
                    Hand::Right => footprint.front_right(),
                };
                let clockwise_rad = (side.sign() * extent).to_radians();
                pose.placement()
                    .turned_about(pivot, clockwise_rad)
                    .rounded()
            }
            Leg::Turn { side } => {
                let quarter = if side == Hand::Right { 90 } else { -90 };
                self.turned_about_centre(quarter * 1_000_000)
            }
            Leg::About => self.turned_about_centre(180_000_000),
            Leg::Align { side, angle_deg } => {
                let bearing_deg = pose.bearing_deg() + side.sign() * angle_deg;
                Pose::from_mm_deg(pose.x_mm(), pose.y_mm(), bearing_deg)
            }
            Leg::Reform { .. } => Some(pose),
        }
    }

    fn turned_about_centre(&self, clockwise_udeg: i32) -> Option<Pose> {
        let footprint = self.footprint()?;
        let turned = self.at?.with_bearing_turned(clockwise_udeg);
        let ahead = turned.placement().ahead;
        let anchor = footprint.centre + ahead * footprint.half_depth;
        Placement { anchor, ahead }.rounded()
    }

    /// The wheel in degrees after which the line straight ahead of the anchor meets the goal, in whole millionths of a degree; for
    /// a bearing, after which the unit faces along it.
    ///
    /// # Errors
    /// When it is not known where the unit stands then, the goal is not on the table, or no wheel faces it.
    pub fn wheel_deg(&self, side: Hand, goal: &Goal, game: &Game) -> Result<f64, Unaimed> {
        let footprint = self.footprint().ok_or(Unaimed::Unplaced)?;
        let target = match goal {
            Goal::Place(_, point) => *point,
            Goal::Unit(id) if *id == self.unit.id => return Err(Unaimed::Itself),
            Goal::Unit(id) => {
                let ground = game.unit(id).and_then(Unit::footprint);
                ground.ok_or(Unaimed::NotOnTable)?.centre
            }
            Goal::Bearing(_, bearing_deg) => {
                let pose = self.at.ok_or(Unaimed::Unplaced)?;
                let turn = (bearing_deg - pose.bearing_deg()) * side.sign();
                return Ok(in_full_turn(turn));
            }
        };
        let angle_rad = wheel_to_face_rad(&footprint, side == Hand::Right, target);
        Ok(in_full_turn(
            angle_rad.ok_or(Unaimed::TooNear)?.to_degrees(),
        ))
    }
}

/// Degrees in whole millionths, from 0 to less than a full turn.
fn in_full_turn(angle_deg: f64) -> f64 {
    let angle_deg = (angle_deg * 1e6).round() / 1e6 % 360.0;
    if angle_deg < 0.0 {
        angle_deg + 360.0
    } else {
        angle_deg
    }
}

/// Why a wheel cannot be aimed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Unaimed {
    Unplaced,
    NotOnTable,
    Itself,
    TooNear,
}

impl Unaimed {
    /// What is wrong, and what would do.
    pub fn told(self, goal: &Goal) -> (String, &'static str) {
        let goal = goal.name();
        match self {
            Self::Unplaced => (
                format!("it is not known where the unit will stand when it wheels to face {goal}"),
                "aim where every leg before is of a given length, and the unit stands on the table; else give the angle",
            ),
            Self::NotOnTable => (
                format!("{goal} is not on the table, so nobody can face it"),
                "name a unit that stands on the table, an objective, a crossing or a point of the compass",
            ),
            Self::Itself => (
                format!("{goal} cannot face itself"),
                "name another unit, an objective, a crossing or a point of the compass",
            ),
            Self::TooNear => (
                format!(
                    "no wheel faces {goal}: it is nearer to the corner than the middle of the front is"
                ),
                "wheel about the other corner, or give the angle",
            ),
        }
    }
}
