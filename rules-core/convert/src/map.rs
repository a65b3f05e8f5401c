//! How large a hex map is on the table, and the largest base that fits a table.

use serde::Serialize;

use super::board::{Map, StraightRows};
use super::error::ConvertError;
use fieldpost_rules::geometry::smaller;

/// A table may measure so much each way, as in a scenario.
const TABLE_MM: (f64, f64) = (50.0, 20_000.0);
/// A base may be so wide, as in a ruleset.
const BASE_MM: (f64, f64) = (1.0, 1000.0);
/// Widths that bases are commonly made in (common practice, no source).
const COMMON_MM: [f64; 9] = [10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 80.0];

/// The table that a map needs.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TableNeeded {
    /// One hex from side to opposite side, in millimetres of table.
    pub hex_mm: f64,
    /// West to east, in millimetres.
    pub width_mm: f64,
    /// South to north, in millimetres.
    pub depth_mm: f64,
}

/// The largest base for a table.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Fit {
    /// The largest base width that fits, in millimetres, before rounding.
    pub exact_mm: f64,
    /// Rounded down to the step that was asked for.
    pub base_width_mm: f64,
    /// The largest common base width that fits, if any does.
    pub common_mm: Option<f64>,
    /// Whether the table's width (and not its depth) sets the limit.
    pub width_limits: bool,
    /// What the map takes of the table with `base_width_mm`.
    pub taken: TableNeeded,
    /// Table left over west to east, in millimetres.
    pub spare_width_mm: f64,
    /// Table left over south to north, in millimetres.
    pub spare_depth_mm: f64,
}

/// Extent of a map in hexes measured side to side, west to east and south to north. Along a
/// straight row n hexes measure n, and half a hex more where rows are staggered; m rows
/// measure (m − 1) √3/2 + 2/√3, for a hex is 2/√3 from corner to corner (plane geometry).
fn extent(map: &Map) -> (f64, f64) {
    let root = f64::sqrt(3.0);
    let along = |hexes: u32, rows: u32| f64::from(hexes) + if rows > 1 { 0.5 } else { 0.0 };
    let across_rows = |rows: u32| (f64::from(rows) - 1.0) * root / 2.0 + 2.0 / root;
    match map.straight_rows {
        StraightRows::Across => (along(map.across, map.deep), across_rows(map.deep)),
        StraightRows::Up => (across_rows(map.across), along(map.deep, map.across)),
    }
}

/// The table that a map needs with bases of a width.
///
/// # Errors
/// A base or a table too small or too large to play with.
pub fn table_needed(
    map: &Map,
    bases_per_hex: u32,
    base_width_mm: f64,
) -> Result<TableNeeded, ConvertError> {
    within("a base's width", base_width_mm, BASE_MM)?;
    let hex_mm = f64::from(bases_per_hex) * base_width_mm;
    let (across, deep) = extent(map);
    Ok(TableNeeded {
        hex_mm,
        width_mm: within("the table's width", across * hex_mm, TABLE_MM)?,
        depth_mm: within("the table's depth", deep * hex_mm, TABLE_MM)?,
    })
}

/// The largest base with which a map fits a table, rounded down to a multiple of `step_mm`.
///
/// # Errors
/// A table too small or too large, or too small for a base of one step.
pub fn fit(
    map: &Map,
    bases_per_hex: u32,
    (width_mm, depth_mm): (f64, f64),
    step_mm: f64,
) -> Result<Fit, ConvertError> {
    within("the table's width", width_mm, TABLE_MM)?;
    within("the table's depth", depth_mm, TABLE_MM)?;
    within("the step of base widths", step_mm, (0.01, 100.0))?;
    let (across, deep) = extent(map);
    let bases = f64::from(bases_per_hex);
    let (by_width, by_depth) = (width_mm / across / bases, depth_mm / deep / bases);
    let exact_mm = smaller(by_width, by_depth);
    // a billionth of slack: a table made for 40 mm takes 40 mm
    let base_width_mm = (exact_mm / step_mm * (1.0 + 1e-9)).floor() * step_mm;
    let taken = table_needed(map, bases_per_hex, base_width_mm)?;
    Ok(Fit {
        exact_mm,
        base_width_mm,
        common_mm: COMMON_MM
            .into_iter()
            .rev()
            .find(|common| *common <= exact_mm * (1.0 + 1e-9)),
        width_limits: by_width <= by_depth,
        taken,
        spare_width_mm: width_mm - taken.width_mm,
        spare_depth_mm: depth_mm - taken.depth_mm,
    })
}

fn within(what: &'static str, mm: f64, range_mm: (f64, f64)) -> Result<f64, ConvertError> {
    if mm.is_finite() && (range_mm.0..=range_mm.1).contains(&mm) {
        Ok(mm)
    } else {
        Err(ConvertError::Size { what, mm, range_mm })
    }
}
