//! Telling what is queued: tried again at the published times, given up, told once by several servers. Time is
//! handed in; nothing here waits for a clock.

mod fixtures;
mod mails;
mod webhooks;

use std::sync::Arc;

use jiff::{SignedDuration, Timestamp};
use serde_json::{Value, json};

use fieldpost_rules::game::ClockRules;
use fieldpost_server::channels::Delivery;
use fieldpost_server::service::ServiceError;
use fieldpost_server::store::{self, Channel, Kind, Recipients, TakeNotices};
use fieldpost_wire::{RaiseDispute, Rule, SeatRole, SetNotices, TryAgain};

use fixtures::{Scripted, Table, dispatcher, failed, organiser, sent, service};

/// Seconds from try to try, as the Standard Webhooks specification 1.0.0 has them ("Deliverability and reliability").
const SCHEDULE_S: [i64; 9] = [5, 300, 1_800, 7_200, 18_000, 36_000, 50_400, 72_000, 86_400];

#[tokio::test(flavor = "multi_thread")]
async fn what_fails_is_tried_again_at_the_published_times_and_then_given_up() {
    let table = Table::on_sqlite().await;
    let hooks = Scripted::with((0..10).map(|_| failed("It answered 500.")));
    let dispatcher = table.dispatcher(&Scripted::with([]), &hooks);
    table
        .hears(&table.blue, None, Some("https://hooks.example/blue"))
        .await;
    let mut now = table.due().await.expect("a welcome");
    for wait_s in SCHEDULE_S {
        assert_eq!(
            dispatcher.round(now - 1).await.expect("looked"),
            0,
            "not before its time"
        );
        assert_eq!(dispatcher.round(now).await.expect("told"), 1);
        let due = table.due().await.expect("tried again");
        let waited = due - now;
        assert!(
            (wait_s * 1000..=wait_s * 1100).contains(&waited),
            "{waited} ms, not {wait_s} s and up to a tenth"
        );
        now = due;
    }
    let own = table
        .service
        .notices(&table.blue, table.game)
        .await
        .expect("read");
    assert_eq!(
        own.webhook.expect("set").trouble.as_deref(),
        Some("It answered 500.")
    );
    assert!(
        table
            .service
            .dead_notices(&organiser(), None, 10)
            .await
            .expect("read")
            .notices
            .is_empty()
    );
    assert_eq!(
        dispatcher.round(now).await.expect("told"),
        1,
        "the tenth time"
    );
    assert_eq!(table.due().await, None);
    assert_eq!(hooks.told().len(), 10);

    let dead = table
        .service
        .dead_notices(&organiser(), None, 10)
        .await
        .expect("read")
        .notices;
    assert_eq!(
        (dead.len(), dead[0].tries, dead[0].trouble.as_str()),
        (1, 10, "It answered 500.")
    );
    assert_eq!(dead[0].player.as_deref(), Some("Birch"));
    assert!(
        table
            .service
            .dead_notices(&table.red, None, 10)
            .await
            .is_err(),
        "the organiser's alone"
    );
    let these = TryAgain {
        ids: Some(vec![dead[0].id.clone()]),
    };
    assert!(
        table
            .service
            .try_notices_again(&table.red, &these)
            .await
            .is_err()
    );
    assert_eq!(
        table
            .service
            .try_notices_again(&organiser(), &these)
            .await
            .expect("revived")
            .again,
        1
    );
    let due = table.due().await.expect("revived");
    assert_eq!(dispatcher.round(due).await.expect("told"), 1);
    assert_eq!((hooks.told().len(), table.due().await), (11, None));
    let own = table
        .service
        .notices(&table.blue, table.game)
        .await
        .expect("read");
    assert_eq!(own.webhook.expect("set").trouble, None, "it arrived");
}

#[tokio::test(flavor = "multi_thread")]
async fn what_never_will_arrive_is_given_up_at_once_and_a_receiver_that_is_gone_is_forgotten() {
    let table = Table::on_sqlite().await;
    let mail = Scripted::with([Delivery::Hopeless {
        trouble: "The mail server answered 550.".to_owned(),
    }]);
    let hooks = Scripted::with([Delivery::Gone]);
    let dispatcher = table.dispatcher(&mail, &hooks);
    table
        .hears(
            &table.blue,
            Some("birch@example.org"),
            Some("https://hooks.example/"),
        )
        .await;
    let now = table.due().await.expect("welcomes");
    assert_eq!(dispatcher.round(now).await.expect("told"), 2);
    assert_eq!(table.due().await, None);
    let dead = table
        .service
        .dead_notices(&organiser(), None, 10)
        .await
        .expect("read")
        .notices;
    assert_eq!((dead.len(), dead[0].tries), (1, 1));
    let own = table
        .service
        .notices(&table.blue, table.game)
        .await
        .expect("read");
    assert!(own.mail.is_some() && own.webhook.is_none(), "{own:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_posting_tells_the_other_side_and_nobody_is_told_what_is_done() {
    let table = Table::on_sqlite().await;
    let (mail, hooks) = (Scripted::with([]), Scripted::with([]));
    let dispatcher = table.dispatcher(&mail, &hooks);
    table.hears(&table.red, Some("ash@example.org"), None).await;
    table
        .hears(
            &table.blue,
            Some("birch@example.org"),
            Some("https://hooks.example/"),
        )
        .await;
    let later = i64::MAX / 4;
    while dispatcher.round(later).await.expect("told") > 0 {}
    let mut welcomes = mail.told();
    welcomes.sort();
    assert_eq!(welcomes, ["welcome blue", "welcome red"]);
    table.post(&table.red, 1, "red").await;
    while dispatcher.round(later).await.expect("told") > 0 {}
    assert_eq!(mail.told()[2..], ["your-turn blue"]);
    assert_eq!(hooks.told(), ["welcome blue", "your-turn blue"]);
    // Blue posts, and red before it was told: red needs no more be told that it is its turn.
    table.post(&table.blue, 1, "blue").await;
    table.post(&table.red, 2, "red").await;
    while dispatcher.round(later).await.expect("told") > 0 {}
    assert_eq!(mail.told()[3..], ["your-turn blue"]);
    // A reminder is one for each number of days, however often it is queued.
    let begun = table
        .service
        .folded(&table.red, table.game)
        .await
        .expect("folded")
        .head
        .number;
    for days in [3, 3, 1, 3] {
        let blue = Recipients::Side("blue".to_owned());
        table
            .service
            .queue_notice(
                table.game,
                blue,
                Kind::Reminder(days),
                (begun, "Before Friday."),
            )
            .await
            .expect("queued");
    }
    while dispatcher.round(later).await.expect("told") > 0 {}
    let mut reminders = mail.told().split_off(4);
    reminders.sort();
    assert_eq!(reminders, ["reminder-1 blue", "reminder-3 blue"]);
}

/// Reminders and time that is out come from the sweep of clocks, once for each player turn whoever sweeps and
/// how often.
#[tokio::test(flavor = "multi_thread")]
async fn a_clock_reminds_and_tells_when_time_is_out() {
    let table = Table::on_sqlite().await;
    let mail = Scripted::with([]);
    let dispatcher = table.dispatcher(&mail, &Scripted::with([]));
    table.hears(&table.red, Some("ash@example.org"), None).await;
    table
        .hears(&table.blue, Some("birch@example.org"), None)
        .await;
    let rules = json!({"days_per_turn": 7, "remind_days": [3, 1]});
    let rules: ClockRules = serde_json::from_value(rules).expect("rules");
    let organiser = organiser();
    table
        .service
        .set_clock(&organiser, table.game, rules.clone(), sent(&rules))
        .await
        .expect("set");
    let began = Timestamp::now();
    let told_after = async |hours: i64| {
        let now = began + SignedDuration::from_hours(hours);
        for _ in 0..2 {
            table.service.sweep(now).await.expect("swept");
        }
        while dispatcher.round(i64::MAX / 4).await.expect("told") > 0 {}
        let mut told = mail.told();
        mail.told.lock().expect("no panic while held").clear();
        told.sort();
        told
    };
    assert_eq!(told_after(24).await, ["welcome blue", "welcome red"]);
    assert_eq!(told_after(5 * 24).await, ["reminder-3 red"]);
    assert_eq!(told_after(5 * 24 + 2).await, [""; 0]);
    assert_eq!(told_after(6 * 24 + 12).await, ["reminder-1 red"]);
    assert_eq!(told_after(9 * 24).await, ["time-out blue", "time-out red"]);
    assert_eq!(told_after(10 * 24).await, [""; 0]);
}

/// Where the turn passes, the late side hears that it did and the other that it is to move.
#[tokio::test(flavor = "multi_thread")]
async fn a_turn_that_passes_is_told_to_both() {
    let table = Table::on_sqlite().await;
    let mail = Scripted::with([]);
    let dispatcher = table.dispatcher(&mail, &Scripted::with([]));
    let rules = json!({"days_per_turn": 2, "when_out": "pass"});
    let rules: ClockRules = serde_json::from_value(rules).expect("rules");
    let organiser = organiser();
    table
        .service
        .set_clock(&organiser, table.game, rules.clone(), sent(&rules))
        .await
        .expect("set");
    table.hears(&table.red, Some("ash@example.org"), None).await;
    table
        .hears(&table.blue, Some("birch@example.org"), None)
        .await;
    let late = Timestamp::now() + SignedDuration::from_hours(3 * 24);
    table.service.sweep(late).await.expect("swept");
    while dispatcher.round(i64::MAX / 4).await.expect("told") > 0 {}
    let mut told = mail.told();
    told.sort();
    assert_eq!(
        told,
        [
            "time-out red",
            "welcome blue",
            "welcome red",
            "your-turn blue"
        ]
    );
}

/// The umpire hears what is asked of them and how the game begins and ends, not every turn and not their own
/// rulings; whoever looks on hears nothing.
#[tokio::test(flavor = "multi_thread")]
async fn an_umpire_hears_what_is_asked_of_them() {
    let table = Table::on_sqlite().await;
    let mail = Scripted::with([]);
    let dispatcher = table.dispatcher(&mail, &Scripted::with([]));
    let umpire = table.joined_by("Dogwood", SeatRole::Umpire).await;
    let guest = table.joined_by("Elm", SeatRole::Spectator).await;
    let requested = SetNotices {
        mail: Some("elm@example.org".to_owned()),
        webhook: None,
        topics: None,
    };
    let refused = table
        .service
        .set_notices(&guest, table.game, &requested)
        .await;
    assert!(
        matches!(refused, Err(ServiceError::NotAllowed(_))),
        "{refused:?}"
    );
    table
        .hears(&umpire, Some("dogwood@example.org"), None)
        .await;
    table.hears(&table.red, Some("ash@example.org"), None).await;
    table.tell_all(&dispatcher).await;
    table.post(&table.red, 1, "red").await;
    let dispute = RaiseDispute {
        about: Some(1),
        text: "Was it not too far?".to_owned(),
    };
    let raised = table
        .service
        .dispute(&table.blue, table.game, &dispute, sent(&dispute))
        .await;
    raised.expect("raised");
    table.tell_all(&dispatcher).await;
    let told = |from: usize| {
        let mut told = mail.told().split_off(from);
        told.sort();
        told
    };
    assert_eq!(told(2), ["dispute red", "dispute umpire"]);
    let rule = |then: Option<Value>| {
        let rule = json!({"text": "It stands as measured.", "then": then});
        serde_json::from_value::<Rule>(rule).expect("a ruling")
    };
    let ruled = table
        .service
        .rule(&umpire, table.game, &rule(None), sent(&rule(None)))
        .await;
    ruled.expect("ruled");
    table.tell_all(&dispatcher).await;
    assert_eq!(told(4), ["ruling red"]);
    let end = rule(Some(json!({"do": "end", "winner": null})));
    table
        .service
        .rule(&umpire, table.game, &end, sent(&end))
        .await
        .expect("ended");
    table.tell_all(&dispatcher).await;
    assert_eq!(told(5), ["ended red", "ended umpire", "ruling red"]);
}

/// Where the umpire decides what happens when time is out, the umpire hears that it is.
#[tokio::test(flavor = "multi_thread")]
async fn time_that_is_out_is_told_to_an_umpire_who_decides() {
    for (when_out, hears) in [("umpire", true), ("claim", false)] {
        let table = Table::on_sqlite().await;
        let mail = Scripted::with([]);
        let dispatcher = table.dispatcher(&mail, &Scripted::with([]));
        let umpire = table.joined_by("Dogwood", SeatRole::Umpire).await;
        table
            .hears(&umpire, Some("dogwood@example.org"), None)
            .await;
        table
            .hears(&table.blue, Some("birch@example.org"), None)
            .await;
        let rules = json!({"days_per_turn": 2, "when_out": when_out});
        let rules: ClockRules = serde_json::from_value(rules).expect("rules");
        let set = table
            .service
            .set_clock(&organiser(), table.game, rules.clone(), sent(&rules))
            .await;
        set.expect("set");
        table.tell_all(&dispatcher).await;
        let late = Timestamp::now() + SignedDuration::from_hours(4 * 24);
        table.service.sweep(late).await.expect("swept");
        table.tell_all(&dispatcher).await;
        let mut told = mail.told().split_off(2);
        told.sort();
        let expected: &[&str] = match hears {
            true => &["time-out blue", "time-out umpire"],
            false => &["time-out blue"],
        };
        assert_eq!(told, expected, "{when_out}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn an_end_is_told_to_both() {
    let table = Table::on_sqlite().await;
    let mail = Scripted::with([]);
    let dispatcher = table.dispatcher(&mail, &Scripted::with([]));
    table.hears(&table.red, Some("ash@example.org"), None).await;
    table
        .hears(&table.blue, Some("birch@example.org"), None)
        .await;
    for turn in 1..=6 {
        table.post(&table.red, turn, "red").await;
        table.post(&table.blue, turn, "blue").await;
    }
    let folded = table.service.folded(&table.red, table.game).await;
    assert!(folded.expect("folded").game.ending().is_some());
    while dispatcher.round(i64::MAX / 4).await.expect("told") > 0 {}
    let mut told = mail.told();
    told.sort();
    assert_eq!(
        told,
        ["ended blue", "ended red", "welcome blue", "welcome red"]
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn what_a_dead_server_had_taken_is_told_by_another() {
    let table = Table::on_sqlite().await;
    let mail = Scripted::with([]);
    let dispatcher = table.dispatcher(&mail, &Scripted::with([]));
    table
        .hears(&table.blue, Some("birch@example.org"), None)
        .await;
    let now = table.due().await.expect("a welcome");
    let take = TakeNotices {
        now,
        until: now + 1000,
        channels: Channel::ALL.to_vec(),
        busy: Vec::new(),
        limit: 8,
    };
    assert_eq!(
        table.store.take_notices(&take).await.expect("taken").len(),
        1
    );
    // Whoever took it says no more.
    assert_eq!(dispatcher.round(now + 999).await.expect("looked"), 0);
    assert_eq!(dispatcher.round(now + 1000).await.expect("told"), 1);
    assert_eq!(mail.told(), ["welcome blue"]);
}

/// Several server processes on one database tell each notice once.
async fn told_once(table: &Table, second: Option<Arc<dyn store::Store>>) {
    let mail = Scripted::with([]);
    let mut dispatchers = vec![table.dispatcher(&mail, &Scripted::with([])); 2];
    if let Some(store) = &second {
        let service = Arc::new(service(store));
        dispatchers = vec![
            table.dispatcher(&mail, &Scripted::with([])),
            dispatcher(store, &service, &mail, &Scripted::with([])),
        ];
    }
    table
        .hears(&table.blue, Some("birch@example.org"), None)
        .await;
    for days in 1..=40 {
        table
            .service
            .queue_notice(table.game, Recipients::All, Kind::Reminder(days), (3, ""))
            .await
            .expect("queued");
    }
    let later = i64::MAX / 4;
    let telling: Vec<_> = dispatchers
        .into_iter()
        .map(|dispatcher| {
            tokio::spawn(async move { while dispatcher.round(later).await.expect("told") > 0 {} })
        })
        .collect();
    for task in telling {
        task.await.expect("no panic");
    }
    // One who found the other at work may have stopped early; the other went on to the end.
    assert_eq!(table.due().await.filter(|&due| due <= later), None);
    let mut told = mail.told();
    told.sort();
    told.dedup();
    assert_eq!((told.len(), mail.told().len()), (41, 41));
}

#[tokio::test(flavor = "multi_thread")]
async fn two_dispatchers_on_one_file_tell_each_notice_once() {
    told_once(&Table::on_sqlite().await, None).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn two_servers_on_one_postgres_tell_each_notice_once() {
    let Some(table) = Table::on_postgres().await else {
        return;
    };
    let second = store::open(&table.url, 8).await.expect("opens");
    told_once(&table, Some(Arc::clone(&second))).await;
    second.close().await;
}
