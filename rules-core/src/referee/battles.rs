//! Declared battles fought, in the sheet's order, each to its end before the next.

use std::collections::BTreeSet;

use crate::dice::Throws;
use crate::game::{BattleReport, Cause, Event, Game, Standing, Unit};
use crate::orders::{Hand, Instruction, Instructions, Order, TurnSheet, UnitId};

use super::outcomes::{self, Field};
use super::parties::{self, Parties};
use super::{odds, strength};

/// What came of a sheet's battles.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Fought {
    /// Everything that happened, already applied to the game.
    pub events: Vec<Event>,
    /// What each unit of the waiting side that was asked had been told, in the order of asking.
    pub asked: Vec<Standing>,
}

/// Fights the battles and gun fire of an accepted sheet on the table after its moves. Every
/// event is applied to the game as it is made. Wishes of the moving side stand in its sheet,
/// those of the waiting side in its standing instructions.
pub fn fight(
    game: &mut Game,
    sheet: &TurnSheet,
    standing: &Instructions,
    throws: &mut Throws,
) -> Fought {
    let side = game.side_index(&sheet.side).unwrap_or(game.player());
    let mut fight = Fight {
        game,
        sheet,
        standing,
        throws,
        side,
        fought: Fought::default(),
        engaged: BTreeSet::new(),
    };
    for (index, order) in sheet.orders.iter().enumerate() {
        if let Some(named) = Parties::named(order) {
            fight.order(index, order, &named);
        }
    }
    fight.fought
}

/// A sheet's battles under way.
pub(crate) struct Fight<'a> {
    pub(crate) game: &'a mut Game,
    sheet: &'a TurnSheet,
    standing: &'a Instructions,
    throws: &'a mut Throws,
    /// Index of the moving side.
    side: usize,
    fought: Fought,
    /// Units behind an attacked one that have shared in a battle.
    engaged: BTreeSet<UnitId>,
}

impl Fight<'_> {
    fn order(&mut self, index: usize, order: &Order, named: &Parties) {
        let present = match parties::present(self.game, named, self.side) {
            Ok(present) => present,
            Err(why) => {
                self.happen(Event::BattleLapsed { order: index, why });
                return;
            }
        };
        if let Some((guns, why)) = present.silent {
            let (order, why) = (index, why.to_owned());
            self.happen(Event::GunsSilent { order, guns, why });
        }
        let parties = present.parties;
        let mut taken = parties::named_elsewhere(self.sheet, index);
        taken.extend(self.engaged.iter().cloned());
        let parties = parties.with_supports(self.game, &taken);
        if !parties.fire {
            self.engaged.extend(parties.supports.iter().cloned());
        }
        let follow_up = match order {
            Order::Battle { follow_up, .. } => follow_up.as_ref(),
            _ => None,
        };
        let mut field = Field::of(self.game, &parties);
        if self.is_commander_alone(&parties) {
            self.happen(Event::CommandersAttacked {
                order: index,
                attackers: parties.attackers.clone(),
                guns: parties.guns.clone(),
                commanders: parties.defenders(),
            });
            for commander in parties.defenders() {
                self.remove(&commander, Cause::CommanderTaken);
                field.vacate(commander);
            }
        } else {
            let outcome = self.throw_for(index, &parties);
            outcomes::carry_out(self, &parties, &outcome, &mut field);
        }
        if !parties.fire {
            outcomes::follow_up(self, &parties, follow_up, &field);
        }
    }

    /// Commanders attacked with no troops beside them are taken without a throw.
    fn is_commander_alone(&self, parties: &Parties) -> bool {
        parties
            .defenders()
            .iter()
            .all(|id| self.game.unit(id).is_some_and(Unit::is_commander))
    }

    /// Weighs the battle, throws for it and reports it; gives the outcome.
    fn throw_for(&mut self, index: usize, parties: &Parties) -> crate::ruleset::Outcome {
        let weighed = strength::weigh(self.game, parties);
        let results = &self.game.ruleset().results;
        let throw = self.throws.counted();
        let label = BattleReport::label(index);
        let dice = self
            .throws
            .throw(&label, results.dice.count, results.dice.faces);
        let total = dice.iter().fold(0u32, |sum, die| sum.saturating_add(*die));
        let (name, outcome) = odds::outcome(results, total, weighed.column);
        let report = BattleReport {
            order: index,
            attackers: parties.attackers.clone(),
            defenders: parties.defenders(),
            guns: parties.guns.clone(),
            attack: weighed.attack,
            defence: weighed.defence,
            shifts: weighed.shifts,
            column_before_shifts: odds::head(results, weighed.before),
            column: odds::head(results, weighed.column),
            throw,
            dice,
            total,
            outcome: name,
        };
        self.happen(Event::BattleFought { report });
        outcome
    }

    /// Applies an event and keeps it.
    pub(crate) fn happen(&mut self, event: Event) {
        self.game.apply(&event);
        self.fought.events.push(event);
    }

    /// Removes a unit that is still on the table.
    pub(crate) fn remove(&mut self, unit: &UnitId, cause: Cause) {
        if self
            .game
            .unit(unit)
            .is_some_and(crate::game::Unit::is_on_table)
        {
            let unit = unit.clone();
            self.happen(Event::Removed { unit, cause });
        }
    }

    /// The side a unit gives ground to first: as its sheet says for the moving side, as it had
    /// been told for the waiting side, which is then recorded.
    pub(crate) fn gives_way(&mut self, unit: &UnitId) -> Option<Hand> {
        if self.is_waiting(unit) {
            return self.ask(unit).give_way;
        }
        self.sheet
            .orders
            .iter()
            .rev()
            .find_map(|order| match order {
                Order::GiveWay { unit: named, side } if named == unit => Some(*side),
                _ => None,
            })
    }

    /// What a waiting unit had been told; recorded the first time it is asked.
    pub(crate) fn ask(&mut self, unit: &UnitId) -> Instruction {
        let instruction = self.standing.of(unit);
        if self.fought.asked.iter().all(|asked| asked.unit != *unit) {
            self.fought.asked.push(Standing {
                unit: unit.clone(),
                instruction,
            });
        }
        instruction
    }

    fn is_waiting(&self, unit: &UnitId) -> bool {
        self.game
            .unit(unit)
            .is_some_and(|unit| unit.side != self.side)
    }
}
