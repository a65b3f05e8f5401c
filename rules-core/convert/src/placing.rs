//! A first place for every unit: rows inside each side's own quarter of the table.

use super::board::Board;
use super::error::ConvertError;
use super::map::TableNeeded;
use super::planned::PlannedUnit;
use fieldpost_rules::geometry::larger;
use fieldpost_rules::ruleset::Arm;
use fieldpost_rules::scenario::Command;

/// Share of the table's depth that a side deploys in, and the most it may have.
const BAND: f64 = 0.25;
const MOST: f64 = 0.45;

/// A unit with its place.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct PlacedUnit {
    /// Its id in orders.
    pub id: String,
    /// Its name; counters alike are numbered.
    pub name: String,
    /// Index of its side.
    pub side: usize,
    /// Which of the planned counters it is.
    #[serde(skip)]
    pub counter: usize,
    /// Midpoint of its front: millimetres east and north, and its bearing in degrees.
    pub at: [f64; 3],
    /// Its place in the chain, for a commander.
    pub command: Option<Command>,
}

/// Both sides laid out.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Layout {
    pub(super) units: Vec<PlacedUnit>,
    /// Depth of each side's deployment from its own edge, in millimetres.
    pub(super) bands_mm: [f64; 2],
}

/// Rows of units, front row first; those of one row stand beside one another.
struct Rows {
    rows: Vec<Vec<Member>>,
    gap_mm: f64,
}

#[derive(Clone)]
struct Member {
    counter: usize,
    name: String,
    front_mm: f64,
    depth_mm: f64,
}

impl Rows {
    fn width_mm(&self, row: &[Member]) -> f64 {
        let mut sum = -self.gap_mm;
        for member in row {
            sum += member.front_mm + self.gap_mm;
        }
        sum
    }

    fn row_depth_mm(row: &[Member]) -> f64 {
        row.iter()
            .fold(0.0, |most, member| larger(most, member.depth_mm))
    }

    fn depth_mm(&self) -> f64 {
        let mut sum = 0.0;
        for row in &self.rows {
            sum += Self::row_depth_mm(row) + self.gap_mm;
        }
        sum
    }
}

/// Lays out both sides.
pub(super) fn lay_out(
    board: &Board,
    units: &[PlannedUnit],
    table: &TableNeeded,
    base_width_mm: f64,
) -> Result<Layout, ConvertError> {
    let mut layout = Layout {
        units: Vec::new(),
        bands_mm: [0.0; 2],
    };
    for side in 0..2 {
        let rows = rows_of(board, units, side, table, base_width_mm / 2.0)?;
        let room_mm = table.depth_mm * MOST;
        let needed_mm = rows.depth_mm();
        if needed_mm > room_mm {
            return Err(ConvertError::NoRoom {
                side: board.side[side].name.clone(),
                needed_mm,
                room_mm,
            });
        }
        let band_mm = larger(table.depth_mm * BAND, needed_mm);
        layout.bands_mm[side] = band_mm;
        place(
            board,
            units,
            &rows,
            (side, band_mm),
            table,
            &mut layout.units,
        );
    }
    Ok(layout)
}

fn rows_of(
    board: &Board,
    units: &[PlannedUnit],
    side: usize,
    table: &TableNeeded,
    gap_mm: f64,
) -> Result<Rows, ConvertError> {
    let room_mm = table.width_mm - 2.0 * gap_mm;
    let mut rows = Rows {
        rows: vec![Vec::new()],
        gap_mm,
    };
    // commanders stand in a row of their own behind
    for commanders in [false, true] {
        if commanders && rows.rows.last().is_some_and(|row| !row.is_empty()) {
            rows.rows.push(Vec::new());
        }
        let theirs = units
            .iter()
            .enumerate()
            .filter(|(_, unit)| unit.side == side && (unit.arm == Arm::Commander) == commanders);
        for (counter, unit) in theirs {
            if unit.front_mm > room_mm {
                return Err(ConvertError::Size {
                    what: "the front of a unit",
                    mm: unit.front_mm,
                    range_mm: (1.0, (room_mm * 10.0).floor() / 10.0),
                });
            }
            for number in 1..=unit.counter.count {
                let member = Member {
                    counter,
                    name: if unit.counter.count == 1 {
                        unit.counter.name.clone()
                    } else {
                        format!("{} {number}", unit.counter.name)
                    },
                    front_mm: unit.front_mm,
                    depth_mm: unit.depth_mm,
                };
                rows.add(member, room_mm);
            }
        }
    }
    rows.rows.retain(|row| !row.is_empty());
    if rows.rows.is_empty() {
        return Err(ConvertError::NoRoom {
            side: format!("{}, which has no unit,", board.side[side].name),
            needed_mm: 0.0,
            room_mm: table.depth_mm * MOST,
        });
    }
    Ok(rows)
}

impl Rows {
    fn add(&mut self, member: Member, room_mm: f64) {
        let full = self.rows.last().is_none_or(|row| {
            !row.is_empty() && self.width_mm(row) + self.gap_mm + member.front_mm > room_mm
        });
        if full {
            self.rows.push(Vec::new());
        }
        if let Some(row) = self.rows.last_mut() {
            row.push(member);
        }
    }
}

fn place(
    board: &Board,
    units: &[PlannedUnit],
    rows: &Rows,
    (side, band_mm): (usize, f64),
    table: &TableNeeded,
    placed: &mut Vec<PlacedUnit>,
) {
    let tenth = |mm: f64| (mm * 10.0).round() / 10.0;
    // the front row a little inside the band
    let mut front_mm = band_mm - rows.gap_mm / 2.0;
    let mut number = 0;
    let mut has_chief = false;
    for row in &rows.rows {
        let mut x_mm = (table.width_mm - rows.width_mm(row)) / 2.0;
        for member in row {
            let (east, north) = (tenth(x_mm + member.front_mm / 2.0), tenth(front_mm));
            number += 1;
            let commands = units[member.counter].arm == Arm::Commander;
            placed.push(PlacedUnit {
                id: format!("{}-{number}", board.side[side].key),
                name: member.name.clone(),
                side,
                counter: member.counter,
                at: if side == 0 {
                    [east, north, 0.0]
                } else {
                    [
                        tenth(table.width_mm - east),
                        tenth(table.depth_mm - north),
                        180.0,
                    ]
                },
                command: match (commands, has_chief) {
                    (false, _) => None,
                    (true, false) => Some(Command::Chief),
                    (true, true) => Some(Command::Subordinate),
                },
            });
            has_chief |= commands;
            x_mm += member.front_mm + rows.gap_mm;
        }
        front_mm -= Rows::row_depth_mm(row) + rows.gap_mm;
    }
}
