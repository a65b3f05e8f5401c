//! Zones and command.

use crate::referee::testing::{bare_ground, pair};
use crate::ruleset::{Charge, Distance, ZoneExit, ZoneFront};
use crate::scenario::Command;

use super::tables::{declared, facing, general, marches};
use super::{Setting, setting};
use crate::referee::turn_trials::{back, forward};

pub(super) fn settings() -> Vec<Setting> {
    vec![
        setting(
            "zones.halt_zone",
            |rules| marches(rules, bare_ground(), facing(100.0), &[forward(70.0)]),
            vec![
                (
                    |r| r.zones.halt_zone = Distance::new(0.5),
                    "legal at 70.0 of 120.0",
                ),
                (
                    |r| r.zones.halt_zone = Distance::new(1.0),
                    "refused enemy-zone at 70.0 of 120.0",
                ),
            ],
        ),
        setting(
            // the enemy shows its back
            "zones.zone_front",
            |rules| {
                let away = vec![pair("b1", "foot", (600.0, 700.0, 0.0))];
                marches(rules, bare_ground(), away, &[forward(75.0)])
            },
            vec![
                (
                    |r| r.zones.zone_front = ZoneFront::AllRound,
                    "refused enemy-zone at 75.0 of 120.0",
                ),
                (
                    |r| r.zones.zone_front = ZoneFront::Ahead,
                    "legal at 75.0 of 120.0",
                ),
            ],
        ),
        setting(
            "zones.zone_exit",
            |rules| marches(rules, bare_ground(), facing(15.0), &[back(30.0)]),
            vec![
                (
                    |r| r.zones.zone_exit = ZoneExit::Locked,
                    "refused locked at 60.0 of 120.0",
                ),
                (
                    |r| r.zones.zone_exit = ZoneExit::Pay,
                    "legal at 100.0 of 120.0",
                ),
                (
                    |r| r.zones.zone_exit = ZoneExit::Free,
                    "legal at 60.0 of 120.0",
                ),
            ],
        ),
        setting(
            "zones.zone_exit_charge",
            |mut rules| {
                rules.zones.zone_exit = ZoneExit::Pay;
                marches(rules, bare_ground(), facing(15.0), &[back(30.0)])
            },
            vec![
                (
                    |r| r.zones.zone_exit_charge = Charge::new(1.0),
                    "legal at 100.0 of 120.0",
                ),
                (
                    |r| r.zones.zone_exit_charge = Charge::new(0.5),
                    "legal at 80.0 of 120.0",
                ),
            ],
        ),
        setting(
            "zones.strike_zone",
            |rules| {
                let units = vec![
                    pair("r1", "foot", (500.0, 500.0, 0.0)),
                    pair("b1", "foot", (500.0, 530.0, 180.0)),
                ];
                declared(rules, units, vec![])
            },
            vec![
                (
                    |r| r.zones.strike_zone = Distance::new(1.0),
                    "must-attack r1, must-be-attacked b1",
                ),
                (|r| r.zones.strike_zone = Distance::new(0.5), "fine"),
            ],
        ),
        setting(
            // the general is 261 mm from the unit, and its radius 240
            "command.required",
            |rules| marches(rules, bare_ground(), vec![general(921.0)], &[forward(50.0)]),
            vec![
                (|r| r.command.required = true, "legal at 50.0 of 60.0"),
                (|r| r.command.required = false, "legal at 50.0 of 120.0"),
            ],
        ),
        setting(
            // the subordinate is out of the chief's radius, the unit within the subordinate's
            "command.independent_subordinates",
            |rules| {
                let mut subordinate = general(800.0);
                subordinate.id = "r8".to_owned();
                subordinate.command = Some(Command::Subordinate);
                let others = vec![general(1170.0), subordinate];
                marches(rules, bare_ground(), others, &[forward(50.0)])
            },
            vec![
                (
                    |r| r.command.independent_subordinates = true,
                    "legal at 50.0 of 120.0",
                ),
                (
                    |r| r.command.independent_subordinates = false,
                    "legal at 50.0 of 60.0",
                ),
            ],
        ),
        setting(
            "command.out_of_command_share",
            |rules| marches(rules, bare_ground(), vec![general(921.0)], &[forward(50.0)]),
            vec![
                (
                    |r| r.command.out_of_command_share = 0.5,
                    "legal at 50.0 of 60.0",
                ),
                (
                    |r| r.command.out_of_command_share = 0.25,
                    "refused over-allowance at 50.0 of 30.0",
                ),
            ],
        ),
    ]
}
