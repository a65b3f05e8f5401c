//! From a leg as ordered to the motion it means (laws of measurement, §4).

use crate::game::Game;
use crate::geometry::{Footprint, Motion, Path, Vector};
use crate::orders::{ANGLE_MAX_DEG, Extent, Hand, LENGTH_MAX_MM, Leg};
use crate::ruleset::Ruleset;
use crate::verdict::{Code, Reason};

use super::body::Body;
use super::slack::ARITHMETIC_DEG;
use super::sweep::Sweep;

/// What a leg means for the body that makes it.
#[derive(Debug, Clone)]
pub(super) enum Step {
    /// The body slides or turns on the table; it must be clear at every instant.
    Sweep(Sweep),
    /// The figures are lifted; only the end must be clear.
    Lift { how: Lift, fixed_mm: f64 },
}

/// How lifted figures are set down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Lift {
    /// Turned about the body's centre.
    Turned { clockwise_udeg: i32 },
    /// Turned about the anchor.
    Aligned { clockwise_udeg: i32 },
    /// In a new block.
    Reformed { files: u16 },
}

/// The motion a leg means.
///
/// # Errors
/// The reason why it means none: an angle too large, a length below zero, a block that does not hold the bases.
pub(super) fn step(leg: &Leg, body: &Body, bases: u16, game: &Game) -> Result<Step, Reason> {
    let ruleset = game.ruleset();
    let movement = &ruleset.movement;
    let rectangle = body.footprint();
    let ahead = rectangle.ahead;
    let straight = |direction: Vector, distance_mm: Extent, rate: f64| {
        let by = direction * possible_length(distance_mm, game)?;
        let from = rectangle.anchor();
        Ok(Step::Sweep(Sweep {
            motion: Motion::Straight { by },
            tape: Path::Straight {
                from,
                to: from + by,
            },
            rate,
        }))
    };
    match *leg {
        Leg::Forward { distance_mm, .. } => straight(ahead, distance_mm, movement.forward),
        Leg::Back { distance_mm, .. } => straight(-ahead, distance_mm, movement.back),
        Leg::Sidestep {
            side, distance_mm, ..
        } => straight(
            rectangle.right() * side.sign(),
            distance_mm,
            movement.sidestep,
        ),
        Leg::Oblique {
            side,
            angle_deg,
            distance_mm,
            ..
        } => {
            let angle_deg = possible_angle(angle_deg)?;
            let direction = ahead.turned((side.sign() * angle_deg).to_radians());
            straight(direction, distance_mm, movement.oblique)
        }
        Leg::Wheel {
            side, angle_deg, ..
        } => {
            let clockwise_rad = (side.sign()
                * possible_angle(angle_deg.amount().unwrap_or(ANGLE_MAX_DEG))?)
            .to_radians();
            Ok(wheel(&rectangle, side, clockwise_rad, movement.wheel))
        }
        Leg::Turn { side } => Ok(Step::Lift {
            how: Lift::Turned {
                clockwise_udeg: quarter(side),
            },
            fixed_mm: movement.turn.mm(&ruleset.scale),
        }),
        Leg::About => Ok(Step::Lift {
            how: Lift::Turned {
                clockwise_udeg: 180_000_000,
            },
            fixed_mm: movement.about.mm(&ruleset.scale),
        }),
        Leg::Align { side, angle_deg } => {
            let angle_deg = possible_angle(angle_deg)?;
            single(body)?;
            Ok(Step::Lift {
                how: Lift::Aligned {
                    clockwise_udeg: udeg(side, angle_deg),
                },
                fixed_mm: 0.0,
            })
        }
        Leg::Reform { files, ranks } => {
            single(body)?;
            fits(bases, files, ranks)?;
            Ok(Step::Lift {
                how: Lift::Reformed { files },
                fixed_mm: movement.reform.mm(&ruleset.scale),
            })
        }
    }
}

/// How far the angle of an oblique is beyond what the rules allow, if it is.
pub(super) fn oblique_beyond(
    leg: &Leg,
    rectangle: &Footprint,
    ruleset: &Ruleset,
) -> Option<Reason> {
    let Leg::Oblique { angle_deg, .. } = *leg else {
        return None;
    };
    let most_deg = ruleset.movement.oblique_max;
    angle_beyond(most_deg, angle_deg, rectangle, ruleset.scale.tolerance_mm)
}

/// The reason for an angle that is beyond what the rules allow, if it is. The tolerance of an angle is what the
/// tolerance subtends at half the frontage of what moves.
pub(super) fn angle_beyond(
    most_deg: f64,
    angle_deg: f64,
    rectangle: &Footprint,
    tolerance_mm: f64,
) -> Option<Reason> {
    let tolerance_deg = libm::atan2(tolerance_mm, rectangle.half_frontage).to_degrees();
    (angle_deg > most_deg + ARITHMETIC_DEG)
        .then(|| Reason::angle_over(Code::AngleTooLarge, most_deg, angle_deg, tolerance_deg))
}

fn wheel(rectangle: &Footprint, side: Hand, clockwise_rad: f64, rate: f64) -> Step {
    let (pivot, outer) = match side {
        Hand::Left => (rectangle.front_left(), rectangle.front_right()),
        Hand::Right => (rectangle.front_right(), rectangle.front_left()),
    };
    Step::Sweep(Sweep {
        motion: Motion::Turn {
            pivot,
            clockwise_rad,
        },
        tape: Path::Arc {
            centre: pivot,
            from: outer,
            clockwise_rad,
        },
        rate,
    })
}

/// A length of tape. As far as allowed is longer than any way across the table, so a limit ends it.
fn possible_length(extent: Extent, game: &Game) -> Result<f64, Reason> {
    let Some(distance_mm) = extent.amount() else {
        let table = &game.scenario().table;
        return Ok(table.width_mm + table.depth_mm);
    };
    if !distance_mm.is_finite() {
        return Err(Reason::forbidden(Code::NotPossible).note("the distance is not a number"));
    }
    if distance_mm < 0.0 {
        return Err(
            Reason::length_under(Code::NotPossible, 0.0, distance_mm, 0.0)
                .note("a distance cannot be less than nothing; name the other direction"),
        );
    }
    if distance_mm > LENGTH_MAX_MM {
        return Err(
            Reason::length_over(Code::NotPossible, LENGTH_MAX_MM, distance_mm, 0.0)
                .note("no table is so long"),
        );
    }
    Ok(distance_mm)
}

fn possible_angle(angle_deg: f64) -> Result<f64, Reason> {
    if !angle_deg.is_finite() {
        return Err(Reason::forbidden(Code::NotPossible).note("the angle is not a number"));
    }
    if angle_deg < 0.0 {
        return Err(Reason::angle_over(Code::NotPossible, 0.0, -angle_deg, 0.0)
            .note("an angle cannot be less than nothing; name the other side"));
    }
    if angle_deg > ANGLE_MAX_DEG {
        return Err(
            Reason::angle_over(Code::NotPossible, ANGLE_MAX_DEG, angle_deg, 0.0)
                .note("that is more than a full turn"),
        );
    }
    Ok(angle_deg)
}

fn single(body: &Body) -> Result<(), Reason> {
    let count = u32::try_from(body.members.len()).unwrap_or(u32::MAX);
    if count == 1 {
        return Ok(());
    }
    Err(Reason::count(Code::NotPossible, 1, count)
        .note("units that move together cannot align or reform; order each by itself"))
}

/// A block fits when it holds every base and its last rank is not empty.
fn fits(bases: u16, files: u16, ranks: u16) -> Result<(), Reason> {
    let places = u32::from(files) * u32::from(ranks);
    let needed = u32::from(bases);
    let spare = u32::from(files) * u32::from(ranks.saturating_sub(1));
    if places >= needed && spare < needed {
        return Ok(());
    }
    Err(Reason::count(Code::NotPossible, needed, places).note(format!(
        "{files} × {ranks} does not make a block of {bases} bases with a last rank that is not empty"
    )))
}

fn quarter(side: Hand) -> i32 {
    match side {
        Hand::Left => -90_000_000,
        Hand::Right => 90_000_000,
    }
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "angles were checked to be at most 360"
)]
fn udeg(side: Hand, angle_deg: f64) -> i32 {
    (side.sign() * angle_deg * 1e6).round() as i32
}
