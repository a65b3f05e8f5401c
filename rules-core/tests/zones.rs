//! Tables about zones, locks and ends, each with the answer that follows from the laws of measurement: these
//! were once judged otherwise.

use fieldpost_rules::authored;
use fieldpost_rules::game::Game;
use fieldpost_rules::orders::{Order, SideId, TurnSheet};
use fieldpost_rules::referee;
use serde::Deserialize;
use serde_json::Value;

#[derive(Deserialize)]
struct Tables {
    tables: Vec<Table>,
}

#[derive(Deserialize)]
struct Table {
    ruleset: String,
    scenario: String,
    sheets: Vec<Vec<Order>>,
}

/// What each sheet comes to: verdict and headline code of every move, and its excess.
type Answer = (&'static str, &'static str, f64);

const LEGAL: Answer = ("legal", "", 0.0);
const ALL_LEGAL: &[Answer] = &[LEGAL];
/// A leg of a kind that is forbidden has no figures.
const FORBIDDEN: f64 = f64::NAN;

fn moves(table: &Table, sheet: &[Order]) -> Vec<Value> {
    let field = authored::open_battle(("ruleset", &table.ruleset), ("scenario", &table.scenario))
        .unwrap_or_else(|faults| panic!("{faults:?}"));
    let game = Game::new(field.into());
    let sheet = TurnSheet {
        game_turn: 1,
        side: SideId::from("red"),
        orders: sheet.to_vec(),
    };
    let verdict = serde_json::to_value(referee::judge_sheet(&game, &sheet)).expect("json");
    verdict["moves"].as_array().cloned().expect("moves")
}

fn check(text: &str, expected: &[&[&[Answer]]]) {
    let tables: Tables = serde_json::from_str(text).expect("tables");
    assert_eq!(tables.tables.len(), expected.len());
    for (number, (table, expected)) in tables.tables.iter().zip(expected).enumerate() {
        assert_eq!(table.sheets.len(), expected.len());
        for (place, (sheet, expected)) in table.sheets.iter().zip(*expected).enumerate() {
            let moves = moves(table, sheet);
            let told = format!("table {number}, sheet {place}: {moves:#?}");
            for (number, (verdict, code, excess_mm)) in expected.iter().enumerate() {
                let moved = &moves[number];
                assert_eq!(moved["verdict"], *verdict, "{told}");
                let reason = &moved["reasons"][0];
                if code.is_empty() {
                    assert!(reason.is_null(), "{told}");
                    continue;
                }
                assert_eq!(reason["code"], *code, "{told}");
                match reason["excess_mm"].as_f64() {
                    None => assert!(excess_mm.is_nan(), "{told}"),
                    Some(is_mm) => assert!((is_mm - excess_mm).abs() < 0.011, "{told}"),
                }
            }
        }
    }
}

/// The wide one turned covers x 490 to 510, y 410 to 570; the other turned y 440 to 480: 20 to push apart. Ordered one after the
/// other, the first ends on the second, which stands on y 450 to 470 and x 480 to 520.
#[test]
fn a_body_may_not_end_on_itself() {
    let upon = ("refused", "ends-on-friend", 20.0);
    check(
        include_str!("tables/body-turn.json"),
        &[&[
            &[upon, upon],
            &[upon, upon],
            &[("refused", "ends-on-friend", 30.0), LEGAL],
        ]],
    );
}

#[test]
fn who_is_locked_does_not_slip_away() {
    let banned: &[Answer] = &[("refused", "locked", FORBIDDEN)];
    check(
        include_str!("tables/locked-slips-away.json"),
        &[&[
            banned,
            &[("refused", "locked", 100.4)],
            banned,
            banned,
            banned,
            &[("refused", "locked", 100.0)],
        ]],
    );
}

#[test]
fn what_is_forbidden_is_not_hidden_by_a_measurement() {
    let banned: &[Answer] = &[("refused", "locked", FORBIDDEN)];
    check(
        include_str!("tables/locked-hidden.json"),
        &[&[banned; 3], &[banned; 3]],
    );
}

/// 0.4 mm deep at a long front: along it, in the same block again, and away it is as deep or less.
#[test]
fn in_command_and_out_of_it_the_depth_is_the_same() {
    let within: &[Answer] = &[("marginal", "enemy-zone", 0.4)];
    let without: &[Answer] = &[("marginal", "out-of-command", 0.4)];
    check(
        include_str!("tables/out-of-command-goes-on.json"),
        &[&[within; 3], &[without; 3]],
    );
}

#[test]
fn exactly_along_a_zone_one_may_go() {
    check(
        include_str!("tables/exactly-along-the-zone.json"),
        &[&[ALL_LEGAL; 4]],
    );
}

#[test]
fn cutting_a_leg_that_grazes_a_zone_changes_nothing() {
    let grazes: &[Answer] = &[("marginal", "enemy-zone", 0.3)];
    check(include_str!("tables/graze-split.json"), &[&[grazes; 2]]);
}

#[test]
fn who_aligns_may_then_close() {
    check(
        include_str!("tables/align-then-close.json"),
        &[&[ALL_LEGAL; 3]],
    );
}

/// As far off as it began where its left side is at x 533, after 106 mm; 0.1 mm more is hypot(13.1, 15) less hypot(13, 15).
#[test]
fn a_lock_is_reached_where_the_distance_is_that_of_the_beginning() {
    let text = include_str!("tables/locked-at.json");
    let away = |aside_mm: f64| (aside_mm * aside_mm + 15.0 * 15.0).sqrt();
    let farther_mm = away(13.1) - away(13.0);
    let at_110_mm = away(17.0) - away(13.0);
    check(
        text,
        &[&[
            &[("refused", "locked", at_110_mm)],
            &[LEGAL],
            &[("marginal", "locked", farther_mm)],
            &[LEGAL],
        ]],
    );
    let tables: Tables = serde_json::from_str(text).expect("tables");
    let table = &tables.tables[0];
    let refused = &moves(table, &table.sheets[0])[0];
    assert_eq!(refused["reasons"][0]["at"]["along_mm"], 106.0);
    assert_eq!(refused["furthest"]["x_mm"], 553.0);
    assert_eq!(refused["remedies"][0]["end"], refused["furthest"]);
    let stopped = &moves(table, &table.sheets[3])[0];
    assert_eq!(stopped["legs"][0]["tape_mm"], 106.0);
}

#[test]
fn after_a_stop_at_a_zone_one_may_go_along_it_wherever_the_table_lies() {
    let text = include_str!("tables/up-to-after-stop.json");
    let tables: Tables = serde_json::from_str(text).expect("tables");
    let answers: Vec<&[&[Answer]]> = vec![&[ALL_LEGAL; 2]; tables.tables.len()];
    check(text, &answers);
}
