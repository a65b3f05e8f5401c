//! Troop types.

use crate::referee::testing::{bare_ground, bombarded, pair};
use crate::ruleset::{Arm, Distance, Ruleset, TroopType};

use super::tables::{
    alone, declared, general, guns_behind, in_contact, marches, one_fight, weighed, wheel,
};
use super::{Setting, setting};
use crate::referee::turn_trials::forward;

fn foot(rules: &mut Ruleset) -> &mut TroopType {
    rules.troops.get_mut("foot").expect("there are foot")
}

pub(super) fn settings() -> Vec<Setting> {
    vec![
        setting(
            "troops.NAME.arm",
            |rules| {
                declared(
                    rules,
                    guns_behind(),
                    vec![bombarded(&["r1"], &["b1"], &["rg"])],
                )
            },
            vec![
                (|_| {}, "fine"),
                (
                    |r| {
                        let guns = r.troops.get_mut("guns").expect("there are guns");
                        guns.arm = Arm::Horse;
                    },
                    "not-a-gun rg",
                ),
            ],
        ),
        setting(
            "troops.NAME.movement_points",
            |rules| alone(rules, &[forward(100.0)]),
            vec![
                (|_| {}, "legal at 100.0 of 120.0"),
                (
                    |r| foot(r).movement_points = 2.0,
                    "refused over-allowance at 100.0 of 80.0",
                ),
            ],
        ),
        setting(
            "troops.NAME.strength_per_base",
            |rules| {
                let mut units = in_contact();
                units[0].troops = "horse".to_owned();
                weighed(rules, bare_ground(), units, &one_fight())
            },
            vec![
                (|_| {}, "4:2 2:1"),
                (|r| foot(r).strength_per_base = 1.5, "4:3 1:1"),
            ],
        ),
        setting(
            // the arc of a wheel by 45°: π/4 of 2 × 40 and of 2 × 20 mm
            "troops.NAME.base_width",
            |rules| alone(rules, &[wheel(45.0)]),
            vec![
                (|_| {}, "legal at 62.8 of 120.0"),
                (
                    |r| foot(r).base_width = Distance::new(0.5),
                    "legal at 31.4 of 120.0",
                ),
            ],
        ),
        setting(
            // the rear of the friend ahead is at 720 − 20, or at 720 − 60: beyond the march, or in it
            "troops.NAME.base_depth",
            |rules| {
                let friend = vec![pair("r2", "foot", (600.0, 720.0, 0.0))];
                marches(rules, bare_ground(), friend, &[forward(80.0)])
            },
            vec![
                (|_| {}, "legal at 80.0 of 120.0"),
                (
                    |r| foot(r).base_depth = Distance::new(1.5),
                    "refused ends-on-friend at 80.0 of 120.0",
                ),
            ],
        ),
        setting(
            "troops.NAME.bombard_range",
            |rules| {
                declared(
                    rules,
                    guns_behind(),
                    vec![bombarded(&["r1"], &["b1"], &["rg"])],
                )
            },
            vec![
                (|_| {}, "fine"),
                (
                    |r| {
                        let guns = r.troops.get_mut("guns").expect("there are guns");
                        guns.bombard_range = Some(Distance::new(1.0));
                    },
                    "out-of-range b1",
                ),
            ],
        ),
        setting(
            "troops.NAME.command_radius",
            |rules| marches(rules, bare_ground(), vec![general(921.0)], &[forward(50.0)]),
            vec![
                (|_| {}, "legal at 50.0 of 60.0"),
                (
                    |r| {
                        let general = r.troops.get_mut("general").expect("there is a general");
                        general.command_radius = Some(Distance::new(7.0));
                    },
                    "legal at 50.0 of 120.0",
                ),
            ],
        ),
    ]
}
