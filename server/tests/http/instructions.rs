//! `/v1/games/{game}/instructions`: sealed, shown to their own side alone, opened at the end.

use serde_json::{Value, json};

use crate::host::{Battle, Host, sheet, short_battle, text};

fn give(host: &Host, battle: &Battle, key: &str, instructions: &Value) -> crate::host::Answer {
    host.ask("PUT", &battle.path("instructions"))
        .key(key)
        .json(instructions)
        .send()
}

fn show(host: &Host, battle: &Battle, key: &str) -> Value {
    host.ask("GET", &battle.path("instructions"))
        .key(key)
        .send()
        .expect(200)
}

#[test]
fn each_side_sees_its_own() {
    let host = Host::start();
    let battle = host.battle();
    let given = json!({"all": {"follow_up": true, "give_way": null}, "units": {"red-1": {"follow_up": false, "give_way": "left"}}});
    let own = give(&host, &battle, &battle.red, &given).expect(200);
    assert_eq!(own["instructions"], given);
    assert_eq!(show(&host, &battle, &battle.red), own);
    let blue = show(&host, &battle, &battle.blue);
    assert_eq!(blue["seal"], Value::Null);
    assert_eq!(
        blue["instructions"],
        json!({"all": {"follow_up": false, "give_way": null}, "units": {}})
    );
    host.get(&battle.path("instructions"))
        .problem(401, "no-key");
    let organiser = host
        .ask("GET", &battle.path("instructions"))
        .key(&host.organiser());
    organiser.send().problem(403, "not-allowed");
}

#[test]
fn the_record_holds_a_seal_and_the_same_again_changes_nothing() {
    let host = Host::start();
    let battle = host.battle();
    let given = json!({"all": {"follow_up": true}});
    let own = give(&host, &battle, &battle.red, &given).expect(200);
    let event = host
        .get(&battle.path(&format!("events/{}", own["head"]["number"])))
        .expect(200);
    assert_eq!(
        event["event"],
        json!({"event": "instructions-changed", "side": "red", "seal": own["seal"]})
    );
    assert_eq!(give(&host, &battle, &battle.red, &given).expect(200), own);
    // The same instructions sealed anew look different: nobody can tell that they are the same.
    give(&host, &battle, &battle.red, &json!({})).expect(200);
    assert_ne!(
        give(&host, &battle, &battle.red, &given).expect(200)["seal"],
        own["seal"]
    );
}

#[test]
fn only_own_units_can_be_instructed() {
    let host = Host::start();
    let battle = host.battle();
    for unit in ["blue-1", "nobody"] {
        let problem = give(
            &host,
            &battle,
            &battle.red,
            &json!({"units": {unit: {"follow_up": true}}}),
        )
        .problem(422, "bad-instructions");
        assert_eq!(problem["pointer"], format!("/units/{unit}"));
    }
    give(
        &host,
        &battle,
        &battle.red,
        &json!({"units": {"red-1": {"folow_up": true}}}),
    )
    .problem(400, "bad-json");
}

#[test]
fn they_are_opened_when_the_game_ends_and_match_their_seals() {
    let host = Host::start();
    let battle = host.battle_of(short_battle());
    let own = give(
        &host,
        &battle,
        &battle.blue,
        &json!({"all": {"give_way": "right"}}),
    )
    .expect(200);
    for turn in 1..=2 {
        for (key, side) in [(&battle.red, "red"), (&battle.blue, "blue")] {
            host.post(&battle, key, &sheet(turn, side, json!([])))
                .expect(201);
        }
    }
    let card = host.get(&format!("/v1/games/{}", battle.game)).expect(200);
    assert_eq!(card["to_move"], Value::Null);
    assert!(card["ended"]["why"].is_string(), "{card:#}");
    let last = host
        .get(&battle.path(&format!("events/{}", card["head"]["number"])))
        .expect(200);
    assert_eq!(last["event"]["event"], "game-ended");
    let opened = &last["event"]["opened"][0];
    assert_eq!(opened["instructions"]["all"]["give_way"], "right");
    let nonce: [u8; 32] = hex::decode(text(&opened["nonce"]))
        .expect("hex")
        .try_into()
        .expect("32 bytes");
    let instructions =
        serde_json::from_value(opened["instructions"].clone()).expect("instructions");
    let seal =
        fieldpost_rules::record::seal_of_instructions(&nonce, &instructions).expect("a seal");
    assert_eq!(json!(hex::encode(seal)), own["seal"]);
    give(&host, &battle, &battle.blue, &json!({})).problem(409, "game-over");
    let late = host
        .post(&battle, &battle.red, &sheet(3, "red", json!([])))
        .expect(422);
    assert_eq!(
        late["verdict"]["reasons"][0]["code"], "not-in-phase",
        "{late:#}"
    );
}

/// Adds a seat to red and takes it.
fn join(host: &Host, battle: &Battle, player: &str) -> String {
    let added = host
        .ask("POST", &battle.path("seats"))
        .key(&host.organiser())
        .json(&json!({"role": "player", "side": "red"}))
        .send()
        .expect(201);
    let taken = host
        .ask("POST", "/v1/seats")
        .json(&json!({"invitation": added["invitation"], "player": player}))
        .send()
        .expect(201);
    text(&taken["key"])
}

#[test]
fn who_comes_to_a_side_reads_what_is_sealed_from_then_on() {
    let host = Host::start();
    let battle = host.battle();
    let given = json!({"all": {"follow_up": true, "give_way": "left"}, "units": {}});
    let sealed = give(&host, &battle, &battle.red, &given).expect(200);
    // The organiser adds a seat to the side and takes it.
    let spy = join(&host, &battle, "Organiser");
    let seen = show(&host, &battle, &spy);
    assert_eq!(seen["instructions"], Value::Null);
    assert_eq!(seen["seal"], sealed["seal"]);
    // Whoever laid them down reads them on, and nothing else of the newcomer's tells what they are.
    assert_eq!(show(&host, &battle, &battle.red)["instructions"], given);
    let guessed = give(&host, &battle, &spy, &given).expect(200);
    assert_ne!(
        guessed["seal"], sealed["seal"],
        "a guess that is right looks like any other"
    );
    assert_ne!(guessed["head"], sealed["head"]);
    // A player of the side opens theirs to another by giving them again: not before, and once.
    let friend = join(&host, &battle, "Friend");
    assert_eq!(show(&host, &battle, &friend)["instructions"], Value::Null);
    let again = give(&host, &battle, &battle.red, &given).expect(200);
    assert_eq!(show(&host, &battle, &friend)["instructions"], given);
    assert_eq!(give(&host, &battle, &battle.red, &given).expect(200), again);
}

#[test]
fn a_member_with_another_key_reads_what_is_sealed_from_then_on() {
    let host = Host::start();
    let added = host
        .ask("POST", "/v1/members")
        .key(&host.organiser())
        .json(&json!({"name": "Rowan"}))
        .send()
        .expect(201);
    let opened = host.open(&json!({"shipped": "withy-bridge"}));
    let taken = host
        .ask("POST", "/v1/seats")
        .key(&text(&added["key"]))
        .json(&json!({"invitation": opened["invitations"][0]["invitation"], "player": "Rowan"}))
        .send()
        .expect(201);
    let battle = Battle {
        game: text(&opened["game"]["id"]),
        red: text(&taken["key"]),
        blue: String::new(),
    };
    let given = json!({"all": {"follow_up": true, "give_way": null}, "units": {}});
    give(&host, &battle, &battle.red, &given).expect(200);
    assert_eq!(
        show(&host, &battle, &text(&added["key"]))["instructions"],
        given
    );
    let path = format!("/v1/members/{}/key", text(&added["member"]["id"]));
    let rekeyed = host
        .ask("POST", &path)
        .key(&host.organiser())
        .send()
        .expect(201);
    // The organiser holds this key now, as well as who it is for.
    let seen = show(&host, &battle, &text(&rekeyed["key"]));
    assert_eq!(seen["instructions"], Value::Null);
}
