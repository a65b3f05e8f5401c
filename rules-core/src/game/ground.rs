//! The ground of a battle, ready to be measured on: the scenario's map joined to the ruleset's kinds.

use crate::geometry::{
    Point, Polygon, PolygonFault, Polyline, PolylineFault, Pose, Table, larger, smaller,
};
use crate::ruleset::{LineKind, Ruleset, TerrainKind};
use crate::scenario::{Edge, LineEntry, Patch, Road, Scenario, Span};

/// Table, patches, lines and roads.
#[derive(Debug, Clone, PartialEq)]
pub struct Ground {
    /// The table.
    pub table: Table,
    /// Patches in the scenario's order.
    pub patches: Vec<GroundPatch>,
    /// Lines in the scenario's order.
    pub lines: Vec<GroundLine>,
    /// Roads in the scenario's order.
    pub roads: Vec<GroundRoad>,
}

/// A patch of terrain.
#[derive(Debug, Clone, PartialEq)]
pub struct GroundPatch {
    /// Its name on the map.
    pub name: String,
    /// Name of its kind.
    pub kind_name: String,
    /// Its kind.
    pub kind: TerrainKind,
    /// Its outline.
    pub outline: Polygon,
}

/// A line on the ground.
#[derive(Debug, Clone, PartialEq)]
pub struct GroundLine {
    /// Its name on the map.
    pub name: String,
    /// Name of its kind.
    pub kind_name: String,
    /// Its kind.
    pub kind: LineKind,
    /// What crossing it charges, in millimetres of allowance.
    pub charge_mm: f64,
    /// Its course.
    pub course: Polyline,
    /// Stretches that charge nothing.
    pub spans: Vec<GroundSpan>,
}

/// A bridge, ford or gap.
#[derive(Debug, Clone, PartialEq)]
pub struct GroundSpan {
    /// Its name on the map.
    pub name: String,
    /// Start along the line, in millimetres.
    pub from_mm: f64,
    /// End along the line, in millimetres.
    pub to_mm: f64,
}

/// A road.
#[derive(Debug, Clone, PartialEq)]
pub struct GroundRoad {
    /// Its name on the map.
    pub name: String,
    /// Its centre line.
    pub course: Polyline,
    /// Half of its width, in millimetres.
    pub half_width_mm: f64,
}

/// What keeps a ground from being laid out. Indices are places in the scenario's lists.
#[derive(Debug, Clone, PartialEq)]
pub enum GroundFault {
    /// A patch of a kind that the ruleset does not define.
    PatchKind {
        /// Which patch.
        patch: usize,
    },
    /// A patch whose outline or holes are unsound.
    Patch {
        /// Which patch.
        patch: usize,
        /// What is wrong.
        fault: PolygonFault,
    },
    /// A line of a kind that the ruleset does not define.
    LineKind {
        /// Which line.
        line: usize,
    },
    /// A line whose course is unsound.
    Line {
        /// Which line.
        line: usize,
        /// What is wrong.
        fault: PolylineFault,
    },
    /// A span whose middle is farther from its line than the span is wide.
    SpanOffLine {
        /// Which line.
        line: usize,
        /// Which of its spans.
        span: usize,
        /// How far off, in millimetres.
        distance_mm: f64,
    },
    /// A road whose course is unsound.
    Road {
        /// Which road.
        road: usize,
        /// What is wrong.
        fault: PolylineFault,
    },
}

impl Ground {
    /// Joins a scenario's map to a ruleset's kinds.
    ///
    /// # Errors
    /// Everything that keeps the ground from being laid out.
    pub fn new(scenario: &Scenario, ruleset: &Ruleset) -> Result<Self, Vec<GroundFault>> {
        let mut faults = Vec::new();
        let patches = laid_out(&scenario.terrain, &mut faults, |index, patch| {
            GroundPatch::new(patch, ruleset, index)
        });
        let lines = laid_out(&scenario.line, &mut faults, |index, line| {
            GroundLine::new(line, ruleset, index)
        });
        let roads = laid_out(&scenario.road, &mut faults, GroundRoad::new);
        if !faults.is_empty() {
            return Err(faults);
        }
        Ok(Self {
            table: Table {
                width_mm: scenario.table.width_mm,
                depth_mm: scenario.table.depth_mm,
            },
            patches,
            lines,
            roads,
        })
    }

    /// The pose of a block so deep that comes in with its rear edge on an edge of the table, facing inward, its
    /// middle so far along that edge; `None` beyond what a pose can hold.
    pub(crate) fn arrival_pose(&self, edge: Edge, depth_mm: f64, along_mm: f64) -> Option<Pose> {
        let table = &self.table;
        let (x_mm, y_mm, bearing_deg) = match edge {
            Edge::North => (along_mm, table.depth_mm - depth_mm, 180.0),
            Edge::South => (along_mm, depth_mm, 0.0),
            Edge::West => (depth_mm, along_mm, 90.0),
            Edge::East => (table.width_mm - depth_mm, along_mm, 270.0),
        };
        Pose::from_mm_deg(x_mm, y_mm, bearing_deg)
    }
}

/// Lays out every entry of a list; those that cannot be leave their faults.
fn laid_out<'s, E, T>(
    entries: &'s [E],
    faults: &mut Vec<GroundFault>,
    lay_out: impl Fn(usize, &'s E) -> Result<T, Vec<GroundFault>>,
) -> Vec<T> {
    let mut all = Vec::with_capacity(entries.len());
    for (index, entry) in entries.iter().enumerate() {
        match lay_out(index, entry) {
            Ok(one) => all.push(one),
            Err(mut more) => faults.append(&mut more),
        }
    }
    all
}

impl GroundPatch {
    fn new(patch: &Patch, ruleset: &Ruleset, index: usize) -> Result<Self, Vec<GroundFault>> {
        let kind = ruleset.terrain.get(&patch.kind);
        let holes = patch.holes.iter().map(|hole| points(hole)).collect();
        let outline = Polygon::new(points(&patch.outline), holes);
        match (kind, outline) {
            (Some(kind), Ok(outline)) => Ok(Self {
                name: patch.name.clone(),
                kind_name: patch.kind.clone(),
                kind: kind.clone(),
                outline,
            }),
            (kind, outline) => {
                let unknown = kind
                    .is_none()
                    .then_some(GroundFault::PatchKind { patch: index });
                let unsound = outline.err().into_iter().flatten();
                let unsound = unsound.map(|fault| GroundFault::Patch {
                    patch: index,
                    fault,
                });
                Err(unknown.into_iter().chain(unsound).collect())
            }
        }
    }
}

impl GroundLine {
    fn new(line: &LineEntry, ruleset: &Ruleset, index: usize) -> Result<Self, Vec<GroundFault>> {
        let mut faults = Vec::new();
        let kind = ruleset.lines.get(&line.kind);
        if kind.is_none() {
            faults.push(GroundFault::LineKind { line: index });
        }
        let course = match Polyline::new(points(&line.points)) {
            Ok(course) => Some(course),
            Err(fault) => {
                faults.push(GroundFault::Line { line: index, fault });
                None
            }
        };
        let mut spans = Vec::new();
        for (number, span) in line.span.iter().enumerate() {
            match course.as_ref().map(|course| GroundSpan::new(span, course)) {
                Some(Ok(span)) => spans.push(span),
                Some(Err(distance_mm)) => faults.push(GroundFault::SpanOffLine {
                    line: index,
                    span: number,
                    distance_mm,
                }),
                None => {}
            }
        }
        match (kind, course) {
            (Some(kind), Some(course)) if faults.is_empty() => Ok(Self {
                name: line.name.clone(),
                kind_name: line.kind.clone(),
                kind: kind.clone(),
                charge_mm: kind.charge.mm(&ruleset.scale),
                course,
                spans,
            }),
            _ => Err(faults),
        }
    }
}

impl GroundSpan {
    /// The stretch of a line's course about the place nearest to the span's middle, cut off at
    /// the line's ends; or how far off the middle is, in millimetres.
    fn new(span: &Span, course: &Polyline) -> Result<Self, f64> {
        let nearest = course.nearest(Point::new(span.at[0], span.at[1]));
        if nearest.distance_mm > span.width_mm {
            return Err(nearest.distance_mm);
        }
        let half_mm = span.width_mm / 2.0;
        Ok(Self {
            name: span.name.clone(),
            from_mm: larger(nearest.along_mm - half_mm, 0.0),
            to_mm: smaller(nearest.along_mm + half_mm, course.length_mm()),
        })
    }
}

impl GroundRoad {
    fn new(index: usize, road: &Road) -> Result<Self, Vec<GroundFault>> {
        let course = Polyline::new(points(&road.points))
            .map_err(|fault| vec![GroundFault::Road { road: index, fault }])?;
        Ok(Self {
            name: road.name.clone(),
            course,
            half_width_mm: road.width_mm / 2.0,
        })
    }
}

fn points(list: &[[f64; 2]]) -> Vec<Point> {
    list.iter().map(|[x, y]| Point::new(*x, *y)).collect()
}
