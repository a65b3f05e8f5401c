//! Remarks on sound files: what their author hardly means as it stands. They keep nobody from playing.

mod battle;
mod settings;

use serde::Serialize;

use crate::game::{Ground, GroundPatch, Unit};
use crate::geometry::{
    EPS_MM, Footprint, Location, Motion, Point, Span, Vector, footprint_astride, gaps, larger,
    merged, overlap_depth_mm, spans_over,
};
use crate::ruleset::{Ruleset, ZoneExit};
use crate::scenario::{Arrival, Command, Scenario, SideEntry, UnitEntry};
use crate::verdict::rounding::{apart, tenths};

use super::document::Document;
use super::faults::{Fault, drawn};
use super::findings::Findings;
use super::place::Place;

/// How far beyond the table's edge a line may run and still lie on it, in millimetres.
const ON_EDGE_MM: f64 = 1.0;

/// Remarks on one file, in the order of their places.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
#[serde(transparent)]
pub struct Remarks(Vec<Fault>);

impl Remarks {
    /// Each as a fault is told: where, what, and what would do.
    #[must_use]
    pub fn all(&self) -> &[Fault] {
        &self.0
    }

    /// The remarks with the lines they are about and carets under them, in colour if wanted.
    #[must_use]
    pub fn rendered(&self, in_colour: bool) -> String {
        drawn(&self.0, "remark", in_colour).join("\n\n")
    }
}

/// Remarks on a ruleset that was read from this text without a fault.
#[must_use]
pub fn remarks_on_ruleset(file_name: &str, text: &str, ruleset: &Ruleset) -> Remarks {
    remarks(file_name, text, |findings| {
        on_zones(ruleset, findings);
        on_leaving_zones(ruleset, findings);
        settings::check(ruleset, findings);
    })
}

/// Remarks on a scenario that was read from this text for these rules without a fault.
#[must_use]
pub fn remarks_on_scenario(
    file_name: &str,
    text: &str,
    scenario: &Scenario,
    ruleset: &Ruleset,
) -> Remarks {
    remarks(file_name, text, |findings| {
        on_colours(scenario, findings);
        on_chiefs(scenario, ruleset, findings);
        battle::check(scenario, ruleset, findings);
        if let Ok(ground) = Ground::new(scenario, ruleset) {
            on_terrain(&ground, findings);
            on_lines(scenario, &ground, findings);
            on_objectives(scenario, ruleset, &ground, findings);
            on_arrivals(scenario, ruleset, &ground, findings);
            battle::on_slopes(scenario, &ground, findings);
        }
    })
}

fn remarks(file_name: &str, text: &str, check: impl FnOnce(&mut Findings<'_>)) -> Remarks {
    let Ok((document, _)) = Document::parse(file_name, text) else {
        return Remarks::default();
    };
    let mut findings = Findings::new(&document, Vec::new());
    check(&mut findings);
    let (mut found, _) = findings.into_faults();
    found.sort_by_key(|remark| (remark.line, remark.column));
    Remarks(found)
}

fn on_zones(ruleset: &Ruleset, findings: &mut Findings<'_>) {
    let (zones, scale) = (&ruleset.zones, &ruleset.scale);
    let (halt_mm, strike_mm) = (zones.halt_zone.mm(scale), zones.strike_zone.mm(scale));
    if strike_mm + EPS_MM < halt_mm {
        let apart = apart(halt_mm, strike_mm);
        findings.fault(
            &Place::of("zones").key("strike_zone"),
            format!(
                "units halt {} mm from an enemy and strike {} mm far: \
                 they will stand in halt zones without a way to fight",
                apart.first, apart.second
            ),
            "make strike_zone at least as deep as halt_zone",
        );
    }
}

fn on_leaving_zones(ruleset: &Ruleset, findings: &mut Findings<'_>) {
    let exit = ruleset.zones.zone_exit;
    let charge = Place::of("zones").key("zone_exit_charge");
    if exit != ZoneExit::Pay && findings.is_written(&charge) {
        findings.fault(
            &charge,
            "nobody ever pays zone_exit_charge: it counts with zone_exit = \"pay\" alone",
            "leave it out, or set zone_exit = \"pay\"",
        );
    }
    if ruleset.withdrawal.is_none() {
        return;
    }
    match exit {
        ZoneExit::Locked => {}
        ZoneExit::Free => findings.fault(
            &Place::of("withdrawal"),
            "nobody needs to withdraw: with zone_exit = \"free\" units leave halt zones for nothing",
            "leave [withdrawal] out, or set zone_exit = \"locked\"",
        ),
        ZoneExit::Pay => findings.fault(
            &Place::of("withdrawal"),
            "units may leave halt zones in two ways: by zone_exit = \"pay\", and by a withdrawal's throw",
            "leave [withdrawal] out, or set zone_exit = \"locked\", unless players are to choose",
        ),
    }
}

fn on_colours(scenario: &Scenario, findings: &mut Findings<'_>) {
    let [first, second] = scenario.side.as_slice() else {
        return;
    };
    if let (Some(one), Some(other)) = (&first.colour, &second.colour)
        && one.eq_ignore_ascii_case(other)
    {
        findings.fault(
            &Place::of("side").item(1).key("colour"),
            format!(
                "{:?} and {:?} are both {other}: their bases look alike in pictures",
                first.key, second.key
            ),
            "give one of them another colour, or leave colour out for one that differs",
        );
    }
}

fn on_chiefs(scenario: &Scenario, ruleset: &Ruleset, findings: &mut Findings<'_>) {
    if !ruleset.command.required {
        return;
    }
    for (index, side) in scenario.side.iter().enumerate() {
        let mut commands = commands_of(scenario, side).peekable();
        if commands.peek().is_none() || commands.any(|command| command == Command::Chief) {
            continue;
        }
        let who = if ruleset.command.independent_subordinates {
            "its commanders are never in command themselves"
        } else {
            "none of its units is ever in command"
        };
        findings.fault(
            &Place::of("side").item(index),
            format!("{:?} has commanders and no chief: {who}", side.key),
            "give one of them command = \"chief\"",
        );
    }
}

fn commands_of<'s>(
    scenario: &'s Scenario,
    side: &'s SideEntry,
) -> impl Iterator<Item = Command> + 's {
    let own = scenario.unit.iter().filter(|unit| unit.side == side.key);
    own.filter_map(|unit| unit.command)
}

fn on_terrain(ground: &Ground, findings: &mut Findings<'_>) {
    let table = table_grown(ground, 0.0);
    for (index, patch) in ground.patches.iter().enumerate() {
        if overlap_depth_mm(&table, &patch.outline) <= EPS_MM {
            off_table(
                &Place::of("terrain").item(index).key("outline"),
                &patch.name,
                ground,
                findings,
            );
        }
    }
    let table = table_grown(ground, ON_EDGE_MM);
    for (index, line) in ground.lines.iter().enumerate() {
        if !footprint_astride(&table, &line.course) {
            off_table(
                &Place::of("line").item(index).key("points"),
                &line.name,
                ground,
                findings,
            );
        }
    }
    for (index, road) in ground.roads.iter().enumerate() {
        if !footprint_astride(&table, &road.course) {
            off_table(
                &Place::of("road").item(index).key("points"),
                &road.name,
                ground,
                findings,
            );
        }
    }
}

fn off_table(place: &Place, name: &str, ground: &Ground, findings: &mut Findings<'_>) {
    findings.fault(
        place,
        format!("{name:?} lies wholly off the table"),
        format!(
            "the table runs from 0 to {} mm east and from 0 to {} mm north",
            ground.table.width_mm, ground.table.depth_mm
        ),
    );
}

/// The table as a rectangle that stands on itself, with something more on each side.
fn table_grown(ground: &Ground, by_mm: f64) -> Footprint {
    let (half_wide, half_deep) = (ground.table.width_mm / 2.0, ground.table.depth_mm / 2.0);
    Footprint {
        centre: Point::new(half_wide, half_deep),
        ahead: Vector::new(0.0, 1.0),
        half_frontage: half_wide + by_mm,
        half_depth: half_deep + by_mm,
    }
}

fn on_lines(scenario: &Scenario, ground: &Ground, findings: &mut Findings<'_>) {
    for (index, (entry, line)) in scenario.line.iter().zip(&ground.lines).enumerate() {
        let length_mm = line.course.length_mm();
        for (number, span) in entry.span.iter().enumerate() {
            if span.width_mm > length_mm {
                findings.fault(
                    &Place::of("line").item(index).key("span").item(number).key("width_mm"),
                    format!(
                        "{:?} is {} mm wide, and all of {:?} is {} mm long",
                        span.name,
                        span.width_mm,
                        entry.name,
                        tenths(length_mm)
                    ),
                    "give the width of the bridge, ford or gap alone; without the line none is needed",
                );
            }
        }
    }
}

fn impassable(ground: &Ground) -> impl Iterator<Item = &GroundPatch> {
    ground.patches.iter().filter(|patch| patch.kind.impassable)
}

fn on_objectives(
    scenario: &Scenario,
    ruleset: &Ruleset,
    ground: &Ground,
    findings: &mut Findings<'_>,
) {
    for (index, objective) in scenario.objective.iter().enumerate() {
        let at = Point::new(objective.at[0], objective.at[1]);
        let within_mm = objective.radius_mm + ruleset.scale.tolerance_mm;
        let around = impassable(ground).find(|patch| {
            patch.outline.locate(at) == Location::Inside
                && patch.outline.distance_to_edge_mm(at) >= within_mm
        });
        if let Some(patch) = around {
            findings.fault(
                &Place::of("objective").item(index),
                format!(
                    "{:?} lies wholly inside {:?}, which is impassable: nobody can ever take it",
                    objective.name, patch.name
                ),
                "move it, or widen radius_mm until it reaches beyond the patch",
            );
        }
    }
}

fn on_arrivals(
    scenario: &Scenario,
    ruleset: &Ruleset,
    ground: &Ground,
    findings: &mut Findings<'_>,
) {
    for (index, entry) in scenario.unit.iter().enumerate() {
        let Some(arrival) = &entry.arrives else {
            continue;
        };
        let barred = barred_by(entry, arrival, ruleset, ground);
        if !barred.is_empty() {
            findings.fault(
                &Place::of("unit").item(index).key("arrives"),
                format!(
                    "{:?} can arrive nowhere on this stretch: {} leaves it no room",
                    entry.id,
                    barred.join(" and ")
                ),
                "move the stretch, or widen it to where the edge is open",
            );
        }
    }
}

/// The impassable patches that leave a unit no place to arrive at; none where it has one.
fn barred_by(
    entry: &UnitEntry,
    arrival: &Arrival,
    ruleset: &Ruleset,
    ground: &Ground,
) -> Vec<String> {
    let Some((start, motion)) = arriving(entry, arrival, ruleset, ground) else {
        return Vec::new();
    };
    let mut covered: Vec<Span> = Vec::new();
    let mut names = Vec::new();
    for patch in impassable(ground) {
        let spans = match motion {
            Some(motion) => spans_over(&start, &motion, &patch.outline),
            None if overlap_depth_mm(&start, &patch.outline) > EPS_MM => vec![Span::WHOLE],
            None => Vec::new(),
        };
        if !spans.is_empty() {
            covered.extend(spans);
            names.push(format!("{:?}", patch.name));
        }
    }
    if gaps(&merged(covered)).is_empty() {
        names
    } else {
        Vec::new()
    }
}

/// A unit at the first place of its stretch, less the tolerance all round, and its way to the last; no way
/// where it just fits in.
fn arriving(
    entry: &UnitEntry,
    arrival: &Arrival,
    ruleset: &Ruleset,
    ground: &Ground,
) -> Option<(Footprint, Option<Motion>)> {
    let block = Unit::new(entry, ruleset, 0)?.block();
    let half_mm = block.frontage_mm / 2.0;
    let (from_mm, to_mm) = (arrival.from_mm + half_mm, arrival.to_mm - half_mm);
    let stand = |along_mm| -> Option<Footprint> {
        let pose = ground.arrival_pose(arrival.edge, block.depth_mm, along_mm)?;
        Some(Footprint::new(&pose.placement(), block))
    };
    let (first, last) = (stand(from_mm)?, stand(larger(to_mm, from_mm))?);
    let tolerance_mm = ruleset.scale.tolerance_mm;
    let start = Footprint {
        half_frontage: first.half_frontage - tolerance_mm,
        half_depth: first.half_depth - tolerance_mm,
        ..first
    };
    if start.half_frontage <= 0.0 || start.half_depth <= 0.0 {
        return None;
    }
    let by = last.centre - first.centre;
    let motion = (by.length() > EPS_MM).then_some(Motion::Straight { by });
    Some((start, motion))
}
