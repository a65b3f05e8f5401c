//! Distance to a footprint counted only ahead of its front edge's line.

use super::distance::half_along;
use super::{EPS_MM, Footprint, Point, Separation, Vector, larger, smaller};

/// A corner of the cut-off part, in the obstacle's own axes: right and ahead of the middle of
/// its front edge.
type Place = (f64, f64);

/// Distance from `obstacle` to the part of `moving` that lies ahead of the line through the
/// obstacle's front edge; `None` when no part lies ahead. The nearest place of the obstacle is
/// then always on its front edge. A part counts as ahead from EPS beyond the line, so that
/// units drawn up level with each other do not flicker; the distance is exact for that part.
#[must_use]
pub fn separation_ahead(moving: &Footprint, obstacle: &Footprint) -> Option<Separation> {
    let (squared, on_part, on_front) = nearest_ahead(moving, obstacle, EPS_MM)?;
    let world = |place: Place| obstacle.at(place.0, place.1 + obstacle.half_depth);
    let away = Vector::new(on_front.0 - on_part.0, on_front.1 - on_part.1);
    let normal = away.unit().map_or(-obstacle.ahead, |unit| {
        obstacle.right() * unit.x + obstacle.ahead * unit.y
    });
    Some(Separation {
        distance_mm: squared.sqrt(),
        on_first: world(on_part),
        on_second: world(on_front),
        normal,
    })
}

/// How far a footprint reaches ahead of the line through another's front edge, in millimetres: negative
/// when all of it lies behind, by how far its foremost point does.
#[must_use]
pub fn reach_ahead_mm(moving: &Footprint, obstacle: &Footprint) -> f64 {
    let offset = moving.centre - obstacle.centre;
    offset.dot(obstacle.ahead) + half_along(moving, obstacle.ahead) - obstacle.half_depth
}

/// Distance in millimetres from an obstacle to the part of a footprint that lies ahead of the line
/// through the obstacle's front edge, the line itself left out; `None` when no part does.
#[must_use]
pub fn distance_ahead_mm(moving: &Footprint, obstacle: &Footprint) -> Option<f64> {
    let (squared, ..) = nearest_ahead(moving, obstacle, 0.0)?;
    Some(squared.sqrt())
}

/// The squared distance between the front edge and the part of `moving` that lies more than `line_mm`
/// ahead of it, with the nearest places of both.
fn nearest_ahead(
    moving: &Footprint,
    obstacle: &Footprint,
    line_mm: f64,
) -> Option<(f64, Place, Place)> {
    let (part, count) = part_ahead(moving, obstacle, line_mm)?;
    let half = obstacle.half_frontage;
    let mut nearest = (f64::INFINITY, (0.0, 0.0), (0.0, 0.0));
    let mut offer = |on_part: Place, on_front: Place| {
        let (across, beyond) = (on_front.0 - on_part.0, on_front.1 - on_part.1);
        let squared = across * across + beyond * beyond;
        if squared < nearest.0 {
            nearest = (squared, on_part, on_front);
        }
    };
    for index in 0..count {
        let (from, to) = (part[index], part[(index + 1) % count]);
        offer(from, (larger(smaller(from.0, half), -half), 0.0));
        for end in [-half, half] {
            offer(nearest_on(from, to, end), (end, 0.0));
        }
    }
    Some(nearest)
}

/// The part of `moving` more than `line_mm` ahead of the front edge's line, at most five corners, in the
/// obstacle's axes.
fn part_ahead(
    moving: &Footprint,
    obstacle: &Footprint,
    line_mm: f64,
) -> Option<([Place; 5], usize)> {
    let corners: [Point; 4] = moving.corners();
    let places = corners.map(|corner| {
        let (right, ahead) = obstacle.local(corner);
        (right, ahead - obstacle.half_depth)
    });
    let mut part = [(0.0, 0.0); 5];
    let mut count = 0;
    let mut keep = |place: Place| {
        if let Some(slot) = part.get_mut(count) {
            *slot = place;
            count += 1;
        }
    };
    for index in 0..4 {
        let (from, to) = (places[index], places[(index + 1) % 4]);
        if from.1 > line_mm {
            keep(from);
        }
        if (from.1 > line_mm) != (to.1 > line_mm) {
            let share = (line_mm - from.1) / (to.1 - from.1);
            keep((from.0 + (to.0 - from.0) * share, line_mm));
        }
    }
    (count > 0).then_some((part, count))
}

/// The place on an edge nearest to the point `end` of the front line.
fn nearest_on(from: Place, to: Place, end: f64) -> Place {
    let step = Vector::new(to.0 - from.0, to.1 - from.1);
    let squared = step.dot(step);
    if squared == 0.0 {
        return from;
    }
    let share = Vector::new(end - from.0, -from.1).dot(step) / squared;
    let share = larger(smaller(share, 1.0), 0.0);
    (from.0 + step.x * share, from.1 + step.y * share)
}
