//! The whole conversion: sizes, distances, units, and what to be warned of.

use serde::Serialize;

use super::bases::{self, BaseChoice, Block, RoundingLoss};
use super::board::{Board, BoardTroops, Counter};
use super::error::ConvertError;
use super::ground::{GroundAndTime, ground_and_time};
use super::map::{TableNeeded, table_needed};
use super::placing::{Layout, PlacedUnit, lay_out};
use super::planned::PlannedUnit;
use super::rounding::Rounding;
use fieldpost_rules::geometry::smaller;
use fieldpost_rules::ruleset::Arm;

/// Share of the table's width above which a line is crowded, and below which it is thin
/// (common practice, no source).
const CROWDED: f64 = 0.8;
const THIN: f64 = 0.2;
/// Turns of walking, and share of the game, above which the walk is long (common practice, no
/// source).
const LONG_WALK: f64 = 4.0;
const LONG_SHARE: f64 = 1.0 / 3.0;
/// Change of a unit's strength above which rounding is coarse.
const COARSE: f64 = 0.25;
/// Base width below which bases are hard to handle, in millimetres (common practice, no source).
const SMALL_MM: f64 = 15.0;
/// Range of guns and reach of commanders in hexes, where the board game gives none.
const RANGE_HEXES: f64 = 2.0;
const COMMAND_HEXES: f64 = 5.0;

/// A board game laid out with bases of one width.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Plan {
    /// Width of a base in millimetres.
    pub base_width_mm: f64,
    /// The table it needs.
    pub table: TableNeeded,
    /// Strength points of one base.
    pub strength_per_base: f64,
    /// How bases are rounded.
    pub rounding: Rounding,
    /// What each way of rounding loses.
    pub losses: [RoundingLoss; 3],
    /// Other strengths of a base, for comparison.
    pub choices: Vec<BaseChoice>,
    /// Length of table that a movement point pays for on clear ground, in base widths.
    pub movement_point_bw: f64,
    /// The same in millimetres.
    pub movement_point_mm: f64,
    /// Depth of the halt zone in base widths; 0 when units need not stop.
    pub halt_zone_bw: f64,
    /// Depth of the strike zone in base widths.
    pub strike_zone_bw: f64,
    /// Every troop type.
    pub troops: Vec<Troops>,
    /// Every counter.
    pub units: Vec<PlannedUnit>,
    /// Every unit in its first place.
    pub placed: Vec<PlacedUnit>,
    /// Depth of each side's deployment from its own edge, in millimetres.
    pub deployment_mm: [f64; 2],
    /// The line that each side's units make.
    pub lines: [SideLine; 2],
    /// Game turns until lines that walk towards each other meet.
    pub turns_to_contact: Option<f64>,
    /// Ground and time scale.
    pub ground: GroundAndTime,
    /// What may spoil the game.
    pub warnings: Vec<Warning>,
}

/// A troop type on the table.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Troops {
    /// Its name.
    pub name: String,
    /// Its arm.
    pub arm: Arm,
    /// Movement points a turn.
    pub movement_points: f64,
    /// What they pay for on clear ground, in millimetres.
    pub move_mm: f64,
    /// Width of a base in base widths.
    pub width_bw: f64,
    /// Depth of a base in base widths.
    pub depth_bw: f64,
    /// Range of guns in base widths.
    pub range_bw: Option<f64>,
    /// Reach of a commander in base widths.
    pub command_bw: Option<f64>,
}

/// The line that a side's units make, standing side by side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SideLine {
    /// Name of the side.
    pub side: String,
    /// Units that fight.
    pub units: u32,
    /// Their bases.
    pub bases: u32,
    /// Their fronts together, in millimetres.
    pub front_mm: f64,
    /// Share of the table's width that this is.
    pub share: f64,
}

/// Something that may spoil the game.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Warning {
    /// A code for programs.
    pub code: &'static str,
    /// The warning in words, with its figures.
    pub text: String,
}

/// Lays out a board game with bases of a width in millimetres.
///
/// # Errors
/// A base or table out of bounds, unknown troops, or a side that does not fit.
pub fn convert(board: &Board, base_width_mm: f64) -> Result<Plan, ConvertError> {
    let per_hex = f64::from(board.laying.bases_per_hex);
    let table = table_needed(&board.map, board.laying.bases_per_hex, base_width_mm)?;
    let suggested = bases::suggested_strength(board);
    let strength_per_base = board.laying.strength_per_base.unwrap_or(suggested);
    let losses = bases::losses(board, strength_per_base);
    let rounding = board
        .laying
        .rounding
        .unwrap_or_else(|| bases::least(&losses));
    let movement_point_bw = per_hex / board.turns.clear_hex;
    let troops: Vec<Troops> = board
        .troops
        .iter()
        .map(|(name, troops)| troops_of(name, troops, per_hex, movement_point_bw * base_width_mm))
        .collect();
    let units = board
        .unit
        .iter()
        .map(|counter| {
            planned(
                board,
                counter,
                &troops,
                (strength_per_base, rounding),
                base_width_mm,
            )
        })
        .collect::<Result<Vec<_>, _>>()?;
    let layout = lay_out(board, &units, &table, base_width_mm)?;
    let ground = ground_and_time(board, &units, table.hex_mm);
    let mut plan = Plan {
        base_width_mm,
        strength_per_base,
        rounding,
        losses,
        choices: bases::choices(board),
        movement_point_bw,
        movement_point_mm: movement_point_bw * base_width_mm,
        halt_zone_bw: if board.zones.stops {
            per_hex / 2.0
        } else {
            0.0
        },
        strike_zone_bw: per_hex,
        lines: [0, 1].map(|side| line(board, &units, side, table.width_mm)),
        turns_to_contact: None,
        deployment_mm: layout.bands_mm,
        table,
        troops,
        units,
        ground,
        warnings: Vec::new(),
        placed: Vec::new(),
    };
    plan.turns_to_contact = turns_to_contact(&plan, &layout);
    plan.placed = layout.units;
    plan.warnings = warnings(board, &plan);
    Ok(plan)
}

/// Bases of foot are half as deep as wide, of horse and guns as deep, a commander's a small
/// square (common practice, no source).
fn troops_of(name: &str, troops: &BoardTroops, per_hex: f64, point_mm: f64) -> Troops {
    let (width_bw, depth_bw) = match troops.arm {
        Arm::Foot => (1.0, 0.5),
        Arm::Horse | Arm::Guns => (1.0, 1.0),
        Arm::Commander => (0.5, 0.5),
    };
    let hexes = |hexes: Option<f64>, usual: f64| hexes.unwrap_or(usual) * per_hex;
    Troops {
        name: name.to_owned(),
        arm: troops.arm,
        movement_points: troops.movement_points,
        move_mm: troops.movement_points * point_mm,
        width_bw,
        depth_bw,
        range_bw: (troops.arm == Arm::Guns).then(|| hexes(troops.range, RANGE_HEXES)),
        command_bw: (troops.arm == Arm::Commander).then(|| hexes(troops.command, COMMAND_HEXES)),
    }
}

fn planned(
    board: &Board,
    counter: &Counter,
    troops: &[Troops],
    (per_base, rounding): (f64, Rounding),
    base_width_mm: f64,
) -> Result<PlannedUnit, ConvertError> {
    let troops = troops
        .iter()
        .find(|troops| troops.name == counter.troops)
        .ok_or_else(|| ConvertError::UnknownTroops {
            unit: counter.name.clone(),
            troops: counter.troops.clone(),
        })?;
    let block = if troops.arm == Arm::Commander {
        Block {
            files: 1,
            ranks: 1,
            bases: 1,
        }
    } else {
        Block::of(rounding.bases(counter.strength, per_base), &board.laying)
    };
    Ok(PlannedUnit {
        counter: counter.clone(),
        side: usize::from(
            board
                .side
                .first()
                .is_none_or(|side| side.key != counter.side),
        ),
        arm: troops.arm,
        block,
        front_mm: f64::from(block.files) * troops.width_bw * base_width_mm,
        depth_mm: f64::from(block.ranks) * troops.depth_bw * base_width_mm,
    })
}

fn line(board: &Board, units: &[PlannedUnit], side: usize, width_mm: f64) -> SideLine {
    let mut line = SideLine {
        side: board.side[side].name.clone(),
        units: 0,
        bases: 0,
        front_mm: 0.0,
        share: 0.0,
    };
    let theirs = units.iter().filter(|unit| unit.side == side);
    for unit in theirs.filter(|unit| unit.arm != Arm::Commander) {
        line.units += unit.counter.count;
        line.bases += u32::from(unit.block.bases) * unit.counter.count;
        line.front_mm += unit.front_mm * f64::from(unit.counter.count);
    }
    line.share = line.front_mm / width_mm;
    line
}

/// Turns until the slowest foot of both sides (whoever is slowest, without foot), walking
/// straight towards each other from their first places, are a halt zone apart.
fn turns_to_contact(plan: &Plan, layout: &Layout) -> Option<f64> {
    let gap_mm = plan.table.depth_mm
        - layout.bands_mm[0]
        - layout.bands_mm[1]
        - plan.halt_zone_bw * plan.base_width_mm;
    let pace = |side: usize| {
        let slowest = |arm: Option<Arm>| {
            plan.units
                .iter()
                .filter(|unit| unit.side == side && unit.arm != Arm::Commander)
                .filter(|unit| arm.is_none_or(|arm| unit.arm == arm))
                .filter_map(|unit| plan.troops.iter().find(|t| t.name == unit.counter.troops))
                .map(|troops| troops.move_mm)
                .reduce(smaller)
        };
        slowest(Some(Arm::Foot)).or_else(|| slowest(None))
    };
    let together_mm = pace(0).unwrap_or(0.0) + pace(1).unwrap_or(0.0);
    (together_mm > 0.0 && gap_mm > 0.0).then(|| gap_mm / together_mm)
}

fn warnings(board: &Board, plan: &Plan) -> Vec<Warning> {
    let mut warnings = Vec::new();
    let mut warn = |code, text| warnings.push(Warning { code, text });
    for line in &plan.lines {
        let share = line.share * 100.0;
        let (units, front) = (line.units, line.front_mm);
        if line.share > CROWDED {
            warn(
                "too-crowded",
                format!(
                    "the {units} units of {} cover {share:.0} % of the table's width ({front:.0} mm of {:.0} mm) in one line: hardly a flank to turn; above {:.0} % give a base more strength or take a wider map",
                    line.side,
                    plan.table.width_mm,
                    CROWDED * 100.0
                ),
            );
        } else if line.share < THIN {
            warn(
                "too-thin",
                format!(
                    "the {units} units of {} cover only {share:.0} % of the table's width ({front:.0} mm of {:.0} mm); below {:.0} % armies walk past each other",
                    line.side,
                    plan.table.width_mm,
                    THIN * 100.0
                ),
            );
        }
    }
    if let Some(turns) = plan.turns_to_contact {
        let share = turns / f64::from(board.turns.game_turns);
        if turns > LONG_WALK || share > LONG_SHARE {
            warn(
                "too-long-a-walk",
                format!(
                    "lines that walk towards each other meet after {turns:.1} turns, {:.0} % of the game; deploy nearer, or give more game turns",
                    share * 100.0
                ),
            );
        }
    }
    rounding_warnings(board, plan, &mut warnings);
    march_warnings(plan, &mut warnings);
    warnings
}

fn rounding_warnings(board: &Board, plan: &Plan, warnings: &mut Vec<Warning>) {
    let chosen = plan
        .losses
        .iter()
        .find(|loss| loss.rounding == plan.rounding);
    if let Some(loss) = chosen.filter(|loss| loss.worst_unit > COARSE) {
        warnings.push(Warning {
            code: "coarse-rounding",
            text: format!(
                "rounding {} changes the strength of a unit by up to {:.0} %; a base of less strength rounds finer",
                plan.rounding.words(),
                loss.worst_unit * 100.0
            ),
        });
    }
    if plan.strength_per_base + 1e-9 < bases::suggested_strength(board) {
        warnings.push(Warning {
            code: "full-hex",
            text: format!(
                "a full hex of the strongest units is more than {} bases deep on its own front, and only so many count: {} strength points to the base would do",
                board.laying.depth,
                bases::suggested_strength(board)
            ),
        });
    }
    if plan.base_width_mm < SMALL_MM {
        warnings.push(Warning {
            code: "small-bases",
            text: format!(
                "bases {} mm wide are hard to handle; {SMALL_MM:.0} mm and more are usual",
                plan.base_width_mm
            ),
        });
    }
}

fn march_warnings(plan: &Plan, warnings: &mut Vec<Warning>) {
    for march in &plan.ground.marches {
        if let Some(share) = march.share.filter(|share| *share > 1.0 + 1e-9) {
            warnings.push(Warning {
                code: "faster-than-a-march",
                text: format!(
                    "{} cover {:.0} m in a turn, {share:.1} times what they march in it ({}, {})",
                    march.troops,
                    march.turn_m,
                    march.gait.words(),
                    march.source
                ),
            });
        }
    }
}
