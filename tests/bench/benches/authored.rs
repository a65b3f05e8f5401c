//! Reading authored files: the shipped ones, the largest allowed, and the longest nonsense.
//!
//! The ratio beside it: the general TOML reader on the same text.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use fieldpost_bench::{large_battle, longest_nonsense};
use fieldpost_rules::authored::{open_battle, read_ruleset, starter_ruleset};
use fieldpost_rules::shipped;

fn files(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("authored");
    group.sample_size(10);
    let quern = shipped::find("quern-bridge").expect("shipped");
    let (rules, battle) = (quern.ruleset.text, quern.scenario.text);
    group.bench_function("open Quern Bridge", |b| {
        b.iter(|| open_battle(("r.toml", black_box(rules)), ("b.toml", black_box(battle))));
    });
    group.bench_function("Quern Bridge as mere TOML", |b| {
        b.iter(|| (rules.parse::<toml::Table>(), battle.parse::<toml::Table>()));
    });
    let [map, army] = large_battle();
    for (name, text) in [("98 patches of 500 corners", map), ("990 units", army)] {
        group.bench_function(format!("open {name}"), |b| {
            b.iter(|| open_battle(("r.toml", starter_ruleset()), ("b.toml", black_box(&text))));
        });
        group.bench_function(format!("{name} as mere TOML"), |b| {
            b.iter(|| black_box(&text).parse::<toml::Table>());
        });
    }
    for (name, text) in longest_nonsense() {
        group.bench_function(format!("1 MiB of {name}"), |b| {
            b.iter(|| read_ruleset("n.toml", black_box(&text)));
        });
    }
    group.finish();
}

criterion_group!(benches, files);
criterion_main!(benches);
