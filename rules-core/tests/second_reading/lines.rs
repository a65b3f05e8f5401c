//! Lines on the ground: where a tape or a carried anchor meets them, and what that charges.

use std::collections::{BTreeMap, BTreeSet};

use fieldpost_rules::ruleset::ChargeLines;

use crate::legs::{Kind, Motion, Step};
use crate::paths::Path;
use crate::plane::{Point, Rect, point_to_segment, rect_to_segment};
use crate::search::halve;
use crate::table::{Line, Table};

/// A footprint is clear of a line when it is farther away than this.
pub const CLEAR_MM: f64 = 0.005;
/// A point this near to a line is on it: a quantum of a stored pose.
const ON_MM: f64 = 0.001;

fn segments(points: &[Point]) -> impl Iterator<Item = (Point, Point)> + '_ {
    points.windows(2).map(|pair| (pair[0], pair[1]))
}

/// How far a footprint is from a line.
pub fn gap(rect: &Rect, line: &Line) -> f64 {
    segments(&line.points)
        .map(|(a, b)| rect_to_segment(rect, a, b))
        .fold(f64::INFINITY, f64::min)
}

pub fn point_gap(point: Point, points: &[Point]) -> f64 {
    segments(points)
        .map(|(a, b)| point_to_segment(point, a, b))
        .fold(f64::INFINITY, f64::min)
}

/// How far along a course the point nearest to a place lies.
pub fn along(points: &[Point], place: Point) -> f64 {
    let mut best = (f64::INFINITY, 0.0);
    let mut before = 0.0;
    for (a, b) in segments(points) {
        let length = a.distance_to(b);
        let share = ((place - a).dot(b - a) / (length * length)).clamp(0.0, 1.0);
        let off = place.distance_to(a.towards(b, share));
        if off < best.0 {
            best = (off, before + share * length);
        }
        before += length;
    }
    best.1
}

/// The place so far along a course.
fn place_along(points: &[Point], mut mm: f64) -> Point {
    for (a, b) in segments(points) {
        let length = a.distance_to(b);
        if mm <= length {
            return a.towards(b, (mm / length).max(0.0));
        }
        mm -= length;
    }
    points[points.len() - 1]
}

/// Whether a point lies to the left of a course: by the nearest segment, at a bend by both.
fn is_left(points: &[Point], place: Point) -> bool {
    let mut best = (f64::INFINITY, 0.0);
    for (i, (a, b)) in segments(points).enumerate() {
        let length = a.distance_to(b);
        let share = (place - a).dot(b - a) / (length * length);
        let held = share.clamp(0.0, 1.0);
        let off = place.distance_to(a.towards(b, held));
        let mut normal = (b - a) * (1.0 / length);
        let bend = if share >= 1.0 { i + 2 } else { i + 1 };
        if share >= 1.0 && bend < points.len() {
            normal = normal + (points[bend] - b).unit().unwrap_or(normal);
        } else if share <= 0.0 && i > 0 {
            normal = normal + (a - points[i - 1]).unit().unwrap_or(normal);
        }
        if off < best.0 - 1e-12 {
            best = (off, normal.cross(place - a.towards(b, held)));
        }
    }
    best.1 > 0.0
}

/// Tracks that follow on one another without a gap.
pub struct Run {
    /// Index of the step, and its track.
    pieces: Vec<(usize, Path)>,
    is_tape: bool,
}

impl Run {
    fn length(&self) -> f64 {
        self.pieces.iter().map(|piece| piece.1.length()).sum()
    }

    /// Step and share so far along.
    fn locate(&self, mut mm: f64) -> (usize, f64) {
        for (i, (step, path)) in self.pieces.iter().enumerate() {
            let length = path.length();
            if mm <= length + 1e-9 || i + 1 == self.pieces.len() {
                let share = if length > 0.0 {
                    (mm / length).min(1.0)
                } else {
                    1.0
                };
                return (*step, share);
            }
            mm -= length;
        }
        (0, 0.0)
    }

    fn at(&self, mm: f64) -> Point {
        let (step, share) = self.locate(mm);
        let path = self.pieces.iter().find(|piece| piece.0 == step);
        path.map_or(Point::new(0.0, 0.0), |piece| piece.1.at(share))
    }
}

/// The runs of tape and of carried anchors of one unit's steps.
fn runs(steps: &[Step]) -> Vec<Run> {
    let mut tapes: Vec<Run> = Vec::new();
    let mut anchors: Vec<Run> = Vec::new();
    let mut wheeling = false;
    for (i, step) in steps.iter().enumerate() {
        if let Some(path) = step.tape() {
            push(&mut tapes, i, path, true);
        }
        match step.kind {
            Kind::Wheel => {
                let path = step.track(step.from.anchor);
                if wheeling {
                    push(&mut anchors, i, path, false);
                } else {
                    anchors.push(Run {
                        pieces: vec![(i, path)],
                        is_tape: false,
                    });
                }
                wheeling = true;
            }
            Kind::Turn => {
                let pieces = vec![(i, step.track(step.from.anchor))];
                anchors.push(Run {
                    pieces,
                    is_tape: false,
                });
                wheeling = false;
            }
            Kind::Straight => wheeling = false,
            Kind::Align | Kind::Reform | Kind::Nothing => {}
        }
    }
    tapes.into_iter().chain(anchors).collect()
}

fn push(runs: &mut Vec<Run>, step: usize, path: Path, is_tape: bool) {
    if let Some(last) = runs.last_mut() {
        let end = last.pieces[last.pieces.len() - 1].1.at(1.0);
        if end.distance_to(path.at(0.0)) < 1e-6 {
            last.pieces.push((step, path));
            return;
        }
    }
    runs.push(Run {
        pieces: vec![(step, path)],
        is_tape,
    });
}

/// A stretch of a run that is on a line, with the sides before and after it.
#[derive(Debug, Clone, Copy)]
struct Contact {
    from: f64,
    to: f64,
    left_before: Option<bool>,
    left_after: Option<bool>,
}

fn contacts(run: &Run, line: &Line) -> Vec<Contact> {
    let mut met: Vec<(f64, f64)> = Vec::new();
    let mut before = 0.0;
    for (_, path) in &run.pieces {
        let length = path.length();
        for (a, b) in segments(&line.points) {
            for share in path.meets_line(a, b) {
                if point_to_segment(path.at(share), a, b) < 1e-6 {
                    met.push((before + share * length, before + share * length));
                }
            }
            if let Path::Straight { from, by } = *path {
                met.extend(runs_along(from, by, a, b).map(|(f, t)| (before + f, before + t)));
            }
        }
        for share in [0.0, 1.0] {
            if point_gap(path.at(share), &line.points) <= ON_MM {
                met.push((before + share * length, before + share * length));
            }
        }
        before += length;
    }
    met.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut merged: Vec<(f64, f64)> = Vec::new();
    for (from, to) in met {
        match merged.last_mut() {
            Some(last) if from <= last.1 + 0.003 => last.1 = last.1.max(to),
            _ => merged.push((from, to)),
        }
    }
    let length = run.length();
    let side = |mm: f64| Some(is_left(&line.points, run.at(mm)));
    (0..merged.len())
        .map(|i| {
            let (from, to) = merged[i];
            let since = if i > 0 { merged[i - 1].1 } else { 0.0 };
            let until = if i + 1 < merged.len() {
                merged[i + 1].0
            } else {
                length
            };
            Contact {
                from,
                to,
                left_before: if from > 0.003 {
                    side(from - ((from - since) / 2.0).min(0.01))
                } else {
                    None
                },
                left_after: if to < length - 0.003 {
                    side(to + ((until - to) / 2.0).min(0.01))
                } else {
                    None
                },
            }
        })
        .collect()
}

/// The stretch of a straight track that runs along a segment.
fn runs_along(from: Point, by: crate::plane::Vector, a: Point, b: Point) -> Option<(f64, f64)> {
    let (way, course) = (by.unit()?, (b - a).unit()?);
    let beside = (from - a).cross(course).abs();
    if way.cross(course).abs() > 1e-9 || beside > ON_MM {
        return None;
    }
    let (s, t) = ((a - from).dot(way), (b - from).dot(way));
    let (low, high) = (s.min(t).max(0.0), s.max(t).min(by.length()));
    (low <= high).then_some((low, high))
}

/// One reason to pay for a line.
#[derive(Debug, Clone)]
struct Event {
    step: usize,
    share: f64,
    place: Point,
    is_tape: bool,
    /// Passed by no more than the tolerance and come back over.
    excused: bool,
}

fn events(table: &Table, steps: &[Step], line: &Line) -> Vec<Event> {
    let mut all = Vec::new();
    for run in runs(steps) {
        let contacts = contacts(&run, line);
        let crosses = |c: &Contact| {
            c.left_before.is_some() && c.left_after.is_some_and(|a| Some(a) != c.left_before)
        };
        let mut excused = vec![false; contacts.len()];
        let crossings: Vec<usize> = (0..contacts.len())
            .filter(|&i| crosses(&contacts[i]))
            .collect();
        let mut next = 0;
        while run.is_tape && next + 1 < crossings.len() {
            let (out, back) = (crossings[next], crossings[next + 1]);
            let (from, to) = (contacts[out].to, contacts[back].from);
            let farthest = (0..=200)
                .map(|i| {
                    point_gap(
                        run.at(from + (to - from) * f64::from(i) / 200.0),
                        &line.points,
                    )
                })
                .fold(0.0, f64::max);
            if farthest <= table.tolerance_mm + 1e-6 {
                (excused[out], excused[back]) = (true, true);
                next += 2;
            } else {
                next += 1;
            }
        }
        let lifted = !run.is_tape && steps[run.pieces[0].0].kind == Kind::Turn;
        if lifted {
            all.extend(carried(&run, &contacts, line));
            continue;
        }
        for (i, contact) in contacts.iter().enumerate() {
            let ends_on = contact.left_before.is_some() && contact.left_after.is_none();
            let climbs = contact.left_before == Some(false);
            // a wheel that leaves its anchor on a line has not carried it to the other side
            let wheel_anchor = !run.is_tape && steps[run.pieces[0].0].kind == Kind::Wheel;
            let reached = crosses(contact) || (ends_on && !wheel_anchor);
            if reached && (climbs || !line.slope) {
                let (step, share) = run.locate(if ends_on { contact.to } else { contact.from });
                all.push(Event {
                    step,
                    share,
                    place: run.at(contact.from),
                    is_tape: run.is_tape,
                    excused: excused[i],
                });
            }
        }
    }
    all.sort_by(|a, b| (a.step, a.share).partial_cmp(&(b.step, b.share)).unwrap());
    all
}

/// What a turn or about has its anchor pay for: that it ends on the line, or on the other side.
fn carried(run: &Run, contacts: &[Contact], line: &Line) -> Option<Event> {
    let (first, last) = (contacts.first()?, contacts.last()?);
    let before = first.left_before?;
    let is_over = last.left_after.is_none_or(|after| after != before);
    let over = contacts
        .iter()
        .find(|c| c.left_after.is_some_and(|after| after != before))
        .unwrap_or(last);
    (is_over && (!before || !line.slope)).then(|| Event {
        step: run.pieces[0].0,
        share: 0.5,
        place: run.at(over.from),
        is_tape: false,
        excused: false,
    })
}

/// Whether a place of a line is within a bridge, ford, gap or road, made longer by so much.
fn in_crossing(table: &Table, line: &Line, place: Point, more_mm: f64) -> bool {
    let at = along(&line.points, place);
    let in_span = line
        .spans
        .iter()
        .any(|(from, to)| at >= from - more_mm - 1e-6 && at <= to + more_mm + 1e-6);
    let on_road = |mm: f64| {
        let place = place_along(&line.points, mm);
        table
            .roads
            .iter()
            .any(|road| point_gap(place, &road.points) <= road.half_mm + ON_MM)
    };
    let samples = if more_mm > 0.0 { 50 } else { 0 };
    in_span
        || (-samples..=samples)
            .any(|i| on_road(at + more_mm * f64::from(i) / f64::from(samples.max(1))))
}

/// A charge for a line.
#[derive(Debug, Clone)]
pub struct Charge {
    pub step: usize,
    pub share: f64,
    pub mm: f64,
}

/// What the lines charge for these steps, with the tolerance of lines and crossings or without, and
/// the lines paid for at the end.
pub fn charges(
    table: &Table,
    paid: &BTreeSet<usize>,
    steps: &[Step],
    tolerant: bool,
) -> (Vec<Charge>, BTreeSet<usize>) {
    let first_base = table.rules.movement.charge_lines == ChargeLines::FirstBase;
    let mut all = Vec::new();
    let mut paid_after = BTreeSet::new();
    for (index, line) in table.lines.iter().enumerate() {
        let mut is_paid = paid.contains(&index);
        if !is_paid && !is_near(steps, line) {
            continue;
        }
        let mut since = (0, 0.0);
        let mut counts: BTreeMap<usize, (usize, usize)> = BTreeMap::new();
        for event in events(table, steps, line) {
            if is_paid && cleared(steps, since, (event.step, event.share), line) {
                is_paid = false;
            }
            since = (event.step, event.share);
            if tolerant && event.excused {
                continue;
            }
            let more_mm = if tolerant && event.is_tape {
                table.tolerance_mm
            } else {
                0.0
            };
            let free = in_crossing(table, line, event.place, more_mm);
            let (tapes, anchors) = counts.entry(group(steps, event.step)).or_default();
            let before = (*tapes).max(*anchors);
            if event.is_tape {
                *tapes += 1;
            } else {
                *anchors += 1;
            }
            let again = (*tapes).max(*anchors) == before;
            let due = if first_base { !is_paid } else { !again };
            is_paid = true;
            if due && !free {
                let mm = line.charge_mm;
                all.push(Charge {
                    step: event.step,
                    share: event.share,
                    mm,
                });
            }
        }
        if is_paid && !steps.is_empty() && cleared(steps, since, (steps.len(), 0.0), line) {
            is_paid = false;
        }
        if is_paid {
            paid_after.insert(index);
        }
    }
    all.sort_by(|a, b| (a.step, a.share).partial_cmp(&(b.step, b.share)).unwrap());
    (all, paid_after)
}

fn is_near(steps: &[Step], line: &Line) -> bool {
    steps.iter().any(|step| {
        let reach = step.longest() + step.from.wide + step.from.deep;
        point_gap(step.from.centre(), &line.points) <= 2.0 * reach + 1.0
    })
}

/// Wheels to one hand that follow on one another are one leg: cutting a wheel changes nothing.
fn group(steps: &[Step], step: usize) -> usize {
    let mut first = step;
    for i in (0..step).rev() {
        match steps[i].kind {
            Kind::Nothing => {}
            Kind::Wheel if steps[step].kind == Kind::Wheel && steps[i].hand == steps[step].hand => {
                first = i
            }
            _ => break,
        }
    }
    first
}

/// Whether a footprint was wholly clear of a line at some instant between two moments.
fn cleared(steps: &[Step], from: (usize, f64), to: (usize, f64), line: &Line) -> bool {
    (from.0..=to.0.min(steps.len().saturating_sub(1))).any(|i| {
        let step = &steps[i];
        let low = if i == from.0 { from.1 } else { 0.0 };
        let high = if i == to.0 { to.1 } else { 1.0 };
        match step.motion {
            Motion::Slide(_) => slides_clear(step, low, high, line),
            Motion::Swing { .. } => {
                let samples = (step.longest() * (high - low) / 0.5).ceil().max(1.0) as usize;
                (0..=samples).any(|n| {
                    let share = low + (high - low) * n as f64 / samples as f64;
                    gap(&step.rect_at(share), line) > CLEAR_MM
                })
            }
            Motion::Lift(end) => high >= 1.0 && gap(&end, line) > CLEAR_MM,
            Motion::Rest => false,
        }
    })
}

/// The gap to one straight segment sinks and rises once in a slide, so the shares at which the footprint
/// is not clear are one stretch for each segment.
fn slides_clear(step: &Step, low: f64, high: f64, line: &Line) -> bool {
    let mut held: Vec<(f64, f64)> = Vec::new();
    for (a, b) in segments(&line.points) {
        let gap = |share: f64| rect_to_segment(&step.rect_at(share), a, b);
        let (at, _) = crate::search::greatest(|share| -gap(share), 16, step.longest());
        if gap(at) > CLEAR_MM {
            continue;
        }
        let clear = |share: f64| gap(share) > CLEAR_MM;
        let first = if clear(0.0) {
            halve(at, 0.0, clear)
        } else {
            0.0
        };
        let last = if clear(1.0) {
            halve(at, 1.0, clear)
        } else {
            1.0
        };
        held.push((first, last));
    }
    held.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut reached = low;
    for (first, last) in held {
        if first > reached + 1e-9 {
            break;
        }
        reached = reached.max(last);
    }
    reached < high - 1e-9
}

/// Places at which a tape or a footprint is near a threshold of a line: what, and by how much it misses it.
pub fn near(table: &Table, steps: &[Step]) -> Vec<(&'static str, f64)> {
    let mut all = Vec::new();
    for line in table.lines.iter().filter(|line| is_near(steps, line)) {
        for run in runs(steps) {
            let length = run.length();
            for end in [run.at(0.0), run.at(length)] {
                all.push(("line: tape ends on it", point_gap(end, &line.points)));
            }
            for end in [line.points[0], line.points[line.points.len() - 1]] {
                let samples = (length * 2.0).ceil() as usize + 1;
                let near = |n: usize| run.at(length * n as f64 / samples as f64).distance_to(end);
                let least = (0..=samples).map(near).fold(f64::INFINITY, f64::min);
                // between samples half a millimetre apart it may be nearer by as much
                if least < 0.3 {
                    let all_near = crate::search::greatest(
                        |share| -run.at(length * share).distance_to(end),
                        samples,
                        length,
                    );
                    all.push(("line: tape passes its end", -all_near.1));
                }
            }
            let contacts = contacts(&run, line);
            for contact in &contacts {
                let at = along(&line.points, run.at(contact.from));
                for edge in line
                    .spans
                    .iter()
                    .flat_map(|(from, to)| [from - at, at - to])
                {
                    all.push(("line: crossing", edge));
                    all.push(("line: crossing", edge - table.tolerance_mm));
                }
                for road in &table.roads {
                    let off = point_gap(run.at(contact.from), &road.points) - road.half_mm;
                    all.push(("line: crossing", off));
                    all.push(("line: crossing", off - table.tolerance_mm));
                }
            }
            for pair in contacts.windows(2) {
                let (from, to) = (pair[0].to, pair[1].from);
                let off = |share: f64| point_gap(run.at(from + (to - from) * share), &line.points);
                let (_, farthest) = crate::search::greatest(off, 40, to - from);
                all.push(("line: passed and come back", farthest - table.tolerance_mm));
            }
        }
        for step in steps {
            for rect in [step.from, step.end()] {
                all.push(("farther from a line", gap(&rect, line) - CLEAR_MM));
            }
        }
    }
    all
}
