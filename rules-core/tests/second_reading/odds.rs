//! Strengths, ground under the defender, and the column.

use fieldpost_rules::ruleset::{Column, ResultsKind};

use crate::patches::Patch;
use crate::support::{counted, ranks_before};
use crate::table::{Table, Unit};

/// The odds of a battle.
#[derive(Debug, Clone, PartialEq)]
pub struct Odds {
    pub attack: f64,
    pub defence: f64,
    pub column: String,
}

fn under<'a>(table: &'a Table, unit: &'a Unit) -> impl Iterator<Item = &'a Patch> {
    let middle = unit.rect.centre();
    let on_edge = move |patch: &&Patch| patch.holds(middle) || patch.to_edge(middle) <= 0.001;
    table.patches.iter().filter(on_edge)
}

pub fn odds(
    table: &Table,
    attackers: &[usize],
    defenders: &[usize],
    named: &[usize],
    guns: &[usize],
) -> Odds {
    let side = |units: &[usize], factor: &dyn Fn(&Unit) -> f64| -> f64 {
        let before = ranks_before(table, units);
        units
            .iter()
            .zip(before)
            .map(|(&unit, before)| {
                counted(table, &table.units[unit], before) * factor(&table.units[unit])
            })
            .sum()
    };
    let guns: f64 = guns.iter().map(|&gun| table.units[gun].strength()).sum();
    let attack = side(attackers, &|_| 1.0) + guns;
    let ground = |unit: &Unit| {
        under(table, unit)
            .map(|patch| patch.defence)
            .reduce(f64::max)
            .unwrap_or(1.0)
    };
    let defence = side(defenders, &ground);
    let results = &table.rules.results;
    let reached = |column: &Column| match (results.kind, column) {
        (
            ResultsKind::Odds,
            Column::Odds {
                attack: a,
                defence: d,
            },
        ) => attack * d >= defence * a - 1e-9 * (attack * d).abs(),
        (_, Column::Difference(difference)) => attack - defence >= difference - 1e-9,
        _ => false,
    };
    let strength_column = results
        .columns
        .iter()
        .rposition(|column| reached(column))
        .unwrap_or(0);
    let shift = |&unit: &usize| {
        under(table, &table.units[unit])
            .map(|patch| patch.shift)
            .min()
            .unwrap_or(0)
    };
    let asked = named
        .iter()
        .filter(|&&unit| !table.units[unit].is_commander());
    let shift = asked.map(shift).max().unwrap_or(0);
    let last = results.columns.len() as i64 - 1;
    let column = (strength_column as i64 + i64::from(shift)).clamp(0, last) as usize;
    Odds {
        attack,
        defence,
        column: results.columns[column].to_string(),
    }
}
