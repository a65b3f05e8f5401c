//! A server to be measured, and what it is measured beside.

#![allow(dead_code, reason = "no bench needs all of it")]

use std::hint::black_box;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::path::Path;
use std::time::Duration;

use axum::Router;
use axum::routing::get;
use fieldpost_rules::dice::Bytes32;
use fieldpost_rules::record::{self, PostingKind, SignedParts};
use fieldpost_rules::shipped;
use fieldpost_server::settings::{Database, Settings};
use serde_json::{Value, json};
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePool, SqliteSynchronous};
use tokio::net::TcpListener;
use tokio::runtime::Runtime;

/// The URL of a file in a folder.
pub fn file(folder: &Path) -> String {
    format!("sqlite:{}", folder.join("games.db").display())
}

/// Serves without limits on its callers; where, with the organiser's key.
pub fn serve(runtime: &Runtime, url: &str, folder: &Path) -> (String, String) {
    let settings = Settings {
        database: Database::new(url),
        connections: 4096,
        address_connections: 0,
        address_requests: 0,
        key_requests: 0,
        key_checks: 0,
        guesses: 0,
        ..Settings::default()
    };
    let key_file = match settings.database.file() {
        Some(_) => folder.join("games.db.organiser-key"),
        None => "fieldpost.organiser-key".into(),
    };
    let listener = runtime
        .block_on(TcpListener::bind(SocketAddr::from(([127, 0, 0, 1], 0))))
        .expect("a port");
    let base = format!("http://{}", listener.local_addr().expect("an address"));
    runtime.spawn(fieldpost_server::server::run(
        settings,
        listener,
        std::future::pending(),
    ));
    let key = loop {
        match std::fs::read_to_string(&key_file) {
            Ok(key) if !key.trim().is_empty() => break key.trim().to_owned(),
            _ => std::thread::sleep(Duration::from_millis(10)),
        }
    };
    (base, key)
}

/// A route that answers so many bytes and does nothing else.
pub fn bare_route(runtime: &Runtime, bytes: usize) -> String {
    let body = "x".repeat(bytes);
    let router = Router::new().route("/", get(move || std::future::ready(body.clone())));
    let listener = runtime
        .block_on(TcpListener::bind(SocketAddr::from(([127, 0, 0, 1], 0))))
        .expect("a port");
    let base = format!("http://{}/", listener.local_addr().expect("an address"));
    runtime.spawn(async move { axum::serve(listener, router).await });
    base
}

/// A table and nothing else, as durable as the server's.
pub async fn bare_database(folder: &Path) -> SqlitePool {
    let options = SqliteConnectOptions::new()
        .filename(folder.join("bare.db"))
        .create_if_missing(true)
        .journal_mode(SqliteJournalMode::Wal)
        .synchronous(SqliteSynchronous::Full);
    let pool = SqlitePool::connect_with(options).await.expect("opened");
    sqlx::query("CREATE TABLE IF NOT EXISTS rows (id INTEGER PRIMARY KEY, body TEXT)")
        .execute(&pool)
        .await
        .expect("made");
    pool
}

/// Player turns of the longest battle there can be.
pub const LONGEST: u32 = 2000;

/// A client's connection that costs next to nothing: it shares its processors with the server that is measured.
pub struct Line {
    stream: BufReader<TcpStream>,
    host: String,
}

impl Line {
    /// A connection to what [`serve`] serves.
    pub fn to(base: &str) -> Self {
        let host = base.strip_prefix("http://").expect("its scheme").to_owned();
        let stream = TcpStream::connect(&host).expect("connects");
        stream.set_nodelay(true).expect("set");
        Self {
            stream: BufReader::new(stream),
            host,
        }
    }

    /// Posts a body of JSON; the status of the answer and its body.
    fn post(&mut self, path: &str, headers: &[(&str, &str)], body: &str) -> (u16, String) {
        let mut all = headers.to_vec();
        all.push(("content-type", "application/json"));
        let (status, body) = self.send("POST", path, &all, body);
        (status, String::from_utf8(body).expect("text"))
    }

    /// Sends a request; the status of the answer and its body.
    fn send(
        &mut self,
        method: &str,
        path: &str,
        headers: &[(&str, &str)],
        body: &str,
    ) -> (u16, Vec<u8>) {
        let mut request = format!("{method} {path} HTTP/1.1\r\nhost: {}\r\n", self.host);
        for (name, value) in headers {
            request.push_str(&format!("{name}: {value}\r\n"));
        }
        request.push_str(&format!("content-length: {}\r\n\r\n{body}", body.len()));
        let stream = self.stream.get_mut();
        stream.write_all(request.as_bytes()).expect("sent");
        let status = self.line();
        let status = status.split(' ').nth(1).and_then(|code| code.parse().ok());
        let mut length = 0;
        loop {
            let header = self.line();
            match header.split_once(": ") {
                Some(("content-length", value)) => length = value.parse().expect("a number"),
                Some(_) => {}
                None => break,
            }
        }
        let mut body = vec![0; length];
        self.stream.read_exact(&mut body).expect("answered");
        (status.expect("a status"), body)
    }

    /// Reads the bare route.
    pub fn read_root(&mut self) {
        assert_eq!(self.send("GET", "/", &[], "").0, 200);
    }

    fn line(&mut self) -> String {
        let mut line = String::new();
        self.stream.read_line(&mut line).expect("answered");
        line.truncate(line.trim_end().len());
        line
    }
}

/// A game being posted to.
pub struct Game {
    pub id: String,
    pub keys: [String; 2],
    head: String,
    pub turn: u32,
    signing: Option<Signing>,
}

/// What a game's postings are signed with.
struct Signing {
    seats: [String; 2],
    /// The devices' public keys, in hex.
    public: [String; 2],
    /// Whether the server is shown the signatures. They are made in any case, so that clients do the same.
    shown: bool,
}

impl Signing {
    /// The secrets of the two players' devices: nobody has anything to hide here.
    const SEEDS: [Bytes32; 2] = [[7; 32], [8; 32]];

    /// The header of a posting; none where the server is not shown it.
    fn header(&self, game: &Game, body: &str, number: &Bytes32) -> Option<String> {
        let bytes = |text: &str| u128::from_str_radix(text, 16).expect("hex").to_be_bytes();
        let (first, last) = game.head.split_at(32);
        let mut precondition = [0; 32];
        precondition[..16].copy_from_slice(&bytes(first));
        precondition[16..].copy_from_slice(&bytes(last));
        let (player, player_turn) = (game.turn as usize % 2, u64::from(game.turn) + 1);
        let parts = SignedParts {
            game: &bytes(&game.id.replace('-', "")),
            seat: &self.seats[player],
            kind: PostingKind::Sheet,
            precondition: &precondition,
            player_turn,
            attempt: 1,
            body: body.as_bytes(),
            number: Some(number),
        };
        let signature = hex(&black_box(record::sign(
            &Self::SEEDS[player],
            &parts.message(),
        )));
        let public = &self.public[player];
        let header =
            format!("player-turn={player_turn}, attempt=1, key={public}, signature={signature}");
        self.shown.then_some(header)
    }
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

fn send(agent: &ureq::Agent, url: &str, headers: &[(&str, &str)], body: &Value) -> Value {
    let mut request = agent.post(url).header("content-type", "application/json");
    for (name, value) in headers {
        request = request.header(*name, *value);
    }
    let text = request
        .send(body.to_string())
        .and_then(|mut answer| answer.body_mut().read_to_string())
        .expect("answered");
    serde_json::from_str(&text).expect("json")
}

impl Game {
    pub fn open(agent: &ureq::Agent, base: &str, organiser: &str) -> Self {
        Self::open_with(agent, base, organiser, &json!({"shipped": "quern-bridge"}))
    }

    /// The small battle, with turns enough for a long measurement.
    pub fn open_long(agent: &ureq::Agent, base: &str, organiser: &str) -> Self {
        Self::open_with(agent, base, organiser, &Self::long_battle())
    }

    /// The same, with a client that signs its postings; `shown` has the game played with signatures.
    pub fn open_signing(agent: &ureq::Agent, base: &str, organiser: &str, shown: bool) -> Self {
        let mut battle = Self::long_battle();
        battle["signed"] = json!(shown);
        Self::open_with(agent, base, organiser, &battle)
    }

    fn long_battle() -> Value {
        let battle = shipped::find("withy-bridge").expect("shipped");
        let scenario = battle
            .scenario
            .text
            .replace("game_turns = 6", "game_turns = 1000");
        json!({"files": {
            "ruleset": {"name": "rules.toml", "text": battle.ruleset.text},
            "scenario": {"name": "battle.toml", "text": scenario},
        }})
    }

    pub fn open_with(agent: &ureq::Agent, base: &str, organiser: &str, files: &Value) -> Self {
        let bearer = format!("Bearer {organiser}");
        let opened = send(
            agent,
            &format!("{base}/v1/games"),
            &[("authorization", &bearer)],
            files,
        );
        let is_signed = files["signed"].as_bool();
        let public = Signing::SEEDS.map(|seed| hex(&record::public_key(&seed)));
        let key = |place: usize| {
            let invitation = &opened["invitations"][place]["invitation"];
            let mut asked = json!({"invitation": invitation, "player": "Ash"});
            if is_signed == Some(true) {
                asked["key"] = json!(public[place]);
            }
            let seat = send(agent, &format!("{base}/v1/seats"), &[], &asked);
            let text = |name: &str| seat[name].as_str().expect("text").to_owned();
            let head = seat["game"]["head"]["hash"].clone();
            (text("key"), text("seat"), head)
        };
        let ((red, red_seat, _), (blue, blue_seat, head)) = (key(0), key(1));
        Self {
            id: opened["game"]["id"].as_str().expect("an id").to_owned(),
            keys: [red, blue],
            head: head.as_str().expect("a hash").to_owned(),
            turn: 0,
            signing: is_signed.map(|shown| Signing {
                seats: [red_seat, blue_seat],
                public,
                shown,
            }),
        }
    }

    /// Has a sheet tried by red; the status of the answer and its body.
    pub fn check(&self, line: &mut Line, body: &str) -> (u16, String) {
        let bearer = format!("Bearer {}", self.keys[0]);
        let path = format!("/v1/games/{}/check", self.id);
        line.post(&path, &[("authorization", &bearer)], body)
    }

    /// Has the last order of a draft tried by red; the answer.
    pub fn try_order(&self, line: &mut Line, body: &str) -> String {
        let bearer = format!("Bearer {}", self.keys[0]);
        let path = format!("/v1/games/{}/order", self.id);
        let (status, answer) = line.post(&path, &[("authorization", &bearer)], body);
        assert_eq!(status, 200, "{answer}");
        answer
    }

    /// Reads something of the game as red; how many bytes it is.
    pub fn read(&self, line: &mut Line, what: &str) -> usize {
        self.read_in(line, what, "identity")
    }

    /// The same, compressed.
    pub fn read_packed(&self, line: &mut Line, what: &str) -> usize {
        self.read_in(line, what, "gzip")
    }

    fn read_in(&self, line: &mut Line, what: &str, coding: &str) -> usize {
        let bearer = format!("Bearer {}", self.keys[0]);
        let path = format!("/v1/games/{}/{what}", self.id);
        let headers = [
            ("authorization", bearer.as_str()),
            ("accept-encoding", coding),
        ];
        let (status, answer) = line.send("GET", &path, &headers, "");
        assert_eq!(status, 200, "{}", String::from_utf8_lossy(&answer));
        answer.len()
    }

    /// Posts a sheet in which everybody stands.
    pub fn post(&mut self, line: &mut Line) {
        let player = self.turn as usize % 2;
        let bearer = format!("Bearer {}", self.keys[player]);
        let matched = format!("\"{}\"", self.head);
        let number = [0x5a; 32];
        let sheet = format!(
            r#"{{"game_turn":{},"side":"{}","orders":[]}}"#,
            self.turn / 2 + 1,
            ["red", "blue"][player]
        );
        let body = format!(r#"{{"sheet":{sheet},"number":"{}"}}"#, hex(&number));
        let signing = self.signing.as_ref();
        let signature = signing.and_then(|signing| signing.header(self, &body, &number));
        let mut headers = vec![
            ("authorization", bearer.as_str()),
            ("if-match", &matched),
            ("idempotency-key", &self.head),
        ];
        headers.extend(
            signature
                .as_deref()
                .map(|value| ("posting-signature", value)),
        );
        let path = format!("/v1/games/{}/sheets", self.id);
        let (status, answer) = line.post(&path, &headers, &body);
        assert_eq!(status, 201, "{answer}");
        let head = answer.split_once("\"head\":").expect("a head").1;
        let hash = head.split_once("\"hash\":\"").expect("its hash").1;
        self.head = hash[..64].to_owned();
        self.turn += 1;
    }
}
