//! Any text as a typed sheet: what is read is printed and read back the same, and judged without
//! a panic.

#![no_main]

use fieldpost_rules::orders::{print, text::parse};
use fieldpost_rules::referee::judge_sheet;
use fieldpost_rules_fuzz::quern_bridge;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    let game = quern_bridge();
    match parse("fuzz", text, game) {
        Ok(sheet) => {
            let printed = print::sheet(&sheet);
            assert_eq!(parse("printed", &printed, game), Ok(sheet.clone()), "{printed}");
            if sheet.orders.len() <= 60 {
                let _ = judge_sheet(game, &sheet);
            }
        }
        Err(faults) => {
            assert!(!faults.is_empty());
            for fault in &faults {
                assert!(!fault.drawn(false).contains('\u{1b}'));
            }
        }
    }
});
