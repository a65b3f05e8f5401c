//! Declaring attacks, and falling back.

use crate::orders::Order;
use crate::referee::testing::{bare_ground, battle, block, bombarded, ids, pair};
use crate::ruleset::Distance;

use super::tables::{
    after, declared, defender, falls_back, guns_behind, in_contact, one_fight, weighed,
};
use super::{Setting, setting};

pub(super) fn settings() -> Vec<Setting> {
    vec![
        setting(
            "attacks.compulsory",
            |rules| declared(rules, in_contact(), vec![]),
            vec![
                (
                    |r| r.attacks.compulsory = true,
                    "must-attack r1, must-be-attacked b1",
                ),
                (|r| r.attacks.compulsory = false, "fine"),
            ],
        ),
        setting(
            "attacks.guns_excepted",
            |rules| {
                let units = vec![
                    pair("rg", "guns", (500.0, 500.0, 0.0)),
                    pair("b1", "foot", (500.0, 520.0, 180.0)),
                ];
                declared(rules, units, vec![])
            },
            vec![
                (|r| r.attacks.guns_excepted = true, "fine"),
                (
                    |r| r.attacks.guns_excepted = false,
                    "must-attack rg, must-be-attacked b1",
                ),
            ],
        ),
        setting(
            "attacks.support",
            |rules| {
                let mut units = in_contact();
                units.push(pair("r2", "foot", (500.0, 480.0, 0.0)));
                units.push(pair("b2", "foot", (500.0, 530.0, 180.0)));
                weighed(rules, bare_ground(), units, &battle(&["r1", "r2"], &["b1"]))
            },
            vec![
                (|r| r.attacks.support = true, "4:4 1:1"),
                (|r| r.attacks.support = false, "4:2 2:1"),
            ],
        ),
        setting(
            "attacks.depth",
            |rules| {
                let units = vec![
                    block("r1", "foot", (2, 4), (500.0, 500.0, 0.0)),
                    pair("b1", "foot", (500.0, 510.0, 180.0)),
                ];
                weighed(rules, bare_ground(), units, &one_fight())
            },
            vec![
                (|r| r.attacks.depth = 3, "6:2 3:1"),
                (|r| r.attacks.depth = 1, "2:2 1:1"),
                (|r| r.attacks.depth = 4, "8:2 3:1"),
            ],
        ),
        setting(
            "attacks.bombard_range",
            |rules| {
                declared(
                    rules,
                    guns_behind(),
                    vec![bombarded(&["r1"], &["b1"], &["rg"])],
                )
            },
            vec![
                (|r| r.attacks.bombard_range = Distance::new(2.0), "fine"),
                (
                    |r| r.attacks.bombard_range = Distance::new(1.0),
                    "out-of-range b1",
                ),
            ],
        ),
        setting(
            "attacks.bombard_over_friends",
            |rules| {
                declared(
                    rules,
                    guns_behind(),
                    vec![bombarded(&["r1"], &["b1"], &["rg"])],
                )
            },
            vec![
                (|r| r.attacks.bombard_over_friends = true, "fine"),
                (
                    |r| r.attacks.bombard_over_friends = false,
                    "not-in-sight b1",
                ),
            ],
        ),
        setting(
            "attacks.bombard_joins_only",
            |mut rules| {
                rules.attacks.compulsory = false;
                declared(rules, guns_behind(), vec![bombarded(&[], &["b1"], &["rg"])])
            },
            vec![
                (
                    |r| r.attacks.bombard_joins_only = true,
                    "no-joining-attack -",
                ),
                (|r| r.attacks.bombard_joins_only = false, "fine"),
            ],
        ),
        setting(
            // a base behind the loser leaves open only what is 25.8° off straight away
            "falling_back.fan",
            |mut rules| {
                rules.attacks.compulsory = false;
                defender(&mut rules, falls_back(2.5));
                let mut units = in_contact();
                units.push(block("r2", "foot", (1, 1), (500.0, 640.0, 180.0)));
                after(rules, units, one_fight())
            },
            vec![
                (|r| r.falling_back.fan = 22.5, "r1 500 500 × 2, b1 gone"),
                (
                    |r| r.falling_back.fan = 30.0,
                    "r1 500 500 × 2, b1 456 600 × 2",
                ),
            ],
        ),
        setting(
            "falling_back.follow_up",
            |mut rules| {
                defender(&mut rules, falls_back(2.0));
                let order = Order::Battle {
                    attackers: ids(&["r1"]),
                    defenders: ids(&["b1"]),
                    guns: vec![],
                    follow_up: Some("r1".into()),
                };
                let units = vec![
                    pair("r1", "foot", (500.0, 500.0, 0.0)),
                    pair("b1", "foot", (500.0, 530.0, 180.0)),
                ];
                after(rules, units, order)
            },
            vec![
                (
                    |r| r.falling_back.follow_up = Distance::new(1.0),
                    "r1 500 530 × 2, b1 500 610 × 2",
                ),
                (
                    |r| r.falling_back.follow_up = Distance::new(0.5),
                    "r1 500 520 × 2, b1 500 610 × 2",
                ),
            ],
        ),
    ]
}
