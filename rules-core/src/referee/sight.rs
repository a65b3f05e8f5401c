//! Optional law: lines of sight, and gun fire of its own at range bands.

use crate::game::{Game, GroundLine, GroundPatch};
use crate::geometry::{
    ContactKind, EPS_MM, Footprint, NOTHING, Path, Point, crossings, distance_mm,
    distance_point_footprint_mm, larger, smaller, spans_inside,
};
use crate::ruleset::{RangeBand, Ruleset};

use super::defences::{is_high, is_in_span};
use super::support::Body;

/// The best string from a gun to its target.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Sighting {
    /// Length of the string in millimetres.
    pub string_mm: f64,
    /// How far it runs clear, in millimetres; the whole length when the target is in sight.
    pub clear_mm: f64,
    /// What stops it.
    pub by: Option<String>,
}

/// Whether a gun sees its target: a string from the midpoint of its front edge to the target's
/// nearest place, to a corner or to the middle of an edge, of which one clear is enough.
pub(crate) fn sighting(game: &Game, gun: &Body<'_>, target: &Body<'_>) -> Sighting {
    let view = View::new(game, gun, target);
    best_string(&gun.1, &target.1, |string| view.first_block(string))
}

/// As [`sighting`], but only friends of the gun are in the way; from or to high ground, those on high ground.
pub(crate) fn over_friends(game: &Game, gun: &Body<'_>, target: &Body<'_>) -> Sighting {
    let side = gun.0.side;
    let view = View::new(game, gun, target);
    let friends: Vec<&Body<'_>> = view
        .units
        .iter()
        .filter(|(unit, ground)| unit.side == side && (!view.is_high || is_high(game, ground)))
        .collect();
    best_string(&gun.1, &target.1, |string| {
        first(friends.iter().filter_map(|(unit, ground)| {
            let along = enters(string, ground, view.tolerance_mm)?;
            Some((along, unit.id.to_string()))
        }))
    })
}

/// The range band of a target: the nearest band whose outer edge it keeps within the tolerance.
pub(crate) fn band<'a>(
    ruleset: &'a Ruleset,
    gun: &Body<'_>,
    target: &Body<'_>,
) -> Option<&'a RangeBand> {
    let distance = distance_mm(&gun.1, &target.1);
    let sight = ruleset.sight.as_ref()?;
    sight
        .bands
        .iter()
        .find(|band| distance <= band.within.mm(&ruleset.scale) + ruleset.scale.tolerance_mm)
}

/// The farthest a gun fires on its own, in millimetres; `None` without that law.
pub fn farthest_mm(ruleset: &Ruleset) -> Option<f64> {
    let sight = ruleset.sight.as_ref()?;
    Some(sight.bands.iter().fold(0.0, |most, band| {
        larger(most, band.within.mm(&ruleset.scale))
    }))
}

/// A block that stops a string: how far along, and its name.
type Block = (f64, String);

fn first(blocks: impl Iterator<Item = Block>) -> Option<Block> {
    blocks.reduce(|nearest, block| if block.0 < nearest.0 { block } else { nearest })
}

/// The first clear string; without one, the one to the nearest place.
fn best_string(
    gun: &Footprint,
    target: &Footprint,
    first_block: impl Fn(&Path) -> Option<Block>,
) -> Sighting {
    let eye = gun.anchor();
    let mut blocked = None;
    for aim in aims(eye, target) {
        let string = Path::Straight { from: eye, to: aim };
        let string_mm = string.length_mm();
        match first_block(&string) {
            None => {
                return Sighting {
                    string_mm,
                    clear_mm: string_mm,
                    by: None,
                };
            }
            Some((clear_mm, by)) => {
                blocked.get_or_insert(Sighting {
                    string_mm,
                    clear_mm,
                    by: Some(by),
                });
            }
        }
    }
    blocked.unwrap_or(Sighting {
        string_mm: 0.0,
        clear_mm: 0.0,
        by: None,
    })
}

/// Nearest place first, then corners and middles of edges.
fn aims(eye: Point, target: &Footprint) -> [Point; 9] {
    let (across, along) = (target.half_frontage, target.half_depth);
    let (right, ahead) = target.local(eye);
    let nearest = target.at(
        larger(smaller(right, across), -across),
        larger(smaller(ahead, along), -along),
    );
    let [front_left, front_right, rear_right, rear_left] = target.corners();
    [
        nearest,
        target.at(0.0, along),
        front_left,
        front_right,
        target.at(across, 0.0),
        target.at(-across, 0.0),
        rear_right,
        rear_left,
        target.at(0.0, -along),
    ]
}

/// Everything that may stop the string between one gun and one target.
struct View<'a> {
    game: &'a Game,
    gun: Footprint,
    target: Footprint,
    /// Whether gun or target stands on high ground.
    is_high: bool,
    /// Other units of both sides, commanders left out.
    units: Vec<Body<'a>>,
    tolerance_mm: f64,
}

impl<'a> View<'a> {
    fn new(game: &'a Game, gun: &Body<'_>, target: &Body<'_>) -> Self {
        let units = game
            .on_table()
            .filter(|unit| unit.id != gun.0.id && unit.id != target.0.id && !unit.is_commander())
            .filter_map(|unit| Some((unit, unit.footprint()?)))
            .collect();
        Self {
            game,
            gun: gun.1,
            target: target.1,
            is_high: is_high(game, &gun.1) || is_high(game, &target.1),
            units,
            tolerance_mm: game.ruleset().scale.tolerance_mm,
        }
    }

    fn first_block(&self, string: &Path) -> Option<Block> {
        let ground = self.game.ground();
        let patches = ground
            .patches
            .iter()
            .filter_map(|patch| Some((self.patch_blocks(string, patch)?, patch.name.clone())));
        let lines = ground
            .lines
            .iter()
            .filter_map(|line| Some((self.line_blocks(string, line)?, line.name.clone())));
        let units_block = self
            .game
            .ruleset()
            .sight
            .as_ref()
            .is_some_and(|sight| sight.units_block);
        let units = self
            .units
            .iter()
            .filter(|(_, footprint)| {
                units_block && (!self.is_high || is_high(self.game, footprint))
            })
            .filter_map(|(unit, footprint)| {
                let along = enters(string, footprint, self.tolerance_mm)?;
                Some((along, unit.id.to_string()))
            });
        first(patches.chain(lines).chain(units))
    }

    /// How far along a patch stops the string. A patch that blocks sight lets it in or out by
    /// one base width where gun or target is in it, and never through; from or to high ground
    /// strings pass over it. High ground stops strings that go over it between lower places.
    fn patch_blocks(&self, string: &Path, patch: &GroundPatch) -> Option<f64> {
        let high = patch.kind.high && !self.is_high;
        if !patch.kind.blocks_sight && !high {
            return None;
        }
        let length = string.length_mm();
        let edge = self.game.ruleset().scale.base_width_mm;
        let blocks = spans_inside(string, &patch.outline)
            .into_iter()
            .filter_map(|span| {
                let inside = span.length() * length;
                let at_end = span.from <= 0.0 || span.to >= 1.0;
                let lets_in = if at_end { edge } else { 0.0 };
                let stops = if at_end {
                    patch.kind.blocks_sight
                } else {
                    high || !self.is_high
                };
                let over = inside - lets_in > self.tolerance_mm;
                // from outside it gets one base width in; from inside it never gets out
                let along = match (span.from <= 0.0, at_end) {
                    (true, _) => edge,
                    (false, true) => span.from * length + edge,
                    (false, false) => span.from * length,
                };
                (stops && over).then_some((along, String::new()))
            });
        first(blocks).map(|(along, _)| along)
    }

    /// How far along a line that blocks sight stops the string: where it crosses, unless gun or
    /// target is drawn up to that place, or it is a bridge, ford or gap.
    fn line_blocks(&self, string: &Path, line: &GroundLine) -> Option<f64> {
        if !line.kind.blocks_sight || self.is_high {
            return None;
        }
        let near = |place: Point, ground: &Footprint| {
            distance_point_footprint_mm(place, ground) <= self.tolerance_mm
        };
        crossings(string, &line.course)
            .iter()
            .filter(|contact| contact.kind == ContactKind::Crosses)
            .filter(|contact| !near(contact.at, &self.gun) && !near(contact.at, &self.target))
            .find(|contact| !is_in_span(line, contact.along_mm))
            .map(|contact| contact.share * string.length_mm())
    }
}

/// How far along a straight string enters a block; `None` when it runs no more than the
/// tolerance inside it. A string along an edge, within EPS of it, is outside.
fn enters(string: &Path, block: &Footprint, tolerance_mm: f64) -> Option<f64> {
    let (from, to) = (block.local(string.start()), block.local(string.end()));
    let length = string.length_mm();
    let (mut begins, mut ends) = (0.0, 1.0);
    for (from, to, half) in [
        (from.0, to.0, block.half_frontage - EPS_MM),
        (from.1, to.1, block.half_depth - EPS_MM),
    ] {
        let step = to - from;
        if step.abs() < NOTHING {
            if from.abs() > half {
                return None;
            }
            continue;
        }
        let (one, other) = ((-half - from) / step, (half - from) / step);
        begins = larger(begins, smaller(one, other));
        ends = smaller(ends, larger(one, other));
    }
    ((ends - begins) * length > tolerance_mm).then_some(begins * length)
}
