//! The ground a unit can reach in a turn, for every unit of the moving side of the shipped battles.
//!
//! Beside it comparable work by a general library: the crate geo unites the ground that a fan of 64
//! wheels to either side with their marches sweeps, without a limit or a charge being measured.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use fieldpost_rules::game::{Game, Unit};
use fieldpost_rules::geometry::{Footprint, Motion, Vector};
use fieldpost_rules::orders::UnitId;
use fieldpost_rules::referee::reach;
use fieldpost_rules::shipped;
use geo::{Polygon, polygon, unary_union};
use std::sync::Arc;

fn opening(key: &str) -> Game {
    let battle = shipped::find(key).expect("shipped");
    Game::new(Arc::new(battle.open().expect("sound")))
}

fn movers(game: &Game) -> Vec<UnitId> {
    game.on_table()
        .filter(|unit| unit.side == game.player())
        .map(|unit| unit.id.clone())
        .collect()
}

/// The ground that a footprint sweeps straight ahead, as a polygon.
fn swept(footprint: &Footprint, march_mm: f64) -> Polygon {
    let [front_left, front_right, rear_right, rear_left] = footprint.corners();
    let on: Vector = footprint.ahead * march_mm;
    let (left, right) = (front_left + on, front_right + on);
    polygon![
        (x: left.x, y: left.y), (x: right.x, y: right.y),
        (x: rear_right.x, y: rear_right.y), (x: rear_left.x, y: rear_left.y),
    ]
}

/// What a fan of wheels and marches covers.
fn united(footprint: &Footprint, allowance_mm: f64) -> geo::MultiPolygon {
    let frontage_mm = footprint.half_frontage * 2.0;
    let mut parts = Vec::new();
    for (pivot, sign) in [
        (footprint.front_left(), -1.0),
        (footprint.front_right(), 1.0),
    ] {
        for step in 0..64 {
            let angle_rad = f64::from(step) / 64.0 * std::f64::consts::FRAC_PI_2;
            let left_mm = allowance_mm - frontage_mm * angle_rad;
            if left_mm <= 0.0 {
                continue;
            }
            let wheel = Motion::Turn {
                pivot,
                clockwise_rad: sign * angle_rad,
            };
            parts.push(swept(&wheel.footprint_at(footprint, 1.0), left_mm));
        }
    }
    unary_union(&parts)
}

fn reaches(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("reach");
    group.sample_size(30);
    for key in ["quern-bridge", "three-cairns", "saltway-ridge"] {
        let game = opening(key);
        let units = movers(&game);
        for (index, id) in units.iter().enumerate() {
            let unit = game.unit(id).expect("there");
            if index > 0 && units[..index].iter().any(|other| same(&game, other, unit)) {
                continue;
            }
            group.bench_function(format!("outline of {key}'s {id}"), |b| {
                b.iter(|| reach(black_box(&game), black_box(id)));
            });
        }
        let first = game
            .unit(&units[0])
            .and_then(Unit::footprint)
            .expect("stands");
        group.bench_function(format!("geo unites a fan of {key}'s {}", units[0]), |b| {
            b.iter(|| united(black_box(&first), black_box(160.0)));
        });
    }
    group.finish();
}

/// Whether two units are alike in what they are, so that one of them is enough.
fn same(game: &Game, one: &UnitId, other: &Unit) -> bool {
    game.unit(one).is_some_and(|one| {
        one.troops == other.troops && one.files == other.files && one.bases == other.bases
    })
}

criterion_group!(benches, reaches);
criterion_main!(benches);
