//! Where a tape reaches a line, and whether it goes across.
//!
//! A contact is one unbroken part of the path within EPS of the line: a plain crossing, a
//! passage through a bend, a run along a leg and a graze are one each, however many legs take
//! part. What it is follows from the sides on which that part is entered and left.

use super::crossing::meet_stretch;
use super::cut::spans_closer;
use super::{EPS_MM, Path, Point, Polyline, Side, Span, larger, merged, smaller};

/// What a path does at a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ContactKind {
    /// Goes from one side to the other.
    Crosses,
    /// Reaches it and stays on its side, or passes in line with an end of it.
    Touches,
    /// Begins on it (also when all of the path lies on it).
    StartsOn,
    /// Stops on it.
    EndsOn,
}

/// One contact of a path with a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contact {
    /// Share of the path at which the line is reached.
    pub share: f64,
    /// Share at which it is left: greater when the path runs along the line.
    pub leaves_share: f64,
    /// The part of the path that is within EPS of the line.
    pub near: Span,
    /// Where it is reached.
    pub at: Point,
    /// What the path does there.
    pub kind: ContactKind,
    /// Side from which it is reached; none when the path starts on it.
    pub from_side: Option<Side>,
    /// Side to which it is left; none when the path stops on it.
    pub to_side: Option<Side>,
    /// Leg of the line, from 0.
    pub leg: usize,
    /// Distance of the contact along the line, in millimetres.
    pub along_mm: f64,
}

/// Every contact of the path with the line, in the order of the path.
#[must_use]
pub fn crossings(path: &Path, line: &Polyline) -> Vec<Contact> {
    let near = spans_closer(path, line, EPS_MM);
    if near.is_empty() {
        return Vec::new();
    }
    let exact = exact_meetings(path, line);
    near.iter()
        .map(|part| contact(path, line, *part, &exact))
        .collect()
}

/// Places where the path is on the line exactly, and runs along it.
fn exact_meetings(path: &Path, line: &Polyline) -> Vec<Span> {
    let mut events = Vec::new();
    let mut exact = Vec::new();
    for leg in line.legs() {
        if let Some(run) = leg.run_along(path) {
            exact.push(run);
        } else {
            meet_stretch(path, leg, 0.0, &mut events);
        }
    }
    exact.extend(
        events
            .into_iter()
            .filter(|share| (0.0..=1.0).contains(share))
            .map(|share| Span::new(share, share)),
    );
    merged(exact)
}

fn contact(path: &Path, line: &Polyline, part: Span, exact: &[Span]) -> Contact {
    let starts_on = part.from <= 0.0;
    let ends_on = part.to >= 1.0;
    let mut reached: Option<Span> = None;
    for meeting in exact {
        if part.holds(meeting.middle()) {
            let known = reached.unwrap_or(*meeting);
            reached = Some(Span::new(
                smaller(known.from, meeting.from),
                larger(known.to, meeting.to),
            ));
        }
    }
    let reached = reached.unwrap_or(match (starts_on, ends_on) {
        (true, _) => Span::new(0.0, 0.0),
        (false, true) => Span::new(1.0, 1.0),
        (false, false) => Span::new(part.middle(), part.middle()),
    });
    let share = if starts_on { 0.0 } else { reached.from };
    let leaves_share = if ends_on { 1.0 } else { reached.to };
    let from_side = if starts_on {
        None
    } else {
        line.side_of(path.at(part.from))
    };
    let to_side = if ends_on {
        None
    } else {
        line.side_of(path.at(part.to))
    };
    let kind = match (starts_on, ends_on, from_side, to_side) {
        (true, _, _, _) => ContactKind::StartsOn,
        (false, true, _, _) => ContactKind::EndsOn,
        (false, false, Some(before), Some(after)) if before != after => ContactKind::Crosses,
        _ => ContactKind::Touches,
    };
    let at = path.at(share);
    let place = line.nearest(at);
    Contact {
        share,
        leaves_share,
        near: part,
        at,
        kind,
        from_side,
        to_side,
        leg: place.leg,
        along_mm: place.along_mm,
    }
}
