//! How the units of an automatic commander go where they would: straight on where that leads there, by a wheel where it does not,
//! and never so that an enemy near by is left behind their backs.

use fieldpost_rules::game::{Game, Unit};
use fieldpost_rules::geometry::{
    Footprint, Point, distance_mm, distance_point_footprint_mm, wheel_to_face_rad,
};
use fieldpost_rules::orders::{Extent, Hand, Leg, Order};
use fieldpost_rules::referee::{Drafting, zones};
use fieldpost_rules::scenario::Objective;

use super::goals::{allowance_mm, middle, nearest_enemy};

/// Beyond this off straight ahead, in degrees, a unit faces about.
const ABOUT_DEG: f64 = 120.0;
/// A wheel that leads to no step forward is worth it from here on, in degrees.
const WHEEL_ALONE_DEG: f64 = 30.0;
/// A move that brings a unit less far than this is not worth ordering, in millimetres.
const STEP_MM: f64 = 5.0;
/// What lies farther than this off straight ahead, in degrees, is behind a unit's back.
const BACK_DEG: f64 = 120.0;

/// Orders a unit towards a place, by the most willing way that stands and gets it somewhere.
pub(super) fn go(drafting: &mut Drafting, unit: &Unit, goal: Point) {
    let Some(before) = unit.footprint() else {
        return;
    };
    for legs in ways(unit, goal) {
        let ends_well = |table: &Game, after: &Footprint| {
            is_worth_it(&before, after) && (!unit.is_commander() || is_covered(table, unit, after))
        };
        if offer(drafting, unit, legs, ends_well) {
            return;
        }
    }
}

/// Lets a commander whom the enemy could reach, with nobody between, go back.
pub(super) fn takes_cover(drafting: &mut Drafting, unit: &Unit) -> bool {
    let Some(before) = unit.footprint().filter(|_| unit.is_commander()) else {
        return false;
    };
    if is_covered(drafting.table(), unit, &before) {
        return false;
    }
    let back = vec![Leg::Back {
        distance_mm: Extent::AsFarAsAllowed,
    }];
    offer(drafting, unit, back, |_, after| is_worth_it(&before, after))
}

/// Whether a move brings a unit on, or turns it by more than a little.
pub(super) fn is_worth_it(before: &Footprint, after: &Footprint) -> bool {
    let turned_rad = libm::acos(before.ahead.dot(after.ahead).clamp(-1.0, 1.0));
    // By a wheel alone the middle moves too: that is no way gone.
    let corner_mm = libm::hypot(before.half_frontage, before.half_depth);
    let by_wheel_mm = 2.0 * corner_mm * libm::sin(turned_rad / 2.0);
    let moved_mm = before.centre.distance_to(after.centre);
    moved_mm >= by_wheel_mm + STEP_MM || turned_rad.to_degrees() >= WHEEL_ALONE_DEG
}

/// Whether a commander's ground is out of the enemy's reach, or has units of its side between: one of them is nearer to the enemy
/// that is nearest.
fn is_covered(table: &Game, unit: &Unit, ground: &Footprint) -> bool {
    let strike_mm = zones::strike_zone_mm(table.ruleset());
    let enemies = table
        .on_table()
        .filter(|enemy| enemy.side != unit.side && enemy.has_strength());
    let nearest = enemies
        .filter_map(|enemy| {
            let place = enemy.footprint()?;
            Some((distance_mm(ground, &place), enemy, place))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0));
    let Some((away_mm, enemy, place)) = nearest else {
        return true;
    };
    let is_nearer = |friend: &Unit| {
        friend.side == unit.side
            && friend.has_strength()
            && friend
                .footprint()
                .is_some_and(|friend| distance_mm(&friend, &place) < away_mm)
    };
    away_mm > strike_mm + allowance_mm(table, enemy)
        || (away_mm > strike_mm && table.on_table().any(is_nearer))
}

/// Lets a unit that stays at an objective face the nearest enemy, if it still stands at the objective then.
pub(super) fn face_about_it(drafting: &mut Drafting, unit: &Unit, objective: &Objective) {
    let table = drafting.table();
    let Some(ground) = unit.footprint() else {
        return;
    };
    let Some((enemy, _)) = nearest_enemy(table, unit.side, &ground) else {
        return;
    };
    let off_deg = off_ahead_deg(&ground, enemy);
    let leg = if off_deg.abs() > ABOUT_DEG {
        Leg::About
    } else if off_deg.abs() > WHEEL_ALONE_DEG {
        wheel(&ground, enemy).0
    } else {
        return;
    };
    let at = middle(objective);
    offer(drafting, unit, vec![leg], |_, after| {
        is_worth_it(&ground, after) && distance_point_footprint_mm(at, after) <= objective.radius_mm
    });
}

/// Offers a move; it is taken if it stands, leaves no enemy behind the unit's back that was not there before, and ends as it
/// should.
fn offer(
    drafting: &mut Drafting,
    unit: &Unit,
    legs: Vec<Leg>,
    ends_well: impl Fn(&Game, &Footprint) -> bool,
) -> bool {
    let before = unit
        .footprint()
        .map(|ground| behind(drafting.table(), unit, &ground));
    let mut tried = drafting.clone();
    let order = Order::Move {
        unit: unit.id.clone(),
        legs,
    };
    if !tried.offer(order) {
        *drafting = tried;
        return false;
    }
    let table = tried.table();
    let ground = table.unit(&unit.id).and_then(Unit::footprint);
    let is_good = ground.is_some_and(|ground| {
        let before = before.unwrap_or(usize::MAX);
        ends_well(table, &ground) && behind(table, unit, &ground) <= before
    });
    if is_good {
        *drafting = tried;
    }
    is_good
}

/// How many enemies that could strike at a unit within their next turn stand behind its back.
pub(super) fn behind(game: &Game, unit: &Unit, ground: &Footprint) -> usize {
    let strike_mm = zones::strike_zone_mm(game.ruleset());
    game.on_table()
        .filter(|enemy| enemy.side != unit.side && enemy.has_strength() && !enemy.is_guns())
        .filter_map(|enemy| Some((enemy, enemy.footprint()?)))
        .filter(|(enemy, place)| {
            distance_mm(ground, place) <= strike_mm + allowance_mm(game, enemy)
                && off_ahead_deg(ground, place.centre).abs() > BACK_DEG
        })
        .count()
}

/// How far a place lies off straight ahead of a unit's middle, in degrees, to the right positive.
fn off_ahead_deg(ground: &Footprint, place: Point) -> f64 {
    let towards = place - ground.centre;
    libm::atan2(-ground.ahead.cross(towards), ground.ahead.dot(towards)).to_degrees()
}

/// The wheel after which a unit faces a place, with its angle in degrees.
fn wheel(ground: &Footprint, place: Point) -> (Leg, f64) {
    let to_right = off_ahead_deg(ground, place) > 0.0;
    let angle_rad = wheel_to_face_rad(ground, to_right, place);
    let angle_deg = match angle_rad.map(f64::to_degrees) {
        // A place near the corner is faced only after a long way round it.
        Some(angle_deg) if angle_deg <= ABOUT_DEG => angle_deg,
        _ => off_ahead_deg(ground, place).abs(),
    };
    let side = if to_right { Hand::Right } else { Hand::Left };
    let leg = Leg::Wheel {
        side,
        angle_deg: Extent::UpTo(angle_deg.round()),
    };
    (leg, angle_deg)
}

/// Ways to go towards a place, the most willing first.
fn ways(unit: &Unit, goal: Point) -> Vec<Vec<Leg>> {
    let Some(ground) = unit.footprint() else {
        return Vec::new();
    };
    let towards = goal - ground.centre;
    let far_mm = towards.length();
    let forward = |distance_mm: f64| Leg::Forward {
        distance_mm: Extent::UpTo(distance_mm),
    };
    let off_deg = off_ahead_deg(&ground, goal);
    if off_deg.abs() > ABOUT_DEG {
        // With an enemy before it, a unit goes back without turning.
        let back = Leg::Back {
            distance_mm: Extent::UpTo(far_mm),
        };
        return vec![
            vec![Leg::About, forward(far_mm)],
            vec![Leg::About],
            vec![back],
        ];
    }
    let mut ways = Vec::new();
    // Straight ahead of some of the unit's bases: the wheel would be paid for nothing.
    let is_ahead =
        off_deg.abs() < 90.0 && ground.ahead.cross(towards).abs() <= ground.half_frontage;
    if !is_ahead {
        let (wheel, angle_deg) = wheel(&ground, goal);
        if angle_deg >= 1.0 {
            ways.push(vec![wheel, forward(far_mm)]);
            if angle_deg > WHEEL_ALONE_DEG {
                ways.push(vec![wheel]);
            }
        }
    }
    for share in [1.0, 2.0 / 3.0, 1.0 / 3.0] {
        ways.push(vec![forward(far_mm * share)]);
    }
    ways
}
