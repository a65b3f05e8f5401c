//! From strength points to bases: how rounding goes, and what each way loses.

use serde::Serialize;

use super::board::{Board, Counter, Laying};
use super::rounding::Rounding;
use fieldpost_rules::geometry::larger;
use fieldpost_rules::ruleset::Arm;

/// Strengths of a base that are tried for comparison.
const TRIED: [f64; 9] = [0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0];

/// What one way of rounding does to every unit and side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RoundingLoss {
    /// The way.
    pub rounding: Rounding,
    /// Every counter with strength.
    pub units: Vec<UnitLoss>,
    /// Change of each side's whole strength as a share of it; negative is a loss.
    pub sides: [f64; 2],
    /// Largest change of a unit's strength as a share of it, either way.
    pub worst_unit: f64,
    /// Change of the ratio of the first side's strength to the second's, as a share of it.
    pub balance: f64,
}

/// What rounding does to one counter.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct UnitLoss {
    /// Its name.
    pub name: String,
    /// Its strength on the board.
    pub strength: f64,
    /// Its bases.
    pub bases: u16,
    /// Its strength on the table.
    pub on_table: f64,
}

/// A strength of a base, for comparison.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BaseChoice {
    /// Strength points of a base.
    pub strength_per_base: f64,
    /// The way of rounding that changes the sides least.
    pub rounding: Rounding,
    /// Bases of both sides in all.
    pub bases: u32,
    /// Change of each side's whole strength as a share of it.
    pub sides: [f64; 2],
    /// Largest change of a unit's strength as a share of it.
    pub worst_unit: f64,
    /// Whether a full hex of the strongest units stands on its own front, `depth` bases deep.
    pub hex_holds: bool,
}

/// Files and ranks of a unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Block {
    /// Bases abreast.
    pub files: u16,
    /// Bases deep.
    pub ranks: u16,
    /// Bases in all.
    pub bases: u16,
}

impl Block {
    /// As wide as the unit's share of a full hex, and wider only where it would stand deeper
    /// than counts.
    pub(super) fn of(bases: u16, laying: &Laying) -> Self {
        let share = laying.bases_per_hex / laying.stacking.max(1);
        let share = u16::try_from(share).unwrap_or(u16::MAX).max(1);
        let depth = u16::try_from(laying.depth).unwrap_or(u16::MAX).max(1);
        let files = share.max(bases.div_ceil(depth)).min(bases.max(1));
        Self {
            files,
            ranks: bases.div_ceil(files),
            bases,
        }
    }
}

/// The least strength of a base, in halves, with which a full hex of the strongest units stands
/// on its own front as deep as counts.
pub(super) fn suggested_strength(board: &Board) -> f64 {
    let needed = strongest(board) * f64::from(board.laying.stacking) / room_in_hex(&board.laying);
    larger((needed * 2.0 - 1e-9).ceil() / 2.0, 0.5)
}

/// Bases that count in one hex.
fn room_in_hex(laying: &Laying) -> f64 {
    f64::from(laying.bases_per_hex) * f64::from(laying.depth)
}

fn strongest(board: &Board) -> f64 {
    board
        .unit
        .iter()
        .fold(0.0, |most, u| larger(most, u.strength))
}

/// Counters that fight.
fn fighting(board: &Board) -> impl Iterator<Item = &Counter> {
    board.unit.iter().filter(|unit| {
        let arm = board.troops.get(&unit.troops).map(|troops| troops.arm);
        arm != Some(Arm::Commander) && unit.strength > 0.0
    })
}

/// What each way of rounding loses.
pub(super) fn losses(board: &Board, per_base: f64) -> [RoundingLoss; 3] {
    Rounding::ALL.map(|rounding| loss(board, per_base, rounding))
}

fn loss(board: &Board, per_base: f64, rounding: Rounding) -> RoundingLoss {
    let (mut before, mut after) = ([0.0; 2], [0.0; 2]);
    let mut worst_unit = 0.0;
    let mut units = Vec::new();
    for unit in fighting(board) {
        let bases = rounding.bases(unit.strength, per_base);
        let on_table = f64::from(bases) * per_base;
        let index = usize::from(board.side.first().is_none_or(|side| side.key != unit.side));
        before[index] += unit.strength * f64::from(unit.count);
        after[index] += on_table * f64::from(unit.count);
        worst_unit = larger(worst_unit, (on_table / unit.strength - 1.0).abs());
        units.push(UnitLoss {
            name: unit.name.clone(),
            strength: unit.strength,
            bases,
            on_table,
        });
    }
    let change = |side: usize| {
        if before[side] > 0.0 {
            after[side] / before[side] - 1.0
        } else {
            0.0
        }
    };
    let sides = [change(0), change(1)];
    RoundingLoss {
        rounding,
        units,
        sides,
        worst_unit,
        balance: (1.0 + sides[0]) / (1.0 + sides[1]) - 1.0,
    }
}

/// The way that changes the sides least: the one whose side that is changed more is changed less than
/// by any other; of equals the one that changes their balance less, then nearest, up, down.
pub(super) fn least(losses: &[RoundingLoss; 3]) -> Rounding {
    // a billionth is arithmetic: equals must stay equals
    let whole = |share: f64| (share.abs() * 1e9).round();
    let cost = |loss: &RoundingLoss| {
        let [first, second] = loss.sides.map(whole);
        (larger(first, second), whole(loss.balance))
    };
    let cheaper = |one: (f64, f64), other: (f64, f64)| {
        one.0.total_cmp(&other.0).then(one.1.total_cmp(&other.1))
    };
    losses
        .iter()
        .min_by(|a, b| cheaper(cost(a), cost(b)))
        .map_or(Rounding::Nearest, |loss| loss.rounding)
}

/// Other strengths of a base, for comparison.
pub(super) fn choices(board: &Board) -> Vec<BaseChoice> {
    let full = strongest(board) * f64::from(board.laying.stacking);
    TRIED
        .into_iter()
        .map(|strength_per_base| {
            let losses = losses(board, strength_per_base);
            let rounding = least(&losses);
            let chosen = losses.iter().find(|loss| loss.rounding == rounding);
            let (sides, worst_unit) =
                chosen.map_or(([0.0; 2], 0.0), |loss| (loss.sides, loss.worst_unit));
            let bases = fighting(board)
                .map(|u| u32::from(rounding.bases(u.strength, strength_per_base)) * u.count)
                .sum();
            BaseChoice {
                strength_per_base,
                rounding,
                bases,
                sides,
                worst_unit,
                hex_holds: full <= strength_per_base * room_in_hex(&board.laying) + 1e-9,
            }
        })
        .collect()
}
