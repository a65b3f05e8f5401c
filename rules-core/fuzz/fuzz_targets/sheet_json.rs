//! Any JSON as a sheet: judged without a panic, its verdict written and read back the same, and
//! told in words. Most of it is altered as JSON, so that most of it is judged; some as bytes.

#![no_main]

mod altered;

use std::sync::OnceLock;

use altered::Draws;
use fieldpost_rules::orders::TurnSheet;
use fieldpost_rules::referee::judge_sheet;
use fieldpost_rules::verdict::{Ruling, SheetVerdict};
use fieldpost_rules::view::words;
use fieldpost_rules_fuzz::quern_bridge;
use libfuzzer_sys::{fuzz_mutator, fuzz_target, fuzzer_mutate};
use serde_json::Value;

fn units() -> &'static [&'static str] {
    static UNITS: OnceLock<Vec<&'static str>> = OnceLock::new();
    UNITS.get_or_init(|| {
        let units = quern_bridge().units().map(|unit| unit.id.0.as_str());
        units.chain(["nobody"]).collect()
    })
}

fuzz_mutator!(|data: &mut [u8], size: usize, max_size: usize, seed: u32| {
    let mut draws = Draws::new(seed);
    let sheet = serde_json::from_slice::<Value>(&data[..size]);
    let altered = sheet.ok().filter(|_| draws.below(16) != 0).map(|mut sheet| {
        for _ in 0..=draws.below(4) {
            altered::alter(&mut sheet, units(), &mut draws);
        }
        sheet.to_string()
    });
    match altered.filter(|text| text.len() <= max_size) {
        Some(text) => {
            data[..text.len()].copy_from_slice(text.as_bytes());
            text.len()
        }
        None => fuzzer_mutate(data, size, max_size),
    }
});

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
