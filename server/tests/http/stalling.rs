//! What would keep the server busy, or its memory full, for as long as somebody likes.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use fieldpost_rules::shipped;
use serde_json::{Value, json};

use crate::host::{Answer, Ask, Battle, Host, forward, sheet, text};

/// Units of each side in the crowded battle.
const UNITS: usize = 40;
const PATIENCE: Duration = Duration::from_secs(60);

/// A battle of so many units a side, in ranks far apart, of many game turns.
fn crowded_battle(units: usize) -> Value {
    let battle = shipped::find("withy-bridge").expect("shipped");
    let ranks = units.div_ceil(15);
    let depth_mm = 800 + 240 * ranks;
    let mut scenario = format!(
        "format = 1\nname = \"Crowd\"\ngame_turns = 50\ntable = {{ width_mm = 2400, depth_mm = {depth_mm} }}\n\
         [[side]]\nkey = \"red\"\nname = \"Red\"\n[[side]]\nkey = \"blue\"\nname = \"Blue\"\n"
    );
    for unit in 0..units {
        let x_mm = 80 + 155 * (unit % 15);
        let behind_mm = 120 * (unit / 15);
        for (side, y_mm, bearing) in [
            ("red", depth_mm / 2 - 200 - behind_mm, 0),
            ("blue", depth_mm / 2 + 200 + behind_mm, 180),
        ] {
            let id = unit + 1;
            scenario.push_str(&format!(
                "[[unit]]\nid = \"{side}-{id}\"\nname = \"{side} {id}\"\nside = \"{side}\"\ntroops = \"foot\"\n\
                 files = 3\nranks = 2\nat = [{x_mm}, {y_mm}, {bearing}]\n"
            ));
        }
    }
    json!({"files": {
        "ruleset": {"name": "rules.toml", "text": battle.ruleset.text},
        "scenario": {"name": "battle.toml", "text": scenario},
    }})
}

fn id(unit: usize) -> String {
    format!("red-{}", unit + 1)
}

/// As many legs as an order may have, the last of which goes `last_mm`.
fn winding(unit: usize, last_mm: f64) -> Value {
    let mut legs = vec![json!({"leg": "forward", "distance_mm": 0.1}); 59];
    legs.push(json!({"leg": "forward", "distance_mm": last_mm}));
    json!({"order": "move", "unit": id(unit), "legs": legs})
}

/// Every unit goes too far at the end of a winding way: remedies are looked for, for each.
fn heavy() -> Value {
    let orders: Vec<Value> = (0..UNITS).map(|unit| winding(unit, 5000.0)).collect();
    sheet(1, "red", json!(orders))
}

/// The same, and nothing is refused.
fn long() -> Value {
    let orders: Vec<Value> = (0..UNITS).map(|unit| winding(unit, 0.1)).collect();
    sheet(1, "red", json!(orders))
}

fn check(host: &Host, battle: &Battle, key: &str, sheet: &Value) -> Ask {
    let check = host.ask("POST", &battle.path("check")).key(key);
    check.json(&json!({"sheet": sheet}))
}

/// A request in bytes, for callers that then do not do what callers do.
fn raw(method: &str, path: &str, key: &str, body: &str) -> Vec<u8> {
    let length = body.len();
    format!(
        "{method} {path} HTTP/1.1\r\nhost: x\r\nauthorization: Bearer {key}\r\n\
         content-type: application/json\r\ncontent-length: {length}\r\n\r\n{body}"
    )
    .into_bytes()
}

fn connect(host: &Host) -> TcpStream {
    let stream = TcpStream::connect(&host.address).expect("connects");
    stream.set_read_timeout(Some(PATIENCE)).expect("set");
    stream
}

#[test]
fn a_sheet_holds_what_its_units_can_do_and_is_not_measured_beyond() {
    let host = Host::start();
    let battle = host.battle_of(crowded_battle(UNITS));
    let refuses = |orders: Value, of: &str, held: usize, most: usize| {
        let sheet = sheet(1, "red", orders);
        for answer in [
            check(&host, &battle, &battle.red, &sheet).send(),
            host.post(&battle, &battle.red, &sheet),
        ] {
            let problem = answer.problem(422, "sheet-too-long");
            let fault = &problem["faults"][0];
            let told = (text(&fault["of"]), &fault["held"], &fault["most"]);
            assert_eq!(
                told,
                (of.to_owned(), &json!(held), &json!(most)),
                "{problem:#}"
            );
            let detail = text(&problem["detail"]);
            assert!(detail.contains(&format!("{held} {of}")), "{detail}");
        }
    };
    let leaves = |count| json!(vec![json!({"order": "leave", "unit": "red-1"}); count]);
    refuses(leaves(4 * UNITS + 1), "orders", 4 * UNITS + 1, 4 * UNITS);
    let about = json!({"leg": "about"});
    refuses(
        json!([{"order": "move", "unit": "red-1", "legs": vec![about; 61]}]),
        "legs",
        61,
        60,
    );
    // More than any battle's sheet holds is told before the game is read; what is longer still is not read.
    let many: Vec<Value> = (0..2001)
        .map(|_| json!({"order": "leave", "unit": "a"}))
        .collect();
    refuses(json!(many), "orders", 2001, 2000);
    let longer = sheet(1, "red", json!(vec![forward("red-1", 10.0); 15_000]));
    check(&host, &battle, &battle.red, &longer)
        .send()
        .problem(413, "too-large");

    // Typed, each fault has its line.
    let typed = |text: &str| {
        let check = host.ask("POST", &battle.path("check")).key(&battle.red);
        check.body("text/plain", text.as_bytes().to_vec()).send()
    };
    let problem = typed(&"red-1 leaves\n".repeat(4 * UNITS + 1)).problem(422, "unreadable-sheet");
    assert_eq!(problem["faults"][0]["line"], 4 * UNITS + 1, "{problem:#}");
    let wide = format!("red-2: about\nred-1: about{}", ", about".repeat(60));
    let problem = typed(&wide).problem(422, "unreadable-sheet");
    assert_eq!(problem["faults"][0]["line"], 2, "{problem:#}");

    // What honest people order, and far more, is measured.
    let all = (0..4 * UNITS).map(|order| forward(&id(order % UNITS), 10.0));
    let all = sheet(1, "red", json!(all.collect::<Vec<_>>()));
    let judged = check(&host, &battle, &battle.red, &all).send().expect(200);
    let again = &judged["verdict"]["moves"][UNITS]["reasons"][0]["code"];
    assert_eq!(again, "moved-already");
    assert_eq!(
        host.get(&battle.path("table")).expect(200)["player_turn"],
        1
    );
}

#[test]
fn checks_are_counted_apart_from_other_requests() {
    let host = Host::start_with(&["--key-requests", "8", "--key-checks", "20"]);
    let battle = host.battle();
    let ask = check(&host, &battle, &battle.red, &sheet(1, "red", json!([])));
    let mut taken = 0;
    let refused: Answer = loop {
        let answer = ask.clone().send();
        if answer.status != 200 {
            break answer;
        }
        taken += 1;
        assert!(taken < 1000, "never turned away");
    };
    assert!(taken >= 20, "{taken}");
    let problem = refused.problem(429, "too-many");
    assert!(text(&problem["detail"]).contains("checks"), "{problem}");
    let mine = host.ask("GET", "/v1/seat").key(&battle.red);
    mine.clone().send().expect(200);
    for _ in 0..20 {
        mine.clone().send();
    }
    mine.send().problem(429, "too-many");
    check(&host, &battle, &battle.blue, &sheet(1, "red", json!([]))).send();
}

#[test]
fn a_short_question_is_answered_while_long_ones_are_measured() {
    let host = Host::start();
    let battle = host.battle_of(crowded_battle(UNITS));
    let done = AtomicUsize::new(0);
    std::thread::scope(|scope| {
        for _ in 0..8 {
            let ask = check(&host, &battle, &battle.red, &heavy());
            let done = &done;
            scope.spawn(move || {
                let status = ask.send().status;
                assert!(matches!(status, 200 | 503), "{status}");
                done.fetch_add(1, Ordering::SeqCst);
            });
        }
        let short = sheet(
            1,
            "blue",
            json!([
                forward("blue-1", 10.0),
                forward("blue-2", 10.0),
                forward("blue-3", 10.0)
            ]),
        );
        while done.load(Ordering::SeqCst) == 0 {
            check(&host, &battle, &battle.blue, &short)
                .send()
                .expect(200);
            host.ask("GET", &battle.path("table"))
                .key(&battle.blue)
                .send()
                .expect(200);
            let before = done.load(Ordering::SeqCst);
            assert!(before < 8, "the long ones were done first");
            if before > 0 {
                return;
            }
            if host.log.count("/v1/games/{game}/check\"") >= 3 {
                // Three short ones were answered, and not one of the eight long ones, which were asked before.
                assert_eq!(done.load(Ordering::SeqCst), 0);
                return;
            }
        }
    });
}

#[test]
fn whoever_hangs_up_leaves_nothing_to_be_measured() {
    let host = Host::start();
    let battle = host.battle_of(crowded_battle(UNITS));
    let body = json!({"sheet": heavy()}).to_string();
    let request = raw("POST", &battle.path("check"), &battle.red, &body);
    // More than may wait of one key: were they not forgotten, the next would be turned away.
    for _ in 0..60 {
        connect(&host).write_all(&request).expect("sent");
    }
    let few = sheet(1, "red", json!([]));
    let began = Instant::now();
    loop {
        let answer = check(&host, &battle, &battle.red, &few).send();
        if answer.status == 200 {
            break;
        }
        answer.problem(429, "too-many");
        assert!(began.elapsed() < PATIENCE, "{answer:?}");
        std::thread::sleep(Duration::from_millis(20));
    }
}

#[cfg(unix)]
#[test]
fn told_to_stop_it_waits_for_no_measurement() {
    let mut host = Host::start();
    let battle = host.battle_of(crowded_battle(UNITS));
    let body = json!({"sheet": heavy()}).to_string();
    let request = raw("POST", &battle.path("check"), &battle.red, &body);
    let mut asked: Vec<TcpStream> = (0..16).map(|_| connect(&host)).collect();
    for stream in &mut asked {
        stream.write_all(&request).expect("sent");
    }
    // One of another key, so that it is known that those before have come.
    let few = sheet(1, "blue", json!([]));
    check(&host, &battle, &battle.blue, &few).send().expect(200);
    host.terminate();
    let status = host.wait();
    assert!(status.success(), "{status}");
    assert!(!host.log.holds("connections cut off", usize::MAX));
    let ended = asked.into_iter().filter_map(|mut stream| {
        let mut answer = String::new();
        stream.read_to_string(&mut answer).ok()?;
        answer.starts_with("HTTP/1.1 503").then_some(())
    });
    assert!(ended.count() > 0, "those that waited were told");
}

/// The whole request is sent at once and the connection closed at once: what was sent is done.
#[test]
fn a_change_whose_sender_hangs_up_right_after_it_is_made() {
    let host = Host::start();
    let battle = host.battle();
    let number = || {
        let card = host
            .ask("GET", &format!("/v1/games/{}", battle.game))
            .key(&battle.red)
            .send()
            .expect(200);
        card["head"]["number"].as_u64().expect("a number")
    };
    for turn in 0..30_u64 {
        let before = number();
        let follow_up = turn.is_multiple_of(2);
        let body = json!({"all": {"follow_up": follow_up, "give_way": null}}).to_string();
        let request = raw("PUT", &battle.path("instructions"), &battle.red, &body);
        let mut stream = connect(&host);
        stream.write_all(&request).expect("sent");
        drop(stream);
        let began = Instant::now();
        while number() == before {
            assert!(began.elapsed() < PATIENCE, "change {turn} was lost");
            std::thread::sleep(Duration::from_millis(5));
        }
    }
}

#[test]
fn one_seat_does_not_fill_a_game_with_changes() {
    let host = Host::start();
    let battle = host.battle();
    let instruct = |key: &str, times: usize| {
        let all = json!({"all": {"follow_up": times.is_multiple_of(2), "give_way": null}});
        host.ask("PUT", &battle.path("instructions"))
            .key(key)
            .json(&all)
            .send()
    };
    for times in 0..40 {
        instruct(&battle.red, times).expect(200);
    }
    let problem = instruct(&battle.red, 40).problem(429, "too-many-changes");
    assert!(text(&problem["detail"]).contains("40 changes"), "{problem}");
    let dispute = json!({"text": "Was that my wheel?"});
    let dispute = host.ask("POST", &battle.path("disputes")).json(&dispute);
    dispute
        .clone()
        .key(&battle.red)
        .send()
        .problem(429, "too-many-changes");
    // The same again is no change, the other side has its own, and the turn is played.
    instruct(&battle.red, 39).expect(200);
    instruct(&battle.blue, 0).expect(200);
    dispute.key(&battle.blue).send().expect(200);
    host.post(&battle, &battle.red, &sheet(1, "red", json!([])))
        .expect(201);
    instruct(&battle.red, 40).expect(200);
}

/// What the process holds, in MiB.
#[cfg(target_os = "linux")]
fn resident_mib(host: &Host) -> u64 {
    let status = format!("/proc/{}/status", host.id());
    let status = std::fs::read_to_string(status).expect("its own account of itself");
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"));
    let kib = line.expect("there").trim().trim_end_matches(" kB");
    kib.parse::<u64>().expect("a number") / 1024
}

/// The most that the process holds while nothing more comes, and a while after.
#[cfg(target_os = "linux")]
fn most_resident_mib(host: &Host) -> u64 {
    let looks = (0..30).map(|_| {
        std::thread::sleep(Duration::from_millis(100));
        resident_mib(host)
    });
    looks.max().expect("it was looked")
}

#[cfg(target_os = "linux")]
const MOST_MIB: u64 = 300;

#[cfg(target_os = "linux")]
#[test]
fn answers_that_nobody_reads_hold_little_and_are_let_go() {
    let host = Host::start_with(&["--unread-seconds", "8", "--address-connections", "0"]);
    let battle = host.battle_of(crowded_battle(UNITS));
    // A record of megabytes: whole turns of as many legs as there may be.
    for turn in 1..=3 {
        host.post(&battle, &battle.red, &with_turn(long(), turn))
            .expect(201);
        host.post(&battle, &battle.blue, &sheet(turn, "blue", json!([])))
            .expect(201);
    }
    let record = host.get(&battle.path("record"));
    assert!(record.text.len() > 2_000_000, "{}", record.text.len());
    let numbers = record.text.lines().map(|line| {
        let line: Value = serde_json::from_str(line).expect("an entry a line");
        line["number"].as_u64().expect("its number")
    });
    let numbers: Vec<u64> = numbers.collect();
    assert_eq!(
        numbers,
        (1..=numbers.len() as u64).collect::<Vec<_>>(),
        "in many pages"
    );
    let accepted = host.posting(&battle, &battle.red, &with_turn(long(), 4));
    let again = accepted.clone();
    assert!(accepted.send().text.len() > 500_000);
    let paths = [
        battle.path("record"),
        battle.path("events/3"),
        battle.path("events/6"),
    ];
    let mut held: Vec<TcpStream> = Vec::new();
    for number in 0..128 {
        let mut stream = connect(&host);
        let path = &paths[number % paths.len()];
        let ask = format!("GET {path} HTTP/1.1\r\nhost: x\r\n\r\n").repeat(4);
        stream.write_all(ask.as_bytes()).expect("sent");
        held.push(stream);
    }
    let most = most_resident_mib(&host);
    eprintln!("128 connections whose answers are not read: {most} MiB");
    assert!(most < MOST_MIB, "{most} MiB");
    // Nobody reads, and others are answered.
    assert_eq!(host.get(&battle.path("table")).status, 200);
    // In the end each is closed: what had come is read, and then nothing comes any more.
    for mut stream in held {
        let mut rest = Vec::new();
        let _ = stream.read_to_end(&mut rest);
    }
    // What was too much for the moment is there when it is asked for again.
    assert_eq!(
        host.get(&battle.path("record")).text.len(),
        record_length(&host, &battle)
    );
    let replayed = again.send();
    assert!(matches!(replayed.status, 201 | 412), "{}", replayed.status);
}

#[cfg(target_os = "linux")]
fn record_length(host: &Host, battle: &Battle) -> usize {
    host.get(&battle.path("record")).text.len()
}

#[cfg(target_os = "linux")]
fn with_turn(mut sheet: Value, game_turn: u32) -> Value {
    sheet["game_turn"] = json!(game_turn);
    sheet
}

#[cfg(target_os = "linux")]
#[test]
fn bodies_that_do_not_come_to_an_end_hold_little() {
    let host = Host::start_with(&["--body-seconds", "30", "--address-connections", "0"]);
    let battle = host.battle();
    let beginning = format!(
        "POST /v1/games HTTP/1.1\r\nhost: x\r\nauthorization: Bearer {}\r\n\
         content-type: application/json\r\ncontent-length: 4000000\r\n\r\n",
        battle.red
    );
    let half = vec![b' '; 3_900_000];
    let mut held: Vec<TcpStream> = Vec::new();
    for _ in 0..128 {
        let mut stream = connect(&host);
        stream.set_write_timeout(Some(PATIENCE)).expect("set");
        stream.write_all(beginning.as_bytes()).expect("sent");
        // Whoever sends too much is told so, and may be cut off.
        let _ = stream.write_all(&half);
        held.push(stream);
    }
    let most = most_resident_mib(&host);
    eprintln!("128 bodies that are half sent: {most} MiB");
    assert!(most < MOST_MIB, "{most} MiB");
    // A whole one that comes now is too much, and its sender hears so; a short one of the same address is taken.
    let whole = host.ask("POST", "/v1/games").key(&battle.red);
    let whole = whole.body("application/json", vec![b' '; 4_000_000]);
    let told = whole.send();
    told.problem(503, "busy");
    assert_eq!(told.header("retry-after"), "5");
    assert_eq!(host.get(&battle.path("table")).status, 200);
    host.post(&battle, &battle.red, &sheet(1, "red", json!([])))
        .expect(201);
}
