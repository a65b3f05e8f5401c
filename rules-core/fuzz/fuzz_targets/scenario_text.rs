//! Any text as a scenario: a commander finds a sheet that stands on what opens; other faults are told.

#![no_main]

use std::sync::Arc;

use fieldpost_rules::authored::{open_battle, starter_ruleset};
use fieldpost_commander::{self, Chance};
use fieldpost_rules::game::Game;
use fieldpost_rules::referee::judge_sheet;
use fieldpost_rules::verdict::Ruling;
use fieldpost_rules_fuzz::altered::{put, toml_text};
use libfuzzer_sys::{fuzz_mutator, fuzz_target};

fuzz_mutator!(|data: &mut [u8], size: usize, max_size: usize, seed: u32| {
    put(toml_text(&data[..size], seed), data, size, max_size)
});

fuzz_target!(|text: &str| {
    match open_battle(("rules.toml", starter_ruleset()), ("fuzz.toml", text)) {
        Ok(field) => {
            let game = Game::new(Arc::new(field));
            if game.units().count() > 40 {
                return;
            }
            if let Some(sheet) = fieldpost_commander::sheet(&game, &mut Chance::new(1)) {
                assert_ne!(judge_sheet(&game, &sheet).verdict, Ruling::Refused);
            }
        }
        Err(faults) => {
            assert!(!faults.faults.is_empty());
            assert!(!faults.to_string().contains('\u{1b}'));
        }
    }
});
