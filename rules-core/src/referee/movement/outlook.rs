//! Which things may matter to the straight legs of a fan, and at which of its angles. Most legs pass
//! most things at a distance that a bearing tells; what is told here is never too little.

use std::f64::consts::TAU;

use crate::geometry::{
    Footprint, Location, Point, Polygon, Vector, distance_point_footprint_mm,
    distance_point_stretch_mm, larger, smaller,
};

use super::Surroundings;
use super::limits::{Against, Limit};

/// What is added to every distance, in millimetres: more than all slack of a limit or a charge.
const MARGIN_MM: f64 = 1.0;
/// What is added to either side of every part of a fan, in radians: more than all rounding.
const MARGIN_RAD: f64 = 1e-9;

/// Straight legs in every direction between two, from places about a pivot. What moves on one of them
/// covers a lane beside the line that runs from the pivot the leg's way.
#[derive(Debug, Clone, Copy)]
pub(in crate::referee) struct Sector {
    pub(in crate::referee) pivot: Point,
    /// The way of the leg at angle 0.
    pub(in crate::referee) ahead: Vector,
    /// 1 when angles grow clockwise, -1 when they grow the other way.
    pub(in crate::referee) sign: f64,
    /// How far the lane goes to the side to which angles grow, and to the other, in millimetres.
    pub(in crate::referee) sides_mm: (f64, f64),
    /// How far the lane begins behind the pivot, and how far it goes on beyond the tape's length.
    pub(in crate::referee) ends_mm: (f64, f64),
    /// The longest tape at angle 0, in millimetres, and how much shorter it is for every radian.
    pub(in crate::referee) longest_mm: f64,
    pub(in crate::referee) shrinks_mm: f64,
}

/// The angles of a fan at which a thing may matter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Angles {
    from: f64,
    width: f64,
    until: f64,
}

/// The angles at which each thing may matter, in the order in which the probe holds them.
#[derive(Debug, Clone)]
pub(in crate::referee) struct Outlook {
    pub(super) limits: Seen,
    pub(super) friends: Seen,
    pub(super) patches: Seen,
    pub(super) lines: Seen,
}

/// Things by their places in a list, in order, each with angles at which it may matter; some more than once.
pub(super) type Seen = Vec<(usize, Angles)>;

impl Angles {
    pub(super) const ALL: Self = Self {
        from: 0.0,
        width: TAU,
        until: f64::INFINITY,
    };

    /// Whether an angle between none and a full turn is one of them.
    pub(super) fn holds(&self, angle_rad: f64) -> bool {
        let on = angle_rad - self.from;
        let on = if on < 0.0 { on + TAU } else { on };
        on <= self.width && angle_rad <= self.until
    }
}

impl Outlook {
    /// Everything may matter at every angle.
    pub(super) fn everything(
        limits: &[Limit<'_>],
        friends: &[Footprint],
        around: &Surroundings<'_>,
    ) -> Self {
        let all = |count: usize| (0..count).map(|at| (at, Angles::ALL)).collect();
        Self {
            limits: all(limits.len()),
            friends: all(friends.len()),
            patches: all(around.patches.len()),
            lines: all(around.lines.len()),
        }
    }

    /// What may matter to the legs of a sector.
    pub(super) fn of(
        sector: &Sector,
        limits: &[Limit<'_>],
        friends: &[Footprint],
        around: &Surroundings<'_>,
    ) -> Self {
        // a rate of 1 is that of open ground, unless it overrules a lower one
        let fast = around.patches.iter().any(|patch| patch.kind.rate < 1.0);
        let charging = |rate: f64| rate > 1.0 || fast;
        let mut outlook = Self {
            limits: Vec::new(),
            friends: Vec::new(),
            patches: Vec::new(),
            lines: Vec::new(),
        };
        for (at, limit) in limits.iter().enumerate() {
            sector.look_at_limit(limit, at, &mut outlook.limits);
        }
        for (at, friend) in friends.iter().enumerate() {
            add(
                &mut outlook.friends,
                at,
                sector.sees_footprint(friend, MARGIN_MM),
            );
        }
        for (at, patch) in around.patches.iter().enumerate() {
            if charging(patch.kind.rate) {
                add(
                    &mut outlook.patches,
                    at,
                    sector.sees_patch(&patch.outline, MARGIN_MM),
                );
            }
        }
        for (at, (_, line)) in around.lines.iter().enumerate() {
            if line.charge_mm > 0.0 {
                sector.look_along(line.course.points(), at, &mut outlook.lines);
            }
        }
        outlook
    }
}

/// The things seen at an angle.
pub(super) fn seen_at(seen: &Seen, angle_rad: f64) -> impl Iterator<Item = usize> + '_ {
    seen.iter()
        .filter(move |(_, angles)| angles.holds(angle_rad))
        .map(|(at, _)| *at)
}

fn add(seen: &mut Seen, at: usize, angles: Option<Angles>) {
    seen.extend(angles.map(|angles| (at, angles)));
}

impl Sector {
    fn look_at_limit(&self, limit: &Limit<'_>, at: usize, seen: &mut Seen) {
        let apart_mm = limit.against.reach_mm() + MARGIN_MM;
        match limit.against {
            Against::Zone(zone) => add(seen, at, self.sees_footprint(zone.ground(), apart_mm)),
            Against::Unit(other) => add(seen, at, self.sees_footprint(&other, apart_mm)),
            Against::Patch(patch) => add(seen, at, self.sees_patch(&patch.outline, apart_mm)),
            Against::Edge(table) => {
                let (east, north) = (table.width_mm, table.depth_mm);
                let corners = [
                    (0.0, 0.0),
                    (east, 0.0),
                    (east, north),
                    (0.0, north),
                    (0.0, 0.0),
                ];
                self.look_along(&corners.map(|(x, y)| Point::new(x, y)), at, seen);
            }
        }
    }

    /// Looks at each leg of a line.
    fn look_along(&self, points: &[Point], at: usize, seen: &mut Seen) {
        for leg in points.windows(2) {
            let angles = self.sees(
                leg,
                distance_point_stretch_mm(self.pivot, leg[0], leg[1]),
                MARGIN_MM,
            );
            add(seen, at, angles);
        }
    }

    fn sees_footprint(&self, other: &Footprint, apart_mm: f64) -> Option<Angles> {
        let nearest_mm = distance_point_footprint_mm(self.pivot, other);
        self.sees(&other.corners(), nearest_mm, apart_mm)
    }

    fn sees_patch(&self, outline: &Polygon, apart_mm: f64) -> Option<Angles> {
        // within it however far off its edges are
        if outline.locate(self.pivot) != Location::Outside {
            return Some(Angles::ALL);
        }
        let nearest_mm = outline.distance_to_edge_mm(self.pivot);
        // once round, so that who stands in a hole of it has it all about
        let mut ring = outline.outer().to_vec();
        ring.extend(outline.outer().first());
        self.sees(&ring, nearest_mm, apart_mm)
    }

    /// Half the lane's width or more.
    fn wide_mm(&self) -> f64 {
        larger(self.sides_mm.0, self.sides_mm.1)
    }

    /// The last angle at which the lane comes so far from the pivot, if any does.
    fn comes_until(&self, away_mm: f64) -> Option<f64> {
        let wide_mm = self.wide_mm();
        let ahead_mm = larger(away_mm * away_mm - wide_mm * wide_mm, 0.0).sqrt();
        let spare_mm = self.longest_mm + self.ends_mm.1 - ahead_mm;
        (spare_mm >= 0.0).then_some(if self.shrinks_mm > 0.0 {
            spare_mm / self.shrinks_mm + MARGIN_RAD
        } else {
            f64::INFINITY
        })
    }

    /// The angles at which a lane may come within `apart_mm` of something that lies within the bearings of
    /// these places, one after another, and is `nearest_mm` from the pivot.
    ///
    /// Something farther off than the lane's rear corners is met ahead of the pivot only. A place of it at a
    /// distance d and angle b is as far to one side of the leg at angle a as d sin(b - a), so that the lane comes to
    /// it only where a lies between b - asin(k / d) and b + asin(k / d), k being the lane's side.
    fn sees(&self, places: &[Point], nearest_mm: f64, apart_mm: f64) -> Option<Angles> {
        let rear_mm = Vector::new(self.wide_mm(), self.ends_mm.0).length();
        if nearest_mm <= rear_mm + apart_mm {
            return Some(Angles::ALL);
        }
        let until = self.comes_until(nearest_mm - apart_mm)?;
        let (least, most) = self.bearings(places);
        let aside = |side_mm: f64| libm::asin(smaller((side_mm + apart_mm) / nearest_mm, 1.0));
        let from = least - aside(self.sides_mm.0) - MARGIN_RAD;
        let width = most + aside(self.sides_mm.1) + MARGIN_RAD - from;
        if width >= TAU {
            return Some(Angles {
                until,
                ..Angles::ALL
            });
        }
        let turns = (from / TAU).floor();
        Some(Angles {
            from: from - turns * TAU,
            width,
            until,
        })
    }

    /// The least and the greatest of the places' angles, each told from the one before it.
    fn bearings(&self, places: &[Point]) -> (f64, f64) {
        let right = self.ahead.quarter_right() * self.sign;
        let mut bounds: Option<(f64, f64)> = None;
        let mut before = 0.0;
        for place in places {
            let to = *place - self.pivot;
            let bearing = libm::atan2(to.dot(right), to.dot(self.ahead));
            let turns = ((bearing - before) / TAU).round();
            before = bearing - turns * TAU;
            bounds = Some(bounds.map_or((before, before), |(least, most)| {
                (smaller(least, before), larger(most, before))
            }));
        }
        bounds.unwrap_or((0.0, 0.0))
    }
}
