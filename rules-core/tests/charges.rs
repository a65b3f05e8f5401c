//! Tables on which charges were wrong: lines met at a small angle, and leaving a halt zone at a price. The right answers
//! are worked out here from the laws.

use fieldpost_rules::authored;
use fieldpost_rules::game::Game;
use fieldpost_rules::orders::{Order, SideId, TurnSheet};
use fieldpost_rules::referee;
use fieldpost_rules::verdict::{MoveVerdict, Ruling};
use serde::Deserialize;

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

/// The one verdict on each sheet of a table.
fn verdicts(table: &Table) -> Vec<MoveVerdict> {
    let scenario = ("scenario", table.scenario.as_str());
    let field = authored::open_battle(("ruleset", &table.ruleset), scenario).unwrap();
    let game = Game::new(field.into());
    let judged = table.sheets.iter().map(|orders| {
        let sheet = TurnSheet {
            game_turn: 1,
            side: SideId::from("red"),
            orders: orders.clone(),
        };
        referee::judge_sheet(&game, &sheet).moves.remove(0)
    });
    judged.collect()
}

/// A brook leans by 1 to 10 degrees against the tape and crosses it 60 mm ahead. The foot have 120 mm, the brook costs 80:
/// 60 + 80 cannot be paid, so the leg stops short of the brook. "On the line" is within 0.001 mm of it, so at 1 degree it
/// stops 0.001 / sin 1° = 0.057 mm short, from 5.8 degrees on 0.01 mm.
#[test]
fn up_to_stops_short_of_a_line_at_any_angle() {
    let tables: Tables = serde_json::from_str(include_str!("tables/up-to-shallow.json")).unwrap();
    assert_eq!(tables.tables.len(), 10);
    for (number, table) in tables.tables.iter().enumerate() {
        let verdicts = verdicts(table);
        let stopped = &verdicts[0];
        assert_eq!(stopped.verdict, Ruling::Legal, "{number}: {stopped:#?}");
        assert_eq!(stopped.legs[0].stopped_by.as_deref(), Some("allowance"));
        let short_mm = 60.0 - stopped.charge_mm;
        assert!((0.009..0.06).contains(&short_mm), "{number}: {short_mm}");
        assert!(stopped.legs[0].lines.is_empty(), "{number}: {stopped:#?}");
        // 60 mm ahead it is on the brook and pays for it
        assert_eq!(verdicts[1].verdict, Ruling::Refused, "{number}");
        assert!((verdicts[1].charge_mm - 140.0).abs() < 0.01, "{number}");
    }
}

/// red-1 is 8 mm from blue-2, in its zone. Leaving costs 4 MP of 40 mm, more than the 120 it has, and is due when it is
/// farther by more than 0.005 mm: *back up to* goes no farther than that, which nobody sees. Wheeling left by 0.01° brings the front corner nearer: 40 × 0.01° = 0.007.
#[test]
fn who_cannot_pay_for_leaving_does_not_move_and_is_charged_nothing() {
    let tables: Tables = serde_json::from_str(include_str!("tables/pay-up-to.json")).unwrap();
    let verdicts = verdicts(&tables.tables[0]);
    let back = &verdicts[0];
    assert_eq!(back.verdict, Ruling::Legal, "{back:#?}");
    assert!(
        back.charge_mm < 0.011 && back.legs[0].tape_mm < 0.0055,
        "{back:#?}"
    );
    let moved_mm = back.start.unwrap().y_mm - back.end.unwrap().y_mm;
    assert!(moved_mm < 0.0055, "{moved_mm}");
    let wheel = &verdicts[1];
    assert_eq!(wheel.verdict, Ruling::Legal, "{wheel:#?}");
    assert!((wheel.charge_mm - 0.007).abs() < 0.001, "{wheel:#?}");
    assert_eq!(wheel.legs[0].stopped_by, None);
}
