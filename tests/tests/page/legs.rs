//! Where legs end: moves judged on bare ground, from where each unit stands to where the referee stores it. The page's
//! script moves a ghost at every frame by the same arithmetic; its own test reads the same file.

use fieldpost_rules::geometry::Pose;
use fieldpost_rules::orders::{Extent, Hand, Leg, Order, UnitId};
use fieldpost_rules::referee::judge_sheet;
use fieldpost_rules::referee::testing::{block, game, pair, rules, sheet};
use fieldpost_rules::scenario::UnitEntry;
use fieldpost_rules::verdict::Ruling;
use serde_json::{Value, json};

/// Where the file is.
fn path() -> std::path::PathBuf {
    std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../server/page/vectors/legs.json")
}

/// Units that move by the same legs, as one body if there are several.
struct Case {
    units: Vec<UnitEntry>,
    legs: Vec<Leg>,
}

fn forward(mm: f64) -> Leg {
    Leg::Forward {
        distance_mm: Extent::Exactly(mm),
    }
}

fn back(mm: f64) -> Leg {
    Leg::Back {
        distance_mm: Extent::Exactly(mm),
    }
}

fn sidestep(side: Hand, mm: f64) -> Leg {
    Leg::Sidestep {
        side,
        distance_mm: Extent::Exactly(mm),
    }
}

fn oblique(side: Hand, angle_deg: f64, mm: f64) -> Leg {
    Leg::Oblique {
        side,
        angle_deg,
        distance_mm: Extent::Exactly(mm),
    }
}

fn wheel(side: Hand, angle_deg: f64) -> Leg {
    Leg::Wheel {
        side,
        angle_deg: Extent::Exactly(angle_deg),
    }
}

fn turn(side: Hand) -> Leg {
    Leg::Turn { side }
}

fn reform(files: u16, ranks: u16) -> Leg {
    Leg::Reform { files, ranks }
}

/// Moves of one unit, from bearings in every quarter.
fn single() -> Vec<Case> {
    use Hand::{Left, Right};
    let moves = [
        vec![forward(100.0)],
        vec![forward(61.237)],
        vec![back(33.3)],
        vec![sidestep(Left, 47.11)],
        vec![sidestep(Right, 20.0)],
        vec![oblique(Left, 12.5, 80.0)],
        vec![oblique(Right, 30.0, 55.55)],
        vec![wheel(Left, 23.4)],
        vec![wheel(Right, 90.0)],
        vec![wheel(Right, 7.654_321)],
        vec![turn(Left)],
        vec![turn(Right)],
        vec![Leg::About],
        vec![forward(40.0), wheel(Left, 30.0), forward(25.5)],
        vec![wheel(Right, 45.0), oblique(Left, 10.0, 31.0), Leg::About],
        vec![turn(Right), forward(18.0), turn(Left), back(6.0)],
    ];
    let stances = [
        (2, 1, 0.0),
        (3, 2, 90.0),
        (6, 1, 33.333_333),
        (1, 3, 181.000_001),
        (4, 2, 299.5),
    ];
    let mut cases = Vec::new();
    for (files, ranks, bearing_deg) in stances {
        for legs in &moves {
            let unit = block(
                "r1",
                "foot",
                (files, ranks),
                (600.123, 599.877, bearing_deg),
            );
            cases.push(Case {
                units: vec![unit],
                legs: legs.clone(),
            });
        }
    }
    let six = |bearing_deg| block("r1", "foot", (3, 2), (600.0, 600.0, bearing_deg));
    for (files, ranks) in [(6, 1), (2, 3), (1, 6)] {
        cases.push(Case {
            units: vec![six(123.4)],
            legs: vec![reform(files, ranks)],
        });
    }
    cases.push(Case {
        units: vec![six(200.0)],
        legs: vec![reform(2, 3), wheel(Left, 20.0), forward(30.0)],
    });
    cases
}

/// An aligning is for a unit in an enemy halt zone: the enemy stands before it, and does not move.
fn aligned() -> Vec<Case> {
    let unit = |bearing_deg| pair("r1", "foot", (600.0, 600.0, bearing_deg));
    let align = |side, angle_deg| vec![Leg::Align { side, angle_deg }];
    vec![
        Case {
            units: vec![unit(0.0), pair("b1", "foot", (600.0, 615.0, 180.0))],
            legs: align(Hand::Left, 3.25),
        },
        Case {
            units: vec![unit(2.0), pair("b1", "foot", (600.0, 615.0, 180.0))],
            legs: align(Hand::Right, 1.000_001),
        },
    ]
}

/// Several units that move as one body: its rectangle lies along the first one's bearing.
fn together() -> Vec<Case> {
    let line = || {
        vec![
            pair("r1", "foot", (560.0, 600.0, 0.0)),
            pair("r2", "foot", (645.0, 597.5, 0.0)),
            block("r3", "foot", (2, 2), (730.0, 600.0, 0.0)),
        ]
    };
    let slanted = || {
        vec![
            pair("r2", "foot", (600.0, 600.0, 41.5)),
            pair("r1", "foot", (540.0, 655.0, 41.5)),
        ]
    };
    let moves = [
        vec![forward(60.0)],
        vec![wheel(Hand::Left, 15.0)],
        vec![wheel(Hand::Right, 15.0), forward(20.0)],
        vec![oblique(Hand::Right, 20.0, 40.0)],
        vec![Leg::About],
        vec![turn(Hand::Left)],
    ];
    let mut cases = Vec::new();
    for legs in moves {
        for units in [line(), slanted()] {
            let legs = legs.clone();
            cases.push(Case { units, legs });
        }
    }
    cases
}

/// The case carried out by the referee.
fn vector(case: &Case) -> Value {
    let mut ruleset = rules();
    let troops = ruleset.troops.get_mut("foot").expect("there");
    troops.movement_points = 1000.0;
    ruleset.movement.oblique_max = 45.0;
    let game = game(ruleset, case.units.clone());
    let own = case.units.iter().filter(|unit| unit.side == "red");
    let ids: Vec<UnitId> = own.map(|unit| UnitId(unit.id.clone())).collect();
    let legs = case.legs.clone();
    let order = match ids.as_slice() {
        [unit] => Order::Move {
            unit: unit.clone(),
            legs,
        },
        units => Order::MoveTogether {
            units: units.to_vec(),
            legs,
        },
    };
    let verdict = judge_sheet(&game, &sheet(vec![order]));
    let units: Vec<Value> = ids
        .iter()
        .map(|id| {
            let unit = game.unit(id).expect("there");
            let moved = verdict.moves.iter().find(|moved| moved.unit == *id);
            let moved = moved.expect("judged");
            assert_ne!(
                moved.verdict,
                Ruling::Refused,
                "{:?}: {:?}",
                case.legs,
                moved.reasons
            );
            let (wide, deep) = unit.base_mm;
            json!({
                "start": pose(unit.pose().expect("it stands")),
                "files": unit.files,
                "bases": unit.bases,
                "base_mm": [wide, deep],
                "frontage_mm": unit.block().frontage_mm,
                "depth_mm": unit.block().depth_mm,
                "end": pose(moved.end_pose.expect("it ends somewhere")),
                "end_files": moved.files,
            })
        })
        .collect();
    json!({"units": units, "legs": case.legs})
}

fn pose(pose: Pose) -> Value {
    json!({"x_um": pose.x_um, "y_um": pose.y_um, "bearing_udeg": pose.bearing_udeg})
}

/// All of them, one a line.
fn written() -> String {
    let cases = single().into_iter().chain(aligned()).chain(together());
    let lines: Vec<String> = cases.map(|case| vector(&case).to_string()).collect();
    format!("[\n{}\n]\n", lines.join(",\n"))
}

#[test]
fn the_vectors_of_legs_are_those_of_the_referee() {
    let kept = std::fs::read_to_string(path()).expect("a file of the project");
    let same = kept == written();
    assert!(
        same,
        "server/page/vectors/legs.json is not what the referee does: write it anew with \
         cargo test -p fieldpost-tests --test page -- --ignored"
    );
}

/// After a change of the laws of movement, or with more cases.
#[test]
#[ignore = "writes the vectors anew"]
fn write_the_vectors_anew() {
    std::fs::write(path(), written()).expect("written");
}
