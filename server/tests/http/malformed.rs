//! Requests that nobody honest sends. Each test is a row of the table in `manual/hosting.md`; what is here is
//! said in bytes, where a well-behaved client could not say it.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::Duration;

use serde_json::json;

use crate::host::{Host, sheet, text};

/// Sends bytes; what comes back until the server closes.
fn raw(host: &Host, bytes: &[u8]) -> String {
    let mut stream = TcpStream::connect(&host.address).expect("connects");
    stream
        .set_read_timeout(Some(Duration::from_secs(20)))
        .expect("set");
    // The server may close before all of it is sent.
    let _ = stream.write_all(bytes);
    let mut answer = Vec::new();
    let _ = stream.read_to_end(&mut answer);
    String::from_utf8_lossy(&answer).into_owned()
}

/// One request whose connection the server closes after the answer.
fn once(host: &Host, head: &str) -> String {
    raw(
        host,
        format!("{head}\r\nhost: x\r\nconnection: close\r\n\r\n").as_bytes(),
    )
}

fn status(answer: &str) -> &str {
    answer.get(9..12).unwrap_or_default()
}

fn still_serves(host: &Host) {
    assert_eq!(host.get("/healthz").status, 200);
}

#[test]
fn what_is_not_http_is_refused() {
    let host = Host::start();
    for bytes in [
        &b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03"[..],
        b"GET\r\n\r\n",
        b"GET / HTTP/9.9\r\nhost: x\r\n\r\n",
        b"GET /\x00 HTTP/1.1\r\nhost: x\r\n\r\n",
        b"GET / HTTP/1.1\r\nno colon\r\n\r\n",
        b"GET / HTTP/1.1\r\nhost: x\r\nx: a\x01b\r\n\r\n",
    ] {
        let answer = raw(&host, bytes);
        assert!(
            answer.is_empty() || status(&answer) == "400",
            "{bytes:?}: {answer}"
        );
    }
    still_serves(&host);
}

#[test]
fn two_opinions_of_where_a_body_ends_are_not_followed() {
    let host = Host::start();
    let hidden = "GET /v1/games HTTP/1.1\r\nhost: x\r\n\r\n";
    for lengths in [
        format!("content-length: 5\r\ncontent-length: {}\r\n", hidden.len()),
        "content-length: -1\r\n".to_owned(),
        "content-length: 18446744073709551616\r\n".to_owned(),
        "transfer-encoding: gzip\r\n".to_owned(),
        "transfer-encoding: chunked, gzip\r\n".to_owned(),
    ] {
        let answer = raw(
            &host,
            format!("POST /v1/seats HTTP/1.1\r\nhost: x\r\ncontent-type: application/json\r\n{lengths}\r\n{hidden}").as_bytes(),
        );
        assert_eq!(status(&answer), "400", "{lengths}: {answer}");
        assert_eq!(
            answer.matches("HTTP/1.1 ").count(),
            1,
            "{lengths}: {answer}"
        );
    }
    // Chunks win over a length, as RFC 9112 (section 6.3) wants it, and the connection ends with that.
    let both = "POST /v1/seats HTTP/1.1\r\nhost: x\r\ncontent-type: application/json\r\ncontent-length: 2\r\ntransfer-encoding: chunked\r\nconnection: close\r\n\r\n2\r\n{}\r\n0\r\n\r\n";
    let answer = raw(&host, both.as_bytes());
    assert_eq!(status(&answer), "400", "{answer}");
    assert!(answer.contains("/problems/bad-json"), "{answer}");
    // A chunk that is not one.
    let broken = "POST /v1/seats HTTP/1.1\r\nhost: x\r\ncontent-type: application/json\r\ntransfer-encoding: chunked\r\n\r\nzz\r\n{}\r\n0\r\n\r\n";
    assert_eq!(status(&raw(&host, broken.as_bytes())), "400");
    still_serves(&host);
}

#[test]
fn a_request_names_its_host_once() {
    let host = Host::start();
    for head in [
        "GET /healthz HTTP/1.1\r\n",
        "GET /healthz HTTP/1.1\r\nhost: x\r\nhost: y\r\n",
        "GET /healthz HTTP/1.1\r\nhost: x\r\nhost: x\r\n",
        "POST /v1/seats HTTP/1.1\r\ncontent-length: 0\r\n",
    ] {
        let answer = raw(&host, format!("{head}connection: close\r\n\r\n").as_bytes());
        assert_eq!(status(&answer), "400", "{head}: {answer}");
        assert!(answer.contains("/problems/bad-request"), "{answer}");
    }
    // Before HTTP/1.1 nobody had to.
    let old = raw(&host, b"GET /healthz HTTP/1.0\r\n\r\n");
    assert_eq!(status(&old), "200", "{old}");
    still_serves(&host);
}

#[test]
fn paths_lead_nowhere_but_to_routes() {
    let host = Host::start();
    let battle = host.battle();
    for path in [
        "/../../etc/passwd",
        "/v1/../../etc/passwd",
        "/v1/games/..%2f..%2fetc%2fpasswd",
        "/v1/games/%2e%2e/table",
        "/%00",
        "//v1/scenarios",
        "/v1/scenarios/",
        "/V1/scenarios",
        "/v1/scenarios;x=1",
        "/v1/scenarios%3f",
        "/.env",
        "/games.db",
        "/games.db.organiser-key",
        "http://elsewhere.example/v1/nowhere",
    ] {
        let answer = once(&host, &format!("GET {path} HTTP/1.1"));
        assert_eq!(status(&answer), "404", "{path}: {answer}");
        assert!(!answer.contains("root:"), "{path}");
    }
    // A game's id is the game's however it is written, and never another's.
    let upper = host.get(&format!("/v1/games/{}", battle.game.to_uppercase()));
    assert_eq!(upper.expect(200)["id"], json!(battle.game));
    for number in ["-1", "1e3", "99999999999999999999999", "%31%00", "0x1"] {
        let answer = host.get(&battle.path(&format!("events/{number}")));
        answer.problem(400, "bad-request");
    }
    let long = format!("GET /{} HTTP/1.1", "a".repeat(60_000));
    assert!(["", "414", "431"].contains(&status(&once(&host, &long))));
    still_serves(&host);
}

#[test]
fn methods_are_what_the_route_says() {
    let host = Host::start();
    let battle = host.battle();
    let table = battle.path("table");
    for method in [
        "POST", "PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "BREW", "get",
    ] {
        let answer = once(&host, &format!("{method} {table} HTTP/1.1"));
        assert_eq!(status(&answer), "405", "{method}: {answer}");
        assert!(answer.contains("GET"), "{method}: {answer}");
    }
    // Nothing that a header or query says makes one method another.
    let disguised = host
        .ask("POST", &table)
        .header("x-http-method-override", "GET")
        .key(&battle.red)
        .json(&json!({}));
    disguised.send().problem(405, "method-not-allowed");
    let head = once(&host, &format!("HEAD {table} HTTP/1.1"));
    assert!(
        status(&head) == "200" && head.ends_with("\r\n\r\n"),
        "{head}"
    );
    assert_eq!(
        status(&once(&host, "CONNECT elsewhere.example:443 HTTP/1.1")),
        "404"
    );
    still_serves(&host);
}

#[test]
fn headers_that_decide_come_once() {
    let host = Host::start();
    let battle = host.battle();
    let twice = |method: &str, path: &str, headers: &str| {
        let head = format!(
            "{method} {path} HTTP/1.1\r\nhost: x\r\nconnection: close\r\ncontent-length: 2\r\n{headers}"
        );
        raw(&host, format!("{head}\r\n\r\n{{}}").as_bytes())
    };
    let red = format!("authorization: Bearer {}", battle.red);
    let blue = format!("authorization: Bearer {}", battle.blue);
    let cases = [
        ("GET", "/v1/seat".to_owned(), format!("{red}\r\n{blue}")),
        (
            "POST",
            battle.path("sheets"),
            format!("{red}\r\nidempotency-key: a\r\nidempotency-key: b"),
        ),
        (
            "POST",
            battle.path("sheets"),
            format!(
                "{red}\r\nidempotency-key: a\r\ncontent-type: application/json\r\nif-match: \"a\"\r\nif-match: \"b\""
            ),
        ),
        (
            "POST",
            "/v1/seats".to_owned(),
            "content-type: application/json\r\ncontent-type: text/plain".to_owned(),
        ),
    ];
    for (method, path, headers) in &cases {
        let answer = twice(method, path, headers);
        assert_eq!(status(&answer), "400", "{path}: {answer}");
        assert!(answer.contains("more than once"), "{path}: {answer}");
    }
    let many: String = (0..500).map(|i| format!("x-{i}: a\r\n")).collect();
    let answer = once(
        &host,
        &format!("GET /healthz HTTP/1.1\r\n{}", many.trim_end()),
    );
    assert!(["", "431"].contains(&status(&answer)), "{answer}");
    still_serves(&host);
}

#[test]
fn a_stolen_or_guessed_key_opens_no_more_than_its_own_seat() {
    let host = Host::start();
    let (mine, other) = (
        host.battle(),
        host.battle_of(json!({"shipped": "withy-bridge", "open_to_all": false})),
    );
    let read = |path: &str, key: &str| host.ask("GET", path).key(key).send();
    // Another game's: as if it were not there.
    for path in [
        "",
        "/table",
        "/table.svg",
        "/news",
        "/record",
        "/events",
        "/events/1",
        "/seats",
    ] {
        read(&format!("/v1/games/{}{path}", other.game), &mine.red).problem(404, "no-such-game");
    }
    let posted = json!({"sheet": sheet(1, "red", json!([])), "number": "5a".repeat(32)});
    host.ask("POST", &other.path("sheets"))
        .key(&mine.red)
        .header("if-match", &format!("\"{}\"", "00".repeat(32)))
        .header("idempotency-key", "theirs")
        .json(&posted)
        .send()
        .problem(403, "not-allowed");
    // The other side's.
    host.post(&mine, &mine.blue, &sheet(1, "red", json!([])))
        .problem(403, "not-your-side");
    // Parts of two keys are no key.
    let (id, _) = mine.red.split_once('.').expect("two parts");
    let (_, secret) = mine.blue.split_once('.').expect("two parts");
    read("/v1/seat", &format!("{id}.{secret}")).problem(401, "wrong-key");
    for odd in [
        "",
        ".",
        "a.b",
        &mine.red[..40],
        &format!("{}00", mine.red),
        "Bearer x",
    ] {
        read("/v1/seat", odd).problem(401, "wrong-key");
    }
    host.ask("GET", "/v1/seat")
        .header("authorization", &format!("Basic {}", mine.red))
        .send()
        .problem(401, "wrong-key");
    // An invitation is no key, and a key no invitation.
    let taken = json!({"invitation": mine.red, "player": "Ash"});
    host.ask("POST", "/v1/seats")
        .json(&taken)
        .send()
        .problem(422, "wrong-invitation");
    // Once revoked it opens nothing; a stream that it opened ends too (see `watching`).
    assert_eq!(
        host.ask("DELETE", "/v1/key").key(&mine.red).send().status,
        200
    );
    read("/v1/seat", &mine.red).problem(401, "wrong-key");
}

#[test]
fn a_replayed_posting_is_not_a_second_turn_and_nobody_elses() {
    let host = Host::start();
    let battle = host.battle();
    let posting = host.posting(&battle, &battle.red, &sheet(1, "red", json!([])));
    let first = posting.clone().send();
    first.expect(201);
    let again = posting.clone().send();
    assert_eq!((again.status, &again.text), (201, &first.text));
    // Overheard and sent with another key it is another's request, written for a head that has moved.
    posting.key(&battle.blue).send().problem(412, "stale");
    assert_eq!(
        host.get(&battle.path("table")).expect(200)["player_turn"],
        2
    );
}

#[test]
fn names_with_markup_are_text_in_pictures_and_answers() {
    let host = Host::start();
    let opened = host.open(&json!({"shipped": "withy-bridge"}));
    let name = "\"><svg onload=alert(1)>&amp;";
    let requested = json!({"invitation": opened["invitations"][0]["invitation"], "player": name});
    host.ask("POST", "/v1/seats")
        .json(&requested)
        .send()
        .expect(201);
    let path = format!("/v1/games/{}", text(&opened["game"]["id"]));
    for read in ["/table.svg", "/table.txt", "/news", "/table"] {
        let answer = host.get(&format!("{path}{read}"));
        assert!(!answer.header("content-type").contains("html"), "{read}");
        assert_eq!(answer.header("x-content-type-options"), "nosniff");
        assert!(
            answer
                .header("content-security-policy")
                .contains("default-src 'none'")
        );
        if read == "/table.svg" {
            assert!(!answer.text.contains("<svg onload"), "{}", answer.text);
        }
    }
    let card = host.get(&path).expect(200);
    assert_eq!(card["sides"][0]["player"], name, "as it was given");
}
