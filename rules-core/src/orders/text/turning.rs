//! What is meant by a wheel, a turn, or something to face; and by a block to reform.

use super::aim::Goal;
use super::clause::Share;
use super::fault::Problem;
use super::meaning::{Meaning, Reader, wheel};
use super::measure::Measure;
use crate::orders::{ANGLE_MAX_DEG, Extent, Hand, Leg};

impl Reader<'_, '_> {
    pub(super) fn wheel(&mut self) -> Result<Meaning, Problem> {
        if let Some(goal) = &self.clause.goal {
            return self.aimed(goal);
        }
        let side = self.side()?;
        if self.clause.as_far {
            return Ok(Meaning::sure(Leg::Wheel {
                side,
                angle_deg: Extent::AsFarAsAllowed,
            }));
        }
        let angle_deg = match self.clause.share {
            Some(Share::Half) => 45.0,
            Some(Share::Quarter) => 90.0,
            None => self.wheel_angle()?,
        };
        let angle_deg = Extent::new(angle_deg, self.clause.up_to);
        Ok(Meaning::sure(Leg::Wheel { side, angle_deg }))
    }

    /// A wheel that faces a goal. To the side that was named; where that is the long way round it is asked.
    fn aimed(&self, goal: &Goal) -> Result<Meaning, Problem> {
        self.no_limit_of_goal()?;
        let Some(side) = self.clause.side else {
            let (side, angle_deg) = self.nearer(goal)?;
            return Ok(Meaning::sure(wheel(side, angle_deg)));
        };
        let angle_deg = self.facing(side, goal)?;
        if angle_deg <= 180.0 {
            return Ok(Meaning::sure(wheel(side, angle_deg)));
        }
        let other_deg = self.facing(side.other(), goal).unwrap_or(ANGLE_MAX_DEG);
        if other_deg > 180.0 {
            return Ok(Meaning::sure(wheel(side, angle_deg)));
        }
        let question = format!("{} lies to the {}", goal.name(), side.other().word());
        let choices = vec![
            vec![wheel(side.other(), other_deg)],
            vec![wheel(side, angle_deg)],
        ];
        Ok(self.ask(question, choices))
    }

    fn no_limit_of_goal(&self) -> Result<(), Problem> {
        if !self.clause.up_to && self.clause.measures.is_empty() && self.clause.share.is_none() {
            return Ok(());
        }
        Err(Problem::new(
            self.clause.span.clone(),
            "a wheel that faces something has the angle that this takes, and no other",
            "give either what to face or an angle",
        ))
    }

    /// The shorter wheel that faces a goal.
    pub(super) fn nearer(&self, goal: &Goal) -> Result<(Hand, f64), Problem> {
        let (left, right) = (
            self.facing(Hand::Left, goal),
            self.facing(Hand::Right, goal),
        );
        match (left, right) {
            (Ok(left_deg), Ok(right_deg)) if right_deg < left_deg => Ok((Hand::Right, right_deg)),
            (Ok(left_deg), _) => Ok((Hand::Left, left_deg)),
            (Err(_), Ok(right_deg)) => Ok((Hand::Right, right_deg)),
            (Err(problem), Err(_)) => Err(problem),
        }
    }

    fn facing(&self, side: Hand, goal: &Goal) -> Result<f64, Problem> {
        let Some(course) = self.course else {
            return Err(Problem::new(
                self.clause.span.clone(),
                "the wheel of a whole body is given by its angle",
                "measure from one of its units, and write the angle, such as 15°",
            ));
        };
        course
            .wheel_deg(side, goal, self.mover.game)
            .map_err(|unaimed| {
                let (problem, remedy) = unaimed.told(goal);
                Problem::new(self.clause.span.clone(), problem, remedy)
            })
    }

    pub(super) fn turn(&mut self) -> Result<Meaning, Problem> {
        if let Some(goal) = &self.clause.goal {
            let (side, angle_deg) = self.nearer(goal)?;
            let lifted = if angle_deg > 135.0 {
                Leg::About
            } else {
                Leg::Turn { side }
            };
            return Ok(self.ask(
                format!("facing {} could be a wheel or a turn", goal.name()),
                vec![vec![wheel(side, angle_deg)], vec![lifted]],
            ));
        }
        if self.clause.share == Some(Share::Half) {
            let mut choices = vec![vec![Leg::About]];
            choices.extend(self.clause.side.map(|side| vec![wheel(side, 45.0)]));
            return Ok(self.ask(
                "half a turn could be half of the circle or of a right angle",
                choices,
            ));
        }
        self.no_limit()?;
        let said = self.measures.first().map(Measure::angle_deg).transpose()?;
        if said == Some(180.0) {
            self.measures.remove(0);
            return Ok(Meaning::sure(Leg::About));
        }
        let side = self.side()?;
        match said {
            Some(angle_deg) if angle_deg != 90.0 => Ok(self.ask(
                "a turn is always a quarter turn",
                vec![vec![wheel(side, angle_deg)], vec![Leg::Turn { side }]],
            )),
            _ => {
                self.measures.truncate(
                    self.measures
                        .len()
                        .saturating_sub(usize::from(said.is_some())),
                );
                Ok(Meaning::sure(Leg::Turn { side }))
            }
        }
    }

    /// A wheel's angle, or the arc of its outer corner measured with a tape.
    fn wheel_angle(&mut self) -> Result<f64, Problem> {
        let is_arc = self.measures.first().is_some_and(Measure::is_length);
        if !is_arc {
            return self.angle();
        }
        let arc = self.measures.remove(0);
        let (Some(unit), Some(course)) = (self.mover.unit, self.course) else {
            return Err(Problem::new(
                arc.span,
                "the arc of a whole body cannot be measured here",
                "give the angle of the wheel, such as 15°",
            ));
        };
        // arc = frontage × angle in radians
        let arc_mm = arc.distance_mm(&self.mover.game.ruleset().scale)?;
        let angle_deg = (arc_mm / (unit.base_mm.0 * f64::from(course.files()))).to_degrees();
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
    /// A block of as many bases as the unit has, of which one side may go without saying.
    pub(super) fn reform(&self) -> Result<Meaning, Problem> {
        let bases = self.mover.unit.map(|unit| unit.bases);
        let across = |files: u16| bases.map(|bases| bases.div_ceil(files.max(1)).max(1));
        match self.clause.block {
            Some((Some(files), Some(ranks))) => Ok(Meaning::sure(Leg::Reform { files, ranks })),
            Some((Some(files), None)) => across(files)
                .map(|ranks| Meaning::sure(Leg::Reform { files, ranks }))
                .ok_or_else(|| self.of_a_body()),
            Some((None, Some(ranks))) => across(ranks)
                .map(|files| Meaning::sure(Leg::Reform { files, ranks }))
                .ok_or_else(|| self.of_a_body()),
            _ => {
                let bases = bases.unwrap_or(1);
                let block = |files: u16| {
                    vec![Leg::Reform {
                        files,
                        ranks: bases.div_ceil(files.max(1)).max(1),
                    }]
                };
                let mut files = vec![1, 2, bases.div_ceil(2).max(1), bases];
                files.dedup();
                files.truncate(2);
                Ok(self.ask(
                    "how many abreast? the ruleset has no formations by name",
                    files.into_iter().map(block).collect(),
                ))
            }
        }
    }

    fn of_a_body(&self) -> Problem {
        self.lacks(
            "files or ranks",
            "a body does not reform; order each unit by itself",
        )
    }
}
