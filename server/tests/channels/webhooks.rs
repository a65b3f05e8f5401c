//! Webhooks on their way: signed as published, never redirected, never to addresses within.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use fieldpost_server::channels::{Delivery, NoticeChannel, WebhookChannel};
use fieldpost_server::store::{Channel, TakeNotices, TakenNotice};
use fieldpost_server::webhook_policy::WebhookPolicy;
use fieldpost_tests::receivers::{Hook, HookServer};
#[cfg(target_os = "linux")]
use fieldpost_wire::SeatRole;
use hmac::{Hmac, KeyInit, Mac};
use serde_json::Value;
use sha2::Sha256;
use std::sync::Arc;

use crate::fixtures::{Scripted, Table};

/// Verifies as the specification tells receivers to: the secret is base64 after its prefix; signed is
/// `id.timestamp.body`; the header is a list with blanks between, each `v1,` and base64.
fn is_signed(hook: &Hook, secret: &str) -> bool {
    let key = STANDARD
        .decode(secret.strip_prefix("whsec_").expect("the prefix"))
        .expect("base64");
    let mut mac = Hmac::<Sha256>::new_from_slice(&key).expect("any length");
    mac.update(hook.header("webhook-id").as_bytes());
    mac.update(b".");
    mac.update(hook.header("webhook-timestamp").as_bytes());
    mac.update(b".");
    mac.update(&hook.body);
    let expected = mac.finalize().into_bytes();
    hook.header("webhook-signature")
        .split(' ')
        .filter_map(|signature| signature.strip_prefix("v1,"))
        .any(|signature| {
            STANDARD
                .decode(signature)
                .is_ok_and(|given| given[..] == expected[..])
        })
}

#[tokio::test(flavor = "multi_thread")]
async fn a_receiver_verifies_each_try_and_knows_it_again() {
    let table = Table::on_sqlite().await;
    let receiver = HookServer::start(|count, _| match count {
        0 => "503 Service Unavailable\r\nretry-after: 90".to_owned(),
        1 => "500 Internal Server Error".to_owned(),
        _ => "204 No Content".to_owned(),
    });
    let dispatcher = table.dispatcher(
        &Scripted::with([]),
        &Arc::new(WebhookChannel::new(WebhookPolicy::Anywhere)),
    );
    let url = format!("http://{}/hooks/blue?a=b", receiver.address);
    let secret = table
        .hears(&table.blue, None, Some(&url))
        .await
        .expect("a secret");
    assert_eq!(
        table.hears(&table.blue, None, Some(&url)).await,
        None,
        "shown once"
    );
    let mut now = table.due().await.expect("a welcome");
    let mut times = Vec::new();
    for _ in 0..3 {
        times.push(now.div_euclid(1000).to_string());
        assert_eq!(dispatcher.round(now).await.expect("told"), 1);
        if let Some(due) = table.due().await {
            now = due;
        }
    }
    assert_eq!(table.due().await, None);
    table.post(&table.red, 1, "red").await;
    assert_eq!(dispatcher.round(i64::MAX / 4).await.expect("told"), 1);

    let hooks = receiver.hooks.now();
    assert_eq!(hooks.len(), 4);
    assert!(
        hooks
            .iter()
            .all(|hook| is_signed(hook, &secret) && hook.path == "/hooks/blue?a=b")
    );
    let sent: Vec<&str> = hooks
        .iter()
        .map(|hook| hook.header("webhook-timestamp"))
        .collect();
    assert_eq!(sent[..3], times, "the time of each try");
    let wait: i64 =
        times[1].parse::<i64>().expect("a number") - times[0].parse::<i64>().expect("a number");
    assert!(
        (89..=100).contains(&wait),
        "{wait} s, and 90 were asked for"
    );
    let ids: Vec<&str> = hooks.iter().map(|hook| hook.header("webhook-id")).collect();
    assert!(
        ids[0] == ids[1] && ids[1] == ids[2] && ids[2] != ids[3],
        "{ids:?}"
    );
    assert!(ids.iter().all(|id| !id.contains('.')));

    let mut forged = hooks[3].clone();
    forged.body.push(b' ');
    assert!(
        !is_signed(&forged, &secret),
        "the check above sees a difference"
    );

    let welcome: Value = serde_json::from_slice(&hooks[0].body).expect("JSON");
    assert_eq!(welcome["type"], "notices.welcome");
    let told: Value = serde_json::from_slice(&hooks[3].body).expect("JSON");
    assert_eq!(told["type"], "game.your_turn");
    assert_eq!(told["data"]["game"], table.game.to_string());
    assert_eq!(told["data"]["to_move"], "blue");
    assert!(
        told["data"]["news"]
            .as_array()
            .is_some_and(|news| !news.is_empty()),
        "{told}"
    );
    assert!(
        told["timestamp"]
            .as_str()
            .is_some_and(|at| at.ends_with('Z'))
    );
}

/// Something to be told, to be sent wherever a test wants.
async fn something(table: &Table) -> TakenNotice {
    let url = Some("https://hooks.example/");
    table.hears(&table.blue, None, url).await;
    let now = i64::MAX / 4;
    let take = TakeNotices {
        now,
        until: now,
        channels: Channel::ALL.to_vec(),
        busy: Vec::new(),
        limit: 9,
    };
    let mut taken = table.store.take_notices(&take).await.expect("taken");
    taken.pop().expect("a welcome")
}

async fn delivery(
    table: &Table,
    notice: &TakenNotice,
    url: &str,
    policy: WebhookPolicy,
) -> Delivery {
    let mut to = notice.to.clone();
    url.clone_into(&mut to.address);
    let message = table.service.compose(notice).await.expect("written");
    let message = message.expect("wanted");
    WebhookChannel::new(policy).deliver(&message, &to, 0).await
}

#[tokio::test(flavor = "multi_thread")]
async fn what_leads_within_is_not_gone_to() {
    let receiver = HookServer::start(|_, _| "204 No Content".to_owned());
    let port = receiver.address.port();
    let table = Table::on_sqlite().await;
    let notice = something(&table).await;
    // A name that leads here, as any name may come to do after it was set.
    let Delivery::Failed { trouble, .. } = delivery(
        &table,
        &notice,
        &format!("https://localhost:{port}/"),
        WebhookPolicy::Public,
    )
    .await
    else {
        panic!("it went there");
    };
    assert!(trouble.contains("private"), "{trouble}");
    for host in [
        "127.0.0.1",
        "[::ffff:127.0.0.1]",
        "[::1]",
        "2130706433",
        "0",
    ] {
        for scheme in ["https", "http"] {
            let url = format!("{scheme}://{host}:{port}/");
            let outcome = delivery(&table, &notice, &url, WebhookPolicy::Public).await;
            assert!(
                matches!(outcome, Delivery::Hopeless { .. }),
                "{url}: {outcome:?}"
            );
        }
    }
    assert!(receiver.hooks.now().is_empty(), "nobody came");
    let there = delivery(
        &table,
        &notice,
        &format!("http://localhost:{port}/"),
        WebhookPolicy::Anywhere,
    )
    .await;
    assert_eq!(
        there,
        Delivery::Arrived,
        "the checks above would see somebody come"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn redirects_are_not_followed_and_answers_mean_what_they_say() {
    let elsewhere = HookServer::start(|_, _| "204 No Content".to_owned());
    let table = Table::on_sqlite().await;
    let notice = something(&table).await;
    let to = elsewhere.address;
    let receiver = HookServer::start(move |_, hook| match hook.path.as_str() {
        "/moved" => format!("307 Temporary Redirect\r\nlocation: http://{to}/"),
        "/gone" => "410 Gone".to_owned(),
        "/busy" => "429 Too Many Requests\r\nretry-after: 120".to_owned(),
        _ => "200 OK".to_owned(),
    });
    let come_of = async |path: &str| {
        delivery(
            &table,
            &notice,
            &format!("http://{}{path}", receiver.address),
            WebhookPolicy::Anywhere,
        )
        .await
    };
    let Delivery::Failed { trouble, .. } = come_of("/moved").await else {
        panic!("followed");
    };
    assert!(
        trouble.contains("307") && trouble.contains("redirect"),
        "{trouble}"
    );
    assert!(elsewhere.hooks.now().is_empty());
    assert_eq!(come_of("/gone").await, Delivery::Gone);
    assert!(
        matches!(come_of("/busy").await, Delivery::Failed { wait: Some(wait), .. } if wait.as_secs() == 120)
    );
    assert_eq!(come_of("/").await, Delivery::Arrived);
}

/// A receiver that takes connections and says nothing, at an address of this machine of its own.
#[cfg(target_os = "linux")]
fn silent(address: [u8; 4]) -> std::net::TcpListener {
    // The system takes connections that nobody accepts.
    std::net::TcpListener::bind((std::net::IpAddr::from(address), 0)).expect("a free port")
}

/// Half of them are at one host, the others each at one of their own.
#[cfg(target_os = "linux")]
#[tokio::test(flavor = "multi_thread")]
async fn a_hundred_and_twenty_silent_receivers_keep_nobody_waiting() {
    let mut table = Table::on_sqlite().await;
    let first = table.game;
    let one = silent([127, 0, 0, 2]);
    let own: Vec<_> = (0..60).map(|host| silent([127, 0, 1, host + 1])).collect();
    for number in 0..120 {
        // A game has not so many seats.
        if number % 60 == 0 {
            table.open_another().await;
        }
        let seat = table
            .joined_by(&format!("Umpire {number}"), SeatRole::Umpire)
            .await;
        let receiver = own.get(number).unwrap_or(&one);
        let url = format!("http://{}/{number}", receiver.local_addr().expect("one"));
        table.hears(&seat, None, Some(&url)).await;
    }
    table.game = first;
    // Whoever asks last is told while all of those are waited for.
    let receiver = HookServer::start(|_, _| "204 No Content".to_owned());
    let url = format!("http://{}/blue", receiver.address);
    table.hears(&table.blue, None, Some(&url)).await;
    let dispatcher = table.dispatcher(
        &Scripted::with([]),
        &Arc::new(WebhookChannel::new(WebhookPolicy::Anywhere)),
    );
    let (closing, closed) = tokio::sync::watch::channel(false);
    let running = tokio::spawn(dispatcher.run(closed));
    let hooks = receiver.hooks.clone();
    let arrived = tokio::task::spawn_blocking(move || hooks.wait_for(1)).await;
    assert_eq!(arrived.expect("it came")[0].path, "/blue");
    let due = table.store.next_notice(&Channel::ALL).await.expect("read");
    assert!(due.is_some(), "the silent ones are not done");
    // Of the silent ones nobody has been given up on yet: each is waited for, or waits for its lane.
    let dead = table
        .service
        .dead_notices(&crate::fixtures::organiser(), None, 10)
        .await;
    assert!(dead.expect("read").notices.is_empty());
    // The next turn is told as soon, though all of them are known to be slow now or will be.
    table.post(&table.red, 1, "red").await;
    let hooks = receiver.hooks.clone();
    let arrived = tokio::task::spawn_blocking(move || hooks.wait_for(2)).await;
    assert_eq!(arrived.expect("it came").len(), 2);
    closing.send(true).expect("it runs");
    running.abort();
}
