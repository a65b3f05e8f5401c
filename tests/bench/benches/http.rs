//! Postings and table reads over HTTP, beside a bare axum route and a bare SQLite commit in the same run.

mod served;

use std::time::{Duration, Instant};

use criterion::{Criterion, criterion_group, criterion_main};
use tokio::runtime::Runtime;

use served::{Game, Line, bare_database, bare_route, file, serve};

/// Player turns of a game that are posted before a new one is opened.
const TURNS: u32 = 16;

fn posting(criterion: &mut Criterion) {
    let runtime = Runtime::new().expect("a runtime");
    let folder = tempfile::tempdir().expect("a folder");
    let (base, organiser) = serve(&runtime, &file(folder.path()), folder.path());
    let agent = ureq::Agent::new_with_defaults();
    let mut line = Line::to(&base);
    let mut group = criterion.benchmark_group("posting");
    group.sample_size(20);
    group.bench_function("one sheet over HTTP", |b| {
        b.iter_custom(|times| {
            let mut spent = Duration::ZERO;
            let mut game = Game::open(&agent, &base, &organiser);
            for _ in 0..times {
                if game.turn == TURNS {
                    game = Game::open(&agent, &base, &organiser);
                }
                let began = Instant::now();
                game.post(&mut line);
                spent += began.elapsed();
            }
            spent
        });
    });
    let pool = runtime.block_on(bare_database(folder.path()));
    group.bench_function("one bare row committed", |b| {
        b.iter(|| {
            runtime.block_on(async {
                let row = sqlx::query("INSERT INTO rows (body) VALUES ($1)").bind("x".repeat(600));
                row.execute(&pool).await.expect("inserted")
            })
        });
    });
    group.finish();
}

fn reading(criterion: &mut Criterion) {
    let runtime = Runtime::new().expect("a runtime");
    let folder = tempfile::tempdir().expect("a folder");
    let (base, organiser) = serve(&runtime, &file(folder.path()), folder.path());
    let agent = ureq::Agent::new_with_defaults();
    let game = Game::open(&agent, &base, &organiser);
    let read = |url: &str| {
        agent
            .get(url)
            .call()
            .and_then(|mut answer| answer.body_mut().read_to_string())
            .expect("answered")
            .len()
    };
    let table = format!("{base}/v1/games/{}/table", game.id);
    let bare = bare_route(&runtime, read(&table));
    let mut group = criterion.benchmark_group("reading");
    group.bench_function("a table over HTTP", |b| b.iter(|| read(&table)));
    group.bench_function("as many bytes from a bare route", |b| {
        b.iter(|| read(&bare))
    });
    group.finish();
}

criterion_group!(benches, posting, reading);
criterion_main!(benches);
