//! Remarks on what a scenario's author hardly means: names and ids, starts, slopes, and what wins.

use std::collections::BTreeMap;

use crate::game::{Ground, GroundLine, GroundPatch, Unit};
use crate::geometry::{
    EPS_MM, Footprint, Location, Point, Pose, Vector, larger, signed_distance_mm,
};
use crate::orders::text::is_reserved;
use crate::ruleset::{Drawing, Ruleset};
use crate::scenario::{LineEntry, Scenario};

use super::super::findings::Findings;
use super::super::place::Place;

/// How far beside a slope it is asked what ground lies there, in millimetres.
const BESIDE_MM: f64 = 10.0;
/// A billionth of a point is arithmetic.
const SLACK: f64 = 1e-9;

/// Remarks on names, starts and victory.
pub(super) fn check(scenario: &Scenario, ruleset: &Ruleset, findings: &mut Findings<'_>) {
    on_names(scenario, findings);
    on_starts(scenario, ruleset, findings);
    on_radii(scenario, findings);
    on_victory(scenario, ruleset, findings);
}

fn on_names(scenario: &Scenario, findings: &mut Findings<'_>) {
    let mut named: BTreeMap<String, &str> = BTreeMap::new();
    for (index, unit) in scenario.unit.iter().enumerate() {
        let place = Place::of("unit").item(index);
        if let Some(other) = named.insert(unit.name.trim().to_lowercase(), &unit.id) {
            findings.fault(
                &place.key("name"),
                format!(
                    "{other:?} is called {:?} too: orders and news cannot tell them apart by name",
                    unit.name
                ),
                "give each unit a name of its own",
            );
        }
        if is_reserved(&unit.id) {
            findings.fault(
                &place.key("id"),
                format!(
                    "{:?} is a word of the order language, and must be written [{}] in every order",
                    unit.id, unit.id
                ),
                "choose another id, such as one with its side and a number",
            );
        }
    }
}

/// Units that begin overlapping, by no more than is allowed.
fn on_starts(scenario: &Scenario, ruleset: &Ruleset, findings: &mut Findings<'_>) {
    let grounds = scenario
        .unit
        .iter()
        .enumerate()
        .filter_map(|(index, entry)| {
            let [x_mm, y_mm, bearing_deg] = entry.at?;
            let pose = Pose::from_mm_deg(x_mm, y_mm, bearing_deg)?;
            let block = Unit::new(entry, ruleset, 0)?.block();
            Some((index, &entry.id, Footprint::new(&pose.placement(), block)))
        });
    let grounds: Vec<_> = grounds.collect();
    for (at, (index, id, ground)) in grounds.iter().enumerate() {
        for (_, other, place) in &grounds[..at] {
            let overlap_mm = -signed_distance_mm(ground, place);
            if overlap_mm > EPS_MM {
                findings.fault(
                    &Place::of("unit").item(*index).key("at"),
                    format!(
                        "{id:?} begins {overlap_mm:.2} mm deep in {other:?}: the tolerance allows it, and every move from there begins overlapping"
                    ),
                    "move them apart until they touch at most",
                );
            }
        }
    }
}

fn on_radii(scenario: &Scenario, findings: &mut Findings<'_>) {
    for (index, objective) in scenario.objective.iter().enumerate() {
        if objective.radius_mm == 0.0 {
            findings.fault(
                &Place::of("objective").item(index).key("radius_mm"),
                format!(
                    "only a unit that stands on the very point holds {:?}",
                    objective.name
                ),
                "give a radius in millimetres, such as a base width",
            );
        }
    }
}

fn on_victory(scenario: &Scenario, ruleset: &Ruleset, findings: &mut Findings<'_>) {
    let victory = &scenario.victory;
    let Some(win_at) = victory.win_at else {
        return;
    };
    if victory.draw_within > win_at {
        findings.fault(
            &Place::of("victory").key("draw_within"),
            format!(
                "a lead below {} points is a draw, and {win_at} points win at once: who wins so may not have that lead",
                victory.draw_within
            ),
            "make draw_within smaller than win_at",
        );
    }
    let most: Vec<f64> = (0..scenario.side.len())
        .map(|side| most_points(scenario, ruleset, side))
        .collect();
    let short: Vec<String> = scenario
        .side
        .iter()
        .zip(&most)
        .filter(|(_, most)| **most + SLACK < win_at)
        .map(|(side, most)| format!("{:?} can have {most} at most", side.key))
        .collect();
    if !short.is_empty() {
        findings.fault(
            &Place::of("victory").key("win_at"),
            format!("{win_at} points are out of reach: {}", short.join(", and ")),
            "make it less, or give more for losses, places and exits",
        );
    }
}

/// All the points that a side could ever have: the whole enemy lost, its own army gone off, every place held.
fn most_points(scenario: &Scenario, ruleset: &Ruleset, side: usize) -> f64 {
    let key = scenario.side.get(side).map(|side| side.key.as_str());
    let is_own = |of: &str| Some(of) == key;
    let victory = &scenario.victory;
    let exits = scenario.exit.iter().filter(|exit| is_own(&exit.side));
    let for_leaving = exits.fold(0.0, |most, exit| larger(most, exit.points_per_strength));
    let mut points = 0.0;
    for entry in &scenario.unit {
        let Some(unit) = Unit::new(entry, ruleset, 0) else {
            continue;
        };
        if is_own(&entry.side) {
            points += unit.strength() * for_leaving;
        } else if unit.is_commander() {
            points += victory.points_per_commander;
        } else {
            points += unit.strength() * victory.points_per_strength;
        }
    }
    let places = scenario.objective.iter();
    points + places.map(|place| place.points).sum::<f64>()
}

/// Slopes beside high ground that lies on the side that is drawn as the low one.
pub(super) fn on_slopes(scenario: &Scenario, ground: &Ground, findings: &mut Findings<'_>) {
    let is_high =
        |patch: &&GroundPatch| patch.kind.high || patch.kind.drawn_as == Some(Drawing::Hill);
    let slopes = scenario.line.iter().zip(&ground.lines).enumerate();
    for (index, (entry, _)) in slopes.filter(|(_, (_, line))| is_slope(line)) {
        let upside_down = ground.patches.iter().filter(is_high).find(|patch| {
            let [left, right] = beside(entry, patch);
            right > 0 && left == 0
        });
        if let Some(patch) = upside_down {
            findings.fault(
                &Place::of("line").item(index).key("points"),
                format!(
                    "{:?} is drawn upside down: its high side is on its left, and {:?} lies on its right",
                    entry.name, patch.name
                ),
                "give its points in the other order",
            );
        }
    }
}

fn is_slope(line: &GroundLine) -> bool {
    line.kind.slope
}

/// At how many places beside the middles of a line's stretches a patch lies: on the left and on the right.
fn beside(line: &LineEntry, patch: &GroundPatch) -> [usize; 2] {
    let mut count = [0, 0];
    for stretch in line.points.windows(2) {
        let [Some(from), Some(to)] = [0, 1].map(|end| stretch.get(end)) else {
            continue;
        };
        let along = Vector::new(to[0] - from[0], to[1] - from[1]);
        let length_mm = along.length();
        if length_mm <= EPS_MM {
            continue;
        }
        let middle = Point::new((from[0] + to[0]) / 2.0, (from[1] + to[1]) / 2.0);
        let left = Vector::new(-along.y, along.x) * (BESIDE_MM / length_mm);
        for (at, place) in [middle + left, middle - left].into_iter().enumerate() {
            count[at] += usize::from(patch.outline.locate(place) == Location::Inside);
        }
    }
    count
}
