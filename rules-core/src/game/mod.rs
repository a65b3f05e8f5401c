//! The table and whose turn it is: the fold of a game's events. Nothing here measures.

mod apply;
mod clock;
mod event;
mod ground;
mod kind;
mod marks;
mod muster;
mod unit;

use std::sync::Arc;

use crate::geometry::Footprint;
use crate::orders::{SheetBounds, SideId, UnitId};
use crate::ruleset::Ruleset;
use crate::scenario::Scenario;

use muster::Muster;

pub use clock::{ClockFault, ClockRules, WhenOut};
pub use event::{
    BattleReport, Cause, DiceProof, Ending, Event, FORMAT, LAWS, OpenedInstructions, Push, Score,
    Shift, Standing,
};
pub use ground::{Ground, GroundFault, GroundLine, GroundPatch, GroundRoad, GroundSpan};
pub use marks::marks;
pub(crate) use unit::ranks_of;
pub use unit::{LinesPaid, State, Unit};

/// Everything about a battle that never changes once it is opened.
#[derive(Debug, Clone, PartialEq)]
pub struct Battlefield {
    /// The rules.
    pub ruleset: Ruleset,
    /// The scenario.
    pub scenario: Scenario,
    /// Its ground, ready to be measured on.
    pub ground: Ground,
}

/// A battle at one moment.
#[derive(Debug, Clone, PartialEq)]
pub struct Game {
    field: Arc<Battlefield>,
    units: Muster,
    game_turn: u32,
    player: usize,
    /// Points of the two sides from units that left over exits.
    exit_points: [f64; 2],
    /// Who last held each objective, by its place in the scenario.
    holders: Vec<Option<usize>>,
    ending: Option<Ending>,
    /// Version of the laws it is played under.
    laws: u32,
    events_seen: u64,
}

impl Game {
    /// The moment a battle opens: the first game turn, the first side to move.
    #[must_use]
    pub fn new(field: Arc<Battlefield>) -> Self {
        let scenario = &field.scenario;
        let side_of = |key: &str| scenario.side.iter().position(|side| side.key == key);
        let units = scenario
            .unit
            .iter()
            .filter_map(|entry| Unit::new(entry, &field.ruleset, side_of(&entry.side)?))
            .collect();
        let holders = scenario
            .objective
            .iter()
            .map(|objective| objective.held_by.as_deref().and_then(side_of))
            .collect();
        Self {
            units,
            holders,
            field,
            game_turn: 1,
            player: 0,
            exit_points: [0.0; 2],
            ending: None,
            laws: LAWS,
            events_seen: 0,
        }
    }

    /// Number of the player turn being played, from 1.
    #[must_use]
    pub fn player_turn(&self) -> u64 {
        u64::from(self.game_turn - 1) * 2 + if self.player == 0 { 1 } else { 2 }
    }

    /// The battlefield it is fought on.
    #[must_use]
    pub fn field(&self) -> &Battlefield {
        &self.field
    }

    /// The battlefield, to start the same battle from its beginning.
    #[must_use]
    pub fn shared_field(&self) -> Arc<Battlefield> {
        Arc::clone(&self.field)
    }

    /// The rules.
    #[must_use]
    pub fn ruleset(&self) -> &Ruleset {
        &self.field.ruleset
    }

    /// The scenario.
    #[must_use]
    pub fn scenario(&self) -> &Scenario {
        &self.field.scenario
    }

    /// The ground.
    #[must_use]
    pub fn ground(&self) -> &Ground {
        &self.field.ground
    }

    /// Every unit of both orders of battle, by id.
    pub fn units(&self) -> impl Iterator<Item = &Unit> {
        self.units.values()
    }

    /// Units that stand on the table, by id.
    pub fn on_table(&self) -> impl Iterator<Item = &Unit> {
        self.units.values().filter(|unit| unit.is_on_table())
    }

    /// Units that stand on the table, by id, each with the ground that it covers.
    pub fn grounds(&self) -> impl Iterator<Item = (&Unit, &Footprint)> {
        self.units.grounds()
    }

    /// A unit by its id.
    #[must_use]
    pub fn unit(&self, id: &UnitId) -> Option<&Unit> {
        self.units.get(id)
    }

    /// The game turn being played, from 1.
    #[must_use]
    pub fn game_turn(&self) -> u32 {
        self.game_turn
    }

    /// The game turn as it is told: the one being played; of a battle that is over, the last there was.
    #[must_use]
    pub fn told_turn(&self) -> u32 {
        if self.ending.is_some() {
            self.game_turn.min(self.scenario().game_turns)
        } else {
            self.game_turn
        }
    }

    /// Index of the side whose player turn it is.
    #[must_use]
    pub fn player(&self) -> usize {
        self.player
    }

    /// Key of the side whose player turn it is.
    #[must_use]
    pub fn player_side(&self) -> SideId {
        self.side_id(self.player)
    }

    /// Key of a side by its index.
    #[must_use]
    pub fn side_id(&self, index: usize) -> SideId {
        SideId(self.scenario().side[index % 2].key.clone())
    }

    /// Index of a side by its key.
    #[must_use]
    pub fn side_index(&self, side: &SideId) -> Option<usize> {
        self.scenario().side.iter().position(|s| s.key == side.0)
    }

    /// How much a sheet of a side may hold; of a side that there is not, as of the side to move.
    #[must_use]
    pub fn sheet_bounds(&self, side: &SideId) -> SheetBounds {
        let side = self.side_index(side).unwrap_or(self.player);
        let of_side = self.units().filter(|unit| unit.side == side).count();
        SheetBounds::of_units(of_side, self.units().count())
    }

    /// Points from exits so far, in the order of the scenario's sides.
    #[must_use]
    pub fn exit_points(&self) -> [f64; 2] {
        self.exit_points
    }

    /// Index of the side that holds each objective of the scenario.
    #[must_use]
    pub fn holders(&self) -> &[Option<usize>] {
        &self.holders
    }

    /// How the game ended, once it has.
    #[must_use]
    pub fn ending(&self) -> Option<&Ending> {
        self.ending.as_ref()
    }

    /// Version of the laws it is played under so far; another turn is played under [`LAWS`].
    #[must_use]
    pub fn laws(&self) -> u32 {
        self.laws
    }

    /// How many events have been applied.
    #[must_use]
    pub fn events_seen(&self) -> u64 {
        self.events_seen
    }
}
