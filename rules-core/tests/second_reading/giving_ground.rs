//! Falling back: which way, how far round, who is pushed, who is removed.

use fieldpost_rules::orders::Hand;

use crate::legs::{Kind, Motion, Step};
use crate::limits::{What, sampled};
use crate::plane::{Point, Rect, Vector, distance, overlap, point_to_rect};
use crate::search::{greatest, highest};
use crate::table::{IN_ZONE_MM, Table};
use crate::zones;

/// Ways that the referee chooses are measured to this.
const FINE_MM: f64 = 0.001;
/// A zone is entered when it is deeper than what rounding can do.
const ENTERED_MM: f64 = 0.005;

/// What becomes of who falls back.
#[derive(Debug, Clone, PartialEq)]
pub enum Fate {
    /// It and those it pushes, each with the way it goes; how far off straight away, to its right.
    Goes {
        ways: Vec<(usize, Vector)>,
        turned_deg: f64,
    },
    Surrounded,
    NoWay,
}

/// The point of a rectangle nearest to another, and the other's nearest to it.
fn nearest(a: &Rect, b: &Rect) -> (Point, Point) {
    let clamp = |point: Point, rect: &Rect| {
        let (across, along) = rect.local(point);
        let x = across.clamp(-rect.wide / 2.0, rect.wide / 2.0);
        let y = along.clamp(-rect.deep / 2.0, rect.deep / 2.0);
        rect.centre() + rect.right() * x + rect.ahead * y
    };
    let from_a = a
        .corners()
        .map(|corner| (point_to_rect(corner, b), corner, clamp(corner, b)));
    let from_b = b
        .corners()
        .map(|corner| (point_to_rect(corner, a), clamp(corner, a), corner));
    let best = from_a
        .into_iter()
        .chain(from_b)
        .min_by(|x, y| x.0.total_cmp(&y.0))
        .unwrap();
    (best.1, best.2)
}

/// The unit vector from an opposing unit to the loser.
fn pushes(opposing: &Rect, loser: &Rect) -> Vector {
    if distance(opposing, loser) > FINE_MM {
        let (from, to) = nearest(opposing, loser);
        return (to - from).unit().unwrap();
    }
    let apart = loser.centre() - opposing.centre();
    let reach = |rect: &Rect, axis: Vector| {
        (rect.right().dot(axis) * rect.wide / 2.0).abs()
            + (rect.ahead.dot(axis) * rect.deep / 2.0).abs()
    };
    let mut axes: Vec<(f64, Vector)> =
        [opposing.right(), opposing.ahead, loser.right(), loser.ahead]
            .into_iter()
            .map(|axis| {
                (
                    reach(opposing, axis) + reach(loser, axis) - apart.dot(axis).abs(),
                    axis,
                )
            })
            .collect();
    axes.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (least, axis) = axes[0];
    let corner_to_corner = axes[1..]
        .iter()
        .any(|(deep, other)| (deep - least).abs() < 2.0 * FINE_MM && other.cross(axis).abs() > 0.5);
    if corner_to_corner {
        return apart.unit().unwrap_or(axis);
    }
    if apart.dot(axis) < 0.0 { -axis } else { axis }
}

/// Where a loser would go, and what that does to others.
pub fn fall_back(
    table: &Table,
    loser: usize,
    opposing: &[Rect],
    distance_mm: f64,
    prefers: Option<Hand>,
) -> Fate {
    let rect = table.units[loser].rect;
    let sum = opposing
        .iter()
        .fold(Vector::ZERO, |sum, other| sum + pushes(other, &rect));
    if sum.length() < 0.1 {
        return Fate::Surrounded;
    }
    let away = sum.unit().unwrap();
    let open = |deg: f64| {
        ways(
            table,
            loser,
            crate::plane::turned(away, deg.to_radians()),
            distance_mm,
        )
    };
    if let Some(ways) = open(0.0) {
        return Fate::Goes {
            ways,
            turned_deg: 0.0,
        };
    }
    // clockwise is to the right of who goes forward, to the left of who goes backward
    let facing = rect.ahead.dot(away);
    let right_is_clockwise = facing > -1e-9;
    let sign = |hand: Hand| {
        if (hand == Hand::Right) == right_is_clockwise {
            1.0
        } else {
            -1.0
        }
    };
    let first = prefers.unwrap_or(Hand::Right);
    let fan = table.rules.falling_back.fan;
    let mut before = 0.0;
    loop {
        let step = (before + 0.5f64).min(fan);
        if step <= before + 1e-9 {
            return Fate::NoWay;
        }
        let mut found: Vec<(f64, f64)> = Vec::new();
        for hand in [first, first.other()] {
            let signed = sign(hand);
            if open(signed * step).is_some() {
                let (mut shut, mut opened) = (before, step);
                while opened - shut > 0.001 {
                    let middle = (shut + opened) / 2.0;
                    if open(signed * middle).is_some() {
                        opened = middle;
                    } else {
                        shut = middle;
                    }
                }
                found.push((opened, signed));
            }
        }
        let best = found
            .into_iter()
            .reduce(|a, b| if b.0 < a.0 - 0.0015 { b } else { a });
        if let Some((deg, signed)) = best {
            let ways = open(signed * deg).unwrap();
            return Fate::Goes {
                ways,
                turned_deg: deg * signed,
            };
        }
        before = step;
    }
}

/// Everybody who goes that way, if nobody is blocked.
fn ways(
    table: &Table,
    loser: usize,
    way: Vector,
    distance_mm: f64,
) -> Option<Vec<(usize, Vector)>> {
    let mut going: Vec<(usize, f64)> = vec![(loser, distance_mm)];
    let may_be = |a: usize, b: usize| {
        let began = overlap(&table.units[a].rect, &table.units[b].rect);
        if began <= table.tolerance_mm + 1e-9 {
            began.max(0.0)
        } else {
            0.0
        }
    };
    let passing = table.rules.movement.pass_friends;
    for _ in 0..200 {
        let mut changed = false;
        for n in 0..going.len() {
            let (pusher, goes) = going[n];
            let end = table.units[pusher].rect.moved(way * goes);
            for friend in table.friends(loser).collect::<Vec<_>>() {
                if friend == pusher || friend == loser {
                    continue;
                }
                let own = going.iter().position(|(unit, _)| *unit == friend);
                let so_far = own.map_or(0.0, |own| going[own].1);
                if own.is_some() && so_far > goes {
                    continue;
                }
                let slack = may_be(pusher, friend) + FINE_MM;
                let there = |mm: f64| table.units[friend].rect.moved(way * mm);
                let ended_on = overlap(&end, &there(so_far)) > slack;
                let met = !passing && own.is_none() && {
                    let step = slide(&table.units[pusher].rect, way * goes);
                    highest(&sampled(table, What::Friend(friend), &step)).1 > slack
                };
                if !ended_on && !met {
                    continue;
                }
                // clear ahead of the pusher: the overlap ends once as it goes on
                let far = goes + end.wide + end.deep + 1000.0;
                let (mut shut, mut open) = (so_far, far);
                if met && !ended_on {
                    // beside or behind the end: pushed along until it is ahead of it
                    shut = (so_far..=far).sample(|mm| overlap(&end, &there(mm)) > slack)?;
                }
                for _ in 0..60 {
                    let middle = (shut + open) / 2.0;
                    if overlap(&end, &there(middle)) > slack - FINE_MM {
                        shut = middle;
                    } else {
                        open = middle;
                    }
                }
                match own {
                    Some(own) => going[own].1 = open,
                    None => going.push((friend, open)),
                }
                changed = true;
            }
        }
        if !changed {
            break;
        }
    }
    let blocked = going
        .iter()
        .any(|(unit, mm)| is_blocked(table, *unit, way * *mm));
    (!blocked).then(|| {
        going
            .into_iter()
            .map(|(unit, mm)| (unit, way * mm))
            .collect()
    })
}

trait Sampled {
    fn sample(self, is: impl Fn(f64) -> bool) -> Option<f64>;
}

impl Sampled for std::ops::RangeInclusive<f64> {
    /// The first place of a range, by half millimetres, of which something is so.
    fn sample(self, is: impl Fn(f64) -> bool) -> Option<f64> {
        let count = ((self.end() - self.start()) * 2.0).ceil() as usize;
        (0..=count)
            .map(|n| self.start() + n as f64 / 2.0)
            .find(|mm| is(*mm))
    }
}

fn slide(rect: &Rect, by: Vector) -> Step {
    Step {
        kind: Kind::Straight,
        hand: None,
        from: *rect,
        motion: Motion::Slide(by),
        factor: 0.0,
        fixed_mm: 0.0,
        outer_left: false,
    }
}

fn is_blocked(table: &Table, unit: usize, by: Vector) -> bool {
    let step = slide(&table.units[unit].rect, by);
    let side = table.units[unit].side;
    let rises = |what: What, may_be: f64| highest(&sampled(table, what, &step)).1 > may_be;
    let now = |what: What| crate::limits::depth(table, what, &step.from);
    table.zones(side).any(|enemy| {
        let other = table.units[enemy].rect;
        if now(What::Zone(enemy)) < IN_ZONE_MM {
            return rises(What::Zone(enemy), ENTERED_MM);
        }
        // nearer, as that zone is measured: by what of it is ahead where only that counts
        let near = |share: f64| -zones::nearness(table, &step.rect_at(share), &other);
        let (_, nearest) = greatest(near, 24, by.length());
        nearest > near(0.0) + FINE_MM
    }) || table.enemies(side).any(|enemy| {
        let what = What::Enemy(enemy);
        rises(what, now(what).max(0.0) + FINE_MM)
    }) || (0..table.patches.len())
        .filter(|&patch| table.patches[patch].impassable)
        .any(|patch| {
            let what = What::Impassable(patch);
            rises(what, now(what) + FINE_MM)
        })
}
