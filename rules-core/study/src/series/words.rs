//! Trials as text for an 80-column terminal.

use std::fmt::Write;

use crate::{Mean, Paired};
use fieldpost_rules::referee::victory::Manner;
use fieldpost_rules::verdict::rounding::percent;

use super::compare::{Compared, Difference};
use super::report::{Report, SideReport, Tallied};

/// Columns of the text.
const WIDTH: usize = 80;
/// Longest name of a side in the tables.
const NAME: usize = 22;
/// A space at which no line is broken.
const HOLD: char = '\u{a0}';
/// Width of a comparison's labels.
const LABEL: usize = 24;

/// A series summed up.
#[must_use]
pub fn report_in_words(report: &Report) -> String {
    let mut out = format!("{}.\n", title(report));
    stuck(&mut out, report);
    if report.battles == 0 {
        return out;
    }
    sides(&mut out, report);
    endings(&mut out, report);
    laws(&mut out, report);
    results(&mut out, report);
    out
}

fn title(report: &Report) -> String {
    format!(
        "{}, by {}: {} of seed {}",
        report.scenario,
        report.ruleset,
        battles(report.battles),
        report.seed
    )
}

fn battles(count: u64) -> String {
    match count {
        1 => "1 battle".to_owned(),
        count => format!("{count} battles"),
    }
}

/// What could not be fought, so that nobody takes the rest for the whole.
fn stuck(out: &mut String, report: &Report) {
    let Some(first) = report.stuck.first() else {
        return;
    };
    let count = u64::try_from(report.stuck.len()).unwrap_or(u64::MAX);
    let _ = writeln!(
        out,
        "{} more stuck and count nowhere: no sheet was found that the referee would accept.\n\
         The first was battle {}, in its player turn {}.",
        battles(count),
        first.number,
        first.player_turn
    );
}

fn sides(out: &mut String, report: &Report) {
    let _ = writeln!(out, "\n{:>79}", "out of");
    let _ = writeln!(
        out,
        "{:<NAME$} {:>6} {:>6} {:>15} {:>8} {:>7} {:>9}",
        "", "wins", "%", "95 % interval", "points", "lost %", "command %"
    );
    for side in &report.sides {
        let _ = writeln!(out, "{}", side_line(side));
    }
    let draws = &report.draws;
    let _ = writeln!(
        out,
        "{:<NAME$} {:>6} {:>6} {:>15}",
        "draws",
        draws.count,
        percent(draws.share),
        between(draws.low, draws.high)
    );
    out.push('\n');
    lean(out, report);
    let turns = &report.game_turns;
    let sure = match (turns.low, turns.high) {
        (Some(low), Some(high)) if high - low >= 0.1 => format!(" ({low:.1} to {high:.1})"),
        _ => String::new(),
    };
    let [first, second] = &report.sides;
    wrapped(
        out,
        &format!(
            "A battle lasts {:.1} game turns{sure} of {}. The sides lose {:.1} and {:.1} bases on average, {:.1} and {:.1} whole units.",
            turns.mean,
            report.game_turns_most,
            first.bases_lost.mean,
            second.bases_lost.mean,
            first.units_lost.mean,
            second.units_lost.mean,
        ),
    );
}

/// Whether the scenario favours a side, by the battles that somebody won.
fn lean(out: &mut String, report: &Report) {
    let first = &report.first_of_decided;
    if first.of == 0 {
        return;
    }
    let [one, other] = &report.sides;
    let (name, share, low, high) = if first.share >= 0.5 {
        (&one.name, first.share, first.low, first.high)
    } else {
        (
            &other.name,
            1.0 - first.share,
            1.0 - first.high,
            1.0 - first.low,
        )
    };
    let verdict = if low > 0.5 {
        "the scenario leans that way"
    } else {
        "no clear lean"
    };
    let text = format!(
        "Of {} that somebody won, {}{HOLD}% ({}) went to {name}: {verdict}.",
        battles(first.of),
        percent(share),
        between(low, high)
    );
    wrapped(out, &text);
    first_mover(out, report);
}

/// What moving first is worth; where one side always did, that it is not told apart from what the scenario gives that side.
fn first_mover(out: &mut String, report: &Report) {
    let [one, other] = &report.sides;
    let always = match report.first_side_began {
        began if began == report.battles => Some(&one.name),
        0 => Some(&other.name),
        _ => None,
    };
    let text = match always {
        Some(name) => format!("{name} moved first in all of them."),
        None => {
            let share = &report.first_mover;
            format!(
                "Whoever moved first won {}{HOLD}% of them ({}).",
                percent(share.share),
                between(share.low, share.high)
            )
        }
    };
    wrapped(out, &text);
}

fn side_line(side: &SideReport) -> String {
    format!(
        "{:<NAME$} {:>6} {:>6} {:>15} {:>8.1} {:>7} {:>9}",
        short(&side.name),
        side.wins.count,
        percent(side.wins.share),
        between(side.wins.low, side.wins.high),
        side.points.mean,
        percent(side.strength_lost.mean),
        percent(side.out_of_command.mean)
    )
}

fn endings(out: &mut String, report: &Report) {
    let _ = writeln!(out, "\n{:<38} {:>9} {:>9}", "ended by", "battles", "%");
    for ended in report.endings.iter().filter(|one| one.share.count > 0) {
        let words = match ended.manner {
            Manner::Broken => "a broken army",
            Manner::NobodyLeft => "a side with no unit left",
            Manner::PointsReached => "the points that win at once",
            Manner::LastTurn => "the last game turn",
        };
        let share = &ended.share;
        let _ = writeln!(
            out,
            "{words:<38} {:>9} {:>9}",
            share.count,
            percent(share.share)
        );
    }
}

fn laws(out: &mut String, report: &Report) {
    let _ = writeln!(
        out,
        "\n{:<38} {:>9} {:>9}",
        "laws used", "a battle", "battles %"
    );
    let mut never = Vec::new();
    for used in &report.laws {
        if used.times == 0 {
            never.push(used.law.words());
            continue;
        }
        let _ = writeln!(
            out,
            "{:<38} {:>9.2} {:>9}",
            used.law.words(),
            used.a_battle.mean,
            percent(used.in_battles.share)
        );
    }
    if !never.is_empty() {
        wrapped(out, &format!("Never: {}.", never.join(", ")));
    }
}

fn results(out: &mut String, report: &Report) {
    let list = |of: &[Tallied]| {
        let used = of.iter().filter(|one| one.times > 0);
        let parts: Vec<String> = used
            .map(|one| format!("{} {}{HOLD}%", one.name, percent(one.share)))
            .collect();
        parts.join(", ")
    };
    let columns = list(&report.columns);
    if columns.is_empty() {
        return;
    }
    out.push('\n');
    wrapped(out, &format!("Columns of the results table: {columns}."));
    wrapped(out, &format!("Outcomes: {}.", list(&report.outcomes)));
}

/// Two series of one seed; their files, or whatever else tells them apart, are named.
#[must_use]
pub fn compared_in_words(compared: &Compared, first: &str, second: &str) -> String {
    let mut out = String::new();
    for (place, files, report) in [
        ("First", first, &compared.first),
        ("Second", second, &compared.second),
    ] {
        wrapped(&mut out, &format!("{place}, {files}: {}.", title(report)));
        stuck(&mut out, report);
    }
    let _ = writeln!(
        out,
        "{} compared one by one; a change is the second less the first.\n",
        battles(compared.pairs)
    );
    let _ = writeln!(
        out,
        "{:<LABEL$} {:>7} {:>7} {:>8}   95 % interval",
        "", "first", "second", "change"
    );
    let names = [0, 1].map(|side| short(&compared.first.sides[side].name));
    for (side, name) in names.iter().enumerate() {
        let _ = writeln!(out, "{name}");
        paired(&mut out, "  wins %", &compared.wins[side]);
        difference(&mut out, "  points", &compared.points[side], 1.0);
        let (lost, lacking) = (
            &compared.strength_lost[side],
            &compared.out_of_command[side],
        );
        difference(&mut out, "  strength lost %", lost, 100.0);
        difference(&mut out, "  out of command %", lacking, 100.0);
    }
    paired(&mut out, "draws %", &compared.draws);
    difference(&mut out, "game turns", &compared.game_turns, 1.0);
    out.push('\n');
    for (name, wins) in names.iter().zip(&compared.wins) {
        let _ = writeln!(
            out,
            "{name} won {} in both, {} in the first only, {} in the second only;\n\
             were neither favoured, so uneven a split would come in {} % of series.",
            wins.both,
            wins.first_only,
            wins.second_only,
            percent(wins.chance_if_equal)
        );
    }
    out
}

fn paired(out: &mut String, label: &str, paired: &Paired) {
    let all = paired.both + paired.first_only + paired.second_only + paired.neither;
    let share = |count| crate::Share::of(count, all).share;
    let (first, second) = (
        share(paired.both + paired.first_only),
        share(paired.both + paired.second_only),
    );
    line(
        out,
        label,
        [first, second, paired.difference].map(|share| share * 100.0),
        Some((paired.low * 100.0, paired.high * 100.0)),
    );
}

fn difference(out: &mut String, label: &str, of: &Difference, scale: f64) {
    let Mean {
        mean, low, high, ..
    } = of.difference;
    let interval = low.zip(high);
    line(
        out,
        label,
        [of.first, of.second, mean].map(|figure| figure * scale),
        interval.map(|(low, high)| (low * scale, high * scale)),
    );
}

fn line(out: &mut String, label: &str, figures: [f64; 3], interval: Option<(f64, f64)>) {
    let [first, second, change] = figures;
    let told = match interval {
        None => String::new(),
        Some((low, high)) => {
            let unclear = low <= 0.0 && high >= 0.0;
            let remark = if unclear { "unclear" } else { "clear" };
            format!("{:>6} to {:>6} {remark}", signed(low), signed(high))
        }
    };
    let row = format!(
        "{label:<LABEL$} {first:>7.1} {second:>7.1} {:>8}   {told}",
        signed(change)
    );
    let _ = writeln!(out, "{}", row.trim_end());
}

/// A change with its sign; one that rounds to nothing has none.
fn signed(change: f64) -> String {
    let text = format!("{change:+.1}");
    if text == "+0.0" || text == "-0.0" {
        "0.0".to_owned()
    } else {
        text
    }
}

fn between(low: f64, high: f64) -> String {
    format!("{} to {}", percent(low), percent(high))
}

/// A name cut to fit.
fn short(name: &str) -> String {
    if name.chars().count() <= NAME {
        return name.to_owned();
    }
    let mut cut: String = name.chars().take(NAME - 1).collect();
    cut.push('…');
    cut
}

/// A paragraph broken between words.
fn wrapped(out: &mut String, text: &str) {
    let mut width = 0;
    for word in text.split(' ') {
        let length = word.chars().count();
        if width > 0 && width + 1 + length > WIDTH {
            out.push('\n');
            width = 0;
        } else if width > 0 {
            out.push(' ');
            width += 1;
        }
        out.extend(word.chars().map(|c| if c == HOLD { ' ' } else { c }));
        width += length;
    }
    out.push('\n');
}
