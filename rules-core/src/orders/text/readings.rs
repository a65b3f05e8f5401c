//! Reading corners measured on a real table: who, and four lengths off a tape.

use super::cursor::Cursor;
use super::fault::Problem;
use super::measure::measure;
use super::roster::{Roster, Whose};
use super::units::Unit;
use super::{TextFault, each_line};
use crate::game::Game;
use crate::orders::UnitId;
use crate::ruleset::{LengthUnit, Scale};
use crate::scenario::Edge;

/// One unit's front corners as a person noted them.
#[derive(Debug, Clone, PartialEq)]
pub struct CornerReading {
    /// Who.
    pub unit: UnitId,
    /// From the west or east edge, then from the south or north edge, of the front left corner and
    /// then of the front right one, in millimetres.
    pub lengths_mm: [f64; 4],
    /// The edges measured from, where they are named: west or east, and south or north.
    pub edges: Option<(Edge, Edge)>,
}

const ADVICE: &str = "write the unit, a colon and four lengths: the left corner from both edges, then the right corner, \
     such as R3: 41.5, 16, 49.5, 16 from the west and south";

/// Reads measured corners, a unit a line, as `manual/the-real-table.md` explains. `bare` is what a
/// number without a unit counts.
///
/// # Errors
/// Every faulty line, in order.
pub fn parse_readings(
    file_name: &str,
    text: &str,
    game: &Game,
    bare: LengthUnit,
) -> Result<Vec<CornerReading>, Vec<TextFault>> {
    let roster = Roster::new(game, game.player());
    let scale = &game.ruleset().scale;
    let mut readings = Vec::new();
    each_line(file_name, text, |cursor| {
        readings.push(reading(cursor, &roster, scale, bare)?);
        cursor.done("one unit a line")
    })?;
    Ok(readings)
}

fn reading(
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
    scale: &Scale,
    bare: LengthUnit,
) -> Result<CornerReading, Problem> {
    let unit = roster.unit(cursor, Whose::Own)?;
    if !cursor.mark(":") {
        return Err(cursor.expected("a colon", ADVICE));
    }
    let mut lengths_mm = [0.0; 4];
    for (index, length) in lengths_mm.iter_mut().enumerate() {
        if index > 0 {
            let _ = cursor.joint() || cursor.mark(";");
        }
        let Some(mut found) = measure(cursor)? else {
            return Err(cursor.expected("a length", ADVICE));
        };
        if found.unit == Unit::Bare {
            found.unit = Unit::Length(bare);
        }
        *length = found.distance_mm(scale)?;
    }
    let _ = cursor.mark(",");
    let edges = if cursor.word(&["from"]) {
        Some(edges(cursor)?)
    } else {
        None
    };
    Ok(CornerReading {
        unit,
        lengths_mm,
        edges,
    })
}

/// `the west and the south edge`: one of each pair, in either order.
fn edges(cursor: &mut Cursor<'_>) -> Result<(Edge, Edge), Problem> {
    let from = cursor.at();
    let first = edge(cursor)?;
    let _ = cursor.joint();
    let second = edge(cursor)?;
    let is_across = |edge: Edge| matches!(edge, Edge::West | Edge::East);
    match (is_across(first), is_across(second)) {
        (true, false) => Ok((first, second)),
        (false, true) => Ok((second, first)),
        _ => Err(Problem::new(
            cursor.since(from),
            "these two edges do not meet",
            "name west or east, and south or north",
        )),
    }
}

fn edge(cursor: &mut Cursor<'_>) -> Result<Edge, Problem> {
    let _ = cursor.word(&["the"]);
    let found = [
        ("west", Edge::West),
        ("east", Edge::East),
        ("south", Edge::South),
        ("north", Edge::North),
    ]
    .into_iter()
    .find(|(word, _)| cursor.word(&[word]));
    let Some((_, edge)) = found else {
        return Err(cursor.expected("an edge", "name west, east, south or north"));
    };
    let _ = cursor.word(&["edge", "edges"]);
    Ok(edge)
}
