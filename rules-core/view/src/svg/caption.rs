//! The figures of a verdict, beside its drawing.

use crate::words;
use fieldpost_rules::geometry::Point;
use fieldpost_rules::verdict::rounding::tenths;
use fieldpost_rules::verdict::{MoveVerdict, Ruling};

use super::panel::{self, Column, WIDTH};
use super::pen::Pen;
use super::{Picture, letters, palette};

/// Ruling, reasons, ledger and remedies from a point downwards; returns where they end.
pub(super) fn draw(
    pen: &mut Pen,
    picture: &Picture,
    verdict: &MoveVerdict,
    left: f64,
    top: f64,
) -> f64 {
    let mut column = Column { pen, left, y: top };
    let game = picture.game;
    let unit = game.unit(&verdict.unit);
    let name = unit.map_or(verdict.unit.0.as_str(), |unit| unit.name.as_str());
    let mark = unit.map_or_else(String::new, |unit| format!("{} ", picture.mark(unit)));
    column.heading(&format!("{mark}{name}"), palette::INK);
    let (ink, words) = match verdict.verdict {
        Ruling::Legal => (palette::ALLOWED, "Legal"),
        Ruling::Marginal => (palette::ALLOWED, "Allowed, within the tolerance"),
        Ruling::Refused => (palette::REFUSED, "Refused"),
    };
    column.y += 4.0;
    column.say(words, 17.0, ink);
    column.y += 4.0;
    for reason in &verdict.reasons {
        column.say(&words::reason(reason, game), 12.0, palette::INK);
        column.y += 4.0;
    }
    ledger(&mut column, verdict);
    if verdict.verdict == Ruling::Refused {
        if let Some(place) = &verdict.furthest {
            column.heading("Furthest legal", palette::ALLOWED);
            column.say(&words::standing(place), 12.0, palette::INK);
        }
        if !verdict.remedies.is_empty() {
            column.heading("Would do", palette::ALLOWED);
            for remedy in &verdict.remedies {
                column.say(&remedy.words, 12.0, palette::INK);
            }
        }
    }
    signs(&mut column, verdict);
    panel::disorder(&mut column, picture, (40.0, 11.0));
    column.y
}

fn ledger(column: &mut Column, verdict: &MoveVerdict) {
    if verdict.legs.is_empty() {
        return;
    }
    column.heading("Ledger, in mm", palette::INK);
    for (index, leg) in verdict.legs.iter().enumerate() {
        let name = format!("{}. {}", index + 1, words::leg_name(leg));
        row(column, &name, leg.charge_mm, true);
        if let Some(whose) = words::whose_tape(leg) {
            column.say(&whose, 11.0, palette::INK);
        }
        for piece in &leg.pieces {
            let how = words::product(piece.to_mm - piece.from_mm, piece);
            row(
                column,
                &format!("    {} {how}", piece.ground),
                piece.charge_mm,
                false,
            );
        }
        for line in &leg.lines {
            let why = line
                .free
                .as_deref()
                .map_or_else(String::new, |why| format!(", free: {why}"));
            row(
                column,
                &format!("    {}{why}", line.line),
                line.charge_mm,
                false,
            );
        }
        if leg.fixed_mm > 0.0 {
            row(column, "    fixed charge", leg.fixed_mm, false);
        }
    }
    column.y += 5.0;
    let (from, to) = (column.left + WIDTH - 70.0, column.left + WIDTH);
    column
        .pen
        .line(Point::new(from, column.y), Point::new(to, column.y))
        .stroke(palette::INK, 0.8)
        .done();
    row(column, "charge", verdict.charge_mm, true);
    let allowance = if verdict.in_command {
        "allowance"
    } else {
        "allowance, out of command"
    };
    row(column, allowance, verdict.allowance_mm, false);
    let (words, mm) = words::balance(verdict);
    row(column, words, mm, words != "left");
}

fn row(column: &mut Column, what: &str, mm: f64, bold: bool) {
    column.y += 15.5;
    let weight = if bold { "bold" } else { "normal" };
    let indent = if what.starts_with(' ') { 14.0 } else { 0.0 };
    column
        .pen
        .text(Point::new(column.left + indent, column.y), 11.5)
        .fill(palette::INK)
        .attr("font-weight", weight)
        .say(&letters::fitted(
            what.trim(),
            11.5,
            bold,
            WIDTH - 62.0 - indent,
        ));
    column
        .pen
        .text(Point::new(column.left + WIDTH, column.y), 11.5)
        .fill(palette::INK)
        .attr("font-weight", weight)
        .attr("text-anchor", "end")
        .say(&tenths(mm));
}

/// What the inks of the drawing mean.
fn signs(column: &mut Column, verdict: &MoveVerdict) {
    column.heading("Signs", palette::INK);
    let mut signs = vec![
        (palette::TAPE, "", "tape on open ground"),
        (palette::TAPE_ON_ROAD, "14 2", "on a road"),
        (palette::TAPE_SLOW, "5 2", "on slow ground"),
        (palette::TAPE_SLOWEST, "3 2", "at more than double"),
        (palette::ALLOWED, "", "furthest legal place"),
    ];
    if verdict.verdict == Ruling::Refused {
        signs.push((palette::REFUSED, "7 5", "what is refused"));
    }
    for (ink, dashes, words) in signs {
        column.y += 16.0;
        let (from, to) = (
            Point::new(column.left, column.y - 4.0),
            Point::new(column.left + 30.0, column.y - 4.0),
        );
        let line = column.pen.line(from, to).stroke(ink, 4.0);
        if dashes.is_empty() {
            line.done();
        } else {
            line.dashed(dashes).done();
        }
        column
            .pen
            .text(Point::new(column.left + 40.0, column.y), 11.0)
            .fill(palette::INK)
            .say(words);
    }
}
