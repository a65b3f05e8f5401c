//! Scale and movement.

use crate::game::GroundLine;
use crate::orders::{Hand, Leg};
use crate::referee::testing::{bare_ground, ground, line, pair, patch};
use crate::ruleset::{
    Charge, ChargeLines, Distance, LineKind, MinimumMove, TerrainBy, TerrainKind,
};

use super::tables::{align, alone, facing, marches, oblique, sidestep, wheel};
use super::{Setting, setting};
use crate::referee::turn_trials::{back, forward};

pub(super) fn settings() -> Vec<Setting> {
    vec![
        setting(
            "scale.base_width_mm",
            |rules| alone(rules, &[forward(110.0)]),
            vec![
                (|r| r.scale.base_width_mm = 40.0, "legal at 110.0 of 120.0"),
                (
                    |r| r.scale.base_width_mm = 30.0,
                    "refused over-allowance at 110.0 of 90.0",
                ),
            ],
        ),
        setting(
            "scale.movement_point",
            |rules| alone(rules, &[forward(50.0)]),
            vec![
                (
                    |r| r.scale.movement_point = Distance::new(1.0),
                    "legal at 50.0 of 120.0",
                ),
                (
                    |r| r.scale.movement_point = Distance::new(0.5),
                    "legal at 50.0 of 60.0",
                ),
                (
                    |r| r.scale.movement_point = Distance::parse("1 in").expect("a length"),
                    "legal at 50.0 of 76.2",
                ),
            ],
        ),
        setting(
            "scale.tolerance_mm",
            |rules| alone(rules, &[forward(120.4)]),
            vec![
                (
                    |r| r.scale.tolerance_mm = 0.5,
                    "marginal over-allowance at 120.4 of 120.0",
                ),
                (
                    |r| r.scale.tolerance_mm = 0.3,
                    "refused over-allowance at 120.4 of 120.0",
                ),
            ],
        ),
        setting(
            "movement.forward",
            |rules| alone(rules, &[forward(60.0)]),
            vec![
                (|r| r.movement.forward = 1.0, "legal at 60.0 of 120.0"),
                (|r| r.movement.forward = 1.5, "legal at 90.0 of 120.0"),
            ],
        ),
        setting(
            "movement.back",
            |rules| alone(rules, &[back(50.0)]),
            vec![
                (|r| r.movement.back = 2.0, "legal at 100.0 of 120.0"),
                (|r| r.movement.back = 1.0, "legal at 50.0 of 120.0"),
            ],
        ),
        setting(
            "movement.sidestep",
            |rules| alone(rules, &[sidestep(40.0)]),
            vec![
                (|r| r.movement.sidestep = 2.0, "legal at 80.0 of 120.0"),
                (|r| r.movement.sidestep = 3.0, "legal at 120.0 of 120.0"),
            ],
        ),
        setting(
            "movement.oblique",
            |rules| alone(rules, &[oblique(30.0)]),
            vec![
                (|r| r.movement.oblique = 1.0, "legal at 60.0 of 120.0"),
                (|r| r.movement.oblique = 1.2, "legal at 72.0 of 120.0"),
            ],
        ),
        setting(
            "movement.oblique_max",
            |rules| alone(rules, &[oblique(50.0)]),
            vec![
                (
                    |r| r.movement.oblique_max = 45.0,
                    "refused angle-too-large at 60.0 of 120.0",
                ),
                (|r| r.movement.oblique_max = 60.0, "legal at 60.0 of 120.0"),
            ],
        ),
        setting(
            // 80 mm × π/4 = 62.8 mm
            "movement.wheel",
            |rules| alone(rules, &[wheel(45.0)]),
            vec![
                (|r| r.movement.wheel = 1.0, "legal at 62.8 of 120.0"),
                (|r| r.movement.wheel = 0.5, "legal at 31.4 of 120.0"),
            ],
        ),
        setting(
            "movement.turn",
            |rules| alone(rules, &[Leg::Turn { side: Hand::Left }]),
            vec![
                (
                    |r| r.movement.turn = Charge::new(1.0),
                    "legal at 40.0 of 120.0",
                ),
                (
                    |r| r.movement.turn = Charge::new(0.5),
                    "legal at 20.0 of 120.0",
                ),
            ],
        ),
        setting(
            "movement.about",
            |rules| alone(rules, &[Leg::About]),
            vec![
                (
                    |r| r.movement.about = Charge::new(1.0),
                    "legal at 40.0 of 120.0",
                ),
                (
                    |r| r.movement.about = Charge::new(2.0),
                    "legal at 80.0 of 120.0",
                ),
            ],
        ),
        setting(
            "movement.reform",
            |rules| alone(rules, &[Leg::Reform { files: 1, ranks: 2 }]),
            vec![
                (
                    |r| r.movement.reform = Charge::new(1.0),
                    "legal at 40.0 of 120.0",
                ),
                (
                    |r| r.movement.reform = Charge::new(0.0),
                    "legal at 0.0 of 120.0",
                ),
            ],
        ),
        setting(
            "movement.align_max",
            |rules| marches(rules, bare_ground(), facing(19.0), &[align(25.0)]),
            vec![
                (
                    |r| r.movement.align_max = 22.5,
                    "refused angle-too-large at 0.0 of 120.0",
                ),
                (|r| r.movement.align_max = 30.0, "legal at 0.0 of 120.0"),
            ],
        ),
        setting(
            // rough ground under the right half of the base, beside the tape
            "movement.terrain_by",
            |rules| {
                let kind = TerrainKind {
                    rate: 2.0,
                    ..TerrainKind::default()
                };
                let beside = patch("Rough", kind, (620.0, 500.0), (900.0, 900.0));
                marches(
                    rules,
                    ground(vec![beside], vec![]),
                    vec![],
                    &[forward(50.0)],
                )
            },
            vec![
                (
                    |r| r.movement.terrain_by = TerrainBy::Tape,
                    "legal at 50.0 of 120.0",
                ),
                (
                    |r| r.movement.terrain_by = TerrainBy::Base,
                    "legal at 100.0 of 120.0",
                ),
            ],
        ),
        setting(
            // through the base, 5 mm behind its front
            "movement.charge_lines",
            |rules| {
                let brook = GroundLine {
                    charge_mm: 80.0,
                    ..line(
                        "Brook",
                        LineKind::default(),
                        &[(400.0, 595.0), (800.0, 595.0)],
                        &[],
                    )
                };
                marches(rules, ground(vec![], vec![brook]), vec![], &[back(10.0)])
            },
            vec![
                (
                    |r| r.movement.charge_lines = ChargeLines::FirstBase,
                    "legal at 20.0 of 120.0",
                ),
                (
                    |r| r.movement.charge_lines = ChargeLines::EveryTape,
                    "legal at 100.0 of 120.0",
                ),
            ],
        ),
        setting(
            "movement.minimum_move.forward",
            |mut rules| {
                rules.movement.forward = 4.0;
                alone(rules, &[forward(35.0)])
            },
            vec![
                (
                    |r| r.movement.minimum_move = None,
                    "refused over-allowance at 140.0 of 120.0",
                ),
                (
                    |r| {
                        r.movement.minimum_move = Some(MinimumMove {
                            forward: Distance::new(1.0),
                        });
                    },
                    "legal at 140.0 of 120.0",
                ),
            ],
        ),
        setting(
            "movement.pass_friends",
            |rules| {
                let friend = vec![pair("r2", "foot", (600.0, 650.0, 0.0))];
                marches(rules, bare_ground(), friend, &[forward(80.0)])
            },
            vec![
                (|r| r.movement.pass_friends = true, "legal at 80.0 of 120.0"),
                (
                    |r| r.movement.pass_friends = false,
                    "refused ends-on-friend at 80.0 of 120.0",
                ),
            ],
        ),
    ]
}
