//! `/v1/games/{game}/events`: news as they happen.

use std::io::{BufRead, BufReader};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::host::{Ask, Battle, Host, forward, sheet, text};

/// A stream of news being read.
struct Stream {
    lines: std::io::Lines<BufReader<ureq::BodyReader<'static>>>,
}

impl Stream {
    fn open(ask: Ask) -> Self {
        let mut answered = ask.open();
        assert_eq!(answered.status(), 200);
        let header = |name: &str| {
            let value = answered.headers().get(name);
            value
                .and_then(|value| value.to_str().ok())
                .unwrap_or_default()
        };
        assert_eq!(header("content-type"), "text/event-stream");
        assert_eq!(header("x-accel-buffering"), "no");
        assert_eq!(header("content-encoding"), "");
        let body = std::mem::replace(answered.body_mut(), ureq::Body::builder().data(""));
        Self {
            lines: BufReader::new(body.into_reader()).lines(),
        }
    }

    /// Its id, its kind and what it holds; none when the stream has ended.
    fn next(&mut self) -> Option<(u64, String, Value)> {
        let (mut id, mut kind, mut data) = (None, String::new(), Value::Null);
        loop {
            let line = self.lines.next()?.ok()?;
            match line.split_once(": ") {
                Some(("id", number)) => id = number.parse().ok(),
                Some(("event", name)) => kind = name.to_owned(),
                Some(("data", json)) => data = serde_json::from_str(json).expect("JSON"),
                _ => {}
            }
            if line.is_empty()
                && let Some(id) = id
            {
                return Some((id, kind, data));
            }
        }
    }
}

fn watch(host: &Host, battle: &Battle) -> Ask {
    host.ask("GET", &battle.path("events"))
}

/// Appends an event that leaves the table alone: other instructions than before.
fn instruct(host: &Host, battle: &Battle, turn: usize) {
    // A side makes so many changes in a player turn, and no more.
    let (key, unit) = match turn < 30 {
        true => (&battle.blue, "blue-2"),
        false => (&battle.red, "red-2"),
    };
    let given = json!({"units": {unit: {"follow_up": turn.is_multiple_of(2)}}});
    host.ask("PUT", &battle.path("instructions"))
        .key(key)
        .json(&given)
        .send()
        .expect(200);
}

#[test]
fn news_come_as_they_happen_and_go_on_where_they_ended() {
    let host = Host::start();
    let battle = host.battle();
    let mut stream = Stream::open(watch(&host, &battle).key(&battle.blue));
    host.post(
        &battle,
        &battle.red,
        &sheet(1, "red", json!([forward("red-1", 40.0)])),
    )
    .expect(201);
    let told = host.get(&battle.path("news?after=3")).expect(200);
    for number in [4, 5] {
        let (id, kind, data) = stream.next().expect("news");
        assert_eq!(id, number);
        assert_eq!(data, told["news"][number as usize - 4]);
        assert_eq!(kind, text(&data["event"]));
    }
    drop(stream);
    instruct(&host, &battle, 1);
    let mut stream = Stream::open(watch(&host, &battle).header("last-event-id", "4"));
    assert_eq!(stream.next().expect("news").0, 5);
    assert_eq!(stream.next().expect("news").0, 6);
    instruct(&host, &battle, 2);
    assert_eq!(stream.next().expect("news").0, 7);
    let mut all = Stream::open(host.ask("GET", &battle.path("events?after=0")));
    let numbers: Vec<u64> = (1..=7).map(|_| all.next().expect("news").0).collect();
    assert_eq!(numbers, [1, 2, 3, 4, 5, 6, 7]);
    watch(&host, &battle)
        .header("last-event-id", "x")
        .send()
        .problem(400, "bad-request");
}

#[test]
fn whoever_hangs_up_and_comes_again_under_a_stream_of_events_hears_each_once() {
    const EVENTS: u64 = 60;
    let host = Host::start();
    let battle = host.battle();
    let last = 3 + EVENTS;
    std::thread::scope(|scope| {
        let watchers: Vec<_> = (1..=4_usize)
            .map(|patience| {
                let (host, battle) = (&host, &battle);
                scope.spawn(move || {
                    let mut heard: Vec<u64> = Vec::new();
                    while heard.last().is_none_or(|heard| *heard < last) {
                        let known = heard.last().copied().unwrap_or(0).to_string();
                        let ask = watch(host, battle).header("last-event-id", &known);
                        let mut stream = Stream::open(ask);
                        // Each hangs up after another number of events, in the middle of it all.
                        for _ in 0..patience * 3 {
                            if heard.last() == Some(&last) {
                                break;
                            }
                            heard.push(stream.next().expect("news").0);
                        }
                    }
                    heard
                })
            })
            .collect();
        for turn in 0..EVENTS as usize {
            instruct(&host, &battle, turn);
        }
        let every: Vec<u64> = (1..=last).collect();
        for watcher in watchers {
            assert_eq!(watcher.join().expect("no panic"), every);
        }
    });
}

#[test]
fn a_stream_ends_when_its_reader_may_read_no_longer() {
    let host = Host::start();
    let battle = host.battle();
    let mut outsider = Stream::open(watch(&host, &battle));
    let mut red = Stream::open(watch(&host, &battle).key(&battle.red));
    let mut blue = Stream::open(watch(&host, &battle).key(&battle.blue));
    host.ask("PATCH", &format!("/v1/games/{}", battle.game))
        .key(&host.organiser())
        .json(&json!({"open_to_all": false}))
        .send()
        .expect(200);
    let revoked = host.ask("DELETE", "/v1/key").key(&battle.red).send();
    assert_eq!(revoked.status, 200);
    // Nothing happens in the game: the key's end is enough.
    assert_eq!(red.next(), None);
    instruct(&host, &battle, 1);
    assert_eq!(outsider.next(), None);
    assert_eq!(blue.next().expect("news").0, 4);
    watch(&host, &battle).send().problem(404, "no-such-game");
    watch(&host, &battle)
        .key(&battle.red)
        .send()
        .problem(401, "wrong-key");
}

#[test]
fn spectators_hear_later_if_the_game_says_so_whatever_they_read() {
    let host = Host::start();
    let battle = host.battle_of(json!({"shipped": "withy-bridge", "spectator_delay_minutes": 60}));
    host.post(
        &battle,
        &battle.red,
        &sheet(1, "red", json!([forward("red-1", 40.0)])),
    )
    .expect(201);
    let path = format!("/v1/games/{}", battle.game);
    let first = host.get(&battle.path("events/1")).expect(200);
    let head = json!({"number": 1, "hash": first["hash"]});
    for read in ["", "/table", "/news"] {
        let seen = host.get(&format!("{path}{read}")).expect(200);
        assert_eq!(seen["head"], head, "{read}");
    }
    let card = host.get(&path).expect(200);
    assert_eq!(
        (&card["player_turn"], &card["to_move"]),
        (&json!(1), &json!("red"))
    );
    let listed = host.get("/v1/games").expect(200);
    assert_eq!(listed["games"][0]["head"], head);
    assert_eq!(host.get(&battle.path("record")).text.lines().count(), 1);
    host.get(&battle.path("events/4"))
        .problem(404, "no-such-event");
    let drawn = host.get(&battle.path("table.svg"));
    let own = host
        .ask("GET", &battle.path("table.svg"))
        .key(&battle.blue)
        .send();
    assert_eq!(drawn.header("etag"), format!("\"{}\"", text(&head["hash"])));
    assert_ne!(drawn.text, own.text, "the unit stands where it stood");
    for key in [&battle.blue, &host.organiser()] {
        let seen = host.ask("GET", &battle.path("news")).key(key).send();
        assert_eq!(seen.expect(200)["head"]["number"], 5);
    }
    let mut player = Stream::open(
        host.ask("GET", &battle.path("events?after=0"))
            .key(&battle.blue),
    );
    let mut spectator = Stream::open(host.ask("GET", &battle.path("events?after=0")));
    for number in 1..=5 {
        assert_eq!(player.next().expect("news").0, number);
    }
    assert_eq!(spectator.next().expect("news").0, 1);
    host.ask("PATCH", &path)
        .key(&host.organiser())
        .json(&json!({"spectator_delay_minutes": 0}))
        .send()
        .expect(200);
    for number in 2..=5 {
        assert_eq!(spectator.next().expect("news").0, number);
    }
    host.ask("PATCH", &path)
        .key(&host.organiser())
        .json(&json!({"spectator_delay_minutes": 10_081}))
        .send()
        .problem(400, "bad-request");
}

#[test]
fn there_are_so_many_places_to_watch_from() {
    let host = Host::start_with(&["--watchers", "1"]);
    let battle = host.battle();
    let stream = Stream::open(watch(&host, &battle));
    let answer = watch(&host, &battle).send();
    answer.problem(503, "busy");
    assert!(!answer.header("retry-after").is_empty());
    host.get(&battle.path("news")).expect(200);
    drop(stream);
    // It is noticed when the next of its news cannot be sent.
    let began = Instant::now();
    let mut turn = 0;
    while watch(&host, &battle)
        .header("last-event-id", "0")
        .open()
        .status()
        != 200
    {
        instruct(&host, &battle, turn);
        turn += 1;
        assert!(
            began.elapsed() < Duration::from_secs(20),
            "never free again"
        );
    }
}

#[cfg(unix)]
#[test]
fn told_to_stop_the_server_ends_its_streams_and_itself() {
    let mut host = Host::start();
    let battle = host.battle();
    let mut streams: Vec<Stream> = (0..5)
        .map(|_| Stream::open(watch(&host, &battle)))
        .collect();
    host.terminate();
    for stream in &mut streams {
        assert_eq!(stream.next(), None);
    }
    assert!(host.wait().success());
    assert!(!host.log.holds("connections cut off", usize::MAX));
}
