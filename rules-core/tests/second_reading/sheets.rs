//! The orders of a sheet carried out one after another.

use fieldpost_rules::geometry::Pose;
use fieldpost_rules::orders::Order;
use fieldpost_rules::scenario::Edge;

use crate::moves::{How, Reason, Ruled, Ruling, judge};
use crate::plane::{Point, Rect, Vector};
use crate::table::Table;

/// A refusal that nothing is measured for.
pub fn refused(code: &'static str) -> Ruled {
    Ruled {
        reasons: vec![Reason {
            code,
            ruling: Ruling::Refused,
            excess: None,
            at: None,
            about: "order".to_owned(),
        }],
        ..Ruled::default()
    }
}

/// The units of an order that moves somebody, by index, and how; `None` for orders of other kinds.
pub fn movers(table: &Table, order: &Order) -> Option<(Vec<usize>, How)> {
    let how = How {
        together: false,
        withdraws: false,
        arrives: false,
    };
    let one = |unit: &str| table.find(unit).into_iter().collect::<Vec<_>>();
    match order {
        Order::Move { unit, .. } => Some((one(&unit.0), how)),
        Order::MoveTogether { units, .. } => {
            let all = units.iter().flat_map(|unit| one(&unit.0)).collect();
            Some((
                all,
                How {
                    together: true,
                    ..how
                },
            ))
        }
        Order::Arrive { unit, .. } => Some((
            one(&unit.0),
            How {
                arrives: true,
                ..how
            },
        )),
        Order::Withdraw { unit, .. } => Some((
            one(&unit.0),
            How {
                withdraws: true,
                ..how
            },
        )),
        _ => None,
    }
}

/// Judges one order that moves and carries it out on the table.
pub fn carry_out(table: &mut Table, order: &Order) -> Option<Ruled> {
    let (indices, how) = movers(table, order)?;
    let legs = match order {
        Order::Move { legs, .. }
        | Order::MoveTogether { legs, .. }
        | Order::Arrive { legs, .. }
        | Order::Withdraw { legs, .. } => legs,
        _ => return None,
    };
    if let Order::Arrive { along_mm, .. } = order {
        set_down(table, indices[0], *along_mm);
    }
    if how.withdraws && (table.rules.withdrawal.is_none() || in_no_zone(table, indices[0])) {
        return Some(refused("not-possible"));
    }
    let ruled = judge(table, &indices, legs, how);
    for (i, &unit) in indices.iter().enumerate() {
        let unit = &mut table.units[unit];
        unit.rect = rounded(&ruled.ends[i]);
        unit.files = ruled.files.unwrap_or(unit.files);
        unit.paid = ruled.paid[i].clone();
        unit.still_in = ruled.still_in[i].clone();
    }
    Some(ruled)
}

/// Only who begins in an enemy halt zone may withdraw.
fn in_no_zone(table: &Table, unit: usize) -> bool {
    let unit = &table.units[unit];
    let deep = |enemy: usize| crate::zones::depth(table, &unit.rect, &table.units[enemy].rect);
    let in_zone = |enemy: usize| {
        deep(enemy) >= crate::table::IN_ZONE_MM || unit.still_in.contains(&table.units[enemy].id)
    };
    !table.zones(unit.side).any(in_zone)
}

/// The same rectangle at the nearest stored pose.
pub fn rounded(rect: &Rect) -> Rect {
    let bearing = rect.ahead.bearing_rad().to_degrees();
    let Some(pose) = Pose::from_mm_deg(rect.anchor.x, rect.anchor.y, bearing) else {
        return *rect;
    };
    let placed = pose.placement();
    Rect {
        anchor: placed.anchor,
        ahead: placed.ahead,
        ..*rect
    }
}

/// A unit set down with its rear on its edge of the table, facing inward.
fn set_down(table: &mut Table, unit: usize, along_mm: f64) {
    let (width, depth) = (table.width_mm, table.depth_mm);
    let edge = table.units[unit]
        .arrives
        .as_ref()
        .map(|arrival| arrival.edge);
    let deep = table.units[unit].fitted(&table.units[unit].rect).deep;
    let (anchor, ahead) = match edge {
        Some(Edge::North) => (Point::new(along_mm, depth - deep), Vector::new(0.0, -1.0)),
        Some(Edge::East) => (Point::new(width - deep, along_mm), Vector::new(-1.0, 0.0)),
        Some(Edge::West) => (Point::new(deep, along_mm), Vector::new(1.0, 0.0)),
        Some(Edge::South) | None => (Point::new(along_mm, deep), Vector::new(0.0, 1.0)),
    };
    let fitted = table.units[unit].fitted(&table.units[unit].rect);
    let rect = Rect {
        anchor,
        ahead,
        ..fitted
    };
    let paid = table.lines_under(&rect);
    let unit = &mut table.units[unit];
    unit.rect = rect;
    unit.on_table = true;
    unit.paid = paid;
}
