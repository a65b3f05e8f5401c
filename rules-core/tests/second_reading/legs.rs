//! What each leg does with the footprints of a unit or a body, and the tape it lays.

use std::f64::consts::{FRAC_PI_2, PI};

use fieldpost_rules::orders::{Extent, Hand, Leg};

use crate::paths::Path;
use crate::plane::{Point, Rect, Vector};
use crate::table::{Table, Unit};

/// What a footprint does in a leg.
#[derive(Debug, Clone, Copy)]
pub enum Motion {
    Slide(Vector),
    Swing {
        about: Point,
        rad: f64,
    },
    /// Lifted and set down there.
    Lift(Rect),
    /// It stays where it is, and nothing is judged of it.
    Rest,
}

/// The kind of a leg, as the laws tell them apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    Straight,
    Wheel,
    Turn,
    Align,
    Reform,
    /// Not possible, or an *up to* that does not move.
    Nothing,
}

/// One unit's part in one leg.
#[derive(Debug, Clone, Copy)]
pub struct Step {
    pub kind: Kind,
    pub hand: Option<Hand>,
    pub from: Rect,
    pub motion: Motion,
    pub factor: f64,
    pub fixed_mm: f64,
    /// The front corner whose arc a wheel measures: the right one when it wheels left.
    pub outer_left: bool,
}

impl Step {
    pub fn rect_at(&self, share: f64) -> Rect {
        match self.motion {
            Motion::Slide(by) => self.from.moved(by * share),
            Motion::Swing { about, rad } => self.from.turned(about, rad * share),
            Motion::Lift(to) => to,
            Motion::Rest => self.from,
        }
    }

    pub fn end(&self) -> Rect {
        self.rect_at(1.0)
    }

    pub fn sweeps(&self) -> bool {
        matches!(self.motion, Motion::Slide(_) | Motion::Swing { .. })
    }

    /// The track of a point carried along.
    pub fn track(&self, point: Point) -> Path {
        match self.motion {
            Motion::Slide(by) => Path::Straight { from: point, by },
            Motion::Swing { about, rad } => Path::Arc {
                about,
                from: point,
                rad,
            },
            Motion::Lift(to) => Path::Straight {
                from: point,
                by: to.anchor - self.from.anchor,
            },
            Motion::Rest => Path::Straight {
                from: point,
                by: Vector::ZERO,
            },
        }
    }

    /// The track of a point of the table as the footprint sees it.
    pub fn track_of_ground(&self, point: Point) -> Path {
        match self.motion {
            Motion::Slide(by) => Path::Straight {
                from: point,
                by: -by,
            },
            Motion::Swing { about, rad } => Path::Arc {
                about,
                from: point,
                rad: -rad,
            },
            _ => Path::Straight {
                from: point,
                by: Vector::ZERO,
            },
        }
    }

    /// The tape that it lays.
    pub fn tape(&self) -> Option<Path> {
        match self.kind {
            Kind::Straight => Some(self.track(self.from.anchor)),
            Kind::Wheel => Some(self.track(if self.outer_left {
                self.from.front_left()
            } else {
                self.from.front_right()
            })),
            _ => None,
        }
    }

    /// The greatest way that any of its points goes.
    pub fn longest(&self) -> f64 {
        match self.motion {
            Motion::Slide(by) => by.length(),
            Motion::Swing { about, rad } => {
                let far = self.from.corners().map(|corner| corner.distance_to(about));
                far.into_iter().fold(0.0, f64::max) * rad.abs()
            }
            _ => 0.0,
        }
    }

    /// The first share of it, for legs that sweep.
    pub fn cut(&self, share: f64) -> Self {
        let motion = match self.motion {
            Motion::Slide(by) => Motion::Slide(by * share),
            Motion::Swing { about, rad } => Motion::Swing {
                about,
                rad: rad * share,
            },
            other => other,
        };
        let kind = if share * self.longest() < 1e-7 && self.sweeps() {
            Kind::Nothing
        } else {
            self.kind
        };
        Self {
            motion,
            kind,
            ..*self
        }
    }
}

/// A leg as all units of a body make it.
pub struct Plan {
    pub steps: Vec<Step>,
    /// Why it cannot be at all.
    pub impossible: bool,
    /// An angle and its limit and tolerance, in degrees.
    pub angle: Option<(f64, f64, f64)>,
    pub align_deg: f64,
    pub files: Option<u16>,
}

/// The amount that a leg goes at most; these tests always name one.
fn amount(extent: Extent) -> f64 {
    extent.amount().unwrap_or(1000.0)
}

fn signed(hand: Hand, deg: f64) -> f64 {
    match hand {
        Hand::Left => -deg.to_radians(),
        Hand::Right => deg.to_radians(),
    }
}

/// Where a leg would take the units that stand so; `body` for an order that moves them together.
pub fn plan(table: &Table, units: &[&Unit], rects: &[Rect], order: &Leg, body: bool) -> Plan {
    let movement = &table.rules.movement;
    let scale = &table.rules.scale;
    let all = least_rect(rects);
    let mut plan = Plan {
        steps: Vec::new(),
        impossible: false,
        angle: None,
        align_deg: 0.0,
        files: None,
    };
    let tolerance_deg = |wide: f64| (table.tolerance_mm / (wide / 2.0)).to_degrees();
    let first = rects[0];
    let slide = |by: Vector, factor: f64| {
        (
            Kind::Straight,
            None,
            Box::new(move |_: &Rect, _: &Unit| Motion::Slide(by)) as Mover,
            factor,
            0.0,
        )
    };
    let (kind, hand, mover, factor, fixed_mm): (Kind, Option<Hand>, Mover, f64, f64) = match *order
    {
        Leg::Forward { distance_mm, .. } => {
            slide(first.ahead * amount(distance_mm), movement.forward)
        }
        Leg::Back { distance_mm, .. } => slide(first.ahead * -amount(distance_mm), movement.back),
        Leg::Sidestep {
            side, distance_mm, ..
        } => {
            let sign = if side == Hand::Left { -1.0 } else { 1.0 };
            slide(
                first.right() * (sign * amount(distance_mm)),
                movement.sidestep,
            )
        }
        Leg::Oblique {
            side,
            angle_deg,
            distance_mm,
            ..
        } => {
            plan.angle = Some((angle_deg, movement.oblique_max, tolerance_deg(all.wide)));
            let way = crate::plane::turned(first.ahead, signed(side, angle_deg));
            slide(way * amount(distance_mm), movement.oblique)
        }
        Leg::Wheel {
            side, angle_deg, ..
        } => {
            let about = if side == Hand::Left {
                all.front_left()
            } else {
                all.front_right()
            };
            let rad = signed(side, amount(angle_deg));
            let mover: Mover = Box::new(move |_, _| Motion::Swing { about, rad });
            (Kind::Wheel, Some(side), mover, movement.wheel, 0.0)
        }
        Leg::Turn { side } => {
            let rad = signed(side, 90.0);
            let mover: Mover = Box::new(move |rect, _| Motion::Lift(spun(rect, rad)));
            (Kind::Turn, None, mover, 0.0, movement.turn.mm(scale))
        }
        Leg::About => {
            let mover: Mover = Box::new(|rect, _| Motion::Lift(spun(rect, PI)));
            (Kind::Turn, None, mover, 0.0, movement.about.mm(scale))
        }
        Leg::Align { side, angle_deg } => {
            plan.impossible = body;
            plan.align_deg = angle_deg;
            let rad = signed(side, angle_deg);
            let mover: Mover = Box::new(move |rect, _| Motion::Lift(rect.turned(rect.anchor, rad)));
            (Kind::Align, None, mover, 0.0, 0.0)
        }
        Leg::Reform { files, ranks } => {
            let bases = u32::from(units[0].bases);
            let (wide, deep) = (u32::from(files), u32::from(ranks));
            let holds = files > 0 && ranks > 0 && wide * deep >= bases && wide * (deep - 1) < bases;
            plan.impossible = body || !holds;
            plan.files = Some(files);
            let mover: Mover = Box::new(move |rect, unit| {
                let block = Unit {
                    files,
                    ..unit.clone()
                };
                Motion::Lift(block.fitted(rect))
            });
            (Kind::Reform, None, mover, 0.0, movement.reform.mm(scale))
        }
    };
    for (rect, unit) in rects.iter().zip(units) {
        let motion = if plan.impossible {
            Motion::Rest
        } else {
            mover(rect, unit)
        };
        let outer_left = match motion {
            Motion::Swing { about, .. } => {
                rect.front_left().distance_to(about) > rect.front_right().distance_to(about)
            }
            _ => false,
        };
        let (kind, fixed_mm) = if plan.impossible {
            (Kind::Nothing, 0.0)
        } else {
            (kind, fixed_mm)
        };
        plan.steps.push(Step {
            kind,
            hand,
            from: *rect,
            motion,
            factor,
            fixed_mm,
            outer_left,
        });
    }
    plan
}

type Mover = Box<dyn Fn(&Rect, &Unit) -> Motion>;

/// Turned about its own centre.
fn spun(rect: &Rect, rad: f64) -> Rect {
    let quarters = (rad / FRAC_PI_2).round();
    let ahead = crate::plane::turned(rect.ahead, quarters * FRAC_PI_2);
    let centre = rect.centre();
    Rect {
        anchor: centre + ahead * (rect.deep / 2.0),
        ahead,
        ..*rect
    }
}

/// The least rectangle, along the first one's bearing, that holds them all.
pub fn least_rect(rects: &[Rect]) -> Rect {
    let first = rects[0];
    let mut low = (f64::INFINITY, f64::INFINITY);
    let mut high = (f64::NEG_INFINITY, f64::NEG_INFINITY);
    for corner in rects.iter().flat_map(Rect::corners) {
        let (x, y) = first.local(corner);
        low = (low.0.min(x), low.1.min(y));
        high = (high.0.max(x), high.1.max(y));
    }
    let middle = (low.0 + high.0) / 2.0;
    Rect {
        anchor: first.centre() + first.right() * middle + first.ahead * high.1,
        ahead: first.ahead,
        wide: high.0 - low.0,
        deep: high.1 - low.1,
    }
}
