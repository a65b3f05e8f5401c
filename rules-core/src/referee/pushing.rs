//! Making room: friends in the way of one that gives ground are pushed the same way.

use crate::game::{Game, Push};
use crate::geometry::{
    ARITHMETIC_MM, Block, EPS_MM, Footprint, Motion, Placement, Pose, TOUCH_MM, Vector,
    signed_distance_mm, smaller, spans_within,
};
use crate::orders::UnitId;

use super::open_ground::Bars;
use super::snap::settle;
use super::ties::farthest_first;

/// Slack in turn of rounding to stored poses: none; then, for a block squeezed between others,
/// up to what storing can do.
const SLACKS_MM: [f64; 4] = [ARITHMETIC_MM, EPS_MM, 2.0 * EPS_MM, TOUCH_MM];
/// Shifts that differ by less are one shift, in millimetres: each of the two ends may have been rounded by
/// a quantum.
const SAME_SHIFT_MM: f64 = 2.0 * EPS_MM;
/// The most that rounding of those before may push a block on, in millimetres: what storing can do to each
/// of the two, with as much again for a push at a slant.
const SMALL_STEP_MM: f64 = 4.0 * TOUCH_MM;

/// One unit of the side that gives ground.
struct Piece {
    id: UnitId,
    pose: Pose,
    placement: Placement,
    block: Block,
    start: Footprint,
    /// How far it goes along the common direction, in millimetres.
    shift_mm: f64,
    goes: bool,
}

impl Piece {
    fn at(&self, along: Vector) -> Footprint {
        self.start.shifted(along * self.shift_mm)
    }
}

/// One unit giving ground in one direction, with the friends it pushes.
pub(crate) struct Shove {
    /// Where it ends.
    pub to: Pose,
    /// Friends pushed, in the order in which they were.
    pub pushed: Vec<Push>,
}

/// The units of one side, ready to try directions with.
pub(crate) struct Ranks<'a> {
    game: &'a Game,
    bars: Bars<'a>,
    /// The one that gives ground comes first.
    pieces: Vec<Piece>,
    /// Places of those that go, in the order in which they were pushed.
    order: Vec<usize>,
}

impl<'a> Ranks<'a> {
    /// `None` when the unit is not on the table.
    pub(crate) fn of(game: &'a Game, unit: &UnitId) -> Option<Self> {
        let side = game.unit(unit)?.side;
        let mut pieces: Vec<Piece> = game
            .on_table()
            .filter(|other| other.side == side)
            .filter_map(|other| {
                let pose = other.pose()?;
                Some(Piece {
                    id: other.id.clone(),
                    pose,
                    placement: pose.placement(),
                    block: other.block(),
                    start: other.footprint()?,
                    shift_mm: 0.0,
                    goes: false,
                })
            })
            .collect();
        let first = pieces.iter().position(|piece| piece.id == *unit)?;
        pieces.swap(0, first);
        Some(Self {
            game,
            bars: Bars::of(game, side),
            pieces,
            order: Vec::new(),
        })
    }

    /// The ground the unit covers.
    pub(crate) fn loser(&self) -> &Footprint {
        &self.pieces[0].start
    }

    /// The facing of the unit.
    pub(crate) fn facing(&self) -> Vector {
        self.pieces[0].placement.ahead
    }

    /// Sends the unit `distance_mm` along a unit direction; `None` when the way is blocked.
    pub(crate) fn shove(&mut self, along: Vector, distance_mm: f64) -> Option<Shove> {
        if self.bars.block(self.loser(), along * distance_mm) {
            return None;
        }
        for piece in &mut self.pieces {
            piece.shift_mm = 0.0;
            piece.goes = false;
        }
        self.pieces[0].shift_mm = distance_mm;
        self.pieces[0].goes = true;
        self.order = vec![0];
        self.make_room(along)?;
        let blocked = |piece: &Piece| self.bars.block(&piece.start, along * piece.shift_mm);
        if self.pieces[1..]
            .iter()
            .any(|piece| piece.goes && blocked(piece))
        {
            return None;
        }
        self.settle_all(along)
    }

    /// Pushes friends until nobody is in the way of anybody. All go along one direction, and a
    /// push takes one just clear ahead of a block that goes farther, so nobody goes farther than
    /// the loser and it ends; the bound is for crowds that no table holds.
    fn make_room(&mut self, along: Vector) -> Option<()> {
        for _ in 0..self.pieces.len().saturating_mul(16) + 64 {
            let Some((pusher, pushed)) = self.pair_in_the_way(along) else {
                return Some(());
            };
            let further = self.way_clear_mm(pusher, pushed, along)?;
            let piece = &mut self.pieces[pushed];
            piece.shift_mm += further;
            if !piece.goes {
                piece.goes = true;
                self.order.push(pushed);
            }
        }
        None
    }

    /// The first pair of which one is in the way of the other, as (pusher, pushed); of pushers
    /// the one that goes farthest comes first.
    fn pair_in_the_way(&self, along: Vector) -> Option<(usize, usize)> {
        let sweeps = !self.game.ruleset().movement.pass_friends;
        let goes = |&index: &usize| (self.pieces[index].shift_mm, index);
        let pushers = farthest_first(self.order.iter().map(goes).collect());
        pushers.into_iter().find_map(|pusher| {
            (0..self.pieces.len())
                .find(|&other| self.is_in_the_way(pusher, other, along, sweeps))
                .map(|pushed| (pusher, pushed))
        })
    }

    /// Of two blocks that both go along one direction, only the one that goes less far can be in
    /// the way of the other. Where friends may be passed through, it is when they would end
    /// overlapped; where they may not, also when it is met on the way.
    fn is_in_the_way(&self, pusher: usize, pushed: usize, along: Vector, sweeps: bool) -> bool {
        let (one, other) = (&self.pieces[pusher], &self.pieces[pushed]);
        let farther_mm = one.shift_mm - other.shift_mm;
        if pusher == pushed || farther_mm <= 0.0 {
            return false;
        }
        let deepest = self.deepest_mm(pusher, pushed) - EPS_MM;
        if sweeps {
            let motion = Motion::Straight {
                by: along * farther_mm,
            };
            !spans_within(&one.start, &motion, &other.start, deepest).is_empty()
        } else {
            signed_distance_mm(&one.at(along), &other.at(along)) < deepest
        }
    }

    /// Two friends may overlap as deep as they did (within the tolerance), no deeper.
    fn deepest_mm(&self, one: usize, other: usize) -> f64 {
        smaller(
            signed_distance_mm(&self.pieces[one].start, &self.pieces[other].start),
            0.0,
        )
    }

    /// How much farther the pushed one must go to be clear ahead of the pusher.
    fn way_clear_mm(&self, pusher: usize, pushed: usize, along: Vector) -> Option<f64> {
        let standing = self.pieces[pusher].at(along);
        let going = self.pieces[pushed].at(along);
        let deepest = self.deepest_mm(pusher, pushed);
        clear_ahead_mm(&going, &standing, along, deepest)
    }

    /// Rounds every end to a stored pose that keeps all limits.
    fn settle_all(&self, along: Vector) -> Option<Shove> {
        let mut settled: Vec<(usize, Pose, Footprint)> = Vec::new();
        for &index in &self.order {
            let (pose, ground) = self.settle_one(index, along, &settled)?;
            settled.push((index, pose, ground));
        }
        let mut ends = settled.into_iter();
        let (_, to, _) = ends.next()?;
        let pushed = ends
            .map(|(index, pose, ground)| Push {
                unit: self.pieces[index].id.clone(),
                from: self.pieces[index].pose,
                to: is_on_table(self.game, &ground).then_some(pose),
            })
            .collect();
        Some(Shove { to, pushed })
    }

    fn settle_one(
        &self,
        index: usize,
        along: Vector,
        settled: &[(usize, Pose, Footprint)],
    ) -> Option<(Pose, Footprint)> {
        let piece = &self.pieces[index];
        let mut shift_mm = piece.shift_mm;
        // Those before it may have been rounded forward by a micrometre or two; where no small
        // step ahead makes up for that, the choice of a neighbouring pose has to.
        for (other, _, ground) in settled {
            let deepest = self.deepest_mm(*other, index);
            let going = piece.start.shifted(along * shift_mm);
            if signed_distance_mm(&going, ground) < deepest {
                let step = clear_ahead_mm(&going, ground, along, deepest);
                shift_mm += step.filter(|step| *step < SMALL_STEP_MM).unwrap_or(0.0);
            }
        }
        let limits = self.bars.limits(&piece.start);
        let placement = piece.placement.shifted(along * shift_mm);
        let clear = |pose: &Pose, slack_mm: f64| {
            let end = Footprint::new(&pose.placement(), piece.block);
            self.bars.keeps(&limits, &end, slack_mm)
                && self.keeps_off_friends(index, &end, settled, slack_mm)
        };
        // Blocks that go equally far go by the same whole displacement, so that they stand to each
        // other as before.
        let alike = settled.iter().filter_map(|(other, end, _)| {
            let other = &self.pieces[*other];
            let is_alike = (other.shift_mm - piece.shift_mm).abs() < SAME_SHIFT_MM;
            is_alike
                .then(|| displaced(piece.pose, other.pose, *end))
                .flatten()
        });
        let pose = alike
            .into_iter()
            .find(|pose| clear(pose, ARITHMETIC_MM))
            .or_else(|| {
                SLACKS_MM
                    .into_iter()
                    .find_map(|slack_mm| settle(&placement, |pose| clear(pose, slack_mm)))
            })?;
        Some((pose, Footprint::new(&pose.placement(), piece.block)))
    }

    fn keeps_off_friends(
        &self,
        index: usize,
        end: &Footprint,
        settled: &[(usize, Pose, Footprint)],
        slack_mm: f64,
    ) -> bool {
        let apart = |other: usize, ground: &Footprint| {
            let distance = signed_distance_mm(end, ground);
            distance >= 0.0 || distance >= self.deepest_mm(index, other) - slack_mm
        };
        let standing = (0..self.pieces.len()).filter(|&other| !self.pieces[other].goes);
        standing
            .into_iter()
            .all(|other| apart(other, &self.pieces[other].start))
            && settled
                .iter()
                .all(|(other, _, ground)| apart(*other, ground))
    }
}

/// A pose displaced as another went from one place to another.
fn displaced(pose: Pose, from: Pose, to: Pose) -> Option<Pose> {
    let shift = |at: i32, from: i32, to: i32| at.checked_add(to.checked_sub(from)?);
    Some(Pose {
        x_um: shift(pose.x_um, from.x_um, to.x_um)?,
        y_um: shift(pose.y_um, from.y_um, to.y_um)?,
        ..pose
    })
}

/// Whether a block stands on the table, within the tolerance.
pub(crate) fn is_on_table(game: &Game, ground: &Footprint) -> bool {
    game.ground().table.margin_mm(ground) >= -game.ruleset().scale.tolerance_mm
}

/// How far a block must go along a direction to overlap another that lies there no deeper than
/// `deepest_mm`; `None` when it does not overlap it that way.
fn clear_ahead_mm(
    going: &Footprint,
    standing: &Footprint,
    along: Vector,
    deepest_mm: f64,
) -> Option<f64> {
    // farther than the two can reach each other, and never nothing
    let far = (going.centre.distance_to(standing.centre) + going.reach() + standing.reach()) + 1.0;
    let motion = Motion::Straight { by: along * far };
    spans_within(going, &motion, standing, deepest_mm)
        .last()
        .map(|span| span.to * far)
        .filter(|further| *further > 0.0)
}
