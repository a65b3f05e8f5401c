//! The ledger of a move as a table of figures that line up.

use fieldpost_rules::sanitize::plain;
use fieldpost_rules::verdict::ledger_figures::{self, LedgerFigures};
use fieldpost_rules::verdict::rounding::tenths;
use fieldpost_rules::verdict::{LegLedger, MoveVerdict};

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
    let figures = ledger_figures::of(verdict);
    let mut lines = Vec::new();
    for (index, (leg, shown)) in verdict.legs.iter().zip(&figures.legs).enumerate() {
        lines.push(Line::bare(
            format!("{}. {}", index + 1, leg_name(leg)),
            shown.charge.clone(),
        ));
        lines.extend(
            whose_tape(leg).map(|whose| Line::bare(format!("     {whose}"), String::new())),
        );
        let pieces = leg.pieces.iter().zip(&shown.pieces);
        lines.extend(
            pieces
                .filter(|(_, shown)| !shown.is_nought)
                .map(|(piece, shown)| Line {
                    what: format!("     {}", plain(&piece.ground)),
                    along: format!("{}–{}", shown.from, shown.to),
                    how: shown.product.clone(),
                    charge: shown.charge.clone(),
                }),
        );
        lines.extend(leg.lines.iter().zip(&shown.lines).map(|(line, charge)| {
            Line {
                what: format!("     {}", plain(&line.line)),
                along: format!("at {}", tenths(line.at_mm)),
                how: line
                    .free
                    .as_deref()
                    .map_or_else(|| "fixed".to_owned(), |why| format!("free: {}", plain(why))),
                charge: charge.clone(),
            }
        }));
        lines.extend(
            (shown.fixed.clone()).map(|charge| Line::bare("     fixed charge".to_owned(), charge)),
        );
    }
    set_out(&lines, verdict, &figures)
}

impl Line {
    fn bare(what: String, charge: String) -> Self {
        Self {
            what,
            along: String::new(),
            how: String::new(),
            charge,
        }
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

fn set_out(lines: &[Line], verdict: &MoveVerdict, figures: &LedgerFigures) -> String {
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
    let sum = |name: &str, mm: &str| format!("  {name:<body$}  {mm:>8}\n");
    out.push_str(&sum("charge, mm", &figures.charge));
    out.push_str(&sum(allowance, &figures.allowance));
    let balance = format!("{}, mm", figures.balance_word);
    out.push_str(&sum(&balance, &figures.balance));
    out
}
