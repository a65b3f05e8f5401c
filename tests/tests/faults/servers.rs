//! Server processes that can be killed and started again where they were.

use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc;
use std::time::{Duration, Instant};

use fieldpost_tests::postgres;
use tempfile::TempDir;

use crate::clients::get;

pub const PATIENCE: Duration = Duration::from_secs(120);

/// Where games are kept; gone with this.
pub struct Place {
    pub folder: PathBuf,
    pub url: String,
    database: Option<postgres::Database>,
    _temporary: Option<TempDir>,
}

impl Place {
    pub fn file() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        Self {
            url: url_of(&folder.path().join("games.db")),
            folder: folder.path().to_owned(),
            _temporary: Some(folder),
            database: None,
        }
    }

    /// A file in a folder that is somebody else's to remove.
    pub fn at(file: &Path) -> Self {
        Self {
            folder: file.parent().expect("a folder").to_owned(),
            url: url_of(file),
            _temporary: None,
            database: None,
        }
    }

    /// None where there is no PostgreSQL; that has been told then.
    pub fn postgres() -> Option<Self> {
        let database = postgres::Database::fresh()?;
        let folder = tempfile::tempdir().expect("a folder");
        Some(Self {
            folder: folder.path().to_owned(),
            url: database.url(),
            _temporary: Some(folder),
            database: Some(database),
        })
    }

    /// Runs a statement in the database of PostgreSQL.
    pub fn said(&self, sql: &str) {
        self.database.as_ref().expect("one").say(sql);
    }

    pub fn organiser(&self) -> String {
        let files = std::fs::read_dir(&self.folder).expect("a folder");
        let file = files
            .map(|file| file.expect("a file").path())
            .find(|path| path.to_string_lossy().ends_with(".organiser-key"));
        let key = std::fs::read_to_string(file.expect("the organiser's key")).expect("read");
        key.trim().to_owned()
    }
}

/// A server process.
pub struct Server {
    /// Makes the command that starts it.
    command: Box<dyn Fn() -> Command + Send>,
    child: Child,
    pub address: String,
}

impl Server {
    pub fn start(place: &Place, program: impl Fn() -> Command + Send + 'static) -> Self {
        let (url, folder) = (place.url.clone(), place.folder.clone());
        let command = Box::new(move || {
            let mut command = program();
            command
                .args([
                    "serve",
                    "--log",
                    "info",
                    "--log-form",
                    "json",
                    "--database",
                    &url,
                ])
                // Clients here are in a hurry, and all at one address.
                .args(["--address-connections", "0", "--address-requests", "0"])
                .args(["--key-requests", "0", "--guesses", "0"])
                .current_dir(&folder);
            command
        });
        let (child, address) = begin(command(), "127.0.0.1:0");
        let server = Self {
            command,
            child,
            address,
        };
        server.await_readiness();
        server
    }

    /// Ends it as a power cut would.
    pub fn kill(&mut self) {
        self.child.kill().expect("killed");
        self.child.wait().expect("waited for");
    }

    /// Starts it again at the same address.
    pub fn start_again(&mut self) {
        let (child, address) = begin((self.command)(), &self.address);
        assert_eq!(address, self.address);
        self.child = child;
        self.await_readiness();
    }

    pub fn id(&self) -> u32 {
        self.child.id()
    }

    /// Waits for it to end by itself, with that code.
    pub fn must_end(&mut self, code: i32) {
        let began = Instant::now();
        loop {
            if let Some(status) = self.child.try_wait().expect("asked") {
                assert_eq!(status.code(), Some(code));
                return;
            }
            assert!(began.elapsed() < PATIENCE, "the server does not end");
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    fn await_readiness(&self) {
        let began = Instant::now();
        while !get(&self.address, "/readyz", None).is_ok_and(|answer| answer.status == 200) {
            assert!(began.elapsed() < PATIENCE, "the server does not get ready");
            std::thread::sleep(Duration::from_millis(10));
        }
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn url_of(file: &Path) -> String {
    format!("sqlite:{}", file.display())
}

/// Starts a process and reads its address from its log.
fn begin(mut command: Command, listen: &str) -> (Child, String) {
    let mut child = command
        .args(["--listen", listen])
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the server starts");
    let lines = BufReader::new(child.stderr.take().expect("piped")).lines();
    let (found, address) = mpsc::channel();
    std::thread::spawn(move || {
        let mut said = String::new();
        for line in lines.map_while(Result::ok) {
            let told: serde_json::Value = serde_json::from_str(&line).unwrap_or_default();
            if let Some(address) = told["address"].as_str() {
                let _ = found.send(Ok(address.to_owned()));
            }
            said.push_str(&line);
            said.push('\n');
        }
        // Told only if no address was.
        let _ = found.send(Err(said));
    });
    let address = address.recv_timeout(PATIENCE).expect("it says something");
    (
        child,
        address.unwrap_or_else(|said| panic!("the server does not start:\n{said}")),
    )
}
