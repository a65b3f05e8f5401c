//! The table of results.

use crate::game::Event;
use crate::referee::testing::{always, bare_ground, battle, block, game_on, pair, scenario};
use crate::ruleset::{
    Column, Dice, Fate, Losses, Outcome, Results, ResultsKind, Row, Ruleset, Throw,
};

use super::tables::{after, attacker, defender, falls_back, fought, in_contact, one_fight};
use super::{Setting, setting};

/// The column and the dice of one battle of four bases against two.
fn thrown(rules: Ruleset) -> String {
    let units = vec![
        block("r1", "foot", (2, 2), (500.0, 500.0, 0.0)),
        pair("b1", "foot", (500.0, 510.0, 180.0)),
    ];
    let mut game = game_on(rules, scenario(units), bare_ground());
    let events = fought(&mut game, one_fight());
    match &events[0] {
        Event::BattleFought { report } => format!(
            "{} dice {} to {}, column {}, {}",
            report.dice.len(),
            report.dice.iter().min().copied().unwrap_or(0),
            report.dice.iter().max().copied().unwrap_or(0),
            report.column,
            report.outcome
        ),
        other => format!("{other:?}"),
    }
}

/// A table of so many columns and dice whose outcomes are named by row and column.
fn table(kind: ResultsKind, columns: &[&str], (count, faces): (u32, u32)) -> Results {
    let split = count * faces / 2;
    let names = |row: &str| -> Vec<String> {
        (1..=columns.len())
            .map(|column| format!("{row} {column}"))
            .collect()
    };
    let row = |throw, name: &str| Row {
        throw,
        outcomes: names(name),
    };
    let rows = vec![
        row(Throw::Between([count, split]), "low"),
        row(Throw::Between([split + 1, count * faces]), "high"),
    ];
    Results {
        kind,
        dice: Dice { count, faces },
        columns: columns
            .iter()
            .map(|text| Column::parse(text).expect("a column"))
            .collect(),
        outcome: rows
            .iter()
            .flat_map(|row| &row.outcomes)
            .map(|name| (name.clone(), Outcome::default()))
            .collect(),
        row: rows,
        losses: Losses::EachUnit,
    }
}

const ODDS: [&str; 2] = ["1:1", "2:1"];

/// What comes of a fight in the open between the two that are in contact.
fn after_contact(rules: Ruleset) -> String {
    after(rules, in_contact(), one_fight())
}

fn loses(bases: u32) -> Fate {
    Fate {
        loses: bases,
        ..Fate::default()
    }
}

fn eliminated() -> Fate {
    Fate {
        eliminated: true,
        ..Fate::default()
    }
}

pub(super) fn settings() -> Vec<Setting> {
    vec![
        setting(
            "results.kind",
            thrown,
            vec![
                (
                    |r| r.results = table(ResultsKind::Odds, &ODDS, (1, 6)),
                    "1 dice 2 to 2, column 2:1, low 2",
                ),
                (
                    |r| r.results = table(ResultsKind::Differential, &["0", "2", "5"], (1, 6)),
                    "1 dice 2 to 2, column +2, low 2",
                ),
            ],
        ),
        setting(
            "results.columns",
            thrown,
            vec![
                (
                    |r| r.results = table(ResultsKind::Odds, &ODDS, (1, 6)),
                    "1 dice 2 to 2, column 2:1, low 2",
                ),
                (
                    |r| r.results = table(ResultsKind::Odds, &["1:2", "3:2", "3:1"], (1, 6)),
                    "1 dice 2 to 2, column 3:2, low 2",
                ),
            ],
        ),
        setting(
            "results.dice.count",
            thrown,
            vec![
                (
                    |r| r.results = table(ResultsKind::Odds, &ODDS, (1, 6)),
                    "1 dice 2 to 2, column 2:1, low 2",
                ),
                (
                    |r| r.results = table(ResultsKind::Odds, &ODDS, (3, 6)),
                    "3 dice 2 to 5, column 2:1, high 2",
                ),
            ],
        ),
        setting(
            "results.dice.faces",
            thrown,
            vec![
                (
                    |r| r.results = table(ResultsKind::Odds, &ODDS, (1, 6)),
                    "1 dice 2 to 2, column 2:1, low 2",
                ),
                (
                    |r| r.results = table(ResultsKind::Odds, &ODDS, (1, 20)),
                    "1 dice 8 to 8, column 2:1, low 2",
                ),
            ],
        ),
        setting(
            "results.row[].throw",
            thrown,
            vec![
                (
                    |r| r.results = table(ResultsKind::Odds, &ODDS, (1, 6)),
                    "1 dice 2 to 2, column 2:1, low 2",
                ),
                (
                    |r| {
                        r.results = table(ResultsKind::Odds, &ODDS, (1, 6));
                        r.results.row[0].throw = Throw::Total(1);
                        r.results.row[1].throw = Throw::Between([2, 6]);
                    },
                    "1 dice 2 to 2, column 2:1, high 2",
                ),
            ],
        ),
        setting(
            "results.row[].outcomes",
            thrown,
            vec![
                (
                    |r| r.results = table(ResultsKind::Odds, &ODDS, (1, 6)),
                    "1 dice 2 to 2, column 2:1, low 2",
                ),
                (
                    |r| {
                        r.results = table(ResultsKind::Odds, &ODDS, (1, 6));
                        r.results.row[0].outcomes.swap(0, 1);
                    },
                    "1 dice 2 to 2, column 2:1, low 1",
                ),
            ],
        ),
        setting(
            "results.losses",
            |mut rules| {
                let losses = rules.results.losses;
                defender(&mut rules, loses(1));
                rules.results.losses = losses;
                let mut units = in_contact();
                units.push(pair("b2", "foot", (580.0, 510.0, 180.0)));
                after(rules, units, battle(&["r1"], &["b2", "b1"]))
            },
            vec![
                (
                    |r| r.results.losses = Losses::EachUnit,
                    "r1 500 500 × 2, b1 500 510 × 1",
                ),
                // the first named of equals loses it
                (
                    |r| r.results.losses = Losses::Side,
                    "r1 500 500 × 2, b1 500 510 × 2",
                ),
            ],
        ),
        setting(
            "results.outcome.NAME.exchange",
            after_contact,
            vec![
                (|_| {}, "r1 500 500 × 2, b1 500 510 × 2"),
                (
                    |r| {
                        r.results = always(Outcome {
                            exchange: true,
                            ..Outcome::default()
                        });
                    },
                    "r1 gone, b1 gone",
                ),
            ],
        ),
        setting(
            "results.outcome.NAME.attacker.falls_back",
            after_contact,
            vec![
                (|_| {}, "r1 500 500 × 2, b1 500 510 × 2"),
                (
                    |r| attacker(r, falls_back(1.0)),
                    "r1 500 460 × 2, b1 500 510 × 2",
                ),
                (
                    |r| attacker(r, falls_back(2.0)),
                    "r1 500 420 × 2, b1 500 510 × 2",
                ),
            ],
        ),
        setting(
            "results.outcome.NAME.attacker.loses",
            after_contact,
            vec![
                (|_| {}, "r1 500 500 × 2, b1 500 510 × 2"),
                (|r| attacker(r, loses(1)), "r1 500 500 × 1, b1 500 510 × 2"),
                (|r| attacker(r, loses(2)), "r1 gone, b1 500 510 × 2"),
            ],
        ),
        setting(
            "results.outcome.NAME.attacker.eliminated",
            after_contact,
            vec![
                (|_| {}, "r1 500 500 × 2, b1 500 510 × 2"),
                (|r| attacker(r, eliminated()), "r1 gone, b1 500 510 × 2"),
            ],
        ),
        setting(
            "results.outcome.NAME.defender.falls_back",
            after_contact,
            vec![
                (|_| {}, "r1 500 500 × 2, b1 500 510 × 2"),
                (
                    |r| defender(r, falls_back(1.0)),
                    "r1 500 500 × 2, b1 500 550 × 2",
                ),
                (
                    |r| defender(r, falls_back(1.5)),
                    "r1 500 500 × 2, b1 500 570 × 2",
                ),
            ],
        ),
        setting(
            "results.outcome.NAME.defender.loses",
            after_contact,
            vec![
                (|_| {}, "r1 500 500 × 2, b1 500 510 × 2"),
                (|r| defender(r, loses(1)), "r1 500 500 × 2, b1 500 510 × 1"),
            ],
        ),
        setting(
            "results.outcome.NAME.defender.eliminated",
            after_contact,
            vec![
                (|_| {}, "r1 500 500 × 2, b1 500 510 × 2"),
                (|r| defender(r, eliminated()), "r1 500 500 × 2, b1 gone"),
            ],
        ),
    ]
}
