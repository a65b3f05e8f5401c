//! The server ends as a power cut would end it, and another goes on where it was.

#[cfg(unix)]
use std::os::unix::net::UnixDatagram;
#[cfg(unix)]
use std::process::{Command, Stdio};
#[cfg(unix)]
use std::time::Duration;

use serde_json::json;

#[cfg(unix)]
use crate::host::server;
use crate::host::{Host, forward, sheet, short_battle};

#[test]
fn a_game_goes_on_through_kills_between_postings() {
    let mut host = Host::start();
    let battle = host.battle_of(short_battle());
    let organiser = host.organiser();
    for turn in 1..=2 {
        for (key, side) in [(&battle.red, "red"), (&battle.blue, "blue")] {
            let unit = format!("{side}-chief");
            let orders = json!([forward(&unit, 10.0)]);
            let posting = host.posting(&battle, key, &sheet(turn, side, orders));
            let answer = posting.clone().send();
            answer.expect(201);
            host.kill_and_start_again();
            assert_eq!(
                host.head(&battle.game, key),
                answer.json()["head"]["hash"].as_str().expect("a hash")
            );
            // The answer was not lost with the process: whoever did not hear it can ask again.
            let again = posting_at(&host, posting);
            assert_eq!((again.status, &again.text), (201, &answer.text));
        }
    }
    assert_eq!(host.organiser(), organiser, "made once");
    let card = host.get(&format!("/v1/games/{}", battle.game)).expect(200);
    assert!(card["ended"].is_object(), "{card:#}");
}

#[cfg(unix)]
#[test]
fn told_to_stop_it_lets_go_of_the_database_and_another_goes_on() {
    let mut host = Host::start();
    let battle = host.battle();
    let head = host.head(&battle.game, &battle.red);
    host.terminate();
    assert!(host.wait().success());
    host.kill_and_start_again();
    assert_eq!(host.head(&battle.game, &battle.red), head);
}

#[cfg(unix)]
#[test]
fn a_supervisor_hears_that_it_serves_and_that_it_stops() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("notify");
    let supervisor = UnixDatagram::bind(&path).expect("bound");
    supervisor
        .set_read_timeout(Some(Duration::from_secs(30)))
        .expect("a limit");
    let heard = || {
        let mut bytes = [0; 64];
        let length = supervisor.recv(&mut bytes).unwrap_or_default();
        String::from_utf8_lossy(&bytes[..length]).into_owned()
    };
    let mut child = server()
        .current_dir(folder.path())
        .args(["--listen", "127.0.0.1:0", "--database", "sqlite:games.db"])
        .env("NOTIFY_SOCKET", &path)
        .stderr(Stdio::null())
        .spawn()
        .expect("starts");
    let first = heard();
    let told = Command::new("kill")
        .args(["-TERM", &child.id().to_string()])
        .status()
        .expect("kill runs");
    assert!(told.success());
    let second = heard();
    assert!(child.wait().expect("waited for").success());
    assert_eq!([first, second], ["READY=1", "STOPPING=1"]);
}

/// The same request to where the server is now.
fn posting_at(host: &Host, posting: crate::host::Ask) -> crate::host::Answer {
    posting.at(&host.address).send()
}
