//! `/v1/members`, `/v1/key`, and seats for several players, umpires and spectators.

use serde_json::{Value, json};

use crate::host::{Answer, Battle, Host, sheet, text};

/// A member: their id and their key.
fn member(host: &Host, name: &str, role: &str) -> (String, String) {
    let added = host
        .ask("POST", "/v1/members")
        .key(&host.organiser())
        .json(&json!({"name": name, "role": role}))
        .send()
        .expect(201);
    (text(&added["member"]["id"]), text(&added["key"]))
}

fn whose(host: &Host, key: &str) -> Answer {
    host.ask("GET", "/v1/seat").key(key).send()
}

fn renew(host: &Host, key: &str, once: &str) -> Answer {
    host.ask("POST", "/v1/key")
        .key(key)
        .header("idempotency-key", once)
        .send()
}

#[test]
fn a_member_plays_all_their_games_with_one_key() {
    let host = Host::start();
    let (id, key) = member(&host, " Rowan ", "member");
    assert_eq!(
        whose(&host, &key).expect(200),
        json!({"role": "member", "member": id, "player": "Rowan"})
    );
    let open = |closed: bool| {
        host.ask("POST", "/v1/games")
            .key(&host.organiser())
            .json(&json!({"shipped": "withy-bridge", "open_to_all": !closed}))
            .send()
            .expect(201)
    };
    let (first, second, other) = (open(true), open(true), open(true));
    for opened in [&first, &second] {
        let taken = host
            .ask("POST", "/v1/seats")
            .key(&key)
            .json(&json!({"invitation": opened["invitations"][0]["invitation"], "player": "Rowan"}))
            .send()
            .expect(201);
        let battle = Battle {
            game: text(&opened["game"]["id"]),
            red: key.clone(),
            blue: String::new(),
        };
        // With the member's key and with the seat's.
        let table = host.ask("GET", &battle.path("table"));
        for key in [&key, &text(&taken["key"])] {
            let own = table.clone().key(key).send().expect(200);
            assert_eq!(own["own"], json!({"side": "red", "your_turn": true}));
        }
        host.post(&battle, &key, &sheet(1, "red", json!([])))
            .expect(201);
    }
    let elsewhere = format!("/v1/games/{}", text(&other["game"]["id"]));
    host.ask("GET", &elsewhere)
        .key(&key)
        .send()
        .problem(404, "no-such-game");
    let listed = host.ask("GET", "/v1/games").key(&key).send().expect(200);
    assert_eq!(listed["games"].as_array().map(Vec::len), Some(2));
    assert_eq!(host.get("/v1/games").expect(200)["games"], json!([]));
}

#[test]
fn only_organisers_see_and_change_members() {
    let host = Host::start();
    let (id, key) = member(&host, "Rowan", "member");
    let path = format!("/v1/members/{id}");
    let asks = [
        host.ask("GET", "/v1/members"),
        host.ask("POST", "/v1/members")
            .json(&json!({"name": "Hazel"})),
        host.ask("PATCH", &path).json(&json!({"role": "organiser"})),
        host.ask("POST", &format!("{path}/key")),
        host.ask("DELETE", &path),
    ];
    for ask in &asks {
        ask.clone().send().problem(401, "no-key");
        ask.clone().key(&key).send().problem(403, "not-allowed");
    }
    host.ask("PATCH", &path)
        .key(&host.organiser())
        .json(&json!({"role": "organiser", "name": "Rowan the Elder"}))
        .send()
        .expect(200);
    // Now they may do all of it, also open games.
    let listed = asks[0].clone().key(&key).send().expect(200);
    assert_eq!(listed["members"][0]["name"], "Rowan the Elder");
    assert_eq!(whose(&host, &key).expect(200)["role"], "organiser");
    host.ask("POST", "/v1/games")
        .key(&key)
        .json(&json!({"shipped": "withy-bridge"}))
        .send()
        .expect(201);
    let problem = asks[1]
        .clone()
        .json(&json!({"name": "a\u{202e}b"}))
        .key(&key)
        .send()
        .problem(422, "bad-name");
    assert_eq!(problem["pointer"], "/name");
    host.ask("DELETE", "/v1/members/0000000000000000")
        .key(&key)
        .send()
        .problem(404, "no-such-member");
}

#[test]
fn a_renewed_key_takes_the_place_of_the_old() {
    let host = Host::start();
    let battle = host.battle();
    let (_, members) = member(&host, "Rowan", "member");
    for old in [&battle.red, &members, &host.organiser()] {
        let before = whose(&host, old).expect(200);
        host.ask("POST", "/v1/key")
            .key(old)
            .send()
            .problem(400, "no-idempotency-key");
        let fresh = renew(&host, old, "one");
        let fresh_key = text(&fresh.expect(201)["key"]);
        assert_ne!(fresh_key, *old);
        assert_eq!(whose(&host, &fresh_key).expect(200), before);
        whose(&host, old).problem(401, "wrong-key");
        // Whoever did not hear the answer asks again, and nobody else gets it.
        let again = renew(&host, old, "one");
        assert_eq!(again.header("idempotency-replayed"), "true");
        assert_eq!(again.expect(201), fresh.json());
        renew(&host, old, "two").problem(401, "wrong-key");
        // Once it is itself renewed it is not given out any more.
        renew(&host, &fresh_key, "three").expect(201);
        renew(&host, old, "one").problem(401, "wrong-key");
        whose(&host, &fresh_key).problem(401, "wrong-key");
    }
    host.ask("POST", "/v1/key")
        .header("idempotency-key", "x")
        .send()
        .problem(401, "no-key");
}

#[test]
fn a_key_renewed_twice_at_once_gives_one_fresh_key() {
    let host = Host::start();
    let battle = host.battle();
    let answers: Vec<Answer> = std::thread::scope(|scope| {
        let renewing: Vec<_> = ["one", "one", "two", "three"]
            .map(|once| scope.spawn(|| renew(&host, &battle.red, once)))
            .into_iter()
            .collect();
        renewing
            .into_iter()
            .map(|renewing| renewing.join().expect("no panic"))
            .collect()
    });
    let good: Vec<Value> = answers
        .iter()
        .filter(|answer| answer.status == 201)
        .map(Answer::json)
        .collect();
    assert!(
        !good.is_empty() && good.iter().all(|key| *key == good[0]),
        "{answers:?}"
    );
}

#[test]
fn somebody_can_always_organise() {
    let host = Host::start();
    let revoke = |key: &str| host.ask("DELETE", "/v1/key").key(key).send();
    revoke(&host.organiser()).problem(409, "last-organiser");
    let (id, key) = member(&host, "Rowan", "organiser");
    assert_eq!(revoke(&host.organiser()).status, 200);
    whose(&host, &host.organiser()).problem(401, "wrong-key");
    let path = format!("/v1/members/{id}");
    let by_rowan = |method: &str| host.ask(method, &path).key(&key);
    by_rowan("DELETE").send().problem(409, "last-organiser");
    by_rowan("PATCH")
        .json(&json!({"role": "member"}))
        .send()
        .problem(409, "last-organiser");
    revoke(&key).problem(409, "last-organiser");
    by_rowan("GET").send().problem(405, "method-not-allowed");
    whose(&host, &key).expect(200);
}

#[test]
fn who_leaves_holds_no_key_and_their_seat_goes_to_another() {
    let host = Host::start();
    let (id, key) = member(&host, "Rowan", "member");
    let (_, other) = member(&host, "Hazel", "member");
    let opened = host.open(&json!({"shipped": "withy-bridge"}));
    let take = |invitation: &Value, key: &str, player: &str| {
        host.ask("POST", "/v1/seats")
            .key(key)
            .json(&json!({"invitation": invitation, "player": player}))
            .send()
    };
    let taken = take(&opened["invitations"][0]["invitation"], &key, "Rowan").expect(201);
    let rekeyed = host
        .ask("POST", &format!("/v1/members/{id}/key"))
        .key(&host.organiser())
        .send()
        .expect(201);
    whose(&host, &key).problem(401, "wrong-key");
    let key = text(&rekeyed["key"]);
    whose(&host, &key).expect(200);
    let gone = host
        .ask("DELETE", &format!("/v1/members/{id}"))
        .key(&host.organiser())
        .send();
    assert_eq!((gone.status, gone.text.as_str()), (204, ""));
    whose(&host, &key).problem(401, "wrong-key");
    whose(&host, &text(&taken["key"])).problem(401, "wrong-key");
    renew(&host, &key, "x").problem(401, "wrong-key");
    let game = text(&opened["game"]["id"]);
    let seats = host.get(&format!("/v1/games/{game}/seats")).expect(200);
    assert_eq!(seats["seats"][0]["player"], "Rowan");
    let seat = format!(
        "/v1/games/{game}/seats/{}/player",
        text(&seats["seats"][0]["seat"])
    );
    host.ask("DELETE", &seat)
        .key(&other)
        .send()
        .problem(403, "not-allowed");
    host.ask("DELETE", &seat)
        .key(&host.organiser())
        .send()
        .expect(200);
    let invited = host
        .ask("POST", &format!("/v1/games/{game}/invitations"))
        .key(&host.organiser())
        .json(&json!({"side": "red"}))
        .send()
        .expect(201);
    let taken = take(&invited["invitation"], &other, "Hazel").expect(201);
    assert_eq!(taken["game"]["sides"][0]["player"], "Hazel");
}

#[test]
fn a_side_has_several_players_and_a_game_its_umpire_and_guests() {
    let host = Host::start();
    let battle = host.battle_of(json!({"shipped": "withy-bridge", "open_to_all": false}));
    let seats = battle.path("seats");
    let add = |requested: Value| {
        host.ask("POST", &seats)
            .key(&host.organiser())
            .json(&requested)
            .send()
    };
    let take = |given: &Value, player: &str| {
        text(
            &host
                .ask("POST", "/v1/seats")
                .json(&json!({"invitation": given["invitation"], "player": player}))
                .send()
                .expect(201)["key"],
        )
    };
    let second = take(
        &add(json!({"role": "player", "side": "red"})).expect(201),
        "Cedar",
    );
    let umpire = take(&add(json!({"role": "umpire"})).expect(201), "Dogwood");
    let guest = take(&add(json!({"role": "spectator"})).expect(201), "Elder");
    add(json!({"role": "player", "side": "green"})).problem(422, "no-such-side");
    add(json!({"role": "player"})).problem(400, "bad-request");
    add(json!({"role": "umpire", "side": "red"})).problem(400, "bad-request");
    host.ask("POST", &seats)
        .key(&battle.red)
        .json(&json!({"role": "umpire"}))
        .send()
        .problem(403, "not-allowed");
    let card = host
        .ask("GET", &format!("/v1/games/{}", battle.game))
        .key(&guest)
        .send()
        .expect(200);
    assert_eq!(card["sides"][0]["player"], "Ash");
    assert_eq!(card["sides"][0]["players"], json!(["Ash", "Cedar"]));
    assert_eq!(card["sides"].as_array().map(Vec::len), Some(2));
    let listed = host.ask("GET", &seats).key(&umpire).send().expect(200);
    assert_eq!(listed["seats"].as_array().map(Vec::len), Some(5));
    host.get(&seats).problem(404, "no-such-game");
    // Either player of a side posts for it, and each sees its instructions.
    host.post(&battle, &second, &sheet(1, "red", json!([])))
        .expect(201);
    host.post(&battle, &battle.blue, &sheet(1, "blue", json!([])))
        .expect(201);
    host.post(&battle, &battle.red, &sheet(2, "red", json!([])))
        .expect(201);
    let give = host.ask("PUT", &battle.path("instructions"));
    let given = json!({"units": {"red-2": {"follow_up": true}}});
    give.key(&second).json(&given).send().expect(200);
    let shown = host.ask("GET", &battle.path("instructions"));
    let own = shown.clone().key(&battle.red).send().expect(200);
    assert_eq!(own["instructions"]["units"]["red-2"]["follow_up"], true);
    // An umpire measures for either side and plays for none; a guest only looks.
    for side in ["red", "blue"] {
        let check = host
            .ask("POST", &battle.path("check"))
            .json(&json!({"sheet": sheet(2, side, json!([]))}));
        check.clone().key(&umpire).send().expect(200);
        check.key(&guest).send().problem(403, "not-allowed");
    }
    let ruling = host
        .ask("POST", &battle.path("rulings"))
        .json(&json!({"text": "The ditch is shallow."}));
    assert!(ruling.clone().key(&umpire).send().status < 300);
    for key in [&guest, &second] {
        ruling.clone().key(key).send().problem(403, "not-allowed");
    }
    for key in [&umpire, &guest] {
        shown.clone().key(key).send().problem(403, "not-allowed");
        host.post(&battle, key, &sheet(2, "blue", json!([])))
            .problem(403, "not-allowed");
    }
    assert_eq!(whose(&host, &umpire).expect(200)["role"], "umpire");
    assert_eq!(whose(&host, &guest).expect(200)["role"], "spectator");
}

#[test]
fn nothing_is_told_to_who_has_lost_a_seat() {
    let host = Host::start_with(&["--webhooks", "anywhere"]);
    let battle = host.battle();
    let notices = battle.path("notices");
    let given = json!({"webhook": "https://127.0.0.1:9/red"});
    let set = host
        .ask("PUT", &notices)
        .key(&battle.red)
        .json(&given)
        .send();
    assert_eq!(set.status, 200, "{set:?}");
    let seats = host.get(&battle.path("seats")).expect(200);
    let seat = text(&seats["seats"][0]["seat"]);
    host.ask("DELETE", &battle.path(&format!("seats/{seat}/player")))
        .key(&host.organiser())
        .send()
        .expect(200);
    let invited = host
        .ask("POST", &battle.path("invitations"))
        .key(&host.organiser())
        .json(&json!({"seat": seat}))
        .send()
        .expect(201);
    let taken = host
        .ask("POST", "/v1/seats")
        .json(&json!({"invitation": invited["invitation"], "player": "Cedar"}))
        .send()
        .expect(201);
    let shown = host.ask("GET", &notices).key(&text(&taken["key"])).send();
    assert!(
        shown.expect(200).get("webhook").is_none_or(Value::is_null),
        "{shown:?}"
    );
}
