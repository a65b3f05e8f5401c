//! Whether a block may be shifted a certain way after combat: enemies, their zones, ground.

use crate::game::{Game, GroundPatch, Unit};
use crate::geometry::{
    EPS_MM, Footprint, Motion, TOUCH_MM, Vector, larger, overlap_depth_mm, signed_distance_mm,
    smaller, spans_over, spans_within,
};

use super::zones::HaltZone;

/// What bars the way of one side's units: the other side's, and impassable ground.
pub(crate) struct Bars<'a> {
    enemies: Vec<Enemy>,
    impassable: Vec<&'a GroundPatch>,
}

struct Enemy {
    ground: Footprint,
    zone: Option<HaltZone>,
}

/// How near a shifted block may come to each bar, from where it stands before the shift.
pub(crate) struct Limits {
    /// For each enemy what its zone allows, if it has one, and the least signed distance.
    enemies: Vec<(Option<ZoneLimit>, f64)>,
    /// For each patch the deepest overlap.
    impassable: Vec<f64>,
}

/// What an enemy's halt zone allows a shifted block.
#[derive(Clone, Copy)]
enum ZoneLimit {
    /// It is in the zone: it may come no nearer than so many millimetres, as the zone is measured.
    NoNearer(f64),
    /// It is outside, and may not enter.
    Outside,
}

impl<'a> Bars<'a> {
    pub(crate) fn of(game: &'a Game, side: usize) -> Self {
        let enemy = |unit: &Unit| {
            let ground = unit.footprint()?;
            let zone = unit
                .has_strength()
                .then(|| HaltZone::of(game.ruleset(), ground));
            Some(Enemy { ground, zone })
        };
        Self {
            enemies: game
                .on_table()
                .filter(|unit| unit.side != side)
                .filter_map(enemy)
                .collect(),
            impassable: game
                .ground()
                .patches
                .iter()
                .filter(|patch| patch.kind.impassable)
                .collect(),
        }
    }

    /// Whether a shift brings a block nearer to an enemy in whose halt zone it is, into another
    /// halt zone by more than storing can do, or deeper into an enemy or impassable ground, at any
    /// instant of it.
    pub(crate) fn block(&self, start: &Footprint, by: Vector) -> bool {
        let motion = Motion::Straight { by };
        self.enemies
            .iter()
            .any(|enemy| enemy.blocks(start, &motion))
            || self
                .impassable
                .iter()
                .any(|patch| runs_into(patch, start, &motion))
    }

    /// The limits of a block that stands here.
    pub(crate) fn limits(&self, start: &Footprint) -> Limits {
        Limits {
            enemies: self
                .enemies
                .iter()
                .map(|enemy| enemy.limits(start))
                .collect(),
            impassable: self
                .impassable
                .iter()
                .map(|patch| larger(overlap_depth_mm(start, &patch.outline), 0.0))
                .collect(),
        }
    }

    /// As [`Bars::limits`], without zones: only overlaps count.
    pub(crate) fn touching_limits(&self, start: &Footprint) -> Limits {
        let mut limits = self.limits(start);
        for (zone, _) in &mut limits.enemies {
            *zone = None;
        }
        limits
    }

    /// Whether a block keeps the limits, to `slack_mm`.
    pub(crate) fn keeps(&self, limits: &Limits, end: &Footprint, slack_mm: f64) -> bool {
        let enemies = self.enemies.iter().zip(&limits.enemies);
        let impassable = self.impassable.iter().zip(&limits.impassable);
        enemies.into_iter().all(|(enemy, (limit, touching_mm))| {
            let zone = enemy.zone.zip(*limit);
            signed_distance_mm(end, &enemy.ground) >= touching_mm - slack_mm
                && zone.is_none_or(|(zone, limit)| limit.is_kept(&zone, end, slack_mm))
        }) && impassable
            .into_iter()
            .all(|(patch, depth_mm)| overlap_depth_mm(end, &patch.outline) <= depth_mm + slack_mm)
    }

    /// The share of a straight way that a block may go before it overlaps an enemy or impassable
    /// ground deeper than at its start; zones do not stop it.
    pub(crate) fn open_share(&self, start: &Footprint, by: Vector) -> f64 {
        let motion = Motion::Straight { by };
        let mut share = 1.0;
        for enemy in &self.enemies {
            share = smaller(share, touching_share(start, by, &enemy.ground));
        }
        for patch in &self.impassable {
            if runs_into(patch, start, &motion) {
                let reached = spans_over(start, &motion, &patch.outline);
                share = smaller(share, reached.first().map_or(0.0, |span| span.from));
            }
        }
        share
    }
}

impl Enemy {
    fn blocks(&self, start: &Footprint, motion: &Motion) -> bool {
        let (limit, touching_mm) = self.limits(start);
        let overlaps =
            || !spans_within(start, motion, &self.ground, touching_mm - EPS_MM).is_empty();
        let breaks = |(zone, limit): (HaltZone, ZoneLimit)| match limit {
            ZoneLimit::NoNearer(least_mm) => !zone
                .spans_nearer(start, motion, least_mm - EPS_MM)
                .is_empty(),
            ZoneLimit::Outside => !zone.spans_deeper(start, motion, TOUCH_MM).is_empty(),
        };
        overlaps() || self.zone.zip(limit).is_some_and(breaks)
    }

    /// What its zone, if it has one, allows a block from here, and the least signed distance that it does.
    fn limits(&self, start: &Footprint) -> (Option<ZoneLimit>, f64) {
        let touching_mm = smaller(signed_distance_mm(start, &self.ground), 0.0);
        let limit = self.zone.map(|zone| match zone.distance_mm(start) {
            Some(distance_mm) if zone.holds(start) => ZoneLimit::NoNearer(distance_mm),
            _ => ZoneLimit::Outside,
        });
        (limit, touching_mm)
    }
}

impl ZoneLimit {
    /// Whether a block that ends there keeps it, to `slack_mm`.
    fn is_kept(self, zone: &HaltZone, end: &Footprint, slack_mm: f64) -> bool {
        match self {
            Self::NoNearer(least_mm) => zone
                .distance_mm(end)
                .is_none_or(|distance_mm| distance_mm >= least_mm - slack_mm),
            Self::Outside => zone.depth(end).mm <= slack_mm,
        }
    }
}

/// The share of a straight way at which a block touches another that stands still, or is as
/// deep in it as at its start when it goes deeper; 1 when it does not.
pub(crate) fn touching_share(start: &Footprint, by: Vector, other: &Footprint) -> f64 {
    let motion = Motion::Straight { by };
    let deepest = smaller(signed_distance_mm(start, other), 0.0);
    if spans_within(start, &motion, other, deepest - EPS_MM).is_empty() {
        return 1.0;
    }
    spans_within(start, &motion, other, deepest)
        .first()
        .map_or(1.0, |span| span.from)
}

/// Whether a shift takes a block into a patch, or deeper into one that it overlaps already.
fn runs_into(patch: &GroundPatch, start: &Footprint, motion: &Motion) -> bool {
    let over = spans_over(start, motion, &patch.outline);
    if over.is_empty() {
        return false;
    }
    let depth = overlap_depth_mm(start, &patch.outline);
    let end = motion.footprint_at(start, 1.0);
    depth <= EPS_MM
        || over.iter().any(|span| span.from > 0.0)
        || overlap_depth_mm(&end, &patch.outline) > depth + EPS_MM
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::orders::UnitId;
    use crate::referee::testing::{game, game_on, ground, pair, patch, rules, scenario};
    use crate::ruleset::TerrainKind;

    /// Whether a unit that goes so far north keeps the limits that it has where it stands.
    fn keeps(game: &Game, unit: &str, northward_mm: f64) -> bool {
        let unit = game.unit(&UnitId::from(unit)).expect("it exists");
        let start = unit.footprint().expect("it stands");
        let bars = Bars::of(game, unit.side);
        let end = start.shifted(Vector::new(0.0, northward_mm));
        bars.keeps(&bars.touching_limits(&start), &end, EPS_MM)
    }

    #[test]
    fn who_overlaps_an_enemy_may_not_end_deeper_in_it() {
        // b1's front lies 1 mm behind r1's
        let units = vec![
            pair("r1", "foot", (500.0, 500.0, 0.0)),
            pair("b1", "foot", (500.0, 499.0, 180.0)),
        ];
        let game = game(rules(), units);
        let keeps = |northward_mm| keeps(&game, "b1", northward_mm);
        assert!(keeps(0.0) && keeps(0.5) && keeps(-EPS_MM / 2.0));
        assert!(!keeps(-0.01));
    }

    /// The same of impassable ground, which a marginal move may have ended a little inside of.
    #[test]
    fn who_stands_in_impassable_ground_may_not_end_deeper_in_it() {
        let kind = TerrainKind {
            impassable: true,
            ..TerrainKind::default()
        };
        let crag = patch("Crag", kind, (400.0, 499.6), (600.0, 600.0));
        let units = vec![pair("r1", "foot", (500.0, 500.0, 0.0))];
        let game = game_on(rules(), scenario(units), ground(vec![crag], vec![]));
        let keeps = |northward_mm| keeps(&game, "r1", northward_mm);
        assert!(keeps(0.0) && keeps(-0.3) && keeps(EPS_MM / 2.0));
        assert!(!keeps(0.01));
    }
}
