//! The tapes of a measured move, worked out again from its ledger so that they can be drawn.

use fieldpost_rules::game::Unit;
use fieldpost_rules::geometry::{Footprint, Motion, Path, Placement, Point, Vector};
use fieldpost_rules::orders::Hand;
use fieldpost_rules::verdict::{LegLedger, LineCharge, MoveVerdict, Piece, Place};

/// One leg as drawn.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct LegTrack {
    /// Where it began.
    pub(super) from: Placement,
    /// Where it ended.
    pub(super) to: Placement,
    /// Length of the tape it is charged along, in millimetres.
    pub(super) tape_mm: f64,
    /// Its tape; none for turns, aligning and reforming.
    pub(super) tape: Option<Path>,
    /// The tape cut by ground; nothing where the leg is charged along the tape of another unit, which lies elsewhere.
    pub(super) pieces: Vec<Piece>,
    /// Lines reached; likewise.
    pub(super) lines: Vec<LineCharge>,
    /// The ground covered at its end.
    pub(super) end: Footprint,
}

/// Every leg of a move with its tape. A wheel's tape is the arc of the other front corner; when
/// the leg was wheeled by a larger body, the arc of the body's.
pub(super) fn tracks(unit: &Unit, start: &Place, verdict: &MoveVerdict) -> Vec<LegTrack> {
    let mut shape = unit.clone();
    let mut place = start.placement();
    let mut found = Vec::with_capacity(verdict.legs.len());
    for leg in &verdict.legs {
        if leg.leg == "reform" {
            shape.files = verdict.files;
        }
        let end = leg.end.placement();
        let standing = Footprint::new(&place, shape.block());
        let is_own = leg.tape_of.as_ref().is_none_or(|owner| *owner == unit.id);
        let (pieces, lines) = if is_own {
            (leg.pieces.clone(), leg.lines.clone())
        } else {
            (Vec::new(), Vec::new())
        };
        found.push(LegTrack {
            from: place,
            to: end,
            tape_mm: leg.tape_mm,
            tape: tape(leg, &place, &standing, &end),
            pieces,
            lines,
            end: Footprint::new(&end, shape.block()),
        });
        place = end;
    }
    found
}

fn tape(leg: &LegLedger, start: &Placement, standing: &Footprint, end: &Placement) -> Option<Path> {
    if leg.tape_mm < 0.005 {
        return None;
    }
    match (leg.leg.as_str(), leg.side) {
        ("wheel", Some(side)) => wheel(leg, side, start, standing, end),
        _ => Some(Path::Straight {
            from: start.anchor,
            to: end.anchor,
        }),
    }
}

fn wheel(
    leg: &LegLedger,
    side: Hand,
    start: &Placement,
    standing: &Footprint,
    end: &Placement,
) -> Option<Path> {
    let clockwise_rad = turned_rad(start.ahead, end.ahead);
    if clockwise_rad.abs() < 1e-6 {
        return None;
    }
    let (inner, outer) = match side {
        Hand::Left => (standing.front_left(), standing.front_right()),
        Hand::Right => (standing.front_right(), standing.front_left()),
    };
    let own = Motion::Turn {
        pivot: inner,
        clockwise_rad,
    };
    if own.placement_at(start, 1.0).anchor.distance_to(end.anchor) < 0.2 {
        return Some(own.track_of(outer));
    }
    // wheeled with others: the pivot is where both poses turn into each other
    let pivot = centre_of_turn(start.anchor, end.anchor, clockwise_rad);
    let radius = leg.tape_mm / clockwise_rad.abs();
    let away = match side {
        Hand::Left => start.right(),
        Hand::Right => -start.right(),
    };
    Some(
        Motion::Turn {
            pivot,
            clockwise_rad,
        }
        .track_of(pivot + away * radius),
    )
}

/// Clockwise turn from one direction to another, in (−π, π].
fn turned_rad(from: Vector, to: Vector) -> f64 {
    libm::atan2(to.cross(from), from.dot(to))
}

/// The fixed point of the rotation that takes one point to another.
fn centre_of_turn(from: Point, to: Point, clockwise_rad: f64) -> Point {
    let half = clockwise_rad / 2.0;
    let chord = to - from;
    // from the middle of the chord, at right angles to it, by half the chord over tan(half)
    let tangent = libm::sin(half) / libm::cos(half);
    from.towards(to, 0.5) + chord.quarter_right() * (0.5 / tangent)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{self, verdicts};

    #[test]
    fn a_wheels_tape_is_as_long_as_its_ledger_says_and_the_next_leg_begins_where_it_ends() {
        let game = sample::game();
        let verdict = verdicts::over_allowance(&game);
        let unit = game.unit(&verdict.unit).unwrap();
        let tracks = tracks(unit, &verdict.start.unwrap(), &verdict);
        assert_eq!(tracks.len(), 2);
        for (track, leg) in tracks.iter().zip(&verdict.legs) {
            let length = track.tape.as_ref().unwrap().length_mm();
            assert!(
                (length - leg.tape_mm).abs() < 0.01,
                "{length} {}",
                leg.tape_mm
            );
        }
    }

    /// What lies under another unit's tape is not drawn under this one's.
    #[test]
    fn anothers_tape_lies_elsewhere() {
        let game = sample::game();
        let mut verdict = verdicts::over_allowance(&game);
        let unit = game.unit(&verdict.unit).unwrap();
        for (owner, is_own) in [(unit.id.clone(), true), ("somebody".into(), false)] {
            verdict.legs[0].tape_of = Some(owner);
            let tracks = tracks(unit, &verdict.start.unwrap(), &verdict);
            assert_eq!(tracks[0].pieces.is_empty(), !is_own);
            assert!(tracks[0].tape.is_some());
        }
    }

    #[test]
    fn the_pivot_of_a_turn_is_found_from_its_ends() {
        let pivot = Point::new(30.0, -20.0);
        for degrees in [-170.0_f64, -20.0, 5.0, 90.0, 135.0] {
            let from = Point::new(110.0, 45.0);
            let to = from.turned_about(pivot, degrees.to_radians());
            let found = centre_of_turn(from, to, degrees.to_radians());
            assert!(found.distance_to(pivot) < 1e-9, "{degrees}: {found:?}");
        }
    }

    #[test]
    fn a_body_wheels_on_the_arc_of_its_own_far_corner() {
        let game = sample::game();
        let mut verdict = verdicts::over_allowance(&game);
        let start = verdict.start.unwrap().placement();
        let pivot = start.anchor - start.right() * 200.0;
        let turn = Motion::Turn {
            pivot,
            clockwise_rad: (-30.0_f64).to_radians(),
        };
        verdict.legs.truncate(1);
        verdict.legs[0].end = Place::from(&turn.placement_at(&start, 1.0));
        verdict.legs[0].tape_mm = 320.0 * 30.0_f64.to_radians();
        let unit = game.unit(&verdict.unit).unwrap();
        let tracks = tracks(unit, &verdict.start.unwrap(), &verdict);
        let tape = tracks[0].tape.as_ref().unwrap();
        assert!((tape.length_mm() - verdict.legs[0].tape_mm).abs() < 1e-6);
        assert!(tape.start().distance_to(pivot + start.right() * 320.0) < 1e-6);
    }
}
