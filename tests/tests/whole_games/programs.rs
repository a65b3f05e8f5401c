//! The two programs, run as anybody would run them.

use std::fs;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc;
use std::time::Duration;

use fieldpost_tests::programs::program;
use tempfile::TempDir;

const PATIENCE: Duration = Duration::from_secs(60);

/// A server on a fresh database of its own.
pub struct Post {
    server: Child,
    address: String,
    folder: TempDir,
    flags: Vec<String>,
}

impl Post {
    pub fn start() -> Self {
        Self::start_with(&[])
    }

    /// The same with flags besides.
    pub fn start_with(flags: &[&str]) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let flags: Vec<String> = flags.iter().map(|&flag| flag.to_owned()).collect();
        let (server, address) = serve(folder.path(), "127.0.0.1:0", &flags);
        Self {
            server,
            address,
            folder,
            flags,
        }
    }

    /// Ends the process as a power cut would and starts another at the same place.
    pub fn kill_and_start_again(&mut self) {
        self.server.kill().expect("killed");
        self.server.wait().expect("waited for");
        let (server, address) = serve(self.folder.path(), &self.address, &self.flags);
        self.server = server;
        assert_eq!(address, self.address);
    }

    /// Opens a shipped battle and has both seats taken, the side that moves first given first.
    pub fn open_battle(&self, key: &str, sides: [&str; 2]) -> [Player; 2] {
        self.open_battle_with(key, &[], sides).1
    }

    pub fn url(&self) -> String {
        format!("http://{}", self.address)
    }

    /// Somebody who keeps the organiser's key.
    pub fn organiser(&self) -> Player {
        let url = self.url();
        let organiser = Player::new("organiser");
        let key_file = self.folder.path().join("games.db.organiser-key");
        let key_file = key_file.display().to_string();
        organiser.ok(&[
            "seats",
            "keep",
            "organiser",
            "--server",
            &url,
            "--key-file",
            &key_file,
        ]);
        organiser
    }

    /// A battle opened with flags of the organiser's, who is given first.
    pub fn open_battle_with(
        &self,
        key: &str,
        flags: &[&str],
        sides: [&str; 2],
    ) -> (Player, [Player; 2]) {
        let url = self.url();
        let organiser = self.organiser();
        let invitations = self.folder.path().join("invitations");
        let folder = invitations.display().to_string();
        let mut open = vec!["open", key, "--invitations-folder", &folder];
        open.extend(flags);
        organiser.ok(&open);
        let players = sides.map(|side| {
            let invitation = invitations
                .join(format!("{side}.txt"))
                .display()
                .to_string();
            let player = Player::new(side);
            player.ok(&[
                "join",
                "--player",
                side,
                "--server",
                &url,
                "--invitation-file",
                &invitation,
                "--name",
                side,
            ]);
            player
        });
        (organiser, players)
    }
}

impl Drop for Post {
    fn drop(&mut self) {
        let _ = self.server.kill();
        let _ = self.server.wait();
    }
}

/// Starts a server and waits until it says where it listens.
pub fn serve(folder: &Path, listen: &str, flags: &[String]) -> (Child, String) {
    let database = format!("sqlite:{}", folder.join("games.db").display());
    let mut server = program("fieldpost-server")
        .args(["serve", "--listen", listen, "--database", &database])
        .args(flags)
        .current_dir(folder)
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the server starts");
    let stderr = server.stderr.take().expect("piped");
    let (found, address) = mpsc::channel();
    // the pipe is read to its end, or a full one would stop the server
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
    (server, address)
}

/// The address in the line that says so: `… serving … address=127.0.0.1:7878 …`.
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

/// Somebody with a client and a place of their own for its files.
pub struct Player {
    name: String,
    folder: TempDir,
}

impl Player {
    pub fn new(name: &str) -> Self {
        Self {
            name: name.to_owned(),
            folder: tempfile::tempdir().expect("a folder"),
        }
    }

    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// Writes a file of theirs; where it is.
    pub fn write(&self, name: &str, text: &str) -> String {
        let path = self.folder.path().join(name);
        fs::write(&path, text).expect("written");
        path.display().to_string()
    }

    /// Runs a command; its exit code and all that it said.
    pub fn run(&self, arguments: &[&str]) -> (i32, String) {
        let output = self.command(arguments).output().expect("the client runs");
        let said = [output.stdout, output.stderr].concat();
        (
            output.status.code().unwrap_or(-1),
            String::from_utf8_lossy(&said).into_owned(),
        )
    }

    /// Runs a command that must succeed; what it answered.
    pub fn ok(&self, arguments: &[&str]) -> String {
        let output = self.command(arguments).output().expect("the client runs");
        let text = String::from_utf8_lossy(&output.stdout).into_owned();
        assert!(
            output.status.success(),
            "{} {arguments:?}: {text}{}",
            self.name,
            String::from_utf8_lossy(&output.stderr)
        );
        text
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = program("fieldpost");
        command
            .args(arguments)
            .env("FIELDPOST_CONFIG_DIR", self.folder.path().join("config"))
            .env("FIELDPOST_DATA_DIR", self.folder.path().join("data"))
            .env("NO_COLOR", "1")
            .current_dir(self.folder.path())
            .stdin(Stdio::null());
        command
    }
}
