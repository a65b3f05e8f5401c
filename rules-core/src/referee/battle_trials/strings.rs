//! Lines of sight, worked by hand: one line a string.

use crate::game::{Ground, GroundLine, GroundPatch};
use crate::referee::sight::sighting;
use crate::referee::testing::{block, game_on, ground, line, pair, patch, rules, scenario};
use crate::ruleset::{Distance, LineKind, RangeBand, Sight, TerrainKind};
use crate::scenario::UnitEntry;

/// How far the string runs clear, in whole millimetres, and what stops it. Guns at (600, 200)
/// facing north, the target a foot base whose near edge is at y = 500, so 300 mm of string.
fn seen(ground: Ground, others: Vec<UnitEntry>) -> String {
    let mut rules = rules();
    rules.sight = Some(Sight {
        units_block: true,
        bands: vec![RangeBand {
            within: Distance::new(20.0),
            strength: 1.0,
            shift: 0,
        }],
    });
    let mut units = vec![
        block("rg", "guns", (1, 1), (600.0, 200.0, 0.0)),
        block("b1", "foot", (1, 1), (600.0, 500.0, 180.0)),
    ];
    units.extend(others);
    let game = game_on(rules, scenario(units), ground);
    let body = |id: &str| {
        let unit = game.unit(&id.into()).expect("a unit");
        (unit, unit.footprint().expect("on the table"))
    };
    let sighting = sighting(&game, &body("rg"), &body("b1"));
    match sighting.by {
        None => "in sight".to_owned(),
        Some(by) => format!(
            "{by} at {:.0} of {:.0}",
            sighting.clear_mm, sighting.string_mm
        ),
    }
}

fn wood(south: f64, north: f64) -> GroundPatch {
    let kind = TerrainKind {
        blocks_sight: true,
        ..TerrainKind::default()
    };
    patch("Wood", kind, (400.0, south), (800.0, north))
}

fn hill(south: f64, north: f64) -> GroundPatch {
    let kind = TerrainKind {
        high: true,
        ..TerrainKind::default()
    };
    patch("Hill", kind, (400.0, south), (800.0, north))
}

fn hedge(y: f64, gaps: &[(f64, f64)]) -> GroundLine {
    let kind = LineKind {
        blocks_sight: true,
        ..LineKind::default()
    };
    line("Hedge", kind, &[(400.0, y), (800.0, y)], gaps)
}

#[test]
fn strings() {
    let on = |patches, lines| ground(patches, lines);
    let bare = || on(vec![], vec![]);
    for (law, found, expected) in [
        ("nothing between", seen(bare(), vec![]), "in sight"),
        (
            "a wood between",
            seen(on(vec![wood(300.0, 310.0)], vec![]), vec![]),
            "Wood at 100 of 300",
        ),
        (
            "a base width into a wood",
            seen(on(vec![wood(460.0, 700.0)], vec![]), vec![]),
            "in sight",
        ),
        (
            "deeper",
            seen(on(vec![wood(459.0, 700.0)], vec![]), vec![]),
            "Wood at 299 of 300",
        ),
        (
            "a base width out of it",
            seen(on(vec![wood(100.0, 240.0)], vec![]), vec![]),
            "in sight",
        ),
        (
            "farther",
            seen(on(vec![wood(100.0, 250.0)], vec![]), vec![]),
            "Wood at 40 of 300",
        ),
        (
            "both in one wood",
            seen(on(vec![wood(100.0, 600.0)], vec![]), vec![]),
            "Wood at 40 of 300",
        ),
        (
            "a height between",
            seen(on(vec![hill(300.0, 400.0)], vec![]), vec![]),
            "Hill at 100 of 300",
        ),
        (
            "guns on the height",
            seen(on(vec![hill(150.0, 400.0)], vec![]), vec![]),
            "in sight",
        ),
        (
            "from a height over a wood",
            seen(
                on(vec![hill(150.0, 250.0), wood(300.0, 400.0)], vec![]),
                vec![],
            ),
            "in sight",
        ),
        (
            "from a height into a wood too deep",
            seen(
                on(vec![hill(150.0, 250.0), wood(400.0, 700.0)], vec![]),
                vec![],
            ),
            "Wood at 240 of 300",
        ),
        (
            "a hedge between",
            seen(on(vec![], vec![hedge(350.0, &[])]), vec![]),
            "Hedge at 150 of 300",
        ),
        (
            "a gap in it",
            seen(on(vec![], vec![hedge(350.0, &[(190.0, 210.0)])]), vec![]),
            "in sight",
        ),
        (
            "drawn up to it",
            seen(on(vec![], vec![hedge(499.6, &[])]), vec![]),
            "in sight",
        ),
        (
            "over it from a height",
            seen(
                on(vec![hill(150.0, 250.0)], vec![hedge(350.0, &[])]),
                vec![],
            ),
            "in sight",
        ),
        (
            "a unit that covers the target",
            seen(bare(), vec![pair("r1", "foot", (600.0, 480.0, 0.0))]),
            "r1 at 260 of 300",
        ),
        (
            "one that leaves a corner free",
            seen(
                bare(),
                vec![block("r1", "foot", (1, 1), (586.0, 480.0, 0.0))],
            ),
            "in sight",
        ),
        (
            "along a unit's edge",
            seen(bare(), vec![pair("r1", "foot", (620.0, 240.0, 270.0))]),
            "in sight",
        ),
        (
            "a commander covers nobody",
            seen(
                bare(),
                vec![block("rc", "general", (1, 1), (600.0, 480.0, 0.0))],
            ),
            "in sight",
        ),
        (
            "over a unit from a height",
            seen(
                on(vec![hill(150.0, 250.0)], vec![]),
                vec![pair("r1", "foot", (600.0, 480.0, 0.0))],
            ),
            "in sight",
        ),
        (
            "not over one on the height",
            seen(
                on(vec![hill(150.0, 290.0)], vec![]),
                vec![pair("r1", "foot", (600.0, 260.0, 0.0))],
            ),
            "r1 at 40 of 300",
        ),
    ] {
        assert_eq!(found, expected, "{law}");
    }
}
