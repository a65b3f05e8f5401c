//! Setting up a real table with a tape, and reading one back: front corners from two edges.

use serde::Serialize;

use fieldpost_rules::game::{Game, Unit};
use fieldpost_rules::geometry::{Footprint, Placement, Point, Pose, Vector, larger, smaller};
use fieldpost_rules::orders::UnitId;
use fieldpost_rules::scenario::{Edge, TableSize};
use fieldpost_rules::verdict::rounding::{amount, tenths};

use fieldpost_rules::game::marks;
use fieldpost_rules::sanitize::plain;

/// What the tape is marked in, and how finely it is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum TapeUnit {
    /// Centimetres, read to the nearest 5 mm.
    #[default]
    Centimetres,
    /// Inches of 25.4 mm, read to the nearest quarter.
    Inches,
}

impl TapeUnit {
    /// The step it is read in, in millimetres.
    #[must_use]
    pub fn step_mm(self) -> f64 {
        match self {
            Self::Centimetres => 5.0,
            Self::Inches => 25.4 / 4.0,
        }
    }

    /// Placed by the placing sheet, and read as finely.
    #[must_use]
    pub fn steps(self) -> Steps {
        Steps {
            placed_mm: self.step_mm(),
            read_mm: self.step_mm(),
        }
    }

    /// A length to the nearest step, in millimetres.
    #[must_use]
    pub fn rounded_mm(self, mm: f64) -> f64 {
        (mm / self.step_mm()).round() * self.step_mm()
    }

    /// A length as read off the tape: `41.5` or `16 ¼`.
    #[must_use]
    pub fn read(self, mm: f64) -> String {
        let steps = (mm / self.step_mm()).round();
        match self {
            Self::Centimetres => format!("{:.1}", steps / 2.0 + 0.0),
            Self::Inches => {
                let whole = (steps / 4.0).floor();
                let quarter = match steps - whole * 4.0 {
                    q if q > 2.5 => " ¾",
                    q if q > 1.5 => " ½",
                    q if q > 0.5 => " ¼",
                    _ => "",
                };
                format!("{}{quarter}", amount(whole))
            }
        }
    }

    /// Its name on a sheet.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Centimetres => "cm",
            Self::Inches => "in",
        }
    }
}

/// The two table edges that a corner is measured from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Edges {
    /// West or east.
    pub across: Edge,
    /// South or north.
    pub along: Edge,
}

impl Edges {
    /// The west edge and the south edge.
    pub const WEST_AND_SOUTH: Self = Self {
        across: Edge::West,
        along: Edge::South,
    };

    /// The nearer of west and east, and of south and north: the tape stays short.
    #[must_use]
    pub fn nearest_to(point: Point, table: &TableSize) -> Self {
        Self {
            across: if point.x * 2.0 <= table.width_mm {
                Edge::West
            } else {
                Edge::East
            },
            along: if point.y * 2.0 <= table.depth_mm {
                Edge::South
            } else {
                Edge::North
            },
        }
    }

    /// What a tape from both edges reads at a point, in millimetres; the same both ways.
    fn swapped(self, x: f64, y: f64, table: &TableSize) -> (f64, f64) {
        let x = if self.across == Edge::East {
            table.width_mm - x
        } else {
            x
        };
        let y = if self.along == Edge::North {
            table.depth_mm - y
        } else {
            y
        };
        (x, y)
    }
}

/// A corner by the tape: millimetres from the two edges.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Corner {
    /// From the west or east edge.
    pub across_mm: f64,
    /// From the south or north edge.
    pub along_mm: f64,
}

/// Where one unit is to be put.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlacingEntry {
    /// Who.
    pub unit: UnitId,
    /// Its short mark.
    pub mark: String,
    /// Its name.
    pub name: String,
    /// The edges to measure from.
    pub edges: Edges,
    /// Its front left corner, as the unit faces, to the nearest step.
    pub front_left: Corner,
    /// Its front right corner.
    pub front_right: Corner,
    /// What to face it at.
    pub facing: String,
    /// How far a unit put down by these figures can stand from where it should.
    pub error: PlacingError,
}

/// How far off rounding can put a unit: bounds, not likely values.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PlacingError {
    /// Of the front edge's midpoint, in millimetres.
    pub midpoint_mm: f64,
    /// Of its bearing, in degrees.
    pub bearing_deg: f64,
    /// Of either front corner, in millimetres.
    pub corner_mm: f64,
}

impl PlacingError {
    /// Bounds for corners whose four distances were each rounded to a step.
    ///
    /// With h half the step, each corner is off by at most h√2, so the midpoint is too; the front
    /// edge as measured differs from the true one by at most 2h√2, which turns a front edge of
    /// length f by at most asin(2h√2 / f); and a corner rebuilt from midpoint and bearing is off by
    /// at most the midpoint's error and the chord f·sin(half that turn).
    #[must_use]
    pub fn of_rounding(step_mm: f64, frontage_mm: f64) -> Self {
        let corner = step_mm / 2.0 * std::f64::consts::SQRT_2;
        let share = smaller(2.0 * corner / larger(frontage_mm, 1e-9), 1.0);
        let is_lost = 2.0 * corner >= frontage_mm;
        let turn = if is_lost {
            std::f64::consts::PI
        } else {
            libm::asin(share)
        };
        Self {
            midpoint_mm: corner,
            bearing_deg: turn.to_degrees(),
            corner_mm: corner + frontage_mm * libm::sin(turn / 2.0),
        }
    }
}

/// Every unit on the table in an order to lay them out: by the pair of edges measured from, so
/// that the tape stays where it is hooked, and within that the unit farthest from the south or
/// north edge first, so that nobody reaches over figures that already stand.
#[must_use]
pub fn placing(game: &Game, tape: TapeUnit) -> Vec<PlacingEntry> {
    let table = &game.scenario().table;
    let marks = marks(game);
    let mut entries: Vec<(u8, f64, f64, PlacingEntry)> = game
        .on_table()
        .filter_map(|unit| {
            let footprint = unit.footprint()?;
            let mark = marks.get(&unit.id)?.clone();
            let entry = entry(unit, &footprint, mark, table, tape)?;
            let from = entry
                .edges
                .swapped(footprint.centre.x, footprint.centre.y, table);
            Some((corner_order(entry.edges), from.1, from.0, entry))
        })
        .collect();
    entries.sort_by(|a, b| {
        a.0.cmp(&b.0)
            .then(b.1.total_cmp(&a.1))
            .then(a.2.total_cmp(&b.2))
            .then_with(|| a.3.unit.cmp(&b.3.unit))
    });
    entries.into_iter().map(|(_, _, _, entry)| entry).collect()
}

fn corner_order(edges: Edges) -> u8 {
    match (edges.along, edges.across) {
        (Edge::South, Edge::West) => 0,
        (Edge::South, _) => 1,
        (_, Edge::West) => 2,
        _ => 3,
    }
}

fn entry(
    unit: &Unit,
    footprint: &Footprint,
    mark: String,
    table: &TableSize,
    tape: TapeUnit,
) -> Option<PlacingEntry> {
    let edges = Edges::nearest_to(footprint.centre, table);
    let corner = |point: Point| {
        let (across, along) = edges.swapped(point.x, point.y, table);
        Corner {
            across_mm: tape.rounded_mm(across),
            along_mm: tape.rounded_mm(along),
        }
    };
    Some(PlacingEntry {
        unit: unit.id.clone(),
        mark,
        name: unit.name.clone(),
        edges,
        front_left: corner(footprint.front_left()),
        front_right: corner(footprint.front_right()),
        facing: facing(&unit.pose()?.placement(), table, tape),
        error: PlacingError::of_rounding(tape.step_mm(), footprint.half_frontage * 2.0),
    })
}

/// What the middle of a unit's front looks at: a point of the compass when it faces within 1° of
/// it, a corner of the table when straight ahead meets the edge within 30 mm of it, else the place
/// on the edge.
#[must_use]
pub fn facing(placement: &Placement, table: &TableSize, tape: TapeUnit) -> String {
    let bearing = placement.bearing_deg();
    for (name, degrees) in [
        ("north", 0.0),
        ("east", 90.0),
        ("south", 180.0),
        ("west", 270.0),
        ("north", 360.0),
    ] {
        if (bearing - degrees).abs() <= 1.0 {
            return format!("facing {name}");
        }
    }
    let (at, edge) = edge_ahead(placement, table);
    let near = |value: f64, whole: f64| value <= 30.0 || value >= whole - 30.0;
    if near(at.x, table.width_mm) && near(at.y, table.depth_mm) {
        let north = at.y * 2.0 > table.depth_mm;
        let east = at.x * 2.0 > table.width_mm;
        let name = match (north, east) {
            (true, true) => "north-east",
            (true, false) => "north-west",
            (false, true) => "south-east",
            (false, false) => "south-west",
        };
        return format!("facing the {name} corner");
    }
    let (name, from, along) = match edge {
        Edge::North => ("north", "west", at.x),
        Edge::South => ("south", "west", at.x),
        Edge::East => ("east", "south", at.y),
        Edge::West => ("west", "south", at.y),
    };
    format!(
        "facing the {name} edge {} {} from the {from}",
        tape.read(along),
        tape.name()
    )
}

/// Where straight ahead meets the table's edge, and which edge.
fn edge_ahead(placement: &Placement, table: &TableSize) -> (Point, Edge) {
    let (at, way) = (placement.anchor, placement.ahead);
    let run = |room: f64, pace: f64| {
        if pace > 1e-12 {
            larger(room, 0.0) / pace
        } else {
            f64::INFINITY
        }
    };
    let runs = [
        (run(table.depth_mm - at.y, way.y), Edge::North),
        (run(at.y, -way.y), Edge::South),
        (run(table.width_mm - at.x, way.x), Edge::East),
        (run(at.x, -way.x), Edge::West),
    ];
    let mut best = runs[0];
    for candidate in runs {
        if candidate.0 < best.0 {
            best = candidate;
        }
    }
    (at + way * best.0, best.1)
}

/// The placing sheet as text, lined up for a terminal or a printer.
#[must_use]
pub fn placing_sheet(game: &Game, tape: TapeUnit) -> String {
    let entries = placing(game, tape);
    let unit = match tape {
        TapeUnit::Centimetres => "centimetres",
        TapeUnit::Inches => "inches",
    };
    let mut out = format!(
        "{}: {}\nFront corners as the unit faces; {unit} from the edges named. Rounded to {}, so a \
         corner may stand {} mm off.\n",
        plain(&game.scenario().name),
        super::words::turn_line(game),
        match tape {
            TapeUnit::Centimetres => "5 mm",
            TapeUnit::Inches => "a quarter of an inch",
        },
        tenths(tape.step_mm() / 2.0 * std::f64::consts::SQRT_2),
    );
    let mut edges: Option<Edges> = None;
    for entry in entries {
        if edges != Some(entry.edges) {
            edges = Some(entry.edges);
            let (across, along) = (word(entry.edges.across), word(entry.edges.along));
            out.push_str(&format!(
                "\nFrom the {across} and the {along} edge\n{:>39}{:>18}\n{:>31}{:>9}{:>9}{:>9}\n",
                "left corner", "right corner", across, along, across, along
            ));
        }
        let read = |mm: f64| tape.read(mm);
        let name = format!("{:<4} {}", entry.mark, plain(&entry.name));
        let name: String = name.chars().take(24).collect();
        out.push_str(&format!(
            "{name:<24}{:>7}{:>9}{:>9}{:>9}   {}\n",
            read(entry.front_left.across_mm),
            read(entry.front_left.along_mm),
            read(entry.front_right.across_mm),
            read(entry.front_right.along_mm),
            entry.facing,
        ));
    }
    out
}

fn word(edge: Edge) -> &'static str {
    super::compass::edge(edge)
}

/// A unit as it stands on a real table, read back.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Reading {
    /// Its pose by the corners.
    pub pose: Pose,
    /// How far its front edge's midpoint is from the record's, in millimetres.
    pub off_mm: f64,
    /// How far it is turned from the record's bearing, in degrees, clockwise positive.
    pub turned_deg: f64,
    /// The greater distance of a front corner from where the record has it, in millimetres.
    pub corner_off_mm: f64,
    /// How much longer the front edge was measured than it is, in millimetres; a large figure
    /// means that a corner was misread.
    pub frontage_over_mm: f64,
    /// What the roundings of placing and reading alone can amount to.
    pub error: PlacingError,
    /// Whether both corners are within the tolerance of the record's, after allowing for that.
    pub is_within_tolerance: bool,
}

/// How finely a unit was placed and read back, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Steps {
    /// To what its corners were rounded when it was placed.
    pub placed_mm: f64,
    /// To what they were rounded when they were read.
    pub read_mm: f64,
}

impl Steps {
    /// What the two roundings can amount to together. A reading on the grid of the placing sheet adds nothing: who
    /// stands where the sheet put it reads as the sheet has it.
    fn error(self, frontage_mm: f64) -> PlacingError {
        let placed = PlacingError::of_rounding(larger(self.placed_mm, 0.0), frontage_mm);
        if (self.read_mm - self.placed_mm).abs() < 1e-9 {
            return placed;
        }
        let read = PlacingError::of_rounding(larger(self.read_mm, 0.0), frontage_mm);
        PlacingError {
            midpoint_mm: placed.midpoint_mm + read.midpoint_mm,
            bearing_deg: placed.bearing_deg + read.bearing_deg,
            corner_mm: placed.corner_mm + read.corner_mm,
        }
    }
}

/// Reads a unit back from the distances of its front corners from two edges: the midpoint of the
/// front edge is the middle of the two corners, and the unit faces at right angles to the line
/// from left to right.
///
/// # Errors
/// A sentence when no such unit stands on the table, or the corners make no front edge.
pub fn pose_from_corners(
    game: &Game,
    unit: &UnitId,
    edges: Edges,
    front_left: Corner,
    front_right: Corner,
    steps: Steps,
) -> Result<Reading, String> {
    let table = &game.scenario().table;
    let found = game
        .unit(unit)
        .ok_or_else(|| format!("there is no unit {}", plain(&unit.0)))?;
    let (Some(record), Some(stands)) = (found.pose(), found.footprint()) else {
        return Err(format!("{} is not on the table", plain(&found.name)));
    };
    let point = |corner: Corner| {
        let (x, y) = edges.swapped(corner.across_mm, corner.along_mm, table);
        Point::new(x, y)
    };
    let (left, right) = (point(front_left), point(front_right));
    let block = found.block();
    let pose = pose_of(left, right).ok_or_else(|| {
        "the two corners are the same point, or not numbers: measure the front left and the front right corner".to_owned()
    })?;
    let rebuilt = Footprint::new(&pose.placement(), block);
    let corner_off_mm = larger(
        rebuilt.front_left().distance_to(stands.front_left()),
        rebuilt.front_right().distance_to(stands.front_right()),
    );
    let error = steps.error(block.frontage_mm);
    Ok(Reading {
        pose,
        off_mm: rebuilt.anchor().distance_to(stands.anchor()),
        turned_deg: turned_deg(record, pose),
        corner_off_mm,
        frontage_over_mm: left.distance_to(right) - block.frontage_mm,
        error,
        is_within_tolerance: corner_off_mm
            <= game.ruleset().scale.tolerance_mm + error.corner_mm + 1e-6,
    })
}

fn pose_of(left: Point, right: Point) -> Option<Pose> {
    let across = (right - left).unit()?;
    let ahead = Vector::new(-across.y, across.x);
    Placement {
        anchor: left.towards(right, 0.5),
        ahead,
    }
    .rounded()
}

/// Clockwise turn between two bearings in (−180, 180].
fn turned_deg(from: Pose, to: Pose) -> f64 {
    let turn = (to.bearing_deg() - from.bearing_deg()) % 360.0;
    if turn > 180.0 {
        turn - 360.0
    } else if turn <= -180.0 {
        turn + 360.0
    } else {
        turn
    }
}

impl Reading {
    /// The reading in words.
    #[must_use]
    pub fn words(&self) -> String {
        let verdict = if self.is_within_tolerance {
            "It stands where the record has it, as well as the tape can tell."
        } else {
            "It does not stand where the record has it."
        };
        let mut out = format!(
            "{verdict} Its front is {} mm off and turned by {}°; a corner is {} mm off, and rounding alone can be {} mm.",
            tenths(self.off_mm),
            tenths(self.turned_deg),
            tenths(self.corner_off_mm),
            tenths(self.error.corner_mm)
        );
        // each end of the front edge is off by no more than the midpoint's bound
        if self.frontage_over_mm.abs() > 2.0 * self.error.midpoint_mm + 0.01 {
            let much = if self.frontage_over_mm > 0.0 {
                "longer"
            } else {
                "shorter"
            };
            out.push_str(&format!(
                " The front edge came out {} mm {much} than it is: a corner was misread.",
                tenths(self.frontage_over_mm.abs())
            ));
        }
        out
    }
}

mod back;
#[cfg(test)]
mod tests;

pub use back::{ReadBack, read_back, read_back_sheet};
