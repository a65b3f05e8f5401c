//! Any text as a ruleset: it is read, or its faults are told briefly.

#![no_main]

use fieldpost_rules::authored::{open_battle, read_ruleset, starter_scenario};
use fieldpost_rules_fuzz::altered::{put, toml_text};
use libfuzzer_sys::{fuzz_mutator, fuzz_target};

fuzz_mutator!(|data: &mut [u8], size: usize, max_size: usize, seed: u32| {
    put(toml_text(&data[..size], seed), data, size, max_size)
});

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
