//! The small lengths that decide something in movement, each with its reason. The players' own tolerance
//! is none of them: it stands in the ruleset. They keep this order, so that what one of them lets through the next does
//! not catch: arithmetic < judged < stored < short of a limit that may not be reached.

use crate::geometry::EPS_MM;

pub(super) use super::super::zones::TOUCH_MM as STORED_MM;

/// What arithmetic can do, in millimetres: sines, roots and sums of places a few metres from the origin are off by
/// far less. The place at which a limit was reached is told to this.
pub(super) const ARITHMETIC_MM: f64 = 1e-6;

/// What is judged, in millimetres: a limit broken by no more than one quantum of a stored pose is kept, for an end
/// that touches the limit may be stored so.
pub(super) const JUDGED_MM: f64 = EPS_MM;

/// Where *up to* stops before a zone that it may not be in at all, in millimetres: clear of what storing
/// can do, so that the unit is not in the zone afterwards.
pub(super) const SHORT_OF_ZONE_MM: f64 = 0.01;

/// What arithmetic can do to an angle, in degrees.
pub(super) const ARITHMETIC_DEG: f64 = 1e-9;

/// How far beyond a limit a thing is left out by its circle alone, in millimetres. It decides nothing: what is
/// not left out is measured.
pub(super) const NEAR_MM: f64 = 1.0;

/// A tape that would have to pay for a line stops this far short of it, in millimetres: the least an order can say.
pub(super) const SHORT_OF_LINE_MM: f64 = 0.01;

/// At a small angle it stops sooner: this much tape before it comes to be on the line, so that arithmetic does not put
/// it there, in millimetres.
pub(super) const OFF_LINE_MM: f64 = 1e-4;
