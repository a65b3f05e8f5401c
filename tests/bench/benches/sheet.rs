//! Judging a turn sheet: the target's size, and how the time grows with units and features; and
//! what looking for remedies costs, which only refused moves pay.
//!
//! The ratio beside it: copying the game, which every judging does once; for refused sheets, judging legal ones.

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use fieldpost_bench::{battle, hasty_battle};
use fieldpost_rules::referee::judge_sheet;
use std::hint::black_box;

const SIZES: [(usize, usize); 4] = [(30, 12), (60, 25), (100, 50), (200, 200)];

/// Legal sheets; elements a second are units judged.
fn sheets(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("sheet");
    for (units, features) in SIZES {
        let (game, sheet) = battle(units, features);
        let name = format!("{units} units a side, {features} features");
        group.throughput(Throughput::Elements(units as u64));
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

/// Sheets of which every move is refused, with all their remedies, beside legal sheets of the same units;
/// elements a second are moves.
fn remedies(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("remedies");
    group.sample_size(20);
    for (units, features) in SIZES {
        let (game, sheet) = hasty_battle(units, features);
        let name = format!("{units} units a side, {features} features");
        group.throughput(Throughput::Elements(units as u64));
        group.bench_with_input(BenchmarkId::new("judge", &name), &game, |b, game| {
            b.iter(|| judge_sheet(black_box(game), black_box(&sheet)));
        });
        let (game, legal) = battle(units, features);
        group.bench_with_input(BenchmarkId::new("legal", &name), &game, |b, game| {
            b.iter(|| judge_sheet(black_box(game), black_box(&legal)));
        });
    }
    group.finish();
}

criterion_group!(benches, sheets, remedies);
criterion_main!(benches);
