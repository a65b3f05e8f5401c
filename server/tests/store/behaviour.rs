//! What must hold when many come at once.

use std::sync::Arc;
use std::time::Duration;

use fieldpost_server::store::{Head, StoreError, Stored};
use tokio::task::JoinSet;

use crate::kept::{Kept, On, append, head_after, on_both, opening, organiser};

async fn all(mut tasks: JoinSet<Stored<()>>) -> Vec<Stored<()>> {
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
        store.open_game(&opening).await.expect("opened");
        let mut head = opening.card.head;
        for round in 1..=10 {
            let mut tasks = JoinSet::new();
            for racer in 0..8 {
                let append = append(opening.card.id, head, 2, round * 1000 + racer * 10);
                let store = Arc::clone(&store);
                tasks.spawn(async move { store.append(&append).await });
            }
            let outcomes = all(tasks).await;
            assert_eq!(outcomes.iter().filter(|outcome| outcome.is_ok()).count(), 1);
            assert!(outcomes.iter().all(|outcome| matches!(outcome, Ok(()) | Err(StoreError::Overtaken))), "{outcomes:?}");
            let entries = store.entries(opening.card.id, head.number, 10).await.expect("read");
            assert_eq!(entries.len(), 2, "the two of the one that won");
            head = Head { number: entries[1].number, hash: entries[1].hash };
            let card = store.game(opening.card.id).await.expect("read").expect("there");
            assert_eq!(card.head, head);
        }
    }

    /// Appends to many games at once all hold, and those that fail among them hinder no other.
    async fn nobody_is_hindered_by_another(kept: Kept) {
        let store = kept.store();
        let games: Vec<_> = (1..=40).map(|seed| opening(seed, true)).collect();
        for game in &games {
            store.open_game(game).await.expect("opened");
        }
        let mut tasks = JoinSet::new();
        for (place, game) in games.iter().enumerate() {
            let mut append = append(game.card.id, game.card.head, 3, 500);
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
            let entries = store.entries(game.card.id, 0, 10).await.expect("read");
            assert_eq!(entries.len(), if place % 4 == 0 { 1 } else { 4 });
        }
    }

    /// A caller who hangs up does not stop a write half way.
    async fn a_write_goes_on_without_its_caller(kept: Kept) {
        let store = kept.store();
        let opening = opening(1, true);
        store.open_game(&opening).await.expect("opened");
        let mut head = opening.card.head;
        for round in 0..20 {
            let append = append(opening.card.id, head, 1, round * 10);
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
            let card = store.game(opening.card.id).await.expect("read").expect("there");
            assert_eq!(card.head, head, "all or nothing");
        }
        let entries = store.entries(opening.card.id, 0, 100).await.expect("read");
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
        store.open_game(&opening(1, true)).await.expect("opened");
        store.close().await;
        assert!(store.open_game(&opening(2, true)).await.is_err());
        assert!(store.ping().await.is_err());
    }
}
