//! Battlefields and orders drawn from a number, for properties of the laws: every setting, ground of
//! every kind, units close enough to be in each other's way.

#![allow(missing_docs, dead_code, reason = "drawers that tests share")]

use crate::game::{Game, Ground, GroundLine, GroundPatch, GroundRoad, GroundSpan};
use crate::geometry::{Point, Polygon, Polyline, signed_distance_mm};
use crate::orders::{Extent, Hand, Leg, Order, UnitId};
use crate::ruleset::{
    ChargeLines, Distance, LineKind, MinimumMove, Ruleset, TerrainBy, TerrainKind, ZoneExit,
    ZoneFront,
};
use crate::scenario::UnitEntry;

use super::testing::{bare_ground, block, game_on, rules, scenario};

/// Numbers that follow from a seed (SplitMix64, from memory).
#[derive(Debug, Clone)]
pub struct Draws(u64);

impl Draws {
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number between two.
    #[expect(clippy::cast_precision_loss, reason = "53 bits")]
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (self.next() >> 11) as f64 / (1_u64 << 53) as f64 * (high - low)
    }

    /// One of so many, from 0.
    pub fn below(&mut self, count: usize) -> usize {
        usize::try_from(self.next() % count as u64).expect("small")
    }

    /// Whether a chance comes true.
    pub fn chance(&mut self, share: f64) -> bool {
        self.between(0.0, 1.0) < share
    }

    pub fn one_of<T: Copy>(&mut self, choices: &[T]) -> T {
        choices[self.below(choices.len())]
    }
}

/// Rules with some settings other than the default.
pub fn wild_rules(draws: &mut Draws) -> Ruleset {
    let mut ruleset = rules();
    ruleset.zones.zone_exit = draws.one_of(&[ZoneExit::Locked, ZoneExit::Pay, ZoneExit::Free]);
    ruleset.zones.zone_front = draws.one_of(&[ZoneFront::AllRound, ZoneFront::Ahead]);
    let movement = &mut ruleset.movement;
    movement.pass_friends = draws.chance(0.7);
    movement.oblique_max = draws.one_of(&[45.0, 30.0, 0.0]);
    movement.terrain_by = draws.one_of(&[TerrainBy::Tape, TerrainBy::Tape, TerrainBy::Base]);
    movement.charge_lines = draws.one_of(&[ChargeLines::FirstBase, ChargeLines::EveryTape]);
    movement.minimum_move = draws.chance(0.2).then_some(MinimumMove {
        forward: Distance::new(1.0),
    });
    ruleset
}

/// Ground with rough and impassable patches, a stream with a bridge, a slope and a road.
pub fn wild_ground(draws: &mut Draws) -> Ground {
    let mut ground = bare_ground();
    for index in 0..draws.below(5) {
        ground.patches.push(wild_patch(draws, index));
    }
    for index in 0..draws.below(3) {
        ground.lines.push(wild_line(draws, index));
    }
    if draws.chance(0.5) {
        ground.roads.push(GroundRoad {
            name: "highway".to_owned(),
            course: wild_course(draws),
            half_width_mm: draws.between(5.0, 20.0),
        });
    }
    ground
}

fn wild_patch(draws: &mut Draws, index: usize) -> GroundPatch {
    let middle = Point::new(draws.between(350.0, 850.0), draws.between(450.0, 850.0));
    let corners = 3 + draws.below(4);
    let mut outline = Vec::new();
    for corner in 0..corners {
        #[expect(clippy::cast_precision_loss, reason = "a few corners")]
        let bearing =
            std::f64::consts::TAU * (corner as f64 + draws.between(0.0, 0.7)) / corners as f64;
        let out = draws.between(15.0, 120.0);
        outline.push(middle + crate::geometry::Vector::along_bearing(bearing) * out);
    }
    let kind = draws.below(3);
    GroundPatch {
        name: format!("patch {index}"),
        kind_name: ["rough", "crag", "firm"][kind].to_owned(),
        kind: TerrainKind {
            rate: [2.0, 1.0, 0.5][kind],
            impassable: kind == 1,
            ..TerrainKind::default()
        },
        outline: Polygon::new(outline, Vec::new()).expect("a star about its middle"),
    }
}

fn wild_course(draws: &mut Draws) -> Polyline {
    let mut points = vec![Point::new(
        draws.between(250.0, 450.0),
        draws.between(500.0, 800.0),
    )];
    points.push(Point::new(
        draws.between(500.0, 700.0),
        draws.between(500.0, 800.0),
    ));
    points.push(Point::new(
        draws.between(750.0, 950.0),
        draws.between(500.0, 800.0),
    ));
    Polyline::new(points).expect("it runs east")
}

fn wild_line(draws: &mut Draws, index: usize) -> GroundLine {
    let course = wild_course(draws);
    let at = draws.between(0.0, course.length_mm());
    GroundLine {
        name: format!("line {index}"),
        kind_name: "stream".to_owned(),
        kind: LineKind {
            slope: draws.chance(0.4),
            ..LineKind::default()
        },
        charge_mm: draws.one_of(&[40.0, 80.0]),
        spans: vec![GroundSpan {
            name: "bridge".to_owned(),
            from_mm: at - 20.0,
            to_mm: at + 20.0,
        }],
        course,
    }
}

/// A battlefield on which no two units overlap. Red moves; its units are r1, r2 and so on.
pub fn wild_game(draws: &mut Draws) -> Game {
    let ruleset = wild_rules(draws);
    let mut units: Vec<UnitEntry> = Vec::new();
    let mut chosen: Option<Game> = None;
    let ground = wild_ground(draws);
    let (red, blue) = (1 + draws.below(4), draws.below(6));
    for number in 0..red + blue {
        let id = if number < red {
            format!("r{}", number + 1)
        } else {
            format!("b{}", number + 1 - red)
        };
        for _ in 0..20 {
            let size = (1 + draws.below(4), 1 + draws.below(2));
            let size = (
                u16::try_from(size.0).expect("small"),
                u16::try_from(size.1).expect("small"),
            );
            let troops = draws.one_of(&["foot", "foot", "horse", "guns"]);
            let near = if number == 0 { 20.0 } else { 220.0 };
            let at = (
                600.0 + draws.between(-near, near),
                600.0 + draws.between(-near, near),
                draws.one_of(&[0.0, 90.0, 180.0, 270.0, draws.clone().between(0.0, 360.0)]),
            );
            units.push(block(&id, troops, size, at));
            let game = game_on(ruleset.clone(), scenario(units.clone()), ground.clone());
            if is_clear(&game, &id) {
                chosen = Some(game);
                break;
            }
            units.pop();
        }
        if units.is_empty() {
            break;
        }
    }
    chosen.unwrap_or_else(|| {
        let alone = vec![block("r1", "foot", (2, 1), (600.0, 600.0, 0.0))];
        game_on(ruleset, scenario(alone), bare_ground())
    })
}

/// Whether a unit overlaps no other and no impassable ground.
fn is_clear(game: &Game, id: &str) -> bool {
    let Some(own) = game
        .unit(&UnitId::from(id))
        .and_then(|unit| unit.footprint())
    else {
        return false;
    };
    let free = game
        .on_table()
        .filter(|unit| unit.id.0 != id)
        .filter_map(|unit| unit.footprint())
        .all(|other| signed_distance_mm(&own, &other) > 0.01);
    let dry = game
        .ground()
        .patches
        .iter()
        .filter(|patch| patch.kind.impassable)
        .all(|patch| crate::geometry::overlap_depth_mm(&own, &patch.outline) <= 0.0);
    free && dry
}

/// A leg that may well be too long.
pub fn wild_leg(draws: &mut Draws) -> Leg {
    let side = draws.one_of(&[Hand::Left, Hand::Right]);
    let distance_mm = (draws.between(0.0, 200.0) * 10.0).round() / 10.0;
    let angle_deg = draws.between(0.0, 60.0).round();
    let up_to = draws.chance(0.15);
    let distance_mm = match up_to {
        true if distance_mm > 150.0 => Extent::AsFarAsAllowed,
        up_to => Extent::new(distance_mm, up_to),
    };
    match draws.below(10) {
        0..=3 => Leg::Forward { distance_mm },
        4 => Leg::Back { distance_mm },
        5 => Leg::Sidestep { side, distance_mm },
        6 => Leg::Oblique {
            side,
            angle_deg,
            distance_mm,
        },
        7 => Leg::Wheel {
            side,
            angle_deg: Extent::new(angle_deg, up_to),
        },
        8 => draws.one_of(&[
            Leg::Turn { side },
            Leg::About,
            Leg::Reform { files: 2, ranks: 1 },
        ]),
        _ => Leg::Align { side, angle_deg },
    }
}

/// An order for each of red's units, of one to four legs; the last two may move together.
pub fn wild_orders(draws: &mut Draws, game: &Game) -> Vec<Order> {
    let mut red: Vec<UnitId> = game
        .on_table()
        .filter(|unit| unit.side == game.player())
        .map(|unit| unit.id.clone())
        .collect();
    let mut orders = Vec::new();
    let legs = |draws: &mut Draws| -> Vec<Leg> {
        (0..1 + draws.below(4)).map(|_| wild_leg(draws)).collect()
    };
    if red.len() > 2 && draws.chance(0.5) {
        let units = red.split_off(red.len() - 2);
        orders.push(Order::MoveTogether {
            units,
            legs: legs(draws),
        });
    }
    for unit in red {
        orders.push(Order::Move {
            unit,
            legs: legs(draws),
        });
    }
    orders
}
