//! The limits a moving footprint must keep, each measured the same way: a clearance that may
//! not fall below a least value (laws of measurement, §§3–6).

use crate::game::{Game, GroundPatch};
use crate::geometry::{
    self, EPS_MM, Footprint, Motion, Span, Table, larger, overlap_depth_mm, signed_distance_mm,
    smaller, spans_over, spans_within, spans_within_ahead,
};
use crate::orders::UnitId;
use crate::ruleset::{Ruleset, ZoneFront};
use crate::verdict::{Code, Reason};

use super::super::zones::{self, TOUCH_MM};
use super::Surroundings;

/// What a limit is measured against.
#[derive(Debug, Clone, Copy)]
pub(super) enum Against<'a> {
    /// The halt zone of an enemy, all round or ahead of its front.
    Zone(Footprint, ZoneFront),
    /// Another unit's footprint.
    Unit(Footprint),
    /// An impassable patch.
    Patch(&'a GroundPatch),
    /// The table's edge.
    Edge(&'a Table),
}

/// One limit.
#[derive(Debug, Clone)]
pub(super) struct Limit<'a> {
    pub(super) code: Code,
    /// An enemy's id, a patch's name.
    pub(super) with: &'a str,
    pub(super) against: Against<'a>,
    /// The clearance that must be kept, in millimetres.
    pub(super) least_mm: f64,
    /// The limit as people read it; differs from `least_mm` where coming to it exactly is too much.
    pub(super) shown_mm: f64,
}

/// Where a limit is broken during a motion.
#[derive(Debug, Clone, Copy)]
pub(super) struct Breach {
    /// Share of the motion at which the limit was reached.
    pub(super) share: f64,
    /// Least clearance from there on, in millimetres.
    pub(super) measured_mm: f64,
}

impl Limit<'_> {
    /// Whether a footprint is so far off that the limit cannot matter: more than a millimetre
    /// beyond it by the circles about both. Cheap, and never wrong in saying yes.
    pub(super) fn is_far(&self, footprint: &Footprint) -> bool {
        match self.against {
            Against::Zone(enemy, _) | Against::Unit(enemy) => {
                footprint.is_farther_than(&enemy, self.least_mm + 1.0)
            }
            Against::Patch(patch) => {
                let reach = footprint.reach();
                let bounds = patch.outline.bounds().widened(reach + 1.0);
                !bounds.holds(footprint.centre)
            }
            Against::Edge(_) => false,
        }
    }

    /// The clearance of a footprint in millimetres.
    pub(super) fn clearance_mm(&self, footprint: &Footprint) -> f64 {
        match self.against {
            Against::Zone(enemy, ZoneFront::AllRound) | Against::Unit(enemy) => {
                signed_distance_mm(footprint, &enemy)
            }
            Against::Zone(enemy, ZoneFront::Ahead) => geometry::separation_ahead(footprint, &enemy)
                .map_or(f64::INFINITY, |ahead| ahead.distance_mm),
            Against::Patch(patch) => -overlap_depth_mm(footprint, &patch.outline),
            Against::Edge(table) => table.margin_mm(footprint),
        }
    }

    /// Where a motion breaks the limit, if it does. A motion that begins beyond the limit breaks
    /// it only by getting deeper than it began.
    pub(super) fn breach(&self, moving: &Footprint, motion: &Motion) -> Option<Breach> {
        let spans = self.spans_below(moving, motion, self.least_mm - EPS_MM);
        let first = spans.first()?;
        let began_mm = self.clearance_mm(moving);
        if began_mm < self.least_mm - EPS_MM {
            let measured_mm = self.least_clearance(moving, motion, &spans);
            return (measured_mm < began_mm - EPS_MM).then_some(Breach {
                share: 0.0,
                measured_mm,
            });
        }
        let share = self.share_reached(moving, motion, first.from);
        Some(Breach {
            share,
            measured_mm: self.least_clearance(moving, motion, &spans),
        })
    }

    /// The last share to which a motion keeps the limit, without the figures of a breach; `None`
    /// when it keeps it to the end.
    pub(super) fn kept_to(&self, moving: &Footprint, motion: &Motion) -> Option<f64> {
        if let (Against::Edge(table), Motion::Straight { by }) = (self.against, motion)
            && self.clearance_mm(moving) >= self.least_mm - EPS_MM
        {
            return table.leaves_at(moving, *by, EPS_MM - self.least_mm);
        }
        let first_below = |below_mm: f64| {
            let spans = self.spans_below(moving, motion, below_mm);
            spans.first().map(|span| span.from)
        };
        let first = first_below(self.least_mm - EPS_MM)?;
        if first > 0.0 {
            return Some(first);
        }
        let began_mm = self.clearance_mm(moving);
        if began_mm >= self.least_mm - EPS_MM {
            return Some(0.0);
        }
        match self.against {
            // how deep in a patch it is has no spans: the last part that is no breach, by halving
            Against::Patch(_) => self.breach(moving, motion).map(|_| {
                let breaks = |share| self.breach(moving, &motion.part(share)).is_some();
                last_clear(breaks, 1.0)
            }),
            _ => first_below(began_mm - EPS_MM),
        }
    }

    /// The clearance of a footprint that stands in a zone that halts it.
    pub(super) fn halts_at_mm(&self, footprint: &Footprint) -> Option<f64> {
        if self.code != Code::EnemyZone || self.is_far(footprint) {
            return None;
        }
        let clearance_mm = self.clearance_mm(footprint);
        (clearance_mm <= self.least_mm + TOUCH_MM).then_some(clearance_mm)
    }

    /// Whether a footprint that moves its middle no farther than so many millimetres cannot come
    /// near the limit.
    pub(super) fn is_beyond(&self, footprint: &Footprint, travel_mm: f64) -> bool {
        match self.against {
            Against::Zone(enemy, _) | Against::Unit(enemy) => {
                let between_mm = footprint.centre.distance_to(enemy.centre);
                between_mm - footprint.reach() - enemy.reach() > self.least_mm + travel_mm + 1.0
            }
            Against::Patch(patch) => {
                let widened = patch
                    .outline
                    .bounds()
                    .widened(footprint.reach() + travel_mm + 1.0);
                !widened.holds(footprint.centre)
            }
            Against::Edge(_) => false,
        }
    }

    /// The share at which the limit itself was reached, EPS before it was found broken.
    fn share_reached(&self, moving: &Footprint, motion: &Motion, found: f64) -> f64 {
        if let Against::Patch(_) = self.against {
            let touches = |share| self.clearance_mm(&motion.footprint_at(moving, share)) < 0.0;
            return last_clear(touches, found);
        }
        self.spans_below(moving, motion, self.least_mm)
            .iter()
            .find(|span| span.from <= found && found <= span.to)
            .map_or(found, |span| span.from)
    }

    fn spans_below(&self, moving: &Footprint, motion: &Motion, below_mm: f64) -> Vec<Span> {
        match self.against {
            Against::Zone(enemy, ZoneFront::Ahead) => {
                spans_within_ahead(moving, motion, &enemy, below_mm)
            }
            Against::Zone(enemy, ZoneFront::AllRound) | Against::Unit(enemy) => {
                spans_within(moving, motion, &enemy, below_mm)
            }
            Against::Patch(patch) => spans_over(moving, motion, &patch.outline),
            Against::Edge(table) => table.spans_off(moving, motion, -below_mm),
        }
    }

    fn least_clearance(&self, moving: &Footprint, motion: &Motion, spans: &[Span]) -> f64 {
        spans
            .iter()
            .map(|span| {
                let at = |share| self.clearance_mm(&motion.footprint_at(moving, share));
                geometry::least(at, span.from, span.to).1
            })
            .fold(f64::INFINITY, smaller)
    }

    /// Whether a footprint keeps the limit, or at least stands no deeper than `began_mm`.
    pub(super) fn is_kept(&self, footprint: &Footprint, began_mm: f64) -> bool {
        self.clearance_mm(footprint) >= smaller(self.least_mm, began_mm) - EPS_MM
    }

    /// The reason for a clearance that breaks the limit.
    pub(super) fn reason(&self, measured_mm: f64, tolerance_mm: f64) -> Reason {
        let reason = match self.against {
            Against::Zone(..) => {
                Reason::length_under(self.code, self.shown_mm, measured_mm, tolerance_mm)
            }
            // An overlap, a depth, a way off: people read how far it goes.
            Against::Unit(_) | Against::Patch(_) | Against::Edge(_) => {
                Reason::length_over(self.code, 0.0, -measured_mm, tolerance_mm)
            }
        };
        reason.with(self.with)
    }

    /// In words, what an *up to* leg stopped at.
    pub(super) fn stop_words(&self) -> String {
        match self.code {
            Code::EnemyZone | Code::OutOfCommand => format!("halt zone of {}", self.with),
            Code::OffTable => "table edge".to_owned(),
            _ => self.with.to_owned(),
        }
    }
}

/// The last share before `found` at which `touches` is still false, by halving. The way from
/// touching to EPS deep is too short for the overlap to come and go in it.
fn last_clear(touches: impl Fn(f64) -> bool, found: f64) -> f64 {
    const HALVINGS: u32 = 50;
    let (mut clear, mut touching) = (0.0, found);
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(clear, touching);
        if touches(middle) {
            touching = middle;
        } else {
            clear = middle;
        }
    }
    clear
}

/// An enemy in whose halt zone a unit began its move.
#[derive(Debug, Clone)]
pub(super) struct Held {
    pub(super) enemy: UnitId,
    /// The nearest the unit has stood to it in this move, in millimetres.
    pub(super) nearest_mm: f64,
}

/// How a unit that moves stands to the enemy's halt zones.
#[derive(Debug, Clone, Default)]
pub(super) struct ZoneStanding {
    /// Enemies in whose halt zone it began its move.
    pub(super) began_in: Vec<Held>,
    /// Whether it may not enter or close within any: out of command, or its army broken.
    pub(super) barred: bool,
}

/// All limits on the legs of one member of a body. Friends count only where legs may not pass
/// through them.
pub(super) fn limits_of<'a>(
    game: &'a Game,
    around: &Surroundings<'a>,
    side: usize,
    standing: &ZoneStanding,
    start: &Footprint,
) -> Vec<Limit<'a>> {
    let ruleset = game.ruleset();
    let mut limits = Vec::with_capacity(2 * around.units.len() + 1);
    for &(other, footprint) in &around.units {
        if other.side != side {
            if other.has_strength() {
                let began_in = standing.began_in.iter().any(|held| held.enemy == other.id);
                limits.extend(zone_limit(
                    ruleset,
                    &other.id.0,
                    footprint,
                    standing,
                    began_in,
                    start,
                ));
            }
            limits.push(unit_limit(Code::EnemyContact, &other.id.0, footprint));
        } else if !ruleset.movement.pass_friends {
            limits.push(unit_limit(Code::EndsOnFriend, &other.id.0, footprint));
        }
    }
    limits.extend(ground_limits(around, &game.ground().table));
    limits
}

fn zone_limit<'a>(
    ruleset: &Ruleset,
    id: &'a str,
    enemy: Footprint,
    standing: &ZoneStanding,
    began_in: bool,
    start: &Footprint,
) -> Option<Limit<'a>> {
    let zone_mm = zones::halt_zone_mm(ruleset);
    let against = Against::Zone(enemy, ruleset.zones.zone_front);
    let limit = |code, least_mm, shown_mm| Limit {
        code,
        with: id,
        against,
        least_mm,
        shown_mm,
    };
    match (standing.barred, began_in) {
        // Coming to the edge of a zone is entering it, so a barred unit stops a touch outside.
        (true, false) => Some(limit(Code::OutOfCommand, zone_mm + 2.0 * TOUCH_MM, zone_mm)),
        (true, true) => {
            let began_mm = zones::zone_distance_mm(ruleset, &enemy, start)?;
            Some(limit(Code::OutOfCommand, began_mm, began_mm))
        }
        (false, false) => Some(limit(Code::EnemyZone, zone_mm, zone_mm)),
        (false, true) => None,
    }
}

fn unit_limit(code: Code, id: &str, footprint: Footprint) -> Limit<'_> {
    Limit {
        code,
        with: id,
        against: Against::Unit(footprint),
        least_mm: 0.0,
        shown_mm: 0.0,
    }
}

fn ground_limits<'a>(
    around: &Surroundings<'a>,
    table: &'a Table,
) -> impl Iterator<Item = Limit<'a>> {
    let patches = around.patches.iter().filter(|patch| patch.kind.impassable);
    let edge = Limit {
        code: Code::OffTable,
        with: "table",
        against: Against::Edge(table),
        least_mm: 0.0,
        shown_mm: 0.0,
    };
    patches
        .map(|&patch| Limit {
            code: Code::Impassable,
            with: &patch.name,
            against: Against::Patch(patch),
            least_mm: 0.0,
            shown_mm: 0.0,
        })
        .chain([edge])
}

/// Friends that a footprint may not end on, with the overlap's depth in millimetres.
pub(super) fn friends_overlapped<'a>(
    around: &Surroundings<'a>,
    side: usize,
    end: &Footprint,
) -> Vec<(&'a UnitId, f64)> {
    around
        .units
        .iter()
        .filter(|(unit, ground)| unit.side == side && !end.is_farther_than(ground, 1.0))
        .filter_map(|(unit, ground)| {
            let depth_mm = -signed_distance_mm(end, ground);
            (depth_mm > EPS_MM).then_some((&unit.id, depth_mm))
        })
        .collect()
}

/// The enemy whose halt zone is nearest, with the distance in millimetres that the zone would have to reach; none of
/// those that look away from the footprint.
pub(in crate::referee) fn nearest_zoned_enemy(
    game: &Game,
    side: usize,
    footprint: &Footprint,
) -> Option<(UnitId, f64)> {
    zones::zoned_enemies(game, side)
        .filter_map(|(enemy, ground)| {
            let distance_mm = zones::zone_distance_mm(game.ruleset(), &ground, footprint)?;
            Some((enemy.id.clone(), larger(distance_mm, 0.0)))
        })
        .reduce(|a, b| if b.1 < a.1 { b } else { a })
}
