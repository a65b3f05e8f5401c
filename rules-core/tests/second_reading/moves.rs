//! One order of legs judged: bans, clearances, locked, pay, allowance, and where *up to* stops.

use std::cell::RefCell;
use std::collections::BTreeSet;

use fieldpost_rules::orders::Leg;
use fieldpost_rules::ruleset::ZoneExit;

use crate::costs::{self, Begun};
use crate::legs::{Kind, Step, plan};
use crate::limits::{self, Limit, NOISE_MM, What};
use crate::plane::{Rect, distance, overlap};
use crate::search::{first_above, halve, profile};
use crate::table::{IN_ZONE_MM, Table, Unit};
use crate::zones;

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
    fn worst_of_each_code(&mut self) {
        let weight = |reason: &Reason| (reason.ruling, reason.excess.unwrap_or(f64::INFINITY));
        let mut worst: Vec<Reason> = Vec::new();
        for reason in std::mem::take(&mut self.reasons) {
            match worst.iter_mut().find(|other| other.code == reason.code) {
                Some(other) if weight(other) < weight(&reason) => *other = reason,
                Some(_) => {}
                None => worst.push(reason),
            }
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

struct Judge<'a> {
    table: &'a Table,
    how: How,
    units: Vec<&'a Unit>,
    indices: Vec<usize>,
    /// Zones that each unit's move began in.
    begun: Vec<Begun>,
    limits: Vec<Vec<Limit>>,
    steps: Vec<Vec<Step>>,
    allowance_mm: f64,
    minimum_mm: Option<f64>,
    near: RefCell<Vec<(String, f64)>>,
    ruled: Ruled,
    locked: bool,
    /// Zones each unit was in when its first aligning began, and when this row of alignings began.
    first_align: Vec<Option<BTreeSet<usize>>>,
    align_row: Vec<BTreeSet<usize>>,
    aligned_abroad: bool,
    aligned_deg: f64,
    sums: Vec<Vec<f64>>,
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

    fn note(&self, what: &str, gap: f64) {
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
    fn note_depth(&self, what: &str, depth: f64, may_be: f64) {
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

    fn reason(
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

    fn rects(&self) -> Vec<Rect> {
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
        let plan = plan(self.table, &units, &rects, leg, order, self.how.together);
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
            self.rest(leg, &rects);
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
        self.ruled.banned_up_to |= banned && order.is_up_to();
        if order.is_up_to() && share * plan.steps[0].longest() < 1e-7 {
            self.rest(leg, &rects);
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

    fn rest(&mut self, leg: usize, rects: &[Rect]) {
        for (i, rect) in rects.iter().enumerate() {
            self.steps[i].push(Step {
                leg,
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
    fn bans(&mut self, leg: usize, kind: Kind) -> bool {
        let held = self.locked && self.begun.iter().any(|begun| !begun.enemies.is_empty());
        let mut banned = false;
        if held && matches!(kind, Kind::Wheel | Kind::Turn | Kind::Reform) {
            self.reason("locked", None, 0.0, Some((leg, 0.0)), "ban".to_owned());
            banned = true;
        }
        if self.aligned_abroad && kind != Kind::Align {
            self.reason("enemy-zone", None, 0.0, Some((leg, 0.0)), "ban".to_owned());
            banned = true;
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
                    self.reason(
                        "locked",
                        Some(-deep),
                        tolerance,
                        Some((leg, 0.0)),
                        "outside".to_owned(),
                    );
                }
            }
        }
    }

    /// The share at which an *up to* stops.
    fn stop(&self, steps: &[Step], last: bool) -> f64 {
        let mut least = 1.0f64;
        for (i, step) in steps.iter().enumerate() {
            for limit in &self.limits[i] {
                let from = limit.depth(self.table, &step.from);
                let may_be = limit.may_be.max(from);
                let may_be = if limit.stops_at < 0.0 {
                    from.max(limit.stops_at)
                } else {
                    may_be
                };
                let all = limits::sampled(self.table, limit.what, step);
                let at = |share: f64| limit.depth(self.table, &step.rect_at(share));
                let (_, deepest) = crate::search::highest(&all);
                self.note(&format!("up to at {:?}", limit.what), deepest - may_be);
                if deepest > may_be + NOISE_MM {
                    least = least.min(first_above(at, &all, may_be + 1e-9).unwrap_or(1.0));
                }
            }
            least = least.min(self.stop_locked(i, step));
        }
        least = least.min(self.stop_allowance(steps));
        if last && self.table.rules.movement.pass_friends {
            least = self.stop_friend(steps, least);
        }
        least
    }

    fn stop_locked(&self, i: usize, step: &Step) -> f64 {
        let mut least = 1.0f64;
        if !self.locked {
            return least;
        }
        for (n, &enemy) in self.begun[i].enemies.iter().enumerate() {
            let other = self.table.units[enemy].rect;
            let before = distance(&step.from, &other);
            let start = self.sums[i][n];
            let sum = |share: f64| start + distance(&step.rect_at(share), &other) - before;
            let all = profile(sum, 24, step.longest());
            let (_, most) = crate::search::highest(&all);
            self.note("up to: locked sum", most);
            // the sum has no slack from where the leg began: "or, locked, where the sum would exceed 0"
            if step.kind == Kind::Straight && most > NOISE_MM {
                least = least.min(first_above(sum, &all, 1e-9).unwrap_or(1.0));
            }
            let out = |share: f64| -zones::depth(self.table, &step.rect_at(share), &other);
            let may_be = out(0.0).max(0.0);
            let all = profile(out, 24, step.longest());
            let (_, most) = crate::search::highest(&all);
            if most > may_be - IN_ZONE_MM {
                least = least.min(first_above(out, &all, may_be + 1e-9).unwrap_or(1.0));
            }
        }
        least
    }

    /// The first place whose sum could not be paid, each line paid for as if the tape ended there.
    fn stop_allowance(&self, steps: &[Step]) -> f64 {
        let mut least = 1.0f64;
        for (i, step) in steps.iter().enumerate() {
            let sum = |share: f64| {
                let mut all = self.steps[i].clone();
                all.push(step.cut(share));
                costs::sum(self.table, self.units[i], &self.begun[i], &all, false)
            };
            let over = |share: f64| sum(share).total() > self.allowance_mm + 1e-9;
            let over_fee = |share: f64| sum(share).fee_mm > self.allowance_mm + 1e-9;
            let mut stop = if over(1.0) {
                halve(0.0, 1.0, over)
            } else {
                1.0
            };
            if over(1e-12) {
                stop = 0.0;
            }
            if stop < 1.0 {
                let (low, high) = (sum(stop), sum((stop + 1e-7).min(1.0)));
                if high.lines_mm - low.lines_mm > 0.02 {
                    let length = step.tape().map_or(0.0, |tape| tape.length());
                    stop = (stop - 0.01 / length.max(0.01)).max(0.0);
                }
            }
            if let Some(minimum) = self.minimum_mm {
                let before: f64 = self.steps[i].iter().map(Step::longest).sum();
                let length = step.longest();
                let granted = ((minimum - before) / length).clamp(0.0, 1.0);
                let fee = if over_fee(1.0) {
                    halve(0.0, 1.0, over_fee)
                } else {
                    1.0
                };
                stop = stop.max(granted.min(fee));
            }
            least = least.min(stop);
        }
        least
    }

    /// The last clear place before a stop on a friend, if there is one.
    fn stop_friend(&self, steps: &[Step], stop: f64) -> f64 {
        let on_friend = |share: f64| {
            steps.iter().enumerate().any(|(i, step)| {
                let rect = step.rect_at(share);
                self.table
                    .friends(self.indices[i])
                    .filter(|f| !self.indices.contains(f))
                    .any(|friend| {
                        let began =
                            overlap(&self.units[i].rect, &self.table.units[friend].rect).max(0.0);
                        let deep = overlap(&rect, &self.table.units[friend].rect) - began;
                        if share == stop {
                            self.note("up to: ends on a friend", deep);
                        }
                        deep > NOISE_MM
                    })
            })
        };
        if !on_friend(stop) {
            return stop;
        }
        let samples = (steps[0].longest() * stop / 0.5).ceil().max(2.0) as usize;
        let share = |n: usize| stop * n as f64 / samples as f64;
        match (0..samples).rev().find(|&n| !on_friend(share(n))) {
            Some(n) => halve(share(n), share(n + 1), on_friend),
            None => stop,
        }
    }

    fn close(mut self, legs: &[Leg]) -> Ruled {
        self.allowance(legs);
        self.ends();
        let ends = self.rects();
        let (table, tolerance) = (self.table, self.table.tolerance_mm);
        for (i, steps) in self.steps.iter().enumerate() {
            let (_, paid) = crate::lines::charges(table, &self.units[i].paid, steps, true);
            self.ruled.paid.push(paid);
            let outside = self.begun[i].enemies.iter().filter(|&&enemy| {
                let deep = zones::depth(table, &ends[i], &table.units[enemy].rect);
                self.locked && deep < IN_ZONE_MM && deep >= -tolerance - 1e-6
            });
            let still_in = outside
                .map(|&enemy| table.units[enemy].id.clone())
                .collect();
            self.ruled.still_in.push(still_in);
        }
        self.ruled.worst_of_each_code();
        self.ruled.tapes = self.steps[0]
            .iter()
            .map(|step| step.tape().map_or(0.0, |tape| tape.length()))
            .collect();
        self.ruled.ends = ends;
        self.ruled.allowance_mm = self.allowance_mm;
        self.ruled.near = self.near.take();
        self.ruled
    }

    fn allowance(&mut self, legs: &[Leg]) {
        let allowance = self.allowance_mm;
        let sums = |tolerant: bool| -> Vec<costs::Sum> {
            (0..self.units.len())
                .map(|i| {
                    costs::sum(
                        self.table,
                        self.units[i],
                        &self.begun[i],
                        &self.steps[i],
                        tolerant,
                    )
                })
                .collect()
        };
        let dearest = |sums: &[costs::Sum]| {
            let totals = sums.iter().map(costs::Sum::total);
            totals.fold(0.0, f64::max)
        };
        let tolerant = sums(true);
        let strict = dearest(&sums(false));
        let charge = dearest(&tolerant);
        self.ruled.charge_mm = charge;
        let length: f64 = self.steps[0].iter().map(Step::longest).sum();
        for (what, gap) in [
            ("allowance", charge - allowance),
            ("allowance", charge - allowance - self.table.tolerance_mm),
            ("allowance with every line", strict - allowance),
            (
                "minimum move",
                self.minimum_mm.map_or(1.0, |minimum| length - minimum),
            ),
            (
                "minimum move",
                self.minimum_mm
                    .map_or(1.0, |m| length - m - self.table.tolerance_mm),
            ),
            (
                "fee",
                if tolerant[0].fee_mm > 0.0 {
                    tolerant[0].fee_mm - allowance
                } else {
                    1.0
                },
            ),
        ] {
            self.note(what, gap);
        }
        for (gap, what) in tolerant.iter().flat_map(|sum| sum.near.iter()) {
            self.note(what, *gap);
        }
        for steps in &self.steps {
            for (what, gap) in crate::lines::near(self.table, steps) {
                self.note(what, gap);
            }
        }
        let excess = charge - allowance;
        let tolerance = self.table.tolerance_mm;
        let fee_over = tolerant[0].fee_mm - allowance;
        if let Some(minimum) = self.minimum_mm {
            if length <= minimum + tolerance + 1e-6 && legs.len() == self.steps[0].len() {
                let over = length - minimum;
                if fee_over > 1e-6 {
                    self.reason(
                        "over-allowance",
                        Some(fee_over),
                        tolerance,
                        None,
                        "fee".to_owned(),
                    );
                } else if over > NOISE_MM && excess > 1e-6 {
                    self.reason(
                        "over-allowance",
                        Some(over),
                        tolerance,
                        None,
                        "minimum".to_owned(),
                    );
                }
                return;
            }
        }
        if excess > 1e-6 {
            let at = self.over_at();
            self.reason(
                "over-allowance",
                Some(excess),
                tolerance,
                at,
                "sum".to_owned(),
            );
        } else if strict - allowance > 1e-6 {
            // the tolerance of a line or a crossing decides, whatever the charge would have been
            let about = "tolerance of a line".to_owned();
            self.reason(
                "over-allowance",
                Some(strict - allowance),
                f64::INFINITY,
                None,
                about,
            );
        }
    }

    /// Where the sum of a single unit first goes over.
    fn over_at(&self) -> Option<(usize, f64)> {
        if self.units.len() > 1 {
            return None;
        }
        let steps = &self.steps[0];
        let total = |steps: &[Step]| {
            costs::sum(self.table, self.units[0], &self.begun[0], steps, true).total()
        };
        let leg = (0..steps.len()).find(|&n| total(&steps[..=n]) > self.allowance_mm + 1e-9)?;
        let length = steps[leg].tape().map_or(0.0, |tape| tape.length());
        let over = |share: f64| {
            let mut all = steps[..leg].to_vec();
            all.push(steps[leg].cut(share));
            total(&all) > self.allowance_mm + 1e-9
        };
        Some((
            leg,
            if length > 0.0 {
                halve(0.0, 1.0, over) * length
            } else {
                0.0
            },
        ))
    }

    /// No move may end overlapping a friend, nor a body itself; who withdraws must be out.
    fn ends(&mut self) {
        let ends = self.rects();
        let tolerance = self.table.tolerance_mm;
        for i in 0..ends.len() {
            let unit = self.units[i];
            for friend in self.table.friends(self.indices[i]).collect::<Vec<_>>() {
                let own = self.indices.iter().position(|&u| u == friend);
                let (now, began) = match own {
                    Some(j) => (ends[j], self.units[j].rect),
                    None => (self.table.units[friend].rect, self.table.units[friend].rect),
                };
                let began = if self.how.arrives {
                    0.0
                } else {
                    overlap(&unit.rect, &began).max(0.0)
                };
                let deep = overlap(&ends[i], &now);
                self.note_depth("ends on a friend", deep, began);
                if deep > began + NOISE_MM {
                    let about = format!("ends on {}", self.table.units[friend].id);
                    self.reason("ends-on-friend", Some(deep), tolerance, None, about);
                }
            }
            if self.how.withdraws {
                for enemy in self.begun[i].enemies.clone() {
                    let deep = zones::depth(self.table, &ends[i], &self.table.units[enemy].rect);
                    self.note("withdraws", deep - IN_ZONE_MM);
                    self.note("withdraws", deep);
                    self.note_depth("withdraws", deep, 0.0);
                    if deep > NOISE_MM {
                        self.reason(
                            "locked",
                            Some(deep),
                            tolerance,
                            None,
                            "withdraws".to_owned(),
                        );
                    }
                }
            }
        }
    }
}
