//! Probing: where single legs of one unit may end, with the limits, charges and locks of the walk
//! but without ledgers and reasons, so that hundreds of legs can be tried.

use std::f64::consts::TAU;
use std::rc::Rc;

use crate::game::{Game, Unit};
use crate::geometry::{
    Block, EPS_MM, Footprint, Motion, Path, Placement, Span, Vector, larger, signed_distance_mm,
    smaller, spans_within, without,
};
use crate::orders::{Extent, Hand, Leg};
use crate::ruleset::{ChargeLines, ZoneExit};

use super::lines::{Chain, Lines};
use super::outlook::{Outlook, Sector, seen_at};
use super::purse::{Purse, SUM_MM, used_up};
use super::slack::{ARITHMETIC_MM, JUDGED_MM};
use super::standing::Near;
use super::steps::{self, Step};
use super::surroundings::Region;
use super::sweep::Sweep;
use super::tally::{Laid, LegCharges};
use super::tapes::own;
use super::walk::Walk;
use super::{Movement, Purpose, Surroundings, TurnStart};

/// What stopped a run, to tell neighbouring runs apart: a limit's number, or one of these.
const NOTHING: u32 = u32::MAX;
const ALLOWANCE: u32 = u32::MAX - 1;
const LOCK: u32 = u32::MAX - 2;

/// One unit that might make a leg, perhaps after one that lifted its figures.
pub(in crate::referee) struct Probe<'a> {
    walk: Walk<'a>,
    /// All that its moves can come near; the walk has of it what matters to one leg.
    around: Rc<Surroundings<'a>>,
    /// The unit as it stands before the legs to be tried.
    here: Stance,
    /// Friends it may pass through but not end on.
    friends: Vec<Footprint>,
    /// Enemies whose halt zone it may not leave.
    locked_by: Vec<Near<'a>>,
    /// Tape of the one forward leg that is always allowed.
    minimum_mm: Option<f64>,
    /// The least terrain rate of any patch, 1 at most.
    least_rate: f64,
}

/// A unit between two legs.
#[derive(Debug, Clone)]
pub(in crate::referee) struct Stance {
    pub(in crate::referee) placement: Placement,
    spent_mm: f64,
    /// Whether it has paid for leaving halt zones.
    exit_paid: bool,
    /// Lines that it has paid for.
    lines_paid: Vec<usize>,
}

/// A straight leg to be tried.
#[derive(Debug, Clone, Copy)]
pub(in crate::referee) struct Course {
    /// Unit vector of the way it goes.
    pub(in crate::referee) along: Vector,
    /// Charge per millimetre on open ground.
    pub(in crate::referee) rate: f64,
    /// Whether it is the one forward leg that may always be made.
    pub(in crate::referee) minimum: bool,
}

/// A leg of a fan: its angle, and what may matter at which.
#[derive(Debug, Clone, Copy)]
pub(in crate::referee) struct View<'a> {
    pub(in crate::referee) outlook: &'a Outlook,
    pub(in crate::referee) angle_rad: f64,
}

#[cfg(test)]
impl View<'_> {
    /// How many things may matter.
    pub(in crate::referee) fn count(&self) -> usize {
        let View { outlook, angle_rad } = self;
        let things = [
            &outlook.limits,
            &outlook.friends,
            &outlook.patches,
            &outlook.lines,
        ];
        let distinct = |seen| {
            let mut places: Vec<usize> = seen_at(seen, *angle_rad).collect();
            places.dedup();
            places.len()
        };
        things.map(distinct).iter().sum()
    }
}

/// Where a straight leg may end.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::referee) struct Run {
    /// Stretches of its tape, in millimetres from its start, sorted and disjoint.
    pub(in crate::referee) stretches: Vec<(f64, f64)>,
    /// What stopped it in the end.
    pub(in crate::referee) stop: u32,
}

/// The wheels to one side that are legal.
pub(in crate::referee) struct Wheels<'a> {
    /// The unit as it stands.
    from: Stance,
    /// The widest of them, in radians.
    pub(in crate::referee) widest_rad: f64,
    /// The wheel all about, and what it would cost but for lines: every other is a part of it.
    full: Laid,
    charges: LegCharges<'a>,
    /// What is about it, where lines matter.
    at_lines: Option<Rc<Surroundings<'a>>>,
    first_base: bool,
}

impl Wheels<'_> {
    /// The unit after one of them.
    pub(in crate::referee) fn by(&self, angle_rad: f64) -> Stance {
        let share = angle_rad / TAU;
        let tape_mm = self.full.tape.length_mm() * share;
        let exit = self.charges.exit.filter(|exit| exit.at_mm <= tape_mm);
        let mut stance = Stance {
            placement: self.full.motion.placement_at(&self.from.placement, share),
            exit_paid: self.from.exit_paid || exit.is_some(),
            ..self.from.clone()
        };
        stance.spent_mm += exit.map_or(0.0, |exit| exit.charge_mm);
        for piece in &self.charges.pieces {
            stance.spent_mm += piece.to_place_mm(tape_mm);
        }
        if let Some(around) = &self.at_lines {
            let part = self.full.part(share);
            let lines = strictly_along(around, self.first_base, &self.from, &part);
            stance.spent_mm += lines.total_mm();
            stance.lines_paid = lines.paid();
        }
        stance
    }
}

/// What a leg does at lines where the tolerance grants nothing.
fn strictly_along<'a>(
    around: &Surroundings<'a>,
    first_base: bool,
    from: &Stance,
    leg: &Laid,
) -> Lines<'a> {
    let mut lines = Lines::new(first_base, 0.0, &from.lines_paid);
    lines.sweep(around, leg.chain, &leg.swept());
    lines.take_up(around);
    lines
}

impl<'a> Probe<'a> {
    /// A probe of a unit on the table, as if its side's turn began now, after a leg that lifts
    /// its figures if there is one. `None` when that leg is not legal, or the unit does not stand.
    pub(in crate::referee) fn begin(
        game: &'a Game,
        unit: &Unit,
        lift: Option<Leg>,
    ) -> Option<Self> {
        let forward = Leg::Forward {
            distance_mm: Extent::UpTo(0.0),
        };
        let legs = [lift.unwrap_or(forward)];
        let movement = Movement {
            order: 0,
            units: &[unit],
            legs: &legs,
            purpose: Purpose::March,
        };
        let around = Rc::new(Surroundings::everything(game, &movement));
        let mut walk = Walk::begin(game, &TurnStart::of_unit(game, unit), &movement, around)?;
        if let Some(lift) = &lift {
            walk.leg(0, lift);
        }
        walk.settle_spending();
        if !walk.found.is_empty() {
            return None;
        }
        let minimum_mm = walk.granted_mm.take();
        let placement = walk.body.members[0].placement();
        let tally = walk.tallies.first()?;
        let mut probe = Self {
            here: Stance {
                placement,
                spent_mm: tally.strict_total_mm(&walk.around),
                exit_paid: !tally.exit.may_be_due(),
                lines_paid: tally.lines.paid(),
            },
            friends: Vec::new(),
            locked_by: locked_by(&walk),
            minimum_mm,
            least_rate: least_rate(game),
            around: Rc::default(),
            walk,
        };
        probe.keep_what_is_near(game, unit);
        Some(probe)
    }

    /// Leaves out every limit and friend that no leg could come near.
    fn keep_what_is_near(&mut self, game: &'a Game, unit: &Unit) {
        let footprint = self.footprint(&self.here);
        let travel_mm = self.travel_mm();
        self.walk.limits[0].retain(|limit| !limit.is_beyond(&footprint, travel_mm));
        let region = Region {
            centre: footprint.centre,
            radius_mm: footprint.reach() + travel_mm,
        };
        self.around = Rc::new(Surroundings::within(game, &[&unit.id], &region));
        self.walk.around = Rc::clone(&self.around);
        if game.ruleset().movement.pass_friends {
            let units = self.around.units.iter();
            self.friends = units
                .filter(|(other, _)| other.side == unit.side)
                .map(|(_, friend)| *friend)
                .collect();
        }
    }

    /// The farthest that its moves may carry its middle, in millimetres.
    pub(in crate::referee) fn travel_mm(&self) -> f64 {
        let movement = &self.walk.game.ruleset().movement;
        let cheapest = [movement.back, movement.sidestep, movement.oblique]
            .into_iter()
            .fold(movement.forward, smaller);
        // a wheel carries the middle at most across the circle it goes round on
        self.longest_mm(&self.here, cheapest) + 2.0 * self.footprint(&self.here).reach()
    }

    /// The unit as it stands before the legs to be tried.
    pub(in crate::referee) fn here(&self) -> Stance {
        self.here.clone()
    }

    /// Its block.
    pub(in crate::referee) fn block(&self) -> Block {
        self.walk.body.members[0].block
    }

    /// Whether it was in command as the turn began.
    pub(in crate::referee) fn in_command(&self) -> bool {
        self.walk.in_command[0]
    }

    /// What it may spend in all.
    pub(in crate::referee) fn allowance_mm(&self) -> f64 {
        self.walk.allowance_mm
    }

    /// The longest tape a straight leg can have, in millimetres.
    pub(in crate::referee) fn longest_mm(&self, from: &Stance, rate: f64) -> f64 {
        let table = &self.walk.game.ground().table;
        let across_mm = Vector::new(table.width_mm, table.depth_mm).length();
        let purse_mm = larger(self.walk.allowance_mm - from.spent_mm, 0.0);
        let lasts_mm = purse_mm / (rate * self.least_rate);
        let longest_mm = if lasts_mm < across_mm {
            lasts_mm
        } else {
            across_mm
        };
        self.minimum_mm
            .map_or(longest_mm, |least_mm| larger(longest_mm, least_mm))
    }

    /// Everything that it can come near, as what may matter to any leg.
    pub(in crate::referee) fn everything(&self) -> Outlook {
        Outlook::everything(&self.walk.limits[0], &self.friends, &self.around)
    }

    /// What may matter to the legs of a sector that begin with a stance.
    pub(in crate::referee) fn outlook(&self, from: &Stance, sector: &Sector) -> Outlook {
        if self.is_held(from) {
            return self.everything();
        }
        Outlook::of(sector, &self.walk.limits[0], &self.friends, &self.around)
    }

    /// Leaves of all ground what may matter to a leg; whether any may charge more than open ground.
    fn look(&mut self, view: &View<'_>) -> bool {
        let View { outlook, angle_rad } = view;
        let ground = Rc::make_mut(&mut self.walk.around);
        ground.patches.clear();
        let patches = seen_at(&outlook.patches, *angle_rad);
        ground
            .patches
            .extend(patches.map(|at| self.around.patches[at]));
        ground.lines.clear();
        for at in seen_at(&outlook.lines, *angle_rad) {
            let line = self.around.lines[at];
            // its legs are seen one by one
            if ground.lines.last().is_none_or(|last| last.0 != line.0) {
                ground.lines.push(line);
            }
        }
        !ground.patches.is_empty() || !ground.lines.is_empty()
    }

    /// The wheels to a side that are legal; `None` when there are none.
    pub(in crate::referee) fn wheels(&mut self, side: Hand) -> Option<Wheels<'a>> {
        if !self.locked_by.is_empty() {
            return None;
        }
        self.walk.around.clone_from(&self.around);
        let moving = self.footprint(&self.here);
        let sweep = self.full_wheel(side)?;
        let full = own(0, &self.walk.body.members[0], &sweep);
        let (charges, lines) = self.charges(&self.here, &full);
        // up to the limit itself, as far as *up to* goes: what is judged is left for the leg after it
        let kept = self.walk.limits[0]
            .iter()
            .filter_map(|limit| limit.kept_to(&moving, &full.motion, ARITHMETIC_MM))
            .fold(1.0, smaller);
        let lasts = self.lasts_to(&self.here, &charges, &lines, None);
        let no_lines = lines.reached.is_empty() && self.here.lines_paid.is_empty();
        Some(Wheels {
            from: self.here.clone(),
            widest_rad: smaller(kept, lasts) * TAU,
            full,
            charges,
            at_lines: (!no_lines).then(|| Rc::clone(&self.around)),
            first_base: self.is_first_base(),
        })
    }

    fn is_first_base(&self) -> bool {
        self.walk.game.ruleset().movement.charge_lines == ChargeLines::FirstBase
    }

    /// What a leg costs that begins with a stance, among what may matter to it.
    fn charges(&self, from: &Stance, leg: &Laid) -> (LegCharges<'a>, Lines<'a>) {
        let (walk, around) = (&self.walk, &self.walk.around);
        let lines = strictly_along(around, self.is_first_base(), from, leg);
        let exit = walk.tallies.first().map(|tally| &tally.exit);
        let exit = exit.filter(|_| !from.exit_paid);
        let charges = LegCharges::of(walk.game.ruleset(), around, exit, leg);
        (charges, lines)
    }

    /// The share of a leg to which the allowance lasts.
    fn lasts_to(
        &self,
        from: &Stance,
        charges: &LegCharges<'a>,
        lines: &Lines<'a>,
        granted_mm: Option<f64>,
    ) -> f64 {
        let purse = Purse {
            allowance_mm: self.walk.allowance_mm - from.spent_mm,
            granted_mm,
            slack_mm: SUM_MM,
        };
        let legs = std::slice::from_ref(charges);
        used_up(legs, &lines.reached, &purse).map_or(1.0, |spot| spot.along_mm / charges.length_mm)
    }

    fn full_wheel(&self, side: Hand) -> Option<Sweep> {
        let leg = Leg::Wheel {
            side,
            angle_deg: Extent::AsFarAsAllowed,
        };
        match steps::step(&leg, &self.walk.body, self.walk.bases, self.walk.game) {
            Ok(Step::Sweep(sweep)) => Some(sweep),
            _ => None,
        }
    }

    fn footprint(&self, stance: &Stance) -> Footprint {
        Footprint::new(&stance.placement, self.block())
    }

    /// Where a straight leg may end.
    pub(in crate::referee) fn straight(
        &mut self,
        from: &Stance,
        course: &Course,
        view: &View<'_>,
    ) -> Run {
        let moving = self.footprint(from);
        let charged = self.look(view);
        let longest_mm = self.longest_mm(from, course.rate);
        if longest_mm < EPS_MM {
            return self.stays(&moving, ALLOWANCE, view);
        }
        let by = course.along * longest_mm;
        let anchor = moving.anchor();
        let sweep = Sweep {
            motion: Motion::Straight { by },
            tape: Path::Straight {
                from: anchor,
                to: anchor + by,
            },
            rate: course.rate,
        };
        let limit = self.first_limit(&moving, &sweep, view);
        let dry = if charged || course.minimum || self.is_held(from) {
            self.lasts(from, &moving, &sweep, course)
        } else {
            self.lasts_in_the_open(from, course, longest_mm)
        };
        let (to, stop) = if dry.0 < limit.0 { dry } else { limit };
        if to <= 0.0 {
            return self.stays(&moving, stop, view);
        }
        let ends = without(
            &[Span::new(0.0, to)],
            &self.on_friends(&moving, &sweep.motion, view),
        );
        let stretches = ends
            .iter()
            .map(|span| (span.from * longest_mm, span.to * longest_mm))
            .collect();
        Run { stretches, stop }
    }

    /// The run of a leg that goes nowhere: it may stand where it is unless that is on a friend.
    fn stays(&self, moving: &Footprint, stop: u32, view: &View<'_>) -> Run {
        let stretches = if self.is_clear_of_friends(moving, view) {
            vec![(0.0, 0.0)]
        } else {
            Vec::new()
        };
        Run { stretches, stop }
    }

    fn is_clear_of_friends(&self, footprint: &Footprint, view: &View<'_>) -> bool {
        !seen_at(&view.outlook.friends, view.angle_rad)
            .any(|at| signed_distance_mm(footprint, &self.friends[at]) < -EPS_MM)
    }

    fn on_friends(&self, moving: &Footprint, motion: &Motion, view: &View<'_>) -> Vec<Span> {
        let mut taken = Vec::new();
        for at in seen_at(&view.outlook.friends, view.angle_rad) {
            taken.extend(spans_within(moving, motion, &self.friends[at], -EPS_MM));
        }
        crate::geometry::merged(taken)
    }

    /// The last share of a straight leg that keeps every limit, and the number of the one it meets.
    fn first_limit(&self, moving: &Footprint, sweep: &Sweep, view: &View<'_>) -> (f64, u32) {
        let mut stop = (1.0, NOTHING);
        for at in seen_at(&view.outlook.limits, view.angle_rad) {
            let limit = &self.walk.limits[0][at];
            if let Some(share) = limit.kept_to(moving, &sweep.motion, JUDGED_MM)
                && share < stop.0
            {
                stop = (share, u32::try_from(at).unwrap_or(NOTHING));
            }
        }
        stop
    }

    /// Whether halt zones it began in may keep it, or make it pay.
    fn is_held(&self, from: &Stance) -> bool {
        !self.locked_by.is_empty() || !from.exit_paid
    }

    /// The share of a straight leg to which the allowance lasts where nothing charges more than open ground.
    fn lasts_in_the_open(&self, from: &Stance, course: &Course, longest_mm: f64) -> (f64, u32) {
        let left_mm = self.walk.allowance_mm - from.spent_mm;
        let lasts_mm = larger(left_mm, 0.0) / course.rate;
        (smaller(lasts_mm / longest_mm, 1.0), ALLOWANCE)
    }

    /// The share of a straight leg to which the allowance lasts, or to which halt zones let it go.
    fn lasts(
        &self,
        from: &Stance,
        moving: &Footprint,
        sweep: &Sweep,
        course: &Course,
    ) -> (f64, u32) {
        let leg = Laid {
            number: 0,
            chain: Chain::Straight,
            moving: *moving,
            motion: sweep.motion,
            tape: sweep.tape,
            rate: sweep.rate,
        };
        let (charges, lines) = self.charges(from, &leg);
        let granted_mm = self.minimum_mm.filter(|_| course.minimum);
        let purse = self.lasts_to(from, &charges, &lines, granted_mm);
        let free = self.locked_to(moving, sweep);
        if free < purse {
            (free, LOCK)
        } else {
            (purse, ALLOWANCE)
        }
    }

    /// How far a locked unit may go: as long as it gets no farther from any of those enemies, and stays in their zones.
    fn locked_to(&self, moving: &Footprint, sweep: &Sweep) -> f64 {
        self.locked_by
            .iter()
            .map(|near| near.stops_at(moving, &sweep.motion))
            .fold(1.0, smaller)
    }
}

/// Enemies in whose halt zone it began, where that locks it.
fn locked_by<'a>(walk: &Walk<'a>) -> Vec<Near<'a>> {
    if walk.game.ruleset().zones.zone_exit != ZoneExit::Locked {
        return Vec::new();
    }
    walk.standings[0].began_in().copied().collect()
}

fn least_rate(game: &Game) -> f64 {
    let patches = game.ground().patches.iter();
    patches.map(|patch| patch.kind.rate).fold(1.0, smaller)
}
