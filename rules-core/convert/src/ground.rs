//! Ground and time: what a base and a turn stand for, from handbooks' marches and fronts.

use serde::Serialize;

use super::board::{Board, BoardTroops, Counter};
use super::handbook::{Gait, METRES_PER_YARD};
use super::planned::PlannedUnit;
use fieldpost_rules::ruleset::Arm;

/// Ground and time scale, and what troops make of them.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GroundAndTime {
    /// Ground of one hex in metres, when it is known.
    pub hex_m: Option<f64>,
    /// Metres of ground to a millimetre of table.
    pub metres_per_mm: Option<f64>,
    /// Where the ground scale comes from.
    pub ground_from: String,
    /// Length of a game turn in minutes, when it is known.
    pub minutes: Option<f64>,
    /// Where the length of a turn comes from.
    pub minutes_from: String,
    /// What each troop type marches in a turn.
    pub marches: Vec<March>,
    /// Fronts of men against fronts of bases.
    pub fronts: Vec<Front>,
}

/// What a troop type marches in a turn.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct March {
    /// The troop type.
    pub troops: String,
    /// How it marches.
    pub gait: Gait,
    /// Metres a minute at that gait.
    pub metres_per_minute: f64,
    /// Where that rate is published.
    pub source: &'static str,
    /// Ground covered in a turn over clear hexes, in metres.
    pub turn_m: f64,
    /// Minutes that it takes at that gait.
    pub minutes: f64,
    /// Share of the turn that is spent marching, when the turn's length is known.
    pub share: Option<f64>,
    /// Movement points with which the whole turn would be spent marching.
    pub movement_points_of_a_full_turn: Option<f64>,
}

/// The front of one unit's men against the front of its bases.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Front {
    /// The unit.
    pub unit: String,
    /// Its men.
    pub men: f64,
    /// Front of its men in ranks, in metres.
    pub men_m: f64,
    /// Ground that its bases' front covers, in metres.
    pub bases_m: f64,
}

/// Works out ground and time; what is not given is found from fronts and marches.
pub(super) fn ground_and_time(board: &Board, units: &[PlannedUnit], hex_mm: f64) -> GroundAndTime {
    let (hex_m, ground_from) = hex_ground(board, units, hex_mm);
    let (minutes, minutes_from) = turn_length(board, hex_m);
    let metres_per_mm = hex_m.map(|metres| metres / hex_mm);
    let marches = hex_m.map_or_else(Vec::new, |hex_m| {
        board
            .troops
            .iter()
            .map(|(name, troops)| march(board, name, troops, hex_m, minutes))
            .collect()
    });
    let fronts = metres_per_mm.map_or_else(Vec::new, |scale| {
        units
            .iter()
            .filter_map(|unit| front(board, unit, scale))
            .collect()
    });
    GroundAndTime {
        hex_m,
        metres_per_mm,
        ground_from,
        minutes,
        minutes_from,
        marches,
        fronts,
    }
}

/// A hex in metres: as given, or from the front of the strongest unit whose men are counted.
fn hex_ground(board: &Board, units: &[PlannedUnit], hex_mm: f64) -> (Option<f64>, String) {
    if let Some(metres) = board.map.hex_m {
        return (Some(metres), "the size of a hex, as given".to_owned());
    }
    if let Some(yards) = board.map.hex_yards {
        return (
            Some(yards * METRES_PER_YARD),
            "the size of a hex, as given in yards of 0.9144 m".to_owned(),
        );
    }
    let counted = units
        .iter()
        .filter_map(|unit| Some((unit, men_front_m(board, &unit.counter)?)))
        .max_by(|a, b| a.0.counter.strength.total_cmp(&b.0.counter.strength));
    match counted {
        Some((unit, men_m)) => (
            Some(men_m / unit.front_mm * hex_mm),
            format!(
                "the front of {}: {:.0} men in {} ranks at {} m a file (Balck, Tactics, 1915, tables 0.70 to 0.85 m)",
                unit.counter.name,
                men(board, &unit.counter).unwrap_or(0.0),
                ranks_of_men(board, &unit.counter),
                board.laying.file_m
            ),
        ),
        None => (
            None,
            "unknown: give hex_m or hex_yards, or men_per_strength of a troop type".to_owned(),
        ),
    }
}

/// A turn in minutes: as given, or the march of the slowest foot (of anyone, without foot).
fn turn_length(board: &Board, hex_m: Option<f64>) -> (Option<f64>, String) {
    if let Some(minutes) = board.turns.minutes {
        return (Some(minutes), "as given".to_owned());
    }
    let Some(hex_m) = hex_m else {
        return (None, "unknown without a ground scale".to_owned());
    };
    let moving = |arm: Option<Arm>| {
        board
            .troops
            .iter()
            .filter(move |(_, troops)| arm.is_none_or(|arm| troops.arm == arm))
            .filter(|(_, troops)| troops.movement_points > 0.0)
            .min_by(|a, b| a.1.movement_points.total_cmp(&b.1.movement_points))
    };
    let Some((name, troops)) = moving(Some(Arm::Foot)).or_else(|| moving(None)) else {
        return (None, "unknown: nobody moves".to_owned());
    };
    let march = march(board, name, troops, hex_m, None);
    (
        Some(march.minutes),
        format!(
            "the march of {name}: {:.0} m at {:.1} m a minute ({}, {})",
            march.turn_m,
            march.metres_per_minute,
            march.gait.words(),
            march.source
        ),
    )
}

fn march(
    board: &Board,
    name: &str,
    troops: &BoardTroops,
    hex_m: f64,
    minutes: Option<f64>,
) -> March {
    let gait = troops.gait();
    let rate = gait.metres_per_minute();
    let point_m = hex_m / board.turns.clear_hex;
    let turn_m = troops.movement_points * point_m;
    March {
        troops: name.to_owned(),
        gait,
        metres_per_minute: rate,
        source: gait.source(),
        turn_m,
        minutes: turn_m / rate,
        share: minutes.map(|minutes| turn_m / rate / minutes),
        movement_points_of_a_full_turn: minutes.map(|minutes| minutes * rate / point_m),
    }
}

fn front(board: &Board, unit: &PlannedUnit, metres_per_mm: f64) -> Option<Front> {
    Some(Front {
        unit: unit.counter.name.clone(),
        men: men(board, &unit.counter)?,
        men_m: men_front_m(board, &unit.counter)?,
        bases_m: unit.front_mm * metres_per_mm,
    })
}

/// Men that a counter stands for, where the author says how many.
fn men(board: &Board, counter: &Counter) -> Option<f64> {
    let troops = board.troops.get(&counter.troops)?;
    let men = troops.men_per_strength? * counter.strength;
    (men > 0.0).then_some(men)
}

fn ranks_of_men(board: &Board, counter: &Counter) -> u32 {
    let troops = board.troops.get(&counter.troops);
    troops.map_or(1, |troops| troops.ranks_of_men.max(1))
}

/// Front of a counter's foot in ranks, in metres; a file's width is known for foot only.
fn men_front_m(board: &Board, counter: &Counter) -> Option<f64> {
    let foot = board.troops.get(&counter.troops)?.arm == Arm::Foot;
    let files = men(board, counter)? / f64::from(ranks_of_men(board, counter));
    foot.then_some(files * board.laying.file_m)
}
