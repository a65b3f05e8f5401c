//! From what was said of a leg to the leg that is meant: one, or several among which the player is asked to choose.

use std::ops::Range;

use super::aim::Course;
use super::clause::{Clause, Share};
use super::fault::Problem;
use super::measure::{self, Measure};
use super::units::Unit as Counted;
use super::words::Sense;
use crate::game::{Game, Unit};
use crate::geometry::smaller;
use crate::orders::{ANGLE_MAX_DEG, Extent, Hand, Leg};

/// An angle for an example, in degrees.
const EXAMPLE_DEG: f64 = 15.0;

/// Who makes the legs.
pub(super) struct Mover<'g> {
    pub game: &'g Game,
    /// The one unit; `None` for a body.
    pub unit: Option<&'g Unit>,
}

/// What a clause means.
pub(super) struct Meaning {
    /// The legs meant; several where that must be asked.
    pub choices: Vec<Vec<Leg>>,
    /// What is asked.
    pub question: Option<(Range<usize>, String)>,
}

impl Meaning {
    pub(super) fn sure(leg: Leg) -> Self {
        Self {
            choices: vec![vec![leg]],
            question: None,
        }
    }
}

/// What each clause means to one mover, in order.
pub(super) fn meanings(clauses: &[Clause], mover: &Mover<'_>) -> Result<Vec<Meaning>, Problem> {
    let mut course = mover.unit.map(Course::of);
    let stands = |clause: &&Clause| clause.sense == Some(Sense::Stand);
    if let Some(stand) = clauses.iter().find(stands).filter(|_| clauses.len() > 1) {
        return Err(Problem::new(
            stand.span.clone(),
            "a unit that stands makes no legs, and this one makes some",
            "leave it out: a unit stands where its last leg ends",
        ));
    }
    let mut found = Vec::new();
    for clause in clauses {
        let reader = Reader {
            mover,
            course: course.as_ref(),
            clause,
            measures: clause.measures.clone(),
        };
        let meaning = reader.read()?;
        if let (Some(course), Some(legs)) = (&mut course, meaning.choices.first()) {
            legs.iter().for_each(|leg| course.make(leg));
        }
        found.push(meaning);
    }
    Ok(found)
}

/// Reads one clause.
pub(super) struct Reader<'a, 'g> {
    pub(super) mover: &'a Mover<'g>,
    pub(super) course: Option<&'a Course<'g>>,
    pub(super) clause: &'a Clause,
    pub(super) measures: Vec<Measure>,
}

impl Reader<'_, '_> {
    fn read(mut self) -> Result<Meaning, Problem> {
        if self.clause.haste {
            return Ok(self.ask(
                "haste says nothing of how far",
                vec![vec![Leg::Forward {
                    distance_mm: Extent::AsFarAsAllowed,
                }]],
            ));
        }
        if let Some(question) = self.of_what_is_missing() {
            return Ok(question);
        }
        let meaning = match self.clause.sense {
            None => self.without_a_word(),
            Some(Sense::Go | Sense::Step | Sense::Forward) => self.ahead(),
            Some(Sense::Retire) => self.retire(),
            Some(Sense::Turn) => self.turn(),
            Some(Sense::Stand) => Ok(Meaning {
                choices: vec![Vec::new()],
                question: None,
            }),
            Some(Sense::Reform) => self.reform(),
            Some(Sense::Oblique) => self.oblique(),
            Some(Sense::Wheel) => self.wheel(),
            Some(Sense::Back) => self.back(),
            Some(Sense::Sidestep) => self.sidestep(),
            Some(Sense::About) => self.about(),
            Some(Sense::Align) => self.align(),
        }?;
        match self.measures.first() {
            Some(left) if meaning.question.is_none() => Err(Problem::new(
                left.span.clone(),
                format!("this number is one too many for {:?}", self.name()),
                "take it out, or separate legs by a comma",
            )),
            _ => Ok(meaning),
        }
    }

    /// The question where a distance, an angle or a side is missing, with examples of what would do.
    fn of_what_is_missing(&self) -> Option<Meaning> {
        let missing = self.clause.missing()?;
        let example_mm = self.example_mm();
        let amounts = [example_mm, Extent::AsFarAsAllowed];
        let sides = self
            .clause
            .side
            .map_or(vec![Hand::Left, Hand::Right], |side| vec![side]);
        let each = |leg: &dyn Fn(Hand) -> Leg| sides.iter().map(|side| vec![leg(*side)]).collect();
        let along = |leg: &dyn Fn(Extent) -> Leg| amounts.map(|amount| vec![leg(amount)]).into();
        let said_deg = self
            .measures
            .first()
            .and_then(|measure| measure.angle_deg().ok());
        let angle_deg = said_deg.unwrap_or(EXAMPLE_DEG);
        let distance = self.measures.first().map(|measure| {
            let mm = measure.distance_mm(&self.mover.game.ruleset().scale);
            mm.map_or(example_mm, |mm| Extent::new(mm, self.clause.up_to))
        });
        let distance_mm = distance.unwrap_or(example_mm);
        let choices: Vec<Vec<Leg>> = match self.clause.sense? {
            Sense::Forward | Sense::Go => along(&|distance_mm| Leg::Forward { distance_mm }),
            Sense::Back => along(&|distance_mm| Leg::Back { distance_mm }),
            Sense::Sidestep | Sense::Step => each(&|side| Leg::Sidestep { side, distance_mm }),
            Sense::Oblique => each(&|side| oblique(side, self.oblique_deg(), example_mm)),
            Sense::Wheel => each(&|side| wheel(side, angle_deg)),
            Sense::Turn => each(&|side| Leg::Turn { side }),
            Sense::Align => each(&|side| Leg::Align { side, angle_deg }),
            Sense::About | Sense::Reform | Sense::Stand | Sense::Retire => return None,
        };
        Some(self.ask(format!("{:?} lacks {missing}", self.name()), choices))
    }

    pub(super) fn ask(&self, question: impl Into<String>, choices: Vec<Vec<Leg>>) -> Meaning {
        Meaning {
            choices,
            question: Some((self.clause.span.clone(), question.into())),
        }
    }

    /// What the leg is called.
    fn name(&self) -> &'static str {
        match self.clause.sense {
            Some(Sense::Forward | Sense::Go | Sense::Step) => "forward",
            Some(Sense::Back | Sense::Retire) => "back",
            Some(Sense::Sidestep) => "sidestep",
            Some(Sense::Oblique) => "oblique",
            Some(Sense::Wheel) => "wheel",
            Some(Sense::Turn) => "turn",
            Some(Sense::About) => "about",
            Some(Sense::Align) => "align",
            Some(Sense::Reform) => "reform",
            Some(Sense::Stand) => "stand",
            None => "this",
        }
    }

    pub(super) fn lacks(&self, what: &str, advice: &str) -> Problem {
        Problem::new(
            self.clause.span.clone(),
            format!("{:?} lacks {what} here", self.name()),
            advice,
        )
    }

    pub(super) fn side(&self) -> Result<Hand, Problem> {
        let lacks = || self.lacks("left or right", "say to which side: left or right");
        self.clause.side.ok_or_else(lacks)
    }

    fn no_side(&self) -> Result<(), Problem> {
        match self.clause.side {
            None => Ok(()),
            Some(_) => Err(Problem::new(
                self.clause.span.clone(),
                format!("{:?} has no side", self.name()),
                "take left or right out, or write sidestep, oblique, wheel or turn",
            )),
        }
    }

    pub(super) fn no_limit(&self) -> Result<(), Problem> {
        if !self.clause.up_to {
            return Ok(());
        }
        Err(Problem::new(
            self.clause.span.clone(),
            format!("{:?} cannot be cut short", self.name()),
            "only forward, back, sidestep, oblique and wheel can go up to a limit",
        ))
    }

    /// A distance, taken from what was said; a length that says so first.
    pub(super) fn distance(&mut self) -> Result<Extent, Problem> {
        if self.clause.as_far {
            return Ok(Extent::AsFarAsAllowed);
        }
        match self.distance_if_said()? {
            Some(extent) => Ok(extent),
            None => Err(self.lacks("a distance", measure::distance_advice())),
        }
    }

    pub(super) fn distance_if_said(&mut self) -> Result<Option<Extent>, Problem> {
        if self.clause.as_far {
            return Ok(Some(Extent::AsFarAsAllowed));
        }
        if self.measures.is_empty() {
            return Ok(None);
        }
        let length = self.measures.iter().position(Measure::is_length);
        let measure = self.measures.remove(length.unwrap_or(0));
        let distance_mm = measure.distance_mm(&self.mover.game.ruleset().scale)?;
        Ok(Some(Extent::new(distance_mm, self.clause.up_to)))
    }

    pub(super) fn angle(&mut self) -> Result<f64, Problem> {
        let angle = self
            .measures
            .iter()
            .position(|measure| !measure.is_length());
        match angle {
            Some(at) => self.measures.remove(at).angle_deg(),
            None => match self.measures.first() {
                Some(measure) => measure.angle_deg(),
                None => Err(self.lacks("an angle", measure::angle_advice())),
            },
        }
    }

    /// The angle if one is said to be one, in degrees.
    fn degrees_if_said(&mut self) -> Result<Option<f64>, Problem> {
        let is_angle = |measure: &Measure| measure.unit == Counted::Degrees;
        match self.measures.iter().position(is_angle) {
            Some(at) => self.measures.remove(at).angle_deg().map(Some),
            None => Ok(None),
        }
    }

    /// A length for an example: a base width.
    fn example_mm(&self) -> Extent {
        Extent::Exactly(self.mover.game.ruleset().scale.base_width_mm)
    }

    /// What was said without a word of movement.
    fn without_a_word(&mut self) -> Result<Meaning, Problem> {
        if let Some(side) = self.clause.side {
            return self.sideways(side);
        }
        if self.clause.as_far {
            return Ok(Meaning::sure(Leg::Forward {
                distance_mm: Extent::AsFarAsAllowed,
            }));
        }
        if let Some(angle_deg) = self.degrees_if_said()? {
            let wheel = |side| vec![wheel(side, angle_deg)];
            return Ok(self.ask(
                "this names no leg and no side",
                vec![wheel(Hand::Left), wheel(Hand::Right)],
            ));
        }
        let distance_mm = self.distance()?;
        Ok(self.ask(
            "this names no leg",
            vec![
                vec![Leg::Forward { distance_mm }],
                vec![Leg::Back { distance_mm }],
            ],
        ))
    }

    /// Some movement to a side, which may be several things.
    fn sideways(&mut self, side: Hand) -> Result<Meaning, Problem> {
        if self.clause.share == Some(Share::Quarter) && self.measures.is_empty() {
            return Ok(Meaning::sure(Leg::Turn { side }));
        }
        let half = (self.clause.share == Some(Share::Half)).then_some(45.0);
        let angle_deg = half.or(self.degrees_if_said()?);
        if angle_deg.is_none()
            && let [measure] = &self.measures[..]
            && measure.unit == Counted::Bare
        {
            let angle_deg = measure.amount;
            let distance_mm = self.distance()?;
            let slide = Leg::Sidestep { side, distance_mm };
            let mut choices = vec![vec![slide]];
            if angle_deg <= ANGLE_MAX_DEG {
                choices.insert(0, vec![wheel(side, angle_deg)]);
            }
            return Ok(self.ask("this could be an angle or a distance", choices));
        }
        let distance = self.distance_if_said()?;
        let choices = match (angle_deg, distance) {
            (Some(angle_deg), Some(distance_mm)) => vec![
                vec![oblique(side, angle_deg, distance_mm)],
                vec![wheel(side, angle_deg), Leg::Forward { distance_mm }],
            ],
            (Some(angle_deg), None) => vec![
                vec![wheel(side, angle_deg)],
                vec![oblique(side, angle_deg, self.example_mm())],
            ],
            (None, Some(distance_mm)) => vec![
                vec![Leg::Sidestep { side, distance_mm }],
                vec![Leg::Turn { side }, Leg::Forward { distance_mm }],
            ],
            (None, None) => vec![
                vec![Leg::Turn { side }],
                vec![Leg::Sidestep {
                    side,
                    distance_mm: self.example_mm(),
                }],
            ],
        };
        Ok(self.ask(
            format!("this could be several ways of going to the {}", side.word()),
            choices,
        ))
    }

    fn ahead(&mut self) -> Result<Meaning, Problem> {
        if let Some(goal) = &self.clause.goal {
            let (side, angle_deg) = self.nearer(goal)?;
            let distance = self.distance_if_said()?;
            let distance_mm = distance.unwrap_or(Extent::AsFarAsAllowed);
            let legs = vec![wheel(side, angle_deg), Leg::Forward { distance_mm }];
            return Ok(self.ask(
                "a leg forward goes straight ahead, wherever that is",
                vec![legs],
            ));
        }
        let Some(side) = self.clause.side else {
            let distance_mm = self.distance()?;
            return Ok(Meaning::sure(Leg::Forward { distance_mm }));
        };
        let steps = self.clause.sense == Some(Sense::Step);
        if steps && self.measures.len() == 1 && self.measures[0].unit != Counted::Degrees {
            let distance_mm = self.distance()?;
            return Ok(Meaning::sure(Leg::Sidestep { side, distance_mm }));
        }
        let is_plain =
            self.clause.share.is_none() && self.measures.len() == 1 && !self.clause.as_far;
        if self.clause.sense == Some(Sense::Forward) && is_plain {
            let distance_mm = self.distance()?;
            let choices = vec![
                vec![oblique(side, self.oblique_deg(), distance_mm)],
                vec![Leg::Turn { side }, Leg::Forward { distance_mm }],
            ];
            return Ok(self.ask("\"forward\" has no side", choices));
        }
        self.sideways(side)
    }

    fn back(&mut self) -> Result<Meaning, Problem> {
        self.no_side()?;
        let distance_mm = self.distance()?;
        Ok(Meaning::sure(Leg::Back { distance_mm }))
    }

    fn sidestep(&mut self) -> Result<Meaning, Problem> {
        let side = self.side()?;
        let distance_mm = self.distance()?;
        Ok(Meaning::sure(Leg::Sidestep { side, distance_mm }))
    }

    fn about(&mut self) -> Result<Meaning, Problem> {
        self.no_limit()?;
        self.no_side()?;
        if self
            .measures
            .first()
            .is_some_and(|measure| measure.amount == 180.0 && !measure.is_length())
        {
            self.measures.remove(0);
        }
        Ok(Meaning::sure(Leg::About))
    }

    fn align(&mut self) -> Result<Meaning, Problem> {
        self.no_limit()?;
        let side = self.side()?;
        let angle_deg = self.angle()?;
        Ok(Meaning::sure(Leg::Align { side, angle_deg }))
    }

    /// Back, or about and forward.
    fn retire(&mut self) -> Result<Meaning, Problem> {
        self.no_side()?;
        let said = self.distance_if_said()?;
        let distance_mm = said.unwrap_or_else(|| self.example_mm());
        let question = match said {
            Some(_) => "going back could be with the face to the enemy or with the back to it",
            None => "this says neither how far nor whether with the face to the enemy",
        };
        let choices = vec![
            vec![Leg::Back { distance_mm }],
            vec![Leg::About, Leg::Forward { distance_mm }],
        ];
        Ok(self.ask(question, choices))
    }

    /// The widest oblique that the rules allow, at most half a right angle.
    fn oblique_deg(&self) -> f64 {
        smaller(self.mover.game.ruleset().movement.oblique_max, 45.0)
    }

    fn oblique(&mut self) -> Result<Meaning, Problem> {
        let side = self.side()?;
        let is_length = |measure: &Measure| measure.is_length();
        if self.clause.share == Some(Share::Half) {
            let distance_mm = self.distance()?;
            return Ok(Meaning::sure(oblique(side, 45.0, distance_mm)));
        }
        if self.measures.iter().all(is_length) && (self.clause.as_far || self.measures.len() == 1) {
            let distance_mm = self.distance()?;
            let legs = vec![oblique(side, self.oblique_deg(), distance_mm)];
            return Ok(self.ask("an oblique needs an angle beside its distance", vec![legs]));
        }
        let angle_deg = self.angle()?;
        let distance_mm = self.distance()?;
        Ok(Meaning::sure(oblique(side, angle_deg, distance_mm)))
    }
}

pub(super) fn wheel(side: Hand, angle_deg: f64) -> Leg {
    Leg::Wheel {
        side,
        angle_deg: Extent::Exactly(angle_deg),
    }
}

fn oblique(side: Hand, angle_deg: f64, distance_mm: Extent) -> Leg {
    Leg::Oblique {
        side,
        angle_deg,
        distance_mm,
    }
}
