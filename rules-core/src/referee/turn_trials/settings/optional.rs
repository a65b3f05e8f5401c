//! The optional laws: sight, flanks, disorder, withdrawal and breaking.

use crate::game::Event;
use crate::orders::Order;
use crate::referee::testing::{bare_ground, block, close, game_on, pair, played, scenario};
use crate::referee::{breaking, strength, victory};
use crate::ruleset::{Breaking, Broken, Disorder, Flanks, Ruleset, Sight, Withdrawal};

use super::tables::{
    band, defender, falls_back, fires, fought, in_contact, one_fight, shot, sight, weighed,
};
use super::{Setting, setting};
use crate::referee::turn_trials::back;

/// The odds of gun fire at 300 mm.
fn shot_weighed(rules: Ruleset) -> String {
    let units = vec![
        block("rg", "guns", (2, 1), (600.0, 200.0, 0.0)),
        block("b1", "foot", (2, 1), (600.0, 500.0, 180.0)),
    ];
    weighed(rules, bare_ground(), units, &shot())
}

/// The odds against `b1`, which faces north, from a place west of it.
fn from_the_west(rules: Ruleset) -> String {
    let units = vec![
        pair("b1", "foot", (500.0, 600.0, 0.0)),
        pair("r1", "foot", (450.0, 590.0, 90.0)),
    ];
    weighed(rules, bare_ground(), units, &one_fight())
}

/// What a unit that withdrew has left, with the fate of the order.
fn withdrawn(mut rules: Ruleset) -> String {
    withdrawal(&mut rules);
    let units = vec![
        block("r1", "foot", (2, 2), (600.0, 600.0, 0.0)),
        pair("b1", "foot", (600.0, 615.0, 180.0)),
    ];
    let mut game = game_on(rules, scenario(units), bare_ground());
    let order = Order::Withdraw {
        unit: "r1".into(),
        legs: vec![back(50.0)],
    };
    match played(&mut game, vec![order], 3) {
        Err(verdict) => verdict.moves[0].reasons[0].code().as_str().to_owned(),
        Ok(events) => match events[1] {
            Event::Withdrew { throw, lost, .. } => format!("threw {throw}, lost {lost}"),
            _ => format!("{events:?}"),
        },
    }
}

/// Turns that a unit driven back has to stand, and whether the friend pushed with it must too.
fn disordered(mut rules: Ruleset) -> String {
    defender(&mut rules, falls_back(1.0));
    let mut units = in_contact();
    units.push(pair("b2", "foot", (500.0, 545.0, 180.0)));
    let mut game = game_on(rules, scenario(units), bare_ground());
    fought(&mut game, one_fight());
    let turns = |id: &str| game.unit(&id.into()).map_or(0, |unit| unit.disorder);
    format!("b1 {}, b2 {}", turns("b1"), turns("b2"))
}

/// Whether red is broken, may attack and has lost after it lost a base of four.
fn after_losses(rules: Ruleset) -> String {
    let units = vec![
        block("r1", "foot", (4, 1), (500.0, 500.0, 0.0)),
        pair("b1", "foot", (500.0, 800.0, 180.0)),
    ];
    let mut game = game_on(rules, scenario(units), bare_ground());
    game.apply(&Event::Lost {
        unit: "r1".into(),
        bases: 1,
    });
    close(&mut game);
    close(&mut game);
    format!(
        "broken {}, may not attack {}, over {}",
        breaking::is_broken(&game, 0),
        breaking::may_not_attack(&game, 0),
        victory::ending(&game, false).is_some()
    )
}

fn breaks(rules: &mut Ruleset, at_share: f64, then: Broken) {
    rules.breaking = Some(Breaking { at_share, then });
}

fn flanks(rules: &mut Ruleset) -> &mut Flanks {
    rules.flanks.get_or_insert_default()
}

fn disorder(rules: &mut Ruleset) -> &mut Disorder {
    rules.disorder.get_or_insert_default()
}

fn withdrawal(rules: &mut Ruleset) -> &mut Withdrawal {
    rules.withdrawal.get_or_insert_default()
}

pub(super) fn settings() -> Vec<Setting> {
    vec![
        setting(
            "sight.units_block",
            |rules| {
                let friend = vec![pair("r1", "foot", (600.0, 350.0, 0.0))];
                fires(rules, bare_ground(), friend)
            },
            vec![
                (
                    |r| r.sight = Some(sight(vec![band(20.0, 1.0, 0)])),
                    "not-in-sight",
                ),
                (
                    |r| {
                        r.sight = Some(Sight {
                            units_block: false,
                            bands: vec![band(20.0, 1.0, 0)],
                        });
                    },
                    "in sight",
                ),
            ],
        ),
        setting(
            "sight.bands[].within",
            |rules| fires(rules, bare_ground(), vec![]),
            vec![
                (
                    |r| r.sight = Some(sight(vec![band(7.5, 1.0, 0)])),
                    "in sight",
                ),
                (
                    |r| r.sight = Some(sight(vec![band(7.0, 1.0, 0)])),
                    "out-of-range",
                ),
            ],
        ),
        setting(
            "sight.bands[].strength",
            shot_weighed,
            vec![
                (
                    |r| r.sight = Some(sight(vec![band(8.0, 1.0, 0)])),
                    "4:2 2:1",
                ),
                (
                    |r| r.sight = Some(sight(vec![band(8.0, 0.5, 0)])),
                    "2:2 1:1",
                ),
            ],
        ),
        setting(
            "sight.bands[].shift",
            shot_weighed,
            vec![
                (
                    |r| r.sight = Some(sight(vec![band(8.0, 1.0, 0)])),
                    "4:2 2:1",
                ),
                (
                    |r| r.sight = Some(sight(vec![band(8.0, 1.0, -1)])),
                    "4:2 3:2",
                ),
            ],
        ),
        setting(
            // its front edge's midpoint is 10 mm west and 10 mm behind the front corner: 135° off
            "flanks.front_arc",
            from_the_west,
            vec![
                (|r| flanks(r).front_arc = 45.0, "2:2 3:2"),
                (|r| flanks(r).front_arc = 140.0, "2:2 1:1"),
            ],
        ),
        setting(
            "flanks.flank_shift",
            from_the_west,
            vec![
                (|r| flanks(r).flank_shift = 1, "2:2 3:2"),
                (|r| flanks(r).flank_shift = 2, "2:2 2:1"),
            ],
        ),
        setting(
            "flanks.rear_shift",
            |rules| {
                let units = vec![
                    pair("b1", "foot", (500.0, 600.0, 0.0)),
                    pair("r1", "foot", (500.0, 570.0, 0.0)),
                ];
                weighed(rules, bare_ground(), units, &one_fight())
            },
            vec![
                (|r| flanks(r).rear_shift = 2, "2:2 2:1"),
                (|r| flanks(r).rear_shift = 3, "2:2 3:1"),
            ],
        ),
        setting(
            "disorder.shift",
            |rules| {
                let mut game = game_on(rules, scenario(in_contact()), bare_ground());
                game.apply(&Event::Disordered {
                    unit: "b1".into(),
                    turns: 1,
                });
                strength::preview(&game, &one_fight())
                    .expect("a battle")
                    .column
            },
            vec![
                (|r| disorder(r).shift = 1, "3:2"),
                (|r| disorder(r).shift = 2, "2:1"),
            ],
        ),
        setting(
            "disorder.turns_to_recover",
            disordered,
            vec![
                (|r| disorder(r).turns_to_recover = 1, "b1 1, b2 0"),
                (|r| disorder(r).turns_to_recover = 3, "b1 3, b2 0"),
            ],
        ),
        setting(
            "disorder.pushed_too",
            disordered,
            vec![
                (|r| disorder(r).pushed_too = false, "b1 1, b2 0"),
                (|r| disorder(r).pushed_too = true, "b1 1, b2 1"),
            ],
        ),
        setting(
            "withdrawal.faces",
            withdrawn,
            vec![
                (|_| {}, "threw 2, lost 1"),
                (|r| withdrawal(r).faces = 20, "threw 6, lost 0"),
            ],
        ),
        setting(
            "withdrawal.costs_up_to",
            withdrawn,
            vec![
                (|_| {}, "threw 2, lost 1"),
                (|r| withdrawal(r).costs_up_to = 0, "threw 2, lost 0"),
            ],
        ),
        setting(
            "withdrawal.loses",
            withdrawn,
            vec![
                (|_| {}, "threw 2, lost 1"),
                (|r| withdrawal(r).loses = 2, "threw 2, lost 2"),
            ],
        ),
        setting(
            // 50 mm back cost 100
            "withdrawal.allowance_share",
            withdrawn,
            vec![
                (|_| {}, "threw 2, lost 1"),
                (|r| withdrawal(r).allowance_share = 0.5, "over-allowance"),
            ],
        ),
        setting(
            "breaking.at_share",
            after_losses,
            vec![
                (
                    |r| breaks(r, 0.5, Broken::NoAttacks),
                    "broken false, may not attack false, over false",
                ),
                (
                    |r| breaks(r, 0.25, Broken::NoAttacks),
                    "broken true, may not attack true, over false",
                ),
            ],
        ),
        setting(
            "breaking.then",
            after_losses,
            vec![
                (
                    |r| breaks(r, 0.25, Broken::NoAttacks),
                    "broken true, may not attack true, over false",
                ),
                (
                    |r| breaks(r, 0.25, Broken::Loses),
                    "broken true, may not attack false, over true",
                ),
            ],
        ),
    ]
}
