//! One answer has one figure for one thing: sentences, ledgers and pictures beside each other.

use super::sheet_verdict;
use crate::svg::{SvgOptions, order};
use crate::words::move_verdict;
use fieldpost_rules::game::Game;
use fieldpost_rules::orders::{Order, TurnSheet};
use fieldpost_rules::referee::judge_sheet;
use fieldpost_rules::referee::testing::sheet;
use fieldpost_rules::referee::wild::{Draws, wild_game, wild_orders};
use fieldpost_rules::verdict::{Code, MoveVerdict, SheetVerdict};

fn drawn(seed: u64) -> (Game, TurnSheet, SheetVerdict) {
    let mut draws = Draws::new(seed);
    let game = wild_game(&mut draws);
    let orders: Vec<Order> = wild_orders(&mut draws, &game);
    let sheet = sheet(orders);
    let verdict = judge_sheet(&game, &sheet);
    (game, sheet, verdict)
}

/// The figures at the ends of a ledger's lines, and its last three: charge, allowance and balance.
fn ledger(text: &str) -> Vec<String> {
    let is_figure = |word: &&str| word.parse::<f64>().is_ok();
    let lines = text
        .lines()
        .filter(|line| line.starts_with("  ") && !line.trim_end().ends_with('.'));
    let figures = lines.filter_map(|line| line.split_whitespace().next_back());
    figures.filter(is_figure).map(str::to_owned).collect()
}

#[test]
fn a_refusal_for_its_cost_says_what_its_ledger_says() {
    let mut seen = 0;
    for seed in 0..80 {
        let (game, _, verdict) = drawn(seed);
        for moved in &verdict.moves {
            let over =
                |reason: &&fieldpost_rules::verdict::Reason| reason.code() == Code::OverAllowance;
            let Some(reason) = moved.reasons.iter().find(over) else {
                continue;
            };
            let text = move_verdict(moved, &game);
            let figures = ledger(&text);
            let [.., charge, allowance, balance] = figures.as_slice() else {
                panic!("no ledger in {text}");
            };
            // a minimum move may grant less than what is too much
            if !text.contains("too much, mm") {
                continue;
            }
            let said = format!(
                "It costs {charge} mm of an allowance of {allowance} mm, {balance} mm too much"
            );
            assert!(
                reason.text().starts_with(&said),
                "seed {seed}: {said}\n{text}"
            );
            seen += 1;
        }
    }
    assert!(seen > 20, "{seen}");
}

/// The picture of a verdict has the ledger's figures to the letter, one after another.
#[test]
fn a_picture_tells_the_figures_of_the_words() {
    let mut told = 0;
    for seed in 0..30 {
        let (game, sheet, verdict) = drawn(seed);
        for moved in verdict.moves.iter().filter(|moved| !moved.legs.is_empty()) {
            let alone = |other: &&MoveVerdict| other.order == moved.order;
            if verdict.moves.iter().filter(alone).count() > 1 {
                continue;
            }
            let figures = ledger(&move_verdict(moved, &game));
            let svg = order(&game, &sheet, &verdict, moved.order, &SvgOptions::default());
            let svg = svg.expect("a move can be drawn");
            let mut rest = svg.as_str();
            for figure in &figures {
                let at = rest.find(&format!(">{figure}<"));
                let at = at.unwrap_or_else(|| panic!("seed {seed}: {figure} of {figures:?}"));
                rest = &rest[at + 1..];
            }
            told += figures.len();
        }
    }
    assert!(told > 250, "{told}");
}

/// What is told of a sheet before it is posted and after it is read out of a record is the same.
#[test]
fn an_answer_read_back_is_told_alike() {
    for seed in 0..60 {
        let (game, _, verdict) = drawn(seed);
        let wire = serde_json::to_string(&verdict).expect("json");
        let read: SheetVerdict = serde_json::from_str(&wire).expect("a verdict");
        assert_eq!(
            sheet_verdict(&read, &game),
            sheet_verdict(&verdict, &game),
            "seed {seed}"
        );
    }
}

/// Nobody is told that 20.0 is not 20.0, or that something goes on to less than nothing.
#[test]
fn no_sentence_sets_a_figure_against_itself() {
    use fieldpost_rules::verdict::Reason;
    let over =
        |limit, measured| Reason::length_over(Code::OverAllowance, limit, measured, 0.5).text();
    assert_eq!(
        over(120.0, 120.04),
        "It costs 120.04 mm of an allowance of 120.00 mm, 0.04 mm too much."
    );
    assert_eq!(
        over(120.0, 120.004),
        "It costs 120.0 mm of an allowance of 120.0 mm, less than 0.01 mm too much."
    );
    let into = Reason::length_under(Code::EnemyZone, 20.0, -39.8, 0.5)
        .with("b1")
        .text();
    assert_eq!(
        into,
        "It must stop at the halt zone of b1, 20.0 mm away; this goes on until it overlaps it by 39.8 mm."
    );
    for seed in 0..60 {
        let (game, _, verdict) = drawn(seed);
        let text = sheet_verdict(&verdict, &game);
        assert!(
            !text.contains("to -") && !text.contains("to −"),
            "seed {seed}: {text}"
        );
        assert!(
            !text.contains(" by 0.0 mm") && !text.contains(", 0.0 mm too much"),
            "seed {seed}: {text}"
        );
    }
}
