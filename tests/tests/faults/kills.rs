//! Servers killed at random moments while clients post.

use std::collections::BTreeMap;
use std::process::Command;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::time::Duration;

use fieldpost_server::store;
use fieldpost_tests::programs::program;

use crate::books::{Fate, Told, faults};
use crate::clients::{Game, Random, Work, client};
use crate::servers::{Place, Server};

/// What is tried.
pub struct Trial {
    pub servers: usize,
    pub games: usize,
    pub clients: u8,
    pub kills: u32,
    /// The most milliseconds from an accepted posting to the next kill.
    pub most_ms: u64,
    pub seed: u64,
}

/// What came of it.
pub struct Outcome {
    pub faults: Vec<String>,
    pub accepted: usize,
    pub overtaken: usize,
}

pub fn asked(variable: &str, usual: u64) -> u64 {
    std::env::var(variable).map_or(usual, |text| text.parse().expect("a number"))
}

/// Kills servers under clients, lets these find out what became of their postings, and looks at the records.
pub fn tried(
    place: &Place,
    trial: &Trial,
    command: impl Fn() -> Command + Clone + Send + 'static,
) -> Outcome {
    let mut servers: Vec<Server> = (0..trial.servers)
        .map(|_| Server::start(place, command.clone()))
        .collect();
    let addresses: Vec<String> = servers
        .iter()
        .map(|server| server.address.clone())
        .collect();
    let work = Work {
        games: (0..trial.games)
            .map(|_| Game::open(&addresses[0], place))
            .collect(),
        addresses: addresses.clone(),
        seed: trial.seed,
        stop: AtomicBool::new(false),
        accepted: AtomicU64::new(0),
    };
    let fates: Vec<Told> = std::thread::scope(|scope| {
        let clients: Vec<_> = (0..trial.clients)
            .map(|number| {
                let work = &work;
                scope.spawn(move || client(number, work))
            })
            .collect();
        let is_any_stuck = || {
            clients
                .iter()
                .any(std::thread::ScopedJoinHandle::is_finished)
        };
        let mut random = Random::new(trial.seed);
        for _ in 0..trial.kills {
            // Not before somebody is at work again, however slow the machine is.
            let before = work.accepted.load(Ordering::Relaxed);
            while work.accepted.load(Ordering::Relaxed) == before && !is_any_stuck() {
                std::thread::sleep(Duration::from_millis(1));
            }
            if is_any_stuck() {
                // For good: there is something to tell.
                break;
            }
            std::thread::sleep(Duration::from_micros(random.below(trial.most_ms * 1000)));
            let server = &mut servers[random.below(trial.servers as u64) as usize];
            server.kill();
            server.start_again();
        }
        work.stop.store(true, Ordering::Relaxed);
        clients
            .into_iter()
            .flat_map(|client| client.join().expect("no panic"))
            .collect()
    });
    let games = &work.games;
    let records: BTreeMap<String, String> = games
        .iter()
        .map(|game| (game.id.clone(), game.record(&addresses[0])))
        .collect();
    let mut faults = faults(&fates, &records);
    for game in games {
        // Nothing is half done if play can go on.
        assert!(game.look(&addresses[0]));
        let answer = game.next([0xff; 32]).send(&addresses[0]).expect("answered");
        if answer.status != 201 {
            faults.push(format!("{} cannot go on: {}", game.id, answer.text));
        }
    }
    let count = |is: fn(&Fate) -> bool| fates.iter().filter(|(_, fate)| is(fate)).count();
    Outcome {
        faults,
        accepted: count(|fate| matches!(fate, Fate::Accepted(_))),
        overtaken: count(|fate| *fate == Fate::Overtaken),
    }
}

fn holds(place: &Place, trial: &Trial) {
    let outcome = tried(place, trial, || program("fieldpost-server"));
    println!(
        "{} kills, {} postings accepted, {} overtaken",
        trial.kills, outcome.accepted, outcome.overtaken
    );
    assert!(outcome.faults.is_empty(), "{:#?}", outcome.faults);
    assert!(outcome.accepted > 0, "there was something to lose");
}

fn one_server() -> Trial {
    Trial {
        servers: 1,
        games: 3,
        clients: 4,
        kills: asked("FIELDPOST_TEST_KILLS", 4) as u32,
        most_ms: 300,
        seed: asked("FIELDPOST_TEST_SEED", 1),
    }
}

#[test]
fn kills_on_a_file() {
    holds(&Place::file(), &one_server());
}

#[test]
fn kills_on_postgres() {
    if let Some(place) = Place::postgres() {
        holds(&place, &one_server());
    }
}

/// Three processes act as one, and whoever watches the store hears of every event once and in order.
#[test]
fn kills_among_three_servers_on_one_postgres() {
    let Some(place) = Place::postgres() else {
        return;
    };
    let trial = Trial {
        servers: 3,
        games: asked("FIELDPOST_TEST_GAMES", 6) as usize,
        clients: 8,
        kills: asked("FIELDPOST_TEST_KILLS", 4) as u32,
        most_ms: asked("FIELDPOST_TEST_PAUSE_MS", 1000),
        seed: asked("FIELDPOST_TEST_SEED", 1),
    };
    let watching = Watching::start(&place);
    holds(&place, &trial);
    let seen = watching.end();
    assert!(seen > trial.games as u64, "something was seen");
}

/// A watcher of every game, beside the servers.
struct Watching {
    runtime: tokio::runtime::Runtime,
    ended: tokio::sync::watch::Sender<bool>,
    seen: tokio::task::JoinHandle<u64>,
}

impl Watching {
    fn start(place: &Place) -> Self {
        let runtime = tokio::runtime::Runtime::new().expect("a runtime");
        let (ended, ending) = tokio::sync::watch::channel(false);
        let url = place.url.clone();
        let seen = runtime.spawn(watch_all(url, ending));
        Self {
            runtime,
            ended,
            seen,
        }
    }

    fn end(self) -> u64 {
        self.ended.send_replace(true);
        self.runtime
            .block_on(self.seen)
            .expect("every event once and in order")
    }
}

/// Watches each game as it appears; how many entries were seen in all.
async fn watch_all(url: String, ending: tokio::sync::watch::Receiver<bool>) -> u64 {
    let store = store::open(&url, 8).await.expect("opens");
    let mut watchers = tokio::task::JoinSet::new();
    let mut after = None;
    let mut any_game = store.subscriptions().any_game();
    let mut still = ending.clone();
    while !*still.borrow() {
        let games = store
            .games(store::Readers::All, after, 100)
            .await
            .expect("read");
        for card in &games {
            watchers.spawn(watch(
                std::sync::Arc::clone(&store),
                card.id,
                ending.clone(),
            ));
            after = Some(card.id);
        }
        tokio::select! {
            changed = any_game.changed() => changed.expect("the store is open"),
            changed = still.changed() => changed.expect("somebody ends this"),
        }
    }
    let mut seen = 0;
    while let Some(watched) = watchers.join_next().await {
        seen += watched.expect("no panic");
    }
    store.close().await;
    seen
}

/// Reads a game's entries as they are announced, to the end; how many there were.
async fn watch(
    store: std::sync::Arc<dyn store::Store>,
    game: store::GameId,
    mut ending: tokio::sync::watch::Receiver<bool>,
) -> u64 {
    let mut subscription = store.subscriptions().subscribe(game);
    let mut seen = 0;
    loop {
        let is_last = *ending.borrow();
        loop {
            let entries = store.entries(game, seen, 50).await.expect("read");
            for entry in &entries {
                assert_eq!(entry.number, seen + 1, "once and in order");
                seen = entry.number;
            }
            if entries.is_empty() {
                break;
            }
        }
        if is_last {
            break;
        }
        tokio::select! {
            announced = subscription.wait_beyond(seen) => assert!(announced > seen),
            _ = ending.changed() => {}
        }
    }
    let head = store.game(game).await.expect("read").expect("there").head;
    assert_eq!(seen, head.number, "to the last");
    seen
}
