//! The queue of what is to be told: once for each address, taken by one at a time, given up, revived.

use std::collections::BTreeSet;
use std::sync::Arc;

use fieldpost_server::store::{
    Authority, Change, Channel, Kind, Notice, NoticeAddress, NoticeId, NoticeOutcome, Opening,
    Recipients, SetAddresses, Store, StoreError, TakeNotices, TakenNotice, Topic,
};
use tokio::task::JoinSet;

use crate::fixtures::{Kept, On, append, bytes, on_both, open, opening};

fn address(opening: &Opening, place: usize, channel: Channel, seed: u64) -> NoticeAddress {
    NoticeAddress {
        id: format!("{seed:016x}"),
        seat: opening.seats[place].id.clone(),
        channel,
        address: format!("somebody-{seed}@example.org"),
        topics: Topic::ALL.to_vec(),
        secret: bytes::<32>(seed).to_vec(),
        set_at: 1000,
        set_by: None,
    }
}

async fn set(
    store: &dyn Store,
    seat: &str,
    addresses: &[NoticeAddress],
    at: i64,
) -> Result<(), StoreError> {
    let set = SetAddresses {
        seat: seat.to_owned(),
        addresses: addresses.to_vec(),
        number: 1,
        at,
    };
    store.set_notice_addresses(&Authority::Server, &set).await
}

fn notice(to: Recipients, kind: Kind, number: u64, at: i64) -> Notice {
    Notice {
        to,
        kind,
        number,
        since: number - 1,
        words: "Ünits — 猫".to_owned(),
        at,
    }
}

fn everything(now: i64) -> TakeNotices {
    TakeNotices {
        now,
        until: now + 100,
        channels: Channel::ALL.to_vec(),
        busy: Vec::new(),
        limit: 100,
    }
}

async fn taken(store: &dyn Store, now: i64) -> Vec<TakenNotice> {
    let mut taken = store.take_notices(&everything(now)).await.expect("taken");
    taken.sort_by(|a, b| a.id.cmp(&b.id));
    taken
}

async fn tell_all(store: &dyn Store, now: i64) -> Vec<String> {
    let mut told = Vec::new();
    for notice in taken(store, now).await {
        store
            .settle_notice(&notice, &NoticeOutcome::Done { at: now })
            .await
            .expect("settled");
        told.push(format!(
            "{} {} {}",
            notice.seat.side().unwrap_or_default(),
            notice.to.channel.as_str(),
            notice.id.kind
        ));
    }
    told
}

on_both! {
    /// What an append tells stands and falls with it, reaches those it is for, and is queued once.
    async fn notices_come_with_their_append(kept: Kept) {
        let store = kept.store();
        let opening = opening(1, true);
        store.open_game(&Authority::Server, &opening).await.expect("opened");
        let (game, head) = (opening.game.id, opening.game.head);
        let (red, blue) = (&opening.seats[0].id, &opening.seats[1].id);
        let turns = NoticeAddress { topics: vec![Topic::Turns], ..address(&opening, 1, Channel::Webhook, 3) };
        set(&*store, red, &[address(&opening, 0, Channel::Mail, 1)], 0).await.expect("set");
        set(&*store, blue, &[address(&opening, 1, Channel::Mail, 2), turns], 0).await.expect("set");
        assert_eq!(tell_all(&*store, 0).await, ["red mail welcome", "blue mail welcome", "blue webhook welcome"]);

        let tell = |kind, to| Change::QueueNotice(notice(to, kind, 2, 5));
        let mut posted = append(game, head, 1, 500);
        posted.changes = vec![tell(Kind::YourTurn, Recipients::Side("blue".to_owned())), tell(Kind::Ruling, Recipients::All),
            tell(Kind::Dispute, Recipients::AllBut("red".to_owned()))];
        let mut late = append(game, head, 1, 900);
        late.changes = vec![tell(Kind::Ended, Recipients::All)];
        store.append(&posted).await.expect("appended");
        assert!(matches!(store.append(&late).await, Err(StoreError::Overtaken)));
        store.queue_notice(game, &notice(Recipients::All, Kind::Ruling, 2, 6)).await.expect("asked again");

        let notices = taken(&*store, 5).await;
        assert_eq!((notices[0].since, notices[0].words.as_str(), notices[0].tries), (1, "Ünits — 猫", 1));
        assert_eq!(notices[0].to, address(&opening, 0, Channel::Mail, 1));
        assert_eq!(notices[0].seat, opening.seats[0]);
        let told: Vec<String> = notices.iter().map(|n| format!("{} {} {}", n.seat.side().unwrap_or_default(), n.to.channel.as_str(), n.id.kind)).collect();
        assert_eq!(told, ["red mail ruling", "blue mail your-turn", "blue mail dispute", "blue mail ruling", "blue webhook your-turn"]);
    }

    /// Whoever takes a notice has it alone until it is told, its time is over, or it is due again.
    async fn a_taken_notice_is_nobody_elses(kept: Kept) {
        let store = kept.store();
        let opening = opening(1, true);
        store.open_game(&Authority::Server, &opening).await.expect("opened");
        set(&*store, &opening.seats[0].id, &[address(&opening, 0, Channel::Mail, 1)], 10).await.expect("set");
        assert_eq!(store.next_notice(&[Channel::Mail]).await.expect("read"), Some(10));
        assert_eq!(store.next_notice(&[Channel::Webhook]).await.expect("read"), None, "no webhook");
        assert!(taken(&*store, 9).await.is_empty(), "not due");
        let no_mail = TakeNotices { channels: vec![Channel::Webhook], ..everything(10) };
        assert!(store.take_notices(&no_mail).await.expect("taken").is_empty());
        let none = TakeNotices { channels: Vec::new(), ..everything(10) };
        assert!(store.take_notices(&none).await.expect("taken").is_empty());
        assert_eq!(store.next_notice(&[]).await.expect("read"), None, "no channel");
        let first = taken(&*store, 10).await.remove(0);
        assert!(taken(&*store, 109).await.is_empty(), "still his who took it");
        let second = taken(&*store, 110).await.remove(0);
        assert_eq!((first.tries, second.tries), (1, 2));
        // He who was too slow has no say any more.
        store.settle_notice(&first, &NoticeOutcome::Dead { at: 111, trouble: "slow".to_owned() }).await.expect("asked");
        assert!(store.dead_notices(None, 10).await.expect("read").is_empty());
        let later = NoticeOutcome::Later { due_at: 500, trouble: "It answered 500.".to_owned() };
        store.settle_notice(&second, &later).await.expect("settled");
        let trouble = store.notice_trouble(&second.to.id).await.expect("read");
        assert_eq!(trouble.as_deref(), Some("It answered 500."));
        assert!(taken(&*store, 499).await.is_empty());
        let third = taken(&*store, 500).await.remove(0);
        store.settle_notice(&third, &NoticeOutcome::Done { at: 501 }).await.expect("settled");
        assert!(taken(&*store, 1_000_000).await.is_empty());
        assert_eq!(store.notice_trouble(&second.to.id).await.expect("read"), None);
    }

    /// What is for an address that is being delivered to waits; what was put back is due again and counts as untried.
    async fn busy_addresses_wait_and_what_is_put_back_was_not_tried(kept: Kept) {
        let store = kept.store();
        let opening = opening(1, true);
        store.open_game(&Authority::Server, &opening).await.expect("opened");
        let both = [address(&opening, 0, Channel::Mail, 1), address(&opening, 0, Channel::Webhook, 2)];
        set(&*store, &opening.seats[0].id, &both, 10).await.expect("set");
        let busy = TakeNotices { busy: vec![both[0].id.clone()], ..everything(10) };
        let mut free = store.take_notices(&busy).await.expect("taken");
        assert_eq!(free.len(), 1);
        let webhook = free.remove(0);
        assert_eq!((webhook.to.channel, webhook.tries), (Channel::Webhook, 1));
        let none = TakeNotices { busy: both.iter().map(|address| address.id.clone()).collect(), ..everything(1000) };
        assert!(store.take_notices(&none).await.expect("taken").is_empty());
        store.settle_notice(&webhook, &NoticeOutcome::Untried { due_at: 20 }).await.expect("put back");
        let again = TakeNotices { busy: vec![both[0].id.clone()], ..everything(20) };
        let again = store.take_notices(&again).await.expect("taken").remove(0);
        assert_eq!((again.id, again.tries), (webhook.id.clone(), 1), "the first try still");
        assert_eq!(store.notice_trouble(&webhook.to.id).await.expect("read"), None);
        assert_eq!(taken(&*store, 10).await.len(), 1, "the mail was never touched");
    }

    /// Given up, listed page by page, revived by name or all together.
    async fn given_up_and_revived(kept: Kept) {
        let store = kept.store();
        let opening = opening(1, true);
        store.open_game(&Authority::Server, &opening).await.expect("opened");
        set(&*store, &opening.seats[1].id, &[address(&opening, 1, Channel::Webhook, 1)], 0).await.expect("set");
        for days in [1, 2, 3] {
            let reminder = notice(Recipients::All, Kind::Reminder(days), 7, 0);
            store.queue_notice(opening.game.id, &reminder).await.expect("queued");
        }
        for notice in taken(&*store, 0).await {
            let dead = NoticeOutcome::Dead { at: 20, trouble: "It answered 500.".to_owned() };
            store.settle_notice(&notice, &dead).await.expect("settled");
        }
        let first = store.dead_notices(None, 3).await.expect("read");
        let rest = store.dead_notices(Some(&first[2].id), 3).await.expect("read");
        let kinds: Vec<String> = first.iter().chain(&rest).map(|dead| dead.id.kind.to_string()).collect();
        assert_eq!(kinds, ["welcome", "reminder-1", "reminder-2", "reminder-3"]);
        let one = &first[1];
        assert_eq!((one.side.as_deref(), one.channel, one.tries, one.dead_at), (Some("blue"), Channel::Webhook, 1, 20));
        assert_eq!((one.game, one.trouble.as_str()), (opening.game.id, "It answered 500."));
        let named = [one.id.clone(), NoticeId { number: 99, ..one.id.clone() }];
        assert_eq!(store.revive_notices(&Authority::Server, Some(&named), 30).await.expect("revived"), 1);
        let again = taken(&*store, 30).await;
        assert_eq!((again.len(), &again[0].id, again[0].tries), (1, &one.id, 1));
        assert_eq!(store.revive_notices(&Authority::Server, None, 40).await.expect("revived"), 3);
        assert!(store.dead_notices(None, 10).await.expect("read").is_empty());
    }

    /// An address that is taken back is forgotten with all that was to be told there; what counts its settings stays a while.
    async fn an_address_taken_back_is_forgotten(kept: Kept) {
        let store = kept.store();
        let opening = opening(1, true);
        store.open_game(&Authority::Server, &opening).await.expect("opened");
        let seat = &opening.seats[0].id;
        let (first, second) = (address(&opening, 0, Channel::Mail, 1), address(&opening, 0, Channel::Mail, 2));
        set(&*store, seat, std::slice::from_ref(&first), 1000).await.expect("set");
        // The same again with other topics is the same address, and nobody is welcomed twice.
        let turns = NoticeAddress { topics: vec![Topic::Turns], ..first.clone() };
        set(&*store, seat, std::slice::from_ref(&turns), 1001).await.expect("set");
        assert_eq!(store.notice_addresses(seat).await.expect("read"), [turns]);
        set(&*store, seat, std::slice::from_ref(&second), 1002).await.expect("set");
        assert_eq!(store.notice_address(&first.id).await.expect("read"), None);
        assert_eq!(store.notice_addresses_set(seat, Channel::Mail, 999).await.expect("read"), 2);
        assert_eq!(tell_all(&*store, 2000).await, ["red mail welcome"], "the second's alone");
        // Somebody who still thinks that the first is there is told to read again.
        assert!(matches!(set(&*store, seat, &[first.clone(), address(&opening, 0, Channel::Webhook, 1)], 1003).await, Err(StoreError::Overtaken)));
        store.remove_notice_address(&second.id, 3000).await.expect("removed");
        assert_eq!(store.notice_addresses(seat).await.expect("read"), []);
        store.queue_notice(opening.game.id, &notice(Recipients::All, Kind::Ended, 9, 0)).await.expect("queued");
        assert!(taken(&*store, 9000).await.is_empty());
        store.forget_notices(3001).await.expect("forgotten");
        assert_eq!(store.notice_addresses_set(seat, Channel::Mail, 0).await.expect("read"), 0);
    }

    /// Many who take at once never take the same.
    async fn each_is_taken_once(kept: Kept) {
        let store = kept.store();
        let opening = opening(1, true);
        store.open_game(&Authority::Server, &opening).await.expect("opened");
        set(&*store, &opening.seats[0].id, &[address(&opening, 0, Channel::Mail, 1)], 0).await.expect("set");
        for days in 1..60 {
            let reminder = notice(Recipients::All, Kind::Reminder(days), 7, 0);
            store.queue_notice(opening.game.id, &reminder).await.expect("queued");
        }
        // On PostgreSQL, as several processes would.
        let mut stores = vec![Arc::clone(&store)];
        if kept.url.starts_with("postgres") {
            stores.push(open(&kept.url).await);
            stores.push(open(&kept.url).await);
        }
        let mut takers = JoinSet::new();
        for place in 0..9 {
            let store = Arc::clone(&stores[place % stores.len()]);
            takers.spawn(async move {
                let mut ids = Vec::new();
                loop {
                    let some = TakeNotices { limit: 4, ..everything(0) };
                    let taken = store.take_notices(&some).await.expect("taken");
                    if taken.is_empty() {
                        return ids;
                    }
                    ids.extend(taken.into_iter().map(|notice| notice.id));
                }
            });
        }
        let ids: Vec<NoticeId> = takers.join_all().await.into_iter().flatten().collect();
        // Those who found others at work took less; what was left is still there to be taken.
        let rest = store.take_notices(&everything(0)).await.expect("taken");
        let all: BTreeSet<NoticeId> = ids.iter().cloned().chain(rest.iter().map(|notice| notice.id.clone())).collect();
        assert_eq!(all.len(), ids.len() + rest.len(), "none twice");
        assert_eq!(all.len(), 60);
        for store in &stores[1..] {
            store.close().await;
        }
    }
}
