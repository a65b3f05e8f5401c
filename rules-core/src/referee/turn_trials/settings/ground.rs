//! Kinds of terrain and of lines.

use crate::game::GroundLine;
use crate::referee::testing::{block, ground, line, pair, patch};
use crate::ruleset::{Charge, LineKind, Ruleset, TerrainKind};

use super::tables::{fires, marches, one_fight, weighed};
use super::{Setting, setting};
use crate::referee::turn_trials::forward;

/// A march of 50 mm northward over a patch of the ruleset's first kind, from 620 mm on.
fn over_patch(rules: Ruleset) -> String {
    let kind = given_patch(&rules);
    let patch = patch("Patch", kind, (400.0, 620.0), (800.0, 700.0));
    marches(rules, ground(vec![patch], vec![]), vec![], &[forward(50.0)])
}

/// The odds against a defender that stands on a patch of the ruleset's first kind.
fn on_patch(rules: Ruleset) -> String {
    let patch = patch("Patch", given_patch(&rules), (400.0, 505.0), (600.0, 600.0));
    let units = vec![
        block("r1", "foot", (2, 2), (500.0, 500.0, 0.0)),
        pair("b1", "foot", (500.0, 510.0, 180.0)),
    ];
    weighed(rules, ground(vec![patch], vec![]), units, &one_fight())
}

/// A march of 50 mm over a line of the ruleset's first kind, drawn eastward: its left is north.
fn over_line(rules: Ruleset) -> String {
    let kind = given_line(&rules);
    let brook = GroundLine {
        charge_mm: kind.charge.mm(&rules.scale),
        ..line("Line", kind, &[(400.0, 620.0), (800.0, 620.0)], &[])
    };
    marches(rules, ground(vec![], vec![brook]), vec![], &[forward(50.0)])
}

/// The odds against a defender behind a line of the ruleset's first kind.
fn across_line(rules: Ruleset) -> String {
    let wall = line(
        "Line",
        given_line(&rules),
        &[(300.0, 505.0), (700.0, 505.0)],
        &[],
    );
    let units = vec![
        block("r1", "foot", (2, 2), (500.0, 500.0, 0.0)),
        pair("b1", "foot", (500.0, 510.0, 180.0)),
    ];
    weighed(rules, ground(vec![], vec![wall]), units, &one_fight())
}

fn past_patch(rules: Ruleset) -> String {
    let between = patch("Patch", given_patch(&rules), (400.0, 300.0), (800.0, 400.0));
    fires(rules, ground(vec![between], vec![]), vec![])
}

fn past_line(rules: Ruleset) -> String {
    let hedge = line(
        "Line",
        given_line(&rules),
        &[(400.0, 350.0), (800.0, 350.0)],
        &[],
    );
    fires(rules, ground(vec![], vec![hedge]), vec![])
}

fn given_patch(rules: &Ruleset) -> TerrainKind {
    rules.terrain.values().next().cloned().unwrap_or_default()
}

fn given_line(rules: &Ruleset) -> LineKind {
    rules.lines.values().next().cloned().unwrap_or_default()
}

fn patch_kind(rules: &mut Ruleset) -> &mut TerrainKind {
    rules.terrain.entry("kind".to_owned()).or_default()
}

fn line_kind(rules: &mut Ruleset) -> &mut LineKind {
    rules.lines.entry("kind".to_owned()).or_default()
}

pub(super) fn settings() -> Vec<Setting> {
    vec![
        setting(
            "terrain.NAME.rate",
            over_patch,
            vec![
                (|_| {}, "legal at 50.0 of 120.0"),
                (|r| patch_kind(r).rate = 3.0, "legal at 110.0 of 120.0"),
            ],
        ),
        setting(
            "terrain.NAME.impassable",
            over_patch,
            vec![
                (|_| {}, "legal at 50.0 of 120.0"),
                (
                    |r| patch_kind(r).impassable = true,
                    "refused impassable at 50.0 of 120.0",
                ),
            ],
        ),
        setting(
            "terrain.NAME.defence",
            on_patch,
            vec![
                (|_| {}, "4:2 2:1"),
                (|r| patch_kind(r).defence = 2.0, "4:4 1:1"),
            ],
        ),
        setting(
            "terrain.NAME.shift",
            on_patch,
            vec![
                (|_| {}, "4:2 2:1"),
                (|r| patch_kind(r).shift = -1, "4:2 3:2"),
            ],
        ),
        setting(
            "terrain.NAME.blocks_sight",
            past_patch,
            vec![
                (|_| {}, "in sight"),
                (|r| patch_kind(r).blocks_sight = true, "not-in-sight"),
            ],
        ),
        setting(
            "terrain.NAME.high",
            past_patch,
            vec![
                (|_| {}, "in sight"),
                (|r| patch_kind(r).high = true, "not-in-sight"),
            ],
        ),
        setting(
            "lines.NAME.charge",
            over_line,
            vec![
                (|_| {}, "legal at 50.0 of 120.0"),
                (
                    |r| line_kind(r).charge = Charge::new(1.0),
                    "legal at 90.0 of 120.0",
                ),
            ],
        ),
        setting(
            // the march goes downhill when the high side is the south, on the right
            "lines.NAME.slope",
            |rules| {
                let kind = given_line(&rules);
                let edge = GroundLine {
                    charge_mm: kind.charge.mm(&rules.scale),
                    ..line("Line", kind, &[(800.0, 620.0), (400.0, 620.0)], &[])
                };
                marches(rules, ground(vec![], vec![edge]), vec![], &[forward(50.0)])
            },
            vec![
                (
                    |r| line_kind(r).charge = Charge::new(1.0),
                    "legal at 90.0 of 120.0",
                ),
                (
                    |r| {
                        line_kind(r).charge = Charge::new(1.0);
                        line_kind(r).slope = true;
                    },
                    "legal at 50.0 of 120.0",
                ),
            ],
        ),
        setting(
            "lines.NAME.shift",
            across_line,
            vec![
                (|_| {}, "4:2 2:1"),
                (|r| line_kind(r).shift = -2, "4:2 1:1"),
            ],
        ),
        setting(
            "lines.NAME.defence",
            across_line,
            vec![
                (|_| {}, "4:2 2:1"),
                (|r| line_kind(r).defence = 1.5, "4:3 1:1"),
            ],
        ),
        setting(
            "lines.NAME.blocks_sight",
            past_line,
            vec![
                (|_| {}, "in sight"),
                (|r| line_kind(r).blocks_sight = true, "not-in-sight"),
            ],
        ),
    ]
}
