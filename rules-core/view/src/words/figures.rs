//! The ledger of a move as a table of figures that line up.

use fieldpost_rules::geometry::ARITHMETIC_MM;
use fieldpost_rules::sanitize::plain;
use fieldpost_rules::verdict::rounding::{UNSEEN, amount, tenths};
use fieldpost_rules::verdict::{Code, LegLedger, MoveVerdict, Piece, Reason};

struct Line {
    what: String,
    /// Along the tape: from and to.
    along: String,
    /// How it is reckoned.
    how: String,
    charge: String,
}

/// Legs, pieces, lines and fixed charges, their sum and the allowance; columns line up by
/// characters.
pub(super) fn ledger(verdict: &MoveVerdict) -> String {
    let mut lines = Vec::new();
    for (index, leg) in verdict.legs.iter().enumerate() {
        lines.push(Line {
            what: format!("{}. {}", index + 1, leg_name(leg)),
            along: String::new(),
            how: String::new(),
            charge: tenths(leg.charge_mm),
        });
        lines.extend(whose_tape(leg).map(|whose| Line {
            what: format!("     {whose}"),
            along: String::new(),
            how: String::new(),
            charge: String::new(),
        }));
        lines.extend(
            leg.pieces
                .iter()
                .filter(|piece| shows(piece))
                .map(piece_line),
        );
        lines.extend(leg.lines.iter().map(|line| {
            let how = line
                .free
                .as_deref()
                .map_or_else(|| "fixed".to_owned(), |why| format!("free: {}", plain(why)));
            Line {
                what: format!("     {}", plain(&line.line)),
                along: format!("at {}", tenths(line.at_mm)),
                how,
                charge: tenths(line.charge_mm),
            }
        }));
        if leg.fixed_mm > 0.0 {
            lines.push(Line {
                what: "     fixed charge".to_owned(),
                along: String::new(),
                how: String::new(),
                charge: tenths(leg.fixed_mm),
            });
        }
    }
    set_out(&lines, verdict)
}

/// Whether a piece is more than a row of noughts.
fn shows(piece: &Piece) -> bool {
    let is_nought = |mm| tenths(mm) == tenths(0.0);
    !(is_nought(piece.to_mm - piece.from_mm) && is_nought(piece.charge_mm))
}

fn piece_line(piece: &Piece) -> Line {
    let length = piece.to_mm - piece.from_mm;
    Line {
        what: format!("     {}", plain(&piece.ground)),
        along: format!("{}–{}", tenths(piece.from_mm), tenths(piece.to_mm)),
        how: product(length, piece),
        charge: tenths(piece.charge_mm),
    }
}

/// `27.3 × 2 × 1.5`: length, then the leg's factor where it is not 1, then the ground's rate.
pub(crate) fn product(length: f64, piece: &Piece) -> String {
    let bare = length * piece.rate;
    let factor = if bare > UNSEEN {
        piece.charge_mm / bare
    } else {
        1.0
    };
    let factor = (factor * 100.0).round() / 100.0;
    if factor == 1.0 {
        format!("{} × {}", tenths(length), amount(piece.rate))
    } else {
        format!(
            "{} × {} × {}",
            tenths(length),
            amount(factor),
            amount(piece.rate)
        )
    }
}

/// What is left of the allowance, or what the move costs beyond it and why that may be, in words and millimetres.
pub(crate) fn balance(verdict: &MoveVerdict) -> (&'static str, f64) {
    let left_mm = verdict.allowance_mm - verdict.charge_mm;
    let over = |reason: &Reason| reason.code() == Code::OverAllowance;
    if left_mm >= -ARITHMETIC_MM {
        ("left", left_mm)
    } else if verdict.reasons.iter().any(over) {
        ("too much", -left_mm)
    } else {
        ("granted by the minimum move", -left_mm)
    }
}

/// "wheel left 20.0°, tape 55.9 mm".
pub(crate) fn leg_name(leg: &LegLedger) -> String {
    let mut name = plain(&leg.leg);
    if let Some(side) = leg.side {
        name.push_str(&format!(" {}", side.word()));
    }
    if let Some(angle) = leg.angle_deg {
        name.push_str(&format!(" {}°", tenths(angle)));
    }
    if leg.tape_mm > 0.0 {
        name.push_str(&format!(", tape {} mm", tenths(leg.tape_mm)));
    }
    name
}

/// Whose tape is charged, where several units move together.
pub(crate) fn whose_tape(leg: &LegLedger) -> Option<String> {
    let unit = leg.tape_of.as_ref()?;
    Some(format!("along the tape of {}", plain(&unit.0)))
}

fn set_out(lines: &[Line], verdict: &MoveVerdict) -> String {
    let widest = |column: fn(&Line) -> &str| {
        lines
            .iter()
            // a leg's own line may run on over the next columns
            .filter(|line| !line.along.is_empty())
            .map(|line| column(line).chars().count())
            .max()
            .unwrap_or(0)
    };
    let what = widest(|line| &line.what);
    let along = widest(|line| &line.along);
    let how = widest(|line| &line.how);
    let heads = lines
        .iter()
        .filter(|line| line.along.is_empty())
        .map(|line| line.what.chars().count())
        .max()
        .unwrap_or(0);
    let allowance = if verdict.in_command {
        "allowance, mm"
    } else {
        "allowance, mm, out of command"
    };
    let body = (what + 2 + along + 2 + how)
        .max(heads)
        .max(allowance.len())
        .max(24);
    let mut out = String::new();
    for line in lines {
        let text = if line.along.is_empty() {
            line.what.clone()
        } else {
            format!("{:<what$}  {:>along$}  {}", line.what, line.along, line.how)
        };
        out.push_str(&format!("  {text:<body$}  {:>8}\n", line.charge));
    }
    let rule = "─".repeat(8);
    out.push_str(&format!("  {:<body$}  {rule}\n", ""));
    let sum = |name: &str, mm: f64| format!("  {name:<body$}  {:>8}\n", tenths(mm));
    out.push_str(&sum("charge, mm", verdict.charge_mm));
    out.push_str(&sum(allowance, verdict.allowance_mm));
    let (words, mm) = balance(verdict);
    out.push_str(&sum(&format!("{words}, mm"), mm));
    out
}
