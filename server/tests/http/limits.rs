//! How much is taken from one address and with one key; what is counted of it.

use std::io::Read;
use std::net::TcpStream;
use std::time::{Duration, Instant};

use serde_json::json;

use crate::host::{Answer, Ask, Host, text};

/// Sends until it is turned away; how often it was not, and the last answer.
fn until_turned_away(ask: &Ask) -> (u32, Answer) {
    for sent in 0..100 {
        let answer = ask.clone().send();
        if answer.status == 429 {
            return (sent, answer);
        }
    }
    panic!("never turned away");
}

fn is_too_many(answer: &Answer, of: &str) {
    let problem = answer.problem(429, "too-many");
    let wait: u64 = answer.header("retry-after").parse().expect("seconds");
    assert!((1..=60).contains(&wait), "{answer:?}");
    assert_eq!(problem["retry_after_s"], wait);
    assert!(text(&problem["detail"]).contains(of), "{problem}");
}

/// A server that believes a proxy on this machine, so that a test can call from several addresses.
fn behind_proxy(flags: &[&str]) -> Host {
    let trusting = ["--trusted-proxies", "127.0.0.1,::1"];
    Host::start_with(&[&trusting[..], flags].concat())
}

fn from(ask: &Ask, address: &str) -> Ask {
    ask.clone().header("x-forwarded-for", address)
}

#[test]
fn one_address_sends_so_many_requests_and_others_go_on() {
    let host = behind_proxy(&["--address-requests", "15"]);
    let ask = host.ask("GET", "/healthz");
    let (sent, answer) = until_turned_away(&from(&ask, "203.0.113.1"));
    assert!((15..=30).contains(&sent), "{sent}");
    is_too_many(&answer, "your address");
    assert!(!answer.header("x-request-id").is_empty());
    assert_eq!(from(&ask, "203.0.113.2").send().status, 200);
    let made_up = from(&ask, "198.51.100.7, 203.0.113.1").send();
    assert_eq!(made_up.status, 429, "what a caller writes does not count");
    // What is not there is not free either.
    let nowhere = from(&host.ask("GET", "/nowhere"), "203.0.113.1");
    assert_eq!(nowhere.send().status, 429);
    // Households of IPv6 count once.
    until_turned_away(&from(&ask, "2001:db8::1"));
    assert_eq!(from(&ask, "2001:db8::2").send().status, 429);
    assert_eq!(from(&ask, "2001:db8:0:1::1").send().status, 200);
}

#[test]
fn without_trusted_proxies_forwarded_addresses_are_not_believed() {
    let host = Host::start_with(&["--address-requests", "15"]);
    let mut last = 0;
    for number in 0..30 {
        let ask = from(&host.ask("GET", "/healthz"), &format!("203.0.113.{number}"));
        last = ask.send().status;
    }
    assert_eq!(last, 429);
}

#[test]
fn guessing_keys_and_invitations_is_held_short() {
    let host = behind_proxy(&["--guesses", "3"]);
    let battle = host.battle();
    let mine = host.ask("GET", "/v1/seat");
    let (id, _) = battle.red.split_once('.').expect("two parts");
    let guessed = format!("{id}.{}", "00".repeat(32));
    for _ in 0..3 {
        from(&mine, "203.0.113.1")
            .key(&guessed)
            .send()
            .problem(401, "wrong-key");
    }
    is_too_many(
        &from(&mine, "203.0.113.1").key(&guessed).send(),
        "wrong keys",
    );
    // Were a right key let through, the guesser would know it by that.
    is_too_many(
        &from(&mine, "203.0.113.1").key(&battle.red).send(),
        "wrong keys",
    );
    from(&mine, "203.0.113.2")
        .key(&battle.red)
        .send()
        .expect(200);
    // Reading without a key goes on.
    from(&host.ask("GET", &battle.path("table")), "203.0.113.1")
        .send()
        .expect(200);
    let take = host
        .ask("POST", "/v1/seats")
        .json(&json!({"invitation": guessed, "player": "Ash"}));
    for _ in 0..3 {
        from(&take, "203.0.113.3")
            .send()
            .problem(422, "wrong-invitation");
    }
    is_too_many(&from(&take, "203.0.113.3").send(), "invitations");
    // What cannot even be a key is a guess too.
    for _ in 0..3 {
        from(&mine, "203.0.113.4")
            .key("nonsense")
            .send()
            .problem(401, "wrong-key");
    }
    is_too_many(&from(&mine, "203.0.113.4").key("nonsense").send(), "wrong");
}

#[test]
fn one_key_sends_so_many_requests_from_wherever() {
    let host = behind_proxy(&["--key-requests", "5"]);
    let battle = host.battle();
    let mine = host.ask("GET", "/v1/seat").key(&battle.red);
    for number in 0..5 {
        from(&mine, &format!("203.0.113.{number}"))
            .send()
            .expect(200);
    }
    is_too_many(&from(&mine, "203.0.113.9").send(), "this key");
    mine.key(&battle.blue).send().expect(200);
}

fn is_closed(stream: &mut TcpStream) -> bool {
    match stream.read(&mut [0]) {
        Ok(read) => read == 0,
        Err(error) => error.kind() == std::io::ErrorKind::ConnectionReset,
    }
}

#[test]
fn one_address_holds_so_many_connections_open() {
    let host = Host::start_with(&["--address-connections", "4", "--header-seconds", "60"]);
    let mut held: Vec<TcpStream> = (0..8)
        .map(|_| {
            let stream = TcpStream::connect(&host.address).expect("connects");
            stream
                .set_read_timeout(Some(Duration::from_millis(50)))
                .expect("set");
            stream
        })
        .collect();
    let began = Instant::now();
    while held.len() > 4 {
        held.retain_mut(|stream| !is_closed(stream));
        assert!(began.elapsed() < Duration::from_secs(20), "more are held");
    }
    assert!(!held.is_empty(), "some are served");
    drop(held);
    let began = Instant::now();
    while host.ask("GET", "/healthz").try_send().is_err() {
        assert!(
            began.elapsed() < Duration::from_secs(20),
            "never free again"
        );
    }
}

#[test]
fn what_is_counted_is_shown_at_an_address_of_its_own() {
    let host = Host::start_with(&["--metrics-listen", "127.0.0.1:0", "--guesses", "1"]);
    let battle = host.battle();
    host.get("/v1/made-up-for-this")
        .problem(404, "no-such-place");
    host.get("/metrics").problem(404, "no-such-place");
    for _ in 0..2 {
        host.ask("GET", "/v1/seat").key("nonsense").send();
    }
    host.get(&battle.path("table")).expect(200);
    let shown = host
        .ask("GET", "/metrics")
        .at(&host.log.member("metrics"))
        .send();
    assert_eq!(shown.status, 200);
    for line in [
        "fieldpost_requests_total{method=\"POST\",route=\"/v1/games\",status=\"201\"} 1",
        "fieldpost_requests_total{method=\"GET\",route=\"/v1/games/{game}/table\",status=\"200\"} 1",
        "fieldpost_requests_total{method=\"GET\",route=\"(none)\",status=\"404\"} 2",
        "fieldpost_turned_away_total{of=\"guesses\"} 1",
        "fieldpost_answer_seconds_count{route=\"/v1/seats\"} 2",
        "fieldpost_connections ",
    ] {
        assert!(
            shown.text.contains(line),
            "{line} is not in\n{}",
            shown.text
        );
    }
    assert!(!shown.text.contains("made-up"), "{}", shown.text);
    let elsewhere = host
        .ask("GET", "/v1/scenarios")
        .at(&host.log.member("metrics"));
    assert_eq!(elsewhere.send().status, 404, "nothing else is there");
}
