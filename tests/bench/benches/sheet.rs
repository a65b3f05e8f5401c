//! Judging a turn sheet: the target's size, and how the time grows with units and features.
//!
//! The ratio beside it: copying the game, which every judging does once.

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use fieldpost_bench::battle;
use fieldpost_rules::referee::judge_sheet;
use std::hint::black_box;

fn sheets(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("sheet");
    for (units, features) in [(30, 12), (60, 25), (100, 50), (200, 200)] {
        let (game, sheet) = battle(units, features);
        let name = format!("{units} units a side, {features} features");
        group.bench_with_input(BenchmarkId::new("judge", &name), &game, |b, game| {
            b.iter(|| judge_sheet(black_box(game), black_box(&sheet)));
        });
        group.bench_with_input(
            BenchmarkId::new("copy the game", &name),
            &game,
            |b, game| {
                b.iter(|| black_box(game).clone());
            },
        );
    }
    group.finish();
}

criterion_group!(benches, sheets);
criterion_main!(benches);
