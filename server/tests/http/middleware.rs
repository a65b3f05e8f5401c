//! What every request passes: bodies that are not read, compression.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::Duration;

use serde_json::json;

use crate::host::Host;

fn connected(host: &Host) -> TcpStream {
    let stream = TcpStream::connect(&host.address).expect("connects");
    stream
        .set_read_timeout(Some(Duration::from_secs(20)))
        .expect("set");
    stream
}

/// Four megabytes are announced and never sent: a request without a key is answered at once.
#[test]
fn a_route_that_needs_a_key_reads_no_body_without_one() {
    let host = Host::start();
    let mut stream = connected(&host);
    let head = "POST /v1/games HTTP/1.1\r\nhost: x\r\ncontent-type: application/json\r\ncontent-length: 4000000\r\n\r\n";
    stream.write_all(head.as_bytes()).expect("sent");
    let mut answer = [0; 12];
    stream.read_exact(&mut answer).expect("answered");
    assert_eq!(&answer, b"HTTP/1.1 401");
}

#[test]
fn answers_are_compressed_for_those_who_take_it_and_fresh_keys_never() {
    let host = Host::start();
    let battle = host.battle();
    let path = battle.path("table");
    let open = |encoding: &str| {
        let ask = host.ask("GET", &path).key(&battle.red);
        let answer = ask.header("accept-encoding", encoding).open();
        let header = |name: &str| {
            let all = answer.headers().get_all(name).iter();
            let all = all.map(|value| value.to_str().expect("text").to_ascii_lowercase());
            all.collect::<Vec<_>>().join(", ")
        };
        (
            header("content-encoding"),
            header("vary"),
            header("etag"),
            answer.status().as_u16(),
        )
    };
    let (encoding, vary, tag, status) = open("gzip");
    assert_eq!((encoding.as_str(), status), ("gzip", 200));
    assert!(
        vary.contains("accept-encoding") && vary.contains("authorization"),
        "{vary}"
    );
    let (encoding, _, plain_tag, _) = open("identity");
    assert_eq!(encoding, "");
    assert_eq!(tag, plain_tag, "it names the head");
    let opened = host
        .ask("POST", "/v1/games")
        .key(&host.organiser())
        .header("accept-encoding", "gzip")
        .json(&json!({"shipped": "withy-bridge"}))
        .open();
    assert_eq!(opened.status(), 201);
    assert!(opened.headers().get("content-encoding").is_none());
    let stream = host
        .ask("GET", &battle.path("events?after=0"))
        .header("accept-encoding", "gzip")
        .open();
    assert!(stream.headers().get("content-encoding").is_none());
}
