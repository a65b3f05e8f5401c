//! Trials of the pictures: sound XML, escaped names, the same text twice, lettering that is clear.

use super::*;
use crate::view::sample;

/// Writes the pictures to the folder that `FIELDPOST_PICTURES` names, to be looked at.
#[test]
fn pictures_to_look_at() {
    let Ok(folder) = std::env::var("FIELDPOST_PICTURES") else {
        return;
    };
    let game = sample::game();
    let keep = |name: &str, text: String| {
        std::fs::write(format!("{folder}/{name}.svg"), text).unwrap();
    };
    keep("table", table(&game, &SvgOptions::default()));
    let options = SvgOptions {
        part: Some(Part {
            west_mm: 450.0,
            south_mm: 200.0,
            east_mm: 950.0,
            north_mm: 650.0,
        }),
        halt_zones: true,
        strike_zones: true,
        deployment: true,
        ..SvgOptions::default()
    };
    keep("part", table(&game, &options));
}

#[test]
fn lettering_is_clear() {
    let game = sample::game();
    assert_eq!(clashes(&game, &SvgOptions::default()), Clashes::default());
}
