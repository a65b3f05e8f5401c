//! A server with its page, and games opened on it.

use std::io::{BufRead, BufReader};
use std::process::{Child, Stdio};
use std::sync::mpsc;
use std::time::Duration;

use fieldpost_tests::programs::program;
use serde_json::{Value, json};
use tempfile::TempDir;

const PATIENCE: Duration = Duration::from_secs(60);

/// A server on a fresh database of its own.
pub struct Host {
    server: Child,
    folder: TempDir,
    /// Where its page is.
    pub address: String,
}

/// A game with an invitation to each of its two sides.
pub struct Opened {
    /// Its id.
    pub game: String,
    /// Invitations, that of the side that moves first given first.
    pub invitations: [String; 2],
}

impl Host {
    /// Starts it and waits until it says where it serves.
    pub fn start() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let database = format!("sqlite:{}", folder.path().join("games.db").display());
        let mut server = program("fieldpost-server")
            .args(["serve", "--listen", "127.0.0.1:0", "--database", &database])
            .current_dir(folder.path())
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the server starts");
        let stderr = server.stderr.take().expect("piped");
        let (found, address) = mpsc::channel();
        std::thread::spawn(move || {
            for line in BufReader::new(stderr).lines().map_while(Result::ok) {
                if let Some(address) = address_in(&line) {
                    let _ = found.send(address);
                }
            }
        });
        let address = address
            .recv_timeout(PATIENCE)
            .expect("the server says where it serves");
        Self {
            server,
            folder,
            address: format!("http://{address}"),
        }
    }

    /// The organiser's key.
    pub fn organiser_key(&self) -> String {
        let file = self.folder.path().join("games.db.organiser-key");
        std::fs::read_to_string(file)
            .expect("made at the first start")
            .trim()
            .to_owned()
    }

    /// Opens a shipped battle.
    pub fn open(&self, shipped: &str) -> Opened {
        self.open_with(&json!({ "shipped": shipped }))
    }

    /// Opens a battle as it is asked for.
    pub fn open_with(&self, asked: &Value) -> Opened {
        let told = self.post("/v1/games", asked);
        let invitation = |at: usize| text(&told["invitations"][at]["invitation"]);
        Opened {
            game: text(&told["game"]["id"]),
            invitations: [invitation(0), invitation(1)],
        }
    }

    /// What the record of a game holds, by kinds of event.
    pub fn kinds(&self, game: &str) -> Vec<String> {
        let page = self.get(&format!("/v1/games/{game}/news"));
        let news = page["news"].as_array().expect("news").clone();
        news.iter().map(|item| text(&item["event"])).collect()
    }

    /// Asks as the organiser.
    pub fn get(&self, path: &str) -> Value {
        let mut answer = ureq::get(format!("{}{path}", self.address))
            .header("Authorization", format!("Bearer {}", self.organiser_key()))
            .call()
            .expect("an answer");
        answer.body_mut().read_json().expect("JSON")
    }

    fn post(&self, path: &str, body: &Value) -> Value {
        let mut answer = ureq::post(format!("{}{path}", self.address))
            .header("Authorization", format!("Bearer {}", self.organiser_key()))
            .send_json(body)
            .expect("an answer");
        answer.body_mut().read_json().expect("JSON")
    }
}

impl Drop for Host {
    fn drop(&mut self) {
        let _ = self.server.kill();
        let _ = self.server.wait();
    }
}

/// A text of an answer.
pub fn text(value: &Value) -> String {
    value.as_str().expect("a text").to_owned()
}

fn address_in(line: &str) -> Option<String> {
    if !line.contains("serving") {
        return None;
    }
    let after = &line[line.find("127.0.0.1:")?..];
    let end = after
        .find(|c: char| !(c.is_ascii_digit() || c == '.' || c == ':'))
        .unwrap_or(after.len());
    Some(after[..end].to_owned())
}
