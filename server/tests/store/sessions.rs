//! Sessions: which keys they hold, how they start and end, and that whatever is written under one asks for it again.

use std::sync::Arc;

use fieldpost_server::store::{
    Append, Authority, DeviceLink, Named, Right, SessionRows, StartSession, Store, StoreError,
    StoredSession, TakenSeat,
};
use tokio::task::JoinSet;

use crate::fixtures::{AT, Kept, On, append, bytes, on_both, opening, organiser, seat_key};

fn stored(seed: u64) -> StoredSession {
    StoredSession {
        id: format!("session-{seed}"),
        secret_hash: bytes::<32>(seed).to_vec(),
        device: format!("Device {seed}"),
        started_at: 1_000,
        used_at: 1_000,
    }
}

/// A session of a key, which speaks for itself.
fn start(seed: u64, key: &str) -> StartSession {
    StartSession {
        by: Authority::Key {
            key: key.to_owned(),
            right: Right::Any,
            session: None,
        },
        session: stored(seed),
        key: Some(key.to_owned()),
        in_place_of: None,
        link: None,
        idle_since: 0,
    }
}

fn by_link(seed: u64, link: &str) -> StartSession {
    StartSession {
        by: Authority::Server,
        key: None,
        link: Some(link.to_owned()),
        ..start(seed, "")
    }
}

fn link(seed: u64, session: &str) -> DeviceLink {
    DeviceLink {
        id: format!("link-{seed}"),
        secret_hash: bytes::<32>(seed).to_vec(),
        session: session.to_owned(),
        expires_at: 9_000,
    }
}

fn ids(rows: &SessionRows) -> Vec<&str> {
    rows.keys.iter().map(|held| held.key.id.as_str()).collect()
}

async fn held(store: &dyn Store, session: &str) -> Option<Vec<String>> {
    let rows = store.session(session).await.expect("read")?;
    Some(ids(&rows).into_iter().map(str::to_owned).collect())
}

/// A game whose two seats are taken: their keys are `key-1` and `key-2`.
async fn two_seats(store: &dyn Store) -> fieldpost_server::store::Opening {
    store
        .add_first_organiser(&organiser(7))
        .await
        .expect("added");
    let opened = opening(1, true);
    store
        .open_game(&Authority::Server, &opened)
        .await
        .expect("opened");
    for (place, seed) in [(0, 1), (1, 2)] {
        let seat = opened.seats[place].id.clone();
        let taken = TakenSeat {
            key: seat_key(&seat, &opened.invitations[place].id, seed),
            seat,
            player: "Ash".to_owned(),
            member: None,
            number: 1,
            by_organiser: false,
        };
        let by = Authority::Server;
        store.take_seat(&by, &taken).await.expect("taken");
    }
    opened
}

on_both! {
    async fn a_session_holds_its_keys_until_they_end(kept: Kept) {
        let store = kept.store();
        let opened = two_seats(&*store).await;
        store.start_session(&start(1, "key-1")).await.expect("started");
        let rows = store.session("session-1").await.expect("read").expect("there");
        assert_eq!((rows.session, rows.keys.len()), (stored(1), 1));
        assert_eq!(rows.keys[0].seat.as_ref().map(|seat| &seat.id), Some(&opened.seats[0].id));
        // The keys of the one that it takes the place of go over, and that one is gone.
        let next = StartSession { in_place_of: Some("session-1".to_owned()), ..start(2, "key-2") };
        store.start_session(&next).await.expect("started");
        assert_eq!(held(&*store, "session-1").await, None);
        assert_eq!(held(&*store, "session-2").await.expect("there"), ["key-1", "key-2"]);
        // What is asked with it is answered of the key that is named, and of no other.
        let named = |key| Named { key: Some(key), session: Some("session-2") };
        let game = Some(opened.game.id);
        let context = store.context_rows(named("key-2"), game).await.expect("read");
        assert_eq!(context.session, Some(stored(2)));
        assert_eq!(context.seat.map(|seat| seat.id).as_ref(), Some(&opened.seats[1].id));
        let foreign = store.context_rows(named("organiser-7"), game).await.expect("read");
        assert!(foreign.session.is_none() && foreign.key.is_some());
        let posting = store.posting_context_rows(named("key-1"), opened.game.id, "once").await;
        assert_eq!(posting.expect("read").rows.session, Some(stored(2)));
        store.revoke_key("key-1", AT).await.expect("revoked");
        assert_eq!(held(&*store, "session-2").await.expect("there"), ["key-2"]);
        store.revoke_key("key-2", AT).await.expect("revoked");
        assert_eq!(held(&*store, "session-2").await, None);
    }

    async fn a_key_that_has_ended_starts_none_and_neither_does_nothing(kept: Kept) {
        let store = kept.store();
        two_seats(&*store).await;
        store.revoke_key("key-1", AT).await.expect("revoked");
        let ended = store.start_session(&start(1, "key-1")).await;
        assert!(matches!(ended, Err(StoreError::KeyEnded)), "{ended:?}");
        let of_nothing = StartSession { by: Authority::Server, key: None, ..start(1, "") };
        let empty = store.start_session(&of_nothing).await;
        assert!(matches!(empty, Err(StoreError::Overtaken)), "{empty:?}");
        assert_eq!(held(&*store, "session-1").await, None);
    }

    async fn a_link_works_once_however_many_come_with_it(kept: Kept) {
        let store = kept.store();
        two_seats(&*store).await;
        store.start_session(&start(1, "key-1")).await.expect("started");
        store.add_device_link(&link(1, "session-1")).await.expect("given");
        store.add_device_link(&link(2, "session-1")).await.expect("given");
        assert_eq!(store.device_link("link-1").await.expect("read"), None, "the newer voids it");
        assert_eq!(store.device_link("link-2").await.expect("read"), Some(link(2, "session-1")));
        let mut tasks = JoinSet::new();
        for seed in 10..18 {
            let store = Arc::clone(&store);
            tasks.spawn(async move { store.start_session(&by_link(seed, "link-2")).await.is_ok() });
        }
        let came_in = tasks.join_all().await;
        assert_eq!(came_in.iter().filter(|held| **held).count(), 1, "{came_in:?}");
        let all = store.sessions_with(&["key-1".to_owned()]).await.expect("read");
        assert_eq!(all.len(), 2);
        assert!(all.iter().all(|rows| ids(rows) == ["key-1"]));
        // It goes with the session that gave it.
        store.add_device_link(&link(3, "session-1")).await.expect("given");
        store.end_session("session-1").await.expect("ended");
        assert_eq!(store.device_link("link-3").await.expect("read"), None);
        let late = store.add_device_link(&link(4, "session-1")).await;
        assert!(matches!(late, Err(StoreError::Overtaken)), "{late:?}");
    }

    async fn keys_are_taken_out_of_sessions_and_those_left_without_end(kept: Kept) {
        let store = kept.store();
        two_seats(&*store).await;
        store.start_session(&start(1, "key-1")).await.expect("started");
        let both = StartSession { in_place_of: Some("session-1".to_owned()), ..start(2, "key-2") };
        store.start_session(&both).await.expect("started");
        store.start_session(&start(3, "key-1")).await.expect("started");
        store.start_session(&start(4, "key-1")).await.expect("started");
        let first = ["key-1".to_owned()];
        store.take_from_sessions(&first, Some("session-3")).await.expect("taken");
        assert_eq!(held(&*store, "session-3").await, None);
        assert_eq!(store.sessions_with(&first).await.expect("read").len(), 2);
        store.take_from_sessions(&first, None).await.expect("taken");
        assert_eq!(held(&*store, "session-2").await.expect("there"), ["key-2"]);
        assert_eq!(held(&*store, "session-4").await, None);
        assert!(store.sessions_with(&[]).await.expect("read").is_empty());
        store.take_from_sessions(&[], None).await.expect("nothing is taken");
        assert_eq!(held(&*store, "session-2").await.expect("there"), ["key-2"]);
    }

    async fn those_that_nobody_used_for_long_are_gone(kept: Kept) {
        let store = kept.store();
        two_seats(&*store).await;
        store.start_session(&start(1, "key-1")).await.expect("started");
        store.start_session(&start(2, "key-1")).await.expect("started");
        store.add_device_link(&link(1, "session-1")).await.expect("given");
        store.use_session("session-2", 5_000).await.expect("used");
        store.use_session("session-2", 2_000).await.expect("time does not run backwards");
        let used = store.session("session-2").await.expect("read").expect("there");
        assert_eq!(used.session.used_at, 5_000);
        let next = StartSession { idle_since: 4_000, ..start(3, "key-2") };
        store.start_session(&next).await.expect("started");
        assert_eq!(held(&*store, "session-1").await, None);
        assert!(held(&*store, "session-2").await.is_some());
    }

    /// Signed out while a request was on its way: it changes nothing, though its key is still good.
    async fn a_session_that_ended_since_writes_nothing(kept: Kept) {
        let store = kept.store();
        let opened = two_seats(&*store).await;
        store.start_session(&start(1, "key-1")).await.expect("started");
        let word = |session: &str| Authority::Key {
            key: "key-1".to_owned(),
            right: Right::Seat(opened.seats[0].id.clone()),
            session: Some(session.to_owned()),
        };
        let first = Append { by: word("session-1"), ..append(opened.game.id, opened.game.head, 1, 700) };
        store.append(&first).await.expect("appended while it stands");
        let head = crate::fixtures::head_after(&first);
        let next = |session: &str| Append { by: word(session), ..append(opened.game.id, head, 1, 800) };
        for foreign in ["session-9", "key-1"] {
            let refused = store.append(&next(foreign)).await;
            assert!(matches!(refused, Err(StoreError::KeyEnded)), "{foreign}: {refused:?}");
        }
        store.end_session("session-1").await.expect("ended");
        let refused = store.append(&next("session-1")).await;
        assert!(matches!(refused, Err(StoreError::KeyEnded)), "{refused:?}");
        let stored = store.game(opened.game.id).await.expect("read").expect("there");
        assert_eq!(stored.head, head);
    }
}
