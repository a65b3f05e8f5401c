//! Conversions as text for an 80-column terminal.

use std::fmt::Write;

use super::board::Board;
use super::ground::GroundAndTime;
use super::map::Fit;
use super::plan::Plan;
use fieldpost_rules::ruleset::Arm;
use fieldpost_rules::verdict::rounding::{amount, percent};

/// Width that sentences are broken at.
const LINE: usize = 78;

/// A whole plan, with every choice and warning.
#[must_use]
pub fn plan_in_words(plan: &Plan) -> String {
    let mut out = String::new();
    let inches = |mm: f64| mm / 25.4;
    let _ = writeln!(
        out,
        "Bases {} mm wide, a hex {} mm: a table of {:.0} by {:.0} mm ({:.1} by {:.1} in).",
        amount(plan.base_width_mm),
        amount(plan.table.hex_mm),
        plan.table.width_mm,
        plan.table.depth_mm,
        inches(plan.table.width_mm),
        inches(plan.table.depth_mm)
    );
    let _ = writeln!(
        out,
        "A movement point is {} mm; units halt at {} mm and strike at {} mm.\n",
        amount(plan.movement_point_mm),
        amount(plan.halt_zone_bw * plan.base_width_mm),
        amount(plan.strike_zone_bw * plan.base_width_mm)
    );
    troops(&mut out, plan);
    rounding(&mut out, plan);
    units(&mut out, plan);
    lines(&mut out, plan);
    scales(&mut out, &plan.ground);
    for warning in &plan.warnings {
        out.push('\n');
        wrapped(
            &mut out,
            &format!("Warning ({}): {}.", warning.code, warning.text),
        );
    }
    out
}

fn troops(out: &mut String, plan: &Plan) {
    let _ = writeln!(
        out,
        "{:<20} {:>4} {:>9} {:>13} {:>10} {:>12}",
        "troops", "MP", "move mm", "base mm", "range mm", "command mm"
    );
    for troops in &plan.troops {
        let mm = |bw: Option<f64>| bw.map_or(String::new(), |bw| amount(bw * plan.base_width_mm));
        let base = format!(
            "{} x {}",
            amount(troops.width_bw * plan.base_width_mm),
            amount(troops.depth_bw * plan.base_width_mm)
        );
        let _ = writeln!(
            out,
            "{:<20} {:>4} {:>9} {base:>13} {:>10} {:>12}",
            cut(&troops.name, 20),
            amount(troops.movement_points),
            amount(troops.move_mm),
            mm(troops.range_bw),
            mm(troops.command_bw)
        );
    }
}

fn rounding(out: &mut String, plan: &Plan) {
    let _ = writeln!(
        out,
        "\nStrength points to the base: {}. Rounding, and what each way changes:\n",
        amount(plan.strength_per_base)
    );
    let _ = writeln!(
        out,
        "  {:<10} {:>14} {:>14} {:>12} {:>12}",
        "rounding", "first side", "second side", "balance", "worst unit"
    );
    for loss in &plan.losses {
        let mark = if loss.rounding == plan.rounding {
            "*"
        } else {
            " "
        };
        let _ = writeln!(
            out,
            "{mark} {:<10} {:>12} % {:>12} % {:>10} % {:>10} %",
            loss.rounding.words(),
            signed(loss.sides[0]),
            signed(loss.sides[1]),
            signed(loss.balance),
            percent(loss.worst_unit)
        );
    }
    let _ = writeln!(
        out,
        "\n  {:<10} {:>7} {:>9} {:>12} {:>12} {:>11}  full hex",
        "a base of", "bases", "rounded", "first side", "second side", "worst unit"
    );
    for choice in &plan.choices {
        let _ = writeln!(
            out,
            "  {:<10} {:>7} {:>9} {:>10} % {:>10} % {:>9} %  {}",
            amount(choice.strength_per_base),
            choice.bases,
            choice.rounding.words(),
            signed(choice.sides[0]),
            signed(choice.sides[1]),
            percent(choice.worst_unit),
            if choice.hex_holds {
                "holds"
            } else {
                "too deep"
            }
        );
    }
}

fn units(out: &mut String, plan: &Plan) {
    let _ = writeln!(
        out,
        "\n{:<24} {:>6} {:>9} {:>6} {:>14} {:>10}",
        "unit", "count", "strength", "bases", "files x ranks", "front mm"
    );
    let fighting = plan.units.iter().filter(|unit| unit.arm != Arm::Commander);
    for unit in fighting {
        let block = format!("{} x {}", unit.block.files, unit.block.ranks);
        let _ = writeln!(
            out,
            "{:<24} {:>6} {:>9} {:>6} {block:>14} {:>10}",
            cut(&unit.counter.name, 24),
            unit.counter.count,
            amount(unit.counter.strength),
            unit.block.bases,
            amount(unit.front_mm)
        );
    }
}

fn lines(out: &mut String, plan: &Plan) {
    out.push('\n');
    for line in &plan.lines {
        let _ = writeln!(
            out,
            "{}: {} units, {} bases, {:.0} mm in one line, {:.0} % of the table's width.",
            cut(&line.side, 24),
            line.units,
            line.bases,
            line.front_mm,
            line.share * 100.0
        );
    }
    if let Some(turns) = plan.turns_to_contact {
        let _ = writeln!(
            out,
            "Lines that walk towards each other meet after {turns:.1} turns."
        );
    }
}

fn scales(out: &mut String, ground: &GroundAndTime) {
    out.push('\n');
    let hex = ground.hex_m.map_or("?".to_owned(), |metres| {
        format!("{metres:.1} m ({:.0} yd)", metres / super::METRES_PER_YARD)
    });
    wrapped(
        out,
        &format!("A hex is {hex} of ground: {}.", ground.ground_from),
    );
    if let Some(scale) = ground.metres_per_mm {
        let _ = writeln!(
            out,
            "A millimetre of table is {scale:.2} m; the ground scale is 1:{:.0}.",
            scale * 1000.0
        );
    }
    let minutes = ground.minutes.map_or("?".to_owned(), |m| format!("{m:.1}"));
    wrapped(
        out,
        &format!("A turn is {minutes} minutes: {}.", ground.minutes_from),
    );
    if !ground.marches.is_empty() {
        let _ = writeln!(
            out,
            "\n{:<20} {:<22} {:>8} {:>9} {:>12}",
            "marches", "", "m a turn", "minutes", "of the turn"
        );
    }
    for march in &ground.marches {
        let share = march
            .share
            .map_or(String::new(), |s| format!("{} %", percent(s)));
        let _ = writeln!(
            out,
            "{:<20} {:<22} {:>8.0} {:>9.1} {share:>12}",
            cut(&march.troops, 20),
            march.gait.words(),
            march.turn_m,
            march.minutes
        );
    }
    let mut sources: Vec<&str> = ground.marches.iter().map(|march| march.source).collect();
    sources.sort_unstable();
    sources.dedup();
    for source in sources {
        let _ = writeln!(out, "Rates: {source}.");
    }
    for front in &ground.fronts {
        wrapped(
            out,
            &format!(
                "{}: {:.0} men stand on {:.0} m, their bases on {:.0} m of ground.",
                front.unit, front.men, front.men_m, front.bases_m
            ),
        );
    }
}

/// The largest base for a table.
#[must_use]
pub fn fit_in_words(board: &Board, fit: &Fit) -> String {
    let mut out = format!(
        "The largest base is {:.2} mm wide; the table's {} sets the limit.\n",
        fit.exact_mm,
        if fit.width_limits { "width" } else { "depth" }
    );
    let _ = writeln!(
        out,
        "At {} mm, with {} to the hex, the map takes {:.0} by {:.0} mm and leaves\n{:.0} mm across and {:.0} mm in depth.",
        amount(fit.base_width_mm),
        board.laying.bases_per_hex,
        fit.taken.width_mm,
        fit.taken.depth_mm,
        fit.spare_width_mm,
        fit.spare_depth_mm
    );
    if let Some(common_mm) = fit.common_mm {
        let _ = writeln!(
            out,
            "The largest common width that fits is {} mm.",
            amount(common_mm)
        );
    }
    out
}

fn signed(share: f64) -> String {
    let text = format!("{:+.1}", share * 100.0);
    if text == "+0.0" || text == "-0.0" {
        "0.0".to_owned()
    } else {
        text
    }
}

/// A name cut to a width, without anything that could steer a terminal.
fn cut(text: &str, room: usize) -> String {
    let plain: String = text.chars().filter(|c| !c.is_control()).collect();
    if plain.chars().count() <= room {
        plain
    } else {
        let kept: String = plain.chars().take(room - 1).collect();
        format!("{}…", kept.trim_end())
    }
}

/// A sentence broken at spaces.
fn wrapped(out: &mut String, text: &str) {
    let mut width = 0;
    for word in text.split_whitespace() {
        let plain: String = word.chars().filter(|c| !c.is_control()).collect();
        let long = plain.chars().count();
        if width > 0 && width + 1 + long > LINE {
            out.push('\n');
            width = 0;
        } else if width > 0 {
            out.push(' ');
            width += 1;
        }
        out.push_str(&plain);
        width += long;
    }
    out.push('\n');
}
