//! Which laws came to bear in a battle, and how often.

use std::collections::{BTreeMap, BTreeSet};

use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

use fieldpost_rules::game::{BattleReport, Cause, Event, Game};
use fieldpost_rules::orders::UnitId;
use fieldpost_rules::referee::{breaking, command, zones};
use fieldpost_rules::verdict::rounding::UNSEEN;
use fieldpost_rules::verdict::{Code, MoveVerdict, Ruling, SheetVerdict};

use super::{Fought, manner_of, side_fought};

macro_rules! laws {
    ($($(#[$doc:meta])* $name:ident $key:literal $words:literal,)*) => {
        /// Something a law does, in the order in which a player turn meets it.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Law {
            $($(#[$doc])* $name,)*
        }

        impl Law {
            /// Every law that is counted.
            pub const ALL: [Self; [$($key),*].len()] = [$(Self::$name),*];

            /// The law as programs see it.
            #[must_use]
            pub fn key(self) -> &'static str {
                match self { $(Self::$name => $key,)* }
            }

            /// What is counted, in words.
            #[must_use]
            pub fn words(self) -> &'static str {
                match self { $(Self::$name => $words,)* }
            }
        }
    };
}

laws! {
    /// A unit moved.
    Moves "moves" "units moved",
    /// A unit began its turn in an enemy halt zone.
    BegunInZone "begun-in-halt-zone" "began in an enemy halt zone",
    /// A unit came into an enemy halt zone that it did not start in.
    HaltZoneMet "halt-zones-met" "halt zones met",
    /// A unit moved over ground that costs more.
    SlowGround "slow-ground" "moves over slow ground",
    /// A unit moved along a road.
    Roads "roads" "moves along a road",
    /// A line was charged for.
    LinesCharged "lines-charged" "lines crossed at a charge",
    /// A line was crossed at no charge.
    LinesFree "lines-free" "lines crossed free",
    /// A move kept a limit only by the tolerance.
    Marginal "marginal" "moves within the tolerance",
    /// A unit moved out of command.
    MovedOutOfCommand "moved-out-of-command" "moves out of command",
    /// A unit came onto the table.
    Arrivals "arrivals" "arrivals",
    /// A locked unit broke contact.
    Withdrawals "withdrawals" "withdrawals",
    /// A unit left over an exit.
    Exits "exits" "departures over an exit",
    /// A battle was fought.
    Battles "battles" "battles fought",
    /// Guns bombarded in a battle.
    Bombardments "bombardments" "battles with a bombardment",
    /// Guns fired without a battle to join.
    GunFire "gun-fire" "guns firing alone",
    /// Something multiplied strength.
    Multiplied "multiplied" "strengths multiplied",
    /// Something shifted the column.
    Shifted "shifted" "columns shifted",
    /// A declared battle came to nothing.
    Lapsed "lapsed" "battles that came to nothing",
    /// A unit fell back.
    FallsBack "falls-back" "falls back",
    /// A unit that fell back had to turn off straight away.
    FanUsed "fan-used" "falls back off straight away",
    /// A friend was pushed.
    Pushes "pushes" "friends pushed",
    /// A winner followed up.
    FollowsUp "follows-up" "follows up",
    /// A unit in order was thrown into disorder.
    Disordered "disordered" "units disordered",
    /// A unit shed its disorder.
    Recovered "recovered" "units in order again",
    /// A unit lost its last base.
    LastBase "last-base" "units destroyed to the last base",
    /// A result eliminated a unit.
    Eliminated "eliminated" "units eliminated",
    /// A unit was surrounded.
    Surrounded "surrounded" "units surrounded",
    /// A unit had no way open to fall back.
    NoWayOpen "no-way-open" "units with no way open",
    /// A unit was driven off the table.
    OffTable "off-table" "units driven off the table",
    /// A commander was taken.
    CommandersLost "commanders-lost" "commanders lost",
    /// A side's losses broke its army.
    ArmiesBroken "armies-broken" "armies broken",
    /// A target that guns looked at was not in sight.
    OutOfSight "out-of-sight" "targets out of sight",
}

/// How often each law came to bear.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Uses([u32; Law::ALL.len()]);

impl Default for Uses {
    fn default() -> Self {
        Self([0; Law::ALL.len()])
    }
}

impl Uses {
    /// How often one did.
    #[must_use]
    pub fn of(&self, law: Law) -> u32 {
        self.0[law as usize]
    }

    fn add(&mut self, law: Law, times: usize) {
        let times = u32::try_from(times).unwrap_or(u32::MAX);
        let count = &mut self.0[law as usize];
        *count = count.saturating_add(times);
    }
}

impl Serialize for Uses {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(Law::ALL.len()))?;
        for law in Law::ALL {
            map.serialize_entry(law.key(), &self.of(law))?;
        }
        map.end()
    }
}

/// How a side's command held.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct CommandKept {
    pub(super) unit_turns: u32,
    pub(super) out_of_command: u32,
}

/// A battle being counted.
#[derive(Debug)]
pub(super) struct Tally {
    player_turns: u64,
    command: [CommandKept; 2],
    /// Units of the moving side that began their turn in an enemy halt zone.
    in_zone: BTreeSet<UnitId>,
    /// Units in disorder: its countdown is told by the same event that throws a unit into it.
    in_disorder: BTreeSet<UnitId>,
    /// Whose army is broken.
    broken: [bool; 2],
    laws: Uses,
    columns: Vec<u32>,
    heads: Vec<String>,
    outcomes: BTreeMap<String, u32>,
    refused: BTreeMap<Code, u32>,
}

impl Tally {
    pub(super) fn of(game: &Game) -> Self {
        let columns = &game.ruleset().results.columns;
        Self {
            player_turns: 0,
            command: [CommandKept::default(); 2],
            in_zone: BTreeSet::new(),
            in_disorder: BTreeSet::new(),
            broken: [false; 2],
            laws: Uses::default(),
            columns: vec![0; columns.len()],
            heads: columns.iter().map(ToString::to_string).collect(),
            outcomes: BTreeMap::new(),
            refused: BTreeMap::new(),
        }
    }

    /// Before a player turn is played.
    pub(super) fn turn_begins(&mut self, game: &Game, refused: &BTreeMap<Code, u32>) {
        self.player_turns += 1;
        self.in_zone.clear();
        let side = game.player();
        for unit in game.on_table().filter(|unit| unit.side == side) {
            if is_in_zone(game, &unit.id) {
                self.in_zone.insert(unit.id.clone());
                self.laws.add(Law::BegunInZone, 1);
            }
            if unit.has_strength() {
                let kept = &mut self.command[side];
                kept.unit_turns += 1;
                kept.out_of_command += u32::from(!command::link(game, unit).in_command);
            }
        }
        for (code, times) in refused {
            *self.refused.entry(*code).or_default() += times;
            if *code == Code::NotInSight {
                self.laws.add(Law::OutOfSight, *times as usize);
            }
        }
    }

    /// After an event has been applied.
    pub(super) fn happened(&mut self, after: &Game, event: &Event) {
        match event {
            Event::SheetAccepted { verdict, .. } => self.moved(after, verdict),
            Event::Arrived { unit, .. } => {
                self.laws.add(Law::Arrivals, 1);
                if is_in_zone(after, unit) {
                    self.laws.add(Law::HaltZoneMet, 1);
                }
            }
            Event::Left { .. } => self.laws.add(Law::Exits, 1),
            Event::Withdrew { .. } => self.laws.add(Law::Withdrawals, 1),
            Event::BattleFought { report } => self.fought_out(report),
            Event::BattleLapsed { .. } => self.laws.add(Law::Lapsed, 1),
            Event::FellBack {
                turned_deg, pushed, ..
            } => {
                self.laws.add(Law::FallsBack, 1);
                self.laws
                    .add(Law::FanUsed, usize::from(turned_deg.abs() >= UNSEEN));
                self.laws.add(Law::Pushes, pushed.len());
            }
            Event::Removed { cause, .. } => self.laws.add(removal(*cause), 1),
            Event::FollowedUp { .. } => self.laws.add(Law::FollowsUp, 1),
            Event::Disordered { unit, turns: 0 } => {
                self.in_disorder.remove(unit);
                self.laws.add(Law::Recovered, 1);
            }
            Event::Disordered { unit, .. } => {
                let is_new = self.in_disorder.insert(unit.clone());
                self.laws.add(Law::Disordered, usize::from(is_new));
            }
            // what players, clocks and umpires do is no law of the table
            _ => {}
        }
        for side in [0, 1] {
            if !self.broken[side] && breaking::is_broken(after, side) {
                self.broken[side] = true;
                self.laws.add(Law::ArmiesBroken, 1);
            }
        }
    }

    fn moved(&mut self, after: &Game, verdict: &SheetVerdict) {
        for moved in verdict.moves.iter().filter(|moved| !moved.legs.is_empty()) {
            self.laws.add(Law::Moves, 1);
            if is_in_zone(after, &moved.unit) && !self.in_zone.contains(&moved.unit) {
                self.laws.add(Law::HaltZoneMet, 1);
            }
            let marginal = moved.verdict == Ruling::Marginal;
            self.laws.add(Law::Marginal, usize::from(marginal));
            self.laws
                .add(Law::MovedOutOfCommand, usize::from(!moved.in_command));
            self.over_ground(moved);
        }
    }

    fn over_ground(&mut self, moved: &MoveVerdict) {
        let pieces = || moved.legs.iter().flat_map(|leg| &leg.pieces);
        let slow = pieces().any(|piece| piece.rate > 1.0);
        let road = pieces().any(|piece| piece.ground == "road");
        self.laws.add(Law::SlowGround, usize::from(slow));
        self.laws.add(Law::Roads, usize::from(road));
        let lines = || moved.legs.iter().flat_map(|leg| &leg.lines);
        let free = lines().filter(|line| line.free.is_some()).count();
        self.laws.add(Law::LinesFree, free);
        self.laws.add(Law::LinesCharged, lines().count() - free);
    }

    fn fought_out(&mut self, report: &BattleReport) {
        let alone = report.attackers.is_empty();
        if !alone {
            self.laws.add(Law::Battles, 1);
        }
        if !report.guns.is_empty() {
            let law = if alone {
                Law::GunFire
            } else {
                Law::Bombardments
            };
            self.laws.add(law, 1);
        }
        let multiplied = report.shifts.iter().any(|shift| shift.factor != 1.0);
        let shifted = report.column != report.column_before_shifts;
        self.laws.add(Law::Multiplied, usize::from(multiplied));
        self.laws.add(Law::Shifted, usize::from(shifted));
        if let Some(column) = self.heads.iter().position(|head| *head == report.column) {
            self.columns[column] += 1;
        }
        *self.outcomes.entry(report.outcome.clone()).or_default() += 1;
    }

    /// The count of a battle that is over.
    pub(super) fn fought(self, game: &Game, number: u64) -> Fought {
        let winner = game.ending().and_then(|ending| ending.winner.as_ref());
        Fought {
            number,
            first: 0,
            winner: winner.and_then(|side| game.side_index(side)),
            manner: manner_of(game),
            player_turns: self.player_turns,
            sides: [0, 1].map(|side| side_fought(game, side, self.command[side])),
            laws: self.laws,
            columns: self.columns,
            outcomes: self.outcomes,
            refused: self.refused,
        }
    }
}

fn removal(cause: Cause) -> Law {
    match cause {
        Cause::NoBasesLeft => Law::LastBase,
        Cause::Eliminated => Law::Eliminated,
        Cause::Surrounded => Law::Surrounded,
        Cause::NoWayOpen => Law::NoWayOpen,
        Cause::OffTable => Law::OffTable,
        Cause::CommanderTaken => Law::CommandersLost,
        Cause::Exited => Law::Exits,
    }
}

fn is_in_zone(game: &Game, unit: &UnitId) -> bool {
    let unit = game.unit(unit);
    let Some((unit, ground)) = unit.and_then(|unit| Some((unit, unit.footprint()?))) else {
        return false;
    };
    zones::zoned_enemies(game, unit.side)
        .any(|(_, enemy)| zones::is_in_halt_zone(game.ruleset(), &enemy, &ground))
}
