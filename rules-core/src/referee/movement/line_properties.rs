//! Lines over random and over lattice tables: legs cut anywhere, changed tables, and a walk that is only sampled.

use proptest::prelude::*;

use crate::game::{Game, Ground, GroundLine, GroundPatch};
use crate::geometry::{
    Block, Footprint, Motion, Point, Polygon, Polyline, Vector, larger, smaller,
};
use crate::orders::{Extent, Hand, Leg, UnitId};
use crate::referee::testing::{TABLE_MM, bare_ground, game_on, pair, rules, scenario};
use crate::referee::wild::Draws;
use crate::ruleset::{ChargeLines, LineKind, TerrainKind};
use crate::verdict::{MoveVerdict, Ruling};

use super::{Movement, Purpose, TurnStart, judge};

const LINE_MM: f64 = 30.0;

/// Numbers of a table and an order, on a lattice of 10 mm and right angles or anywhere.
struct Sketch {
    units: Vec<(f64, f64, f64)>,
    lines: Vec<(Point, Point, bool)>,
    patch: [Point; 4],
    legs: Vec<Leg>,
    every_tape: bool,
}

impl Sketch {
    fn drawn(draws: &mut Draws, lattice: bool) -> Self {
        let mut number = |low: f64, high: f64, step: f64| {
            let drawn = draws.between(low, high);
            if lattice {
                (drawn / step).round() * step
            } else {
                drawn
            }
        };
        let bearing = number(0.0, 360.0, 90.0);
        let units = (0..3)
            .map(|at| {
                (
                    number(500.0, 700.0, 10.0),
                    500.0 + 60.0 * f64::from(at),
                    bearing,
                )
            })
            .collect();
        let lines = (0..2)
            .map(|_| {
                let place = number(540.0, 660.0, 10.0);
                let from = number(300.0, 600.0, 10.0);
                let lean = if lattice {
                    0.0
                } else {
                    number(-200.0, 200.0, 10.0)
                };
                let (a, b) = (
                    Point::new(from, place - lean),
                    Point::new(1100.0, place + lean),
                );
                let turned = number(0.0, 1.0, 1.0) > 0.5;
                let turn = |p: Point| if turned { Point::new(p.y, p.x) } else { p };
                (turn(a), turn(b), number(0.0, 1.0, 1.0) > 0.5)
            })
            .collect();
        // a corner of rough ground cut at a small angle costs what storing does: anywhere there is none
        let off_mm = if lattice { 0.0 } else { 800.0 };
        let (west, south) = (number(400.0, 600.0, 10.0), number(400.0, 600.0, 10.0));
        let patch = [(0.0, 0.0), (150.0, 0.0), (150.0, 150.0), (0.0, 150.0)]
            .map(|(x, y)| Point::new(west + x - off_mm, south + y - off_mm));
        let count = number(1.0, 5.0, 1.0);
        let mut legs = Vec::new();
        while f64::from(u32::try_from(legs.len()).unwrap_or(0)) < count {
            let side = if number(0.0, 1.0, 1.0) > 0.5 {
                Hand::Left
            } else {
                Hand::Right
            };
            let distance_mm = Extent::Exactly(number(0.0, 80.0, 10.0));
            legs.push(match number(0.0, 7.0, 1.0).floor() as i32 {
                0 => Leg::Forward { distance_mm },
                1 => Leg::Back { distance_mm },
                2 => Leg::Sidestep { side, distance_mm },
                3 => Leg::Oblique {
                    side,
                    angle_deg: 30.0,
                    distance_mm,
                },
                4 => Leg::Turn { side },
                5 => Leg::About,
                _ => Leg::Wheel {
                    side,
                    angle_deg: Extent::Exactly(number(0.0, 180.0, 90.0)),
                },
            });
        }
        let every_tape = number(0.0, 1.0, 1.0) > 0.5;
        Self {
            units,
            lines,
            patch,
            legs,
            every_tape,
        }
    }

    fn game(&self) -> Game {
        let line = |(number, &(from, to, slope)): (usize, &(Point, Point, bool))| GroundLine {
            name: format!("line {number}"),
            kind_name: "line".to_owned(),
            kind: LineKind {
                slope,
                ..LineKind::default()
            },
            charge_mm: LINE_MM,
            course: Polyline::new(vec![from, to]).expect("a line"),
            spans: Vec::new(),
        };
        let ground = Ground {
            lines: self.lines.iter().enumerate().map(line).collect(),
            patches: vec![GroundPatch {
                name: "bog".to_owned(),
                kind_name: "bog".to_owned(),
                kind: TerrainKind {
                    rate: 2.0,
                    ..TerrainKind::default()
                },
                outline: Polygon::new(self.patch.to_vec(), Vec::new()).expect("a square"),
            }],
            ..bare_ground()
        };
        let ids = ["r1", "r2", "r3"];
        let units = ids
            .iter()
            .zip(&self.units)
            .map(|(id, at)| pair(id, "horse", *at));
        let mut ruleset = rules();
        ruleset.movement.charge_lines = if self.every_tape {
            ChargeLines::EveryTape
        } else {
            ChargeLines::FirstBase
        };
        ruleset.movement.pass_friends = true;
        game_on(ruleset, scenario(units.collect()), ground)
    }

    /// The order's legs, each that sweeps cut at a share of it.
    fn cut(&self, draws: &mut Draws, lattice: bool) -> Vec<Leg> {
        let mut legs = Vec::new();
        for leg in &self.legs {
            let share = if lattice {
                draws.one_of(&[0.1, 0.5, 0.7])
            } else {
                draws.between(0.0, 1.0)
            };
            let (mut one, mut other) = (*leg, *leg);
            match (&mut one, &mut other) {
                (Leg::Forward { distance_mm: a, .. }, Leg::Forward { distance_mm: b, .. })
                | (Leg::Back { distance_mm: a, .. }, Leg::Back { distance_mm: b, .. })
                | (Leg::Sidestep { distance_mm: a, .. }, Leg::Sidestep { distance_mm: b, .. })
                | (Leg::Oblique { distance_mm: a, .. }, Leg::Oblique { distance_mm: b, .. })
                | (Leg::Wheel { angle_deg: a, .. }, Leg::Wheel { angle_deg: b, .. }) => {
                    let whole = a.amount().unwrap_or(0.0);
                    *a = Extent::Exactly(whole * share);
                    *b = Extent::Exactly(whole - whole * share);
                    legs.extend([one, other]);
                }
                _ => legs.push(*leg),
            }
        }
        legs
    }
}

/// Without remedies, which take most of the time.
fn judged(game: &Game, together: bool, legs: &[Leg]) -> MoveVerdict {
    let ids: &[&str] = if together {
        &["r1", "r2", "r3"]
    } else {
        &["r1"]
    };
    let units: Vec<_> = ids
        .iter()
        .filter_map(|id| game.unit(&UnitId::from(*id)))
        .collect();
    let movement = Movement {
        order: 0,
        units: &units,
        legs,
        purpose: Purpose::March,
    };
    judge(game, &TurnStart::of(game), &movement).remove(0)
}

/// The ledger on a few lines.
fn told(verdict: &MoveVerdict) -> String {
    let leg = |leg: &crate::verdict::LegLedger| {
        let lines = leg.lines.iter().map(|line| {
            let free = line.free.as_deref().unwrap_or("charged");
            format!("{} at {} {free}", line.line, line.at_mm)
        });
        let lines: Vec<String> = lines.collect();
        format!("\n  {} {} {lines:?}", leg.leg, leg.charge_mm)
    };
    verdict.legs.iter().map(leg).collect()
}

/// Whether a ruling hangs on what storing a pose can do.
fn hangs_on_storing(verdict: &MoveVerdict) -> bool {
    let over_mm = verdict.charge_mm - verdict.allowance_mm;
    over_mm.abs() < 0.05 || (over_mm - 0.5).abs() < 0.05
}

fn check_cut(seed: u64, lattice: bool, together: bool) -> Result<(), TestCaseError> {
    let mut draws = Draws::new(seed);
    let sketch = Sketch::drawn(&mut draws, lattice);
    let game = sketch.game();
    let whole = judged(&game, together, &sketch.legs);
    let cut = sketch.cut(&mut draws, lattice);
    let parts = judged(&game, together, &cut);
    prop_assert!(
        (whole.charge_mm - parts.charge_mm).abs() < 0.05,
        "{:?}, every tape {}\n{:?}{}\n{:?}{}",
        sketch.lines,
        sketch.every_tape,
        sketch.legs,
        told(&whole),
        cut,
        told(&parts)
    );
    if !hangs_on_storing(&whole) {
        prop_assert_eq!(whole.verdict, parts.verdict);
    }
    Ok(())
}

/// The side of a straight line on which a point lies: how far to its left.
fn left_mm((from, to, _): &(Point, Point, bool), point: Point) -> f64 {
    let along = (to.x - from.x, to.y - from.y);
    let length = (along.0 * along.0 + along.1 * along.1).sqrt();
    (along.0 * (point.y - from.y) - along.1 * (point.x - from.x)) / length
}

/// One line that is longer than any way round it, followed by steps.
struct Sampled {
    line: (Point, Point, bool),
    every_tape: bool,
    paid: bool,
    charged: u32,
    /// The nearest that a sample was to anything on which the count could hang.
    nearest_mm: f64,
}

impl Sampled {
    fn is_clear(&self, block: &Footprint) -> bool {
        let sides = block.corners().map(|corner| left_mm(&self.line, corner));
        sides.iter().all(|side| *side > 0.005) || sides.iter().all(|side| *side < -0.005)
    }

    /// The point has gone from one side to the other between two samples.
    fn crossed(&mut self, before_mm: f64, now_mm: f64) -> bool {
        let climbs = before_mm < 0.0;
        let over = before_mm * now_mm < 0.0 && (climbs || !self.line.2);
        if over && (self.every_tape || !self.paid) {
            self.paid = true;
            self.charged += 1;
            return true;
        }
        false
    }

    fn clear(&mut self, block: &Footprint) {
        if self.is_clear(block) {
            self.paid = false;
        }
    }
}

/// What one long line charges by a walk in small steps.
fn sampled(
    line: (Point, Point, bool),
    every_tape: bool,
    start: Footprint,
    legs: &[(Leg, Footprint)],
) -> Sampled {
    const STEPS: u32 = 3000;
    let mut walk = Sampled {
        line,
        every_tape,
        paid: false,
        charged: 0,
        nearest_mm: f64::INFINITY,
    };
    walk.paid = !walk.is_clear(&start);
    let mut at = start;
    let mut times = [0_u32; 2];
    let mut wheels_to = None;
    for (leg, end) in legs {
        let side = match leg {
            Leg::Wheel { side, .. } => Some(*side),
            _ => None,
        };
        if side.is_none() || side != wheels_to {
            times = [0; 2];
        }
        wheels_to = side;
        if let Some(motion) = motion_of(&at, leg) {
            let corner = match (leg, motion) {
                (
                    Leg::Wheel {
                        side: Hand::Left, ..
                    },
                    _,
                ) => Some(at.front_right()),
                (Leg::Wheel { .. }, _) => Some(at.front_left()),
                _ => None,
            };
            let tracks: Vec<_> = [Some(at.anchor()), corner]
                .into_iter()
                .flatten()
                .map(|point| motion.track_of(point))
                .collect();
            let mut before: Vec<f64> = tracks
                .iter()
                .map(|track| left_mm(&line, track.start()))
                .collect();
            // how far each has been from the line since it crossed it, in a wheel
            let mut since = [f64::INFINITY; 2];
            for step in 1..=STEPS {
                let share = f64::from(step) / f64::from(STEPS);
                for (number, track) in tracks.iter().enumerate() {
                    let now = left_mm(&line, track.at(share));
                    // of the anchor and the corner of one wheel the one that crosses more often pays
                    let most = times[0].max(times[1]);
                    let pays_again = !every_tape || corner.is_none() || times[number] >= most;
                    if before[number] * now < 0.0 {
                        // come back over by little: the tolerance decides
                        walk.nearest_mm = smaller(walk.nearest_mm, since[number]);
                        since[number] = 0.0;
                    }
                    since[number] = larger(since[number], now.abs());
                    let over = before[number] * now < 0.0 && (before[number] < 0.0 || !line.2);
                    if pays_again {
                        walk.crossed(before[number], now);
                    }
                    times[number] += u32::from(over);
                    before[number] = now;
                }
                walk.clear(&motion.footprint_at(&at, share));
            }
            for side in before {
                walk.nearest_mm = smaller(walk.nearest_mm, side.abs());
            }
        } else {
            let (from, to) = (left_mm(&line, at.anchor()), left_mm(&line, end.anchor()));
            walk.crossed(from, to);
            walk.clear(end);
            walk.nearest_mm = smaller(walk.nearest_mm, to.abs());
        }
        for corner in end.corners() {
            walk.nearest_mm = smaller(walk.nearest_mm, left_mm(&line, corner).abs());
        }
        at = *end;
    }
    walk
}

/// A leg's motion, worked out here once more; `None` for a leg that lifts.
fn motion_of(start: &Footprint, leg: &Leg) -> Option<Motion> {
    let straight = |direction: Vector, distance: Extent| {
        let distance_mm = distance.amount().unwrap_or(0.0);
        Some(Motion::Straight {
            by: direction * distance_mm,
        })
    };
    match *leg {
        Leg::Forward { distance_mm, .. } => straight(start.ahead, distance_mm),
        Leg::Back { distance_mm, .. } => straight(-start.ahead, distance_mm),
        Leg::Sidestep {
            side, distance_mm, ..
        } => straight(start.right() * side.sign(), distance_mm),
        Leg::Oblique {
            side,
            angle_deg,
            distance_mm,
            ..
        } => straight(
            start.ahead.turned((side.sign() * angle_deg).to_radians()),
            distance_mm,
        ),
        Leg::Wheel {
            side, angle_deg, ..
        } => Some(Motion::Turn {
            pivot: if side == Hand::Left {
                start.front_left()
            } else {
                start.front_right()
            },
            clockwise_rad: (side.sign() * angle_deg.amount().unwrap_or(0.0)).to_radians(),
        }),
        _ => None,
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, max_global_rejects: 100_000, ..ProptestConfig::default() })]

    #[test]
    fn legs_cut_anywhere_are_charged_the_same(seed: u64, together: bool) {
        check_cut(seed, false, together)?;
    }

    #[test]
    fn legs_cut_on_a_lattice_are_charged_the_same(seed: u64, together: bool) {
        check_cut(seed, true, together)?;
    }

    /// Nobody crosses a line for nothing by any sequence of legs and turns, and nobody pays twice.
    #[test]
    fn lines_charge_what_a_sampled_walk_counts(seed: u64) {
        let mut draws = Draws::new(seed);
        let mut sketch = Sketch::drawn(&mut draws, false);
        let (a, b) = (sketch.lines[0].0, sketch.lines[0].1);
        // so long that no move goes round it, and one line only
        let longer = Point::new(b.x + (b.x - a.x), b.y + (b.y - a.y));
        let before = Point::new(a.x - (b.x - a.x), a.y - (b.y - a.y));
        let line = (before, longer, sketch.lines[0].2);
        sketch.lines = vec![line];
        let game = sketch.game();
        let verdict = judged(&game, false, &sketch.legs);
        let start = game.unit(&UnitId::from("r1")).and_then(crate::game::Unit::footprint).expect("it stands");
        let block = Block { frontage_mm: 80.0, depth_mm: 20.0 };
        let legs: Vec<(Leg, Footprint)> = sketch.legs.iter().zip(&verdict.legs).map(|(leg, made)| {
            let pose = crate::geometry::Pose::from_mm_deg(made.end.x_mm, made.end.y_mm, made.end.bearing_deg);
            (*leg, Footprint::new(&pose.expect("in reach").placement(), block))
        }).collect();
        let walk = sampled(line, sketch.every_tape, start, &legs);
        // within the tolerance of the line at the end of a leg other laws decide
        prop_assume!(walk.nearest_mm > 0.6);
        let charged: f64 = verdict.legs.iter().flat_map(|leg| &leg.lines).map(|line| line.charge_mm).sum();
        prop_assert!((charged - f64::from(walk.charged) * LINE_MM).abs() < 1e-6,
            "{} times, not {}: {:?} {:#?}", walk.charged, charged, sketch.legs, verdict);
    }

    /// A quarter turn of a lattice table changes nothing at all.
    #[test]
    fn a_lattice_table_turned_is_charged_the_same(seed: u64, together: bool) {
        let sketch = Sketch::drawn(&mut Draws::new(seed), true);
        let here = judged(&sketch.game(), together, &sketch.legs);
        let turn = |p: Point| Point::new(p.y, TABLE_MM - p.x);
        let turned = Sketch {
            units: sketch.units.iter().map(|&(x, y, bearing)| {
                let to = turn(Point::new(x, y));
                (to.x, to.y, bearing + 90.0)
            }).collect(),
            lines: sketch.lines.iter().map(|&(a, b, slope)| (turn(a), turn(b), slope)).collect(),
            patch: sketch.patch.map(turn),
            legs: sketch.legs.clone(),
            every_tape: sketch.every_tape,
        };
        let there = judged(&turned.game(), together, &turned.legs);
        prop_assert!((here.charge_mm - there.charge_mm).abs() < 1e-6, "{:#?}\n{:#?}", here, there);
        prop_assert_eq!(here.verdict, there.verdict);
    }

    /// *up to* is legal whatever lines there are, and a hair more is not.
    #[test]
    fn up_to_lasts_just_as_long_as_the_allowance(seed: u64, lattice: bool) {
        let sketch = Sketch::drawn(&mut Draws::new(seed), lattice);
        let game = sketch.game();
        let mut legs: Vec<Leg> = sketch.legs.iter().filter(|leg| motion_of_any(leg)).copied().collect();
        legs.truncate(2);
        legs.push(Leg::Forward { distance_mm: Extent::UpTo(400.0) });
        let before = judged(&game, false, &legs[..legs.len() - 1]);
        prop_assume!(before.verdict == Ruling::Legal);
        let verdict = judged(&game, false, &legs);
        let only_friends = verdict.reasons.iter().all(|reason| reason.code() == crate::verdict::Code::EndsOnFriend);
        prop_assert!(only_friends, "{:?} {:#?}", legs, verdict);
        prop_assume!(verdict.legs[legs.len() - 1].stopped_by.as_deref() == Some("allowance"));
        let last = legs.len() - 1;
        legs[last] = Leg::Forward { distance_mm: Extent::Exactly(verdict.legs[last].tape_mm + 0.1) };
        let more = judged(&game, false, &legs);
        let is_over = more.reasons.iter().any(|reason| reason.code() == crate::verdict::Code::OverAllowance);
        prop_assert!(is_over, "{:?} after {:#?}: {:#?}", legs, verdict, more);
    }
}

fn motion_of_any(leg: &Leg) -> bool {
    !matches!(leg, Leg::Turn { .. } | Leg::About)
}
