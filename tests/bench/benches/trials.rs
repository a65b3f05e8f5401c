//! Battles between automatic commanders: one at a time in this process, and a whole series by the
//! command line on all processors.
//!
//! The ratio beside it: one thread against all.

use std::process::{Command, Stdio};
use std::sync::Arc;
use std::time::Duration;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use fieldpost_bench::client;
use fieldpost_rules::shipped::{self, SCENARIOS};
use fieldpost_study::series::fight;

fn battles(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("trials");
    group
        .sample_size(10)
        .measurement_time(Duration::from_secs(10));
    for scenario in SCENARIOS {
        let key = scenario.key;
        let field = shipped::find(key).expect("shipped").open().expect("sound");
        let field = Arc::new(field);
        let mut number = 0;
        group.throughput(Throughput::Elements(1));
        group.bench_function(format!("one battle of {key}"), |b| {
            b.iter(|| {
                number += 1;
                fight(&field, 1, number)
            });
        });
        group.throughput(Throughput::Elements(100));
        for threads in [Some("1"), None] {
            let on = threads.map_or("all processors", |_| "one thread");
            group.bench_function(format!("100 battles of {key} on {on}"), |b| {
                b.iter(|| {
                    let mut command = Command::new(client());
                    command.args(["trials", key, "--battles", "100"]);
                    if let Some(threads) = threads {
                        command.args(["--threads", threads]);
                    }
                    command.stdout(Stdio::null()).status()
                });
            });
        }
    }
    group.finish();
}

criterion_group!(benches, battles);
criterion_main!(benches);
