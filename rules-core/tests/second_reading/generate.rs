//! Tables and orders by chance: anywhere, or on a lattice of whole millimetres and right angles.

use std::collections::BTreeMap;

use fieldpost_rules::orders::{Extent, Hand, Leg, Order, UnitId};

use crate::cases::{Case, LineSpec, UnitSpec};
use crate::chance::Chance;

/// The middle of a table, where everything happens.
const MIDDLE_MM: f64 = 1500.0;

/// A table without orders.
pub fn table(chance: &mut Chance, lattice: bool) -> Case {
    let mut case = Case {
        settings: settings(chance),
        scale: 1.0,
        table_mm: 2.0 * MIDDLE_MM,
        units: Vec::new(),
        patches: Vec::new(),
        lines: Vec::new(),
        roads: Vec::new(),
        orders: Vec::new(),
        lattice,
    };
    let by_edge = chance.one_in(8);
    let middle = if by_edge {
        [MIDDLE_MM, chance.of(&[20.0, 30.0, 40.0])]
    } else {
        [MIDDLE_MM; 2]
    };
    let spread = chance.of(&[60.0, 100.0, 180.0]);
    let reds = 1 + chance.below(3);
    let blues = 1 + chance.below(3);
    for n in 0..reds + blues {
        let red = n < reds;
        let number = if red { n + 1 } else { n - reds + 1 };
        let mut unit = unit(
            chance,
            red,
            number,
            middle,
            if n == 0 { 15.0 } else { spread },
            lattice,
        );
        if n > 0 && red && chance.one_in(2) {
            // off the lattice nothing touches by more than chance
            let gap = if lattice {
                0.0
            } else {
                chance.between(0.05, 3.0)
            };
            beside(&case.units[0], &mut unit, n, gap);
        }
        if !red && chance.one_in(2) {
            facing(chance, &case.units[0], &mut unit, lattice);
        }
        case.units.push(unit);
    }
    if case.settings.contains_key("command.required") || chance.one_in(6) {
        commander(chance, &mut case, middle, lattice);
    }
    ground(chance, &mut case, middle, lattice);
    case
}

fn settings(chance: &mut Chance) -> BTreeMap<String, String> {
    let mut settings = BTreeMap::new();
    let mut set = |key: &str, value: &str| {
        settings.insert(key.to_owned(), value.to_owned());
    };
    match chance.below(4) {
        0 => set("zones.zone_exit", "\"pay\""),
        1 => set("zones.zone_exit", "\"free\""),
        _ => {}
    }
    if chance.one_in(4) {
        set("zones.zone_front", "\"ahead\"");
    }
    if chance.one_in(6) {
        set("zones.zone_exit_charge", "2");
    }
    if chance.one_in(3) {
        set("movement.charge_lines", "\"every-tape\"");
    }
    if chance.one_in(4) {
        set("movement.terrain_by", "\"base\"");
    }
    if chance.one_in(5) {
        set("movement.minimum_move", "{ forward = 1 }");
    }
    if chance.one_in(4) {
        set("movement.pass_friends", "false");
    }
    if chance.one_in(2) {
        set("scale.movement_point", chance.of(&["2", "4"]));
    }
    if chance.one_in(6) {
        set("scale.tolerance_mm", chance.of(&["0", "1", "2"]));
    }
    if chance.one_in(6) {
        set("movement.sidestep", "1");
    }
    if chance.one_in(6) {
        set("movement.wheel", "2");
    }
    if chance.one_in(6) {
        set("movement.back", "1");
    }
    if chance.one_in(6) {
        set("movement.align_max", "45");
    }
    if chance.one_in(6) {
        set("zones.halt_zone", chance.of(&["1", "0.25"]));
    }
    if chance.one_in(3) {
        set("command.required", "true");
    } else {
        set("command.required", "false");
    }
    if chance.one_in(5) {
        set("command.independent_subordinates", "false");
    }
    if chance.one_in(5) {
        set("withdrawal", "{ allowance_share = 0.75 }");
    }
    set("attacks.compulsory", "false");
    settings
}

fn place(chance: &mut Chance, middle: [f64; 2], spread: f64, lattice: bool) -> [f64; 2] {
    [0, 1].map(|axis| {
        let at = chance.between(middle[axis] - spread, middle[axis] + spread);
        if lattice {
            (at / 5.0).round() * 5.0
        } else {
            (at * 100.0).round() / 100.0
        }
    })
}

fn bearing(chance: &mut Chance, lattice: bool) -> f64 {
    if lattice {
        chance.of(&[0.0, 0.0, 90.0, 180.0, 270.0])
    } else {
        (chance.between(0.0, 360.0) * 10.0).round() / 10.0
    }
}

fn unit(
    chance: &mut Chance,
    red: bool,
    number: usize,
    middle: [f64; 2],
    spread: f64,
    lattice: bool,
) -> UnitSpec {
    let troops = chance.of(&["foot", "foot", "horse", "guns"]);
    let (files, ranks) = (chance.of(&[1u16, 1, 2, 4]), chance.of(&[1u16, 1, 2, 3]));
    let missing = if ranks > 1 && chance.one_in(3) {
        chance.below(usize::from(files)) as u16
    } else {
        0
    };
    let [x, y] = place(chance, middle, spread, lattice);
    UnitSpec {
        id: format!("{}-{number}", if red { "red" } else { "blue" }),
        red,
        troops,
        files,
        ranks,
        bases: files * ranks - missing,
        at: [x, y, bearing(chance, lattice)],
        arrives: None,
        command: None,
    }
}

/// Stands beside another, edge to edge, facing as it does.
fn beside(first: &UnitSpec, unit: &mut UnitSpec, n: usize, gap: f64) {
    let off = (20.0 * f64::from(first.files + unit.files) + gap) * if n == 1 { 1.0 } else { -1.0 };
    let bearing = first.at[2].to_radians();
    unit.at = [
        first.at[0] + off * bearing.cos(),
        first.at[1] - off * bearing.sin(),
        first.at[2],
    ];
    unit.at = unit.at.map(|value| (value * 1000.0).round() / 1000.0);
}

/// Stands before another at some distance about a halt zone's size, facing it or not.
fn facing(chance: &mut Chance, first: &UnitSpec, unit: &mut UnitSpec, lattice: bool) {
    let gap = chance.of(&[0.0, 5.0, 10.0, 15.0, 19.7, 20.0, 20.3, 25.0, 40.0, 60.0]);
    let gap = if lattice {
        gap
    } else {
        gap + chance.between(0.02, 0.4)
    };
    let aside = chance.of(&[0.0, 0.0, 10.0, 20.0, -20.0, 40.0, -60.0]);
    let bearing = first.at[2].to_radians();
    let (sine, cosine) = (bearing.sin(), bearing.cos());
    let place = |ahead: f64| {
        [
            first.at[0] + sine * ahead + cosine * aside,
            first.at[1] + cosine * ahead - sine * aside,
        ]
    };
    let at = place(gap);
    unit.at = [at[0], at[1], (first.at[2] + 180.0) % 360.0];
    unit.at = unit.at.map(|value| (value * 1000.0).round() / 1000.0);
}

fn commander(chance: &mut Chance, case: &mut Case, middle: [f64; 2], lattice: bool) {
    for (n, (command, spread)) in [("chief", 400.0), ("subordinate", 250.0)]
        .into_iter()
        .enumerate()
    {
        if n == 1 && chance.one_in(2) {
            continue;
        }
        let [x, y] = place(chance, middle, spread, lattice);
        case.units.push(UnitSpec {
            id: format!("red-{}", 8 + n),
            red: true,
            troops: "general",
            files: 1,
            ranks: 1,
            bases: 1,
            at: [x, y.max(100.0), bearing(chance, lattice)],
            arrives: None,
            command: Some(command),
        });
    }
}

fn ground(chance: &mut Chance, case: &mut Case, middle: [f64; 2], lattice: bool) {
    for _ in 0..chance.below(3) {
        let kind = chance.of(&["broken", "marsh", "lawn", "pond"]);
        let [x, y] = place(chance, middle, 150.0, lattice);
        let (w, h) = (
            chance.of(&[20.0, 40.0, 120.0]),
            chance.of(&[20.0, 60.0, 200.0]),
        );
        let outline = if lattice || chance.one_in(2) {
            vec![[x, y], [x + w, y], [x + w, y + h], [x, y + h]]
        } else {
            vec![
                [x, y],
                [x + w, y + h / 4.0],
                [x + w * 0.7, y + h],
                [x + w / 3.0, y + h / 2.0],
                [x - w / 4.0, y + h],
            ]
        };
        case.patches.push((kind, outline));
    }
    for _ in 0..chance.below(3) {
        let kind = chance.of(&["stream", "wall", "slope"]);
        let [x, y] = place(chance, middle, 120.0, lattice);
        let reach = chance.of(&[20.0, 80.0, 300.0]);
        let points = match chance.below(4) {
            0 => vec![[x - reach, y], [x + reach, y]],
            1 => vec![[x, y + reach], [x, y - reach]],
            2 if !lattice => vec![
                [x - reach, y - reach / 3.0],
                [x, y],
                [x + reach, y - reach / 2.0],
            ],
            2 => vec![[x - reach, y], [x, y], [x, y + reach]],
            _ => vec![[x + reach, y - reach], [x - reach, y + reach]],
        };
        let span = chance.one_in(3).then(|| {
            let share = chance.of(&[0.3, 0.5]);
            let (a, b) = (points[0], points[1]);
            let at = [0, 1].map(|i| a[i] + (b[i] - a[i]) * share);
            (at, chance.of(&[10.0, 20.0, 30.0]))
        });
        case.lines.push(LineSpec { kind, points, span });
    }
    if chance.one_in(4) {
        let [x, y] = place(chance, middle, 60.0, lattice);
        let points = if chance.one_in(2) {
            vec![[x - 300.0, y], [x + 300.0, y]]
        } else {
            vec![[x, y - 20.0], [x, y + 200.0]]
        };
        case.roads.push((points, chance.of(&[10.0, 20.0, 30.0])));
    }
}

fn hand(chance: &mut Chance) -> Hand {
    chance.of(&[Hand::Left, Hand::Right])
}

fn length(chance: &mut Chance, lattice: bool) -> f64 {
    match (lattice, chance.below(6)) {
        (_, 0) => chance.of(&[0.1, 0.3, 0.5, 0.6, 1.0]),
        (_, 1) => chance.of(&[120.0, 240.0, 20.0, 40.0]),
        (true, 2) => f64::from(chance.below(30) as u32 + 1),
        (true, _) => 5.0 * f64::from(chance.below(24) as u32 + 1),
        (false, 2 | 3) => (chance.between(0.01, 30.0) * 100.0).round() / 100.0,
        (false, _) => (chance.between(0.1, 160.0) * 100.0).round() / 100.0,
    }
}

fn angle(chance: &mut Chance, lattice: bool) -> f64 {
    match (lattice, chance.below(4)) {
        (true, 0..=2) => chance.of(&[10.0, 22.5, 45.0, 90.0]),
        (_, 0) => chance.of(&[0.01, 0.5, 5.0, 11.25, 23.9, 46.0]),
        _ => (chance.between(0.1, 60.0) * 100.0).round() / 100.0,
    }
}

pub fn leg(chance: &mut Chance, lattice: bool) -> Leg {
    let up_to = chance.one_in(4);
    let distance_mm = Extent::new(length(chance, lattice), up_to);
    let angle_deg = angle(chance, lattice);
    let side = hand(chance);
    match chance.below(16) {
        0..=4 => Leg::Forward { distance_mm },
        5 | 6 => Leg::Back { distance_mm },
        7 | 8 => Leg::Sidestep { side, distance_mm },
        9 => Leg::Oblique {
            side,
            angle_deg,
            distance_mm,
        },
        10 | 11 => Leg::Wheel {
            side,
            angle_deg: Extent::new(angle_deg, up_to),
        },
        12 => Leg::Turn { side },
        13 => Leg::About,
        14 => Leg::Align {
            side,
            angle_deg: angle_deg / 2.0,
        },
        _ => {
            let (files, ranks) = (chance.of(&[1, 2, 3, 4]), chance.of(&[1, 2, 3]));
            Leg::Reform { files, ranks }
        }
    }
}

pub fn legs(chance: &mut Chance, lattice: bool) -> Vec<Leg> {
    let count = chance.of(&[1, 1, 1, 2, 2, 3, 4]);
    if chance.one_in(8) {
        // the same leg in pieces: a cut decides nothing
        let one = leg(chance, lattice);
        return vec![one; count.max(2)];
    }
    if chance.one_in(10) {
        return (0..count)
            .map(|_| Leg::Forward {
                distance_mm: Extent::new(length(chance, lattice), chance.one_in(4)),
            })
            .collect();
    }
    (0..count).map(|_| leg(chance, lattice)).collect()
}

/// An order for the units of a table; arrivals have their unit added to the table.
pub fn order(chance: &mut Chance, case: &Case) -> Order {
    let legs = legs(chance, case.lattice);
    let reds: Vec<&UnitSpec> = case
        .units
        .iter()
        .filter(|unit| unit.red && unit.command.is_none())
        .collect();
    let id = |unit: &UnitSpec| UnitId(unit.id.clone());
    let pair: Vec<UnitId> = reds
        .iter()
        .filter(|unit| unit.at[2] == reds[0].at[2])
        .map(|unit| id(unit))
        .collect();
    if pair.len() > 1 && chance.one_in(3) {
        return Order::MoveTogether { units: pair, legs };
    }
    if case.settings.contains_key("withdrawal")
        && !case.settings.contains_key("zones.zone_exit")
        && chance.one_in(3)
    {
        return Order::Withdraw {
            unit: id(reds[0]),
            legs,
        };
    }
    let unit = if chance.one_in(6) {
        reds[chance.below(reds.len())]
    } else {
        reds[0]
    };
    Order::Move {
        unit: id(unit),
        legs,
    }
}

/// A unit that arrives, with an enemy near where it may be set down.
pub fn arrival(chance: &mut Chance, case: &mut Case) -> Order {
    let edge = chance.of(&["south", "north", "west", "east"]);
    let mut arriving = unit(chance, true, 7, [MIDDLE_MM; 2], 10.0, case.lattice);
    arriving.arrives = Some(edge);
    let along_mm = 700.0 + 5.0 * f64::from(chance.below(20) as u32);
    let off = chance.of(&[30.0, 39.7, 40.0, 60.0, 80.0, 100.0, 140.0]);
    let far = case.table_mm - off;
    let at = match edge {
        "south" => [along_mm, off, 180.0],
        "north" => [along_mm, far, 0.0],
        "west" => [off, along_mm, 270.0],
        _ => [far, along_mm, 90.0],
    };
    let mut enemy = unit(chance, false, 7, [MIDDLE_MM; 2], 10.0, case.lattice);
    enemy.at = at;
    case.units.push(enemy);
    let id = UnitId(arriving.id.clone());
    case.units.push(arriving);
    Order::Arrive {
        unit: id,
        along_mm,
        legs: legs(chance, case.lattice),
    }
}
