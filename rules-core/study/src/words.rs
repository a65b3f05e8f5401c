//! Studies as text for an 80-column terminal.

use std::fmt::Write;

use fieldpost_rules::ruleset::ResultsKind;

use super::chain::{Chain, Figure, Losing};
use super::chances::Chances;
use super::compare::Comparison;
use super::worth::Worth;

/// The table as chances and expected losses, one line a column.
#[must_use]
pub fn chances_in_words(chances: &Chances) -> String {
    let mut out = String::new();
    let of = match chances.kind {
        ResultsKind::Odds => "odds",
        ResultsKind::Differential => "diff.",
    };
    let _ = writeln!(
        out,
        "Chances with {}, in per cent; losses in bases on average{}.\n",
        chances.dice,
        counted_for(chances)
    );
    let _ = writeln!(
        out,
        "{:>8} | {:>7} | {:^23} | {:^23} | {:>5}",
        "", "ground", "attackers", "defenders", "no"
    );
    let _ = writeln!(
        out,
        "{of:>8} | {:>7} | {:>6} {:>7} {:>8} | {:>6} {:>7} {:>8} | {:>5}",
        "taken", "back", "removed", "lose", "back", "removed", "lose", "harm"
    );
    let rule = "-".repeat(8);
    let side = "-".repeat(25);
    let _ = writeln!(out, "{rule}-+---------+{side}+{side}+------");
    for column in &chances.columns {
        let (a, d) = (&column.attacker, &column.defender);
        let _ = writeln!(
            out,
            "{:>8} | {:>7} | {:>6} {:>7} {:>8} | {:>6} {:>7} {:>8} | {:>5}",
            column.head,
            percent(column.ground_taken.value()),
            percent(a.falls_back.value()),
            percent(a.removed.value()),
            bases(a.expected_loss.value()),
            percent(d.falls_back.value()),
            percent(d.removed.value()),
            bases(d.expected_loss.value()),
            percent(column.nothing.value()),
        );
    }
    let exchanges = chances.columns.iter().any(|c| !c.exchange.is_zero());
    if exchanges && chances.forces.is_none() {
        out.push_str(
            "\nExchanges and eliminations are not in the losses: name the forces to count them.\n",
        );
    }
    out
}

fn counted_for(chances: &Chances) -> String {
    let Some(forces) = &chances.forces else {
        return ",\nas the table states them".to_owned();
    };
    let side = |force: &super::Force| {
        let units = if force.units == 1 { "unit" } else { "units" };
        format!("{} {units} of {} bases", force.units, force.bases)
    };
    format!(
        ",\n{} attacking {}",
        side(&forces.attacker),
        side(&forces.defender)
    )
}

/// A chain of battles.
#[must_use]
pub fn chain_in_words(chain: &Chain) -> String {
    let mut out = format!("Success: {}.\n\n", chain.aim.words());
    let _ = writeln!(
        out,
        "{:>6}  {:>8}  {:>9}  {:>14}",
        "battle", "column", "success", "all so far"
    );
    for (number, battle) in (1..).zip(&chain.battles) {
        let number: u32 = number;
        let _ = writeln!(
            out,
            "{number:>6}  {:>8}  {:>7} %  {:>12} %",
            battle.head,
            percent(battle.success.value()),
            percent(battle.all_so_far.value)
        );
    }
    let _ = writeln!(
        out,
        "\n{:>9}  {:>12}  {:>12}",
        "successes", "exactly", "at least"
    );
    for (count, (exactly, at_least)) in chain.exactly.iter().zip(&chain.at_least).enumerate() {
        let _ = writeln!(
            out,
            "{count:>9}  {:>10} %  {:>10} %{}",
            percent(exactly.value),
            percent(at_least.value),
            exact_if_short(at_least)
        );
    }
    let _ = writeln!(
        out,
        "\nOn average {:.2} of {} succeed.\n",
        chain.expected_successes,
        chain.battles.len()
    );
    let _ = writeln!(
        out,
        "{:<22}  {:>8}  {:>14}  {:>14}",
        "", "battles", "attackers lose", "defenders lose"
    );
    losing(&mut out, "all fought", &chain.all_fought);
    losing(
        &mut out,
        "stopping at a failure",
        &chain.stopping_at_failure,
    );
    out
}

fn exact_if_short(figure: &Figure) -> String {
    match figure.exact {
        Some(exact) if exact.to_string().len() <= 21 => format!("   {exact}"),
        _ => String::new(),
    }
}

fn losing(out: &mut String, when: &str, losing: &Losing) {
    let _ = writeln!(
        out,
        "{when:<22}  {:>8.2}  {:>14.2}  {:>14.2}",
        losing.battles, losing.attacker, losing.defender
    );
}

/// What a shift or a multiplier is worth.
#[must_use]
pub fn worth_in_words(worth: &Worth) -> String {
    let mut out = format!(
        "What {} is worth.\nChance that {}, in per cent; losses in bases.\n\n",
        worth.of,
        worth.aim.words()
    );
    let _ = writeln!(
        out,
        "{:>8}  {:>8}  {:>7}  {:>7}  {:>7}  {:>14}  {:>14}",
        "column", "becomes", "before", "after", "gain", "attackers lose", "defenders lose"
    );
    for row in &worth.rows {
        let _ = writeln!(
            out,
            "{:>8}  {:>8}  {:>7}  {:>7}  {:>7}  {:>14}  {:>14}",
            row.head,
            row.to,
            percent(row.before.value()),
            percent(row.after.value()),
            signed(row.gain * 100.0, 1),
            signed(row.attacker_loss, 2),
            signed(row.defender_loss, 2)
        );
    }
    let _ = writeln!(
        out,
        "\nOver all columns it changes the chance by {} points on average.",
        signed(worth.mean_gain * 100.0, 1)
    );
    out
}

/// Two tables side by side.
#[must_use]
pub fn comparison_in_words(comparison: &Comparison, first: &str, second: &str) -> String {
    let mut out = format!(
        "First: {first}. Second: {second}.\nChance that {}, in per cent; bases lost.\n\n",
        comparison.aim.words()
    );
    let _ = writeln!(
        out,
        "{:>8}  {:>7}  {:>7}  {:>7}  {:>9}  {:>9}",
        "column", "first", "second", "change", "attackers", "defenders"
    );
    for row in &comparison.rows {
        let note = if row.first_column == row.head && row.second_column == row.head {
            String::new()
        } else {
            format!("  as {} / {}", row.first_column, row.second_column)
        };
        let _ = writeln!(
            out,
            "{:>8}  {:>7}  {:>7}  {:>7}  {:>9}  {:>9}{note}",
            row.head,
            percent(row.first.value()),
            percent(row.second.value()),
            signed(row.change * 100.0, 1),
            signed(row.attacker_loss, 2),
            signed(row.defender_loss, 2)
        );
    }
    let _ = writeln!(
        out,
        "\nOn average the chance changes by {} points; at most by {}.",
        signed(comparison.mean_change * 100.0, 1),
        signed(comparison.largest_change * 100.0, 1)
    );
    out
}

/// Per cent with a tenth; what is not quite nothing or not quite certain says so.
fn percent(chance: f64) -> String {
    let tenths = (chance * 1000.0).round() / 10.0;
    if tenths == 0.0 && chance > 0.0 {
        "<0.1".to_owned()
    } else if tenths == 100.0 && chance < 1.0 {
        ">99.9".to_owned()
    } else {
        format!("{tenths:.1}")
    }
}

fn bases(number: f64) -> String {
    format!("{number:.2}")
}

/// A change with its sign; one that rounds to nothing has none.
fn signed(change: f64, places: usize) -> String {
    let text = format!("{change:+.places$}");
    if text.chars().all(|c| matches!(c, '+' | '-' | '0' | '.')) {
        format!("{:.places$}", 0.0)
    } else {
        text
    }
}
