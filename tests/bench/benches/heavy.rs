//! How long others wait while ten keys send the heaviest sheets that are allowed, beside how long they wait when nobody does.
//!
//! `cargo bench -p fieldpost-bench --bench heavy` asks, in turns, with and without the ten: a posting, a check of thirty units, the
//! table as data and as a drawing. Each of the ten has a game of its own of `FIELDPOST_BENCH_UNITS` units a side (30) and
//! asks again as soon as it is answered, over `FIELDPOST_BENCH_LINES` connections (4).

mod served;

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use fieldpost_bench::texts;
use fieldpost_rules::authored;
use fieldpost_rules::game::Game;
use fieldpost_rules::orders::{SheetBounds, TurnSheet};
use fieldpost_rules::referee::judge_sheet;
use serde_json::{Value, json};
use tokio::runtime::Runtime;

use served::{Game as Served, Line, file, serve};

const ATTACKERS: usize = 10;
const ROUNDS: usize = 5;
const ASKED: usize = 40;

fn main() {
    growing();
    let runtime = Runtime::new().expect("a runtime");
    let folder = tempfile::tempdir().expect("a folder");
    let (base, organiser) = serve(&runtime, &file(folder.path()), folder.path());
    let agent = ureq::Agent::new_with_defaults();
    let units = number("FIELDPOST_BENCH_UNITS", 30);
    let lines = number("FIELDPOST_BENCH_LINES", 4);
    let (rules, scenario) = texts(units, 25);
    let files = json!({"files": {
        "ruleset": {"name": "rules.toml", "text": rules},
        "scenario": {"name": "battle.toml", "text": scenario},
    }});
    let opened = || Served::open_with(&agent, &base, &organiser, &files);
    let attackers: Vec<Served> = (0..ATTACKERS).map(|_| opened()).collect();
    let sheets = sheets(units);
    let mut own = Others {
        line: Line::to(&base),
        posted: Served::open_long(&agent, &base, &organiser),
        checked: opened(),
        watched: opened(),
        check: ordinary(units),
    };
    alone(&base, &attackers[0], &sheets);
    let (mut idle, mut busy) = (Measured::default(), Measured::default());
    let (mut answered, mut attacked) = (0, Duration::ZERO);
    for _ in 0..ROUNDS {
        own.ask(&mut idle);
        let stop = AtomicBool::new(false);
        let done = AtomicUsize::new(0);
        let began = Instant::now();
        std::thread::scope(|scope| {
            for (number, game) in attackers.iter().enumerate() {
                for _ in 0..lines {
                    let (stop, done, base) = (&stop, &done, &base);
                    let sheet = &sheets[number % sheets.len()];
                    scope.spawn(move || {
                        let mut line = Line::to(base);
                        while !stop.load(Ordering::Relaxed) {
                            let (status, _) = game.check(&mut line, sheet);
                            match status {
                                200 => done.fetch_add(1, Ordering::Relaxed),
                                // As whoever is turned away comes again at once.
                                429 | 503 => 0,
                                other => panic!("{other}"),
                            };
                        }
                    });
                }
            }
            std::thread::sleep(Duration::from_millis(500));
            own.ask(&mut busy);
            stop.store(true, Ordering::Relaxed);
        });
        answered += done.into_inner();
        attacked += began.elapsed();
    }
    for (what, idle, busy) in [
        ("a posting", &mut idle.postings, &mut busy.postings),
        ("a check of all units", &mut idle.checks, &mut busy.checks),
        ("the table", &mut idle.tables, &mut busy.tables),
        ("the table drawn", &mut idle.drawings, &mut busy.drawings),
    ] {
        let (one, other) = (middle_ms(idle), middle_ms(busy));
        println!(
            "{what}: {one:.2} ms; while {ATTACKERS} keys send what is heaviest: {other:.2} ms; ratio {:.2}",
            other / one
        );
    }
    println!(
        "heavy sheets answered meanwhile: {:.1} a second",
        answered as f64 / attacked.as_secs_f64()
    );
}

/// How long sheets take that grow with their side, each as heavy as it may be.
fn growing() {
    for units in [25, 50, 100, 200] {
        let (rules, scenario) = texts(units, 25);
        let field = authored::open_battle(("rules", &rules), ("battle", &scenario));
        let game = Game::new(Arc::new(field.expect("sound")));
        for (name, sheet) in NAMES.iter().zip(sheets(units)) {
            let read: Value = serde_json::from_str(&sheet).expect("JSON");
            let sheet: TurnSheet = serde_json::from_value(read["sheet"].clone()).expect("a sheet");
            game.sheet_bounds(&sheet.side)
                .check(&sheet)
                .expect("within its bounds");
            let took_ms = timed(|| drop(judge_sheet(&game, &sheet)));
            let of_unit = took_ms / units as f64;
            println!("{units} units, {name}: {took_ms:.0} ms, {of_unit:.2} ms a unit");
        }
    }
}

fn number(name: &str, usual: usize) -> usize {
    let given = std::env::var(name).ok();
    given.and_then(|text| text.parse().ok()).unwrap_or(usual)
}

/// Tells how heavy each sheet is by itself.
fn alone(base: &str, game: &Served, sheets: &[String]) {
    let mut line = Line::to(base);
    for (name, sheet) in NAMES.iter().zip(sheets) {
        let began = Instant::now();
        let (status, answer) = game.check(&mut line, sheet);
        println!(
            "alone, {name}: {status} after {:.1} ms, {} bytes asked and {} answered",
            began.elapsed().as_secs_f64() * 1000.0,
            sheet.len(),
            answer.len()
        );
    }
}

/// Milliseconds that others waited.
#[derive(Default)]
struct Measured {
    postings: Vec<f64>,
    checks: Vec<f64>,
    tables: Vec<f64>,
    drawings: Vec<f64>,
}

/// Three who play, each with a key. They ask one after the other, and each needs less than the share of a core that each of thirteen keys has.
struct Others {
    line: Line,
    posted: Served,
    checked: Served,
    watched: Served,
    check: String,
}

impl Others {
    fn ask(&mut self, measured: &mut Measured) {
        for turn in 0..ASKED {
            measured
                .postings
                .push(timed(|| self.posted.post(&mut self.line)));
            measured.checks.push(timed(|| {
                let (status, answer) = self.checked.check(&mut self.line, &self.check);
                assert_eq!(status, 200, "{answer}");
            }));
            measured.tables.push(timed(|| {
                self.watched.read(&mut self.line, "table");
            }));
            if turn % 8 == 0 {
                measured.drawings.push(timed(|| {
                    self.watched.read(&mut self.line, "table.svg");
                }));
            }
            std::thread::sleep(Duration::from_millis(20));
        }
    }
}

fn timed(work: impl FnOnce()) -> f64 {
    let began = Instant::now();
    work();
    began.elapsed().as_secs_f64() * 1000.0
}

fn middle_ms(waits: &mut [f64]) -> f64 {
    waits.sort_by(f64::total_cmp);
    waits[waits.len() / 2]
}

/// What the heavy sheets are, in their order.
const NAMES: [&str; 4] = [
    "every move refused",
    "as many legs as may be",
    "battles of many",
    "as many battles as may be",
];

fn sheets(units: usize) -> [String; 4] {
    [
        many_refused(units),
        many_legs(units),
        many_battles(units),
        battles_of_one(units),
    ]
}

fn sheet(orders: Vec<Value>) -> String {
    json!({"sheet": {"game_turn": 1, "side": "red", "orders": orders}}).to_string()
}

fn moves(units: usize, legs: impl Fn(usize) -> Vec<Value>) -> Vec<Value> {
    let order = |unit| json!({"order": "move", "unit": format!("red-{unit}"), "legs": legs(unit)});
    (1..=units).map(order).collect()
}

fn forward(distance_mm: f64) -> Value {
    json!({"leg": "forward", "distance_mm": distance_mm})
}

/// What a player orders: three legs for each.
fn ordinary(units: usize) -> String {
    let wheel = json!({"leg": "wheel", "side": "left", "angle_deg": 10.0});
    sheet(moves(units, |_| {
        vec![forward(50.0), wheel.clone(), forward(20.0)]
    }))
}

/// Three legs for each, the last of which goes much too far: remedies are looked for, for each.
fn many_refused(units: usize) -> String {
    let wheel = json!({"leg": "wheel", "side": "left", "angle_deg": 10.0});
    sheet(moves(units, |_| {
        vec![forward(20.0), wheel.clone(), forward(700.0)]
    }))
}

/// As many legs as an order and a sheet may have, refused at the end of each order.
fn many_legs(units: usize) -> String {
    let most = SheetBounds::of_units(units, 2 * units);
    let of_order = most.legs_of_order.min(most.legs / units);
    sheet(moves(units, |_| {
        let mut legs = vec![forward(0.5); of_order - 1];
        legs.push(forward(3000.0));
        legs
    }))
}

/// As many battles as there may be orders, each of one against one far away.
fn battles_of_one(units: usize) -> String {
    let battle = |order: usize| {
        let unit = order % units + 1;
        json!({"order": "battle", "attackers": [format!("red-{unit}")], "defenders": [format!("blue-{unit}")]})
    };
    sheet((0..4 * units).map(battle).collect())
}

/// As many names as there may be, all in battles of many with many.
fn many_battles(units: usize) -> String {
    let side = |name: &str| {
        let of_side = (1..=units.min(32)).map(|unit| format!("{name}-{unit}"));
        of_side.collect::<Vec<_>>()
    };
    let battle = json!({"order": "battle", "attackers": side("red"), "defenders": side("blue")});
    let names = 2 * units.min(32);
    sheet(vec![battle; 6 * 2 * units / names])
}
