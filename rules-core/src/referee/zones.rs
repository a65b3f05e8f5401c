//! Halt zones and strike zones (laws of measurement, §5 and §7): depth is all that is measured of a
//! halt zone.

use crate::game::{Game, Unit};
pub use crate::geometry::TOUCH_MM;
use crate::geometry::{self, EPS_MM, Footprint, Motion, Span, larger};
use crate::orders::UnitId;
use crate::ruleset::{Ruleset, ZoneFront};

/// Depth of a halt zone in millimetres.
#[must_use]
pub fn halt_zone_mm(ruleset: &Ruleset) -> f64 {
    ruleset.zones.halt_zone.mm(&ruleset.scale)
}

/// Depth of a strike zone in millimetres.
#[must_use]
pub fn strike_zone_mm(ruleset: &Ruleset) -> f64 {
    ruleset.zones.strike_zone.mm(&ruleset.scale)
}

/// The halt zone of one unit.
#[derive(Debug, Clone, Copy)]
pub struct HaltZone {
    ground: Footprint,
    size_mm: f64,
    front: ZoneFront,
}

/// How deep a footprint stands in a halt zone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Depth {
    /// Millimetres inside; negative outside.
    pub mm: f64,
    /// What decided it.
    pub by: Measured,
}

/// What a depth was measured by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Measured {
    /// The distance, which the zone's size is the limit of, in millimetres.
    Distance(f64),
    /// How far it reaches ahead of the line of the front edge, in millimetres; negative behind it. The limit is 0.
    Reach(f64),
}

impl HaltZone {
    /// The halt zone about a unit that has strength.
    #[must_use]
    pub fn of(ruleset: &Ruleset, ground: Footprint) -> Self {
        Self {
            ground,
            size_mm: halt_zone_mm(ruleset),
            front: ruleset.zones.zone_front,
        }
    }

    /// The ground of the unit whose zone it is.
    #[must_use]
    pub fn ground(&self) -> &Footprint {
        &self.ground
    }

    /// Its size in millimetres.
    #[must_use]
    pub fn size_mm(&self) -> f64 {
        self.size_mm
    }

    /// How deep a footprint stands in it: the zone's size less the distance. With zones that look ahead, the lesser
    /// of the size less the distance of the part ahead of the front edge's line, and of how far it reaches ahead; where no
    /// part lies ahead the distance is that of the whole, so that nobody is in a zone from farther off than its size.
    #[must_use]
    pub fn depth(&self, moving: &Footprint) -> Depth {
        let whole_mm = || geometry::distance_mm(moving, &self.ground);
        let reach_mm = match self.front {
            ZoneFront::AllRound => f64::INFINITY,
            ZoneFront::Ahead => geometry::reach_ahead_mm(moving, &self.ground),
        };
        let distance_mm = match self.front {
            ZoneFront::AllRound => whole_mm(),
            ZoneFront::Ahead => {
                geometry::distance_ahead_mm(moving, &self.ground).unwrap_or_else(whole_mm)
            }
        };
        let inside_mm = self.size_mm - distance_mm;
        if reach_mm < inside_mm {
            Depth {
                mm: reach_mm,
                by: Measured::Reach(reach_mm),
            }
        } else {
            Depth {
                mm: inside_mm,
                by: Measured::Distance(distance_mm),
            }
        }
    }

    /// Whether a footprint is in it.
    #[must_use]
    pub fn holds(&self, moving: &Footprint) -> bool {
        !self.is_far(moving, 1.0) && self.depth(moving).mm >= -TOUCH_MM
    }

    /// Whether a footprint is farther outside than so many millimetres by the circles about both
    /// alone. Cheap, and never wrong in saying yes.
    #[must_use]
    pub fn is_far(&self, moving: &Footprint, beyond_mm: f64) -> bool {
        self.ground
            .is_farther_than(moving, self.size_mm + beyond_mm)
    }

    /// Sorted, disjoint spans of a motion in which the footprint is deeper than so many millimetres.
    #[must_use]
    pub fn spans_deeper(&self, moving: &Footprint, motion: &Motion, than_mm: f64) -> Vec<Span> {
        let distance_mm = self.size_mm - than_mm;
        match self.front {
            ZoneFront::AllRound if distance_mm <= 0.0 => Vec::new(),
            ZoneFront::AllRound => {
                geometry::spans_within(moving, motion, &self.ground, distance_mm)
            }
            ZoneFront::Ahead => {
                let limits = (than_mm, distance_mm);
                geometry::spans_ahead(moving, motion, &self.ground, limits, |footprint| {
                    self.depth(footprint).mm > than_mm
                })
            }
        }
    }

    /// Its distance from a footprint, as the zone is measured: from the part ahead of the front edge's line when zones look
    /// ahead. `None` when no part lies there.
    #[must_use]
    pub fn distance_mm(&self, moving: &Footprint) -> Option<f64> {
        match self.front {
            ZoneFront::AllRound => Some(geometry::distance_mm(moving, &self.ground)),
            ZoneFront::Ahead => geometry::distance_ahead_mm(moving, &self.ground),
        }
    }

    /// Sorted, disjoint spans of a motion in which that distance is less than so many millimetres.
    #[must_use]
    pub fn spans_nearer(&self, moving: &Footprint, motion: &Motion, than_mm: f64) -> Vec<Span> {
        match self.front {
            ZoneFront::AllRound if than_mm <= 0.0 => Vec::new(),
            ZoneFront::AllRound => geometry::spans_within(moving, motion, &self.ground, than_mm),
            ZoneFront::Ahead => geometry::spans_within_ahead(moving, motion, &self.ground, than_mm),
        }
    }

    /// The greatest depth of a footprint in these spans of a motion, and the share at which it is.
    #[must_use]
    pub fn deepest(
        &self,
        moving: &Footprint,
        motion: &Motion,
        spans: &[Span],
    ) -> Option<(f64, Depth)> {
        let at = |share| self.depth(&motion.footprint_at(moving, share));
        spans
            .iter()
            .map(|span| geometry::least(|share| -at(share).mm, span.from, span.to).0)
            .map(|share| (share, at(share)))
            .reduce(|deepest, other| {
                if other.1.mm > deepest.1.mm {
                    other
                } else {
                    deepest
                }
            })
    }
}

/// Distance in millimetres from a footprint to an enemy that radiates a halt zone, as that zone
/// measures it: to the part of the footprint ahead of the enemy's front when zones look ahead
/// only. `None` when no part of it can be within the zone at all.
#[must_use]
pub fn zone_distance_mm(ruleset: &Ruleset, enemy: &Footprint, moving: &Footprint) -> Option<f64> {
    match ruleset.zones.zone_front {
        ZoneFront::AllRound => Some(geometry::signed_distance_mm(enemy, moving)),
        ZoneFront::Ahead => {
            geometry::separation_ahead(moving, enemy).map(|separation| separation.distance_mm)
        }
    }
}

/// Whether a footprint is within an enemy's halt zone.
#[must_use]
pub fn is_in_halt_zone(ruleset: &Ruleset, enemy: &Footprint, moving: &Footprint) -> bool {
    HaltZone::of(ruleset, *enemy).holds(moving)
}

/// Whether a move of a unit that begins so deep in the zone of an enemy begins in it. Who ended its last move outside by no
/// more than the tolerance is in it still, if it is still outside by no more.
#[must_use]
pub fn begins_in(ruleset: &Ruleset, unit: &Unit, enemy: &UnitId, depth_mm: f64) -> bool {
    let outside_mm = if unit.still_held_by.contains(enemy) {
        ruleset.scale.tolerance_mm + EPS_MM
    } else {
        TOUCH_MM
    };
    depth_mm >= -outside_mm
}

/// Enemies of a side that stand on the table and radiate zones.
pub fn zoned_enemies(game: &Game, side: usize) -> impl Iterator<Item = (&Unit, Footprint)> {
    game.on_table()
        .filter(move |unit| unit.side != side && unit.has_strength())
        .filter_map(|unit| Some((unit, unit.footprint()?)))
}

/// The enemy whose halt zone is nearest, with the distance in millimetres that the zone would have to reach; none of
/// those that look away from the footprint.
pub fn nearest_zoned_enemy<'a>(
    game: &'a Game,
    side: usize,
    footprint: &Footprint,
) -> Option<(&'a Unit, f64)> {
    zoned_enemies(game, side)
        .filter_map(|(enemy, ground)| {
            let distance_mm = zone_distance_mm(game.ruleset(), &ground, footprint)?;
            Some((enemy, larger(distance_mm, 0.0)))
        })
        .reduce(|a, b| if b.1 < a.1 { b } else { a })
}
