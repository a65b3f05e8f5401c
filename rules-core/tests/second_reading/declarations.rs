//! Declarations of battles: who must attack, who must be attacked, who reaches whom.

use std::collections::BTreeMap;
use std::sync::Arc;

use fieldpost_rules::game::Game;
use fieldpost_rules::orders::{Order, UnitId};
use serde_json::Value;

use crate::battle_cases::battle;
use crate::cases::Case;
use crate::chance::Chance;
use crate::compare::sheet;
use crate::moves::Ruling;
use crate::plane::distance;
use crate::shrink::smallest_by;
use crate::support::{ranks_before, stands_behind};
use crate::sweep::number;
use crate::table::Table;

type Codes = BTreeMap<String, Ruling>;

/// Codes with their worst rulings, and whether a distance lies near a threshold.
fn judge(table: &Table, orders: &[Order]) -> (Codes, bool) {
    let mut codes = Codes::new();
    let mut near = false;
    let mut add = |code: &str, excess: f64, tolerance: f64| {
        if excess > 1e-6 {
            let ruling = if excess <= tolerance + 1e-6 {
                Ruling::Marginal
            } else {
                Ruling::Refused
            };
            let worst = codes.entry(code.to_owned()).or_insert(ruling);
            *worst = (*worst).max(ruling);
        }
    };
    let find =
        |ids: &[UnitId]| -> Vec<usize> { ids.iter().filter_map(|id| table.find(&id.0)).collect() };
    let battles: Vec<(Vec<usize>, Vec<usize>)> = orders
        .iter()
        .filter_map(|order| match order {
            Order::Battle {
                attackers,
                defenders,
                ..
            } => Some((find(attackers), find(defenders))),
            _ => None,
        })
        .collect();
    let apart = |a: usize, b: usize| distance(&table.units[a].rect, &table.units[b].rect);
    let tolerance = table.tolerance_mm;
    let mut note = |mm: f64| {
        let off = mm - table.strike_mm;
        near |= off.abs() < 0.01 || (off.abs() - tolerance).abs() < 0.01;
    };
    for (attackers, defenders) in &battles {
        let before = ranks_before(table, attackers);
        let front = |i: usize| {
            let behind = |j: &usize| {
                *j != i
                    && stands_behind(
                        table,
                        &table.units[attackers[i]],
                        &table.units[attackers[*j]],
                    )
            };
            (0..attackers.len()).filter(behind).collect::<Vec<_>>()
        };
        for (i, &attacker) in attackers.iter().enumerate() {
            for &defender in defenders {
                note(apart(attacker, defender));
                let mut least = apart(attacker, defender);
                if table.rules.attacks.support && u32::from(before[i]) < table.rules.attacks.depth {
                    for j in front(i) {
                        least = least.min(apart(attackers[j], defender));
                        for k in front(j) {
                            least = least.min(apart(attackers[k], defender));
                        }
                    }
                }
                add("not-in-strike-zone", least - table.strike_mm, tolerance);
            }
        }
    }
    if table.rules.attacks.compulsory {
        let reds = || {
            (0..table.units.len())
                .filter(|&u| table.units[u].side == 0 && table.units[u].has_strength())
        };
        for unit in reds() {
            let enemies: Vec<f64> = table.enemies(0).map(|enemy| apart(unit, enemy)).collect();
            enemies.iter().for_each(|mm| note(*mm));
            let least = enemies.into_iter().fold(f64::INFINITY, f64::min);
            if least <= table.strike_mm
                && !battles
                    .iter()
                    .any(|(attackers, _)| attackers.contains(&unit))
            {
                add(
                    "must-attack",
                    (table.strike_mm - least).max(2e-6),
                    tolerance,
                );
            }
        }
        for enemy in table.enemies(0) {
            let least = reds()
                .map(|unit| apart(unit, enemy))
                .fold(f64::INFINITY, f64::min);
            let attacked = battles.iter().any(|(_, defenders)| {
                crate::fighting::with_support(table, defenders).contains(&enemy)
                    && table.rules.attacks.support
                    || defenders.contains(&enemy)
            });
            if least <= table.strike_mm && !attacked {
                add(
                    "must-be-attacked",
                    (table.strike_mm - least).max(2e-6),
                    tolerance,
                );
            }
        }
    }
    (codes, near)
}

fn theirs(case: &Case) -> Option<(Codes, Value)> {
    let game = Game::new(Arc::new(case.open()?));
    let answer = sheet(&game, &case.orders);
    let mut codes = Codes::new();
    let own = answer["reasons"].as_array().into_iter().flatten();
    let battles = answer["battles"].as_array().into_iter().flatten();
    let all =
        own.chain(battles.flat_map(|battle| battle["reasons"].as_array().into_iter().flatten()));
    for reason in all {
        let ruling = if reason["ruling"] == "refused" {
            Ruling::Refused
        } else {
            Ruling::Marginal
        };
        let worst = codes
            .entry(reason["code"].as_str()?.to_owned())
            .or_insert(ruling);
        *worst = (*worst).max(ruling);
    }
    Some((codes, answer))
}

/// How they differ; `None` where they agree or a distance is near its threshold.
fn difference(case: &Case) -> Option<String> {
    let table = Table::new(&case.open()?);
    let (ours, near) = judge(&table, &case.orders);
    let (theirs, _) = theirs(case)?;
    (ours != theirs && !near).then(|| format!("{theirs:?} for {ours:?}"))
}

fn run(declarations: usize, seed: u64) -> (BTreeMap<String, usize>, String) {
    let mut counts = BTreeMap::new();
    let mut differ: BTreeMap<String, (usize, Case)> = BTreeMap::new();
    let mut judged = 0;
    let mut number = 0;
    while judged < declarations {
        number += 1;
        let mut chance = Chance::new(seed.wrapping_mul(1_000_000_007).wrapping_add(number));
        let (mut case, _) = battle(&mut chance);
        case.settings.insert(
            "attacks.compulsory".to_owned(),
            chance.of(&["true", "true", "false"]).to_owned(),
        );
        case.orders.truncate(1);
        let blues: Vec<UnitId> = case
            .units
            .iter()
            .filter(|u| !u.red)
            .map(|u| UnitId(u.id.clone()))
            .collect();
        if let Order::Battle {
            attackers,
            defenders,
            follow_up,
            ..
        } = &mut case.orders[0]
        {
            *follow_up = None;
            if attackers.len() > 1 && chance.one_in(3) {
                attackers.pop();
            }
            if blues.len() > 1 && chance.one_in(2) {
                defenders.push(blues[1].clone());
            }
        }
        if chance.one_in(6) {
            case.orders.clear();
        }
        let Some((codes, _)) = theirs(&case) else {
            continue;
        };
        judged += 1;
        for (code, ruling) in &codes {
            *counts.entry(format!("{code} {ruling:?}")).or_default() += 1;
        }
        if codes.is_empty() {
            *counts.entry("legal".to_owned()).or_default() += 1;
        }
        if let Some(what) = difference(&case) {
            differ.entry(what).or_insert((0, case)).0 += 1;
        }
    }
    let mut text = String::new();
    for (what, (count, case)) in &differ {
        let small = smallest_by(case, |case| difference(case).as_ref() == Some(what));
        text.push_str(&format!("* {what}: {count}\n{}\n", small.words()));
    }
    (counts, text)
}

#[test]
fn declarations_are_ruled_on_as_the_second_reading_rules() {
    let declarations = number("FIELDPOST_TEST_FEW", 1500) as usize;
    let (counts, differ) = run(declarations, number("FIELDPOST_TEST_SEED", 1));
    assert!(counts.len() > 4, "{counts:?}");
    assert!(differ.is_empty(), "{counts:?}\n{differ}");
}

/// `FIELDPOST_TEST_ORDERS=100000 FIELDPOST_TEST_SEED=7 cargo test --release -p fieldpost-rules --test
/// second_reading -- --ignored --nocapture long_run_of_declarations`
#[test]
#[ignore = "a long run"]
fn long_run_of_declarations() {
    let declarations = number("FIELDPOST_TEST_ORDERS", 10_000) as usize;
    let (counts, differ) = run(declarations, number("FIELDPOST_TEST_SEED", 1));
    println!("{counts:#?}\n{differ}");
    assert!(differ.is_empty(), "they differ");
}
