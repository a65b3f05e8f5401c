//! Every setting of a ruleset, one entry each: two or more of its values, and what comes of each
//! on the same small table. A setting that is missing here, or makes no difference, fails.

use crate::authored::settings_reference;
use crate::game::{Event, Game, Ground};
use crate::orders::{Hand, Instructions, Leg, Order};
use crate::referee::battles::fight;
use crate::referee::testing::{
    always, bare_ground, battle, block, bombarded, close, game_on, ground, ids, line, pair, patch,
    played, rules, scenario, sheet, throws,
};
use crate::referee::{attacks, breaking, judge_sheet, strength, victory};
use crate::ruleset::{
    Breaking, Broken, Charge, ChargeLines, Column, Dice, Disorder, Distance, Fate, Flanks,
    LineKind, Losses, MinimumMove, Outcome, RangeBand, Results, ResultsKind, Row, Ruleset, Sight,
    TerrainBy, TerrainKind, Throw, Withdrawal, ZoneExit, ZoneFront,
};
use crate::scenario::{Command, UnitEntry};

use super::{answer, back, forward};

/// A setting: its path as the reference lists it, values to give it with what comes of each, and
/// the question asked.
struct Setting {
    path: &'static str,
    ask: fn(Ruleset) -> String,
    values: Vec<Value>,
}

/// A change to the rules, and what then comes of the question.
type Value = (fn(&mut Ruleset), &'static str);

/// Settings that change words or drawings only: they are tried where those are made.
const TOLD_ELSEWHERE: [&str; 6] = [
    "format",
    "name",
    "about",
    "results.outcome.NAME.words",
    "terrain.NAME.drawn_as",
    "lines.NAME.drawn_as",
];

#[test]
fn every_setting_makes_the_difference_it_should() {
    let mut wrong = Vec::new();
    for Setting { path, ask, values } in settings() {
        let mut answers = Vec::new();
        for (index, (change, expected)) in values.into_iter().enumerate() {
            let mut rules = rules();
            change(&mut rules);
            let found = ask(rules);
            if found != expected {
                wrong.push(format!(
                    "{path}, value {index}: {found:?}, not {expected:?}"
                ));
            }
            answers.push(found);
        }
        answers.sort_unstable();
        answers.dedup();
        assert!(answers.len() >= 2, "{path} makes no difference");
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn no_setting_is_left_out() {
    let [reference, _] = settings_reference();
    let paths: Vec<&str> = reference.iter().map(|setting| &setting.path[..]).collect();
    let is_table = |path: &str| {
        let inside = [format!("{path}."), format!("{path}[].")];
        let below = |other: &&str| inside.iter().any(|start| other.starts_with(start));
        paths.iter().any(below)
    };
    let tried: Vec<&str> = settings().iter().map(|setting| setting.path).collect();
    let missing: Vec<&&str> = paths
        .iter()
        .filter(|path| !is_table(path))
        .filter(|path| !tried.contains(path) && !TOLD_ELSEWHERE.contains(path))
        .collect();
    assert!(missing.is_empty(), "settings without a test: {missing:#?}");
    let unknown: Vec<&&str> = tried.iter().filter(|path| !paths.contains(path)).collect();
    assert!(unknown.is_empty(), "no such settings: {unknown:#?}");
}

fn settings() -> Vec<Setting> {
    let mut all = scale_and_movement();
    all.extend(zones_and_command());
    all.extend(attacks_and_falling_back());
    all.extend(results());
    all.extend(ground_and_troops());
    all.extend(optional_laws());
    all
}

fn setting(path: &'static str, ask: fn(Ruleset) -> String, values: Vec<Value>) -> Setting {
    Setting { path, ask, values }
}

// ---- the tables asked ----

/// `r1`, a pair of foot, marches from (600, 600) northward; whatever else stands about.
fn marches(rules: Ruleset, ground: Ground, mut others: Vec<UnitEntry>, legs: &[Leg]) -> String {
    others.push(pair("r1", "foot", (600.0, 600.0, 0.0)));
    if !others.iter().any(|unit| unit.side == "blue") {
        others.push(pair("b9", "foot", (100.0, 1150.0, 180.0)));
    }
    let order = Order::Move {
        unit: "r1".into(),
        legs: legs.to_vec(),
    };
    let found = answer(&game_on(rules, scenario(others), ground), order);
    let parts: Vec<&str> = found.split("; ").collect();
    format!("{} at {}", parts[0], parts[1])
}

fn alone(rules: Ruleset, legs: &[Leg]) -> String {
    marches(rules, bare_ground(), vec![], legs)
}

/// An enemy pair so far ahead that faces the mover.
fn facing(gap_mm: f64) -> Vec<UnitEntry> {
    vec![pair("b1", "foot", (600.0, 600.0 + gap_mm, 180.0))]
}

fn sidestep(distance_mm: f64) -> Leg {
    Leg::Sidestep {
        side: Hand::Right,
        distance_mm,
        up_to: false,
    }
}

fn oblique(angle_deg: f64) -> Leg {
    Leg::Oblique {
        side: Hand::Right,
        angle_deg,
        distance_mm: 60.0,
        up_to: false,
    }
}

fn wheel(angle_deg: f64) -> Leg {
    Leg::Wheel {
        side: Hand::Right,
        angle_deg,
        up_to: false,
    }
}

fn align(angle_deg: f64) -> Leg {
    Leg::Align {
        side: Hand::Right,
        angle_deg,
    }
}

/// What is wrong with a declaration, as codes with the units they name; "fine" if nothing is.
fn declared(rules: Ruleset, units: Vec<UnitEntry>, orders: Vec<Order>) -> String {
    let game = game_on(rules, scenario(units), bare_ground());
    let (battles, duties) = attacks::judge(&game, &sheet(orders));
    let reasons = battles.iter().flat_map(|battle| &battle.reasons);
    let told: Vec<String> = reasons
        .chain(&duties)
        .map(|reason| {
            format!(
                "{} {}",
                reason.code().as_str(),
                reason.other().unwrap_or("-")
            )
        })
        .collect();
    if told.is_empty() {
        "fine".to_owned()
    } else {
        told.join(", ")
    }
}

/// `attack:defence column` of a battle.
fn weighed(rules: Ruleset, ground: Ground, units: Vec<UnitEntry>, order: &Order) -> String {
    let game = game_on(rules, scenario(units), ground);
    let odds = strength::preview(&game, order).expect("a battle");
    format!("{}:{} {}", odds.attack, odds.defence, odds.column)
}

/// Red's foot pair `r1` at (500, 500) facing blue's `b1` 10 mm off.
fn in_contact() -> Vec<UnitEntry> {
    vec![
        pair("r1", "foot", (500.0, 500.0, 0.0)),
        pair("b1", "foot", (500.0, 510.0, 180.0)),
    ]
}

fn fought(game: &mut Game, order: Order) -> Vec<Event> {
    fight(
        game,
        &sheet(vec![order]),
        &Instructions::default(),
        &mut throws(1),
    )
    .events
}

/// Where both sides of a battle between `r1` and `b1` are after it, with their bases.
fn after(rules: Ruleset, units: Vec<UnitEntry>, order: Order) -> String {
    let mut game = game_on(rules, scenario(units), bare_ground());
    fought(&mut game, order);
    let told = |id: &str| {
        let unit = game.unit(&id.into()).expect("a unit");
        match unit.pose() {
            Some(pose) => format!(
                "{id} {:.0} {:.0} × {}",
                pose.x_mm(),
                pose.y_mm(),
                unit.bases
            ),
            None => format!("{id} gone"),
        }
    };
    format!("{}, {}", told("r1"), told("b1"))
}

fn falls_back(base_widths: f64) -> Fate {
    Fate {
        falls_back: Some(Distance::new(base_widths)),
        ..Fate::default()
    }
}

fn defender(rules: &mut Ruleset, fate: Fate) {
    rules.results = always(Outcome {
        defender: fate,
        ..Outcome::default()
    });
}

fn attacker(rules: &mut Ruleset, fate: Fate) {
    rules.results = always(Outcome {
        attacker: fate,
        ..Outcome::default()
    });
}

fn one_fight() -> Order {
    battle(&["r1"], &["b1"])
}

// ---- the settings ----

fn scale_and_movement() -> Vec<Setting> {
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
                let brook = crate::game::GroundLine {
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

fn zones_and_command() -> Vec<Setting> {
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

fn general(x_mm: f64) -> UnitEntry {
    block("r9", "general", (1, 1), (x_mm, 600.0, 0.0))
}

/// Guns 60 mm from `b1`, their own friend `r1` between them and touching nobody.
fn guns_behind() -> Vec<UnitEntry> {
    vec![
        pair("r1", "foot", (500.0, 500.0, 0.0)),
        pair("rg", "guns", (500.0, 460.0, 0.0)),
        pair("b1", "foot", (500.0, 520.0, 180.0)),
    ]
}

fn attacks_and_falling_back() -> Vec<Setting> {
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

/// The column and the dice of one battle of four bases against two.
fn thrown(rules: Ruleset) -> String {
    let units = vec![
        block("r1", "foot", (2, 2), (500.0, 500.0, 0.0)),
        pair("b1", "foot", (500.0, 510.0, 180.0)),
    ];
    let mut game = game_on(rules, scenario(units), bare_ground());
    let events = fought(&mut game, one_fight());
    match &events[0] {
        Event::BattleFought { report } => format!(
            "{} dice {} to {}, column {}, {}",
            report.dice.len(),
            report.dice.iter().min().copied().unwrap_or(0),
            report.dice.iter().max().copied().unwrap_or(0),
            report.column,
            report.outcome
        ),
        other => format!("{other:?}"),
    }
}

/// A table of so many columns and dice whose outcomes are named by row and column.
fn table(kind: ResultsKind, columns: &[&str], (count, faces): (u32, u32)) -> Results {
    let split = count * faces / 2;
    let names = |row: &str| -> Vec<String> {
        (1..=columns.len())
            .map(|column| format!("{row} {column}"))
            .collect()
    };
    let row = |throw, name: &str| Row {
        throw,
        outcomes: names(name),
    };
    let rows = vec![
        row(Throw::Between([count, split]), "low"),
        row(Throw::Between([split + 1, count * faces]), "high"),
    ];
    Results {
        kind,
        dice: Dice { count, faces },
        columns: columns
            .iter()
            .map(|text| Column::parse(text).expect("a column"))
            .collect(),
        outcome: rows
            .iter()
            .flat_map(|row| &row.outcomes)
            .map(|name| (name.clone(), Outcome::default()))
            .collect(),
        row: rows,
        losses: Losses::EachUnit,
    }
}

const ODDS: [&str; 2] = ["1:1", "2:1"];

fn results() -> Vec<Setting> {
    vec![
        setting(
            "results.kind",
            thrown,
            vec![
                (
                    |r| r.results = table(ResultsKind::Odds, &ODDS, (1, 6)),
                    "1 dice 2 to 2, column 2:1, low 2",
                ),
                (
                    |r| r.results = table(ResultsKind::Differential, &["0", "2", "5"], (1, 6)),
                    "1 dice 2 to 2, column +2, low 2",
                ),
            ],
        ),
        setting(
            "results.columns",
            thrown,
            vec![
                (
                    |r| r.results = table(ResultsKind::Odds, &ODDS, (1, 6)),
                    "1 dice 2 to 2, column 2:1, low 2",
                ),
                (
                    |r| r.results = table(ResultsKind::Odds, &["1:2", "3:2", "3:1"], (1, 6)),
                    "1 dice 2 to 2, column 3:2, low 2",
                ),
            ],
        ),
        setting(
            "results.dice.count",
            thrown,
            vec![
                (
                    |r| r.results = table(ResultsKind::Odds, &ODDS, (1, 6)),
                    "1 dice 2 to 2, column 2:1, low 2",
                ),
                (
                    |r| r.results = table(ResultsKind::Odds, &ODDS, (3, 6)),
                    "3 dice 1 to 2, column 2:1, low 2",
                ),
            ],
        ),
        setting(
            "results.dice.faces",
            thrown,
            vec![
                (
                    |r| r.results = table(ResultsKind::Odds, &ODDS, (1, 6)),
                    "1 dice 2 to 2, column 2:1, low 2",
                ),
                (
                    |r| r.results = table(ResultsKind::Odds, &ODDS, (1, 20)),
                    "1 dice 6 to 6, column 2:1, low 2",
                ),
            ],
        ),
        setting(
            "results.row[].throw",
            thrown,
            vec![
                (
                    |r| r.results = table(ResultsKind::Odds, &ODDS, (1, 6)),
                    "1 dice 2 to 2, column 2:1, low 2",
                ),
                (
                    |r| {
                        r.results = table(ResultsKind::Odds, &ODDS, (1, 6));
                        r.results.row[0].throw = Throw::Total(1);
                        r.results.row[1].throw = Throw::Between([2, 6]);
                    },
                    "1 dice 2 to 2, column 2:1, high 2",
                ),
            ],
        ),
        setting(
            "results.row[].outcomes",
            thrown,
            vec![
                (
                    |r| r.results = table(ResultsKind::Odds, &ODDS, (1, 6)),
                    "1 dice 2 to 2, column 2:1, low 2",
                ),
                (
                    |r| {
                        r.results = table(ResultsKind::Odds, &ODDS, (1, 6));
                        r.results.row[0].outcomes.swap(0, 1);
                    },
                    "1 dice 2 to 2, column 2:1, low 1",
                ),
            ],
        ),
        setting(
            "results.losses",
            |mut rules| {
                let losses = rules.results.losses;
                defender(
                    &mut rules,
                    Fate {
                        loses: 1,
                        ..Fate::default()
                    },
                );
                rules.results.losses = losses;
                let mut units = in_contact();
                units.push(pair("b2", "foot", (580.0, 510.0, 180.0)));
                after(rules, units, battle(&["r1"], &["b2", "b1"]))
            },
            vec![
                (
                    |r| r.results.losses = Losses::EachUnit,
                    "r1 500 500 × 2, b1 500 510 × 1",
                ),
                // the first named of equals loses it
                (
                    |r| r.results.losses = Losses::Side,
                    "r1 500 500 × 2, b1 500 510 × 2",
                ),
            ],
        ),
        setting(
            "results.outcome.NAME.exchange",
            |rules| after(rules, in_contact(), one_fight()),
            vec![
                (|_| {}, "r1 500 500 × 2, b1 500 510 × 2"),
                (
                    |r| {
                        r.results = always(Outcome {
                            exchange: true,
                            ..Outcome::default()
                        });
                    },
                    "r1 gone, b1 gone",
                ),
            ],
        ),
        setting(
            "results.outcome.NAME.attacker.falls_back",
            |rules| after(rules, in_contact(), one_fight()),
            vec![
                (|_| {}, "r1 500 500 × 2, b1 500 510 × 2"),
                (
                    |r| attacker(r, falls_back(1.0)),
                    "r1 500 460 × 2, b1 500 510 × 2",
                ),
                (
                    |r| attacker(r, falls_back(2.0)),
                    "r1 500 420 × 2, b1 500 510 × 2",
                ),
            ],
        ),
        setting(
            "results.outcome.NAME.attacker.loses",
            |rules| after(rules, in_contact(), one_fight()),
            vec![
                (|_| {}, "r1 500 500 × 2, b1 500 510 × 2"),
                (
                    |r| {
                        attacker(
                            r,
                            Fate {
                                loses: 1,
                                ..Fate::default()
                            },
                        )
                    },
                    "r1 500 500 × 1, b1 500 510 × 2",
                ),
                (
                    |r| {
                        attacker(
                            r,
                            Fate {
                                loses: 2,
                                ..Fate::default()
                            },
                        )
                    },
                    "r1 gone, b1 500 510 × 2",
                ),
            ],
        ),
        setting(
            "results.outcome.NAME.attacker.eliminated",
            |rules| after(rules, in_contact(), one_fight()),
            vec![
                (|_| {}, "r1 500 500 × 2, b1 500 510 × 2"),
                (
                    |r| {
                        attacker(
                            r,
                            Fate {
                                eliminated: true,
                                ..Fate::default()
                            },
                        )
                    },
                    "r1 gone, b1 500 510 × 2",
                ),
            ],
        ),
        setting(
            "results.outcome.NAME.defender.falls_back",
            |rules| after(rules, in_contact(), one_fight()),
            vec![
                (|_| {}, "r1 500 500 × 2, b1 500 510 × 2"),
                (
                    |r| defender(r, falls_back(1.0)),
                    "r1 500 500 × 2, b1 500 550 × 2",
                ),
                (
                    |r| defender(r, falls_back(1.5)),
                    "r1 500 500 × 2, b1 500 570 × 2",
                ),
            ],
        ),
        setting(
            "results.outcome.NAME.defender.loses",
            |rules| after(rules, in_contact(), one_fight()),
            vec![
                (|_| {}, "r1 500 500 × 2, b1 500 510 × 2"),
                (
                    |r| {
                        defender(
                            r,
                            Fate {
                                loses: 1,
                                ..Fate::default()
                            },
                        )
                    },
                    "r1 500 500 × 2, b1 500 510 × 1",
                ),
            ],
        ),
        setting(
            "results.outcome.NAME.defender.eliminated",
            |rules| after(rules, in_contact(), one_fight()),
            vec![
                (|_| {}, "r1 500 500 × 2, b1 500 510 × 2"),
                (
                    |r| {
                        defender(
                            r,
                            Fate {
                                eliminated: true,
                                ..Fate::default()
                            },
                        )
                    },
                    "r1 500 500 × 2, b1 gone",
                ),
            ],
        ),
    ]
}

/// A march of 50 mm northward over a patch of the ruleset's first kind, from 620 mm on.
fn over_patch(rules: Ruleset) -> String {
    let kind = kind(&rules);
    let patch = patch("Patch", kind, (400.0, 620.0), (800.0, 700.0));
    marches(rules, ground(vec![patch], vec![]), vec![], &[forward(50.0)])
}

fn kind(rules: &Ruleset) -> TerrainKind {
    rules.terrain.values().next().cloned().unwrap_or_default()
}

/// The odds against a defender that stands on a patch of the ruleset's first kind.
fn on_patch(rules: Ruleset) -> String {
    let patch = patch("Patch", kind(&rules), (400.0, 505.0), (600.0, 600.0));
    let units = vec![
        block("r1", "foot", (2, 2), (500.0, 500.0, 0.0)),
        pair("b1", "foot", (500.0, 510.0, 180.0)),
    ];
    weighed(rules, ground(vec![patch], vec![]), units, &one_fight())
}

fn with_kind(rules: &mut Ruleset, kind: TerrainKind) {
    rules.terrain.insert("kind".to_owned(), kind);
}

fn line_kind(rules: &Ruleset) -> LineKind {
    rules.lines.values().next().cloned().unwrap_or_default()
}

fn with_line(rules: &mut Ruleset, kind: LineKind) {
    rules.lines.insert("kind".to_owned(), kind);
}

/// A march of 50 mm over a line of the ruleset's first kind, drawn eastward: its left is north.
fn over_line(rules: Ruleset) -> String {
    let kind = line_kind(&rules);
    let brook = crate::game::GroundLine {
        charge_mm: kind.charge.mm(&rules.scale),
        ..line("Line", kind, &[(400.0, 620.0), (800.0, 620.0)], &[])
    };
    marches(rules, ground(vec![], vec![brook]), vec![], &[forward(50.0)])
}

/// The odds against a defender behind a line of the ruleset's first kind.
fn across_line(rules: Ruleset) -> String {
    let wall = line(
        "Line",
        line_kind(&rules),
        &[(300.0, 505.0), (700.0, 505.0)],
        &[],
    );
    let units = vec![
        block("r1", "foot", (2, 2), (500.0, 500.0, 0.0)),
        pair("b1", "foot", (500.0, 510.0, 180.0)),
    ];
    weighed(rules, ground(vec![], vec![wall]), units, &one_fight())
}

/// Whether guns at (600, 200) may fire at foot whose near edge is 300 mm north of them.
fn fires(mut rules: Ruleset, ground: Ground, mut others: Vec<UnitEntry>) -> String {
    if rules.sight.is_none() {
        rules.sight = Some(sight(vec![band(20.0, 1.0, 0)]));
    }
    others.push(block("rg", "guns", (1, 1), (600.0, 200.0, 0.0)));
    others.push(block("b1", "foot", (1, 1), (600.0, 500.0, 180.0)));
    let game = game_on(rules, scenario(others), ground);
    let verdict = judge_sheet(&game, &sheet(vec![shot()]));
    let reasons = &verdict.battles[0].reasons;
    reasons.first().map_or("in sight".to_owned(), |reason| {
        reason.code().as_str().to_owned()
    })
}

fn shot() -> Order {
    Order::Fire {
        guns: ids(&["rg"]),
        target: "b1".into(),
    }
}

fn sight(bands: Vec<RangeBand>) -> Sight {
    Sight {
        units_block: true,
        bands,
    }
}

fn band(within: f64, strength: f64, shift: i32) -> RangeBand {
    RangeBand {
        within: Distance::new(within),
        strength,
        shift,
    }
}

fn past_patch(rules: Ruleset) -> String {
    let between = patch("Patch", kind(&rules), (400.0, 300.0), (800.0, 400.0));
    fires(rules, ground(vec![between], vec![]), vec![])
}

fn past_line(rules: Ruleset) -> String {
    let hedge = line(
        "Line",
        line_kind(&rules),
        &[(400.0, 350.0), (800.0, 350.0)],
        &[],
    );
    fires(rules, ground(vec![], vec![hedge]), vec![])
}

fn foot(rules: &mut Ruleset) -> &mut crate::ruleset::TroopType {
    rules.troops.get_mut("foot").expect("there are foot")
}

fn ground_and_troops() -> Vec<Setting> {
    vec![
        setting(
            "terrain.NAME.rate",
            over_patch,
            vec![
                (|_| {}, "legal at 50.0 of 120.0"),
                (
                    |r| {
                        with_kind(
                            r,
                            TerrainKind {
                                rate: 3.0,
                                ..TerrainKind::default()
                            },
                        )
                    },
                    "legal at 110.0 of 120.0",
                ),
            ],
        ),
        setting(
            "terrain.NAME.impassable",
            over_patch,
            vec![
                (|_| {}, "legal at 50.0 of 120.0"),
                (
                    |r| {
                        with_kind(
                            r,
                            TerrainKind {
                                impassable: true,
                                ..TerrainKind::default()
                            },
                        )
                    },
                    "refused impassable at 50.0 of 120.0",
                ),
            ],
        ),
        setting(
            "terrain.NAME.defence",
            on_patch,
            vec![
                (|_| {}, "4:2 2:1"),
                (
                    |r| {
                        with_kind(
                            r,
                            TerrainKind {
                                defence: 2.0,
                                ..TerrainKind::default()
                            },
                        )
                    },
                    "4:4 1:1",
                ),
            ],
        ),
        setting(
            "terrain.NAME.shift",
            on_patch,
            vec![
                (|_| {}, "4:2 2:1"),
                (
                    |r| {
                        with_kind(
                            r,
                            TerrainKind {
                                shift: -1,
                                ..TerrainKind::default()
                            },
                        )
                    },
                    "4:2 3:2",
                ),
            ],
        ),
        setting(
            "terrain.NAME.blocks_sight",
            past_patch,
            vec![
                (|_| {}, "in sight"),
                (
                    |r| {
                        with_kind(
                            r,
                            TerrainKind {
                                blocks_sight: true,
                                ..TerrainKind::default()
                            },
                        )
                    },
                    "not-in-sight",
                ),
            ],
        ),
        setting(
            "terrain.NAME.high",
            past_patch,
            vec![
                (|_| {}, "in sight"),
                (
                    |r| {
                        with_kind(
                            r,
                            TerrainKind {
                                high: true,
                                ..TerrainKind::default()
                            },
                        )
                    },
                    "not-in-sight",
                ),
            ],
        ),
        setting(
            "lines.NAME.charge",
            over_line,
            vec![
                (|_| {}, "legal at 50.0 of 120.0"),
                (
                    |r| {
                        with_line(
                            r,
                            LineKind {
                                charge: Charge::new(1.0),
                                ..LineKind::default()
                            },
                        )
                    },
                    "legal at 90.0 of 120.0",
                ),
            ],
        ),
        setting(
            // the march goes downhill when the high side is the south, on the right
            "lines.NAME.slope",
            |rules| {
                let kind = line_kind(&rules);
                let edge = crate::game::GroundLine {
                    charge_mm: kind.charge.mm(&rules.scale),
                    ..line("Line", kind, &[(800.0, 620.0), (400.0, 620.0)], &[])
                };
                marches(rules, ground(vec![], vec![edge]), vec![], &[forward(50.0)])
            },
            vec![
                (
                    |r| {
                        with_line(
                            r,
                            LineKind {
                                charge: Charge::new(1.0),
                                ..LineKind::default()
                            },
                        )
                    },
                    "legal at 90.0 of 120.0",
                ),
                (
                    |r| {
                        with_line(
                            r,
                            LineKind {
                                charge: Charge::new(1.0),
                                slope: true,
                                ..LineKind::default()
                            },
                        );
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
                (
                    |r| {
                        with_line(
                            r,
                            LineKind {
                                shift: -2,
                                ..LineKind::default()
                            },
                        )
                    },
                    "4:2 1:1",
                ),
            ],
        ),
        setting(
            "lines.NAME.defence",
            across_line,
            vec![
                (|_| {}, "4:2 2:1"),
                (
                    |r| {
                        with_line(
                            r,
                            LineKind {
                                defence: 1.5,
                                ..LineKind::default()
                            },
                        )
                    },
                    "4:3 1:1",
                ),
            ],
        ),
        setting(
            "lines.NAME.blocks_sight",
            past_line,
            vec![
                (|_| {}, "in sight"),
                (
                    |r| {
                        with_line(
                            r,
                            LineKind {
                                blocks_sight: true,
                                ..LineKind::default()
                            },
                        )
                    },
                    "not-in-sight",
                ),
            ],
        ),
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
                        guns.arm = crate::ruleset::Arm::Horse;
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
fn withdrawn(mut rules: Ruleset, law: Withdrawal) -> String {
    rules.withdrawal = Some(law);
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

fn law() -> Withdrawal {
    Withdrawal::default()
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

fn optional_laws() -> Vec<Setting> {
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
                (
                    |r| {
                        r.flanks = Some(Flanks {
                            front_arc: 45.0,
                            ..Flanks::default()
                        })
                    },
                    "2:2 3:2",
                ),
                (
                    |r| {
                        r.flanks = Some(Flanks {
                            front_arc: 140.0,
                            ..Flanks::default()
                        })
                    },
                    "2:2 1:1",
                ),
            ],
        ),
        setting(
            "flanks.flank_shift",
            from_the_west,
            vec![
                (
                    |r| {
                        r.flanks = Some(Flanks {
                            flank_shift: 1,
                            ..Flanks::default()
                        })
                    },
                    "2:2 3:2",
                ),
                (
                    |r| {
                        r.flanks = Some(Flanks {
                            flank_shift: 2,
                            ..Flanks::default()
                        })
                    },
                    "2:2 2:1",
                ),
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
                (
                    |r| {
                        r.flanks = Some(Flanks {
                            rear_shift: 2,
                            ..Flanks::default()
                        })
                    },
                    "2:2 2:1",
                ),
                (
                    |r| {
                        r.flanks = Some(Flanks {
                            rear_shift: 3,
                            ..Flanks::default()
                        })
                    },
                    "2:2 3:1",
                ),
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
                (
                    |r| {
                        r.disorder = Some(Disorder {
                            shift: 1,
                            ..Disorder::default()
                        })
                    },
                    "3:2",
                ),
                (
                    |r| {
                        r.disorder = Some(Disorder {
                            shift: 2,
                            ..Disorder::default()
                        })
                    },
                    "2:1",
                ),
            ],
        ),
        setting(
            "disorder.turns_to_recover",
            disordered,
            vec![
                (|r| r.disorder = Some(Disorder::default()), "b1 1, b2 0"),
                (
                    |r| {
                        r.disorder = Some(Disorder {
                            turns_to_recover: 3,
                            ..Disorder::default()
                        })
                    },
                    "b1 3, b2 0",
                ),
            ],
        ),
        setting(
            "disorder.pushed_too",
            disordered,
            vec![
                (
                    |r| {
                        r.disorder = Some(Disorder {
                            pushed_too: false,
                            ..Disorder::default()
                        })
                    },
                    "b1 1, b2 0",
                ),
                (
                    |r| {
                        r.disorder = Some(Disorder {
                            pushed_too: true,
                            ..Disorder::default()
                        })
                    },
                    "b1 1, b2 1",
                ),
            ],
        ),
        setting(
            "withdrawal.faces",
            |rules| {
                let faces = rules.withdrawal.as_ref().map_or(6, |law| law.faces);
                withdrawn(rules, Withdrawal { faces, ..law() })
            },
            vec![
                (|_| {}, "threw 1, lost 1"),
                (
                    |r| r.withdrawal = Some(Withdrawal { faces: 20, ..law() }),
                    "threw 7, lost 0",
                ),
            ],
        ),
        setting(
            "withdrawal.costs_up_to",
            |rules| {
                let costs_up_to = rules.withdrawal.as_ref().map_or(3, |law| law.costs_up_to);
                withdrawn(
                    rules,
                    Withdrawal {
                        costs_up_to,
                        ..law()
                    },
                )
            },
            vec![
                (|_| {}, "threw 1, lost 1"),
                (
                    |r| {
                        r.withdrawal = Some(Withdrawal {
                            costs_up_to: 0,
                            ..law()
                        })
                    },
                    "threw 1, lost 0",
                ),
            ],
        ),
        setting(
            "withdrawal.loses",
            |rules| {
                let loses = rules.withdrawal.as_ref().map_or(1, |law| law.loses);
                withdrawn(rules, Withdrawal { loses, ..law() })
            },
            vec![
                (|_| {}, "threw 1, lost 1"),
                (
                    |r| r.withdrawal = Some(Withdrawal { loses: 2, ..law() }),
                    "threw 1, lost 2",
                ),
            ],
        ),
        setting(
            // 50 mm back cost 100
            "withdrawal.allowance_share",
            |rules| {
                let allowance_share = rules
                    .withdrawal
                    .as_ref()
                    .map_or(1.0, |law| law.allowance_share);
                withdrawn(
                    rules,
                    Withdrawal {
                        allowance_share,
                        ..law()
                    },
                )
            },
            vec![
                (|_| {}, "threw 1, lost 1"),
                (
                    |r| {
                        r.withdrawal = Some(Withdrawal {
                            allowance_share: 0.5,
                            ..law()
                        })
                    },
                    "over-allowance",
                ),
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
