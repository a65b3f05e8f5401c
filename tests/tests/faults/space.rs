//! Disks without room, disks that may not be written, disks that lie.

#![cfg(target_os = "linux")]

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::Command;

use fieldpost_tests::programs::program;

use crate::books::{Fate, faults};
use crate::clients::{Game, get};
use crate::servers::{Place, Server};

fn skipped(why: &str) {
    let _ = writeln!(std::io::stderr(), "\nSKIPPED: {why}");
}

/// A small disk of its own, where this process may mount one.
struct SmallDisk {
    folder: PathBuf,
    _above: tempfile::TempDir,
}

impl SmallDisk {
    fn mount(size: &str) -> Option<Self> {
        let above = tempfile::tempdir().expect("a folder");
        let folder = above.path().join("disk");
        std::fs::create_dir(&folder).expect("made");
        let mounted = Command::new("mount")
            .args(["-t", "tmpfs", "-o", &format!("size={size}"), "none"])
            .arg(&folder)
            .output();
        if mounted.is_ok_and(|mounted| mounted.status.success()) {
            return Some(Self {
                folder,
                _above: above,
            });
        }
        skipped("a small disk cannot be mounted here; that needs root");
        None
    }

    fn place(&self) -> Place {
        Place::at(&self.folder.join("games.db"))
    }

    fn remount(&self, how: &str) {
        let done = Command::new("mount")
            .args(["-o", &format!("remount,{how}")])
            .arg(&self.folder)
            .status()
            .expect("mount runs");
        assert!(done.success());
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg("-l").arg(&self.folder).status();
    }
}

/// Posts until the disk is full, then until there is room again; what was answered holds.
fn fills_up(
    place: &Place,
    server: &mut Server,
    fill: impl FnOnce(),
    free: impl FnOnce(),
    is_told: fn(u16) -> bool,
) {
    let game = Game::open(&server.address, place);
    let mut fates = Vec::new();
    let mut count = 0_u16;
    let mut post = |server: &Server, fates: &mut Vec<_>| {
        count += 1;
        let mut number = [0; 32];
        number[..2].copy_from_slice(&count.to_be_bytes());
        assert!(game.look(&server.address), "reading goes on");
        let posting = game.next(number);
        let answer = posting.send(&server.address).expect("answered");
        if answer.status == 201 {
            let head = answer.json()["head"]["hash"]
                .as_str()
                .expect("a hash")
                .to_owned();
            fates.push((posting.clone(), Fate::Accepted(head)));
        }
        (posting, answer)
    };
    for _ in 0..3 {
        assert_eq!(post(server, &mut fates).1.status, 201);
    }
    fill();
    let (refused, answer) = loop {
        let (posting, answer) = post(server, &mut fates);
        if answer.status != 201 {
            break (posting, answer);
        }
        assert!(fates.len() < 5000, "the disk does not fill");
    };
    assert!(is_told(answer.status), "{} {}", answer.status, answer.text);
    // Again and again, and nothing breaks.
    for _ in 0..5 {
        assert!(is_told(
            refused.send(&server.address).expect("answered").status
        ));
    }
    let ready = |server: &Server| {
        let answer = get(&server.address, "/readyz", None);
        answer.expect("answered").status
    };
    assert!(is_told(ready(server)), "nothing can be written");
    free();
    let answer = refused.send(&server.address).expect("answered");
    assert_eq!(answer.status, 201, "{}", answer.text);
    let head = answer.json()["head"]["hash"]
        .as_str()
        .expect("a hash")
        .to_owned();
    fates.push((refused, Fate::Accepted(head)));
    assert_eq!(ready(server), 200);
    for _ in 0..3 {
        assert_eq!(post(server, &mut fates).1.status, 201);
    }
    server.kill();
    server.start_again();
    let records = [(game.id.clone(), game.record(&server.address))].into();
    assert_eq!(faults(&fates, &records), Vec::<String>::new());
}

#[test]
fn a_full_disk_is_told_and_play_goes_on_when_there_is_room() {
    let Some(disk) = SmallDisk::mount("6m") else {
        return;
    };
    let place = disk.place();
    let mut server = Server::start(&place, || program("fieldpost-server"));
    let ballast = disk.folder.join("ballast");
    let full = || {
        let mut file = std::fs::File::create(&ballast).expect("made");
        while file.write(&[1; 4096]).is_ok_and(|written| written > 0) {}
    };
    let free = || std::fs::remove_file(&ballast).expect("removed");
    fills_up(&place, &mut server, full, free, |status| status == 507);
}

/// Without root: a bound on the size of files.
#[test]
fn a_file_that_may_not_grow_is_told_and_play_goes_on_when_it_may() {
    let is_there = |name: &str| Command::new(name).arg("--version").output().is_ok();
    if !is_there("prlimit") {
        return skipped("there is no prlimit here");
    }
    let place = Place::file();
    let server = || {
        let server = program("fieldpost-server");
        let mut command = Command::new("sh");
        // A process whose file has grown too big is ended by a signal, unless it ignores that.
        command
            .args(["-c", "trap '' XFSZ; exec \"$0\" \"$@\""])
            .arg(server.get_program());
        command.envs(
            server
                .get_envs()
                .filter_map(|(name, value)| Some((name, value?))),
        );
        for (name, _) in server.get_envs().filter(|(_, value)| value.is_none()) {
            command.env_remove(name);
        }
        command
    };
    let mut server = Server::start(&place, server);
    let id = server.id();
    let log = place.folder.join("games.db-wal");
    let bound = |bytes: &str| {
        let done = Command::new("prlimit")
            .args([
                "--pid",
                &id.to_string(),
                &format!("--fsize={bytes}:unlimited"),
            ])
            .status()
            .expect("prlimit runs");
        assert!(done.success());
    };
    let full = || bound(&(std::fs::metadata(&log).expect("there").len() + 20_000).to_string());
    let free = || bound("unlimited");
    fills_up(&place, &mut server, full, free, |status| {
        matches!(status, 503 | 507)
    });
}

#[test]
fn a_disk_that_may_not_be_written_is_told_at_the_start() {
    let Some(disk) = SmallDisk::mount("6m") else {
        return;
    };
    let place = disk.place();
    let mut server = Server::start(&place, || program("fieldpost-server"));
    let game = Game::open(&server.address, &place);
    server.kill();
    disk.remount("ro");
    let output = program("fieldpost-server")
        .args(["serve", "--listen", "127.0.0.1:0", "--database", &place.url])
        .output()
        .expect("runs");
    assert_eq!(output.status.code(), Some(1));
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(said.contains("it is read-only"), "{said}");
    disk.remount("rw");
    server.start_again();
    assert!(game.look(&server.address));
    assert_eq!(
        game.next([1; 32])
            .send(&server.address)
            .expect("answered")
            .status,
        201
    );
}

/// As after a switch to a standby: every session is read-only for a while.
#[test]
fn a_postgres_that_may_not_be_written_is_told_and_play_goes_on() {
    let Some(place) = Place::postgres() else {
        return;
    };
    let server = Server::start(&place, || program("fieldpost-server"));
    let game = Game::open(&server.address, &place);
    let switch = |how: &str| {
        let database = place.url.rsplit('/').next().expect("a name");
        place.said(&format!("BEGIN READ WRITE; ALTER DATABASE {database} SET default_transaction_read_only = {how}; COMMIT"));
        place.said("SELECT count(pg_terminate_backend(pid))::text FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()");
    };
    switch("on");
    let posting = game.next([1; 32]);
    let answer = posting.send(&server.address).expect("answered");
    assert_eq!(answer.status, 503, "{}", answer.text);
    assert!(answer.text.contains("not-ready"), "{}", answer.text);
    assert!(game.look(&server.address), "reading goes on");
    switch("off");
    let answer = posting.send(&server.address).expect("answered");
    assert_eq!(answer.status, 201, "{}", answer.text);
}

/// `strace`, where it is there and may trace.
fn traced(
    place: &Path,
    arguments: &'static [&'static str],
) -> Option<impl Fn() -> Command + Send + use<>> {
    let trial = Command::new("strace")
        .args(["-o", "/dev/null", "true"])
        .output();
    if !trial.is_ok_and(|trial| trial.status.success()) {
        skipped("there is no strace here, or it may not trace");
        return None;
    }
    let trace = place.join("trace");
    Some(move || {
        let server = program("fieldpost-server");
        let mut command = Command::new("strace");
        command
            .args(["-D", "-f", "-ttt", "-s", "200", "-o"])
            .arg(&trace)
            .args(arguments)
            .arg(server.get_program());
        for (name, _) in server.get_envs() {
            command.env_remove(name);
        }
        command
    })
}

/// Killing a process shows nothing of what the system still holds in memory. This does: between a posting's
/// arrival and its answer, the log is flushed.
#[test]
#[ignore = "traces a server; by hand"]
fn between_a_posting_and_its_answer_the_log_is_flushed() {
    let place = Place::file();
    let Some(server) = traced(
        &place.folder,
        &[
            "-e",
            "trace=fsync,fdatasync,read,recvfrom,write,writev,sendto",
        ],
    ) else {
        return;
    };
    let server = Server::start(&place, server);
    let game = Game::open(&server.address, &place);
    for number in 1..=20 {
        assert!(game.look(&server.address));
        assert_eq!(
            game.next([number; 32])
                .send(&server.address)
                .expect("answered")
                .status,
            201
        );
    }
    let trace = std::fs::read(place.folder.join("trace")).expect("read");
    let trace = String::from_utf8_lossy(&trace);
    let (mut asked, mut flushed, mut answered) = (false, false, 0);
    for line in trace.lines() {
        if line.contains("POST /v1/games/") && line.contains("/sheets") {
            (asked, flushed) = (true, false);
        } else if line.contains("sync(") && line.contains("= 0") || line.contains("sync resumed") {
            flushed = true;
        } else if asked && line.contains("HTTP/1.1 201") {
            assert!(flushed, "an answer without a flush before it: {line}");
            answered += 1;
            asked = false;
        }
    }
    assert_eq!(answered, 20, "every posting is in the trace");
}

/// A flush that fails is not tried again as if nothing had been: the server ends and says why.
#[test]
#[ignore = "traces a server; by hand"]
fn a_flush_that_fails_ends_the_server() {
    let place = Place::file();
    let inject = &[
        "-e",
        "trace=fsync,fdatasync",
        "-e",
        "inject=fsync,fdatasync:error=EIO:when=60+",
    ];
    let Some(server) = traced(&place.folder, inject) else {
        return;
    };
    let mut server = Server::start(&place, server);
    let game = Game::open(&server.address, &place);
    let mut fates = Vec::new();
    let last = loop {
        assert!(fates.len() < 200, "no flush fails");
        if !game.look(&server.address) {
            break game.next([0xee; 32]);
        }
        let posting = game.next([fates.len() as u8 + 1; 32]);
        match posting.send(&server.address) {
            Ok(answer) if answer.status == 201 => {
                let head = answer.json()["head"]["hash"]
                    .as_str()
                    .expect("a hash")
                    .to_owned();
                fates.push((posting, Fate::Accepted(head)));
            }
            Ok(answer) => {
                assert_eq!(answer.status, 503, "{}", answer.text);
                break posting;
            }
            Err(_) => break posting,
        }
    };
    server.must_end(1);
    // Another disk, another day.
    let server = Server::start(&place, || program("fieldpost-server"));
    assert!(game.look(&server.address));
    let answer = last.send(&server.address).expect("answered");
    if answer.status == 201 {
        let head = answer.json()["head"]["hash"]
            .as_str()
            .expect("a hash")
            .to_owned();
        fates.push((last, Fate::Accepted(head)));
    }
    let records = [(game.id.clone(), game.record(&server.address))].into();
    assert_eq!(faults(&fates, &records), Vec::<String>::new());
}
