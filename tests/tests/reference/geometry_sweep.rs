//! First contact and every span of straight and turning sweeps. Reference: crate `geo` 0.33's
//! polygon distance, stepped forward conservatively (never farther than the distance allows),
//! and sampled at random shares.

use fieldpost_rules::geometry::{Footprint, Motion, Span, distance_mm, spans_within};
use geo::{Distance, Euclidean};

use super::geometry_random::{CASES, Random, Worst, geo_footprint};

/// The stepping stops this close to the limit.
const NEAR_MM: f64 = 5e-4;
/// Half of the band in which contact and a near miss are the same.
const BAND_MM: f64 = 0.001;

struct Case {
    moving: Footprint,
    motion: Motion,
    obstacle: geo::Polygon<f64>,
    reach_mm: f64,
}

impl Case {
    fn gap(&self, share: f64) -> f64 {
        let there = geo_footprint(&self.motion.footprint_at(&self.moving, share));
        Euclidean.distance(&there, &self.obstacle) - self.reach_mm
    }

    /// No point of the footprint moves faster than this, in millimetres over the motion.
    fn fastest(&self) -> f64 {
        match self.motion {
            Motion::Straight { by } => by.length(),
            Motion::Turn {
                pivot,
                clockwise_rad,
            } => {
                self.moving
                    .corners()
                    .map(|corner| corner.distance_to(pivot))
                    .into_iter()
                    .fold(0.0, f64::max)
                    * clockwise_rad.abs()
            }
        }
    }

    /// First share at which geo's distance is within `NEAR_MM` of the reach: 2 when it never
    /// is, nothing when the stepping stalls.
    fn stepped(&self) -> Option<f64> {
        let fastest = self.fastest();
        let mut share = 0.0;
        for _ in 0..400 {
            let gap = self.gap(share);
            if gap <= NEAR_MM {
                return Some(share);
            }
            share += gap / fastest;
            if share > 1.0 {
                return Some(2.0);
            }
        }
        None
    }
}

fn first(spans: &[Span]) -> f64 {
    spans.first().map_or(2.0, |span| span.from)
}

fn judge(kernel: &str, seed: u64, motion_of: impl Fn(&mut Random, &Footprint) -> Motion) {
    let mut random = Random::seeded(seed);
    let mut worst = Worst::default();
    let (mut contacts, mut stalls) = (0, 0);
    for _ in 0..CASES {
        let moving = random.footprint(150.0);
        let motion = motion_of(&mut random, &moving);
        let obstacle = random.footprint(150.0);
        let reach_mm = [0.0, 1.0, 20.0, 300.0][random.below(4) as usize]
            * [1.0, random.between(0.1, 1.0)][random.below(2) as usize];
        let spans = spans_within(&moving, &motion, &obstacle, reach_mm);
        let case = Case {
            moving,
            motion,
            obstacle: geo_footprint(&obstacle),
            reach_mm,
        };
        let shown = || format!("{moving:?} {motion:?} {obstacle:?} {reach_mm}: {spans:?}");
        // geo's distance at both ends of every span is the reach, and less between
        for span in &spans {
            for end in [span.from, span.to] {
                if end > 0.0 && end < 1.0 {
                    contacts += 1;
                    worst.take(case.gap(end), shown);
                }
            }
            assert!(
                case.gap(span.middle()) < BAND_MM,
                "false contact: {}",
                shown()
            );
        }
        for _ in 0..3 {
            let share = random.between(0.0, 1.0);
            let gap = case.gap(share);
            if !spans.iter().any(|span| span.holds(share)) {
                assert!(gap > -BAND_MM, "missed at {share} by {gap}: {}", shown());
            }
        }
        // the stepped first contact lies between ours and ours for a reach wider by the band
        match case.stepped() {
            None => stalls += 1,
            Some(stepped) => {
                let early = first(&spans_within(
                    &moving,
                    &motion,
                    &obstacle,
                    reach_mm + BAND_MM,
                ));
                let exact = first(&spans);
                assert!(
                    early <= stepped + 1e-9,
                    "missed at {stepped}: {early}, {}",
                    shown()
                );
                assert!(
                    stepped <= exact + 1e-9,
                    "first contact {exact}, stepped {stepped}: {}",
                    shown()
                );
            }
        }
    }
    worst.report(kernel);
    println!("{kernel}: {contacts} ends of spans, {stalls} steppings stalled");
    assert!(contacts > CASES / 4, "too few contacts to mean anything");
    assert!(stalls < CASES / 50, "the reference stalls too often");
}

#[test]
fn straight_sweeps() {
    judge("straight sweep", 11, |random, _| random.straight());
}

#[test]
fn turning_sweeps() {
    judge("turning sweep", 12, |random, of| random.turn(of));
}

/// The case in which general nonlinear casting misses the contact: a 3-4-5 triangle.
#[test]
fn the_pinned_turn() {
    let footprint = |x: f64, y: f64, frontage: f64, depth: f64| Footprint {
        centre: fieldpost_rules::geometry::Point::new(x, y),
        ahead: fieldpost_rules::geometry::Vector::new(0.0, 1.0),
        half_frontage: frontage / 2.0,
        half_depth: depth / 2.0,
    };
    let (moving, obstacle) = (
        footprint(0.0, 0.0, 80.0, 40.0),
        footprint(-10.0, -70.0, 40.0, 20.0),
    );
    let motion = Motion::Turn {
        pivot: moving.front_right(),
        clockwise_rad: -std::f64::consts::PI,
    };
    let spans = spans_within(&moving, &motion, &obstacle, 0.0);
    let degrees = spans[0].from * 180.0;
    assert!((degrees - 36.869_897_645_844).abs() < 1e-9, "{degrees}");
    let touching = motion.footprint_at(&moving, spans[0].from);
    assert!(distance_mm(&touching, &obstacle) < 1e-9);
    let apart = Euclidean.distance(&geo_footprint(&touching), &geo_footprint(&obstacle));
    assert!(apart < 1e-6, "{apart}");
}
