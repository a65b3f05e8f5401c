//! The figures of a verdict, beside its drawing.

use crate::words;
use fieldpost_rules::geometry::Point;
use fieldpost_rules::orders::{Order, UnitId, print};
use fieldpost_rules::sanitize::{listed, plain};
use fieldpost_rules::verdict::ledger_figures;
use fieldpost_rules::verdict::rounding::{amount, apart};
use fieldpost_rules::verdict::{BattleVerdict, MoveVerdict, Reason, Ruling};

use super::declaration::Declaration;
use super::panel::{Column, WIDTH};
use super::pen::Pen;
use super::signs::{self, Type};
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
    let (ink, words) = ruling(verdict.verdict);
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
    signs_of_move(&mut column, picture, verdict);
    column.y
}

fn ledger(column: &mut Column, verdict: &MoveVerdict) {
    if verdict.legs.is_empty() {
        return;
    }
    column.heading("Ledger, in mm", palette::INK);
    let figures = ledger_figures::of(verdict);
    for (index, (leg, shown)) in verdict.legs.iter().zip(&figures.legs).enumerate() {
        let name = format!("{}. {}", index + 1, words::leg_name(leg));
        row(column, &name, &shown.charge, true);
        if let Some(whose) = words::whose_tape(leg) {
            column.say(&whose, 11.0, palette::INK);
        }
        for (piece, figures) in leg.pieces.iter().zip(&shown.pieces) {
            if !figures.is_nought {
                let how = format!("    {} {}", piece.ground, figures.product);
                row(column, &how, &figures.charge, false);
            }
        }
        for (line, charge) in leg.lines.iter().zip(&shown.lines) {
            let why = line
                .free
                .as_deref()
                .map_or_else(String::new, |why| format!(", free: {why}"));
            row(column, &format!("    {}{why}", line.line), charge, false);
        }
        if let Some(fixed) = &shown.fixed {
            row(column, "    fixed charge", fixed, false);
        }
    }
    column.y += 5.0;
    let (from, to) = (column.left + WIDTH - 70.0, column.left + WIDTH);
    column
        .pen
        .line(Point::new(from, column.y), Point::new(to, column.y))
        .stroke(palette::INK, 0.8)
        .done();
    row(column, "charge", &figures.charge, true);
    let allowance = if verdict.in_command {
        "allowance"
    } else {
        "allowance, out of command"
    };
    row(column, allowance, &figures.allowance, false);
    let word = figures.balance_word;
    row(column, word, &figures.balance, word != "left");
}

fn row(column: &mut Column, what: &str, figure: &str, bold: bool) {
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
        .say(figure);
}

/// What the inks of the drawing mean.
fn signs_of_move(column: &mut Column, picture: &Picture, verdict: &MoveVerdict) {
    column.heading("Signs", palette::INK);
    signs::tapes(column, Type::VERDICT);
    let stroke = |column: &mut Column, ink, dashes, words| {
        signs::stroke(column, Type::VERDICT, (ink, dashes, 4.0), words);
    };
    stroke(column, palette::ALLOWED, "", "furthest legal place");
    if verdict.verdict == Ruling::Refused {
        stroke(column, palette::REFUSED, "7 5", "what is refused");
    }
    signs::disorder(column, picture, Type::VERDICT);
}

/// A battle's parties, ruling, reasons, distances, odds and shifts.
pub(super) fn battle(column: &mut Column, picture: &Picture, battle: &BattleVerdict) {
    let game = picture.game;
    let kind = if battle.attackers.is_empty() {
        "fire"
    } else {
        "battle"
    };
    column.heading(&format!("Order {}: {kind}", battle.order + 1), palette::INK);
    let marks = |units: &[UnitId]| {
        listed(
            &units
                .iter()
                .map(|id| named(picture, id))
                .collect::<Vec<_>>(),
        )
    };
    let (first, rest) = if battle.attackers.is_empty() {
        (marks(&battle.guns), String::new())
    } else if battle.guns.is_empty() {
        (marks(&battle.attackers), String::new())
    } else {
        let guns = format!(", bombarded by {}", marks(&battle.guns));
        (marks(&battle.attackers), guns)
    };
    let parties = format!("{first} against {}{rest}", marks(&battle.defenders));
    column.say(&parties, 12.0, palette::INK);
    let (ink, words) = ruling(battle.verdict);
    column.y += 3.0;
    column.say(words, 15.0, ink);
    column.y += 3.0;
    for reason in &battle.reasons {
        column.say(&words::reason(reason, game), 12.0, palette::INK);
        column.y += 3.0;
    }
    for measured in &battle.measured {
        let shown = apart(measured.distance_mm, measured.limit_mm);
        let pair = format!(
            "{} to {}",
            picture.mark_of(&measured.from),
            picture.mark_of(&measured.to)
        );
        let pair = match &measured.through {
            Some(unit) => format!("{pair}, through {}", picture.mark_of(unit)),
            None => pair,
        };
        let figure = format!("{} of {} mm", shown.first, shown.second);
        wide_row(column, &pair, &figure);
    }
    let Some(odds) = &battle.odds else { return };
    let strengths = format!("{} against {}", amount(odds.attack), amount(odds.defence));
    wide_row(column, &strengths, &plain(&odds.column_before_shifts));
    for shift in &odds.shifts {
        column.say(&plain(shift), 11.5, palette::INK);
    }
    if odds.column != odds.column_before_shifts {
        wide_row(column, "shifted to", &plain(&odds.column));
    }
}

/// Who is left out of a declaration, and what would do instead.
pub(super) fn undone(
    column: &mut Column,
    picture: &Picture,
    duties: &[&Reason],
    instead: Option<&[Order]>,
) {
    if !duties.is_empty() {
        column.heading("Left out", palette::REFUSED);
        for reason in duties {
            column.say(&words::reason(reason, picture.game), 12.0, palette::INK);
            column.y += 3.0;
        }
    }
    let Some(orders) = instead else { return };
    column.heading("Would do", palette::ALLOWED);
    if orders.is_empty() {
        column.say("no battle at all", 12.0, palette::INK);
    }
    for order in orders {
        let order = plain(&print::order(order));
        column.say(&order, 12.0, palette::INK);
    }
}

/// What strings, blocks and outlines mean, as far as the picture has them.
pub(super) fn signs_of_battle(column: &mut Column, picture: &Picture, drawn: &Declaration) {
    column.heading("Signs", palette::INK);
    let stroke = |column: &mut Column, (ink, dashes, width): (&str, &str, f64), words: &str| {
        signs::stroke(column, Type::VERDICT, (ink, dashes, width), words);
    };
    stroke(
        column,
        (palette::ALLOWED, "", 2.2),
        "distance measured, within its limit",
    );
    if drawn
        .battles
        .iter()
        .any(|battle| battle.verdict == Ruling::Refused)
    {
        stroke(
            column,
            (palette::REFUSED, "6 4", 2.2),
            "too far, too near or out of sight",
        );
    }
    if !drawn.duties.is_empty() {
        stroke(column, (palette::REFUSED, "7 4", 3.0), "left out");
    }
    if drawn.has_strike_zones() {
        let ink = &picture.sides[0].dark;
        stroke(column, (ink, "2 3", 1.2), "strike zone");
    }
    signs::of(column, picture, Type::VERDICT);
}

fn named(picture: &Picture, id: &UnitId) -> String {
    let name = picture
        .game
        .unit(id)
        .map_or(id.0.as_str(), |unit| unit.name.as_str());
    format!("{} {}", picture.mark_of(id), plain(name))
}

fn ruling(ruling: Ruling) -> (&'static str, &'static str) {
    match ruling {
        Ruling::Legal => (palette::ALLOWED, "Legal"),
        Ruling::Marginal => (palette::ALLOWED, "Allowed, within the tolerance"),
        Ruling::Refused => (palette::REFUSED, "Refused"),
    }
}

/// Words and a figure of some length at the other end of the line.
fn wide_row(column: &mut Column, what: &str, figure: &str) {
    column.y += 15.5;
    let room = WIDTH - letters::width(figure, 11.5, true) - 8.0;
    column
        .pen
        .text(Point::new(column.left, column.y), 11.5)
        .fill(palette::INK)
        .say(&letters::fitted(what, 11.5, false, room));
    column
        .pen
        .text(Point::new(column.left + WIDTH, column.y), 11.5)
        .fill(palette::INK)
        .attr("font-weight", "bold")
        .attr("text-anchor", "end")
        .say(figure);
}
