//! A fan of straight legs over one angle: sampled, refined where neighbours differ, thinned where they don't.

use super::super::movement::{Run, Stance};
use crate::geometry::{Point, Vector, larger, smaller};

/// First samples lie this far apart where they reach farthest, in millimetres, or nearer for a small
/// block. What stands in the way hides a block for as wide as the block is, so at least two samples meet it.
const SPACING_MM: f64 = 8.0;
/// The nearest that first samples lie, in millimetres. Unreachable slits narrower than that do not matter: all
/// their points are near ground that is reached.
const NARROW_MM: f64 = 4.0;
/// Samples that differ are refined until they lie this near, in millimetres.
const FINEST_MM: f64 = 0.3;
/// Neighbours that end within this of each other are one piece of ground, in millimetres.
const SAME_MM: f64 = 1.0;
/// Three rays are even when the middle one ends within this of what the others tell, in millimetres.
const EVEN_MM: f64 = 0.1;
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
    /// The lesser of the block's frontage and depth, in millimetres.
    pub(super) block_mm: f64,
    /// Angles at which something may change that is narrower than the first samples' spacing.
    pub(super) turns: &'a [f64],
}

/// Rays over the whole spread, in order of their angle.
pub(super) fn rays(spread: &Spread<'_>, cast: impl FnMut(f64) -> Ray) -> Vec<Ray> {
    let lever_mm = spread.arm_mm + spread.farthest_mm;
    let spacing_mm = larger(smaller(SPACING_MM, spread.block_mm / 2.0), NARROW_MM);
    let wanted = (spread.widest_rad * lever_mm / spacing_mm).ceil();
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
    let mut fan = Fan {
        cast,
        arm_mm: spread.arm_mm,
        rays: Vec::with_capacity(2 * angles.len()),
    };
    let first: Vec<Ray> = angles.iter().map(|angle| (fan.cast)(*angle)).collect();
    // the outermost have a neighbour on one side only: what the next one tells must do
    let is_even = |middle: usize| match first.get(middle.wrapping_sub(1)..middle + 2) {
        Some([before, ray, after]) => even(before, ray, after),
        _ => first.len() > 2,
    };
    let evens: Vec<bool> = (0..first.len()).map(is_even).collect();
    let mut first = first.into_iter().zip(evens).peekable();
    while let Some((mut ray, is_even)) = first.next() {
        match first.peek() {
            Some((next, next_is_even)) if !is_even || !next_is_even => {
                fan.add_up_to(ray, next, DEEPEST);
            }
            next => {
                ray.joins_next = next.is_some_and(|(next, _)| stop_alike(&ray, next));
                fan.rays.push(ray);
            }
        }
    }
    thinned(fan.rays)
}

/// A fan as it grows.
struct Fan<Cast> {
    cast: Cast,
    arm_mm: f64,
    rays: Vec<Ray>,
}

impl<Cast: FnMut(f64) -> Ray> Fan<Cast> {
    /// Adds a ray and what is cast between it and the next, until a ray midway ends where the two about it
    /// tell, or they lie close.
    fn add_up_to(&mut self, mut one: Ray, other: &Ray, deep: u32) {
        let lever_mm = self.arm_mm + larger(one.farthest_mm(), other.farthest_mm());
        let apart_mm = (other.angle_rad - one.angle_rad) * lever_mm;
        if apart_mm < FINEST_MM || deep == 0 {
            one.joins_next = near(&one, other, SAME_MM);
            self.rays.push(one);
            return;
        }
        let mut middle = (self.cast)(f64::midpoint(one.angle_rad, other.angle_rad));
        if even(&one, &middle, other) {
            one.joins_next = true;
            middle.joins_next = true;
            self.rays.extend([one, middle]);
            return;
        }
        self.add_up_to(one, &middle, deep - 1);
        self.add_up_to(middle, other, deep - 1);
    }
}

/// Whether two rays have as many stretches and are stopped by the same thing.
fn stop_alike(one: &Ray, other: &Ray) -> bool {
    one.run.stop == other.run.stop && one.run.stretches.len() == other.run.stretches.len()
}

/// Whether the ends of three rays lie evenly: those of the middle one as far along as its neighbours tell.
/// Where one limit gives way to another there is a bend between two samples, and three that lie about
/// it are not even.
fn even(one: &Ray, middle: &Ray, other: &Ray) -> bool {
    if !stop_alike(one, middle) || !stop_alike(middle, other) {
        return false;
    }
    let share = (middle.angle_rad - one.angle_rad) / (other.angle_rad - one.angle_rad);
    let ends = one.run.stretches.iter().zip(&other.run.stretches);
    ends.zip(&middle.run.stretches).all(|((one, other), own)| {
        let is_told =
            |one: f64, other: f64, own: f64| (one + (other - one) * share - own).abs() <= EVEN_MM;
        is_told(one.0, other.0, own.0) && is_told(one.1, other.1, own.1)
    })
}

/// Whether two rays have as many stretches, each within so many millimetres of its like.
fn near(one: &Ray, other: &Ray, within_mm: f64) -> bool {
    let (ours, theirs) = (&one.run.stretches, &other.run.stretches);
    ours.len() == theirs.len()
        && ours.iter().zip(theirs).all(|(ours, theirs)| {
            (ours.0 - theirs.0).abs() <= within_mm && (ours.1 - theirs.1).abs() <= within_mm
        })
}

/// Leaves out rays that their neighbours tell.
fn thinned(rays: Vec<Ray>) -> Vec<Ray> {
    let mut left_out = vec![false; rays.len()];
    let mut from = 0;
    while from < rays.len() {
        let mut to = from + 1;
        while to + 1 < rays.len() && tells(&rays[from..=to + 1]) {
            left_out[to] = true;
            to += 1;
        }
        from = to;
    }
    let mut left_out = left_out.into_iter();
    let mut rays = rays;
    rays.retain(|_| left_out.next() != Some(true));
    rays
}

/// Whether the first and the last of some rays tell the others, and are near enough to be joined.
fn tells(rays: &[Ray]) -> bool {
    let [first, between @ .., last] = rays else {
        return true;
    };
    let joined = || rays[..rays.len() - 1].iter().all(|ray| ray.joins_next);
    last.angle_rad - first.angle_rad <= WIDEST_RAD
        && joined()
        && between.iter().all(|ray| told(first, ray, last))
}

/// Whether a ray ends where two about it tell.
fn told(first: &Ray, ray: &Ray, last: &Ray) -> bool {
    let count = ray.run.stretches.len();
    if first.run.stretches.len() != count || last.run.stretches.len() != count {
        return false;
    }
    let share = (ray.angle_rad - first.angle_rad) / (last.angle_rad - first.angle_rad);
    let ends = first.run.stretches.iter().zip(&last.run.stretches);
    ends.zip(&ray.run.stretches).all(|((one, other), own)| {
        let is_told = |one: f64, other: f64, own: f64| {
            let told = first.at(one).towards(last.at(other), share);
            told.distance_to(ray.at(own)) <= THIN_MM
        };
        is_told(one.0, other.0, own.0) && is_told(one.1, other.1, own.1)
    })
}
