//! The table as the second reading sees it: units, ground and settings, from the authors' files alone.

use std::collections::BTreeSet;

use fieldpost_rules::game::Battlefield;
use fieldpost_rules::geometry::Pose;
use fieldpost_rules::ruleset::{Arm, Ruleset};
use fieldpost_rules::scenario::{Arrival, Command, Scenario, UnitEntry};

use crate::patches::Patch;
use crate::plane::{Point, Rect, distance};

/// A unit stands in a zone at this depth or deeper: what rounding a stored pose can do.
pub const IN_ZONE_MM: f64 = -0.005;

#[derive(Debug, Clone)]
pub struct Unit {
    pub id: String,
    pub side: usize,
    pub rect: Rect,
    pub on_table: bool,
    pub arrives: Option<Arrival>,
    pub files: u16,
    pub bases: u16,
    pub base_mm: (f64, f64),
    pub strength_per_base: f64,
    pub arm: Arm,
    pub points_mm: f64,
    pub command: Option<Command>,
    pub under: Option<String>,
    pub radius_mm: f64,
    pub in_command: bool,
    /// Lines that it has paid for and has not been clear of since.
    pub paid: BTreeSet<usize>,
    /// Enemies in whose zone it ended its last move outside by no more than the tolerance.
    pub still_in: BTreeSet<String>,
}

impl Unit {
    pub fn has_strength(&self) -> bool {
        self.strength() > 0.0
    }

    pub fn strength(&self) -> f64 {
        f64::from(self.bases) * self.strength_per_base
    }

    pub fn ranks(&self) -> u16 {
        self.bases.div_ceil(self.files.max(1)).max(1)
    }

    /// The same anchor and bearing with the block that its files and bases make.
    pub fn fitted(&self, rect: &Rect) -> Rect {
        Rect {
            wide: f64::from(self.files) * self.base_mm.0,
            deep: f64::from(self.ranks()) * self.base_mm.1,
            ..*rect
        }
    }

    pub fn is_commander(&self) -> bool {
        self.arm == Arm::Commander
    }
}

#[derive(Debug, Clone)]
pub struct Line {
    pub points: Vec<Point>,
    pub charge_mm: f64,
    pub slope: bool,
    /// Stretches along it that are bridges, fords or gaps.
    pub spans: Vec<(f64, f64)>,
}

#[derive(Debug, Clone)]
pub struct Road {
    pub points: Vec<Point>,
    pub half_mm: f64,
}

#[derive(Debug, Clone)]
pub struct Table {
    pub rules: Ruleset,
    pub width_mm: f64,
    pub depth_mm: f64,
    pub patches: Vec<Patch>,
    pub lines: Vec<Line>,
    pub roads: Vec<Road>,
    pub units: Vec<Unit>,
    pub halt_mm: f64,
    pub strike_mm: f64,
    pub tolerance_mm: f64,
}

fn points(corners: &[[f64; 2]]) -> Vec<Point> {
    corners.iter().map(|c| Point::new(c[0], c[1])).collect()
}

impl Table {
    pub fn new(field: &Battlefield) -> Self {
        let (rules, scenario) = (&field.ruleset, &field.scenario);
        let mut table = Self {
            width_mm: scenario.table.width_mm,
            depth_mm: scenario.table.depth_mm,
            patches: patches(rules, scenario),
            lines: lines(rules, scenario),
            roads: roads(scenario),
            units: Vec::new(),
            halt_mm: rules.zones.halt_zone.mm(&rules.scale),
            strike_mm: rules.zones.strike_zone.mm(&rules.scale),
            tolerance_mm: rules.scale.tolerance_mm,
            rules: rules.clone(),
        };
        table.units = scenario
            .unit
            .iter()
            .map(|entry| unit(entry, rules, scenario))
            .collect();
        for unit in 0..table.units.len() {
            table.units[unit].paid = table.lines_under(&table.units[unit].rect);
        }
        table.judge_command();
        table
    }

    pub fn find(&self, id: &str) -> Option<usize> {
        self.units.iter().position(|unit| unit.id == id)
    }

    pub fn enemies(&self, side: usize) -> impl Iterator<Item = usize> + '_ {
        (0..self.units.len()).filter(move |&u| self.units[u].on_table && self.units[u].side != side)
    }

    /// Enemies that radiate zones.
    pub fn zones(&self, side: usize) -> impl Iterator<Item = usize> + '_ {
        self.enemies(side)
            .filter(|&enemy| self.units[enemy].has_strength())
    }

    pub fn friends(&self, unit: usize) -> impl Iterator<Item = usize> + '_ {
        let side = self.units[unit].side;
        (0..self.units.len())
            .filter(move |&u| u != unit && self.units[u].on_table && self.units[u].side == side)
    }

    /// Lines that a footprint is not clear of.
    pub fn lines_under(&self, rect: &Rect) -> BTreeSet<usize> {
        (0..self.lines.len())
            .filter(|&line| crate::lines::gap(rect, &self.lines[line]) <= crate::lines::CLEAR_MM)
            .collect()
    }

    /// Who is in command as a player turn begins.
    pub fn judge_command(&mut self) {
        let units = self.units.clone();
        let within = |unit: &Unit, of: &Unit| {
            of.on_table && distance(&unit.rect, &of.rect) <= of.radius_mm + self.tolerance_mm + 1e-9
        };
        for unit in &mut self.units {
            let of_side = |other: &&Unit| other.side == unit.side;
            let commanders: Vec<&Unit> = units
                .iter()
                .filter(of_side)
                .filter(|c| c.command.is_some())
                .collect();
            if !self.rules.command.required || commanders.is_empty() || !unit.on_table {
                unit.in_command = true;
                continue;
            }
            let chief = commanders
                .iter()
                .find(|c| c.command == Some(Command::Chief));
            let by_chief = |u: &Unit| chief.is_some_and(|chief| within(u, chief));
            let commands = |c: &Unit| {
                c.command == Some(Command::Subordinate)
                    && (self.rules.command.independent_subordinates || by_chief(c))
            };
            unit.in_command = match unit.command {
                Some(Command::Chief) => true,
                Some(Command::Subordinate) => by_chief(unit),
                None => {
                    by_chief(unit)
                        || commanders.iter().any(|c| {
                            let own = unit.under.as_ref().is_none_or(|under| *under == c.id);
                            own && commands(c) && within(unit, c)
                        })
                }
            };
        }
    }
}

fn unit(entry: &UnitEntry, rules: &Ruleset, scenario: &Scenario) -> Unit {
    let troops = &rules.troops[&entry.troops];
    let bases = entry.bases.unwrap_or(entry.files * entry.ranks);
    let [x, y, bearing] = entry.at.unwrap_or([0.0, 0.0, 0.0]);
    let placed = Pose::from_mm_deg(x, y, bearing).unwrap().placement();
    let scale = &rules.scale;
    let mut unit = Unit {
        id: entry.id.clone(),
        side: scenario
            .side
            .iter()
            .position(|s| s.key == entry.side)
            .unwrap(),
        rect: Rect {
            anchor: placed.anchor,
            ahead: placed.ahead,
            wide: 0.0,
            deep: 0.0,
        },
        on_table: entry.at.is_some(),
        arrives: entry.arrives.clone(),
        files: entry.files,
        bases,
        base_mm: (troops.base_width.mm(scale), troops.base_depth.mm(scale)),
        strength_per_base: troops.strength_per_base,
        arm: troops.arm,
        points_mm: troops.movement_points * scale.movement_point_mm(),
        command: entry.command,
        under: entry.under.clone(),
        radius_mm: troops.command_radius.map_or(0.0, |radius| radius.mm(scale)),
        in_command: true,
        paid: BTreeSet::new(),
        still_in: BTreeSet::new(),
    };
    unit.rect = unit.fitted(&unit.rect);
    unit
}

fn patches(rules: &Ruleset, scenario: &Scenario) -> Vec<Patch> {
    let patch = |entry: &fieldpost_rules::scenario::Patch| {
        let kind = &rules.terrain[&entry.kind];
        let mut rings = vec![points(&entry.outline)];
        rings.extend(entry.holes.iter().map(|hole| points(hole)));
        Patch {
            rings,
            rate: kind.rate,
            impassable: kind.impassable,
            defence: kind.defence,
            shift: kind.shift,
        }
    };
    scenario.terrain.iter().map(patch).collect()
}

fn lines(rules: &Ruleset, scenario: &Scenario) -> Vec<Line> {
    let line = |entry: &fieldpost_rules::scenario::LineEntry| {
        let kind = &rules.lines[&entry.kind];
        let points = points(&entry.points);
        let spans = entry.span.iter().map(|span| {
            let middle = crate::lines::along(&points, Point::new(span.at[0], span.at[1]));
            (middle - span.width_mm / 2.0, middle + span.width_mm / 2.0)
        });
        Line {
            charge_mm: kind.charge.mm(&rules.scale),
            slope: kind.slope,
            spans: spans.collect(),
            points: points.clone(),
        }
    };
    scenario.line.iter().map(line).collect()
}

fn roads(scenario: &Scenario) -> Vec<Road> {
    let road = |entry: &fieldpost_rules::scenario::Road| Road {
        points: points(&entry.points),
        half_mm: entry.width_mm / 2.0,
    };
    scenario.road.iter().map(road).collect()
}
