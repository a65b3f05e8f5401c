//! A body on its way: what is known between two legs, and what each leg is asked.

use std::rc::Rc;

use crate::game::Game;
use crate::orders::{Leg, UnitId};
use crate::verdict::{Code, LegLedger, Reason, Ruling};

use super::body::{Body, Member};
use super::limits::{self, Limit};
use super::slack::ARITHMETIC_DEG;
use super::spending::{Begun, tally_of};
use super::standing::Standing;
use super::steps::{self, Step};
use super::sweep::Sweep;
use super::tally::Tally;
use super::{Movement, Purpose, Surroundings, TurnStart};

/// A reason with the member it concerns; all members when `None`.
pub(super) struct Found {
    pub(super) member: Option<usize>,
    pub(super) reason: Reason,
}

/// The last leg that swept, to find where an end on a friend could have been avoided.
pub(super) struct LastSweep {
    pub(super) leg: usize,
    pub(super) sweep: Sweep,
    pub(super) began: Vec<Member>,
}

/// A body on its way.
pub(super) struct Walk<'a> {
    pub(super) game: &'a Game,
    pub(super) side: usize,
    pub(super) purpose: Purpose,
    pub(super) bases: u16,
    pub(super) body: Body,
    pub(super) ids: Vec<UnitId>,
    /// What it can come near.
    pub(super) around: Rc<Surroundings<'a>>,
    /// The body as its move began.
    pub(super) began: Vec<Member>,
    pub(super) standings: Vec<Standing<'a>>,
    pub(super) limits: Vec<Vec<Limit<'a>>>,
    pub(super) in_command: Vec<bool>,
    pub(super) allowance_mm: f64,
    /// Tape ahead that is granted whatever it costs.
    pub(super) granted_mm: Option<f64>,
    /// For each member, what its tape is charged.
    pub(super) tallies: Vec<Tally<'a>>,
    /// Where each leg began.
    pub(super) begun: Vec<Begun>,
    /// Number of the order's last leg.
    pub(super) last_leg: usize,
    pub(super) ledgers: Vec<Vec<LegLedger>>,
    pub(super) found: Vec<Found>,
    pub(super) last_sweep: Option<LastSweep>,
}

impl<'a> Walk<'a> {
    pub(super) fn begin(
        game: &'a Game,
        turn: &TurnStart,
        movement: &Movement<'_>,
        around: Rc<Surroundings<'a>>,
    ) -> Option<Self> {
        let side = movement.units.first()?.side;
        let body = Body::of(movement)?;
        let members = &body.members;
        let ids: Vec<UnitId> = movement.units.iter().map(|unit| unit.id.clone()).collect();
        let in_command: Vec<bool> = ids.iter().map(|id| turn.in_command(id)).collect();
        let standings: Vec<Standing<'a>> = members
            .iter()
            .zip(movement.units)
            .zip(&in_command)
            .map(|((member, unit), in_command)| {
                let barred = !in_command || turn.broken;
                Standing::of(game, &around, unit, barred, &member.footprint())
            })
            .collect();
        let limits = members
            .iter()
            .zip(&standings)
            .map(|(member, standing)| {
                limits::limits_of(game, &around, side, standing, &member.footprint())
            })
            .collect();
        let mut walk = Self {
            game,
            side,
            purpose: movement.purpose,
            bases: movement.units[0].bases,
            allowance_mm: allowance_mm(game, movement, &in_command),
            last_leg: movement.legs.len().saturating_sub(1),
            granted_mm: Self::granted_mm(game, movement),
            tallies: movement
                .units
                .iter()
                .zip(members)
                .zip(&standings)
                .map(|((unit, member), standing)| {
                    tally_of(game, &around, movement, (unit, member), standing)
                })
                .collect(),
            begun: Vec::with_capacity(movement.legs.len()),
            began: body.members.clone(),
            ledgers: vec![Vec::with_capacity(movement.legs.len()); ids.len()],
            body,
            ids,
            around,
            standings,
            limits,
            in_command,
            found: Vec::new(),
            last_sweep: None,
        };
        walk.check_body();
        if let Purpose::Arrival(_) = movement.purpose {
            walk.check_set_down(0);
        }
        Some(walk)
    }

    pub(super) fn tolerance_mm(&self) -> f64 {
        self.game.ruleset().scale.tolerance_mm
    }

    /// Whether nothing has been found against the move yet.
    pub(super) fn is_legal_so_far(&self) -> bool {
        let mut rulings = self.found.iter().map(|found| found.reason.ruling());
        rulings.all(|ruling| ruling == Ruling::Legal)
    }

    /// Units that move together must face the same way.
    pub(super) fn check_body(&mut self) {
        const SAME_WAY_DEG: f64 = 1.0;
        let widest_deg = self.body.widest_angle_deg();
        if widest_deg > SAME_WAY_DEG + ARITHMETIC_DEG {
            let reason = Reason::angle_over(Code::AngleTooLarge, SAME_WAY_DEG, widest_deg, 0.0)
                .note("units that move together must face the same way");
            self.found.push(Found {
                member: None,
                reason,
            });
        }
    }

    pub(super) fn leg(&mut self, index: usize, leg: &Leg) {
        let rectangle = self.body.footprint();
        if let Some(reason) = steps::oblique_beyond(leg, &rectangle, self.game.ruleset()) {
            self.add(None, reason.at(self.leg_start(0, index)));
        }
        match steps::step(leg, &self.body, self.bases, self.game) {
            Err(reason) => {
                self.add(None, reason.at(self.leg_start(0, index)));
                self.spend_nothing();
                self.enter_ledger(leg, None, None);
            }
            Ok(Step::Sweep(sweep)) => self.sweep(index, leg, &sweep),
            Ok(Step::Lift { how, fixed_mm }) => self.lift(index, leg, how, fixed_mm),
        }
    }
}

/// What a body may spend: the least of its members' allowances.
fn allowance_mm(game: &Game, movement: &Movement<'_>, in_command: &[bool]) -> f64 {
    let ruleset = game.ruleset();
    let withdrawing = match (&ruleset.withdrawal, movement.purpose) {
        (Some(law), Purpose::Withdrawal) => law.allowance_share,
        _ => 1.0,
    };
    movement
        .units
        .iter()
        .zip(in_command)
        .map(|(unit, in_command)| {
            let points = unit
                .troop_type(ruleset)
                .map_or(0.0, |troops| troops.movement_points);
            let share = if *in_command {
                1.0
            } else {
                ruleset.command.out_of_command_share
            };
            points * ruleset.scale.movement_point_mm() * share * withdrawing
        })
        .fold(f64::INFINITY, crate::geometry::smaller)
}
