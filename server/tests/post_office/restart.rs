//! The server ends as a power cut would end it, and another goes on where it was.

use serde_json::json;

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

/// The same request to where the server is now.
fn posting_at(host: &Host, posting: crate::host::Ask) -> crate::host::Answer {
    posting.at(&host.address).send()
}
