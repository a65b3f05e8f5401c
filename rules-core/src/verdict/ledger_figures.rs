//! The figures of a move's ledger as people see them: parts add up to their sums as they are written.

use crate::geometry::ARITHMETIC_MM;

use super::rounding::{amount, counted, shared, tenths, to_hundredths, written};
use super::{Code, LegLedger, MoveVerdict, Piece, Reason};

/// Everything of a ledger that is a figure, in millimetres.
#[derive(Debug, Clone, PartialEq)]
pub struct LedgerFigures {
    /// Leg by leg.
    pub legs: Vec<LegFigures>,
    /// What the move costs: the sum of its legs.
    pub charge: String,
    /// What it may spend.
    pub allowance: String,
    /// What the balance is called: "left", or why the move costs more.
    pub balance_word: &'static str,
    /// The difference of charge and allowance.
    pub balance: String,
}

/// The figures of one leg.
#[derive(Debug, Clone, PartialEq)]
pub struct LegFigures {
    /// What it charges: the sum of what follows.
    pub charge: String,
    /// Piece by piece.
    pub pieces: Vec<PieceFigures>,
    /// What each line charges.
    pub lines: Vec<String>,
    /// What the leg charges by itself, where it does.
    pub fixed: Option<String>,
}

/// The figures of one piece of tape.
#[derive(Debug, Clone, PartialEq)]
pub struct PieceFigures {
    /// Where it begins on the tape.
    pub from: String,
    /// Where it ends.
    pub to: String,
    /// `27.3 × 2 × 1.5`: its length, the leg's factor where that is not 1, and the ground's rate.
    pub product: String,
    /// What it charges.
    pub charge: String,
    /// Whether it is a row of noughts.
    pub is_nought: bool,
}

/// The figures of a move.
#[must_use]
pub fn of(verdict: &MoveVerdict) -> LedgerFigures {
    let decimals = decimals(verdict);
    let charges: Vec<f64> = verdict.legs.iter().map(|leg| leg.charge_mm).collect();
    let counts = shared(&charges, verdict.charge_mm, decimals);
    let legs = verdict.legs.iter().zip(counts);
    let (charge, allowance) = (
        counted(verdict.charge_mm, decimals),
        counted(verdict.allowance_mm, decimals),
    );
    LedgerFigures {
        legs: legs
            .map(|(leg, count)| of_leg(leg, count, decimals))
            .collect(),
        charge: written(charge, decimals),
        allowance: written(allowance, decimals),
        balance_word: balance_word(verdict),
        balance: written((allowance - charge).abs(), decimals),
    }
}

/// As many as it takes to see that the charge is not the allowance.
fn decimals(verdict: &MoveVerdict) -> usize {
    let is_equal = |d| counted(verdict.charge_mm, d) == counted(verdict.allowance_mm, d);
    if is_equal(1) && !is_equal(2) { 2 } else { 1 }
}

/// What is left of the allowance, or what the move costs beyond it and why that may be.
fn balance_word(verdict: &MoveVerdict) -> &'static str {
    let over = |reason: &Reason| reason.code() == Code::OverAllowance;
    if verdict.allowance_mm - verdict.charge_mm >= -ARITHMETIC_MM {
        "left"
    } else if verdict.reasons.iter().any(over) {
        "too much"
    } else {
        "granted by the minimum move"
    }
}

fn of_leg(leg: &LegLedger, count: f64, decimals: usize) -> LegFigures {
    let lines = leg.lines.iter().map(|line| line.charge_mm);
    let pieces = leg.pieces.iter().map(|piece| piece.charge_mm);
    let parts: Vec<f64> = pieces.chain(lines).chain([leg.fixed_mm]).collect();
    let units = if decimals == 1 { 10.0 } else { 100.0 };
    let shares = shared(&parts, count / units, decimals);
    let share = |index: usize| shares.get(index).copied().unwrap_or(0.0);
    let after_pieces = leg.pieces.len();
    let fixed = share(after_pieces + leg.lines.len());
    let factor = factor(leg);
    LegFigures {
        charge: written(count, decimals),
        pieces: (leg.pieces.iter().enumerate())
            .map(|(index, piece)| of_piece(piece, factor, share(index), decimals))
            .collect(),
        lines: (0..leg.lines.len())
            .map(|index| written(share(after_pieces + index), decimals))
            .collect(),
        fixed: (fixed > 0.0).then(|| written(fixed, decimals)),
    }
}

fn of_piece(piece: &Piece, factor: f64, charge: f64, decimals: usize) -> PieceFigures {
    // the tape as it is written: a reader who multiplies comes to the charge that is written
    let length = |digits| counted(piece.to_mm, digits) - counted(piece.from_mm, digits);
    let comes_to = |digits: usize| {
        let units = if digits == 1 { 10.0 } else { 100.0 };
        counted(length(digits) / units * factor * piece.rate, decimals)
    };
    let digits = if comes_to(1) == charge { 1 } else { 2 };
    let written_length = written(length(digits), digits);
    let rate = amount(piece.rate);
    PieceFigures {
        from: tenths(piece.from_mm),
        to: tenths(piece.to_mm),
        product: if factor == 1.0 {
            format!("{written_length} × {rate}")
        } else {
            format!("{written_length} × {} × {rate}", amount(factor))
        },
        charge: written(charge, decimals),
        is_nought: charge == 0.0 && counted(piece.from_mm, 1) == counted(piece.to_mm, 1),
    }
}

/// What a leg charges for each millimetre of open ground, told from its longest piece: short ones are too coarse.
fn factor(leg: &LegLedger) -> f64 {
    let bare =
        |piece: &Piece| (to_hundredths(piece.to_mm) - to_hundredths(piece.from_mm)) * piece.rate;
    let longest = leg
        .pieces
        .iter()
        .reduce(|best, next| if bare(next) > bare(best) { next } else { best });
    let Some(longest) = longest.filter(|piece| bare(piece) > 0.05) else {
        return 1.0;
    };
    let found = to_hundredths(longest.charge_mm) / bare(longest);
    // both are known to a hundredth of a millimetre
    if (found - 1.0).abs() < 0.02 / bare(longest) {
        return 1.0;
    }
    to_hundredths(found)
}

#[cfg(test)]
mod tests;
