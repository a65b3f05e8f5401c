//! Many clients at once, and a database that is not small, each beside something bare in the same run.
//!
//! `cargo bench -p fieldpost-bench --bench load` measures `postings`, `signed`, `reads`, `drawings` and `orders`, and where
//! `FIELDPOST_TEST_POSTGRES` names a server or its programs are found, `postgres`. `-- large` fills a file with
//! `FIELDPOST_BENCH_GAMES` games (1,000) of `FIELDPOST_BENCH_EVENTS` events each (100) and posts there and in
//! an empty one; for 100,000 games this takes some minutes and some 10 GB in the temporary folder. `-- large-postgres`
//! does the same on PostgreSQL.

mod filled;
mod served;

use std::path::Path;
use std::time::{Duration, Instant};

use fieldpost_tests::postgres;
use sqlx::Connection;
use tokio::runtime::Runtime;

use filled::{fill_file, fill_postgres};
use served::{Game, LONGEST, Line, bare_database, bare_route, file, serve};

const CLIENTS: usize = 64;
/// Each thing is measured so often, in turns, for so long.
const ROUNDS: usize = 3;
const SPELL: Duration = Duration::from_secs(3);

fn main() {
    let asked: Vec<String> = std::env::args()
        .skip(1)
        .filter(|word| !word.starts_with('-'))
        .collect();
    let is_asked = |name: &str| asked.iter().any(|word| word == name);
    if asked.is_empty() || is_asked("postings") {
        postings_on_a_file();
    }
    if asked.is_empty() || is_asked("signed") {
        signed_postings();
    }
    if asked.is_empty() || is_asked("postgres") {
        postings_on_postgres();
    }
    if asked.is_empty() || is_asked("reads") {
        reads();
    }
    if asked.is_empty() || is_asked("drawings") {
        drawings();
    }
    if asked.is_empty() || is_asked("orders") {
        orders();
    }
    if is_asked("large") {
        large_file();
    }
    if is_asked("large-postgres") {
        large_postgres();
    }
}

/// The second order of a draft: a move of three legs after another unit's.
const DRAFT: &str = r#"{"sheet":{"game_turn":1,"side":"red","orders":[
{"order":"move","unit":"red-1","legs":[{"leg":"forward","distance_mm":60}]},
{"order":"move","unit":"red-2","legs":[{"leg":"forward","distance_mm":30},{"leg":"wheel","side":"left","angle_deg":12.5},{"leg":"forward","distance_mm":20}]}]},"order":1}"#;
/// People who drag at once, and how often each asks: as often as a screen shows a picture, every other time.
const DRAGGING: usize = 32;
const FRAME: Duration = Duration::from_millis(33);

/// One order of a draft over and over, by many who ask as fast as they are answered, and by some who drag.
fn orders() {
    let runtime = Runtime::new().expect("a runtime");
    let folder = tempfile::tempdir().expect("a folder");
    let (base, organiser) = serve(&runtime, &file(folder.path()), folder.path());
    let agent = ureq::Agent::new_with_defaults();
    let open = |_| (Line::to(&base), Game::open(&agent, &base, &organiser));
    let mut askers: Vec<(Line, Game)> = (0..CLIENTS).map(open).collect();
    let (line, game) = &mut askers[0];
    let answer = game.try_order(line, DRAFT);
    println!("one order of a draft is answered in {} bytes", answer.len());
    let bare = bare_route(&runtime, answer.len());
    let bare = bare.trim_end_matches('/');
    let mut others: Vec<Line> = (0..CLIENTS).map(|_| Line::to(bare)).collect();
    beside(
        "orders of drafts tried by 64 clients, SQLite",
        || {
            per_second(&mut askers, |(line, game)| {
                game.try_order(line, DRAFT);
            })
        },
        "as many bytes from a bare route",
        || per_second(&mut others, Line::read_root),
    );
    let mut waits: Vec<Duration> = std::thread::scope(|scope| {
        let threads: Vec<_> = askers[..DRAGGING]
            .iter_mut()
            .map(|(line, game)| {
                scope.spawn(move || {
                    dragged(|| {
                        game.try_order(line, DRAFT);
                    })
                })
            })
            .collect();
        let joined = threads.into_iter().map(|thread| thread.join());
        joined.flat_map(|waits| waits.expect("no panic")).collect()
    });
    waits.sort();
    let at = |share: f64| waits[((waits.len() - 1) as f64 * share) as usize].as_secs_f64() * 1e3;
    println!(
        "answers under {DRAGGING} fingers, {} of them: half within {:.1} ms, 99 of 100 within {:.1} ms",
        waits.len(),
        at(0.5),
        at(0.99)
    );
}

/// Asks at every other frame, or as soon as the answer is there; how long each answer took.
fn dragged(mut ask: impl FnMut()) -> Vec<Duration> {
    let (began, mut waits) = (Instant::now(), Vec::new());
    while began.elapsed() < SPELL {
        let asked = Instant::now();
        ask();
        let wait = asked.elapsed();
        waits.push(wait);
        std::thread::sleep(FRAME.saturating_sub(wait));
    }
    waits
}

/// The drawing of a table, compressed, by many.
fn drawings() {
    let runtime = Runtime::new().expect("a runtime");
    let folder = tempfile::tempdir().expect("a folder");
    let (base, organiser) = serve(&runtime, &file(folder.path()), folder.path());
    let agent = ureq::Agent::new_with_defaults();
    let game = Game::open(&agent, &base, &organiser);
    let mut lines: Vec<Line> = (0..CLIENTS).map(|_| Line::to(&base)).collect();
    let plain = game.read(&mut lines[0], "table.svg?map=true");
    let packed = game.read_packed(&mut lines[0], "table.svg?map=true");
    println!("the map is drawn in {plain} bytes, {packed} compressed");
    let bare = bare_route(&runtime, packed);
    let bare = bare.trim_end_matches('/');
    let mut others: Vec<Line> = (0..CLIENTS).map(|_| Line::to(bare)).collect();
    beside(
        "maps read by 64 clients, SQLite",
        || {
            per_second(&mut lines, |line| {
                game.read_packed(line, "table.svg?map=true");
            })
        },
        "as many bytes from a bare route",
        || per_second(&mut others, Line::read_root),
    );
}

/// Does something over and over in some threads, each with a thing of its own; how often a second in all.
fn per_second<T: Send>(own: &mut [T], work: impl Fn(&mut T) + Sync) -> f64 {
    let began = Instant::now();
    let done: usize = std::thread::scope(|scope| {
        let threads: Vec<_> = own
            .iter_mut()
            .map(|own| {
                let work = &work;
                scope.spawn(move || {
                    let mut done = 0;
                    while began.elapsed() < SPELL {
                        work(own);
                        done += 1;
                    }
                    done
                })
            })
            .collect();
        threads
            .into_iter()
            .map(|thread| thread.join().expect("no panic"))
            .sum()
    });
    done as f64 / began.elapsed().as_secs_f64()
}

/// Measures two things in turns and tells them and their ratio.
fn beside(name: &str, mut one: impl FnMut() -> f64, bare: &str, mut other: impl FnMut() -> f64) {
    let (mut ones, mut others) = (Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        ones.push(one());
        others.push(other());
    }
    let (one, other) = (middle(&mut ones), middle(&mut others));
    println!(
        "{name}: {one:.0}/s; {bare}: {other:.0}/s; ratio {:.2}",
        one / other
    );
}

fn middle(measured: &mut [f64]) -> f64 {
    measured.sort_by(f64::total_cmp);
    measured[measured.len() / 2]
}

type Caller = (ureq::Agent, Game);

/// Those who post, each with a game and a connection of their own.
fn posters(base: &str, organiser: &str) -> Vec<(Line, Game)> {
    let opened = callers(base, organiser).into_iter();
    opened.map(|(_, game)| (Line::to(base), game)).collect()
}

fn callers(base: &str, organiser: &str) -> Vec<Caller> {
    (0..CLIENTS)
        .map(|_| {
            let agent = ureq::Agent::new_with_defaults();
            let game = Game::open_long(&agent, base, organiser);
            (agent, game)
        })
        .collect()
}

fn postings_on_a_file() {
    let runtime = Runtime::new().expect("a runtime");
    let folder = tempfile::tempdir().expect("a folder");
    let (base, organiser) = serve(&runtime, &file(folder.path()), folder.path());
    let mut posters = posters(&base, &organiser);
    let pool = runtime.block_on(bare_database(folder.path()));
    beside(
        "sheets posted by 64 clients, SQLite",
        || per_second(&mut posters, |(line, game)| game.post(line)),
        "bare rows committed one by one",
        || {
            per_second(&mut [()], |()| {
                runtime.block_on(async {
                    let row =
                        sqlx::query("INSERT INTO rows (body) VALUES ($1)").bind("x".repeat(600));
                    row.execute(&pool).await.expect("inserted");
                });
            })
        },
    );
}

/// What it costs the server to check signatures: its clients make them in either case.
fn signed_postings() {
    let runtime = Runtime::new().expect("a runtime");
    let folder = tempfile::tempdir().expect("a folder");
    let (base, organiser) = serve(&runtime, &file(folder.path()), folder.path());
    let posters = |signed| -> Vec<(Line, Game)> {
        let agent = ureq::Agent::new_with_defaults();
        let open = |_| Game::open_signing(&agent, &base, &organiser, signed);
        let opened = (0..CLIENTS).map(open);
        opened.map(|game| (Line::to(&base), game)).collect()
    };
    let (mut signed, mut unsigned) = (posters(true), posters(false));
    let post = |(line, game): &mut (Line, Game)| game.post(line);
    beside(
        "signed sheets posted by 64 clients, SQLite",
        || per_second(&mut signed, post),
        "sheets whose signatures stay with the client",
        || per_second(&mut unsigned, post),
    );
}

fn postings_on_postgres() {
    let Some(database) = postgres::Database::fresh() else {
        return;
    };
    let runtime = Runtime::new().expect("a runtime");
    let folder = tempfile::tempdir().expect("a folder");
    std::env::set_current_dir(folder.path()).expect("there");
    let (base, organiser) = serve(&runtime, &database.url(), folder.path());
    let mut posters = posters(&base, &organiser);
    let connected = |_| {
        let connection = sqlx::PgConnection::connect(&database.url());
        runtime.block_on(connection).expect("connects")
    };
    let mut bare: Vec<sqlx::PgConnection> = (0..CLIENTS).map(connected).collect();
    let table = "CREATE TABLE rows (id BIGSERIAL PRIMARY KEY, body TEXT)";
    runtime
        .block_on(sqlx::query(table).execute(&mut bare[0]))
        .expect("made");
    let commit = |bare: &mut sqlx::PgConnection| {
        let row = sqlx::query("INSERT INTO rows (body) VALUES ($1)").bind("x".repeat(600));
        runtime.block_on(row.execute(bare)).expect("inserted");
    };
    beside(
        "sheets posted by 64 clients, PostgreSQL",
        || per_second(&mut posters, |(line, game)| game.post(line)),
        "bare rows committed one by one",
        || per_second(&mut bare[..1], commit),
    );
    println!(
        "bare rows committed by 64 clients at once, PostgreSQL: {:.0}/s",
        per_second(&mut bare, commit)
    );
}

fn reads() {
    let runtime = Runtime::new().expect("a runtime");
    let folder = tempfile::tempdir().expect("a folder");
    let (base, organiser) = serve(&runtime, &file(folder.path()), folder.path());
    let mut callers = callers(&base, &organiser);
    let read = |agent: &ureq::Agent, url: &str, key: &str| {
        let mut answer = agent
            .get(url)
            .header("authorization", format!("Bearer {key}"))
            .call()
            .expect("answered");
        answer.body_mut().read_to_string().expect("text").len()
    };
    let table = |(agent, game): &mut Caller| {
        read(
            agent,
            &format!("{base}/v1/games/{}/table", game.id),
            &game.keys[0],
        )
    };
    let bare = bare_route(&runtime, table(&mut callers[0]));
    let mut others: Vec<ureq::Agent> = (0..CLIENTS)
        .map(|_| ureq::Agent::new_with_defaults())
        .collect();
    beside(
        "tables read by 64 clients, SQLite",
        || {
            per_second(&mut callers, |caller| {
                table(caller);
            })
        },
        "as many bytes from a bare route",
        || {
            per_second(&mut others, |agent| {
                read(agent, &bare, "none");
            })
        },
    );
}

fn large_file() {
    let (empty, full) = (
        tempfile::tempdir().expect("a folder"),
        tempfile::tempdir().expect("a folder"),
    );
    let runtime = Runtime::new().expect("a runtime");
    let url = file(full.path());
    let filled = Filling::asked();
    filled.told(|games, events| runtime.block_on(fill_file(&url, games, events)));
    let bytes = std::fs::metadata(full.path().join("games.db"));
    println!("it has {} MB", bytes.expect("there").len() / 1_000_000);
    let large = Large::open(&runtime, &url, full.path());
    let small = Large::open(&runtime, &file(empty.path()), empty.path());
    posting_beside("SQLite", large, small);
}

fn large_postgres() {
    let (Some(empty), Some(full)) = (postgres::Database::fresh(), postgres::Database::fresh())
    else {
        return;
    };
    let runtime = Runtime::new().expect("a runtime");
    let filled = Filling::asked();
    filled.told(|games, events| runtime.block_on(fill_postgres(&full.url(), games, events)));
    let open = |url: &str| {
        let folder = tempfile::tempdir().expect("a folder");
        std::env::set_current_dir(folder.path()).expect("there");
        Large::open(&runtime, url, folder.path())
    };
    posting_beside("PostgreSQL", open(&full.url()), open(&empty.url()));
}

/// How much is filled in.
struct Filling {
    games: u64,
    events: u64,
}

impl Filling {
    fn asked() -> Self {
        let number = |variable: &str, usual: u64| {
            std::env::var(variable).map_or(usual, |text| text.parse().expect("a number"))
        };
        Self {
            games: number("FIELDPOST_BENCH_GAMES", 1_000),
            events: number("FIELDPOST_BENCH_EVENTS", 100),
        }
    }

    fn told(&self, fill: impl FnOnce(u64, u64)) {
        let began = Instant::now();
        fill(self.games, self.events);
        println!(
            "filled with {} games and {} events in {:.0} s",
            self.games,
            self.games * self.events,
            began.elapsed().as_secs_f64()
        );
    }
}

/// A server on a large database or on the empty one beside it, and a game there.
struct Large {
    base: String,
    organiser: String,
    agent: ureq::Agent,
    game: Game,
}

impl Large {
    fn open(runtime: &Runtime, url: &str, folder: &Path) -> Self {
        let began = Instant::now();
        let (base, organiser) = serve(runtime, url, folder);
        println!(
            "ready after {:.0} ms",
            began.elapsed().as_secs_f64() * 1000.0
        );
        let agent = ureq::Agent::new_with_defaults();
        let game = Game::open_long(&agent, &base, &organiser);
        Self {
            base,
            organiser,
            agent,
            game,
        }
    }

    /// Postings of one client in a second.
    fn posted(&mut self) -> f64 {
        std::thread::sleep(SPELL); // the disk settles
        // A new one: servers close those that have been idle.
        let mut own = [(Line::to(&self.base), &mut self.game)];
        per_second(&mut own, |(line, game)| {
            // One client alone gets to the end of a battle, which is then over.
            if game.turn == LONGEST {
                **game = Game::open_long(&self.agent, &self.base, &self.organiser);
            }
            game.post(line);
        })
    }
}

fn posting_beside(database: &str, mut large: Large, mut small: Large) {
    beside(
        &format!("sheets posted by one client in it, {database}"),
        || large.posted(),
        "in an empty one",
        || small.posted(),
    );
}
