//! One line a ruling: orders with the verdict and the figures a person would measure.
//!
//! Bases are 40 mm wide and 20 mm deep, a pair has a frontage of 80 mm, foot has 3 MP of 40 mm,
//! the halt zone is 20 mm, the tolerance 0.5 mm.

mod clear_ground;
mod legs;
mod lines;
mod orders;
mod zones;

use crate::game::{Game, Ground, GroundLine, GroundPatch, GroundRoad, GroundSpan};
use crate::geometry::{Point, Polygon, Polyline, Pose};
use crate::orders::{Extent, Hand, Leg, Order, UnitId};
use crate::referee::judge_sheet;
use crate::referee::testing::{bare_ground, block, game, game_on, pair, rules, scenario, sheet};
use crate::ruleset::{Distance, LineKind, MinimumMove, Ruleset, TerrainBy, TerrainKind, ZoneExit};
use crate::scenario::UnitEntry;
use crate::verdict::{MoveVerdict, Ruling};

fn forward(distance_mm: f64) -> Leg {
    Leg::Forward {
        distance_mm: Extent::Exactly(distance_mm),
    }
}
fn forward_up_to(distance_mm: f64) -> Leg {
    Leg::Forward {
        distance_mm: Extent::UpTo(distance_mm),
    }
}
fn back(distance_mm: f64) -> Leg {
    Leg::Back {
        distance_mm: Extent::Exactly(distance_mm),
    }
}
fn sidestep(side: Hand, distance_mm: f64) -> Leg {
    Leg::Sidestep {
        side,
        distance_mm: Extent::Exactly(distance_mm),
    }
}
fn oblique(side: Hand, angle_deg: f64, distance_mm: f64) -> Leg {
    Leg::Oblique {
        side,
        angle_deg,
        distance_mm: Extent::Exactly(distance_mm),
    }
}
fn wheel(side: Hand, angle_deg: f64) -> Leg {
    Leg::Wheel {
        side,
        angle_deg: Extent::Exactly(angle_deg),
    }
}
fn wheel_up_to(side: Hand, angle_deg: f64) -> Leg {
    Leg::Wheel {
        side,
        angle_deg: Extent::UpTo(angle_deg),
    }
}
fn align(side: Hand, angle_deg: f64) -> Leg {
    Leg::Align { side, angle_deg }
}

fn judged(game: &Game, unit: &str, legs: &[Leg]) -> MoveVerdict {
    let order = Order::Move {
        unit: UnitId::from(unit),
        legs: legs.to_vec(),
    };
    let verdict = judge_sheet(game, &sheet(vec![order]));
    verdict
        .moves
        .into_iter()
        .next()
        .expect("one move was ordered")
}

/// Checks ruling, headline code ("" when legal), whole charge and end.
#[track_caller]
fn check(
    game: &Game,
    legs: &[Leg],
    (ruling, code): (Ruling, &str),
    charge_mm: f64,
    (x_mm, y_mm, bearing_deg): (f64, f64, f64),
) -> MoveVerdict {
    let verdict = judged(game, "r1", legs);
    let headline = verdict
        .reasons
        .first()
        .map_or("", |reason| reason.code().as_str());
    let end = verdict.end.expect("on the table");
    assert_eq!((verdict.verdict, headline), (ruling, code), "{verdict:#?}");
    assert!(
        (verdict.charge_mm - charge_mm).abs() < 0.006,
        "charge {} not {charge_mm}",
        verdict.charge_mm
    );
    let off = Point::new(end.x_mm, end.y_mm).distance_to(Point::new(x_mm, y_mm));
    assert!(off < 0.006, "ends at {end:?}");
    assert!(
        (end.bearing_deg - bearing_deg).abs() < 0.001,
        "ends facing {end:?}"
    );
    verdict
}

const LEGAL: (Ruling, &str) = (Ruling::Legal, "");

/// A pair of foot at (600, 600) facing north, alone with whatever else is given.
fn with(others: Vec<UnitEntry>) -> Game {
    on(rules(), bare_ground(), others)
}

fn on(ruleset: Ruleset, ground: Ground, mut others: Vec<UnitEntry>) -> Game {
    others.push(pair("r1", "foot", (600.0, 600.0, 0.0)));
    if !others.iter().any(|unit| unit.side == "blue") {
        others.push(pair("b9", "foot", (100.0, 1150.0, 180.0)));
    }
    game_on(ruleset, scenario(others), ground)
}

/// An enemy whose front lies `gap_mm` ahead of the mover's.
fn facing(gap_mm: f64) -> Vec<UnitEntry> {
    vec![pair("b1", "foot", (600.0, 600.0 + gap_mm, 180.0))]
}

fn patch(name: &str, rate: f64, impassable: bool, corners: &[(f64, f64)]) -> GroundPatch {
    let points = corners.iter().map(|&(x, y)| Point::new(x, y)).collect();
    GroundPatch {
        name: name.to_owned(),
        kind_name: name.to_owned(),
        kind: TerrainKind {
            rate,
            impassable,
            ..TerrainKind::default()
        },
        outline: Polygon::new(points, Vec::new()).expect("a good outline"),
    }
}

fn line(name: &str, charge_mm: f64, slope: bool, corners: &[(f64, f64)]) -> GroundLine {
    let points = corners.iter().map(|&(x, y)| Point::new(x, y)).collect();
    GroundLine {
        name: name.to_owned(),
        kind_name: name.to_owned(),
        kind: LineKind {
            slope,
            ..LineKind::default()
        },
        charge_mm,
        course: Polyline::new(points).expect("a good line"),
        spans: Vec::new(),
    }
}
