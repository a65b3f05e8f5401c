//! A fan of straight legs over one angle: sampled, refined where neighbours differ, thinned where they don't.

use super::super::movement::{Run, Stance};
use crate::geometry::{Point, Vector, larger, smaller};

/// First samples lie this far apart where they reach farthest, in millimetres. Unreachable slits
/// narrower than that do not matter: all their points are near ground that is reached.
const SPACING_MM: f64 = 4.0;
/// Samples that differ are refined until they lie this near, in millimetres.
const FINEST_MM: f64 = 0.3;
/// Neighbours that end within this of each other are one piece of ground, in millimetres.
const SAME_MM: f64 = 1.0;
/// A ray is left out when its neighbours tell its ends this well, in millimetres.
const THIN_MM: f64 = 0.2;
/// Rays farther apart than this are never joined, in radians: the sag of their hull must stay small.
const WIDEST_RAD: f64 = 0.06;
/// First samples at the most.
const MOST_SAMPLES: f64 = 4000.0;
/// Times that a gap is halved at the most.
const DEEPEST: u32 = 12;

/// One straight leg of a fan.
#[derive(Debug, Clone)]
pub(super) struct Ray {
    /// The angle that makes it, in radians.
    pub(super) angle_rad: f64,
    /// The unit at its start.
    pub(super) from: Stance,
    /// The way it goes.
    pub(super) along: Vector,
    /// Where it may end.
    pub(super) run: Run,
    /// Whether the ground between it and the next ray is all reached.
    pub(super) joins_next: bool,
}

impl Ray {
    /// The anchor so far along.
    pub(super) fn at(&self, along_mm: f64) -> Point {
        self.from.placement.anchor + self.along * along_mm
    }

    fn farthest_mm(&self) -> f64 {
        self.run.stretches.last().map_or(0.0, |stretch| stretch.1)
    }
}

/// The span of a fan's angle, and how far a millimetre there is from one at the turning point.
#[derive(Debug, Clone)]
pub(super) struct Spread<'a> {
    /// Widest angle, in radians; the narrowest is 0.
    pub(super) widest_rad: f64,
    /// Part of the lever arm that every ray has, in millimetres: its anchor from the pivot.
    pub(super) arm_mm: f64,
    /// The farthest that any ray reaches, in millimetres.
    pub(super) farthest_mm: f64,
    /// Angles at which something may change that is narrower than the first samples' spacing.
    pub(super) turns: &'a [f64],
}

/// Rays over the whole spread, in order of their angle.
pub(super) fn rays(spread: &Spread<'_>, mut cast: impl FnMut(f64) -> Ray) -> Vec<Ray> {
    let lever_mm = spread.arm_mm + spread.farthest_mm;
    let wanted = (spread.widest_rad * lever_mm / SPACING_MM).ceil();
    let steps = larger(smaller(wanted, MOST_SAMPLES), 1.0);
    let mut angles: Vec<f64> = spread
        .turns
        .iter()
        .copied()
        .filter(|angle| *angle > 0.0 && *angle < spread.widest_rad)
        .collect();
    let mut step = 0.0;
    while step <= steps {
        angles.push(spread.widest_rad * step / steps);
        step += 1.0;
    }
    angles.sort_by(f64::total_cmp);
    angles.dedup();
    let mut found: Vec<Ray> = Vec::with_capacity(2 * angles.len());
    for angle in angles {
        let ray = cast(angle);
        if let Some(last) = found.last().cloned() {
            refine(&last, &ray, spread.arm_mm, DEEPEST, &mut cast, &mut found);
        }
        found.push(ray);
    }
    thinned(found)
}

/// Casts rays between two until neighbours agree or lie close.
fn refine(
    one: &Ray,
    other: &Ray,
    arm_mm: f64,
    deep: u32,
    cast: &mut impl FnMut(f64) -> Ray,
    found: &mut Vec<Ray>,
) {
    let lever_mm = arm_mm + larger(one.farthest_mm(), other.farthest_mm());
    let apart_mm = (other.angle_rad - one.angle_rad) * lever_mm;
    let agree = one.run.stop == other.run.stop && join(one, other);
    if agree || apart_mm < FINEST_MM || deep == 0 {
        return;
    }
    let middle = cast(f64::midpoint(one.angle_rad, other.angle_rad));
    refine(one, &middle, arm_mm, deep - 1, cast, found);
    found.push(middle.clone());
    refine(&middle, other, arm_mm, deep - 1, cast, found);
}

/// Whether the ground between two neighbouring rays is all reached: they end alike.
fn join(one: &Ray, other: &Ray) -> bool {
    let (ours, theirs) = (&one.run.stretches, &other.run.stretches);
    ours.len() == theirs.len()
        && ours.iter().zip(theirs).all(|(ours, theirs)| {
            (ours.0 - theirs.0).abs() <= SAME_MM && (ours.1 - theirs.1).abs() <= SAME_MM
        })
}

/// Leaves out rays that their neighbours tell.
fn thinned(rays: Vec<Ray>) -> Vec<Ray> {
    let mut kept: Vec<Ray> = Vec::with_capacity(rays.len());
    let mut from = 0;
    while from < rays.len() {
        kept.push(rays[from].clone());
        let mut to = from + 1;
        while to + 1 < rays.len() && tells(&rays[from..=to + 1]) {
            to += 1;
        }
        if let (Some(next), Some(last)) = (rays.get(to), kept.last_mut()) {
            last.joins_next = to > from + 1 || join(&rays[from], next);
        }
        from = to;
    }
    kept
}

/// Whether the first and the last of some rays tell the others, and are near enough to be joined.
fn tells(rays: &[Ray]) -> bool {
    let [first, between @ .., last] = rays else {
        return true;
    };
    let wide_rad = last.angle_rad - first.angle_rad;
    if wide_rad > WIDEST_RAD || first.run.stretches.len() != last.run.stretches.len() {
        return false;
    }
    let mut before = first;
    for ray in between.iter().chain([last]) {
        if !join(before, ray) {
            return false;
        }
        before = ray;
    }
    between.iter().all(|ray| {
        let share = (ray.angle_rad - first.angle_rad) / wide_rad;
        let ends = first.run.stretches.iter().zip(&last.run.stretches);
        ends.zip(&ray.run.stretches).all(|((one, other), own)| {
            let told = |one: f64, other: f64, own: f64| {
                let told = first.at(one).towards(last.at(other), share);
                told.distance_to(ray.at(own)) <= THIN_MM
            };
            told(one.0, other.0, own.0) && told(one.1, other.1, own.1)
        })
    })
}
