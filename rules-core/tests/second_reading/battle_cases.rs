//! Battles by chance: declared, fought on a table of one outcome, and compared to the last unit's place.

use std::collections::BTreeMap;
use std::sync::Arc;

use fieldpost_rules::game::{Event, Game};
use fieldpost_rules::orders::{Hand, Instruction, Instructions, Order, SideId, TurnSheet, UnitId};
use fieldpost_rules::referee::{Posting, play};

use crate::cases::{Case, UnitSpec};
use crate::chance::Chance;
use crate::fighting::{Fought, fight};
use crate::shrink::smallest_by;
use crate::sweep::number;
use crate::table::Table;

/// Ends of falling back agree within this: the fan is narrowed down to a thousandth of a degree.
const WITHIN_MM: f64 = 0.02;

fn outcome(chance: &mut Chance) -> String {
    let fate = |chance: &mut Chance| match chance.below(8) {
        0 => String::new(),
        1 => "eliminated = true".to_owned(),
        2 => "loses = 1".to_owned(),
        3 => "loses = 2, falls_back = 1".to_owned(),
        _ => format!(
            "falls_back = {}",
            chance.of(&["0.25", "0.5", "1", "1.5", "2", "0"])
        ),
    };
    let (defender, attacker) = (
        fate(chance),
        if chance.one_in(2) {
            fate(chance)
        } else {
            String::new()
        },
    );
    let exchange = chance.one_in(8);
    let kind = chance.one_in(2);
    let columns = if kind {
        "kind = \"odds\", columns = [\"1:2\", \"1:1\", \"3:2\", \"2:1\", \"3:1\"]"
    } else {
        "kind = \"differential\", columns = [-4, -2, 0, 2, 4]"
    };
    let losses = if chance.one_in(4) {
        ", losses = \"side\""
    } else {
        ""
    };
    let names = "[\"all\", \"all\", \"all\", \"all\", \"all\"]";
    format!(
        "{{ {columns}{losses}, dice = {{ count = 1, faces = 2 }}, row = [{{ throw = 1, outcomes = {names} }}, {{ throw = 2, outcomes = {names} }}], \
         outcome.all = {{ exchange = {exchange}, defender = {{ {defender} }}, attacker = {{ {attacker} }} }} }}"
    )
}

fn spec(id: &str, red: bool, chance: &mut Chance, at: [f64; 3]) -> UnitSpec {
    let (files, ranks) = (chance.of(&[1u16, 1, 2, 2, 3]), chance.of(&[1u16, 1, 2, 3]));
    let missing = if ranks > 1 && chance.one_in(4) { 1 } else { 0 };
    UnitSpec {
        id: id.to_owned(),
        red,
        troops: chance.of(&["foot", "foot", "horse"]),
        files,
        ranks,
        bases: files * ranks - missing.min(files - 1),
        at: at.map(|value| (value * 1000.0).round() / 1000.0),
        arrives: None,
        command: None,
    }
}

fn deep(unit: &UnitSpec) -> f64 {
    f64::from(unit.ranks) * if unit.troops == "foot" { 20.0 } else { 40.0 }
}

/// A place beside and behind a unit, in its own axes.
fn place(unit: &UnitSpec, right: f64, ahead: f64, bearing: f64) -> [f64; 3] {
    let (sine, cosine) = unit.at[2].to_radians().sin_cos();
    let (x, y) = (
        unit.at[0] + cosine * right + sine * ahead,
        unit.at[1] - sine * right + cosine * ahead,
    );
    [x, y, (bearing + 360.0) % 360.0]
}

/// A battle and the standing instructions of the side that waits.
pub fn battle(chance: &mut Chance) -> (Case, Instructions) {
    let lattice = chance.one_in(2);
    let mut settings = BTreeMap::new();
    settings.insert("attacks.compulsory".to_owned(), "false".to_owned());
    settings.insert("command.required".to_owned(), "false".to_owned());
    settings.insert("results".to_owned(), outcome(chance));
    let mut set = |key: &str, value: &str| settings.insert(key.to_owned(), value.to_owned());
    if chance.one_in(4) {
        set("movement.pass_friends", "false");
    }
    if chance.one_in(4) {
        set("zones.zone_front", "\"ahead\"");
    }
    if chance.one_in(4) {
        set("falling_back.fan", chance.of(&["0", "45", "90"]));
    }
    if chance.one_in(5) {
        set("attacks.depth", chance.of(&["1", "2", "4"]));
    }
    if chance.one_in(6) {
        set("falling_back.follow_up", chance.of(&["0.5", "2"]));
    }
    if chance.one_in(8) {
        set("attacks.support", "false");
    }
    let table_mm = 1000.0;
    let near_edge = chance.one_in(8);
    let middle = if near_edge { 940.0 } else { 500.0 };
    let slant = |chance: &mut Chance| {
        if lattice {
            0.0
        } else {
            chance.between(-25.0, 25.0).round()
        }
    };
    let bearing = if lattice {
        chance.of(&[0.0, 180.0])
    } else {
        chance.between(150.0, 210.0).round()
    };
    let mut units = vec![spec("blue-1", false, chance, [500.0, middle, bearing])];
    let first = units[0].clone();
    // attackers about its front, its flanks or its rear
    for n in 1..=1 + chance.below(2) {
        let gap = chance.of(&[0.0, 0.0, 5.0, 10.0, 20.0, 35.0]);
        let aside: f64 = chance.of(&[0.0, 10.0, 20.0, -20.0, 40.0, -40.0]);
        let off = chance.below(6);
        let mut unit = spec(&format!("red-{n}"), true, chance, [0.0; 3]);
        let half = f64::from(first.files) * 20.0;
        let turn = slant(chance);
        unit.at = match off {
            0 => place(
                &first,
                half + gap,
                -aside.abs() / 4.0,
                bearing + 270.0 + turn,
            ),
            1 => place(
                &first,
                -half - gap,
                -aside.abs() / 4.0,
                bearing + 90.0 + turn,
            ),
            2 => place(&first, aside, -deep(&first) - gap, bearing + turn),
            _ => place(&first, aside, gap, bearing + 180.0 + turn),
        };
        units.push(unit);
    }
    for n in 2..2 + chance.below(3) {
        // friends behind it or beside it: in support or in the way
        let (aside, gap) = (
            chance.of(&[0.0, 0.0, 10.0, 20.0, -30.0, 50.0]),
            chance.of(&[0.0, 0.0, 0.3, 10.0, 25.0]),
        );
        let turn = if chance.one_in(2) { 0.0 } else { slant(chance) };
        let mut unit = spec(&format!("blue-{n}"), false, chance, [0.0; 3]);
        let front = units[if chance.one_in(3) { units.len() - 1 } else { 0 }].clone();
        let front = if front.red { first.clone() } else { front };
        unit.at = place(&front, aside, -deep(&front) - gap, front.at[2] + turn);
        units.push(unit);
    }
    if chance.one_in(3) {
        // another enemy in the way
        let at = [
            500.0 + chance.between(-120.0, 120.0).round(),
            middle + chance.between(-150.0, 150.0).round(),
            chance.of(&[0.0, 90.0, 180.0]),
        ];
        units.push(spec("red-8", true, chance, at));
    }
    if chance.one_in(3) {
        // support for an attacker
        let front = units[1].clone();
        let mut unit = spec("red-7", true, chance, [0.0; 3]);
        unit.at = place(
            &front,
            chance.of(&[0.0, 10.0, 20.0, -20.0]),
            -deep(&front) - chance.of(&[0.0, 0.3]),
            front.at[2],
        );
        units.push(unit);
    }
    let mut patches = Vec::new();
    if chance.one_in(2) {
        // something on the way that it would fall back, a little aside
        let aside = chance.of(&[-50.0, -35.0, -30.0, -20.0, 0.0, 20.0, 30.0, 35.0, 50.0]);
        let behind = -deep(&first) - chance.of(&[15.0, 25.0, 40.0]);
        if chance.one_in(2) {
            let [x, y, _] = place(&first, aside, behind, 0.0).map(f64::round);
            let (w, h) = (chance.of(&[10.0, 20.0]), chance.of(&[10.0, 30.0]));
            patches.push((
                "pond",
                vec![
                    [x - w, y - h],
                    [x + w, y - h],
                    [x + w, y + h],
                    [x - w, y + h],
                ],
            ));
        } else {
            let mut unit = spec("red-9", true, chance, [0.0; 3]);
            (unit.files, unit.ranks, unit.bases) = (1, 1, 1);
            unit.at = place(&first, aside * 2.0, behind - 20.0, chance.of(&[0.0, 90.0]));
            units.push(unit);
        }
    }
    for unit in &mut units {
        unit.at = unit.at.map(|value| (value * 1000.0).round() / 1000.0);
    }
    if chance.one_in(3) {
        let (x, y) = (
            500.0 + chance.between(-120.0, 80.0).round(),
            middle + chance.between(-120.0, 100.0).round(),
        );
        let (w, h) = (chance.of(&[20.0, 60.0]), chance.of(&[20.0, 60.0]));
        let kind = chance.of(&["pond", "pond", "hill", "lawn"]);
        patches.push((kind, vec![[x, y], [x + w, y], [x + w, y + h], [x, y + h]]));
    }
    let reds: Vec<UnitId> = units
        .iter()
        .filter(|unit| unit.red && unit.id.as_str() < "red-8")
        .map(|unit| UnitId(unit.id.clone()))
        .collect();
    let mut orders = vec![Order::Battle {
        follow_up: chance.one_in(2).then(|| chance.of(&reds)),
        attackers: reds.clone(),
        defenders: vec![UnitId::from("blue-1")],
        guns: Vec::new(),
    }];
    if chance.one_in(3) {
        let side = chance.of(&[Hand::Left, Hand::Right]);
        orders.push(Order::GiveWay {
            unit: chance.of(&reds),
            side,
        });
    }
    let give_way = chance.of(&[None, Some(Hand::Left), Some(Hand::Right)]);
    let instructions = Instructions {
        all: Instruction {
            follow_up: chance.one_in(2),
            give_way,
        },
        ..Instructions::default()
    };
    let case = Case {
        settings,
        scale: 1.0,
        table_mm,
        units,
        patches,
        lines: Vec::new(),
        roads: Vec::new(),
        orders,
        lattice,
    };
    (case, instructions)
}

/// The events of a sheet played on a case, and the game after them.
pub fn played(case: &Case, standing: &Instructions) -> Option<(Vec<Event>, Game)> {
    let mut game = Game::new(Arc::new(case.open()?));
    let sheet = TurnSheet {
        game_turn: 1,
        side: SideId::from("red"),
        orders: case.orders.clone(),
    };
    let posting = Posting {
        sheet: &sheet,
        standing,
        game_id: [1; 16],
        attempt: 1,
        secret: [3; 32],
        number: [4; 32],
        next_commitment: [5; 32],
        sealed: &[],
    };
    let events = play(&game, &posting).ok()?;
    events.iter().for_each(|event| game.apply(event));
    Some((events, game))
}

/// How the two differ, and whether that is excused; `None` when the battle could not be declared.
fn difference(
    case: &Case,
    standing: &Instructions,
) -> Option<(Option<String>, Fought, Vec<Event>)> {
    let (events, game) = played(case, standing)?;
    let mut table = Table::new(&case.open()?);
    let fought = fight(&mut table, &case.orders, &case.orders[0], standing)?;
    let mut all = Vec::new();
    for event in &events {
        if let Event::BattleFought { report } = event {
            let ids = |units: &[UnitId]| {
                let mut ids: Vec<String> = units.iter().map(|unit| unit.0.clone()).collect();
                ids.sort();
                ids
            };
            let sorted = |ids: &[String]| {
                let mut ids = ids.to_vec();
                ids.sort();
                ids
            };
            if ids(&report.attackers) != sorted(&fought.attackers)
                || ids(&report.defenders) != sorted(&fought.defenders)
            {
                all.push("parties".to_owned());
            }
            if let Some(odds) = &fought.odds {
                if (report.attack - odds.attack).abs() > 1e-6
                    || (report.defence - odds.defence).abs() > 1e-6
                {
                    all.push("strengths".to_owned());
                }
                if report.column != odds.column {
                    all.push("column".to_owned());
                }
            }
        }
    }
    for unit in &table.units {
        let own = game.unit(&UnitId(unit.id.clone()))?;
        let stands = own.is_on_table();
        if stands != unit.on_table {
            all.push(format!("{} removed", if stands { "not" } else { "" }));
            continue;
        }
        if own.bases != unit.bases {
            all.push("bases".to_owned());
        }
        if let Some(pose) = own.pose() {
            let (x, y) = (
                pose.x_mm() - unit.rect.anchor.x,
                pose.y_mm() - unit.rect.anchor.y,
            );
            if stands && (x.abs() > WITHIN_MM || y.abs() > WITHIN_MM) {
                all.push(format!("place of {}", unit.id.split('-').next().unwrap()));
            }
        }
    }
    Some((all.first().cloned(), fought, events))
}

/// A hair in the starting places changes the second reading's own answer: a value near its threshold.
fn is_near(case: &Case, standing: &Instructions) -> bool {
    let places = |case: &Case| -> Option<Vec<(bool, u16, [f64; 2])>> {
        let mut table = Table::new(&case.open()?);
        fight(&mut table, &case.orders, &case.orders[0], standing)?;
        Some(
            table
                .units
                .iter()
                .map(|u| (u.on_table, u.bases, [u.rect.anchor.x, u.rect.anchor.y]))
                .collect(),
        )
    };
    let Some(own) = places(case) else {
        return false;
    };
    let mut chance = Chance::new(1);
    (0..12).any(|_| {
        let mut moved = case.clone();
        for unit in &mut moved.units {
            for axis in 0..2 {
                unit.at[axis] += chance.of(&[-0.008, -0.003, 0.003, 0.008]);
            }
        }
        places(&moved).is_none_or(|other| {
            own.iter().zip(&other).any(|(a, b)| {
                let off = (0..2).any(|axis| (a.2[axis] - b.2[axis]).abs() > 0.5);
                a.0 != b.0 || a.1 != b.1 || (a.0 && off)
            })
        })
    })
}

/// What a run of battles found.
#[derive(Default)]
pub struct Battles {
    pub fought: usize,
    pub counts: BTreeMap<String, usize>,
    pub excused: BTreeMap<String, usize>,
    pub differ: BTreeMap<String, (usize, Vec<(Case, Instructions)>)>,
}

fn run(battles: usize, seed: u64) -> Battles {
    let mut found = Battles::default();
    let mut number = 0;
    while found.fought < battles {
        number += 1;
        let mut chance = Chance::new(seed.wrapping_mul(1_000_000_007).wrapping_add(number));
        let (case, standing) = battle(&mut chance);
        let Some((what, fought, events)) = difference(&case, &standing) else {
            continue;
        };
        found.fought += 1;
        let mut count = |key: String| *found.counts.entry(key).or_default() += 1;
        for event in &events {
            match event {
                Event::FellBack {
                    turned_deg, pushed, ..
                } => {
                    count("fell back".to_owned());
                    if turned_deg.abs() > 0.0 {
                        count("fell back aside".to_owned());
                    }
                    (0..pushed.len()).for_each(|_| count("pushed".to_owned()));
                }
                Event::Removed { cause, .. } => count(format!("removed {cause:?}")),
                Event::FollowedUp { .. } => count("followed up".to_owned()),
                Event::Lost { .. } => count("lost bases".to_owned()),
                _ => {}
            }
        }
        for key in case.settings.keys() {
            count(format!("setting {key}"));
        }
        count(format!("lattice {}", case.lattice));
        let _ = fought;
        let Some(what) = what else { continue };
        if is_near(&case, &standing) {
            *found.excused.entry(what).or_default() += 1;
            continue;
        }
        let entry = found.differ.entry(what).or_default();
        entry.0 += 1;
        if entry.1.len() < 3 {
            entry.1.push((case, standing));
        }
    }
    found
}

impl Battles {
    fn report(&self) -> String {
        let mut text = format!("{} battles\n", self.fought);
        for (key, count) in &self.counts {
            text.push_str(&format!("  {count:>8} {key}\n"));
        }
        text.push_str(&format!("excused: {:?}\n", self.excused));
        for (what, (count, cases)) in &self.differ {
            for (case, standing) in cases {
                let small = smallest_by(case, |case| {
                    let found = difference(case, standing);
                    found.is_some_and(|found| found.0.as_ref() == Some(what))
                        && !is_near(case, standing)
                });
                let (_, fought, events) = difference(&small, standing).unwrap();
                let told: Vec<String> = events
                    .iter()
                    .filter(|event| {
                        !matches!(
                            event,
                            Event::SheetAccepted { .. } | Event::TurnClosed { .. }
                        )
                    })
                    .map(|event| format!("{event:?}"))
                    .collect();
                let mut table = Table::new(&small.open().unwrap());
                fight(&mut table, &small.orders, &small.orders[0], standing);
                let ends: Vec<String> = table
                    .units
                    .iter()
                    .map(|u| {
                        format!(
                            "{} {} ({:.3}, {:.3}) {} bases",
                            u.id,
                            if u.on_table { "at" } else { "gone" },
                            u.rect.anchor.x,
                            u.rect.anchor.y,
                            u.bases
                        )
                    })
                    .collect();
                text.push_str(&format!(
                    "* {what}: {count}\n{}    waiting: {:?}\n    referee: {}\n    second: {:?} {}\n",
                    small.words(),
                    standing.all,
                    told.join("\n      "),
                    fought,
                    ends.join(", ")
                ));
            }
        }
        text
    }
}

/// Where everybody stands, with how many bases, after a battle is played.
fn standing_after(
    case: &Case,
    standing: &Instructions,
) -> Option<BTreeMap<String, Option<([f64; 2], u16)>>> {
    let (_, game) = played(case, standing)?;
    let place = |unit: &fieldpost_rules::game::Unit| {
        unit.pose()
            .map(|pose| ([pose.x_mm(), pose.y_mm()], unit.bases))
    };
    Some(
        game.units()
            .map(|unit| (unit.id.0.clone(), place(unit)))
            .collect(),
    )
}

/// A battle turned by a quarter, or shifted away from the table's edges, ends turned or shifted.
#[test]
fn battles_turned_and_shifted_end_alike() {
    let battles = number("FIELDPOST_TEST_FEW", 300) as usize;
    let (mut compared, mut excused, mut wrong) = (0, 0, Vec::new());
    for n in 0.. {
        if compared >= battles {
            break;
        }
        let mut chance = Chance::new(
            number("FIELDPOST_TEST_SEED", 1)
                .wrapping_mul(1_000_000_007)
                .wrapping_add(n),
        );
        let (case, standing) = battle(&mut chance);
        let Some(own) = standing_after(&case, &standing) else {
            continue;
        };
        compared += 1;
        let size = case.table_mm;
        let by = chance.between(-30.0, 30.0).round();
        let turned = (
            crate::twins::turned(&case),
            Box::new(move |[x, y]: [f64; 2]| [y, size - x]) as Box<dyn Fn([f64; 2]) -> [f64; 2]>,
        );
        let shifted = (
            crate::twins::shifted(&case, by, 0.0),
            Box::new(move |[x, y]: [f64; 2]| [x + by, y]) as Box<dyn Fn([f64; 2]) -> [f64; 2]>,
        );
        for (twin, place) in [turned, shifted] {
            let Some(other) = standing_after(&twin, &standing) else {
                wrong.push(format!("not to be declared:\n{}", twin.words()));
                continue;
            };
            let alike = own.iter().all(|(id, stood)| match (stood, &other[id]) {
                (Some((at, bases)), Some((there, left))) => {
                    let at = place(*at);
                    bases == left && (0..2).all(|axis| (at[axis] - there[axis]).abs() < WITHIN_MM)
                }
                (None, None) => true,
                _ => false,
            });
            if !alike && is_near(&case, &standing) {
                excused += 1;
            } else if !alike {
                wrong.push(format!("{}twin\n{}", case.words(), twin.words()));
            }
        }
    }
    assert!(
        excused * 50 <= compared,
        "{excused} of {compared} are excused"
    );
    assert!(
        wrong.is_empty(),
        "{} of {compared}:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

#[test]
fn battles_end_as_the_second_reading_ends_them() {
    let battles = number("FIELDPOST_TEST_FEW", 400) as usize;
    let found = run(battles, number("FIELDPOST_TEST_SEED", 1));
    assert!(
        found
            .counts
            .get("fell back")
            .is_some_and(|count| *count > battles / 4),
        "some fall back"
    );
    assert!(found.differ.is_empty(), "{}", found.report());
}

/// `FIELDPOST_TEST_BATTLES=100000 FIELDPOST_TEST_SEED=7 cargo test --release -p fieldpost-rules --test
/// second_reading -- --ignored --nocapture long_run_of_battles`
#[test]
#[ignore = "a long run"]
fn long_run_of_battles() {
    let battles = number("FIELDPOST_TEST_BATTLES", 10_000) as usize;
    let found = run(battles, number("FIELDPOST_TEST_SEED", 1));
    println!("{}", found.report());
    assert!(found.differ.is_empty(), "they differ");
}
