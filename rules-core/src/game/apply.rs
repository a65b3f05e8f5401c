//! Applying events: the only way a game changes.

use super::{Cause, Ending, Event, Game, LinesPaid, State};
use crate::geometry::Pose;
use crate::orders::{SideId, UnitId};
use crate::verdict::SheetVerdict;

impl Game {
    /// The game after an event. Events come from the referee or a checked record; one that names
    /// what does not exist changes nothing, so that folding never fails.
    pub fn apply(&mut self, event: &Event) {
        self.events_seen += 1;
        match event {
            Event::Opened { laws, .. } | Event::LawsChanged { laws } => self.laws = *laws,
            Event::SeatTaken { .. }
            | Event::UmpireSeated { .. }
            | Event::UmpireAccepted { .. }
            | Event::SeatFreed { .. }
            | Event::KeyAdded { .. }
            | Event::KeyRemoved { .. }
            | Event::KeyReplaced { .. }
            | Event::KeyCountersigned { .. }
            | Event::SecretsRenewed { .. }
            | Event::InstructionsCleared { .. }
            | Event::InstructionsChanged { .. }
            | Event::BattleLapsed { .. }
            | Event::GunsSilent { .. }
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
            Event::BattleFought { report } => {
                self.note_active(&report.attackers);
                self.note_active(&report.defenders);
                self.note_active(&report.guns);
            }
            Event::CommandersAttacked {
                attackers, guns, ..
            } => {
                self.note_active(attackers);
                self.note_active(guns);
            }
            Event::SheetAccepted { verdict, .. } => self.carry_out(verdict),
            Event::Arrived { unit, pose } => {
                self.arrive(unit, *pose);
                self.note_active(std::slice::from_ref(unit));
            }
            Event::Left { unit, points } => self.leave(unit, *points),
            Event::Withdrew { unit, lost, .. } => self.lose(unit, *lost),
            Event::Lost { unit, bases } => self.lose(unit, *bases),
            Event::FellBack {
                unit, to, pushed, ..
            } => {
                for push in pushed {
                    if let Some(to) = push.to {
                        self.moved(&push.unit, to);
                    }
                }
                self.moved(unit, *to);
            }
            Event::Removed { unit, cause } => self.remove(unit, *cause),
            Event::FollowedUp { unit, to, .. } => self.stand(unit, *to),
            Event::Disordered { unit, turns } => {
                self.units.change(unit, |unit| unit.disorder = *turns);
            }
            Event::PositionCorrected { unit, to, .. } => self.stand(unit, *to),
            Event::TurnClosed { holders, .. } => self.close_turn(holders),
            Event::GameEnded { ending, .. } => self.end(ending),
        }
    }

    /// Nobody of the side to move has moved or fought yet in its turn.
    fn settle(&mut self) {
        let player = self.player;
        self.units.change_all(|unit| {
            if unit.side == player {
                unit.moved_or_fought = false;
            }
        });
    }

    /// Who is ordered to move has moved, however far it came.
    fn carry_out(&mut self, verdict: &SheetVerdict) {
        self.settle();
        for moved in &verdict.moves {
            self.units.change(&moved.unit, |unit| {
                unit.moved_or_fought = !moved.legs.is_empty();
                unit.files = moved.files;
                unit.still_held_by.clone_from(&moved.still_held_by);
                if let Some(end) = moved.end_pose {
                    let paid = moved.lines_paid.clone();
                    unit.lines_paid = paid.map_or(LinesPaid::All, LinesPaid::Only);
                    if let State::Standing(pose) = &mut unit.state {
                        *pose = end;
                    }
                }
            });
        }
    }

    /// The table with a unit where an order would put it: for judging what follows in a sheet.
    /// Never part of a game's own history.
    pub(crate) fn suppose(&mut self, unit: &UnitId, state: State, files: u16) {
        self.units.change(unit, |unit| {
            unit.state = state;
            unit.files = files;
        });
    }

    /// Notes that these have moved or fought, whatever came of it.
    fn note_active(&mut self, units: &[UnitId]) {
        for unit in units {
            self.units.change(unit, |unit| unit.moved_or_fought = true);
        }
    }

    /// Who came onto the table, fell back or was pushed has moved.
    fn moved(&mut self, unit: &UnitId, pose: Pose) {
        self.stand(unit, pose);
        self.note_active(std::slice::from_ref(unit));
    }

    /// Puts a unit where it came by no move of its own: it owes nothing for the lines there, and what its last move
    /// left it in holds it no longer.
    fn stand(&mut self, unit: &UnitId, pose: Pose) {
        self.arrive(unit, pose);
        self.units.change(unit, |unit| {
            unit.lines_paid = LinesPaid::All;
            unit.still_held_by.clear();
        });
    }

    /// Puts a unit where its move onto the table ended; what lines it has paid for the sheet's verdict said.
    fn arrive(&mut self, unit: &UnitId, pose: Pose) {
        self.units
            .change(unit, |unit| unit.state = State::Standing(pose));
    }

    fn lose(&mut self, unit: &UnitId, bases: u16) {
        self.units
            .change(unit, |unit| unit.bases = unit.bases.saturating_sub(bases));
    }

    fn leave(&mut self, unit: &UnitId, points: f64) {
        let Some(side) = self.units.get(unit).map(|unit| unit.side) else {
            return;
        };
        self.exit_points[side] += points;
        self.remove(unit, Cause::Exited);
    }

    fn remove(&mut self, unit: &UnitId, cause: Cause) {
        self.units
            .change(unit, |unit| unit.state = State::Gone(cause));
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
