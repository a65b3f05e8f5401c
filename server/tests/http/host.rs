//! A server process and a database of their own for each test, what it said, and callers to drive it.

use std::fs;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::sync::{Arc, Mutex, mpsc};
use std::time::{Duration, Instant};

use fieldpost_rules::shipped;
use fieldpost_tests::postgres;
use serde_json::{Value, json};
use tempfile::TempDir;
use ureq::http::{HeaderMap, Request};
use ureq::tls::{Certificate, RootCerts, TlsConfig};

const TIMEOUT: Duration = Duration::from_secs(90);
/// Whether this is the test program that keeps its games in PostgreSQL.
pub const ON_POSTGRES: bool = env!("CARGO_CRATE_NAME").as_bytes().len() > "http".len();

/// Everything that left a server, in the order it left: answers and log lines.
#[derive(Clone, Default)]
pub struct Transcript(Arc<Mutex<Vec<String>>>);

impl Transcript {
    fn add(&self, text: String) {
        self.0.lock().expect("no panic while held").push(text);
    }

    /// How many things have left so far.
    pub fn len(&self) -> usize {
        self.0.lock().expect("no panic while held").len()
    }

    /// The first value of a member in a line of the log, awaited.
    pub fn member(&self, name: &str) -> String {
        let began = Instant::now();
        loop {
            let told = self
                .0
                .lock()
                .expect("no panic while held")
                .iter()
                .find_map(|line| {
                    let line: Value = serde_json::from_str(line).unwrap_or_default();
                    line[name].as_str().map(str::to_owned)
                });
            if let Some(told) = told {
                return told;
            }
            assert!(began.elapsed() < TIMEOUT, "{name} is not told");
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    /// How many of the things that left hold a text.
    pub fn count(&self, text: &str) -> usize {
        let said = self.0.lock().expect("no panic while held");
        said.iter().filter(|said| said.contains(text)).count()
    }

    /// Whether any of the first so many things holds a text, whatever its case.
    pub fn holds(&self, text: &str, first: usize) -> bool {
        let text = text.to_ascii_lowercase();
        let said = self.0.lock().expect("no panic while held");
        said.iter()
            .take(first)
            .any(|said| said.to_ascii_lowercase().contains(&text))
    }
}

pub struct Host {
    child: Child,
    pub address: String,
    pub folder: TempDir,
    pub url: String,
    flags: Vec<String>,
    postgres: Option<postgres::Database>,
    /// The certificate that callers trust, where the server speaks TLS.
    trusted: Option<String>,
    pub answers: Transcript,
    pub log: Transcript,
}

/// Where a server is started, and the database it is started on.
pub struct Place {
    pub folder: TempDir,
    pub url: String,
    postgres: Option<postgres::Database>,
}

impl Place {
    /// A database of PostgreSQL, none where there is no PostgreSQL; or a file that is not there yet.
    pub fn fresh(on_postgres: bool) -> Option<Self> {
        let folder = tempfile::tempdir().expect("a folder");
        let postgres = match on_postgres {
            true => Some(postgres::Database::fresh()?),
            false => None,
        };
        let url = postgres
            .as_ref()
            .map_or_else(|| "sqlite:games.db".to_owned(), postgres::Database::url);
        Some(Self {
            folder,
            url,
            postgres,
        })
    }

    /// Its URL from anywhere.
    pub fn url_from_anywhere(&self) -> String {
        from_anywhere(&self.url, self.folder.path())
    }
}

/// A database's URL with its file's whole path.
pub fn from_anywhere(url: &str, folder: &Path) -> String {
    url.replace("sqlite:", &format!("sqlite:{}/", folder.display()))
}

pub fn server() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fieldpost-server"));
    for (name, _) in std::env::vars().filter(|(name, _)| name.starts_with("FIELDPOST_")) {
        command.env_remove(name);
    }
    command
}

impl Host {
    pub fn start() -> Self {
        Self::start_with(&[])
    }

    pub fn start_with(flags: &[&str]) -> Self {
        Self::start_trusting(None, flags)
    }

    /// One that speaks TLS, with callers that trust a certificate.
    pub fn start_trusting(trusted: Option<String>, flags: &[&str]) -> Self {
        match Place::fresh(ON_POSTGRES) {
            Some(place) => Self::start_in(place, trusted, flags),
            // It has been said. Every test here would end like this one.
            None => std::process::exit(0),
        }
    }

    /// On what is at a place already.
    pub fn start_in(place: Place, trusted: Option<String>, flags: &[&str]) -> Self {
        let Place {
            folder,
            url,
            postgres,
        } = place;
        let flags: Vec<String> = ["--database", url.as_str()]
            .iter()
            .chain(flags)
            .map(|&flag| flag.to_owned())
            .collect();
        let (answers, log) = (Transcript::default(), Transcript::default());
        let (child, address) = begin(&folder, &flags, &log);
        let host = Self {
            child,
            address,
            folder,
            url,
            flags,
            postgres,
            trusted,
            answers,
            log,
        };
        host.await_readiness();
        host
    }

    /// Runs another command of the program on the same database; its exit code and what it said.
    pub fn run(&self, arguments: &[&str]) -> (i32, String) {
        run_on(self.folder.path(), &self.url, arguments)
    }

    /// Ends the process as a power cut would.
    pub fn kill(&mut self) {
        self.child.kill().expect("killed");
        self.child.wait().expect("waited for");
    }

    /// Ends the process as a power cut would and starts another on the same database.
    pub fn kill_and_start_again(&mut self) {
        self.kill();
        let (child, address) = begin(&self.folder, &self.flags, &self.log);
        self.child = child;
        self.address = address;
        self.await_readiness();
    }

    /// Tells the process to stop, politely.
    #[cfg(unix)]
    pub fn terminate(&mut self) {
        self.signal("-TERM");
    }

    #[cfg(unix)]
    pub fn signal(&self, which: &str) {
        let id = self.child.id().to_string();
        let told = Command::new("kill")
            .args([which, &id])
            .status()
            .expect("kill runs");
        assert!(told.success());
    }

    /// The process's id.
    pub fn id(&self) -> u32 {
        self.child.id()
    }

    pub fn wait(&mut self) -> ExitStatus {
        let began = Instant::now();
        loop {
            if let Some(status) = self.child.try_wait().expect("asked") {
                return status;
            }
            assert!(began.elapsed() < TIMEOUT, "the server does not end");
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    /// Whatever is kept by now, by name: all files but the organiser's key, all rows.
    pub fn kept(&self) -> Vec<(String, Vec<u8>)> {
        let rows = self.postgres.iter().map(|database| {
            let rows = database.rows_as_text().into_bytes();
            (database.to_string(), rows)
        });
        let files = fs::read_dir(self.folder.path()).expect("a folder");
        let files = files.map(|file| {
            let path = file.expect("a file").path();
            (path.display().to_string(), fs::read(&path).expect("read"))
        });
        rows.chain(files)
            .filter(|(name, _)| !name.ends_with(".organiser-key"))
            .collect()
    }

    pub fn organiser(&self) -> String {
        let name = if ON_POSTGRES { "fieldpost" } else { "games.db" };
        let path = self.folder.path().join(format!("{name}.organiser-key"));
        fs::read_to_string(path)
            .expect("the organiser's key")
            .trim()
            .to_owned()
    }

    pub fn ask(&self, method: &str, path: &str) -> Ask {
        Ask {
            method: method.to_owned(),
            url: match self.trusted {
                None => format!("http://{}{path}", self.address),
                Some(_) => format!("https://{}{path}", self.address),
            },
            headers: Vec::new(),
            body: None,
            trusted: self.trusted.clone(),
            answers: self.answers.clone(),
        }
    }

    pub fn get(&self, path: &str) -> Answer {
        self.ask("GET", path).send()
    }

    /// Opens a battle and takes both of its seats.
    pub fn battle(&self) -> Battle {
        self.battle_of(json!({"shipped": "withy-bridge"}))
    }

    /// Opens a game whose seats are not taken yet; the answer.
    pub fn open(&self, opening: &Value) -> Value {
        let ask = self.ask("POST", "/v1/games").key(&self.organiser());
        ask.json(opening).send().expect(201)
    }

    pub fn battle_of(&self, opening: Value) -> Battle {
        let opened = self.open(&opening);
        let game = text(&opened["game"]["id"]);
        let invitation = |side: usize| text(&opened["invitations"][side]["invitation"]);
        let key = |side: usize, player: &str| {
            let requested = json!({"invitation": invitation(side), "player": player});
            text(
                &self
                    .ask("POST", "/v1/seats")
                    .json(&requested)
                    .send()
                    .expect(201)["key"],
            )
        };
        let (red, blue) = (key(0, "Ash"), key(1, "Birch"));
        Battle { game, red, blue }
    }

    pub fn head(&self, game: &str, key: &str) -> String {
        let card = self
            .ask("GET", &format!("/v1/games/{game}"))
            .key(key)
            .send()
            .expect(200);
        text(&card["head"]["hash"])
    }

    /// Posts a sheet for the head as it is now.
    pub fn post(&self, battle: &Battle, key: &str, sheet: &Value) -> Answer {
        self.posting(battle, key, sheet).send()
    }

    pub fn posting(&self, battle: &Battle, key: &str, sheet: &Value) -> Ask {
        let head = self.head(&battle.game, key);
        self.ask("POST", &format!("/v1/games/{}/sheets", battle.game))
            .key(key)
            .header("if-match", &format!("\"{head}\""))
            .header("idempotency-key", &format!("{head}-{key:.16}"))
            .json(&json!({"sheet": sheet, "number": "5a".repeat(32)}))
    }

    fn await_readiness(&self) {
        let began = Instant::now();
        while self.get("/readyz").status != 200 {
            assert!(began.elapsed() < TIMEOUT, "the server does not get ready");
            std::thread::sleep(Duration::from_millis(20));
        }
    }
}

/// Runs a command of the program on a database; its exit code and what it said.
pub fn run_on(folder: &Path, url: &str, arguments: &[&str]) -> (i32, String) {
    let output = server()
        .current_dir(folder)
        .args(["--log", "warn", "--database", url])
        .args(arguments)
        .output()
        .expect("runs");
    let said = [output.stdout, output.stderr].concat();
    (
        output.status.code().unwrap_or(-1),
        String::from_utf8_lossy(&said).into_owned(),
    )
}

impl Drop for Host {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Starts a process and reads its address from its log.
fn begin(folder: &TempDir, flags: &[String], log: &Transcript) -> (Child, String) {
    let mut child = server()
        .current_dir(folder.path())
        .args([
            "--listen",
            "127.0.0.1:0",
            "--log-form",
            "json",
            "--log",
            "debug",
        ])
        .args(flags)
        .stderr(Stdio::piped())
        .spawn()
        .expect("the server starts");
    let lines = BufReader::new(child.stderr.take().expect("piped")).lines();
    let (found, address) = mpsc::channel();
    let log = log.clone();
    std::thread::spawn(move || {
        for line in lines.map_while(Result::ok) {
            let told: Value = serde_json::from_str(&line).unwrap_or_default();
            if let Some(address) = told["address"].as_str() {
                let _ = found.send(address.to_owned());
            }
            log.add(line);
        }
    });
    let address = address
        .recv_timeout(TIMEOUT)
        .expect("the server tells its address");
    (child, address)
}

/// A game with both seats taken.
pub struct Battle {
    pub game: String,
    pub red: String,
    pub blue: String,
}

impl Battle {
    pub fn path(&self, rest: &str) -> String {
        format!("/v1/games/{}/{rest}", self.game)
    }
}

/// A request in the making.
#[derive(Clone)]
pub struct Ask {
    method: String,
    url: String,
    headers: Vec<(String, String)>,
    body: Option<Vec<u8>>,
    trusted: Option<String>,
    answers: Transcript,
}

impl Ask {
    pub fn header(mut self, name: &str, value: &str) -> Self {
        self.headers.retain(|(given, _)| given != name);
        self.headers.push((name.to_owned(), value.to_owned()));
        self
    }

    pub fn without(mut self, name: &str) -> Self {
        self.headers.retain(|(given, _)| given != name);
        self
    }

    pub fn key(self, key: &str) -> Self {
        self.header("authorization", &format!("Bearer {key}"))
    }

    pub fn json(self, body: &Value) -> Self {
        self.body("application/json", body.to_string().into_bytes())
    }

    pub fn body(mut self, media_type: &str, body: Vec<u8>) -> Self {
        self.body = Some(body);
        self.header("content-type", media_type)
    }

    /// The same request to another address.
    pub fn at(mut self, address: &str) -> Self {
        let path = self
            .url
            .splitn(4, '/')
            .nth(3)
            .unwrap_or_default()
            .to_owned();
        self.url = format!("http://{address}/{path}");
        self
    }

    /// Trusting another certificate.
    pub fn trusting(mut self, certificate: &str) -> Self {
        self.trusted = Some(certificate.to_owned());
        self
    }

    pub fn send(self) -> Answer {
        self.try_send().expect("an answer")
    }

    /// The answer's head, with its body still to be read.
    pub fn open(self) -> ureq::http::Response<ureq::Body> {
        self.begin().expect("an answer")
    }

    fn begin(self) -> Result<ureq::http::Response<ureq::Body>, ureq::Error> {
        let mut config = ureq::Agent::config_builder()
            .http_status_as_error(false)
            .allow_non_standard_methods(true)
            .timeout_global(Some(TIMEOUT));
        if let Some(pem) = &self.trusted {
            let certificate = Certificate::from_pem(pem.as_bytes()).expect("a certificate");
            let roots = RootCerts::new_with_certs(&[certificate]);
            config = config.tls_config(TlsConfig::builder().root_certs(roots).build());
        }
        let agent = config.build().new_agent();
        let mut request = Request::builder()
            .method(self.method.as_str())
            .uri(&self.url);
        for (name, value) in &self.headers {
            request = request.header(name, value);
        }
        match self.body {
            Some(body) => agent.run(request.body(body).expect("a request")),
            None => agent.run(request.body(()).expect("a request")),
        }
    }

    pub fn try_send(self) -> Result<Answer, ureq::Error> {
        let answers = self.answers.clone();
        let mut answered = self.begin()?;
        let text = answered.body_mut().read_to_string()?;
        let answer = Answer {
            status: answered.status().as_u16(),
            headers: answered.headers().clone(),
            text,
        };
        answers.add(format!("{:?}\n{}", answer.headers, answer.text));
        Ok(answer)
    }
}

#[derive(Debug)]
pub struct Answer {
    pub status: u16,
    pub headers: HeaderMap,
    pub text: String,
}

impl Answer {
    pub fn header(&self, name: &str) -> &str {
        self.headers
            .get(name)
            .and_then(|value| value.to_str().ok())
            .unwrap_or_default()
    }

    pub fn json(&self) -> Value {
        serde_json::from_str(&self.text).unwrap_or_else(|error| panic!("{error}: {self:?}"))
    }

    /// The body, if the status is that.
    #[track_caller]
    pub fn expect(&self, status: u16) -> Value {
        assert_eq!(self.status, status, "{self:?}");
        self.json()
    }

    /// The problem document, if it is that one.
    #[track_caller]
    pub fn problem(&self, status: u16, name: &str) -> Value {
        assert_eq!(
            self.header("content-type"),
            "application/problem+json",
            "{self:?}"
        );
        let problem = self.expect(status);
        assert_eq!(problem["type"], format!("/problems/{name}"), "{self:?}");
        assert_eq!(problem["status"], status, "{self:?}");
        assert!(
            problem["detail"]
                .as_str()
                .is_some_and(|detail| !detail.is_empty()),
            "{self:?}"
        );
        problem
    }
}

pub fn text(value: &Value) -> String {
    value
        .as_str()
        .unwrap_or_else(|| panic!("no text: {value}"))
        .to_owned()
}

/// A sheet for a side.
pub fn sheet(game_turn: u32, side: &str, orders: Value) -> Value {
    json!({"game_turn": game_turn, "side": side, "orders": orders})
}

pub fn forward(unit: &str, distance_mm: f64) -> Value {
    json!({"order": "move", "unit": unit, "legs": [{"leg": "forward", "distance_mm": distance_mm}]})
}

/// The small battle with fewer game turns and nobody arriving: it ends soon when nobody moves.
pub fn short_battle() -> Value {
    let battle = shipped::find("withy-bridge").expect("shipped");
    let scenario = battle
        .scenario
        .text
        .replace("game_turns = 6", "game_turns = 2");
    json!({"files": {
        "ruleset": {"name": "rules.toml", "text": battle.ruleset.text},
        "scenario": {"name": "battle.toml", "text": scenario},
    }})
}
