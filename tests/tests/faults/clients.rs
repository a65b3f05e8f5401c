//! Clients that post until they know what became of it.

use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::time::{Duration, Instant};

use fieldpost_rules::shipped;
use serde_json::{Value, json};

use crate::books::{Fate, Posting, Told};
use crate::servers::Place;

/// How long a posting may have no answer while servers are there before that is a fault.
const PATIENCE: Duration = Duration::from_secs(60);

pub struct Answer {
    pub status: u16,
    pub text: String,
}

impl Answer {
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.text).unwrap_or_default()
    }
}

fn agent() -> ureq::Agent {
    ureq::Agent::config_builder()
        .http_status_as_error(false)
        .timeout_global(Some(Duration::from_secs(30)))
        .build()
        .new_agent()
}

pub fn get(address: &str, path: &str, key: Option<&str>) -> Result<Answer, ureq::Error> {
    let mut request = agent().get(format!("http://{address}{path}"));
    if let Some(key) = key {
        request = request.header("authorization", format!("Bearer {key}"));
    }
    let mut answer = request.call()?;
    let text = answer.body_mut().read_to_string()?;
    Ok(Answer {
        status: answer.status().as_u16(),
        text,
    })
}

fn post(
    address: &str,
    path: &str,
    headers: &[(&str, &str)],
    body: &Value,
) -> Result<Answer, ureq::Error> {
    let mut request = agent()
        .post(format!("http://{address}{path}"))
        .header("content-type", "application/json");
    for (name, value) in headers {
        request = request.header(*name, *value);
    }
    let mut answer = request.send(body.to_string())?;
    let text = answer.body_mut().read_to_string()?;
    Ok(Answer {
        status: answer.status().as_u16(),
        text,
    })
}

/// What is made by a request; a server with a fault may have to be asked again.
fn created(address: &str, path: &str, headers: &[(&str, &str)], body: &Value) -> Value {
    let mut tries = 0;
    loop {
        let answer = post(address, path, headers, body).expect("answered");
        if answer.status == 201 {
            return answer.json();
        }
        tries += 1;
        assert!(tries < 20, "{} {}", answer.status, answer.text);
        std::thread::sleep(Duration::from_millis(100));
    }
}

/// A game that several clients post to.
pub struct Game {
    pub id: String,
    keys: [String; 2],
    now: Mutex<(String, u64)>,
}

impl Game {
    /// Opens a battle of a thousand turns and takes both its seats.
    pub fn open(address: &str, place: &Place) -> Self {
        let battle = shipped::find("withy-bridge").expect("shipped");
        let scenario = battle
            .scenario
            .text
            .replace("game_turns = 6", "game_turns = 1000");
        let files = json!({"files": {
            "ruleset": {"name": "rules.toml", "text": battle.ruleset.text},
            "scenario": {"name": "battle.toml", "text": scenario},
        }});
        let bearer = format!("Bearer {}", place.organiser());
        let opened = created(address, "/v1/games", &[("authorization", &bearer)], &files);
        let key = |side: usize| {
            let asked =
                json!({"invitation": opened["invitations"][side]["invitation"], "player": "Ash"});
            text(&created(address, "/v1/seats", &[], &asked)["key"])
        };
        let keys = [key(0), key(1)];
        let game = Self {
            id: text(&opened["game"]["id"]),
            keys,
            now: Mutex::default(),
        };
        assert!(game.look(address));
        game
    }

    /// Reads where the game stands; whether that could be read.
    pub fn look(&self, address: &str) -> bool {
        let path = format!("/v1/games/{}", self.id);
        let Ok(answer) = get(address, &path, Some(&self.keys[0])) else {
            return false;
        };
        let card = answer.json();
        let (Some(head), Some(turn)) =
            (card["head"]["hash"].as_str(), card["player_turn"].as_u64())
        else {
            return false;
        };
        self.learn(head.to_owned(), turn);
        true
    }

    fn learn(&self, head: String, turn: u64) {
        let mut now = self.now.lock().expect("no panic while held");
        if now.1 <= turn {
            *now = (head, turn);
        }
    }

    /// The next posting, in which everybody stands.
    pub fn next(&self, number: [u8; 32]) -> Posting {
        let (head, turn) = self.now.lock().expect("no panic while held").clone();
        let side = usize::from(turn % 2 == 0);
        Posting {
            game: self.id.clone(),
            number: hex::encode(number),
            written_for: head,
            turn,
            key: self.keys[side].clone(),
            sheet: json!({"game_turn": turn.div_ceil(2), "side": (["red", "blue"][side]), "orders": []}),
        }
    }

    pub fn record(&self, address: &str) -> String {
        let path = format!("/v1/games/{}/record", self.id);
        let answer = get(address, &path, Some(&self.keys[0])).expect("answered");
        assert_eq!(answer.status, 200, "{}", answer.text);
        answer.text
    }
}

impl Posting {
    /// Sends it once; the very same bytes and key each time.
    pub fn send(&self, address: &str) -> Result<Answer, ureq::Error> {
        let bearer = format!("Bearer {}", self.key);
        let head = format!("\"{}\"", self.written_for);
        let headers = [
            ("authorization", bearer.as_str()),
            ("if-match", &head),
            ("idempotency-key", &self.number),
        ];
        let body = json!({"sheet": self.sheet, "number": self.number});
        post(
            address,
            &format!("/v1/games/{}/sheets", self.game),
            &headers,
            &body,
        )
    }
}

/// What clients do until they are told to stop.
pub struct Work {
    pub games: Vec<Game>,
    pub addresses: Vec<String>,
    pub seed: u64,
    pub stop: AtomicBool,
    /// How many postings have been accepted.
    pub accepted: AtomicU64,
}

/// Posts to random games at random servers until told to stop; what became of each posting.
pub fn client(number: u8, work: &Work) -> Vec<Told> {
    let mut random = Random::new(work.seed ^ (u64::from(number) << 32));
    let mut fates = Vec::new();
    while !work.stop.load(Ordering::Relaxed) {
        let game = &work.games[random.below(work.games.len() as u64) as usize];
        let mut name = [number; 32];
        name[..8].copy_from_slice(&(fates.len() as u64).to_be_bytes());
        let posting = game.next(name);
        let fate = insist(&posting, game, &work.addresses, &mut random);
        if matches!(fate, Fate::Accepted(_)) {
            work.accepted.fetch_add(1, Ordering::Relaxed);
        }
        let is_stuck = matches!(fate, Fate::Unknown(_));
        fates.push((posting, fate));
        if is_stuck {
            break;
        }
    }
    fates
}

/// Sends a posting until it is answered for good.
fn insist(posting: &Posting, game: &Game, addresses: &[String], random: &mut Random) -> Fate {
    let began = Instant::now();
    let mut last;
    loop {
        let address = &addresses[random.below(addresses.len() as u64) as usize];
        match posting.send(address) {
            Ok(answer) if answer.status == 201 => {
                let head = text(&answer.json()["head"]["hash"]);
                game.learn(head.clone(), posting.turn + 1);
                return Fate::Accepted(head);
            }
            Ok(answer) if answer.status == 412 => {
                while !game.look(&addresses[random.below(addresses.len() as u64) as usize]) {
                    if began.elapsed() > PATIENCE {
                        return Fate::Unknown("the game cannot be read".to_owned());
                    }
                }
                return Fate::Overtaken;
            }
            Ok(answer) if answer.status < 500 => return Fate::Wrong(answer.text),
            Ok(answer) => last = answer.text,
            Err(error) => last = error.to_string(),
        }
        if began.elapsed() > PATIENCE {
            return Fate::Unknown(last);
        }
        std::thread::sleep(Duration::from_millis(5 + random.below(30)));
    }
}

fn text(value: &Value) -> String {
    value
        .as_str()
        .unwrap_or_else(|| panic!("no text: {value}"))
        .to_owned()
}

/// Numbers that are the same for the same seed (Marsaglia's xorshift64, 13, 7, 17).
pub struct Random(u64);

impl Random {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1)
    }

    pub fn below(&mut self, bound: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) % bound
    }
}
