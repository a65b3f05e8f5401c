//! Orders as people write them, against what they mean: on the table of a shipped battle.

use std::sync::Arc;

use crate::game::Game;
use crate::orders::text::{TextFault, parse};
use crate::orders::{Order, TurnSheet, print};
use crate::ruleset::Arm as ArmOfTroops;
use crate::shipped;

pub(super) fn quern_bridge() -> Game {
    let battle = shipped::find("quern-bridge").expect("a shipped battle");
    Game::new(Arc::new(battle.open().expect("its files are sound")))
}

fn read(text: &str, game: &Game) -> Result<TurnSheet, Vec<TextFault>> {
    parse("orders", text, game)
}

/// The orders meant, from the words of the second column.
fn meant(words: &str, game: &Game) -> Vec<Order> {
    let orders = |text: &str| {
        read(text, game)
            .unwrap_or_else(|f| panic!("{text}: {}", f[0]))
            .orders
    };
    if words == "nothing for the rest" {
        return Vec::new();
    }
    if let Some(legs) = words.strip_prefix("each foot unit of the side: ") {
        let foot = game.units().filter(|unit| {
            unit.side == game.player()
                && unit.arm == ArmOfTroops::Foot
                && unit.footprint().is_some()
        });
        return foot
            .flat_map(|unit| orders(&format!("{}: {legs}", unit.id)))
            .collect();
    }
    // the battle faces north, and B4 lies to the right of R2
    let words = words.replace("wheel (the nearer way)", "wheel right");
    words.split(" / ").flat_map(orders).collect()
}

/// What is wrong with how a phrase is read, if anything.
fn wrong(phrase: &str, expected: &str, game: &Game) -> Option<String> {
    let found = read(phrase, game);
    if expected == "unclear" {
        return found
            .ok()
            .map(|sheet| format!("{phrase:?} was guessed: {}", print::sheet(&sheet)));
    }
    if expected.starts_with("asked") {
        return match found {
            Ok(sheet) => Some(format!("{phrase:?} was guessed: {}", print::sheet(&sheet))),
            Err(faults) if faults.len() != 1 || faults[0].readings.is_empty() => {
                Some(format!("{phrase:?} is no clear question: {}", faults[0]))
            }
            Err(faults) => faults[0].readings.iter().find_map(|reading| {
                read(reading, game).err().map(|again| {
                    format!(
                        "{phrase:?}: {reading:?} is offered and not read: {}",
                        again[0]
                    )
                })
            }),
        };
    }
    match found {
        Err(faults) => Some(format!("{phrase:?}: {}", faults[0])),
        Ok(sheet) if sheet.orders == meant(expected, game) => None,
        Ok(sheet) => Some(format!(
            "{phrase:?} is not {expected:?} but {}",
            print::sheet(&sheet)
        )),
    }
}

/// Every line of a file of phrases that is not read as it is meant, and how many lines there are.
fn misread(file: &str) -> (Vec<String>, usize) {
    let game = quern_bridge();
    let rows = file
        .lines()
        .filter(|line| !line.starts_with('#') && !line.trim().is_empty());
    let rows: Vec<(&str, &str)> = rows
        .map(|row| {
            row.split_once('\t')
                .expect("a phrase, a tab and what is meant")
        })
        .collect();
    let wrong = rows
        .iter()
        .filter_map(|(phrase, meant)| wrong(phrase, meant, &game));
    (wrong.collect(), rows.len())
}

#[test]
fn phrases_are_read_as_they_are_meant() {
    let (wrong, count) = misread(include_str!("phrases.tsv"));
    assert!(count > 60, "{count}");
    assert!(
        wrong.is_empty(),
        "{} of {count}:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

/// Written after the reader was, without looking at it.
#[test]
fn fresh_phrases_are_read_as_they_are_meant() {
    let (wrong, count) = misread(include_str!("fresh.tsv"));
    assert!(count >= 60, "{count}");
    assert!(
        wrong.is_empty(),
        "{} of {count}:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}
