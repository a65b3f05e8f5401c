//! What must hold when many come at once.

use std::collections::BTreeSet;
use std::sync::Arc;
use std::time::Duration;

use fieldpost_server::store::{
    Authority, Change, Head, Named, Opens, PostingContextRows, SealedInstructions, StoreError,
    StoreResult, StoredAnswer, TakenSeat, seating_of,
};
use tokio::task::JoinSet;

use crate::fixtures::{AT, Kept, On, append, head_after, on_both, opening, organiser, seat_key};

fn named(key: Option<&str>) -> Named<'_> {
    key.map_or_else(Named::default, Named::key)
}

async fn all(mut tasks: JoinSet<StoreResult<()>>) -> Vec<StoreResult<()>> {
    let mut outcomes = Vec::new();
    while let Some(outcome) = tasks.join_next().await {
        outcomes.push(outcome.expect("no panic"));
    }
    outcomes
}

on_both! {
    /// Of many appends to one head one holds, round after round.
    async fn one_of_many_wins(kept: Kept) {
        let store = kept.store();
        let opening = opening(1, true);
        store.open_game(&Authority::Server, &opening).await.expect("opened");
        let mut head = opening.game.head;
        for round in 1..=10 {
            let mut tasks = JoinSet::new();
            for racer in 0..8 {
                let append = append(opening.game.id, head, 2, round * 1000 + racer * 10);
                let store = Arc::clone(&store);
                tasks.spawn(async move { store.append(&append).await });
            }
            let outcomes = all(tasks).await;
            assert_eq!(outcomes.iter().filter(|outcome| outcome.is_ok()).count(), 1);
            assert!(outcomes.iter().all(|outcome| matches!(outcome, Ok(()) | Err(StoreError::Overtaken))), "{outcomes:?}");
            let entries = store.entries(opening.game.id, head.number, 10).await.expect("read");
            assert_eq!(entries.len(), 2, "the two of the one that won");
            head = Head { number: entries[1].number, hash: entries[1].hash };
            let stored_game = store.game(opening.game.id).await.expect("read").expect("there");
            assert_eq!(stored_game.head, head);
        }
    }

    /// Appends to many games at once all hold, and those that fail among them hinder no other.
    async fn nobody_is_hindered_by_another(kept: Kept) {
        let store = kept.store();
        let games: Vec<_> = (1..=40).map(|seed| opening(seed, true)).collect();
        for game in &games {
            store.open_game(&Authority::Server, game).await.expect("opened");
        }
        let mut tasks = JoinSet::new();
        for (place, game) in games.iter().enumerate() {
            let mut append = append(game.game.id, game.game.head, 3, 500);
            if place % 4 == 0 {
                append.after.number += 1;
            }
            let store = Arc::clone(&store);
            let is_good = place % 4 != 0;
            tasks.spawn(async move {
                let outcome = store.append(&append).await;
                assert_eq!(outcome.is_ok(), is_good, "{outcome:?}");
                outcome
            });
        }
        all(tasks).await;
        for (place, game) in games.iter().enumerate() {
            let entries = store.entries(game.game.id, 0, 10).await.expect("read");
            assert_eq!(entries.len(), if place % 4 == 0 { 1 } else { 4 });
        }
    }

    /// A caller who hangs up does not stop a write half way.
    async fn a_write_goes_on_without_its_caller(kept: Kept) {
        let store = kept.store();
        let opening = opening(1, true);
        store.open_game(&Authority::Server, &opening).await.expect("opened");
        let mut head = opening.game.head;
        for round in 0..20 {
            let append = append(opening.game.id, head, 1, round * 10);
            let writing = {
                let (store, append) = (Arc::clone(&store), append.clone());
                tokio::spawn(async move { store.append(&append).await })
            };
            // Long enough to have been asked, most often too short to have been answered.
            tokio::time::sleep(Duration::from_micros(200 * round)).await;
            writing.abort();
            let _ = writing.await;
            // The same again: it goes in now, or finds that it went in before. Half of it would be found as neither.
            match store.append(&append).await {
                Ok(()) | Err(StoreError::Overtaken) => head = head_after(&append),
                Err(error) => panic!("{error}"),
            }
            let stored_game = store.game(opening.game.id).await.expect("read").expect("there");
            assert_eq!(stored_game.head, head, "all or nothing");
        }
        let entries = store.entries(opening.game.id, 0, 100).await.expect("read");
        assert_eq!(entries.len(), 21, "each once");
    }

    /// The first organiser's key is made once however many ask.
    async fn one_first_organiser(kept: Kept) {
        let store = kept.store();
        let mut tasks = JoinSet::new();
        for seed in 0..8 {
            let store = Arc::clone(&store);
            tasks.spawn(async move { store.add_first_organiser(&organiser(seed)).await });
        }
        let mut made = 0;
        while let Some(added) = tasks.join_next().await {
            made += usize::from(added.expect("no panic").expect("asked"));
        }
        assert_eq!(made, 1);
    }

    /// What is closed answers errors and does not hang.
    async fn after_closing_it_answers_errors(kept: Kept) {
        let store = kept.store();
        store.open_game(&Authority::Server, &opening(1, true)).await.expect("opened");
        store.close().await;
        assert!(store.open_game(&Authority::Server, &opening(2, true)).await.is_err());
        assert!(store.ping().await.is_err());
    }

    /// Appends written together with one that fails half way hold with all that belongs to them, and it leaves nothing.
    async fn one_that_fails_half_way_leaves_nothing_and_the_others_all(kept: Kept) {
        let store = kept.store();
        store.add_first_organiser(&organiser(7)).await.expect("added");
        let games: Vec<_> = (1..=40).map(|seed| opening(seed, true)).collect();
        for game in &games {
            store.open_game(&Authority::Server, game).await.expect("opened");
        }
        let mut tasks = JoinSet::new();
        for (place, game) in games.iter().enumerate() {
            let mut append = append(game.game.id, game.game.head, 2, 500);
            let is_good = place % 10 != 3;
            append.changes = vec![
                // The secret of a player turn that is not being played is not there.
                Change::NextSecret { used: if is_good { 1 } else { 9 }, next: [place as u8; 32] },
                Change::WakeAt(Some(place as i64)),
                Change::StoreAnswer(StoredAnswer {
                    key: "organiser-7".to_owned(),
                    idempotency_key: format!("posting-{place}"),
                    request_hash: [place as u8; 32],
                    status: 201,
                    body: format!("answer {place}"),
                    at: AT.to_owned(),
                }),
            ];
            let store = Arc::clone(&store);
            tasks.spawn(async move {
                let outcome = store.append(&append).await;
                assert_eq!(outcome.is_ok(), is_good, "{outcome:?}");
                Ok(())
            });
        }
        all(tasks).await;
        let waking: BTreeSet<_> = store.waking(100, 100).await.expect("read").into_iter().map(|waking| waking.game).collect();
        for (place, game) in games.iter().enumerate() {
            let (id, is_good) = (game.game.id, place % 10 != 3);
            let entries = store.entries(id, 0, 10).await.expect("read");
            assert_eq!(entries.len(), if is_good { 3 } else { 1 });
            let secrets = (store.secret(id, 1).await.expect("read"), store.secret(id, 2).await.expect("read"));
            let expected = if is_good { (None, Some([place as u8; 32])) } else { (Some(game.secret), None) };
            assert_eq!(secrets, expected);
            let answer = store.answer("organiser-7", &format!("posting-{place}")).await.expect("read");
            assert_eq!(answer.map(|answer| answer.body), is_good.then(|| format!("answer {place}")));
            assert_eq!(waking.contains(&id), is_good);
        }
    }

    /// Many who come at once are each told of their own key and game, with who holds its seats.
    async fn visits_at_once_are_each_told_their_own(kept: Kept) {
        let store = kept.store();
        store.add_first_organiser(&organiser(7)).await.expect("added");
        let games: Vec<_> = (1..=30).map(|seed| opening(seed, true)).collect();
        for (game, player) in games.iter().zip(["Ash", "Ash 1 -1", "Grünbach 猫"].into_iter().cycle()) {
            store.open_game(&Authority::Server, game).await.expect("opened");
            let seat = game.seats[1].id.clone();
            let key = seat_key(&seat, &game.invitations[1].id, u64::from(game.game.id.0[7]));
            let taken = TakenSeat { seat, player: player.to_owned(), member: None, number: 0, by_organiser: false, key };
            store.take_seat(&Authority::Server, &taken).await.expect("taken");
        }
        let mut tasks = JoinSet::new();
        for round in 0..4 {
            for (place, game) in games.iter().enumerate() {
                let (store, game, seed) = (Arc::clone(&store), game.clone(), game.game.id.0[7]);
                tasks.spawn(async move {
                    let key = match (place + round) % 4 {
                        0 => None,
                        1 => Some("nobody's".to_owned()),
                        2 => Some("organiser-7".to_owned()),
                        _ => Some(format!("key-{seed}")),
                    };
                    let context = store.context_rows(named(key.as_deref()), Some(game.game.id)).await?;
                    let alone = match &key {
                        Some(key) => store.key(key).await?,
                        None => None,
                    };
                    assert_eq!(context.key, alone, "{key:?}");
                    let seats = store.seats(game.game.id).await?;
                    let own = context.key.as_ref().is_some_and(|key| matches!(key.opens, Opens::Seat { .. }));
                    assert_eq!(context.seat.as_ref(), own.then_some(&seats[1]));
                    assert_eq!(context.game, Some(game.game));
                    assert_eq!(context.seating, seating_of(&seats));
                    Ok(())
                });
            }
        }
        assert!(all(tasks).await.iter().all(Result::is_ok));
        let nobody = store.context_rows(Named::default(), None).await.expect("read");
        assert_eq!((nobody.key, nobody.game, nobody.seating.as_str()), (None, None, ""));
    }

    /// However many ask at once, nobody who comes after a key was revoked finds it good.
    async fn a_revoked_key_is_revoked_for_whoever_comes_after(kept: Kept) {
        let store = kept.store();
        store.add_first_organiser(&organiser(7)).await.expect("added");
        for seed in 1..=20 {
            let opening = opening(seed, true);
            store.open_game(&Authority::Server, &opening).await.expect("opened");
            let seat = opening.seats[0].id.clone();
            let key = seat_key(&seat, &opening.invitations[0].id, seed);
            let name = key.id.clone();
            let taken = TakenSeat { seat, player: "Ash".to_owned(), member: None, number: 0, by_organiser: false, key };
            store.take_seat(&Authority::Server, &taken).await.expect("taken");
            let mut tasks = JoinSet::new();
            for _ in 0..16 {
                let (store, name) = (Arc::clone(&store), name.clone());
                tasks.spawn(async move {
                    while store.context_rows(Named::key(&name), None).await?.key.is_some_and(|key| key.revoked_at.is_none()) {}
                    Ok(())
                });
            }
            store.revoke_key(&name, AT).await.expect("revoked");
            let context = store.context_rows(Named::key(&name), None).await.expect("read");
            assert_eq!(context.key.expect("there").revoked_at.as_deref(), Some(AT));
            assert!(all(tasks).await.iter().all(Result::is_ok));
        }
    }

    /// What must be known before a posting is of that posting, however many come at once.
    async fn postings_at_once_are_each_told_their_own(kept: Kept) {
        let store = kept.store();
        store.add_first_organiser(&organiser(7)).await.expect("added");
        let games: Vec<_> = (1..=20).map(|seed| opening(seed, true)).collect();
        for (place, game) in games.iter().enumerate() {
            store.open_game(&Authority::Server, game).await.expect("opened");
            let mut append = append(game.game.id, game.game.head, 1, 500);
            for number in 0..(place as u64 % 3) {
                append.changes.push(Change::Seal(SealedInstructions {
                    number,
                    side: "red".to_owned(),
                    nonce: [place as u8; 32],
                    body: "{}".to_owned(),
                }));
            }
            append.changes.push(Change::StoreAnswer(StoredAnswer {
                key: "organiser-7".to_owned(),
                idempotency_key: format!("posting-{place}"),
                request_hash: [place as u8; 32],
                status: 201,
                body: format!("answer {place}"),
                at: AT.to_owned(),
            }));
            store.append(&append).await.expect("appended");
        }
        let mut tasks = JoinSet::new();
        for round in 0..3 {
            for (place, game) in games.iter().enumerate() {
                let (store, game) = (Arc::clone(&store), game.game.id);
                tasks.spawn(async move {
                    let name = format!("posting-{}", place + round * 7);
                    let key = if round == 1 { "nobody's" } else { "organiser-7" };
                    let PostingContextRows { rows: context, before } = store.posting_context_rows(Named::key(key), game, &name).await?;
                    assert_eq!(context.key, store.key(key).await?);
                    assert_eq!(context.game, store.game(game).await?);
                    let turn = context.game.expect("there").moment.player_turn;
                    assert!(before.secret.is_some());
                    assert_eq!(before.secret, store.secret(game, turn).await?);
                    assert_eq!(before.sealed, store.sealed(game).await?);
                    assert_eq!(before.sealed.len(), place % 3);
                    assert_eq!(before.answer, store.answer(key, &name).await?);
                    Ok(())
                });
            }
        }
        assert!(all(tasks).await.iter().all(Result::is_ok));
    }
}
