//! The map of a scenario: patches, lines, roads, places worth points, stretches of edge.

use crate::game::{Ground, GroundFault};
use crate::geometry::{PolygonFault, PolylineFault, Ring};
use crate::ruleset::Ruleset;
use crate::scenario::{Edge, Exit, Objective, Scenario};
use crate::verdict::rounding::tenths;

use super::armies::known_side;
use super::findings::Findings;
use super::place::Place;

/// Checks the map and lays out its ground, if it can be.
pub(super) fn check(
    scenario: &Scenario,
    ruleset: &Ruleset,
    findings: &mut Findings<'_>,
) -> Option<Ground> {
    check_objectives(&scenario.objective, scenario, findings);
    for (index, exit) in scenario.exit.iter().enumerate() {
        check_exit(exit, scenario, &Place::of("exit").item(index), findings);
    }
    match Ground::new(scenario, ruleset) {
        Ok(ground) => Some(ground),
        Err(faults) => {
            for fault in faults {
                report(&fault, scenario, ruleset, findings);
            }
            None
        }
    }
}

fn report(
    fault: &GroundFault,
    scenario: &Scenario,
    ruleset: &Ruleset,
    findings: &mut Findings<'_>,
) {
    let patch = |index: usize| Place::of("terrain").item(index);
    let line = |index: usize| Place::of("line").item(index);
    match fault {
        GroundFault::PatchKind { patch: index } => {
            let kinds = ruleset.terrain.keys().map(String::as_str);
            let kind = &scenario.terrain[*index].kind;
            let place = patch(*index).key("kind");
            findings.known(
                &place,
                kind,
                "kind of terrain in these rules",
                "kinds of terrain",
                kinds,
            );
        }
        GroundFault::Patch {
            patch: index,
            fault,
        } => {
            report_polygon(&patch(*index), fault, findings);
        }
        GroundFault::LineKind { line: index } => {
            let kinds = ruleset.lines.keys().map(String::as_str);
            let kind = &scenario.line[*index].kind;
            let place = line(*index).key("kind");
            findings.known(
                &place,
                kind,
                "kind of line in these rules",
                "kinds of line",
                kinds,
            );
        }
        GroundFault::Line { line: index, fault } => {
            report_polyline(&line(*index).key("points"), fault, findings);
        }
        GroundFault::SpanOffLine {
            line: index,
            span,
            distance_mm,
        } => findings.fault(
            &line(*index).key("span").item(*span).key("at"),
            format!(
                "this is {} mm from the line, more than the span's width",
                tenths(*distance_mm)
            ),
            "give a point on the line, in millimetres",
        ),
        GroundFault::Road { road, fault } => {
            report_polyline(
                &Place::of("road").item(*road).key("points"),
                fault,
                findings,
            );
        }
    }
}

/// Reports a fault of an area whose table is at `place`, with keys `outline` and `holes`.
pub(super) fn report_polygon(place: &Place, fault: &PolygonFault, findings: &mut Findings<'_>) {
    let ring_place = |ring: Ring| match ring {
        Ring::Outer => place.key("outline"),
        Ring::Hole(index) => place.key("holes").item(index),
    };
    let (place, remedy) = match *fault {
        PolygonFault::TooFewPoints { ring, .. } | PolygonFault::NoArea { ring } => (
            ring_place(ring),
            "give at least three corners, not all on one line",
        ),
        PolygonFault::NotFinite { ring, point } => (
            ring_place(ring).item(point),
            "give millimetres east and north",
        ),
        PolygonFault::RepeatedPoint { ring, point } => {
            (ring_place(ring).item(point), "list every corner once")
        }
        PolygonFault::CrossesItself {
            ring, second_edge, ..
        } => (
            ring_place(ring).item(second_edge),
            "give the corners in order round the outline; split it in two if it must cross",
        ),
        PolygonFault::HoleOutside { hole } => (
            ring_place(Ring::Hole(hole)),
            "draw the hole inside the outline, or make it a patch of its own",
        ),
        PolygonFault::HoleMeetsOutline { hole, .. } => (
            ring_place(Ring::Hole(hole)),
            "keep the hole clear of the outline, or draw the outline round it",
        ),
        PolygonFault::HolesOverlap { second, .. } => (
            ring_place(Ring::Hole(second)),
            "join the two holes into one",
        ),
    };
    findings.fault(&place, fault.to_string(), remedy);
}

fn report_polyline(place: &Place, fault: &PolylineFault, findings: &mut Findings<'_>) {
    let (place, remedy) = match *fault {
        PolylineFault::TooFewPoints { .. } => (place.clone(), "give its corners in order"),
        PolylineFault::NotFinite { point } => {
            (place.item(point), "give millimetres east and north")
        }
        PolylineFault::RepeatedPoint { point } => (place.item(point), "list every corner once"),
    };
    findings.fault(&place, fault.to_string(), remedy);
}

fn check_objectives(objectives: &[Objective], scenario: &Scenario, findings: &mut Findings<'_>) {
    let table = scenario.table;
    for (index, objective) in objectives.iter().enumerate() {
        let place = Place::of("objective").item(index);
        let [x, y] = objective.at;
        if !((0.0..=table.width_mm).contains(&x) && (0.0..=table.depth_mm).contains(&y)) {
            findings.fault(
                &place.key("at"),
                format!("{:?} lies off the table", objective.name),
                table_in_words(scenario),
            );
        }
        if let Some(side) = &objective.held_by {
            known_side(&place.key("held_by"), side, scenario, findings);
        }
    }
}

/// The table's reach, as a remedy.
pub(super) fn table_in_words(scenario: &Scenario) -> String {
    format!(
        "the table runs from 0 to {} mm east and from 0 to {} mm north",
        scenario.table.width_mm, scenario.table.depth_mm
    )
}

fn check_exit(exit: &Exit, scenario: &Scenario, place: &Place, findings: &mut Findings<'_>) {
    known_side(&place.key("side"), &exit.side, scenario, findings);
    check_stretch(
        exit.edge,
        (exit.from_mm, exit.to_mm),
        scenario,
        place,
        findings,
    );
}

/// Checks a stretch of table edge given as `from_mm` and `to_mm`; whether it is sound.
pub(super) fn check_stretch(
    edge: Edge,
    (from_mm, to_mm): (f64, f64),
    scenario: &Scenario,
    place: &Place,
    findings: &mut Findings<'_>,
) -> bool {
    let (length_mm, end) = match edge {
        Edge::North | Edge::South => (scenario.table.width_mm, "west"),
        Edge::East | Edge::West => (scenario.table.depth_mm, "south"),
    };
    let mut sound = true;
    for (key, value_mm) in [("from_mm", from_mm), ("to_mm", to_mm)] {
        if !(0.0..=length_mm).contains(&value_mm) {
            sound = false;
            findings.fault(
                &place.key(key),
                format!("{value_mm} mm lies beyond the edge's ends"),
                format!("the edge runs from 0 to {length_mm} mm, counted from its {end} end"),
            );
        }
    }
    if sound && from_mm >= to_mm {
        sound = false;
        findings.fault(
            &place.key("to_mm"),
            format!("the stretch ends at {to_mm} mm and begins at {from_mm} mm"),
            format!("count both from the edge's {end} end, the smaller first"),
        );
    }
    sound
}
