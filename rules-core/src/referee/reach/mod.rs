//! The ground a unit can reach in one turn.
//!
//! Legs in any number and order are without end, so the law names the moves that count. The figures
//! may first be turned left, right or about, or stay as they are. Then follows one of
//!
//! - forward;
//! - an oblique to either side by any angle the rules allow;
//! - a wheel to either side by any angle, then forward;
//! - only without a turn first: straight back, or a sidestep to either side.
//!
//! Each leg may have any length, from none to the last that is legal: allowance with terrain, lines, roads and
//! fixed charges, halt zones and locks, contact, impassable ground, the table's edge, friends it may
//! not end on. Where the unit stands counts as reached. Moves of more legs may get a little farther behind obstacles.
//!
//! How it is computed: every kind of move is a ray or a fan of rays; of each ray the walk's own limits
//! and charges tell where it may end ([`Probe`]). Bearings tell which things each ray may meet
//! ([`Outlook`]). Fans are sampled, and refined where the ends of neighbouring rays lie unevenly ([`fan`]). The ground of neighbouring rays is filled into a fine grid ([`raster`]), and the lines about
//! the filled cells are the outlines ([`outlines`]). What they may be off adds up to less than [`WITHIN_MM`];
//! it grows with the grid's cell for moves of more than four metres.

mod fan;
mod ground;
mod hull;
mod outlines;
mod raster;
#[cfg(test)]
mod rays;
#[cfg(test)]
mod tests;

use crate::game::{Game, Unit};
use crate::geometry::{Bounds, Footprint, Point, Vector, larger, smaller};
use crate::orders::{Hand, Leg, UnitId};
use crate::verdict::Reach;

use super::measure::MeasureFault;
use super::movement::{Course, Outlook, Probe, Sector, Stance, View};
use fan::{Ray, Spread};
use ground::Ground;

/// How far an outline may be from the truth, in millimetres.
const WITHIN_MM: f64 = 2.0;

/// The ground that a unit on the table can reach as if its side's turn began now: where its anchor can
/// come to stand, and what its footprint can come to cover.
///
/// # Errors
/// When the unit does not exist or is not on the table.
pub fn reach(game: &Game, id: &UnitId) -> Result<Reach, MeasureFault> {
    let unit = game
        .unit(id)
        .ok_or_else(|| MeasureFault::NoSuchUnit(id.clone()))?;
    let probe =
        Probe::begin(game, unit, None).ok_or_else(|| MeasureFault::NotOnTable(id.clone()))?;
    let mut search = Search {
        game,
        unit,
        ground: Ground::within(&bounds(game, &probe)),
        families: Vec::new(),
    };
    let (in_command, allowance_mm) = (probe.in_command(), probe.allowance_mm());
    search.ground.stand(&probe.here().placement, probe.block());
    search.moves(None, probe);
    for lift in [
        Leg::Turn { side: Hand::Left },
        Leg::Turn { side: Hand::Right },
        Leg::About,
    ] {
        if let Some(probe) = Probe::begin(game, unit, Some(lift)) {
            search.moves(Some(lift), probe);
        }
    }
    let drawn = search.ground.outlines();
    Ok(Reach {
        unit: id.clone(),
        in_command,
        allowance_mm,
        anchor: drawn.anchor,
        footprint: drawn.footprint,
        families: search.families,
        within_mm: larger(WITHIN_MM, WITHIN_MM * drawn.cell_mm),
    })
}

/// Bounds of everything a unit could cover on the table, whatever stood in its way.
fn bounds(game: &Game, probe: &Probe<'_>) -> Bounds {
    let here = probe.here();
    let footprint = Footprint::new(&here.placement, probe.block());
    let reach_mm = footprint.reach() + probe.travel_mm();
    let about = Bounds::about(&[footprint.centre]).widened(reach_mm);
    let table = &game.ground().table;
    Bounds {
        low: Point::new(larger(about.low.x, 0.0), larger(about.low.y, 0.0)),
        high: Point::new(
            smaller(about.high.x, table.width_mm),
            smaller(about.high.y, table.depth_mm),
        ),
    }
}

struct Search<'a> {
    game: &'a Game,
    unit: &'a Unit,
    ground: Ground,
    families: Vec<String>,
}

impl Search<'_> {
    /// Every kind of move after one turn of the figures, or none.
    fn moves(&mut self, lift: Option<Leg>, mut probe: Probe<'_>) {
        let movement = &self.game.ruleset().movement;
        let here = probe.here();
        let (ahead, right) = (here.placement.ahead, here.placement.right());
        let first = match lift {
            None => String::new(),
            Some(Leg::Turn { side }) => format!("turn {}, ", side.word()),
            Some(_) => "about, ".to_owned(),
        };
        let mut lines = vec![("forward", ahead, movement.forward)];
        if lift.is_none() {
            lines.push(("back", -ahead, movement.back));
            lines.push(("sidestep left", -right, movement.sidestep));
            lines.push(("sidestep right", right, movement.sidestep));
        }
        let everything = probe.everything();
        let view = View {
            outlook: &everything,
            angle_rad: 0.0,
        };
        for (name, along, rate) in lines {
            let course = Course {
                along,
                rate,
                minimum: name == "forward",
            };
            let ray = cast(&mut probe, here.clone(), &view, &course);
            self.add(format!("{first}{name}"), &probe, vec![ray]);
        }
        for side in [Hand::Left, Hand::Right] {
            let rays = self.obliques(&mut probe, side);
            self.add(format!("{first}oblique {}", side.word()), &probe, rays);
            let rays = self.wheels(&mut probe, side);
            self.add(
                format!("{first}wheel {}, forward", side.word()),
                &probe,
                rays,
            );
        }
    }

    fn add(&mut self, name: String, probe: &Probe<'_>, rays: Vec<Ray>) {
        if rays.iter().any(|ray| !ray.run.stretches.is_empty()) {
            self.families.push(name);
            self.ground.cover(&rays, probe.block());
        }
    }

    fn obliques(&self, probe: &mut Probe<'_>, side: Hand) -> Vec<Ray> {
        let movement = &self.game.ruleset().movement;
        let here = probe.here();
        let widest_rad = movement.oblique_max.to_radians();
        if widest_rad <= 0.0 {
            return Vec::new();
        }
        let farthest_mm = probe.longest_mm(&here, movement.oblique);
        let turns = self.turns(farthest_mm, &here, |beside, ahead| {
            Some(libm::atan2(beside * side.sign(), ahead))
        });
        let outlook = outlook_of_obliques(probe, side, farthest_mm);
        let spread = Spread {
            widest_rad,
            arm_mm: 0.0,
            farthest_mm,
            block_mm: smaller(probe.block().frontage_mm, probe.block().depth_mm),
            turns: &turns,
        };
        fan::rays(&spread, |angle_rad| {
            let course = Course {
                along: here.placement.ahead.turned(side.sign() * angle_rad),
                rate: movement.oblique,
                minimum: false,
            };
            let outlook = &outlook;
            cast(probe, here.clone(), &View { outlook, angle_rad }, &course)
        })
    }

    fn wheels(&self, probe: &mut Probe<'_>, side: Hand) -> Vec<Ray> {
        let movement = &self.game.ruleset().movement;
        let Some(wheels) = probe.wheels(side) else {
            return Vec::new();
        };
        let here = probe.here();
        let half_mm = probe.block().frontage_mm / 2.0;
        let farthest_mm = probe.longest_mm(&here, movement.forward);
        // after a wheel by a the tape runs half a frontage beside the pivot, so it goes through a
        // place at distance w and angle f from the line of the front where cos(f - a) = half / w
        let turns = self.turns(farthest_mm, &here, |beside, ahead| {
            let (across, away) = (half_mm - beside * side.sign(), ahead);
            let reach_mm = (across * across + away * away).sqrt();
            (reach_mm > half_mm).then(|| {
                let angle = libm::atan2(away, across) - libm::acos(half_mm / reach_mm);
                if angle < 0.0 {
                    angle + std::f64::consts::TAU
                } else {
                    angle
                }
            })
        });
        let outlook = outlook_of_wheels(self.game, probe, side, &wheels.by(0.0));
        let spread = Spread {
            widest_rad: wheels.widest_rad,
            arm_mm: 2.0 * half_mm,
            farthest_mm,
            block_mm: smaller(probe.block().frontage_mm, probe.block().depth_mm),
            turns: &turns,
        };
        fan::rays(&spread, |angle_rad| {
            let from = wheels.by(angle_rad);
            let course = Course {
                along: from.placement.ahead,
                rate: movement.forward,
                minimum: false,
            };
            let outlook = &outlook;
            cast(probe, from, &View { outlook, angle_rad }, &course)
        })
    }

    /// Angles just beside those at which a tape would go through a corner of the ground: where a road
    /// or a bridge begins and ends. `angle_to` takes a place to the right of the anchor and ahead of it.
    fn turns(
        &self,
        farthest_mm: f64,
        here: &Stance,
        angle_to: impl Fn(f64, f64) -> Option<f64>,
    ) -> Vec<f64> {
        const BESIDE_MM: f64 = 0.1;
        let anchor = here.placement.anchor;
        let (right, ahead) = (here.placement.right(), here.placement.ahead);
        let near_mm = farthest_mm + 2.0 * self.unit.block().frontage_mm;
        let mut turns = Vec::new();
        for place in corners(self.game) {
            let to: Vector = place - anchor;
            let away_mm = to.length();
            if away_mm > near_mm || away_mm < BESIDE_MM {
                continue;
            }
            if let Some(angle) = angle_to(to.dot(right), to.dot(ahead)) {
                let beside = BESIDE_MM / away_mm;
                turns.extend([angle - beside, angle + beside]);
            }
        }
        turns
    }
}

/// What may matter to obliques: all that comes near the circle about a footprint that slides.
fn outlook_of_obliques(probe: &Probe<'_>, side: Hand, farthest_mm: f64) -> Outlook {
    let here = probe.here();
    let footprint = Footprint::new(&here.placement, probe.block());
    let reach_mm = footprint.reach();
    let sector = Sector {
        pivot: footprint.centre,
        ahead: footprint.ahead,
        sign: side.sign(),
        sides_mm: (reach_mm, reach_mm),
        ends_mm: (reach_mm, reach_mm),
        longest_mm: farthest_mm,
        shrinks_mm: 0.0,
    };
    probe.outlook(&here, &sector)
}

/// What may matter to marches after wheels, which begin with `from`.
fn outlook_of_wheels(game: &Game, probe: &Probe<'_>, side: Hand, from: &Stance) -> Outlook {
    let movement = &game.ruleset().movement;
    let block = probe.block();
    let footprint = Footprint::new(&from.placement, block);
    let table = &game.ground().table;
    let across_mm = Vector::new(table.width_mm, table.depth_mm).length();
    let longest_mm = probe.longest_mm(from, movement.forward);
    // what every radian costs, in tape of the march, unless something else ends that
    let shrinks_mm = if movement.minimum_move.is_none() && longest_mm < across_mm {
        block.frontage_mm * movement.wheel / movement.forward
    } else {
        0.0
    };
    let sector = Sector {
        pivot: match side {
            Hand::Left => footprint.front_left(),
            Hand::Right => footprint.front_right(),
        },
        ahead: footprint.ahead,
        sign: side.sign(),
        sides_mm: (0.0, block.frontage_mm),
        ends_mm: (block.depth_mm, 0.0),
        longest_mm,
        shrinks_mm,
    };
    probe.outlook(from, &sector)
}

/// Corners of the ground that charges: of patches and roads, and the ends of bridges, fords and gaps.
fn corners(game: &Game) -> impl Iterator<Item = Point> {
    let ground = game.ground();
    let patches = ground.patches.iter().flat_map(|patch| {
        let rings = patch.outline.holes().iter().map(Vec::as_slice);
        rings.chain([patch.outline.outer()]).flatten().copied()
    });
    let spans = ground.lines.iter().flat_map(|line| {
        line.spans
            .iter()
            .flat_map(|span| [span.from_mm, span.to_mm])
            .map(|along_mm| line.course.at_along(along_mm))
    });
    let lines = ground
        .lines
        .iter()
        .flat_map(|line| line.course.points().iter().copied());
    let roads = ground
        .roads
        .iter()
        .flat_map(|road| road.course.points().iter().copied());
    patches.chain(spans).chain(lines).chain(roads)
}

fn cast(probe: &mut Probe<'_>, from: Stance, view: &View<'_>, course: &Course) -> Ray {
    Ray {
        angle_rad: view.angle_rad,
        along: course.along,
        run: probe.straight(&from, course, view),
        from,
        joins_next: false,
    }
}

/// What a unit covers on a ray, so far along.
fn footprint_on(ray: &Ray, block: crate::geometry::Block, along_mm: f64) -> Footprint {
    Footprint::new(&ray.from.placement.shifted(ray.along * along_mm), block)
}
