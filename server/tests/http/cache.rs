//! What the server keeps at hand is never older than what it has answered, and nobody is shown another's.

use serde_json::{Value, json};

use crate::host::{Battle, Host, forward, sheet, text};

/// The table as somebody sees it, asked for twice: the second time it is at hand.
fn table(host: &Host, battle: &Battle, key: Option<&str>) -> Value {
    let mut requested = host.ask("GET", &battle.path("table"));
    if let Some(key) = key {
        requested = requested.key(key);
    }
    let first = requested.clone().send();
    let again = requested.send();
    assert_eq!(first.header("etag"), again.header("etag"));
    assert_eq!(first.header("content-type"), "application/json");
    assert_eq!(first.text, again.text);
    assert_eq!(
        first.header("etag"),
        format!("\"{}\"", text(&first.json()["head"]["hash"]))
    );
    again.expect(200)
}

fn played(host: &Host, battle: &Battle) {
    for (side, key, unit) in [
        ("red", &battle.red, "red-1"),
        ("blue", &battle.blue, "blue-1"),
    ] {
        let posted = host.post(battle, key, &sheet(1, side, json!([forward(unit, 40.0)])));
        posted.expect(201);
    }
}

#[test]
fn each_sees_their_own_table_and_the_new_one_at_once() {
    let host = Host::start();
    let battle = host.battle();
    for turn in 1..=3 {
        for (side, key) in [("red", &battle.red), ("blue", &battle.blue)] {
            let own = |key: &str| table(&host, &battle, Some(key))["own"].clone();
            for _ in 0..2 {
                assert_eq!(
                    own(&battle.red),
                    json!({"side": "red", "your_turn": side == "red"})
                );
                assert_eq!(
                    own(&battle.blue),
                    json!({"side": "blue", "your_turn": side == "blue"})
                );
                assert_eq!(table(&host, &battle, None).get("own"), None);
                assert_eq!(own(&host.organiser()), Value::Null);
            }
            let posted = host.post(&battle, key, &sheet(turn, side, json!([])));
            let head = posted.expect(201)["head"].clone();
            for key in [Some(&*battle.red), Some(&*battle.blue), None] {
                assert_eq!(table(&host, &battle, key)["head"], head);
            }
        }
    }
}

#[test]
fn a_revoked_key_sees_nothing_of_what_is_at_hand() {
    let host = Host::start();
    let battle = host.battle();
    host.ask("PATCH", &format!("/v1/games/{}", battle.game))
        .key(&host.organiser())
        .json(&json!({"open_to_all": false}))
        .send()
        .expect(200);
    table(&host, &battle, Some(&battle.red));
    let posting = host.posting(&battle, &battle.red, &sheet(1, "red", json!([])));
    let revoked = host.ask("DELETE", "/v1/key").key(&battle.red).send();
    assert_eq!(revoked.status, 200);
    let requested = host.ask("GET", &battle.path("table"));
    requested
        .clone()
        .key(&battle.red)
        .send()
        .problem(401, "wrong-key");
    posting.send().problem(401, "wrong-key");
    requested.send().problem(404, "no-such-game");
    table(&host, &battle, Some(&battle.blue));
}

#[test]
fn a_game_closed_to_spectators_is_closed_at_once() {
    let host = Host::start();
    let battle = host.battle();
    table(&host, &battle, None);
    for open in [false, true, false] {
        host.ask("PATCH", &format!("/v1/games/{}", battle.game))
            .key(&host.organiser())
            .json(&json!({"open_to_all": open}))
            .send()
            .expect(200);
        let answer = host.get(&battle.path("table"));
        assert_eq!(answer.status, if open { 200 } else { 404 });
    }
}

/// The record tells that it is free, and the names on the table go.
#[test]
fn a_freed_seat_is_free_on_every_table_at_once() {
    let host = Host::start();
    let battle = host.battle();
    let before = table(&host, &battle, Some(&battle.blue));
    assert_eq!(before["sides"][0]["player"], "Ash");
    let seats = host
        .ask("GET", &battle.path("seats"))
        .key(&host.organiser())
        .send()
        .expect(200);
    let seat = text(&seats["seats"][0]["seat"]);
    host.ask("DELETE", &battle.path(&format!("seats/{seat}/player")))
        .key(&host.organiser())
        .send()
        .expect(200);
    for key in [Some(&*battle.blue), None, Some(&*host.organiser())] {
        let after = table(&host, &battle, key);
        assert_eq!(after["head"]["number"], 4);
        assert_eq!(after["sides"][0]["player"], Value::Null);
        assert_eq!(after["sides"][1]["player"], "Birch");
    }
    host.ask("GET", &battle.path("table"))
        .key(&battle.red)
        .send()
        .problem(401, "wrong-key");
}

#[test]
fn spectators_who_must_wait_see_no_table_that_is_at_hand_for_the_players() {
    let host = Host::start();
    let battle = host.battle_of(json!({"shipped": "withy-bridge", "spectator_delay_minutes": 60}));
    let opened = table(&host, &battle, None);
    played(&host, &battle);
    let players = table(&host, &battle, Some(&battle.red));
    assert_eq!(players["player_turn"], 3);
    assert_eq!(table(&host, &battle, None), opened);
    let umpire = table(&host, &battle, Some(&host.organiser()));
    assert_eq!(umpire["head"], players["head"]);
    assert_eq!(table(&host, &battle, None), opened, "still");
}

/// What is kept of a game after an append is what its record makes of it.
#[test]
fn a_server_that_has_just_started_shows_the_same() {
    let mut host = Host::start();
    let battle = host.battle();
    played(&host, &battle);
    let shown = |host: &Host| {
        (
            table(host, &battle, Some(&battle.red)),
            table(host, &battle, None),
            host.get(&battle.path("news")).expect(200),
            host.get(&battle.path("news?after=4")).expect(200),
        )
    };
    let before = shown(&host);
    host.kill_and_start_again();
    assert_eq!(shown(&host), before);
}
