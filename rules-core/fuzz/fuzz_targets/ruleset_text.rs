//! Any text as a ruleset: it is read, or its faults are told briefly.

#![no_main]

use fieldpost_rules::authored::{open_battle, read_ruleset, starter_scenario};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    match read_ruleset("fuzz.toml", text) {
        Ok(_) => {
            let battle = ("battle.toml", starter_scenario());
            if let Err(faults) = open_battle(("fuzz.toml", text), battle) {
                assert!(!faults.to_string().is_empty());
            }
        }
        Err(faults) => {
            assert!(!faults.faults.is_empty());
            let told = faults.to_string();
            assert!(!told.contains('\u{1b}') && told.len() < 1_000_000);
        }
    }
});
