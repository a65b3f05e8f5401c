//! Postings and table reads over HTTP, beside a bare axum route and a bare SQLite commit in the same run.

use std::net::SocketAddr;
use std::path::Path;
use std::time::{Duration, Instant};

use axum::Router;
use axum::routing::get;
use criterion::{Criterion, criterion_group, criterion_main};
use fieldpost_server::settings::{Database, Settings};
use serde_json::{Value, json};
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePool, SqliteSynchronous};
use tokio::net::TcpListener;
use tokio::runtime::Runtime;

/// Serves a fresh post office; where, with the organiser's key.
fn serve(runtime: &Runtime, folder: &Path) -> (String, String) {
    let file = folder.join("games.db");
    let settings = Settings {
        database: Database::new(format!("sqlite:{}", file.display())),
        // Every caller here has the same address.
        address_requests: 0,
        address_connections: 0,
        key_requests: 0,
        ..Settings::default()
    };
    let listener = runtime
        .block_on(TcpListener::bind(SocketAddr::from(([127, 0, 0, 1], 0))))
        .expect("a port");
    let base = format!("http://{}", listener.local_addr().expect("an address"));
    runtime.spawn(fieldpost_server::run(
        settings,
        listener,
        std::future::pending(),
    ));
    let key_file = folder.join("games.db.organiser-key");
    let key = loop {
        match std::fs::read_to_string(&key_file) {
            Ok(key) if !key.trim().is_empty() => break key.trim().to_owned(),
            _ => std::thread::sleep(Duration::from_millis(10)),
        }
    };
    (base, key)
}

fn bare_route(runtime: &Runtime, bytes: usize) -> String {
    let body = "x".repeat(bytes);
    let router = Router::new().route("/", get(move || std::future::ready(body.clone())));
    let listener = runtime
        .block_on(TcpListener::bind(SocketAddr::from(([127, 0, 0, 1], 0))))
        .expect("a port");
    let base = format!("http://{}/", listener.local_addr().expect("an address"));
    runtime.spawn(async move { axum::serve(listener, router).await });
    base
}

/// A game being posted to.
struct Game {
    id: String,
    keys: [String; 2],
    head: String,
    turn: u32,
}

fn send(agent: &ureq::Agent, url: &str, headers: &[(&str, &str)], body: &Value) -> Value {
    let mut request = agent.post(url).header("content-type", "application/json");
    for (name, value) in headers {
        request = request.header(*name, *value);
    }
    let text = request
        .send(body.to_string())
        .and_then(|mut answer| answer.body_mut().read_to_string())
        .expect("answered");
    serde_json::from_str(&text).expect("json")
}

impl Game {
    fn open(agent: &ureq::Agent, base: &str, organiser: &str) -> Self {
        let bearer = format!("Bearer {organiser}");
        let opened = send(
            agent,
            &format!("{base}/v1/games"),
            &[("authorization", &bearer)],
            &json!({"shipped": "quern-bridge"}),
        );
        let key = |place: usize| {
            let asked =
                json!({"invitation": opened["invitations"][place]["invitation"], "player": "Ash"});
            let seat = send(agent, &format!("{base}/v1/seats"), &[], &asked);
            (
                seat["key"].as_str().expect("a key").to_owned(),
                seat["game"]["head"]["hash"].clone(),
            )
        };
        let ((red, _), (blue, head)) = (key(0), key(1));
        Self {
            id: opened["game"]["id"].as_str().expect("an id").to_owned(),
            keys: [red, blue],
            head: head.as_str().expect("a hash").to_owned(),
            turn: 0,
        }
    }

    /// Posts a sheet in which everybody stands.
    fn post(&mut self, agent: &ureq::Agent, base: &str) {
        let side = ["red", "blue"][self.turn as usize % 2];
        let bearer = format!("Bearer {}", self.keys[self.turn as usize % 2]);
        let matched = format!("\"{}\"", self.head);
        let headers = [
            ("authorization", bearer.as_str()),
            ("if-match", &matched),
            ("idempotency-key", &self.head),
        ];
        let sheet = json!({"game_turn": self.turn / 2 + 1, "side": side, "orders": []});
        let body = json!({"sheet": sheet, "number": "5a".repeat(32)});
        let answer = send(
            agent,
            &format!("{base}/v1/games/{}/sheets", self.id),
            &headers,
            &body,
        );
        self.head = answer["head"]["hash"]
            .as_str()
            .unwrap_or_else(|| panic!("{answer}"))
            .to_owned();
        self.turn += 1;
    }
}

/// Player turns of a game that are posted before a new one is opened.
const TURNS: u32 = 16;

fn posting(criterion: &mut Criterion) {
    let runtime = Runtime::new().expect("a runtime");
    let folder = tempfile::tempdir().expect("a folder");
    let (base, organiser) = serve(&runtime, folder.path());
    let agent = ureq::Agent::new_with_defaults();
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
                game.post(&agent, &base);
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

async fn bare_database(folder: &Path) -> SqlitePool {
    let options = SqliteConnectOptions::new()
        .filename(folder.join("bare.db"))
        .create_if_missing(true)
        .journal_mode(SqliteJournalMode::Wal)
        .synchronous(SqliteSynchronous::Full);
    let pool = SqlitePool::connect_with(options).await.expect("opened");
    sqlx::query("CREATE TABLE rows (id INTEGER PRIMARY KEY, body TEXT)")
        .execute(&pool)
        .await
        .expect("made");
    pool
}

fn reading(criterion: &mut Criterion) {
    let runtime = Runtime::new().expect("a runtime");
    let folder = tempfile::tempdir().expect("a folder");
    let (base, organiser) = serve(&runtime, folder.path());
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
