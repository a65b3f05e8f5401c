//! Making room: friends in the way of one that gives ground are pushed the same way.

use crate::game::{Game, Push};
use crate::geometry::{
    Block, EPS_MM, Footprint, Motion, Placement, Pose, Vector, signed_distance_mm, smaller,
    spans_within,
};
use crate::orders::UnitId;

use super::open_ground::Bars;
use super::snap::settle;
use super::zones::TOUCH_MM;

/// Slack in turn of rounding to stored poses: none; then, for a block squeezed between
/// others, up to what the geometry calls touching.
const SLACKS_MM: [f64; 4] = [1e-9, EPS_MM, 2.0 * EPS_MM, TOUCH_MM];

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
    /// Friends pushed, nearest to it first.
    pub pushed: Vec<Push>,
}

/// The units of one side, ready to try directions with.
pub(crate) struct Ranks<'a> {
    game: &'a Game,
    bars: Bars<'a>,
    /// The one that gives ground comes first.
    pieces: Vec<Piece>,
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

    /// Pushes friends until nobody is in the way of anybody. Each push takes one of a pair
    /// clear of the other, so it ends; a bound keeps crowds that would not from going on.
    fn make_room(&mut self, along: Vector) -> Option<()> {
        for _ in 0..self.pieces.len().saturating_mul(8) + 8 {
            let Some((pusher, pushed)) = self.pair_in_the_way(along) else {
                return Some(());
            };
            let further = self.way_clear_mm(pusher, pushed, along)?;
            self.pieces[pushed].shift_mm += further;
            self.pieces[pushed].goes = true;
        }
        None
    }

    /// The first pair of which one is in the way of the other, as (pusher, pushed). Of two that
    /// both go, the one farther along the direction is pushed; the loser never is.
    fn pair_in_the_way(&self, along: Vector) -> Option<(usize, usize)> {
        let sweeps = !self.game.ruleset().movement.pass_friends;
        for pusher in (0..self.pieces.len()).filter(|&index| self.pieces[index].goes) {
            for pushed in 1..self.pieces.len() {
                if pushed == pusher || !self.is_in_the_way(pusher, pushed, along, sweeps) {
                    continue;
                }
                let farther = |index: usize| {
                    let ground = self.pieces[index].at(along);
                    Vector::new(ground.centre.x, ground.centre.y).dot(along)
                };
                let swap =
                    pusher != 0 && self.pieces[pushed].goes && farther(pusher) > farther(pushed);
                return Some(if swap {
                    (pushed, pusher)
                } else {
                    (pusher, pushed)
                });
            }
        }
        None
    }

    /// Where friends may be passed through, one is in the way when it would end overlapped;
    /// where they may not, also when it is met on the way. Both then go along one direction, so
    /// what counts is how much farther the pusher goes.
    fn is_in_the_way(&self, pusher: usize, pushed: usize, along: Vector, sweeps: bool) -> bool {
        let (one, other) = (&self.pieces[pusher], &self.pieces[pushed]);
        let deepest = self.deepest_mm(pusher, pushed) - EPS_MM;
        let farther_mm = one.shift_mm - other.shift_mm;
        if sweeps {
            let motion = Motion::Straight {
                by: along * farther_mm,
            };
            farther_mm > 0.0 && !spans_within(&one.start, &motion, &other.start, deepest).is_empty()
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
        let mut order: Vec<usize> = (0..self.pieces.len())
            .filter(|&index| self.pieces[index].goes)
            .collect();
        // stable: the loser stays first, then those it reaches first
        order[1..].sort_by(|&a, &b| {
            let place = |index: usize| {
                let ground = self.pieces[index].at(along);
                Vector::new(ground.centre.x, ground.centre.y).dot(along)
            };
            place(a).total_cmp(&place(b))
        });
        let mut settled: Vec<(usize, Pose, Footprint)> = Vec::new();
        for index in order {
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
        // those before it may have been rounded forward by a micrometre or two
        for (other, _, ground) in settled {
            let deepest = self.deepest_mm(*other, index);
            let going = piece.start.shifted(along * shift_mm);
            if signed_distance_mm(&going, ground) < deepest {
                shift_mm += clear_ahead_mm(&going, ground, along, deepest).unwrap_or(0.0);
            }
        }
        let limits = self.bars.limits(&piece.start);
        let placement = piece.placement.shifted(along * shift_mm);
        let clear = |pose: &Pose, slack_mm: f64| {
            let end = Footprint::new(&pose.placement(), piece.block);
            self.bars.keeps(&limits, &end, slack_mm)
                && self.keeps_off_friends(index, &end, settled, slack_mm)
        };
        SLACKS_MM.into_iter().find_map(|slack_mm| {
            let pose = settle(&placement, |pose| clear(pose, slack_mm))?;
            Some((pose, Footprint::new(&pose.placement(), piece.block)))
        })
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
    let far = (going.centre.distance_to(standing.centre) + going.reach() + standing.reach()) + 1.0;
    let motion = Motion::Straight { by: along * far };
    spans_within(going, &motion, standing, deepest_mm)
        .last()
        .map(|span| span.to * far)
        .filter(|further| *further > 0.0)
}
