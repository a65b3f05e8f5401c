//! Any JSON as a sheet: judged without a panic, its verdict written and read back the same, and
//! told in words.

#![no_main]

use fieldpost_rules::orders::TurnSheet;
use fieldpost_rules::referee::judge_sheet;
use fieldpost_rules::verdict::{Ruling, SheetVerdict};
use fieldpost_rules::view::words;
use fieldpost_rules_fuzz::quern_bridge;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    let Ok(sheet) = serde_json::from_str::<TurnSheet>(text) else {
        return;
    };
    if sheet.orders.len() > 60 || text.matches("\"leg\"").count() > 200 {
        return;
    }
    let game = quern_bridge();
    let verdict = judge_sheet(game, &sheet);
    let written = serde_json::to_string(&verdict).expect("a verdict is data");
    let read: SheetVerdict = serde_json::from_str(&written).expect("its own JSON");
    assert_eq!(serde_json::to_string(&read).expect("data"), written);
    assert!(!words::sheet_verdict(&verdict, game).contains('\u{1b}'));
    for moved in &verdict.moves {
        let refused = moved.verdict == Ruling::Refused;
        assert_eq!(refused, moved.reasons.iter().any(|r| r.ruling() == Ruling::Refused));
        assert!(moved.charge_mm.is_finite() && moved.charge_mm >= 0.0, "{moved:#?}");
    }
});
