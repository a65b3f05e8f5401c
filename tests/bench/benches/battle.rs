//! A whole recorded battle: refereed again from nothing, and fought by automatic commanders.
//!
//! The ratio beside it: reading the record's JSON, without which nothing can be checked.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use fieldpost_bench::recorded_battle;
use fieldpost_rules::record::Entry;
use fieldpost_rules::record::audit::audit;

fn battles(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("battle");
    for key in ["quern-bridge", "three-cairns", "saltway-ridge"] {
        let lines = recorded_battle(key, 3);
        group.bench_function(format!("audit {key}"), |b| {
            b.iter(|| audit(black_box(&lines)))
        });
        group.bench_function(format!("read {key}'s JSON"), |b| {
            b.iter(|| {
                let entries = black_box(&lines)
                    .iter()
                    .map(|line| serde_json::from_str::<Entry>(&line.body));
                entries.filter(Result::is_ok).count()
            });
        });
        let mut seed = 0;
        group.bench_function(format!("fight {key}"), |b| {
            b.iter(|| {
                seed += 1;
                recorded_battle(key, seed)
            });
        });
    }
    group.finish();
}

criterion_group!(benches, battles);
criterion_main!(benches);
