//! Postings over a line that breaks: each counts once, and a rewritten record is noticed. The
//! server here is a stand-in that serves one record and loses answers when told to; whole games
//! against the real one are played elsewhere.

mod common;

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::Path;
use std::process::Output;
use std::sync::{Arc, Mutex};

use fieldpost_rules::game::Event;
use fieldpost_rules::record::bodies::PostSheet;
use fieldpost_rules::record::{Posted, PostingKind, public_key, seal, seal_posted};
use serde_json::{Value, json};

use common::{fieldpost, home};

/// What the stand-in was asked.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Asked {
    key: String,
    head: String,
    body: String,
}

#[derive(Default)]
struct Desk {
    record: String,
    postings: Vec<Asked>,
    /// Answers to postings that get lost on their way.
    to_lose: usize,
    /// Whether a posting was accepted already.
    is_accepted: bool,
    /// What a dishonest server writes into the record in the place of what was sent.
    swapped: Option<String>,
    /// The answer to postings: status and body; accepted for `None`.
    answer: Option<(u16, Value)>,
}

impl Desk {
    fn line(&self, last: bool) -> Value {
        let mut lines = self.record.lines();
        let line = if last { lines.last() } else { lines.next() };
        serde_json::from_str(line.expect("a line")).expect("JSON")
    }

    fn head(&self) -> Value {
        let line = self.line(true);
        json!({ "number": line["number"], "hash": line["hash"] })
    }

    fn game(&self) -> String {
        let body = self.line(false)["body"].as_str().expect("text").to_owned();
        let entry: Value = serde_json::from_str(&body).expect("JSON");
        entry["event"]["game"].as_str().expect("an id").to_owned()
    }

    fn card(&self) -> Value {
        json!({ "id": self.game(), "name": "Mill", "opened_at": "", "open_to_all": true, "head": self.head(),
            "sides": [], "game_turn": 1, "game_turns": 8, "player_turn": 1, "to_move": "red", "ended": null })
    }

    /// Accepts a posting, unless it was accepted before; the record then holds it, with this body.
    fn accepted(&mut self, body: &str) -> Value {
        let verdict = json!({ "verdict": "legal", "moves": [], "battles": [], "reasons": [] });
        let head = self.head();
        let last = head["number"].as_u64().expect("a number");
        let first = if self.is_accepted { last } else { last + 1 };
        if !self.is_accepted {
            self.is_accepted = true;
            let posted: PostSheet = serde_json::from_str(body).expect("a posting");
            let written = self.swapped.clone().unwrap_or_else(|| body.to_owned());
            let event = Event::SheetAccepted {
                sheet: posted.sheet,
                verdict: serde_json::from_value(verdict.clone()).expect("a verdict"),
            };
            let posted = Posted {
                seat: "its seat".to_owned(),
                kind: PostingKind::Sheet,
                precondition: "00".repeat(32),
                player_turn: 1,
                attempt: 1,
                number: Some(posted.number),
                body: written,
                signed: None,
            };
            let hash = hex::decode(head["hash"].as_str().expect("a hash")).expect("hex");
            let hash = hash.try_into().expect("32 bytes");
            let at = "2999-01-01T00:00:00Z";
            let sealed = seal_posted((last, hash), at, vec![event], Some(posted));
            for sealed in sealed.expect("canonical") {
                let hash = hex::encode(sealed.hash);
                let line =
                    json!({ "number": sealed.entry.number, "hash": hash, "body": sealed.body });
                self.record += &format!("{line}\n");
            }
        }
        json!({ "accepted": true, "head": self.head(), "first": first, "verdict": verdict, "news": [] })
    }
}

/// Serves until the test ends.
fn serve(desk: Arc<Mutex<Desk>>) -> String {
    let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
    let address = listener.local_addr().expect("an address");
    std::thread::spawn(move || {
        for stream in listener.incoming().flatten() {
            answer(&desk, stream);
        }
    });
    format!("http://{address}")
}

fn answer(desk: &Mutex<Desk>, mut stream: TcpStream) {
    let mut reader = BufReader::new(stream.try_clone().expect("a second handle"));
    let mut first = String::new();
    reader.read_line(&mut first).expect("a request");
    let (mut length, mut asked) = (
        0,
        Asked {
            key: String::new(),
            head: String::new(),
            body: String::new(),
        },
    );
    loop {
        let mut line = String::new();
        reader.read_line(&mut line).expect("a header");
        let Some((name, value)) = line.trim().split_once(": ") else {
            break;
        };
        match name.to_ascii_lowercase().as_str() {
            "content-length" => length = value.parse().expect("a length"),
            "idempotency-key" => value.clone_into(&mut asked.key),
            "if-match" => value.clone_into(&mut asked.head),
            _ => {}
        }
    }
    let mut body = vec![0; length];
    reader.read_exact(&mut body).expect("a body");
    asked.body = String::from_utf8(body).expect("text");
    let mut desk = desk.lock().expect("the desk");
    let (status, text) = if first.starts_with("POST") {
        desk.postings.push(asked.clone());
        if desk.to_lose > 0 {
            desk.to_lose -= 1;
            return;
        }
        match &desk.answer {
            Some((status, body)) => (*status, body.to_string()),
            None => (201, desk.accepted(&asked.body).to_string()),
        }
    } else if let Some((_, after)) = first.split_once("/record?after=") {
        let after: usize = after
            .split(' ')
            .next()
            .expect("a number")
            .parse()
            .expect("a number");
        let lines: Vec<&str> = desk.record.lines().skip(after).collect();
        (200, lines.join("\n"))
    } else {
        (200, desk.card().to_string())
    };
    let _ = write!(
        stream,
        "HTTP/1.1 {status} X\r\ncontent-type: application/json\r\nconnection: close\r\ncontent-length: {}\r\n\r\n{text}",
        text.len()
    );
}

struct Player {
    home: tempfile::TempDir,
    desk: Arc<Mutex<Desk>>,
    server: String,
    game: String,
}

impl Player {
    fn at_table() -> Self {
        let home = home();
        for kind in ["ruleset", "scenario"] {
            let text = run(home.path(), &["starter", kind]).stdout;
            std::fs::write(home.path().join(format!("{kind}.toml")), text).expect("written");
        }
        let new = ["local", "new", "ruleset.toml", "scenario.toml", "b.ndjson"];
        assert!(run(home.path(), &new).status.success());
        let desk = Desk {
            record: std::fs::read_to_string(home.path().join("b.ndjson")).expect("read"),
            ..Desk::default()
        };
        let game = desk.game();
        let desk = Arc::new(Mutex::new(desk));
        std::fs::write(home.path().join("stand.txt"), "red-1: stand\n").expect("written");
        std::fs::write(
            home.path().join("turn.txt"),
            "turn 1 red\n# another\nred-1: forward up to 20\n",
        )
        .expect("written");
        Self {
            server: serve(desk.clone()),
            home,
            desk,
            game,
        }
    }

    fn run(&self, args: &[&str]) -> Output {
        let place = ["--server", &self.server, "--game", &self.game];
        run(self.home.path(), &[args, &place].concat())
    }

    fn desk(&self) -> std::sync::MutexGuard<'_, Desk> {
        self.desk.lock().expect("the desk")
    }
}

fn run(home: &Path, args: &[&str]) -> Output {
    fieldpost(home)
        .env("FIELDPOST_KEY", "abcd.efgh")
        .args(args)
        .output()
        .expect("runs")
}

fn told(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

#[test]
fn a_lost_answer_leads_to_the_same_posting_again() {
    let player = Player::at_table();
    player.desk().to_lose = 1;
    let posted = player.run(&["post", "stand.txt"]);
    assert_eq!(posted.status.code(), Some(0), "{}", told(&posted));
    let desk = player.desk();
    assert_eq!(desk.postings.len(), 2);
    assert_eq!(desk.postings[0], desk.postings[1]);
    let opened = desk.line(false)["hash"]
        .as_str()
        .expect("a hash")
        .to_owned();
    assert_eq!(desk.postings[0].head, format!("\"{opened}\""));
    let body: Value = serde_json::from_str(&desk.postings[0].body).expect("JSON");
    assert_eq!(body["number"].as_str().map(str::len), Some(64));
}

#[test]
fn an_unknown_outcome_is_kept_and_asked_again_later() {
    let player = Player::at_table();
    player.desk().to_lose = 3;
    let posted = player.run(&["post", "stand.txt"]);
    assert_eq!(posted.status.code(), Some(5), "{}", told(&posted));
    assert!(told(&posted).contains("--again"));
    // another sheet may not be sent before the fate of the first is known
    let other = player.run(&["post", "turn.txt"]);
    assert_eq!(other.status.code(), Some(1), "{}", told(&other));
    assert_eq!(player.desk().postings.len(), 3);
    // the same sheet is the same posting
    let again = player.run(&["post", "stand.txt"]);
    assert_eq!(again.status.code(), Some(0), "{}", told(&again));
    let desk = player.desk();
    assert_eq!(desk.postings.len(), 4);
    assert!(
        desk.postings
            .iter()
            .all(|posting| *posting == desk.postings[0])
    );
    drop(desk);
    assert_eq!(player.run(&["post", "--again"]).status.code(), Some(1));
}

/// Both sides of a game kept in one home, as two who share a machine have them.
fn both_sides() -> Player {
    let player = Player::at_table();
    let seat = |side: &str| {
        format!(
            "[seat.{side}]\nserver = {:?}\nkey = \"abcd.efgh\"\ngame = {:?}\nside = {side:?}\n",
            player.server, player.game
        )
    };
    let text = format!("format = 1\n{}{}", seat("red"), seat("blue"));
    let folder = player.home.path().join("config");
    std::fs::create_dir_all(&folder).expect("made");
    std::fs::write(folder.join("seats.toml"), text).expect("written");
    player
}

#[test]
fn two_sides_in_one_home_read_each_its_own_news() {
    let player = both_sides();
    let news = |seat| player.run(&["news", "--seat", seat]).stdout;
    let text = |told: Vec<u8>| String::from_utf8_lossy(&told).into_owned();
    let first = text(news("red"));
    assert!(!first.contains("No news"), "{first}");
    assert!(text(news("red")).contains("No news"));
    // what red has read is not read by blue
    let other = text(news("blue"));
    assert!(!other.contains("No news"), "{other}");
    // and nobody is told as the side whose seat was kept last
    let nobodys = run(player.home.path(), &["news"]);
    assert_eq!(nobodys.status.code(), Some(2), "{}", told(&nobodys));
}

#[test]
fn a_posting_without_an_answer_is_its_own_sides() {
    let player = both_sides();
    player.desk().to_lose = 3;
    let posted = player.run(&["post", "stand.txt", "--seat", "red"]);
    assert_eq!(posted.status.code(), Some(5), "{}", told(&posted));
    let again = |seat| player.run(&["post", "--again", "--seat", seat]);
    assert_eq!(again("blue").status.code(), Some(1));
    assert_eq!(player.desk().postings.len(), 3);
    assert_eq!(again("red").status.code(), Some(0));
    assert_eq!(player.desk().postings.len(), 4);
}

#[test]
fn a_sheet_without_orders_is_posted_only_when_that_is_said() {
    let player = Player::at_table();
    std::fs::write(player.home.path().join("none.txt"), "# not written yet\n").expect("written");
    let posted = player.run(&["post", "none.txt"]);
    assert_eq!(posted.status.code(), Some(2), "{}", told(&posted));
    assert!(told(&posted).contains("--all-stand"), "{}", told(&posted));
    assert!(player.desk().postings.is_empty());
    let posted = player.run(&["post", "none.txt", "--all-stand"]);
    assert_eq!(posted.status.code(), Some(0), "{}", told(&posted));
    assert_eq!(player.desk().postings.len(), 1);
}

#[test]
fn an_answered_posting_is_forgotten_and_the_next_is_new() {
    let player = Player::at_table();
    for _ in 0..2 {
        assert_eq!(player.run(&["post", "stand.txt"]).status.code(), Some(0));
    }
    let desk = player.desk();
    assert_ne!(desk.postings[0].key, desk.postings[1].key);
}

fn number_of(body: &str) -> String {
    let body: Value = serde_json::from_str(body).expect("JSON");
    body["number"].as_str().expect("a number").to_owned()
}

/// A host who learns a number and turns the posting away gets the same number again, with whatever sheet, and the
/// player is told how often it was shown.
#[test]
fn a_turn_has_one_number_through_every_answer() {
    let player = Player::at_table();
    let verdict = json!({ "verdict": "refused", "moves": [], "battles": [], "reasons": [] });
    let head = player.desk().head();
    let refused = json!({ "accepted": false, "head": head, "verdict": verdict, "words": "" });
    player.desk().answer = Some((422, refused));
    assert_eq!(player.run(&["post", "stand.txt"]).status.code(), Some(3));
    let stale = json!({ "type": "/problems/stale", "title": "stale", "status": 412 });
    player.desk().answer = Some((412, stale));
    assert_eq!(player.run(&["post", "turn.txt"]).status.code(), Some(4));
    player.desk().answer = None;
    let posted = player.run(&["post", "turn.txt"]);
    assert_eq!(posted.status.code(), Some(0), "{}", told(&posted));
    // the second was sent again once by itself, for nothing had moved
    assert!(
        told(&posted).contains("was shown to the server 3 times before"),
        "{}",
        told(&posted)
    );
    let desk = player.desk();
    let numbers: Vec<String> = desk
        .postings
        .iter()
        .map(|asked| number_of(&asked.body))
        .collect();
    assert!(
        numbers.len() == 4 && numbers.iter().all(|number| *number == numbers[0]),
        "{numbers:?}"
    );
    assert_ne!(desk.postings[0].body, desk.postings[1].body);
}

/// A host who writes another number or another sheet into the record is found out by whoever sent it.
#[test]
fn another_posting_in_the_record_than_was_sent_is_noticed() {
    let player = Player::at_table();
    let sheet = json!({ "game_turn": 1, "side": "red", "orders": [] });
    let other = json!({ "sheet": sheet, "number": "11".repeat(32) });
    player.desk().swapped = Some(other.to_string());
    let posted = player.run(&["post", "stand.txt"]);
    assert_eq!(posted.status.code(), Some(6), "{}", told(&posted));
    assert!(told(&posted).contains("not hold"), "{}", told(&posted));
}

#[test]
fn a_refused_sheet_is_no_error_of_the_line() {
    let player = Player::at_table();
    let verdict = json!({ "verdict": "refused", "moves": [], "battles": [], "reasons": [] });
    let head = player.desk().head();
    player.desk().answer = Some((
        422,
        json!({ "accepted": false, "head": head, "verdict": verdict, "words": "36 mm too far" }),
    ));
    let posted = player.run(&["post", "stand.txt"]);
    assert_eq!(posted.status.code(), Some(3), "{}", told(&posted));
    assert!(String::from_utf8_lossy(&posted.stdout).contains("36 mm too far"));
}

#[test]
fn a_problem_is_told_with_the_exit_code_for_it() {
    let player = Player::at_table();
    player.desk().answer = Some((
        403,
        json!({ "type": "/problems/not-your-side", "title": "This sheet is another side's", "status": 403 }),
    ));
    let posted = player.run(&["post", "stand.txt"]);
    assert_eq!(posted.status.code(), Some(4), "{}", told(&posted));
    assert!(told(&posted).contains("another side's"));
    assert!(!told(&posted).contains("efgh"));
    // a stale head whose news moved something is not posted over
    player.desk().answer = Some((
        412,
        json!({ "type": "/problems/stale", "title": "stale", "status": 412 }),
    ));
    assert_eq!(player.run(&["post", "stand.txt"]).status.code(), Some(4));
}

/// After the news were read, `table --since` shows what they told last, or says why there is nothing to show.
#[test]
fn what_the_news_told_last_is_what_changed() {
    let player = Player::at_table();
    assert_eq!(player.run(&["news"]).status.code(), Some(0));
    let drawn = player.run(&["table", "--since", "--svg", "c.svg"]);
    assert_eq!(drawn.status.code(), Some(0), "{}", told(&drawn));
    assert!(
        told(&drawn).contains("no unit came, went or moved by events 1 to 1"),
        "{}",
        told(&drawn)
    );
}

#[test]
fn a_rewritten_record_is_noticed() {
    let player = Player::at_table();
    assert_eq!(player.run(&["news"]).status.code(), Some(0));
    let kept = player.run(&["record", "--offline"]).stdout;
    // the stand-in now serves another opening of the same game: same number, other hash
    let rewritten = rewritten(&player.desk().record);
    player.desk().record = rewritten;
    let news = player.run(&["news"]);
    assert_eq!(news.status.code(), Some(6), "{}", told(&news));
    assert!(told(&news).contains("not the one seen before"));
    // what was seen is still kept
    assert_eq!(player.run(&["record", "--offline"]).stdout, kept);
}

/// The record with another commitment, sealed anew.
fn rewritten(record: &str) -> String {
    let line: Value = serde_json::from_str(record.lines().next().expect("a line")).expect("JSON");
    let body = line["body"].as_str().expect("text");
    let at = body.find("commitment\":\"").expect("a commitment") + 13;
    let digit = if body[at..].starts_with('0') {
        "1"
    } else {
        "0"
    };
    let body = format!("{}{digit}{}", &body[..at], &body[at + 1..]);
    let hash = hex::encode(fieldpost_rules::record::hash_of(body.as_bytes()));
    format!("{}\n", json!({ "number": 1, "hash": hash, "body": body }))
}

/// A record that has another key for the own seat than this machine's is refused, whatever is asked of it.
#[test]
fn another_key_for_the_own_seat_is_refused() {
    let seed = [7; 32];
    for (key, code) in [(public_key(&seed), 0), (public_key(&[8; 32]), 6)] {
        let player = Player::at_table();
        let taken = json!({ "event": "seat-taken", "side": "red", "player": "Ash",
            "seat": "0123456789abcdef", "key": hex::encode(key) });
        let taken: Event = serde_json::from_value(taken).expect("an event");
        {
            let mut desk = player.desk();
            let head = desk.head();
            let hash = hex::decode(head["hash"].as_str().expect("a hash")).expect("hex");
            let head = (
                head["number"].as_u64().expect("a number"),
                hash.try_into().expect("32 bytes"),
            );
            let sealed = seal(head, "2999-01-01T00:00:00Z", vec![taken]).expect("canonical");
            let line = json!({ "number": sealed[0].entry.number, "hash": hex::encode(sealed[0].hash), "body": sealed[0].body });
            desk.record += &format!("{line}\n");
        }
        let text = format!(
            "format = 1\n[seat.red]\nserver = {:?}\nkey = \"abcd.efgh\"\ngame = {:?}\nside = \"red\"\n\
             seat_id = \"0123456789abcdef\"\nsigning_key = \"{}\"\n",
            player.server,
            player.game,
            hex::encode(seed)
        );
        let folder = player.home.path().join("config");
        std::fs::create_dir_all(&folder).expect("made");
        std::fs::write(folder.join("seats.toml"), text).expect("written");
        for args in [
            &["news", "--seat", "red"][..],
            &["post", "stand.txt", "--seat", "red"],
        ] {
            let answer = player.run(args);
            assert_eq!(
                answer.status.code(),
                Some(code),
                "{args:?}: {}",
                told(&answer)
            );
        }
        let shown = told(&player.run(&["news", "--seat", "red"]));
        assert_eq!(
            shown.contains("does not sign with this machine's key"),
            code == 6,
            "{shown}"
        );
        assert!(
            !shown.contains(&hex::encode(seed)),
            "the secret is not told"
        );
    }
}
