//! Applying events: the only way a game changes.

use super::{BattleReport, Cause, Ending, Event, Game, LinesPaid, State};
use crate::geometry::Pose;
use crate::orders::{SideId, UnitId};
use crate::verdict::SheetVerdict;

impl Game {
    /// The game after an event. Events come from the referee or a checked record; one that names
    /// what does not exist changes nothing, so that folding never fails.
    pub fn apply(&mut self, event: &Event) {
        self.events_seen += 1;
        match event {
            Event::Opened { .. }
            | Event::SeatTaken { .. }
            | Event::InstructionsChanged { .. }
            | Event::BattleLapsed { .. }
            | Event::ClockSet { .. }
            | Event::ZoneSet { .. }
            | Event::LeaveTaken { .. }
            | Event::PauseAsked { .. }
            | Event::Paused { .. }
            | Event::Resumed { .. }
            | Event::DeadlineMoved { .. }
            | Event::TimeClaimed { .. }
            | Event::Conceded { .. }
            | Event::DisputeRaised { .. }
            | Event::RulingGiven { .. } => {}
            Event::TurnPassed { .. } => self.settle(),
            Event::BattleFought { report } => self.stir(report),
            Event::SheetAccepted { verdict, .. } => self.carry_out(verdict),
            Event::Arrived { unit, pose } => self.arrive(unit, *pose),
            Event::Left { unit, points } => self.leave(unit, *points),
            Event::Withdrew { unit, lost, .. } => self.lose(unit, *lost),
            Event::Lost { unit, bases } => self.lose(unit, *bases),
            Event::FellBack {
                unit, to, pushed, ..
            } => {
                for push in pushed {
                    if let Some(to) = push.to {
                        self.displace(&push.unit, to);
                    }
                }
                self.displace(unit, *to);
            }
            Event::Removed { unit, cause } => self.remove(unit, *cause),
            Event::FollowedUp { unit, to, .. } => self.displace(unit, *to),
            Event::Disordered { unit, turns } => {
                if let Some(unit) = self.units.get_mut(unit) {
                    unit.disorder = *turns;
                    unit.stirred = true;
                }
            }
            Event::PositionCorrected { unit, to, .. } => self.displace(unit, *to),
            Event::TurnClosed { holders, .. } => self.close_turn(holders),
            Event::GameEnded { ending, .. } => self.end(ending),
        }
    }

    /// Nobody of the side to move has stirred yet in its turn.
    fn settle(&mut self) {
        let player = self.player;
        for unit in self.units.values_mut().filter(|unit| unit.side == player) {
            unit.stirred = false;
        }
    }

    fn carry_out(&mut self, verdict: &SheetVerdict) {
        self.settle();
        for moved in &verdict.moves {
            let Some(unit) = self.units.get_mut(&moved.unit) else {
                continue;
            };
            unit.stirred = !moved.legs.is_empty();
            unit.files = moved.files;
            unit.still_held_by.clone_from(&moved.still_held_by);
            if let Some(end) = moved.end_pose {
                let paid = moved.lines_paid.clone();
                unit.lines_paid = paid.map_or(LinesPaid::All, LinesPaid::Only);
                if let State::Standing(pose) = &mut unit.state {
                    *pose = end;
                }
            }
            unit.keep_ground();
        }
    }

    /// The table with a unit where an order would put it: for judging what follows in a sheet.
    /// Never part of a game's own history.
    pub(crate) fn suppose(&mut self, unit: &UnitId, state: State, files: u16) {
        if let Some(unit) = self.units.get_mut(unit) {
            unit.state = state;
            unit.files = files;
            unit.keep_ground();
        }
    }

    /// Who fought has not stood quietly, whatever came of it.
    fn stir(&mut self, report: &BattleReport) {
        let fought = report.attackers.iter().chain(&report.defenders);
        for unit in fought.chain(&report.guns) {
            if let Some(unit) = self.units.get_mut(unit) {
                unit.stirred = true;
            }
        }
    }

    /// Puts a unit where it came by no move of its own: it owes nothing for the lines there.
    fn stand(&mut self, unit: &UnitId, pose: Pose) {
        self.arrive(unit, pose);
        if let Some(unit) = self.units.get_mut(unit) {
            unit.lines_paid = LinesPaid::All;
        }
    }

    /// Puts a unit where its move onto the table ended; what lines it has paid for the sheet's verdict said.
    fn arrive(&mut self, unit: &UnitId, pose: Pose) {
        if let Some(unit) = self.units.get_mut(unit) {
            unit.state = State::Standing(pose);
            unit.stirred = true;
            unit.keep_ground();
        }
    }

    /// A unit is put elsewhere by no move of its own: what its last move left it in holds it no longer.
    fn displace(&mut self, unit: &UnitId, pose: Pose) {
        self.stand(unit, pose);
        if let Some(unit) = self.units.get_mut(unit) {
            unit.still_held_by.clear();
        }
    }

    fn lose(&mut self, unit: &UnitId, bases: u16) {
        if let Some(unit) = self.units.get_mut(unit) {
            unit.bases = unit.bases.saturating_sub(bases);
            unit.stirred = true;
            unit.keep_ground();
        }
    }

    fn leave(&mut self, unit: &UnitId, points: f64) {
        let Some(side) = self.units.get(unit).map(|unit| unit.side) else {
            return;
        };
        self.exit_points[side] += points;
        self.remove(unit, Cause::Exited);
    }

    fn remove(&mut self, unit: &UnitId, cause: Cause) {
        if let Some(unit) = self.units.get_mut(unit) {
            unit.state = State::Gone(cause);
        }
    }

    fn close_turn(&mut self, holders: &[Option<SideId>]) {
        self.holders = holders
            .iter()
            .map(|side| side.as_ref().and_then(|side| self.side_index(side)))
            .collect();
        self.player = 1 - self.player;
        if self.player == 0 {
            self.game_turn += 1;
        }
    }

    fn end(&mut self, ending: &Ending) {
        self.ending = Some(ending.clone());
    }
}
