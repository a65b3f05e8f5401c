//! Servers of other kinds: with a certificate authority of their own, gone, moved, with several games.

mod common;

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::Path;
use std::process::Output;
use std::sync::Arc;

use rcgen::{BasicConstraints, CertificateParams, CertifiedIssuer, IsCa, KeyPair};
use rustls::pki_types::{PrivateKeyDer, PrivatePkcs8KeyDer};
use rustls::{ServerConfig, ServerConnection, StreamOwned};
use serde_json::{Value, json};

use common::{fieldpost, home};

const RED: &str = "0192f0c1e8a07b3c9d4e5f6071829304";
const BLUE: &str = "0192f0c1e8a07b3c9d4e5f6071829305";

fn game(id: &str, name: &str, player: &str) -> Value {
    json!({ "id": id, "name": name, "opened_at": "", "open_to_all": true,
        "head": { "number": 1, "hash": "00".repeat(32) },
        "sides": [{ "side": "red", "name": "Red", "player": player, "players": [player] }],
        "game_turn": 1, "game_turns": 8, "player_turn": 1, "to_move": "red", "ended": null })
}

/// The answer to a path.
fn answer(path: &str) -> (u16, Value) {
    match path {
        "/v1/seat" => (
            200,
            json!({ "role": "player", "game": RED, "side": "red", "seat": "00", "player": "Ann" }),
        ),
        path if path.starts_with("/v1/games?") => (
            200,
            json!({ "games": [game(RED, "Mill", "Ann"), game(BLUE, "Mill", "Bo"), game("00".repeat(16).as_str(), "Ford", "Cy")],
                "more": false }),
        ),
        path if path.ends_with("/clock") => (
            200,
            json!({ "rules": null, "to_move": null, "due": null, "days_left": null, "is_out": false,
                "is_paused": false, "sides": [], "asked": path }),
        ),
        _ => (
            404,
            json!({ "type": "about:blank", "title": path, "status": 404 }),
        ),
    }
}

fn talk(mut stream: impl Read + Write) {
    let mut first = String::new();
    {
        let mut reader = BufReader::new(&mut stream);
        if reader.read_line(&mut first).is_err() {
            // no text, as of a client that speaks TLS
            let _ = stream
                .write_all(b"HTTP/1.1 400 X\r\nconnection: close\r\ncontent-length: 0\r\n\r\n");
            return;
        }
        let mut line = String::from(" ");
        while !line.trim().is_empty() {
            line.clear();
            if reader.read_line(&mut line).is_err() {
                return;
            }
        }
    }
    let (status, body) = answer(first.split(' ').nth(1).unwrap_or_default());
    let body = body.to_string();
    let _ = write!(
        stream,
        "HTTP/1.1 {status} X\r\ncontent-type: application/json\r\nconnection: close\r\ncontent-length: {}\r\n\r\n{body}",
        body.len()
    );
    let _ = stream.flush();
}

/// Serves until the test ends; the port.
fn serve(tls: Option<Arc<ServerConfig>>) -> u16 {
    let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
    let port = listener.local_addr().expect("an address").port();
    std::thread::spawn(move || {
        for stream in listener.incoming().flatten() {
            let tls = tls.clone();
            std::thread::spawn(move || speak(stream, tls));
        }
    });
    port
}

fn speak(stream: TcpStream, tls: Option<Arc<ServerConfig>>) {
    match tls {
        None => talk(stream),
        Some(tls) => {
            let connection = ServerConnection::new(tls).expect("a connection");
            talk(StreamOwned::new(connection, stream));
        }
    }
}

/// A certificate authority of one's own, as a file, and a server for 127.0.0.1 that it signed.
fn private_authority(folder: &Path) -> Arc<ServerConfig> {
    let mut params = CertificateParams::new(Vec::new()).expect("names");
    params.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
    let key = KeyPair::generate().expect("a key");
    let authority = CertifiedIssuer::self_signed(params, key).expect("an authority");
    std::fs::write(folder.join("ca.pem"), authority.pem()).expect("written");
    let key = KeyPair::generate().expect("a key");
    let params = CertificateParams::new(vec!["127.0.0.1".to_owned()]).expect("names");
    let own = params.signed_by(&key, &authority).expect("signed");
    let key = PrivateKeyDer::from(PrivatePkcs8KeyDer::from(key.serialize_der()));
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let config = ServerConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .expect("versions")
        .with_no_client_auth()
        .with_single_cert(vec![own.der().clone()], key);
    Arc::new(config.expect("a certificate"))
}

fn run(home: &Path, args: &[&str]) -> Output {
    fieldpost(home).args(args).output().expect("runs")
}

fn told(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

#[test]
fn a_private_authority_is_trusted_once_it_is_named() {
    let home = home();
    let tls = private_authority(home.path());
    let url = format!("https://127.0.0.1:{}", serve(Some(tls)));
    let games = ["games", "--server", &url];
    let refused = run(home.path(), &games);
    assert_eq!(refused.status.code(), Some(5), "{}", told(&refused));
    assert!(
        told(&refused).contains("--ca-file FILE"),
        "{}",
        told(&refused)
    );
    let named = run(
        home.path(),
        &[&games[..], &["--ca-file", "ca.pem"]].concat(),
    );
    assert!(named.status.success(), "{}", told(&named));
    let by_environment = fieldpost(home.path())
        .env("SSL_CERT_FILE", "ca.pem")
        .args(games)
        .output()
        .expect("runs");
    assert!(by_environment.status.success(), "{}", told(&by_environment));
    // another authority's file does not do, and is spoken of
    let other = tempfile::tempdir().expect("a folder");
    private_authority(other.path());
    let path = other.path().join("ca.pem").display().to_string();
    let wrong = run(home.path(), &[&games[..], &["--ca-file", &path]].concat());
    assert_eq!(wrong.status.code(), Some(5));
    assert!(
        told(&wrong).contains("not signed by an authority in the file"),
        "{}",
        told(&wrong)
    );
    std::fs::write(home.path().join("none.pem"), "nothing").expect("written");
    let none = run(
        home.path(),
        &[&games[..], &["--ca-file", "none.pem"]].concat(),
    );
    assert_eq!(none.status.code(), Some(3), "{}", told(&none));
    let missing = run(
        home.path(),
        &[&games[..], &["--ca-file", "gone.pem"]].concat(),
    );
    assert!(
        told(&missing).contains("no such file"),
        "{}",
        told(&missing)
    );
    // a seat keeps the file it was stored with
    std::fs::write(home.path().join("key"), "abcd.efgh").expect("written");
    let keep = [
        "seats",
        "keep",
        "mine",
        "--server",
        &url,
        "--key-file",
        "key",
        "--ca-file",
        "ca.pem",
    ];
    let kept = run(home.path(), &keep);
    assert!(kept.status.success(), "{}", told(&kept));
    let clock = run(home.path(), &["clock", "--seat", "mine"]);
    assert!(clock.status.success(), "{}", told(&clock));
}

#[test]
fn an_https_address_of_an_http_server_is_told_and_none_in_numbers_of_the_system() {
    let home = home();
    let port = serve(None);
    let run = |url: &str| run(home.path(), &["games", "--server", url]);
    let plain = run(&format!("https://127.0.0.1:{port}"));
    assert_eq!(plain.status.code(), Some(5));
    assert!(told(&plain).contains("http address"), "{}", told(&plain));
    // port 9 of this machine: nothing listens there
    let gone = run("http://127.0.0.1:9");
    assert_eq!(gone.status.code(), Some(5));
    let words = told(&gone);
    assert!(
        words.contains("no server listens there") && words.contains("fieldpost seats move"),
        "{words}"
    );
    assert!(!words.contains("os error"), "{words}");
    let nobody = run("http://no-such-host.invalid");
    assert!(
        told(&nobody).contains("no machine of that name"),
        "{}",
        told(&nobody)
    );
}

#[test]
fn a_server_that_moved_is_followed_with_its_records() {
    let home = home();
    let (old, new) = (serve(None), serve(None));
    let url = |port: u16| format!("http://127.0.0.1:{port}");
    std::fs::write(home.path().join("key"), "abcd.efgh").expect("written");
    let keep = [
        "seats",
        "keep",
        "mine",
        "--server",
        &url(old),
        "--key-file",
        "key",
    ];
    assert!(run(home.path(), &keep).status.success());
    let games = home.path().join("data").join("games");
    let folder_of = |port: u16| {
        use sha2::Digest as _;
        let digest = sha2::Sha256::digest(url(port).as_bytes());
        games.join(hex::encode(&digest[..6]))
    };
    let record = folder_of(old).join(RED).join("record.ndjson");
    std::fs::create_dir_all(record.parent().expect("a folder")).expect("made");
    std::fs::write(&record, "read so far").expect("written");

    let elsewhere = run(
        home.path(),
        &["seats", "move", &url(old), "http://127.0.0.1:9"],
    );
    assert_eq!(elsewhere.status.code(), Some(5), "{}", told(&elsewhere));
    assert!(record.exists(), "nothing was changed");
    let moved = run(home.path(), &["seats", "move", &url(old), &url(new)]);
    assert!(moved.status.success(), "{}", told(&moved));
    let seats = std::fs::read_to_string(home.path().join("config/seats.toml")).expect("read");
    assert!(
        seats.contains(&url(new)) && !seats.contains(&url(old)),
        "{seats}"
    );
    let text = std::fs::read_to_string(folder_of(new).join(RED).join("record.ndjson"));
    assert_eq!(text.expect("moved"), "read so far");
    let again = run(home.path(), &["seats", "move", &url(old), &url(new)]);
    assert_eq!(again.status.code(), Some(2), "{}", told(&again));
}

#[test]
fn a_game_is_named_by_its_name() {
    let home = home();
    let url = format!("http://127.0.0.1:{}", serve(None));
    let clock = |name: &str| run(home.path(), &["clock", "--server", &url, "--game", name]);
    let ford = clock("ford");
    assert!(ford.status.success(), "{}", told(&ford));
    let unknown = clock("Weir");
    assert_eq!(unknown.status.code(), Some(2));
    assert!(
        told(&unknown).contains("fieldpost games"),
        "{}",
        told(&unknown)
    );
    // of two of a name the id must be said, and both are told apart
    let both = clock("Mill");
    assert_eq!(both.status.code(), Some(2));
    for part in [RED, BLUE, "Ann", "Bo"] {
        assert!(told(&both).contains(part), "{}", told(&both));
    }
    assert!(clock(RED).status.success());
    // of a stored seat's game it is that seat's
    std::fs::create_dir_all(home.path().join("config")).expect("made");
    let seat = format!(
        "format = 1\n[seat.red]\nserver = {url:?}\nkey = \"abcd.efgh\"\ngame = {RED:?}\ngame_name = \"Mill\"\nside = \"red\"\n\
         [seat.other]\nserver = {url:?}\nkey = \"abcd.efgh\"\ngame = {BLUE:?}\ngame_name = \"Weir\"\n"
    );
    std::fs::write(home.path().join("config/seats.toml"), seat).expect("written");
    let own = run(home.path(), &["config", "--game", "mill", "--json"]);
    let data: Value = serde_json::from_slice(&own.stdout).expect("JSON");
    assert_eq!(data["settings"][0]["value"], "red");
    assert_eq!(data["settings"][2]["value"], RED);
}
