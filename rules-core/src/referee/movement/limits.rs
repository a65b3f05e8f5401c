//! The limits a moving footprint must keep, all measured the same way: as a depth beyond the limit, which
//! may be no more than 0, or than it was when the move began (laws of measurement, §§3–6).

use crate::game::{Game, GroundPatch};
use crate::geometry::{
    self, Footprint, Motion, Span, Table, larger, overlap_depth_mm, signed_distance_mm, spans_over,
    spans_within,
};
use crate::verdict::{Code, Reason};

use super::super::zones::{HaltZone, Measured};
use super::Surroundings;
use super::slack::{ARITHMETIC_MM, JUDGED_MM, NEAR_MM, SHORT_OF_ZONE_MM};
use super::standing::Standing;

/// What a limit is measured against.
#[derive(Debug, Clone, Copy)]
pub(super) enum Against<'a> {
    /// The halt zone of an enemy.
    Zone(HaltZone),
    /// Another unit's footprint.
    Unit(Footprint),
    /// An impassable patch.
    Patch(&'a GroundPatch),
    /// The table's edge.
    Edge(&'a Table),
}

/// One limit.
#[derive(Debug, Clone, Copy)]
pub(super) struct Limit<'a> {
    pub(super) code: Code,
    /// An enemy's id, a patch's name.
    pub(super) with: &'a str,
    pub(super) against: Against<'a>,
    /// Depth beyond the limit when the move began, in millimetres; none where it began within it.
    pub(super) began_mm: f64,
    /// The depth at which *up to* stops where the move began within the limit, in millimetres.
    pub(super) stop_mm: f64,
}

/// Where a limit is broken during a motion.
#[derive(Debug, Clone, Copy)]
pub(super) struct Breach {
    /// Share of the motion at which the limit was reached.
    pub(super) share: f64,
    /// The footprint where it is deepest beyond the limit.
    pub(super) deepest: Footprint,
}

impl Against<'_> {
    /// How deep a footprint is beyond the limit, in millimetres; not above 0 where it keeps it.
    pub(super) fn depth_mm(&self, footprint: &Footprint) -> f64 {
        match self {
            Self::Zone(zone) => zone.depth(footprint).mm,
            Self::Unit(other) => -signed_distance_mm(footprint, other),
            Self::Patch(patch) => overlap_depth_mm(footprint, &patch.outline),
            Self::Edge(table) => -table.margin_mm(footprint),
        }
    }

    /// How far from the thing itself the limit lies, in millimetres.
    pub(super) fn reach_mm(&self) -> f64 {
        match self {
            Self::Zone(zone) => zone.size_mm(),
            Self::Unit(_) | Self::Patch(_) | Self::Edge(_) => 0.0,
        }
    }

    /// Whether a footprint is so far off that the limit cannot matter. Cheap, and never wrong in saying yes.
    pub(super) fn is_far(&self, footprint: &Footprint) -> bool {
        match self {
            Self::Zone(zone) => zone.is_far(footprint, NEAR_MM),
            Self::Unit(other) => footprint.is_farther_than(other, NEAR_MM),
            Self::Patch(patch) => {
                let bounds = patch.outline.bounds().widened(footprint.reach() + NEAR_MM);
                !bounds.holds(footprint.centre)
            }
            Self::Edge(_) => false,
        }
    }

    /// Sorted, disjoint spans of a motion in which the footprint is deeper than so many millimetres.
    fn spans_deeper(&self, moving: &Footprint, motion: &Motion, than_mm: f64) -> Vec<Span> {
        match self {
            Self::Zone(zone) => zone.spans_deeper(moving, motion, than_mm),
            Self::Unit(other) => spans_within(moving, motion, other, -than_mm),
            Self::Patch(patch) => {
                let over = spans_over(moving, motion, &patch.outline);
                if than_mm <= JUDGED_MM {
                    return over;
                }
                let deeper = |share| self.depth_mm(&motion.footprint_at(moving, share)) > than_mm;
                over.into_iter()
                    .filter_map(|span| first_part(span, deeper))
                    .collect()
            }
            Self::Edge(table) => table.spans_off(moving, motion, than_mm),
        }
    }

    /// The footprint where it is deepest in these spans of a motion.
    fn deepest(&self, moving: &Footprint, motion: &Motion, spans: &[Span]) -> Footprint {
        let at = |share| motion.footprint_at(moving, share);
        let (share, _) = spans
            .iter()
            .map(|span| geometry::least(|share| -self.depth_mm(&at(share)), span.from, span.to))
            .fold((0.0, f64::INFINITY), |deepest, other| {
                if other.1 < deepest.1 { other } else { deepest }
            });
        at(share)
    }
}

impl<'a> Limit<'a> {
    /// A limit, for a move that begins there.
    fn new(code: Code, with: &'a str, against: Against<'a>, start: &Footprint) -> Self {
        let began_mm = if against.is_far(start) {
            0.0
        } else {
            larger(against.depth_mm(start), 0.0)
        };
        Self {
            code,
            with,
            against,
            began_mm,
            stop_mm: 0.0,
        }
    }

    /// Where a motion breaks the limit, if it does.
    pub(super) fn breach(&self, moving: &Footprint, motion: &Motion) -> Option<Breach> {
        let deeper = |than_mm| self.against.spans_deeper(moving, motion, than_mm);
        let spans = deeper(self.began_mm + JUDGED_MM);
        let found = spans.first()?.from;
        Some(Breach {
            share: self.reached(moving, motion, found, self.began_mm),
            deepest: self.against.deepest(moving, motion, &spans),
        })
    }

    /// Where *up to* stops, if it does: where it would be deeper than the limit, than its move began and
    /// than its leg began.
    pub(super) fn stop(&self, moving: &Footprint, motion: &Motion) -> Option<f64> {
        let began_mm = if self.began_mm > 0.0 {
            self.began_mm
        } else {
            self.stop_mm
        };
        let deeper = |than_mm| {
            self.against
                .spans_deeper(moving, motion, than_mm + JUDGED_MM)
        };
        let mut spans = deeper(began_mm);
        spans.first()?;
        let leg_began_mm = self.against.depth_mm(moving);
        let most_mm = larger(began_mm, leg_began_mm);
        if leg_began_mm > began_mm {
            spans = deeper(most_mm);
        }
        let found = spans.first()?.from;
        Some(self.reached(moving, motion, found, most_mm))
    }

    /// The last share to which a motion keeps the limit to `slack_mm`, without the figures of a breach; `None`
    /// when it keeps it to the end.
    pub(super) fn kept_to(
        &self,
        moving: &Footprint,
        motion: &Motion,
        slack_mm: f64,
    ) -> Option<f64> {
        let most_mm = self.began_mm + slack_mm;
        if let (Against::Edge(table), Motion::Straight { by }) = (self.against, motion)
            && self.against.depth_mm(moving) <= most_mm
        {
            return table.leaves_at(moving, *by, most_mm);
        }
        let spans = self.against.spans_deeper(moving, motion, most_mm);
        spans.first().map(|span| span.from)
    }

    /// Whether a footprint that moves its middle no farther than so many millimetres cannot come
    /// near the limit.
    pub(super) fn is_beyond(&self, footprint: &Footprint, travel_mm: f64) -> bool {
        let apart_mm = self.against.reach_mm() + travel_mm + NEAR_MM;
        match self.against {
            Against::Zone(zone) => is_apart(footprint, zone.ground(), apart_mm),
            Against::Unit(other) => is_apart(footprint, &other, apart_mm),
            Against::Patch(patch) => {
                let bounds = patch.outline.bounds();
                let widened = bounds.widened(footprint.reach() + apart_mm);
                !widened.holds(footprint.centre)
            }
            Against::Edge(_) => false,
        }
    }

    /// The share at which a depth was reached, a hair before it was found exceeded.
    fn reached(&self, moving: &Footprint, motion: &Motion, found: f64, depth_mm: f64) -> f64 {
        let reached_mm = depth_mm + ARITHMETIC_MM;
        if let Against::Patch(_) = self.against {
            let deeper =
                |share| self.against.depth_mm(&motion.footprint_at(moving, share)) > reached_mm;
            return last_before(deeper, Span::new(0.0, found));
        }
        self.against
            .spans_deeper(moving, motion, reached_mm)
            .iter()
            .find(|span| span.from <= found && found <= span.to)
            .map_or(found, |span| span.from)
    }

    /// The reason why a footprint breaks the limit, if it does: it is deeper than the move began.
    pub(super) fn broken_by(&self, footprint: &Footprint, tolerance_mm: f64) -> Option<Reason> {
        let broken = !self.against.is_far(footprint)
            && self.against.depth_mm(footprint) > self.began_mm + JUDGED_MM;
        broken.then(|| self.reason(footprint, tolerance_mm))
    }

    /// The reason for a footprint beyond the limit. The excess is measured from the limit itself.
    pub(super) fn reason(&self, beyond: &Footprint, tolerance_mm: f64) -> Reason {
        let reason = match self.against {
            Against::Zone(zone) => zone_reason(self.code, &zone, beyond, tolerance_mm),
            // An overlap, a depth, a way off: people read how far it goes.
            Against::Unit(_) | Against::Patch(_) | Against::Edge(_) => {
                let depth_mm = self.against.depth_mm(beyond);
                Reason::length_over(self.code, 0.0, depth_mm, tolerance_mm)
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

/// The reason for being too deep in a halt zone: the zone's size and the distance, or how far it reaches ahead of
/// the line of the front edge where that decides.
pub(super) fn zone_reason(
    code: Code,
    zone: &HaltZone,
    footprint: &Footprint,
    tolerance_mm: f64,
) -> Reason {
    match zone.depth(footprint).by {
        Measured::Distance(distance_mm) => {
            Reason::length_under(code, zone.size_mm(), distance_mm, tolerance_mm)
        }
        Measured::Reach(reach_mm) => Reason::length_over(code, 0.0, reach_mm, tolerance_mm),
    }
}

fn is_apart(one: &Footprint, other: &Footprint, apart_mm: f64) -> bool {
    let between_mm = one.centre.distance_to(other.centre);
    between_mm - one.reach() - other.reach() > apart_mm
}

/// The last share of a span before its end at which `holds` is still false, by halving; its beginning where `holds`
/// is true there already.
fn last_before(holds: impl Fn(f64) -> bool, span: Span) -> f64 {
    const HALVINGS: u32 = 50;
    let (mut clear, mut found) = (span.from, span.to);
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(clear, found);
        if holds(middle) {
            found = middle;
        } else {
            clear = middle;
        }
    }
    clear
}

/// From where in a span `holds` is true, looked for in even steps: of a patch that a move began in, which marginal
/// ends alone bring about, there is no closed form.
fn first_part(span: Span, holds: impl Fn(f64) -> bool) -> Option<Span> {
    const STEPS: u32 = 64;
    let at = |step: u32| span.from + span.length() * f64::from(step) / f64::from(STEPS);
    let first = (0..=STEPS).find(|step| holds(at(*step)))?;
    let from = match first.checked_sub(1) {
        None => span.from,
        Some(before) => last_before(holds, Span::new(at(before), at(first))),
    };
    Some(Span::new(from, span.to))
}

/// All limits on the legs of one member of a body that begins its move there. Friends count only where legs may
/// not pass through them.
pub(super) fn limits_of<'a>(
    game: &'a Game,
    around: &Surroundings<'a>,
    side: usize,
    standing: &Standing<'a>,
    start: &Footprint,
) -> Vec<Limit<'a>> {
    let passes_friends = game.ruleset().movement.pass_friends;
    let mut limits = Vec::with_capacity(2 * around.units.len() + 1);
    limits.extend(standing.zones.iter().filter_map(|near| {
        let code = standing.zone_code_if_bound(near)?;
        let stays_out = code == Code::OutOfCommand && !near.began_in;
        Some(Limit {
            code,
            with: &near.enemy.0,
            against: Against::Zone(near.zone),
            began_mm: larger(near.began_depth_mm, 0.0),
            stop_mm: if stays_out { -SHORT_OF_ZONE_MM } else { 0.0 },
        })
    }));
    for &(other, footprint) in &around.units {
        let code = match (other.side == side, passes_friends) {
            (false, _) => Code::EnemyContact,
            (true, false) => Code::EndsOnFriend,
            (true, true) => continue,
        };
        let against = Against::Unit(footprint);
        limits.push(Limit::new(code, &other.id.0, against, start));
    }
    limits.extend(ground_limits(around, &game.ground().table, start));
    limits
}

fn ground_limits<'a>(
    around: &Surroundings<'a>,
    table: &'a Table,
    start: &Footprint,
) -> impl Iterator<Item = Limit<'a>> {
    let patches = around.patches.iter().filter(|patch| patch.kind.impassable);
    let patch = |patch: &&'a GroundPatch| {
        Limit::new(Code::Impassable, &patch.name, Against::Patch(patch), start)
    };
    let edge = Limit::new(Code::OffTable, "table", Against::Edge(table), start);
    patches
        .map(patch)
        .chain([edge])
        .collect::<Vec<_>>()
        .into_iter()
}
