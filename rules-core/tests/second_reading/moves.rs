//! One order of legs judged: bans, clearances, locked, pay, allowance, and where *up to* stops.

use std::cell::RefCell;
use std::collections::BTreeSet;

use fieldpost_rules::orders::Leg;
use fieldpost_rules::ruleset::ZoneExit;

use crate::costs::Begun;
use crate::legs::{Kind, Step, plan};
use crate::limits::{self, Limit, NOISE_MM, What};
use crate::plane::{Rect, distance};
use crate::search::{halve, profile};
use crate::table::{IN_ZONE_MM, Table, Unit};
use crate::zones;

/// What storing can do: an *up to* that would go no farther does not move.
const STORED_MM: f64 = 0.005;

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Ruling {
    Legal,
    Marginal,
    Refused,
}

/// Why a move is marginal or refused.
#[derive(Debug, Clone)]
pub struct Reason {
    pub code: &'static str,
    pub ruling: Ruling,
    /// Absent for a ban.
    pub excess: Option<f64>,
    /// Leg and millimetres of tape at which the limit was first reached.
    pub at: Option<(usize, f64)>,
    pub about: String,
}

/// What comes of an order of legs.
#[derive(Debug, Clone, Default)]
pub struct Ruled {
    pub reasons: Vec<Reason>,
    pub charge_mm: f64,
    pub allowance_mm: f64,
    /// Tape of each leg as carried out, of the first unit.
    pub tapes: Vec<f64>,
    pub ends: Vec<Rect>,
    pub files: Option<u16>,
    pub paid: Vec<BTreeSet<usize>>,
    pub still_in: Vec<BTreeSet<String>>,
    /// Judged values near their threshold: what, and by how much they miss it.
    pub near: Vec<(String, f64)>,
    /// A banned leg was *up to*: where it ends is nowhere said.
    pub banned_up_to: bool,
    /// An *up to* follows a leg that is refused already: how far it goes from a place where nobody may be is left open.
    pub up_to_after_refusal: bool,
    /// An *up to* follows another leg.
    pub up_to_from_stored: bool,
}

impl Ruled {
    pub fn ruling(&self) -> Ruling {
        self.reasons
            .iter()
            .map(|reason| reason.ruling)
            .max()
            .unwrap_or(Ruling::Legal)
    }

    /// One reason a code is told: a ban before a measure, the larger excess before the smaller.
    pub fn worst_of_each_code(&mut self) {
        let weight = |reason: &Reason| (reason.ruling, reason.excess.unwrap_or(f64::INFINITY));
        let mut worst: Vec<Reason> = Vec::new();
        for reason in std::mem::take(&mut self.reasons) {
            let Some(other) = worst.iter_mut().find(|other| other.code == reason.code) else {
                worst.push(reason);
                continue;
            };
            // the worst figure, and the earliest place of all
            let at = match (other.at, reason.at) {
                (Some(one), Some(two)) => Some(if two < one { two } else { one }),
                // of one of them it is not known
                _ => None,
            };
            if weight(other) < weight(&reason) {
                *other = reason;
            }
            other.at = at;
        }
        self.reasons = worst;
    }
}

/// The circumstances of an order.
#[derive(Debug, Clone, Copy)]
pub struct How {
    pub together: bool,
    pub withdraws: bool,
    pub arrives: bool,
}

pub struct Judge<'a> {
    pub table: &'a Table,
    pub how: How,
    pub units: Vec<&'a Unit>,
    pub indices: Vec<usize>,
    /// Zones that each unit's move began in.
    pub begun: Vec<Begun>,
    pub limits: Vec<Vec<Limit>>,
    pub steps: Vec<Vec<Step>>,
    pub allowance_mm: f64,
    pub minimum_mm: Option<f64>,
    pub near: RefCell<Vec<(String, f64)>>,
    pub ruled: Ruled,
    pub locked: bool,
    /// Zones each unit was in when its first aligning began, and when this row of alignings began.
    pub first_align: Vec<Option<BTreeSet<usize>>>,
    pub align_row: Vec<BTreeSet<usize>>,
    pub aligned_abroad: bool,
    pub aligned_deg: f64,
    pub sums: Vec<Vec<f64>>,
}

pub fn judge(table: &Table, indices: &[usize], legs: &[Leg], how: How) -> Ruled {
    let mut judge = Judge::new(table, indices, legs, how);
    if how.arrives {
        judge.set_down();
    }
    for (leg, order) in legs.iter().enumerate() {
        judge.leg(leg, order, leg + 1 == legs.len());
    }
    judge.close(legs)
}

impl<'a> Judge<'a> {
    fn new(table: &'a Table, indices: &[usize], legs: &[Leg], how: How) -> Self {
        let units: Vec<&Unit> = indices.iter().map(|&u| &table.units[u]).collect();
        let rules = &table.rules;
        let allowance = |unit: &&Unit| {
            let share = if unit.in_command {
                1.0
            } else {
                rules.command.out_of_command_share
            };
            unit.points_mm * share
        };
        let least = units.iter().map(allowance).fold(f64::INFINITY, f64::min);
        let share = match (&rules.withdrawal, how.withdraws) {
            (Some(law), true) => law.allowance_share,
            _ => 1.0,
        };
        let all_forward = legs.iter().all(|leg| matches!(leg, Leg::Forward { .. }));
        let minimum = rules
            .movement
            .minimum_move
            .filter(|_| all_forward && !how.together && !legs.is_empty());
        let mut judge = Self {
            table,
            how,
            indices: indices.to_vec(),
            begun: Vec::new(),
            limits: Vec::new(),
            steps: vec![Vec::new(); units.len()],
            allowance_mm: least * share,
            minimum_mm: minimum.map(|minimum| minimum.forward.mm(&rules.scale)),
            near: RefCell::default(),
            ruled: Ruled::default(),
            locked: rules.zones.zone_exit == ZoneExit::Locked && !how.withdraws,
            first_align: vec![None; units.len()],
            align_row: vec![BTreeSet::new(); units.len()],
            aligned_abroad: false,
            aligned_deg: 0.0,
            sums: Vec::new(),
            units,
        };
        for (i, unit) in judge.units.clone().into_iter().enumerate() {
            let mut begun = Begun::default();
            for enemy in table.zones(unit.side) {
                let deep = zones::depth(table, &unit.rect, &table.units[enemy].rect);
                judge.note(
                    &format!("begins in the zone of {}", table.units[enemy].id),
                    deep - IN_ZONE_MM,
                );
                if deep >= IN_ZONE_MM - 1e-9 || unit.still_in.contains(&table.units[enemy].id) {
                    begun.push(enemy, deep, distance(&unit.rect, &table.units[enemy].rect));
                }
            }
            judge.sums.push(vec![0.0; begun.enemies.len()]);
            judge.begun.push(begun);
            let limits = judge.limits_of(i);
            judge.limits.push(limits);
        }
        judge
    }

    pub fn note(&self, what: &str, gap: f64) {
        // a zone is begun in, and a unit is farther, by 0.005: the laws' own margin round what is exact
        let margin = [
            "in the zone of",
            "in a zone",
            "outside",
            "withdraws",
            "farther",
        ];
        let near_mm = if margin.iter().any(|word| what.contains(word)) {
            0.004
        } else {
            0.0101
        };
        if gap.abs() < near_mm {
            self.near.borrow_mut().push((what.to_owned(), gap));
        }
    }

    /// A depth against what it may be, against 0 and against the tolerance.
    pub fn note_depth(&self, what: &str, depth: f64, may_be: f64) {
        self.note(what, depth - may_be);
        self.note(what, depth - self.table.tolerance_mm);
    }

    fn limits_of(&self, i: usize) -> Vec<Limit> {
        let (table, unit) = (self.table, self.units[i]);
        let mut limits = Vec::new();
        let mut add = |what: What, code: &'static str, stops_at: f64| {
            // where it is set down it must be clear
            let began = if self.how.arrives {
                0.0
            } else {
                limits::depth(table, what, &unit.rect)
            };
            limits.push(Limit {
                what,
                code,
                may_be: began.max(0.0),
                stops_at,
            });
        };
        for enemy in table.zones(unit.side) {
            let began_in = self.begun[i].holds(enemy);
            if !unit.in_command {
                let stops_at = if began_in { 0.0 } else { -0.01 };
                add(What::Zone(enemy), "out-of-command", stops_at);
            } else if !began_in {
                add(What::Zone(enemy), "enemy-zone", 0.0);
            }
        }
        for enemy in table.enemies(unit.side) {
            add(What::Enemy(enemy), "enemy-contact", 0.0);
        }
        if !table.rules.movement.pass_friends {
            for friend in table.friends(self.indices[i]) {
                if !self.indices.contains(&friend) {
                    add(What::Friend(friend), "ends-on-friend", 0.0);
                }
            }
        }
        for patch in (0..table.patches.len()).filter(|&patch| table.patches[patch].impassable) {
            add(What::Impassable(patch), "impassable", 0.0);
        }
        add(What::Edge, "off-table", 0.0);
        limits
    }

    pub fn reason(
        &mut self,
        code: &'static str,
        excess: Option<f64>,
        tolerance: f64,
        at: Option<(usize, f64)>,
        about: String,
    ) {
        let ruling = match excess {
            Some(excess) if excess <= tolerance + 1e-6 => Ruling::Marginal,
            _ => Ruling::Refused,
        };
        self.ruled.reasons.push(Reason {
            code,
            ruling,
            excess,
            at,
            about,
        });
    }

    /// An arriving unit where it is set down.
    fn set_down(&mut self) {
        let (table, tolerance) = (self.table, self.table.tolerance_mm);
        let rect = self.units[0].rect;
        let code = if self.units[0].in_command {
            "enemy-zone"
        } else {
            "out-of-command"
        };
        for enemy in table.zones(self.units[0].side).collect::<Vec<_>>() {
            let deep = zones::depth(table, &rect, &table.units[enemy].rect);
            self.note_depth("set down in a zone", deep, 0.0);
            if deep > NOISE_MM {
                self.reason(code, Some(deep), tolerance, None, "set down".to_owned());
            }
        }
        for limit in self.limits[0].clone() {
            let deep = limit.depth(table, &rect);
            if !matches!(limit.what, What::Zone(_)) {
                self.note_depth("set down", deep, 0.0);
                if deep > NOISE_MM {
                    self.reason(
                        limit.code,
                        Some(deep),
                        tolerance,
                        None,
                        "set down".to_owned(),
                    );
                }
            }
        }
    }

    pub fn rects(&self) -> Vec<Rect> {
        self.steps
            .iter()
            .zip(&self.units)
            .map(|(steps, unit)| steps.last().map_or(unit.rect, Step::end))
            .collect()
    }

    fn zones_in(&self, i: usize, rect: &Rect) -> BTreeSet<usize> {
        let table = self.table;
        let zones = table.zones(self.units[i].side).filter(|&enemy| {
            let deep = zones::depth(table, rect, &table.units[enemy].rect);
            self.note("in a zone", deep - IN_ZONE_MM);
            deep >= IN_ZONE_MM - 1e-9
        });
        zones.collect()
    }

    fn leg(&mut self, leg: usize, order: &Leg, last: bool) {
        let rects = self.rects();
        let mut units = self.units.clone();
        let reformed: Vec<Unit> = units
            .iter()
            .map(|unit| Unit {
                files: self.ruled.files.unwrap_or(unit.files),
                ..(*unit).clone()
            })
            .collect();
        if self.ruled.files.is_some() {
            units = reformed.iter().collect();
        }
        let plan = plan(self.table, &units, &rects, order, self.how.together);
        let aligning = matches!(order, Leg::Align { .. });
        let nowhere = aligning
            && rects
                .iter()
                .enumerate()
                .all(|(i, rect)| self.zones_in(i, rect).is_empty());
        if plan.impossible || nowhere {
            self.reason(
                "not-possible",
                None,
                0.0,
                Some((leg, 0.0)),
                "cannot be".to_owned(),
            );
            self.rest(&rects);
            return;
        }
        let banned = self.bans(leg, plan.steps[0].kind);
        if aligning {
            self.begin_aligning(leg, &rects, plan.align_deg);
        } else {
            self.align_row = vec![BTreeSet::new(); self.units.len()];
        }
        if let Some((angle, limit, tolerance)) = plan.angle {
            self.note("angle", angle - limit);
            self.note("angle", angle - limit - tolerance);
            if angle > limit + 1e-9 {
                let at = Some((leg, 0.0));
                self.reason(
                    "angle-too-large",
                    Some(angle - limit),
                    tolerance,
                    at,
                    "oblique".to_owned(),
                );
            }
        }
        let share = if order.is_up_to() {
            self.stop(&plan.steps, last)
        } else {
            1.0
        };
        let is_refused = self.ruled.ruling() == Ruling::Refused;
        self.ruled.up_to_after_refusal |= is_refused && order.is_up_to();
        self.ruled.banned_up_to |= banned && order.is_up_to();
        self.ruled.up_to_from_stored |= leg > 0 && order.is_up_to();
        if order.is_up_to() && share * plan.steps[0].longest() < STORED_MM + 1e-6 {
            self.rest(&rects);
            return;
        }
        if plan.steps[0].kind == Kind::Reform {
            self.ruled.files = plan.files;
        }
        for (i, step) in plan.steps.iter().enumerate() {
            self.steps[i].push(if order.is_up_to() {
                step.cut(share)
            } else {
                *step
            });
        }
        self.clearances(leg, aligning, order.is_up_to());
        self.locked_after(leg, aligning, &rects, banned);
    }

    fn rest(&mut self, rects: &[Rect]) {
        for (i, rect) in rects.iter().enumerate() {
            self.steps[i].push(Step {
                kind: Kind::Nothing,
                hand: None,
                from: *rect,
                motion: crate::legs::Motion::Rest,
                factor: 0.0,
                fixed_mm: 0.0,
                outer_left: false,
            });
        }
    }

    /// Legs of a kind that is forbidden.
    /// Whether one has the code of the measured locks.
    fn bans(&mut self, leg: usize, kind: Kind) -> bool {
        let held = self.locked && self.begun.iter().any(|begun| !begun.enemies.is_empty());
        let mut banned = false;
        if held && matches!(kind, Kind::Wheel | Kind::Turn | Kind::Reform) {
            self.reason("locked", None, 0.0, Some((leg, 0.0)), "ban".to_owned());
            banned = true;
        }
        if self.aligned_abroad && kind != Kind::Align {
            self.reason("enemy-zone", None, 0.0, Some((leg, 0.0)), "ban".to_owned());
        }
        banned
    }

    fn begin_aligning(&mut self, leg: usize, rects: &[Rect], deg: f64) {
        for (i, rect) in rects.iter().enumerate() {
            let zones = self.zones_in(i, rect);
            self.aligned_abroad |= zones.iter().any(|zone| !self.begun[i].holds(*zone));
            self.align_row[i].extend(zones.iter().copied());
            if self.first_align[i].is_none() {
                self.first_align[i] = Some(zones);
            }
        }
        self.aligned_deg += deg;
        let limit = self.table.rules.movement.align_max;
        let tolerance = (self.table.tolerance_mm / (rects[0].wide / 2.0)).to_degrees();
        self.note("angle", self.aligned_deg - limit);
        self.note("angle", self.aligned_deg - limit - tolerance);
        if self.aligned_deg > limit + 1e-9 {
            let excess = Some(self.aligned_deg - limit);
            self.reason(
                "angle-too-large",
                excess,
                tolerance,
                Some((leg, 0.0)),
                "align".to_owned(),
            );
        }
    }

    /// The last legs' clearances.
    fn clearances(&mut self, leg: usize, aligning: bool, up_to: bool) {
        for i in 0..self.units.len() {
            let step = *self.steps[i].last().unwrap();
            for limit in self.limits[i].clone() {
                if let (What::Zone(enemy), true) =
                    (limit.what, aligning && limit.code == "enemy-zone")
                {
                    if self.first_align[i]
                        .as_ref()
                        .is_some_and(|zones| zones.contains(&enemy))
                    {
                        continue;
                    }
                }
                let found = limits::find(self.table, &limit, &step);
                let what = format!("{:?} in leg {leg}", limit.what);
                self.note_depth(&what, found.deepest, limit.may_be);
                // who was deeper already when an up to began stops only where it gets deeper
                let may_be = if up_to {
                    limit.may_be.max(limit.depth(self.table, &step.from))
                } else {
                    limit.may_be
                };
                if found.deepest > may_be + NOISE_MM {
                    let tape = step.tape().map_or(0.0, |tape| tape.length());
                    let at = Some((leg, found.first.unwrap_or(0.0) * tape));
                    self.reason(
                        limit.code,
                        Some(found.deepest),
                        self.table.tolerance_mm,
                        at,
                        what,
                    );
                }
            }
            if aligning {
                for enemy in self.align_row[i].clone() {
                    let held = self.locked && self.begun[i].holds(enemy);
                    let end = step.end();
                    let deep = zones::depth(self.table, &end, &self.table.units[enemy].rect);
                    self.note("ends an aligning outside", deep - IN_ZONE_MM);
                    self.note("ends an aligning outside", deep + self.table.tolerance_mm);
                    if deep < IN_ZONE_MM - 1e-9 && !held {
                        let about = "aligns out of a zone".to_owned();
                        let at = Some((leg, 0.0));
                        self.reason(
                            "enemy-zone",
                            Some(-deep),
                            self.table.tolerance_mm,
                            at,
                            about,
                        );
                    }
                }
            }
        }
    }

    /// Locked: the sums after a leg, and whether it ended outside.
    fn locked_after(&mut self, leg: usize, aligning: bool, rects: &[Rect], banned: bool) {
        if !self.locked {
            return;
        }
        let tolerance = self.table.tolerance_mm;
        for i in 0..self.units.len() {
            let step = *self.steps[i].last().unwrap();
            for (n, enemy) in self.begun[i].enemies.clone().into_iter().enumerate() {
                let other = self.table.units[enemy].rect;
                let before = distance(&rects[i], &other);
                let end = step.end();
                if step.kind == Kind::Straight {
                    let start = self.sums[i][n];
                    self.sums[i][n] += distance(&end, &other) - before;
                    let sum = self.sums[i][n];
                    self.note("locked sum", sum);
                    self.note("locked sum", sum - tolerance);
                    if sum > NOISE_MM && !banned {
                        let over = |share: f64| {
                            start + distance(&step.rect_at(share), &other) - before > 1e-9
                        };
                        let low = profile(
                            |share| -distance(&step.rect_at(share), &other),
                            16,
                            step.longest(),
                        );
                        let (nearest, _) = crate::search::highest(&low);
                        let share = if over(nearest) {
                            0.0
                        } else {
                            halve(nearest, 1.0, over)
                        };
                        let at = Some((leg, share * step.longest()));
                        self.reason("locked", Some(sum), tolerance, at, "sum".to_owned());
                    }
                }
                let deep = zones::depth(self.table, &end, &other);
                self.note("locked outside", deep - IN_ZONE_MM);
                self.note("locked outside", deep + tolerance);
                if deep < IN_ZONE_MM - 1e-9 && !(banned && !aligning) {
                    let at = self.leaves_at(leg, &step, &other);
                    self.reason("locked", Some(-deep), tolerance, at, "outside".to_owned());
                }
            }
        }
    }

    /// Where a leg leaves the zone of an enemy: deeper outside than it began, or than 0.
    fn leaves_at(&self, leg: usize, step: &Step, enemy: &Rect) -> Option<(usize, f64)> {
        if step.kind != Kind::Straight {
            return Some((leg, 0.0));
        }
        let out = |share: f64| -zones::depth(self.table, &step.rect_at(share), enemy);
        let all = profile(out, 24, step.longest());
        let first = crate::search::first_above(out, &all, out(0.0).max(0.0) + 1e-9);
        Some((leg, first.unwrap_or(0.0) * step.longest()))
    }
}
