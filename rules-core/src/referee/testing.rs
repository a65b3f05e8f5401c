//! Small battlefields for the tests of the laws, built in code.
//!
//! Bases are 40 mm wide and 20 mm deep, the tolerance is the usual 0.5 mm; south of the table
//! stands red, which moves first. Units are placed by their front edge's midpoint.

#![allow(dead_code, reason = "builders that the laws' tests share")]

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::dice::{Seeds, Throws};
use crate::game::{
    Battlefield, DiceProof, Event, Game, Ground, GroundLine, GroundPatch, GroundSpan,
};
use crate::geometry::{Point, Polygon, Polyline, Table};
use crate::orders::{Order, SideId, TurnSheet, UnitId};
use crate::ruleset::{
    Arm, Column, Dice, Distance, Losses, Outcome, Results, ResultsKind, Row, Ruleset, Scale, Throw,
    TroopType,
};
use crate::scenario::{Command, Scenario, SideEntry, TableSize, UnitEntry, Victory};

/// Width of the test table in millimetres; it is square.
pub const TABLE_MM: f64 = 1200.0;

/// Default settings; troops `foot` (strength 1 a base, 3 MP), `horse` (2, 5 MP), `guns` (2, 2 MP)
/// and `general` (none, 5 MP, radius 6 bw); a one-die odds table 1:2 to 3:1 whose outcomes are
/// all `nothing` until a test says otherwise.
pub fn rules() -> Ruleset {
    Ruleset {
        format: 1,
        name: "test".into(),
        about: String::new(),
        scale: Scale {
            base_width_mm: 40.0,
            movement_point: Distance::new(1.0),
            tolerance_mm: 0.5,
        },
        movement: Default::default(),
        zones: Default::default(),
        command: Default::default(),
        attacks: Default::default(),
        falling_back: Default::default(),
        results: always(Outcome::default()),
        terrain: BTreeMap::new(),
        lines: BTreeMap::new(),
        troops: BTreeMap::from([
            ("foot".to_owned(), troops(Arm::Foot, 3.0, 1.0)),
            ("horse".to_owned(), troops(Arm::Horse, 5.0, 2.0)),
            ("guns".to_owned(), troops(Arm::Guns, 2.0, 2.0)),
            (
                "general".to_owned(),
                TroopType {
                    command_radius: Some(Distance::new(6.0)),
                    ..troops(Arm::Commander, 5.0, 0.0)
                },
            ),
        ]),
        sight: None,
        flanks: None,
        disorder: None,
        withdrawal: None,
        breaking: None,
    }
}

fn troops(arm: Arm, movement_points: f64, strength_per_base: f64) -> TroopType {
    TroopType {
        arm,
        movement_points,
        strength_per_base,
        base_width: Distance::new(1.0),
        base_depth: Distance::new(0.5),
        bombard_range: None,
        command_radius: None,
    }
}

/// An odds table 1:2, 1:1, 3:2, 2:1, 3:1 on one die that always comes to one outcome.
pub fn always(outcome: Outcome) -> Results {
    let columns = ["1:2", "1:1", "3:2", "2:1", "3:1"];
    Results {
        kind: ResultsKind::Odds,
        dice: Dice::default(),
        columns: columns
            .iter()
            .filter_map(|text| Column::parse(text).ok())
            .collect(),
        row: vec![Row {
            throw: Throw::Between([1, 6]),
            outcomes: vec!["result".to_owned(); columns.len()],
        }],
        outcome: BTreeMap::from([("result".to_owned(), outcome)]),
        losses: Losses::EachUnit,
    }
}

/// A unit of `files` × `ranks` bases with its front edge's midpoint at a place, facing a bearing.
/// Ids that begin with `r` are red's, others blue's.
pub fn block(
    id: &str,
    troops: &str,
    (files, ranks): (u16, u16),
    (x_mm, y_mm, bearing_deg): (f64, f64, f64),
) -> UnitEntry {
    UnitEntry {
        id: id.to_owned(),
        name: id.to_owned(),
        mark: None,
        side: if id.starts_with('r') { "red" } else { "blue" }.to_owned(),
        troops: troops.to_owned(),
        files,
        ranks,
        bases: None,
        at: Some([x_mm, y_mm, bearing_deg]),
        arrives: None,
        command: (troops == "general").then_some(Command::Chief),
        under: None,
    }
}

/// A unit of two bases abreast, one deep.
pub fn pair(id: &str, troops: &str, at: (f64, f64, f64)) -> UnitEntry {
    block(id, troops, (2, 1), at)
}

/// A scenario of ten turns on the test table.
pub fn scenario(units: Vec<UnitEntry>) -> Scenario {
    let side = |key: &str| SideEntry {
        key: key.to_owned(),
        name: key.to_owned(),
        colour: None,
    };
    Scenario {
        format: 1,
        name: "test".into(),
        about: String::new(),
        ruleset: "test".into(),
        table: TableSize {
            width_mm: TABLE_MM,
            depth_mm: TABLE_MM,
        },
        game_turns: 10,
        side: vec![side("red"), side("blue")],
        terrain: Vec::new(),
        line: Vec::new(),
        road: Vec::new(),
        unit: units,
        deployment: Vec::new(),
        objective: Vec::new(),
        exit: Vec::new(),
        victory: Victory::default(),
    }
}

/// Bare ground of the test table's size.
pub fn bare_ground() -> Ground {
    Ground {
        table: Table {
            width_mm: TABLE_MM,
            depth_mm: TABLE_MM,
        },
        patches: Vec::new(),
        lines: Vec::new(),
        roads: Vec::new(),
    }
}

/// A game of these rules and units on bare ground, red to move.
pub fn game(ruleset: Ruleset, units: Vec<UnitEntry>) -> Game {
    game_on(ruleset, scenario(units), bare_ground())
}

/// A game on ground of its own.
pub fn game_on(ruleset: Ruleset, scenario: Scenario, ground: Ground) -> Game {
    Game::new(Arc::new(Battlefield {
        ruleset,
        scenario,
        ground,
    }))
}

/// Red's sheet for the first turn.
pub fn sheet(orders: Vec<Order>) -> TurnSheet {
    TurnSheet {
        game_turn: 1,
        side: SideId::from("red"),
        orders,
    }
}

/// A battle without guns or follow-up.
pub fn battle(attackers: &[&str], defenders: &[&str]) -> Order {
    bombarded(attackers, defenders, &[])
}

/// A battle that guns join.
pub fn bombarded(attackers: &[&str], defenders: &[&str], guns: &[&str]) -> Order {
    Order::Battle {
        attackers: ids(attackers),
        defenders: ids(defenders),
        guns: ids(guns),
        follow_up: None,
    }
}

/// Unit ids.
pub fn ids(keys: &[&str]) -> Vec<UnitId> {
    keys.iter().map(|&key| UnitId::from(key)).collect()
}

/// Throws that are always the same for the same seed.
pub fn throws(seed: u8) -> Throws {
    Throws::new(&Seeds {
        game: &[seed; 16],
        player_turn: 1,
        attempt: 1,
        secret: &[seed; 32],
        number: &[1; 32],
    })
}

/// A rectangular patch from its south-west to its north-east corner.
pub fn patch(
    name: &str,
    kind: crate::ruleset::TerrainKind,
    (west, south): (f64, f64),
    (east, north): (f64, f64),
) -> GroundPatch {
    let corners = [(west, south), (east, south), (east, north), (west, north)];
    let outline = corners.map(|(x, y)| Point::new(x, y)).to_vec();
    GroundPatch {
        name: name.to_owned(),
        kind_name: name.to_lowercase(),
        kind,
        outline: Polygon::new(outline, Vec::new()).expect("a rectangle"),
    }
}

/// A line through some points, with stretches along it that charge nothing.
pub fn line(
    name: &str,
    kind: crate::ruleset::LineKind,
    points: &[(f64, f64)],
    spans: &[(f64, f64)],
) -> GroundLine {
    let points = points.iter().map(|&(x, y)| Point::new(x, y)).collect();
    GroundLine {
        name: name.to_owned(),
        kind_name: name.to_lowercase(),
        kind,
        charge_mm: 0.0,
        course: Polyline::new(points).expect("a line"),
        spans: spans
            .iter()
            .map(|&(from_mm, to_mm)| GroundSpan {
                name: "Gap".to_owned(),
                from_mm,
                to_mm,
            })
            .collect(),
    }
}

/// Bare ground with patches and lines on it.
pub fn ground(patches: Vec<GroundPatch>, lines: Vec<GroundLine>) -> Ground {
    Ground {
        patches,
        lines,
        ..bare_ground()
    }
}

/// The player turn passes to the other side.
pub fn close(game: &mut Game) {
    let nothing: crate::dice::Bytes32 = [0; 32];
    let holders = super::victory::holders(game);
    game.apply(&Event::TurnClosed {
        asked: vec![],
        dice: DiceProof {
            player_turn: game.player_turn(),
            attempt: Some(1),
            secret: hex::encode(nothing),
            number: hex::encode(nothing),
            throws: None,
        },
        commitment: hex::encode(nothing),
        holders,
    });
}

/// The game id that [`played`] plays under.
pub const GAME_ID: [u8; 16] = [9; 16];

/// A whole player turn with secrets drawn from a seed: every event of it, applied to the game.
/// The verdict instead when the sheet is refused.
pub fn played(
    game: &mut Game,
    orders: Vec<Order>,
    seed: u8,
) -> Result<Vec<Event>, Box<crate::verdict::SheetVerdict>> {
    let sheet = TurnSheet {
        game_turn: game.game_turn(),
        side: game.player_side(),
        orders,
    };
    let posting = super::Posting {
        sheet: &sheet,
        standing: &crate::orders::Instructions::default(),
        game_id: GAME_ID,
        attempt: 1,
        secret: [seed; 32],
        number: [1; 32],
        next_commitment: [0; 32],
        sealed: &[],
    };
    let events = super::play(game, &posting)?;
    events.iter().for_each(|event| game.apply(event));
    Ok(events)
}
