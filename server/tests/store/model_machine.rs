//! Random writes, right and wrong, done to both databases and to the model: the same answers, and the
//! same to be read after each.
//!
//! `FIELDPOST_TEST_CASES` asks for more sequences than the few of every day.

use std::time::Duration;

use fieldpost_server::store::{
    Append, Authority, Change, Readers, SealedInstructions, Store, StoreError, StoredAnswer,
    Subscription, TakenSeat, Waking,
};
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use tokio::runtime::Runtime;

use crate::fixtures::{
    self, AT, Kept, On, bytes, head_after, invitation, opening, organiser, seat_key,
};
use crate::model::{Model, Why};

/// Sequences in a usual run.
const CASES: u32 = 8;
const SEED: [u8; 32] = *b"fieldpost store machine, fixed!!";

#[derive(Debug, Clone)]
enum Step {
    Open {
        open_to_all: bool,
        is_double: bool,
    },
    SetOpen {
        game: usize,
        open: bool,
    },
    Invite {
        game: usize,
        place: usize,
        is_double: bool,
    },
    Organiser,
    WakeNext {
        game: usize,
        is_late: bool,
        next: Option<i64>,
    },
    Append {
        game: usize,
        is_stale: bool,
        entries: u64,
        changes: Vec<Altered>,
    },
    Reopen,
}

#[derive(Debug, Clone)]
enum Altered {
    NextSecret { is_wrong: bool },
    RenewSecret { is_wrong: bool },
    Seal { back: u64 },
    TakeSeat { place: usize, invitation: usize },
    StoreAnswer { key: usize, name: u8 },
    WakeAt { at: Option<i64> },
}

fn altered() -> impl Strategy<Value = Altered> {
    prop_oneof![
        4 => prop::bool::weighted(0.1).prop_map(|is_wrong| Altered::NextSecret { is_wrong }),
        1 => prop::bool::weighted(0.1).prop_map(|is_wrong| Altered::RenewSecret { is_wrong }),
        2 => (0_u64..2).prop_map(|back| Altered::Seal { back }),
        4 => (0_usize..2, 0_usize..8).prop_map(|(place, invitation)| Altered::TakeSeat { place, invitation }),
        3 => (0_usize..6, 0_u8..4).prop_map(|(key, name)| Altered::StoreAnswer { key, name }),
        3 => prop::option::of(0_i64..100).prop_map(|at| Altered::WakeAt { at }),
    ]
}

fn step() -> impl Strategy<Value = Step> {
    let rarely = || prop::bool::weighted(0.15);
    prop_oneof![
        3 => (any::<bool>(), rarely()).prop_map(|(open_to_all, is_double)| Step::Open { open_to_all, is_double }),
        1 => (0_usize..4, any::<bool>()).prop_map(|(game, open)| Step::SetOpen { game, open }),
        2 => (0_usize..4, 0_usize..2, rarely()).prop_map(|(game, place, is_double)| Step::Invite { game, place, is_double }),
        1 => Just(Step::Organiser),
        2 => (0_usize..4, rarely(), prop::option::of(0_i64..100))
            .prop_map(|(game, is_late, next)| Step::WakeNext { game, is_late, next }),
        1 => Just(Step::Reopen),
        12 => (0_usize..4, rarely(), 1_u64..4, prop::collection::vec(altered(), 0..3))
            .prop_map(|(game, is_stale, entries, changes)| Step::Append { game, is_stale, entries, changes }),
    ]
}

/// The databases with the model beside them.
struct Machine {
    model: Model,
    kept: Vec<(Kept, Vec<Subscription>)>,
    /// Makes whatever is new different.
    count: u64,
}

impl Machine {
    async fn fresh() -> Self {
        let mut kept = Vec::new();
        for on in [On::Sqlite, On::Postgres] {
            kept.extend(Kept::fresh(on).await.map(|kept| (kept, Vec::new())));
        }
        Self {
            model: Model::default(),
            kept,
            count: 0,
        }
    }

    async fn run(&mut self, step: &Step) {
        self.count += 100;
        match step {
            Step::Open {
                open_to_all,
                is_double,
            } => self.open(*open_to_all, *is_double).await,
            Step::SetOpen { game, open } => {
                let Some(id) = self.game(*game) else { return };
                self.model.set_open_to_all(id, *open);
                for store in self.stores() {
                    store
                        .set_open_to_all(&Authority::Server, id, *open)
                        .await
                        .expect("set");
                }
            }
            Step::Invite {
                game,
                place,
                is_double,
            } => self.invite(*game, *place, *is_double).await,
            Step::Organiser => {
                let key = organiser(self.count);
                let added = self.model.add_first_organiser(&key);
                for store in self.stores() {
                    assert_eq!(store.add_first_organiser(&key).await.expect("asked"), added);
                }
            }
            Step::WakeNext {
                game,
                is_late,
                next,
            } => self.wake_next(*game, *is_late, *next).await,
            Step::Append {
                game,
                is_stale,
                entries,
                changes,
            } => {
                self.append(*game, *is_stale, *entries, changes).await;
            }
            Step::Reopen => {
                for (kept, watches) in &mut self.kept {
                    kept.reopen().await;
                    let games = self.model.games.keys();
                    *watches = games
                        .map(|game| kept.store().subscriptions().subscribe(*game))
                        .collect();
                }
            }
        }
        self.compare().await;
    }

    async fn open(&mut self, open_to_all: bool, is_double: bool) {
        let mut opening = opening(self.count, open_to_all);
        if let Some(there) = self.game(0).filter(|_| is_double) {
            // Its card is the last thing that is not new: everything before it must be undone.
            opening.invitations[1]
                .id
                .clone_from(&self.model.invitations.values().next().expect("one").id);
            assert_ne!(there, opening.game.id);
        }
        let expected = self.model.open_game(&opening);
        for (kept, watches) in &mut self.kept {
            let store = kept.store();
            let opened = store.open_game(&Authority::Server, &opening).await;
            assert_eq!(opened.map_err(|error| Why::of(&error)), expected);
            if expected.is_ok() {
                watches.push(store.subscriptions().subscribe(opening.game.id));
            }
        }
    }

    async fn invite(&mut self, game: usize, place: usize, is_double: bool) {
        let Some(id) = self.game(game) else { return };
        let seat = self.model.games[&id].seats[place].clone();
        let mut given = invitation(&seat, self.count);
        if is_double {
            given
                .id
                .clone_from(&self.model.invitations.values().next().expect("one").id);
        }
        let expected = self.model.invite(&given);
        for store in self.stores() {
            let invited = store.invite(&Authority::Server, &given).await;
            assert_eq!(invited.map_err(|error| Why::of(&error)), expected);
        }
    }

    async fn append(&mut self, game: usize, is_stale: bool, entries: u64, changes: &[Altered]) {
        let Some(id) = self.game(game) else { return };
        let mut append = fixtures::append(id, self.model.games[&id].game.head, entries, self.count);
        if is_stale {
            append.after.hash = bytes(self.count + 99);
        }
        append.moment.player_turn += self.count;
        append.changes = changes
            .iter()
            .map(|altered| self.change(&append, altered))
            .collect();
        let expected = self.model.append(&append);
        let place = self
            .model
            .games
            .keys()
            .position(|game| *game == id)
            .expect("there");
        for (kept, watches) in &mut self.kept {
            let appended = kept.store().append(&append).await;
            assert_eq!(
                appended.map_err(|error| Why::of(&error)),
                expected,
                "{append:#?}"
            );
            if expected.is_ok() {
                let last = head_after(&append).number;
                let heard = watches[place].wait_beyond(last - 1);
                let heard = tokio::time::timeout(Duration::from_secs(60), heard).await;
                assert_eq!(heard.expect("announced"), last);
            }
        }
    }

    /// Somebody sees to a clock, or comes after another has.
    async fn wake_next(&mut self, game: usize, is_late: bool, next: Option<i64>) {
        let Some(id) = self.game(game) else { return };
        let wakes_at = self.model.games[&id].wakes_at.unwrap_or(0) + i64::from(is_late);
        let waking = Waking { game: id, wakes_at };
        let expected = self.model.wake_next(&waking, next);
        for store in self.stores() {
            let done = store.wake_next(&waking, next).await;
            assert_eq!(
                done.map_err(|error| Why::of(&error)),
                expected,
                "{waking:?}"
            );
        }
    }

    fn change(&self, append: &Append, altered: &Altered) -> Change {
        let game = &self.model.games[&append.game];
        match altered {
            Altered::NextSecret { is_wrong } => {
                let now = *game.secrets.keys().next().expect("one");
                Change::NextSecret {
                    used: now + u64::from(*is_wrong),
                    next: bytes(self.count),
                }
            }
            Altered::RenewSecret { is_wrong } => {
                let now = *game.secrets.keys().next().expect("one");
                Change::RenewSecret {
                    player_turn: now + u64::from(*is_wrong),
                    secret: bytes(self.count),
                }
            }
            Altered::Seal { back } => Change::Seal(SealedInstructions {
                number: append.after.number + 1 - back,
                side: "red".to_owned(),
                nonce: bytes(self.count),
                body: "{}".to_owned(),
            }),
            Altered::TakeSeat { place, invitation } => {
                let known: Vec<&String> = self.model.invitations.keys().collect();
                let seat = &game.seats[*place].id;
                Change::TakeSeat(TakenSeat {
                    seat: seat.clone(),
                    player: "Ash".to_owned(),
                    member: None,
                    number: self.count,
                    by_organiser: false,
                    key: seat_key(
                        seat,
                        known[invitation % known.len()],
                        self.count + *place as u64,
                    ),
                })
            }
            Altered::WakeAt { at } => Change::WakeAt(*at),
            Altered::StoreAnswer { key, name } => Change::StoreAnswer(StoredAnswer {
                key: self
                    .model
                    .keys
                    .keys()
                    .nth(*key)
                    .map_or("nobody", String::as_str)
                    .to_owned(),
                idempotency_key: format!("name-{name}"),
                request_hash: bytes(self.count),
                status: 201,
                body: "{\"accepted\":true}".to_owned(),
                at: AT.to_owned(),
            }),
        }
    }

    fn game(&self, place: usize) -> Option<fieldpost_server::store::GameId> {
        let games: Vec<_> = self.model.games.keys().collect();
        (!games.is_empty()).then(|| *games[place % games.len()])
    }

    fn stores(&self) -> Vec<std::sync::Arc<dyn Store>> {
        self.kept.iter().map(|(kept, _)| kept.store()).collect()
    }

    /// Each store copied into a fresh one of the other kind: the model again.
    async fn copy(&self) {
        for (place, store) in self.stores().iter().enumerate() {
            let other = if place == 0 { On::Postgres } else { On::Sqlite };
            let Some(fresh) = Kept::fresh(other).await else {
                continue;
            };
            let into = fresh.store();
            let from = store.snapshot().await.expect("a snapshot");
            let copied = into.fill(from).await.expect("copied");
            let games = self.model.games.values();
            let entries: usize = games.map(|game| game.entries.len()).sum();
            assert_eq!(copied.rows("events"), entries as u64);
            compare_games(&*into, &self.model).await;
            compare_rest(&*into, &self.model).await;
            into.verify().await.expect("good");
            let again = into.fill(store.snapshot().await.expect("a snapshot")).await;
            let is_empty = self.model.games.is_empty() && self.model.keys.is_empty();
            assert_eq!(
                matches!(again, Err(StoreError::NotEmpty(_))),
                !is_empty,
                "{again:?}"
            );
        }
    }

    async fn compare(&self) {
        for store in self.stores() {
            compare_games(&*store, &self.model).await;
            compare_rest(&*store, &self.model).await;
        }
    }
}

async fn compare_games(store: &dyn Store, model: &Model) {
    for (id, game) in &model.games {
        assert_eq!(
            store.game(*id).await.expect("read").as_ref(),
            Some(&game.game)
        );
        assert_eq!(store.seats(*id).await.expect("read"), game.seats);
        assert_eq!(store.sealed(*id).await.expect("read"), game.sealed);
        let mut entries = Vec::new();
        loop {
            let page = store
                .entries(*id, entries.len() as u64, 3)
                .await
                .expect("read");
            if page.is_empty() {
                break;
            }
            entries.extend(page);
        }
        assert_eq!(entries, game.entries);
        let last = entries.last().expect("one");
        let number = store.number_of(*id, &last.hash).await.expect("read");
        assert_eq!(number, Some(last.number));
        for turn in 1..4 {
            let secret = store.secret(*id, turn).await.expect("read");
            assert_eq!(secret.as_ref(), game.secrets.get(&turn));
        }
        for seat in &game.seats {
            assert_eq!(
                store.seat(&seat.id).await.expect("read").as_ref(),
                Some(seat)
            );
        }
    }
    let first = model.games.keys().next().copied();
    for (readers, after) in [
        (Readers::All, None),
        (Readers::All, first),
        (Readers::OpenAnd(None), None),
        (Readers::OpenAnd(first), None),
    ] {
        let listed = store.games(readers, after, 2).await.expect("read");
        assert_eq!(
            listed,
            model.listed(readers, after, 2),
            "{readers:?} {after:?}"
        );
    }
}

async fn compare_rest(store: &dyn Store, model: &Model) {
    for (id, invitation) in &model.invitations {
        assert_eq!(
            store.invitation(id).await.expect("read").as_ref(),
            Some(invitation)
        );
        let key = model.keys.values().find(|key| {
            matches!(&key.origin, fieldpost_server::store::Origin::Invitation { invitation, .. } if invitation == id)
        });
        assert_eq!(
            store.key_for_invitation(id).await.expect("read").as_ref(),
            key
        );
    }
    for by in [-1, 30, 99] {
        let waking = store.waking(by, 100).await.expect("read");
        assert_eq!(waking, model.waking(by));
    }
    for (id, key) in &model.keys {
        assert_eq!(store.key(id).await.expect("read").as_ref(), Some(key));
    }
    for key in model.keys.keys().map(String::as_str).chain(["nobody"]) {
        for name in 0..4 {
            let name = (key.to_owned(), format!("name-{name}"));
            let answer = store.answer(&name.0, &name.1).await.expect("read");
            assert_eq!(answer.as_ref(), model.answers.get(&name));
        }
    }
}

#[test]
fn both_databases_do_as_the_model_does() {
    let cases = std::env::var("FIELDPOST_TEST_CASES");
    let cases = cases.map_or(CASES, |cases| cases.parse().expect("a number of cases"));
    let config = Config {
        cases,
        failure_persistence: None,
        max_shrink_iters: 200,
        ..Config::default()
    };
    let mut runner =
        TestRunner::new_with_rng(config, TestRng::from_seed(RngAlgorithm::ChaCha, &SEED));
    let steps = prop::collection::vec(step(), 1..40);
    let runtime = Runtime::new().expect("a runtime");
    let done = runner.run(&steps, |steps| {
        runtime.block_on(async {
            let mut machine = Machine::fresh().await;
            for step in &steps {
                machine.run(step).await;
            }
            machine.copy().await;
        });
        Ok(())
    });
    done.unwrap_or_else(|error| panic!("{error}"));
}
