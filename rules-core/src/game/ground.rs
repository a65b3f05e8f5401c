//! The ground of a battle, ready to be measured on: the scenario's map joined to the ruleset's kinds.

use crate::geometry::{Polygon, Polyline, Table};
use crate::ruleset::{LineKind, TerrainKind};

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
