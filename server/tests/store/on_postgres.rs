//! What only a database shared by several servers has to show.

use std::sync::Arc;
use std::time::Duration;

use fieldpost_server::store::{Append, Authority, Change, FreedSeat, Named, TakenSeat};
use fieldpost_tests::postgres;
use sqlx::{Connection, PgConnection};
use tokio::task::JoinSet;

use crate::fixtures::{Kept, On, append, head_after, open, opening, organiser, seat_key};

#[tokio::test(flavor = "multi_thread")]
async fn servers_that_start_together_migrate_once_and_make_one_organiser() {
    let Some(database) = postgres::Database::fresh() else {
        return;
    };
    let mut starting = JoinSet::new();
    for seed in 0..6 {
        let url = database.url();
        starting.spawn(async move {
            let store = open(&url).await;
            let added = store.add_first_organiser(&organiser(seed)).await;
            store.close().await;
            added.expect("asked")
        });
    }
    let added = starting.join_all().await;
    assert_eq!(added.iter().filter(|added| **added).count(), 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_one_server_appends_is_heard_at_another() {
    let Some(kept) = Kept::fresh(On::Postgres).await else {
        return;
    };
    let (here, there) = (kept.store(), open(&kept.url).await);
    let opening = opening(1, true);
    here.open_game(&Authority::Server, &opening)
        .await
        .expect("opened");
    let game = opening.game.id;
    let mut watch = there.subscriptions().subscribe(game);
    let mut head = opening.game.head;
    for round in 1..=5 {
        let append = append(game, head, 1, round * 10);
        here.append(&append).await.expect("appended");
        head = head_after(&append);
        let heard =
            tokio::time::timeout(Duration::from_secs(60), watch.wait_beyond(head.number - 1));
        assert_eq!(heard.await.expect("heard"), head.number);
        let entries = there
            .entries(game, head.number - 1, 10)
            .await
            .expect("read");
        assert_eq!(
            entries, append.entries,
            "there to be read when it is announced"
        );
    }
    there.close().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn watchers_hear_although_their_connection_was_cut() {
    let Some(kept) = Kept::fresh(On::Postgres).await else {
        return;
    };
    let (here, there) = (kept.store(), open(&kept.url).await);
    let opening = opening(1, true);
    here.open_game(&Authority::Server, &opening)
        .await
        .expect("opened");
    let mut watch = there.subscriptions().subscribe(opening.game.id);
    let mut knife = PgConnection::connect(&kept.url).await.expect("connects");
    // Every session that hears what is told.
    let cut = "SELECT count(pg_terminate_backend(pid)) FROM pg_stat_activity \
               WHERE datname = current_database() AND query LIKE 'LISTEN%'";
    let mut ended: i64 = 0;
    while ended == 0 {
        ended = sqlx::query_scalar(cut)
            .fetch_one(&mut knife)
            .await
            .expect("cut");
    }
    let append = append(opening.game.id, opening.game.head, 1, 10);
    here.append(&append).await.expect("appended");
    let heard = tokio::time::timeout(Duration::from_secs(60), watch.wait_beyond(1)).await;
    assert_eq!(heard.expect("heard"), 2);
    there.close().await;
}

/// Two transactions lock the same two rows in opposite order: PostgreSQL ends the one that waited first,
/// the store's, which then runs it again.
#[tokio::test(flavor = "multi_thread")]
async fn a_transaction_ended_for_a_deadlock_is_run_again() {
    let Some(kept) = Kept::fresh(On::Postgres).await else {
        return;
    };
    // Whoever waits looks for a deadlock once, after this long: the store's does when both wait, the other's never.
    let store = open(&format!("{}?options[deadlock_timeout]=3s", kept.url)).await;
    let opening = opening(1, true);
    store
        .open_game(&Authority::Server, &opening)
        .await
        .expect("opened");
    let invitation = opening.invitations[0].id.clone();
    let seat = opening.seats[0].id.clone();
    let mut other = PgConnection::connect(&kept.url).await.expect("connects");
    let mut other = other.begin().await.expect("begun");
    sqlx::query("SET LOCAL deadlock_timeout = '10min'")
        .execute(&mut *other)
        .await
        .expect("patient");
    sqlx::query("UPDATE invitations SET expires_at = expires_at WHERE id = $1")
        .bind(&invitation)
        .execute(&mut *other)
        .await
        .expect("locked");
    let append = Append {
        changes: vec![Change::TakeSeat(TakenSeat {
            player: "Ash".to_owned(),
            member: None,
            number: 0,
            by_organiser: false,
            key: seat_key(&seat, &invitation, 1),
            seat,
        })],
        ..append(opening.game.id, opening.game.head, 1, 10)
    };
    let appending = {
        let (store, append) = (Arc::clone(&store), append.clone());
        tokio::spawn(async move { store.append(&append).await })
    };
    // It holds the game's row and waits for the invitation's.
    let mut seen = PgConnection::connect(&kept.url).await.expect("connects");
    let waiting = "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND wait_event_type = 'Lock'";
    while sqlx::query_scalar::<_, i64>(waiting)
        .fetch_one(&mut seen)
        .await
        .expect("seen")
        == 0
    {}
    sqlx::query("UPDATE games SET name = name WHERE id = $1")
        .bind(&opening.game.id.0[..])
        .execute(&mut *other)
        .await
        .expect("got the row when the other was ended");
    other.rollback().await.expect("let go");
    appending.await.expect("no panic").expect("run again");
    let stored_game = store
        .game(opening.game.id)
        .await
        .expect("read")
        .expect("there");
    assert_eq!(stored_game.head, head_after(&append));
    store.close().await;
}

/// Where transactions are serializable by default, those that clash are ended and run again, or are
/// told that somebody was first.
#[tokio::test(flavor = "multi_thread")]
async fn a_stricter_default_is_borne() {
    let Some(database) = postgres::Database::fresh() else {
        return;
    };
    let url = format!(
        "{}?options[default_transaction_isolation]=serializable",
        database.url()
    );
    let store = open(&url).await;
    let games: Vec<_> = (1..=8).map(|seed| opening(seed, true)).collect();
    let mut opened = JoinSet::new();
    for game in &games {
        let (store, game) = (Arc::clone(&store), game.clone());
        opened.spawn(async move { store.open_game(&Authority::Server, &game).await });
    }
    for outcome in opened.join_all().await {
        outcome.expect("opened");
    }
    store.close().await;
}

/// What one server has been told is durable, every other one finds at once: nothing of it is kept at hand.
#[tokio::test(flavor = "multi_thread")]
async fn what_one_server_writes_another_finds_at_once() {
    let Some(kept) = Kept::fresh(On::Postgres).await else {
        return;
    };
    let (here, there) = (kept.store(), open(&kept.url).await);
    let opening = opening(1, true);
    here.open_game(&Authority::Server, &opening)
        .await
        .expect("opened");
    let game = opening.game.id;
    let seat = opening.seats[0].id.clone();
    let key = seat_key(&seat, &opening.invitations[0].id, 5);
    let taken = TakenSeat {
        seat: seat.clone(),
        player: "Ash".to_owned(),
        member: None,
        number: 0,
        by_organiser: false,
        key,
    };
    let mut head = opening.game.head;
    for round in 1..=20 {
        let append = append(game, head, 1, round * 10);
        here.append(&append).await.expect("appended");
        head = head_after(&append);
        let context = there
            .context_rows(Named::default(), Some(game))
            .await
            .expect("read");
        assert_eq!(context.game.expect("there").head, head);
    }
    let before = there
        .context_rows(Named::key("key-5"), Some(game))
        .await
        .expect("read");
    assert_eq!(before.key, None);
    here.take_seat(&Authority::Server, &taken)
        .await
        .expect("taken");
    let taken = there
        .context_rows(Named::key("key-5"), Some(game))
        .await
        .expect("read");
    assert!(taken.key.is_some() && taken.seat.is_some());
    assert_ne!(taken.seating, before.seating);
    let freed = FreedSeat {
        seat,
        at: "2026-01-02T03:04:05Z".to_owned(),
        at_ms: 0,
    };
    here.free_seat(&Authority::Server, &freed)
        .await
        .expect("freed");
    let freed = there
        .context_rows(Named::key("key-5"), Some(game))
        .await
        .expect("read");
    assert!(freed.key.expect("there").revoked_at.is_some());
    assert_eq!(freed.seating, before.seating);
    there.close().await;
}
