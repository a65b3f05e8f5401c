//! Where units start: on the table, clear of one another, inside their deployment, or arriving.

use crate::game::{Ground, Unit};
use crate::geometry::{
    Footprint, Location, Point, Polygon, Polyline, Pose, Table, footprint_astride,
    overlap_depth_mm, signed_distance_mm,
};
use crate::ruleset::Ruleset;
use crate::scenario::{Arrival, Edge, Scenario, UnitEntry};
use crate::verdict::rounding::{apart, seen, tenths};

use super::armies::known_side;
use super::findings::Findings;
use super::map::{check_stretch, report_polygon, table_in_words};
use super::place::Place;

/// A unit that starts on the table.
struct Placed<'s> {
    entry: &'s UnitEntry,
    place: Place,
    footprint: Footprint,
}

/// Checks where every unit starts.
pub(super) fn check(
    scenario: &Scenario,
    ruleset: &Ruleset,
    ground: Option<&Ground>,
    findings: &mut Findings<'_>,
) {
    let mut placed = Vec::new();
    for (index, entry) in scenario.unit.iter().enumerate() {
        let place = Place::of("unit").item(index);
        match (&entry.at, &entry.arrives) {
            (Some(_), Some(_)) => findings.fault(
                &place.key("arrives"),
                format!("{:?} both starts on the table and arrives", entry.id),
                "keep either at or arrives",
            ),
            (None, None) => findings.fault(
                &place,
                format!("{:?} neither starts on the table nor arrives", entry.id),
                "add at = [east_mm, north_mm, bearing], or an [unit.arrives] table",
            ),
            (None, Some(arrival)) => {
                check_arrival(entry, arrival, (scenario, ruleset), &place, findings);
            }
            (Some(at), None) => {
                placed.extend(stand(entry, *at, (scenario, ruleset), place, findings));
            }
        }
    }
    let tolerance_mm = ruleset.scale.tolerance_mm;
    check_overlaps(&placed, tolerance_mm, findings);
    if let Some(ground) = ground {
        check_ground(&placed, ground, tolerance_mm, findings);
    }
    check_deployment(&placed, scenario, tolerance_mm, findings);
}

/// The unit where it stands, if its size is known and it stands on the table.
fn stand<'s>(
    entry: &'s UnitEntry,
    [x_mm, y_mm, bearing_deg]: [f64; 3],
    (scenario, ruleset): (&Scenario, &Ruleset),
    place: Place,
    findings: &mut Findings<'_>,
) -> Option<Placed<'s>> {
    if !(-360.0..=360.0).contains(&bearing_deg) {
        findings.fault(
            &place.key("at").item(2),
            format!("a bearing of {bearing_deg} is more than a full turn"),
            "give degrees clockwise from north, from 0 to 360",
        );
        return None;
    }
    let Some(pose) = Pose::from_mm_deg(x_mm, y_mm, bearing_deg) else {
        findings.fault(
            &place.key("at"),
            format!("{:?} stands far off the table", entry.id),
            table_in_words(scenario),
        );
        return None;
    };
    let unit = Unit::new(entry, ruleset, 0)?;
    let footprint = Footprint::new(&pose.placement(), unit.block());
    let table = Table {
        width_mm: scenario.table.width_mm,
        depth_mm: scenario.table.depth_mm,
    };
    let off_mm = -table.margin_mm(&footprint);
    if off_mm > ruleset.scale.tolerance_mm {
        let block = unit.block();
        findings.fault(
            &place.key("at"),
            format!("{:?} stands {} mm off the table", entry.id, seen(off_mm)),
            format!(
                "{}; at is the midpoint of the front, and the unit is {} mm wide and {} mm deep",
                table_in_words(scenario),
                tenths(block.frontage_mm),
                tenths(block.depth_mm)
            ),
        );
    }
    Some(Placed {
        entry,
        place,
        footprint,
    })
}

fn check_arrival(
    entry: &UnitEntry,
    arrival: &Arrival,
    (scenario, ruleset): (&Scenario, &Ruleset),
    place: &Place,
    findings: &mut Findings<'_>,
) {
    let place = place.key("arrives");
    if arrival.game_turn > scenario.game_turns {
        findings.fault(
            &place.key("game_turn"),
            format!(
                "{:?} arrives in game turn {}, after the last",
                entry.id, arrival.game_turn
            ),
            format!("the battle has {} game turns", scenario.game_turns),
        );
    }
    let stretch = (arrival.from_mm, arrival.to_mm);
    let sound = check_stretch(arrival.edge, stretch, scenario, &place, findings);
    let Some(unit) = Unit::new(entry, ruleset, 0) else {
        return;
    };
    let block = unit.block();
    let width_mm = arrival.to_mm - arrival.from_mm;
    if sound && width_mm + ruleset.scale.tolerance_mm < block.frontage_mm {
        let front = apart(block.frontage_mm, width_mm);
        findings.fault(
            &place.key("to_mm"),
            format!(
                "{:?} has a front of {} mm, and the stretch is {} mm wide",
                entry.id, front.first, front.second
            ),
            "widen the stretch, or give the unit fewer files and more ranks",
        );
    }
    let room_mm = match arrival.edge {
        Edge::North | Edge::South => scenario.table.depth_mm,
        Edge::East | Edge::West => scenario.table.width_mm,
    };
    if block.depth_mm > room_mm {
        findings.fault(
            &place,
            format!(
                "{:?} is {} mm deep, deeper than the table",
                entry.id,
                tenths(block.depth_mm)
            ),
            "give the unit fewer ranks",
        );
    }
}

fn check_overlaps(placed: &[Placed<'_>], tolerance_mm: f64, findings: &mut Findings<'_>) {
    for (index, second) in placed.iter().enumerate() {
        for first in &placed[..index] {
            let distance_mm = signed_distance_mm(&first.footprint, &second.footprint);
            if distance_mm < -tolerance_mm {
                findings.fault(
                    &second.place.key("at"),
                    format!(
                        "{:?} overlaps {:?} by {} mm",
                        second.entry.id,
                        first.entry.id,
                        seen(-distance_mm)
                    ),
                    "move them apart; at is the midpoint of the front, and ranks stand behind it",
                );
            }
        }
    }
}

fn check_ground(
    placed: &[Placed<'_>],
    ground: &Ground,
    tolerance_mm: f64,
    findings: &mut Findings<'_>,
) {
    for patch in ground.patches.iter().filter(|patch| patch.kind.impassable) {
        for unit in placed {
            let depth_mm = overlap_depth_mm(&unit.footprint, &patch.outline);
            if depth_mm > tolerance_mm {
                findings.fault(
                    &unit.place.key("at"),
                    format!(
                        "{:?} stands {} mm deep in {:?}, which is impassable",
                        unit.entry.id,
                        seen(depth_mm),
                        patch.name
                    ),
                    "move it clear",
                );
            }
        }
    }
}

fn check_deployment(
    placed: &[Placed<'_>],
    scenario: &Scenario,
    tolerance_mm: f64,
    findings: &mut Findings<'_>,
) {
    let mut areas: Vec<(&str, Polygon)> = Vec::new();
    let mut sound = true;
    for (index, deployment) in scenario.deployment.iter().enumerate() {
        let place = Place::of("deployment").item(index);
        sound &= known_side(&place.key("side"), &deployment.side, scenario, findings);
        let outline = deployment.outline.iter();
        let outline = outline.map(|[x, y]| Point::new(*x, *y)).collect();
        match Polygon::new(outline, Vec::new()) {
            Ok(area) => areas.push((&deployment.side, area)),
            Err(faults) => {
                sound = false;
                for fault in &faults {
                    report_polygon(&place, fault, findings);
                }
            }
        }
    }
    if !sound {
        return;
    }
    for unit in placed {
        let mut own = areas
            .iter()
            .filter(|(side, _)| *side == unit.entry.side)
            .peekable();
        if own.peek().is_some()
            && !own.any(|(_, area)| lies_within(&unit.footprint, area, tolerance_mm))
        {
            findings.fault(
                &unit.place.key("at"),
                format!(
                    "{:?} does not start wholly inside a deployment area of {:?}",
                    unit.entry.id, unit.entry.side
                ),
                "move it inside, or widen the area; ranks stand behind the front that at names",
            );
        }
    }
}

/// Whether a footprint lies in an area without holes, sticking out by no more than the tolerance.
fn lies_within(footprint: &Footprint, area: &Polygon, tolerance_mm: f64) -> bool {
    let corners_inside = footprint.corners().into_iter().all(|corner| {
        area.locate(corner) != Location::Outside || area.distance_to_edge_mm(corner) <= tolerance_mm
    });
    let core = Footprint {
        half_frontage: footprint.half_frontage - tolerance_mm,
        half_depth: footprint.half_depth - tolerance_mm,
        ..*footprint
    };
    let mut round: Vec<Point> = area.outer().to_vec();
    round.extend(area.outer().first().copied());
    let cut = Polyline::new(round).is_ok_and(|edge| footprint_astride(&core, &edge));
    corners_inside && !cut
}
