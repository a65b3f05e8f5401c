//! Tables for the benches: two lines of battle on ground with features, as large as asked for.

use std::fmt::Write as _;
use std::path::PathBuf;
use std::process::Command;
use std::sync::OnceLock;

use fieldpost_commander::Chance;
use fieldpost_rules::authored;
use fieldpost_rules::dice::{FIRST_ATTEMPT, commitment};
use fieldpost_rules::game::{Event, FORMAT, Game, LAWS};
use fieldpost_rules::orders::{Extent, Hand, Instructions, Leg, Order, SideId, TurnSheet, UnitId};
use fieldpost_rules::record::{self, audit::Line};
use fieldpost_rules::referee::{Posting, judge_sheet, play};
use fieldpost_rules::shipped;
use fieldpost_rules::verdict::Ruling;

/// The rules the benches play by: every law at its default.
const RULES: &str = r#"
format = 1
name = "Bench"
[scale]
base_width_mm = 40
[results]
kind = "odds"
columns = ["1:2", "1:1", "2:1"]
row = [{ throw = [1, 6], outcomes = ["stand", "stand", "stand"] }]
[results.outcome.stand]
words = "both stand"
[terrain.rough]
rate = 2
[lines.brook]
charge = 1
[troops.foot]
arm = "foot"
movement_points = 6
strength_per_base = 1
[troops.general]
arm = "commander"
movement_points = 6
command_radius = 400
"#;

/// A battle of `units` units a side over `features` terrain features, and a sheet that moves every
/// one of red's with three legs, all of them legal.
///
/// # Panics
/// When the files it writes have faults, or a move is refused: then this crate is wrong.
#[must_use]
pub fn battle(units: usize, features: usize) -> (Game, TurnSheet) {
    let (game, sheet) = ordered(units, features, 50.0);
    let verdict = judge_sheet(&game, &sheet);
    assert_ne!(verdict.verdict, Ruling::Refused, "{:#?}", verdict.reasons);
    (game, sheet)
}

/// The same with every move refused, for it asks far more than the allowance.
///
/// # Panics
/// When the files it writes have faults, or a move is not refused: then this crate is wrong.
#[must_use]
pub fn hasty_battle(units: usize, features: usize) -> (Game, TurnSheet) {
    let (game, sheet) = ordered(units, features, 350.0);
    let moves = judge_sheet(&game, &sheet).moves;
    assert!(moves.iter().all(|moved| moved.verdict == Ruling::Refused));
    (game, sheet)
}

fn ordered(units: usize, features: usize, forward_mm: f64) -> (Game, TurnSheet) {
    let scenario = scenario(units, features);
    let field = authored::open_battle(("bench rules", RULES), ("bench battle", &scenario))
        .unwrap_or_else(|faults| panic!("{faults}\n{scenario}"));
    let orders = (1..=units).map(|unit| Order::Move {
        unit: UnitId(format!("red-{unit}")),
        legs: vec![
            Leg::Forward {
                distance_mm: Extent::Exactly(forward_mm),
            },
            Leg::Wheel {
                side: Hand::Left,
                angle_deg: Extent::Exactly(10.0),
            },
            Leg::Oblique {
                side: Hand::Right,
                angle_deg: 30.0,
                distance_mm: Extent::Exactly(20.0),
            },
        ],
    });
    let sheet = TurnSheet {
        game_turn: 1,
        side: SideId::from("red"),
        orders: orders.collect(),
    };
    (Game::new(std::sync::Arc::new(field)), sheet)
}

/// The texts of the ruleset and the scenario of [`battle`].
#[must_use]
pub fn texts(units: usize, features: usize) -> (String, String) {
    (RULES.to_owned(), scenario(units, features))
}

/// The command line's program, built for release beside this one the first time it is asked for.
///
/// # Panics
/// When it does not build.
#[must_use]
pub fn client() -> PathBuf {
    static BUILT: OnceLock<PathBuf> = OnceLock::new();
    let built = BUILT.get_or_init(|| {
        let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".to_owned());
        let build = ["build", "--release", "--locked", "-p", "fieldpost-client"];
        let status = Command::new(cargo).args(build).status();
        assert!(status.is_ok_and(|status| status.success()), "it builds");
        // target/release/deps/this-bench
        let this = std::env::current_exe().expect("a program has a place");
        let release = this.ancestors().nth(2).expect("target/release");
        release.join(format!("fieldpost{}", std::env::consts::EXE_SUFFIX))
    });
    built.clone()
}

fn scenario(units: usize, features: usize) -> String {
    let abreast = 15;
    let width_mm = 2400.0;
    let ranks = units.div_ceil(abreast);
    let depth_mm = 600.0 + 240.0 * count(ranks);
    let mut text = format!(
        "format = 1\nname = \"Bench\"\ngame_turns = 5\ntable = {{ width_mm = {width_mm}, depth_mm = {depth_mm} }}\n\
         [[side]]\nkey = \"red\"\nname = \"Red\"\n[[side]]\nkey = \"blue\"\nname = \"Blue\"\n"
    );
    for unit in 0..units {
        let x_mm = 80.0 + 155.0 * count(unit % abreast);
        let behind_mm = 120.0 * count(unit / abreast);
        let red = (x_mm, depth_mm / 2.0 - 100.0 - behind_mm, 0.0);
        let blue = (x_mm, depth_mm / 2.0 + 100.0 + behind_mm, 180.0);
        for (side, (x, y, bearing)) in [("red", red), ("blue", blue)] {
            let id = unit + 1;
            let _ = writeln!(
                text,
                "[[unit]]\nid = \"{side}-{id}\"\nname = \"{side} {id}\"\nside = \"{side}\"\ntroops = \"foot\"\nfiles = 3\nranks = 2\nat = [{x}, {y}, {bearing}]"
            );
        }
    }
    for feature in 0..features {
        let across = count(feature % 12) * 190.0;
        let up = depth_mm / 2.0 - 90.0 + 30.0 * count(feature % 5) - 60.0 * count(feature / 12);
        if feature % 4 == 3 {
            let (a, b, c) = (across + 20.0, across + 100.0, across + 180.0);
            let _ = writeln!(
                text,
                "[[line]]\nname = \"brook {feature}\"\nkind = \"brook\"\npoints = [[{a}, {up}], [{b}, {}], [{c}, {up}]]",
                up + 20.0
            );
        } else {
            let corners = [
                (40.0, 0.0),
                (150.0, 10.0),
                (180.0, 60.0),
                (110.0, 40.0),
                (60.0, 80.0),
                (20.0, 50.0),
            ]
            .map(|(x, y)| format!("[{}, {}]", across + x, up + y));
            let _ = writeln!(
                text,
                "[[terrain]]\nname = \"rough {feature}\"\nkind = \"rough\"\noutline = [{}]",
                corners.join(", ")
            );
        }
    }
    text
}

#[expect(clippy::cast_precision_loss, reason = "small counts")]
fn count(n: usize) -> f64 {
    n as f64
}

/// The record of a shipped battle fought to its end by automatic commanders.
///
/// # Panics
/// When no such battle is shipped, or a commander finds no sheet: then the core is wrong.
#[must_use]
pub fn recorded_battle(key: &str, seed: u64) -> Vec<Line> {
    const GAME_ID: [u8; 16] = [7; 16];
    let battle = shipped::find(key).expect("shipped");
    let (ruleset, scenario) = (battle.ruleset.text, battle.scenario.text);
    let mut chance = Chance::new(seed);
    let mut secret = chance.bytes();
    let opened = Event::Opened {
        format: FORMAT,
        laws: LAWS,
        signed: false,
        game: "07".repeat(16),
        ruleset: ruleset.to_owned(),
        scenario: scenario.to_owned(),
        commitment: commitment(&GAME_ID, 1, FIRST_ATTEMPT, &secret)
            .iter()
            .map(|byte| format!("{byte:02x}"))
            .collect(),
    };
    let mut game = record::open(&opened).expect("a sound battle");
    let mut head = (0, record::BEFORE_THE_FIRST);
    let mut lines = Vec::new();
    let mut events = vec![opened];
    loop {
        for sealed in record::seal(head, "2026-01-01T00:00:00Z", std::mem::take(&mut events))
            .expect("canonical")
        {
            head = (sealed.entry.number, sealed.hash);
            let hash = sealed
                .hash
                .iter()
                .map(|byte| format!("{byte:02x}"))
                .collect();
            lines.push(Line {
                number: sealed.entry.number,
                hash,
                body: sealed.body,
            });
        }
        if game.ending().is_some() {
            return lines;
        }
        let sheet = fieldpost_commander::sheet(&game, &mut chance).expect("some sheet");
        let next = chance.bytes();
        let posting = Posting {
            sheet: &sheet,
            standing: &Instructions::default(),
            game_id: GAME_ID,
            attempt: FIRST_ATTEMPT,
            secret,
            number: chance.bytes(),
            next_commitment: commitment(&GAME_ID, game.player_turn() + 1, FIRST_ATTEMPT, &next),
            sealed: &[],
        };
        events = play(&game, &posting).expect("it would be accepted");
        events.iter().for_each(|event| game.apply(event));
        secret = next;
    }
}

/// The largest scenarios that may be written on the starter: one with much ground, one with
/// many units.
#[must_use]
pub fn large_battle() -> [String; 2] {
    let corner = |index: u32| {
        let angle = f64::from(index) / 500.0 * std::f64::consts::TAU;
        format!(
            "[{:.3}, {:.3}]",
            -200.0 + 90.0 * angle.cos(),
            90.0 * angle.sin()
        )
    };
    let outline: Vec<String> = (0..500).map(corner).collect();
    let outline = outline.join(", ");
    let patch = |number: u32| {
        format!("\n[[terrain]]\nname = \"Pond {number}\"\nkind = \"lake\"\noutline = [{outline}]\n")
    };
    let unit = |n: u32| {
        let (x, y) = (430 + n % 33, 400 - n / 33);
        format!(
            "\n[[unit]]\nid = \"r{n}\"\nname = \"Unit {n}\"\nside = \"red\"\ntroops = \"general\"\n\
             command = \"subordinate\"\nat = [{x}, {y}, 0]\n"
        )
    };
    let starter = authored::starter_scenario();
    let map: String = (0..98).map(patch).collect();
    let army: String = (0..990).map(unit).collect();
    [format!("{starter}{map}"), format!("{starter}{army}")]
}

/// Text that is no ruleset, as long as one may be.
#[must_use]
pub fn longest_nonsense() -> Vec<(&'static str, String)> {
    ["x\n", "[[\n", "= = =\n", "\"\"\"", "{", "a.a.a."]
        .into_iter()
        .map(|line| {
            (
                line.trim_end(),
                line.repeat(authored::MOST_BYTES / line.len()),
            )
        })
        .collect()
}
