//! Twins: a table turned, mirrored, shifted or scaled, a leg cut in two, and an *up to* followed by a hair
//! more are ruled on alike.

use std::collections::BTreeMap;
use std::sync::Arc;

use fieldpost_rules::game::Game;
use fieldpost_rules::orders::{Extent, Leg, Order};
use fieldpost_rules::verdict::{Code, MoveVerdict, Ruling};
use serde_json::Value;

use crate::cases::{Case, legs_of, legs_of_mut};
use crate::chance::Chance;
use crate::compare::{sheet, verdict};
use crate::shrink::smallest_by;
use crate::sweep::number;
use crate::table::Table;
use crate::{generate, sheets};

/// What is the same of both twins: ruling, codes with their rulings, and the charge.
#[derive(Debug, Clone)]
struct Answer {
    ruling: Ruling,
    codes: BTreeMap<Code, Ruling>,
    charge_mm: f64,
}

fn answer(case: &Case) -> Option<Vec<Answer>> {
    let field = Arc::new(case.open()?);
    let answer = verdict(&Game::new(field), &case.orders);
    let one = |moved: MoveVerdict| {
        let mut codes: BTreeMap<Code, Ruling> = BTreeMap::new();
        for reason in &moved.reasons {
            let worst = codes.entry(reason.code()).or_insert(Ruling::Legal);
            *worst = reason.ruling().max(*worst);
        }
        Answer {
            ruling: moved.verdict,
            codes,
            charge_mm: moved.charge_mm,
        }
    };
    Some(answer.moves.into_iter().map(one).collect())
}

fn map_places(
    case: &Case,
    place: impl Fn([f64; 2]) -> [f64; 2],
    bearing: impl Fn(f64) -> f64,
) -> Case {
    let mut twin = case.clone();
    for unit in &mut twin.units {
        let [x, y] = place([unit.at[0], unit.at[1]]);
        unit.at = [x, y, bearing(unit.at[2]).rem_euclid(360.0)];
        unit.at = unit.at.map(|value| (value * 1e6).round() / 1e6);
    }
    let all =
        |points: &mut Vec<[f64; 2]>| points.iter_mut().for_each(|point| *point = place(*point));
    twin.patches
        .iter_mut()
        .for_each(|(_, outline)| all(outline));
    for line in &mut twin.lines {
        all(&mut line.points);
        line.span = line.span.map(|(at, width)| (place(at), width));
    }
    twin.roads.iter_mut().for_each(|(points, _)| all(points));
    twin
}

/// Turned a quarter clockwise about the table's middle.
pub fn turned(case: &Case) -> Case {
    let size = case.table_mm;
    let mut twin = map_places(case, |[x, y]| [y, size - x], |bearing| bearing + 90.0);
    for unit in &mut twin.units {
        unit.arrives = unit.arrives.map(|edge| match edge {
            "north" => "east",
            "east" => "south",
            "south" => "west",
            _ => "north",
        });
    }
    for order in &mut twin.orders {
        if let Order::Arrive { unit, along_mm, .. } = order {
            let edge = case
                .units
                .iter()
                .find(|u| u.id == unit.0)
                .and_then(|u| u.arrives);
            // north and south run east, which turns to south: counted from the other end
            if matches!(edge, Some("north" | "south")) {
                *along_mm = size - *along_mm;
            }
        }
    }
    twin
}

/// Mirrored east to west: hands change, and a line's left is its right.
pub fn mirrored(case: &Case) -> Case {
    let size = case.table_mm;
    let mut twin = map_places(case, |[x, y]| [size - x, y], |bearing| -bearing);
    twin.lines.iter_mut().for_each(|line| line.points.reverse());
    for unit in &mut twin.units {
        unit.arrives = unit.arrives.map(|edge| match edge {
            "east" => "west",
            "west" => "east",
            other => other,
        });
    }
    for order in &mut twin.orders {
        if let Order::Arrive { unit, along_mm, .. } = order {
            let edge = case
                .units
                .iter()
                .find(|u| u.id == unit.0)
                .and_then(|u| u.arrives);
            if matches!(edge, Some("north" | "south")) {
                *along_mm = size - *along_mm;
            }
        }
        for leg in legs_of_mut(order).into_iter().flatten() {
            match leg {
                Leg::Sidestep { side, .. }
                | Leg::Oblique { side, .. }
                | Leg::Wheel { side, .. }
                | Leg::Turn { side }
                | Leg::Align { side, .. } => *side = side.other(),
                _ => {}
            }
        }
    }
    twin
}

pub fn shifted(case: &Case, east: f64, north: f64) -> Case {
    map_places(case, |[x, y]| [x + east, y + north], |bearing| bearing)
}

/// Everything larger by a whole factor, the tolerance too.
pub fn scaled(case: &Case, factor: f64) -> Case {
    let mut twin = case.clone();
    twin.scale *= factor;
    for order in &mut twin.orders {
        if let Order::Arrive { along_mm, .. } = order {
            *along_mm *= factor;
        }
        for leg in legs_of_mut(order).into_iter().flatten() {
            if let Some(mm) = length_of(leg) {
                *leg = leg.with_extent(Extent::new(mm * factor, leg.is_up_to()));
            }
        }
    }
    twin
}

/// Whether an *up to* may stop where leaving a zone falls due: 0.005 mm farther, which is a length of storing and does
/// not grow with the table.
fn stops_at_a_stored_length(case: &Case) -> bool {
    let pays = case
        .settings
        .get("zones.zone_exit")
        .is_some_and(|exit| exit.contains("pay"));
    pays && case.orders.iter().flat_map(legs_of).any(Leg::is_up_to)
}

/// Millimetres that a straight leg goes.
fn length_of(leg: &Leg) -> Option<f64> {
    leg.extent().filter(|_| leg.is_straight())?.amount()
}

/// A leg that sweeps cut in two, so many hundredths of it along.
pub fn cut(case: &Case, order: usize, leg: usize, hundredths: f64) -> Option<Case> {
    let mut twin = case.clone();
    let legs = legs_of_mut(twin.orders.get_mut(order)?)?;
    let one = *legs.get(leg)?;
    if one.is_up_to() {
        return None;
    }
    let whole = one.extent()?.amount()?;
    let part = (whole * hundredths).round() / 100.0;
    if part <= 0.0 || whole - part <= 0.0 {
        return None;
    }
    let [first, second] =
        [part, whole - part].map(|amount| one.with_extent(Extent::Exactly(amount)));
    legs.splice(leg..=leg, [first, second]);
    Some(twin)
}

/// What differs between twins; charges of the second are larger by the factor.
fn difference(one: &[Answer], other: &[Answer], factor: f64) -> Option<String> {
    if one.len() != other.len() {
        return Some("number of moves".to_owned());
    }
    for (a, b) in one.iter().zip(other) {
        if a.ruling != b.ruling {
            return Some(format!("{} for {}", b.ruling.word(), a.ruling.word()));
        }
        if a.codes != b.codes {
            return Some(format!("codes {:?} for {:?}", b.codes, a.codes));
        }
        if (b.charge_mm - a.charge_mm * factor).abs() > 0.06 * factor {
            return Some("charge".to_owned());
        }
        // what follows a refusal is judged from a place that is no place
        if a.ruling == Ruling::Refused {
            return None;
        }
    }
    None
}

/// Whether a judged value of a case lies near its threshold: by more than nothing, if all is exact.
fn is_near(case: &Case, exact: bool) -> bool {
    let Some(field) = case.open() else {
        return false;
    };
    let mut table = Table::new(&field);
    case.orders.iter().any(|order| {
        let ruled = sheets::carry_out(&mut table, order);
        ruled.is_some_and(|ruled| !exact && !ruled.near.is_empty())
    })
}

#[derive(Default)]
pub struct Twins {
    pub counts: BTreeMap<String, usize>,
    /// Kind: how often, and the first case.
    pub excused: BTreeMap<String, (usize, String)>,
    /// Off the lattice, and how many of them excused.
    pub off_lattice: (usize, usize),
    pub differ: BTreeMap<String, (usize, Vec<(Case, Case)>)>,
}

type Make<'a> = Box<dyn Fn(&Case) -> Option<Case> + 'a>;

impl Twins {
    /// Judges all twins of one case.
    pub fn judge(&mut self, case: &Case, chance: &mut Chance) {
        let Some(own) = answer(case) else {
            return;
        };
        let in_the_middle = case.units.iter().all(|unit| {
            unit.arrives.is_none() && unit.at[..2].iter().all(|at| (700.0..2300.0).contains(at))
        });
        let odd = |chance: &mut Chance| (chance.between(-40.0, 40.0) * 1000.0).round() / 1000.0;
        let whole = |chance: &mut Chance| chance.between(-40.0, 40.0).round();
        let (east, north) = (odd(chance), odd(chance));
        let (by, up) = (whole(chance), whole(chance));
        let factor = chance.of(&[2.0, 3.0, 5.0]);
        let order = chance.below(case.orders.len());
        let leg = chance.below(legs_of(&case.orders[order]).len().max(1));
        let hundredths = chance.of(&[50.0, 33.0, 10.0, 90.0]);
        let mut all: Vec<(&str, bool, f64, Make<'_>)> = vec![
            ("turned", true, 1.0, Box::new(|case| Some(turned(case)))),
            ("mirrored", true, 1.0, Box::new(|case| Some(mirrored(case)))),
            (
                "scaled",
                false,
                factor,
                Box::new(move |case| {
                    (!stops_at_a_stored_length(case)).then(|| scaled(case, factor))
                }),
            ),
            (
                "cut",
                false,
                1.0,
                Box::new(move |case| cut(case, order, leg, hundredths)),
            ),
        ];
        if in_the_middle {
            all.push((
                "shifted",
                true,
                1.0,
                Box::new(move |case| Some(shifted(case, by, up))),
            ));
            all.push((
                "shifted oddly",
                false,
                1.0,
                Box::new(move |case| Some(shifted(case, east, north))),
            ));
        }
        for (name, exactly, factor, make) in all {
            let Some(other) = make(case).and_then(|twin| answer(&twin)) else {
                continue;
            };
            self.count(name, case);
            let Some(what) = compared(name, &own, &other, factor) else {
                continue;
            };
            // whole places turned, mirrored and shifted by whole millimetres are the same to the bit
            let exact =
                case.lattice && exactly && case.orders.iter().flat_map(|o| legs_of(o)).all(square);
            if exact
                || !is_near(
                    case,
                    case.lattice && case.orders.iter().flat_map(|o| legs_of(o)).all(square),
                )
            {
                let small = smallest_by(case, |case| {
                    let twin = make(case).and_then(|twin| answer(&twin));
                    answer(case).zip(twin).is_some_and(|(own, other)| {
                        compared(name, &own, &other, factor).as_ref() == Some(&what)
                            && (exact || !is_near(case, false))
                    })
                });
                let twin = make(&small).unwrap_or_else(|| small.clone());
                let entry = self.differ.entry(format!("{name}: {what}")).or_default();
                entry.0 += 1;
                if entry.1.len() < 2 {
                    entry.1.push((small, twin));
                }
            } else {
                let entry = self.excused.entry(format!("{name}: {what}")).or_default();
                if entry.0 == 0 {
                    let twin = make(case).map(|twin| twin.words()).unwrap_or_default();
                    entry.1 = format!(
                        "{}  twin
{twin}",
                        case.words()
                    );
                }
                entry.0 += 1;
                self.off_lattice.1 += usize::from(!case.lattice);
            }
        }
    }

    fn count(&mut self, name: &str, case: &Case) {
        self.off_lattice.0 += usize::from(!case.lattice);
        let mut count = |key: String| *self.counts.entry(key).or_default() += 1;
        count(format!(
            "twin {name}{}",
            if case.lattice { " on the lattice" } else { "" }
        ));
        for (key, value) in &case.settings {
            count(format!("setting {key} = {value}"));
        }
        for leg in case.orders.iter().flat_map(|order| legs_of(order)) {
            count(format!("leg {}", leg.name()));
        }
    }

    /// Adds what another run found.
    fn add(&mut self, other: Self) {
        for (key, count) in other.counts {
            *self.counts.entry(key).or_default() += count;
        }
        for (key, (count, first)) in other.excused {
            let entry = self.excused.entry(key).or_insert((0, first));
            entry.0 += count;
        }
        for (key, (count, cases)) in other.differ {
            let entry = self.differ.entry(key).or_default();
            entry.0 += count;
            entry.1.extend(cases);
        }
        self.off_lattice.0 += other.off_lattice.0;
        self.off_lattice.1 += other.off_lattice.1;
    }

    pub fn report(&self) -> String {
        let mut text = String::new();
        for (key, count) in &self.counts {
            text.push_str(&format!("  {count:>8} {key}\n"));
        }
        let excused: usize = self.excused.values().map(|entry| entry.0).sum();
        let (all, off) = self.off_lattice;
        text.push_str(&format!(
            "excused, within 0.01 mm of a threshold: {excused}; off the lattice {off} of {all}\n"
        ));
        for (what, (count, words)) in &self.excused {
            text.push_str(&format!("  {count:>8} {what}\n{words}"));
        }
        for (what, (count, cases)) in &self.differ {
            for (case, twin) in cases {
                let told = |case: &Case| format!("{:?}", answer(case));
                text.push_str(&format!(
                    "* {what}: {count}\n{}    answer: {}\n  twin\n{}    answer: {}\n",
                    case.words(),
                    told(case),
                    twin.words(),
                    told(twin)
                ));
            }
        }
        text
    }
}

fn square(leg: &Leg) -> bool {
    !matches!(
        leg,
        Leg::Wheel { .. } | Leg::Align { .. } | Leg::Oblique { .. }
    )
}

fn compared(_name: &str, own: &[Answer], other: &[Answer], factor: f64) -> Option<String> {
    difference(own, other, factor)
}

/// An *up to* that a limit stopped, followed by a tenth of a millimetre more of the same, is not legal; and
/// one that was refused on its way is legal when it goes only so far as it says.
fn hair_more(case: &Case) -> Option<(Case, String)> {
    let field = Arc::new(case.open()?);
    let mut short = case.clone();
    short.orders.truncate(1);
    let up_to = legs_of(&case.orders[0]).iter().position(Leg::is_up_to)?;
    legs_of_mut(&mut short.orders[0])?.truncate(up_to + 1);
    let game = Game::new(field);
    let answer = sheet(&game, &short.orders);
    let moved = &answer["moves"][0];
    if moved["verdict"] != "legal" || answer["moves"].as_array()?.len() != 1 {
        return None;
    }
    let stopped = moved["legs"][up_to]["stopped_by"].as_str()?.to_owned();
    let mut more = short.clone();
    let legs = legs_of_mut(&mut more.orders[0])?;
    let hair = match legs[up_to] {
        Leg::Wheel { .. } => {
            let last = &moved["legs"][legs.len() - 1];
            let (tape, angle) = (last["tape_mm"].as_f64()?, last["angle_deg"].as_f64()?);
            if tape < 1.0 {
                return None;
            }
            0.1 * angle / tape
        }
        _ => 0.1,
    };
    let hair = legs[up_to].with_extent(Extent::Exactly(hair));
    legs.push(hair);
    let answer = sheet(&game, &more.orders);
    if answer["moves"][0]["verdict"] != "legal" || is_near_limit(&more) {
        return None;
    }
    Some((more, format!("legal by a hair beyond {stopped}")))
}

/// Grazing: the hair goes less than 0.01 mm deeper than anything.
fn is_near_limit(case: &Case) -> bool {
    let Some(field) = case.open() else {
        return false;
    };
    let mut table = Table::new(&field);
    sheets::carry_out(&mut table, &case.orders[0])
        .is_some_and(|ruled| ruled.reasons.is_empty() && !ruled.near.is_empty())
}

/// A refused order of one leg, cut down to the place that its reasons name, is not refused.
fn tried_again(case: &Case) -> Option<(Case, String)> {
    let mut again = case.clone();
    again.orders.truncate(1);
    let legs = legs_of(&case.orders[0]);
    if !matches!(case.orders[0], Order::Move { .. }) {
        return None;
    }
    let [leg] = legs else {
        return None;
    };
    let leg = *leg;
    let game = Game::new(Arc::new(again.open()?));
    let answer = sheet(&game, &again.orders);
    let moved = &answer["moves"][0];
    if moved["verdict"] != "refused" || leg.is_up_to() {
        return None;
    }
    let reasons = moved["reasons"].as_array()?;
    let places: Option<Vec<f64>> = reasons
        .iter()
        .map(|reason| reason["at"]["along_mm"].as_f64())
        .collect();
    let along = places?.into_iter().fold(f64::INFINITY, f64::min);
    length_of(&leg)?;
    if along <= 0.0
        || reasons
            .iter()
            .any(|reason| reason["code"] == "angle-too-large")
    {
        return None;
    }
    *legs_of_mut(&mut again.orders[0])? = vec![leg.with_extent(Extent::Exactly(along))];
    let answer = sheet(&game, &again.orders);
    let again_ruled = &answer["moves"][0]["verdict"];
    // cut short it may end on a friend, of which the whole leg had nothing to say
    let same =
        |one: &Value, other: &Value| one["code"] == other["code"] && one["with"] == other["with"];
    let told = |reason: &Value| reasons.iter().any(|other| same(other, reason));
    let own = answer["moves"][0]["reasons"].as_array()?;
    if again_ruled == "legal" || !own.iter().any(told) {
        return None;
    }
    let codes: Vec<&Value> = answer["moves"][0]["reasons"]
        .as_array()?
        .iter()
        .map(|r| &r["code"])
        .collect();
    Some((
        again,
        format!("{again_ruled} ({codes:?}) as far as it was told to be legal"),
    ))
}

fn overlaps(table: &Table) -> bool {
    let rects: Vec<_> = table
        .units
        .iter()
        .filter(|u| u.on_table)
        .map(|u| u.rect)
        .collect();
    (0..rects.len()).any(|i| (0..i).any(|j| crate::plane::overlap(&rects[i], &rects[j]) > 0.0))
}

/// Moves every unit a little, each by itself: exact coincidences are for lattices, where they are exact in every twin.
fn loosen(table: &mut Case, chance: &mut Chance) {
    for unit in &mut table.units {
        for at in &mut unit.at[..2] {
            *at = ((*at + chance.between(-0.5, 0.5)) * 1000.0).round() / 1000.0;
        }
    }
}

fn run(cases: usize, seed: u64) -> Twins {
    let mut twins = Twins::default();
    let mut number = 0;
    let mut judged = 0;
    while judged < cases {
        number += 1;
        let mut chance = Chance::new(seed.wrapping_mul(1_000_000_007).wrapping_add(number));
        let lattice = chance.one_in(2);
        let mut table = generate::table(&mut chance, lattice);
        if !lattice {
            loosen(&mut table, &mut chance);
        }
        let Some(field) = table.open() else { continue };
        // who begins upon another has every depth at its threshold: for lattices, not for chance
        if !lattice && overlaps(&Table::new(&field)) {
            continue;
        }
        for _ in 0..4 {
            let mut case = table.clone();
            case.orders = match chance.below(8) {
                0 => vec![generate::arrival(&mut chance, &mut case)],
                _ => vec![generate::order(&mut chance, &case)],
            };
            twins.judge(&case, &mut chance);
            judged += 1;
            for (name, found) in [("hair", hair_more(&case)), ("again", tried_again(&case))] {
                twins.count(name, &case);
                if let Some((twin, what)) = found {
                    let entry = twins.differ.entry(format!("{name}: {what}")).or_default();
                    entry.0 += 1;
                    if entry.1.len() < 2 {
                        entry.1.push((case.clone(), twin));
                    }
                }
            }
        }
    }
    twins
}

#[test]
fn twins_are_ruled_on_alike() {
    let twins = run(
        number("FIELDPOST_TEST_FEW", 400) as usize,
        number("FIELDPOST_TEST_SEED", 1),
    );
    assert!(
        twins.counts.values().sum::<usize>() > 1000,
        "so many were judged"
    );
    assert!(twins.differ.is_empty(), "{}", twins.report());
}

/// `FIELDPOST_TEST_TWINS=10000000 FIELDPOST_TEST_SEED=7 cargo test --release -p fieldpost-rules --test
/// second_reading -- --ignored --nocapture long_run_of_twins`
#[test]
#[ignore = "a long run"]
fn long_run_of_twins() {
    // seven or eight twins a case
    let cases = number("FIELDPOST_TEST_TWINS", 100_000) / 7;
    let seed = number("FIELDPOST_TEST_SEED", 1);
    let threads = std::thread::available_parallelism().map_or(1, |n| n.get() as u64);
    let parts: Vec<Twins> = std::thread::scope(|scope| {
        let part = |n| move || run((cases / threads) as usize, seed * 1000 + n);
        let started: Vec<_> = (0..threads).map(|n| scope.spawn(part(n))).collect();
        let join = started.into_iter().map(|thread| thread.join().unwrap());
        join.collect()
    });
    let mut twins = Twins::default();
    parts.into_iter().for_each(|part| twins.add(part));
    println!("{}", twins.report());
    assert!(twins.differ.is_empty(), "they differ");
    let (all, off) = twins.off_lattice;
    assert!(off * 10_000 <= all, "{off} of {all} are excused");
}
