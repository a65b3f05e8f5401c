//! `/v1/scenarios`, `/v1/games`: opening, listing, closing to spectators.

use serde_json::json;

use crate::host::{Host, short_battle, text};

#[test]
fn the_organiser_opens_a_shipped_battle() {
    let host = Host::start();
    let listed = host.get("/v1/scenarios").expect(200);
    let keys: Vec<_> = listed["scenarios"]
        .as_array()
        .expect("some")
        .iter()
        .map(|s| text(&s["key"]))
        .collect();
    assert!(keys.contains(&"quern-bridge".to_owned()), "{keys:?}");
    for key in &keys {
        let ask = host.ask("POST", "/v1/games").key(&host.organiser());
        let opened = ask.json(&json!({"shipped": key})).send().expect(201);
        assert_eq!(opened["game"]["head"]["number"], 1);
        let sides: Vec<_> = opened["invitations"]
            .as_array()
            .expect("some")
            .iter()
            .map(|i| text(&i["side"]))
            .collect();
        assert_eq!(sides.len(), 2);
        assert_eq!(opened["game"]["to_move"], *sides[0]);
    }
    assert_eq!(
        host.get("/v1/games").expect(200)["games"]
            .as_array()
            .expect("some")
            .len(),
        keys.len()
    );
}

#[test]
fn only_the_organiser_opens_games() {
    let host = Host::start();
    let battle = host.battle();
    let open = host
        .ask("POST", "/v1/games")
        .json(&json!({"shipped": "withy-bridge"}));
    open.clone().send().problem(401, "no-key");
    open.clone()
        .key(&battle.red)
        .send()
        .problem(403, "not-allowed");
    let mut wrong = host.organiser();
    wrong.replace_range(wrong.len() - 4.., "0000");
    open.clone().key(&wrong).send().problem(401, "wrong-key");
    open.key("nonsense").send().problem(401, "wrong-key");
}

#[test]
fn an_unknown_scenario_is_told_with_those_there_are() {
    let host = Host::start();
    let ask = host.ask("POST", "/v1/games").key(&host.organiser());
    let problem = ask
        .clone()
        .json(&json!({"shipped": "nowhere"}))
        .send()
        .problem(422, "no-such-scenario");
    assert!(text(&problem["detail"]).contains("quern-bridge"));
    ask.clone()
        .json(&json!({}))
        .send()
        .problem(400, "bad-request");
}

#[test]
fn every_fault_of_posted_files_is_told_with_line_and_column() {
    let host = Host::start();
    let mut files = short_battle();
    let scenario = text(&files["files"]["scenario"]["text"])
        .replace("kind = \"wood\"", "kind = \"jungle\"")
        .replace(
            "files = 3\nranks = 2\nat = [300, 180, 0]",
            "fils = 3\nranks = 2\nat = [300, 180, 0]",
        );
    files["files"]["scenario"]["text"] = json!(scenario);
    let ask = host.ask("POST", "/v1/games").key(&host.organiser());
    let problem = ask.json(&files).send().problem(422, "faulty-files");
    let faults = problem["faults"].as_array().expect("faults");
    assert!(faults.len() >= 2, "{problem:#}");
    for fault in faults {
        assert_eq!(fault["file"], "battle.toml");
        assert!(
            fault["line"].as_u64().is_some_and(|line| line > 1),
            "{fault}"
        );
        assert!(fault["column"].as_u64().is_some(), "{fault}");
        assert!(!text(&fault["remedy"]).is_empty(), "{fault}");
    }
    assert_eq!(host.get("/v1/games").expect(200)["games"], json!([]));
}

#[test]
fn a_closed_game_is_not_there_for_those_outside_it() {
    let host = Host::start();
    let (battle, other) = (host.battle(), host.battle());
    let path = format!("/v1/games/{}", battle.game);
    let close = host
        .ask("PATCH", &path)
        .json(&json!({"open_to_all": false}));
    close
        .clone()
        .key(&battle.red)
        .send()
        .problem(403, "not-allowed");
    let card = close.key(&host.organiser()).send().expect(200);
    assert_eq!(card["open_to_all"], false);
    for rest in [
        "",
        "/table",
        "/table.svg",
        "/table.txt",
        "/news",
        "/events/1",
        "/record",
    ] {
        let path = format!("{path}{rest}");
        host.get(&path).problem(404, "no-such-game");
        host.ask("GET", &path)
            .key(&other.red)
            .send()
            .problem(404, "no-such-game");
        for key in [&battle.red, &battle.blue, &host.organiser()] {
            assert_eq!(host.ask("GET", &path).key(key).send().status, 200, "{path}");
        }
    }
    let listed = |key: Option<&str>| {
        let ask = host.ask("GET", "/v1/games");
        let ask = key.into_iter().fold(ask, |ask, key| ask.key(key));
        ask.send().expect(200)["games"]
            .as_array()
            .expect("a list")
            .len()
    };
    assert_eq!(listed(None), 1);
    assert_eq!(listed(Some(&other.red)), 1);
    assert_eq!(listed(Some(&battle.red)), 2);
    assert_eq!(listed(Some(&host.organiser())), 2);
}

#[test]
fn games_come_in_pages() {
    let host = Host::start();
    let games: Vec<_> = (0..3).map(|_| host.battle().game).collect();
    let page = host.get("/v1/games?limit=2").expect(200);
    assert_eq!(page["more"], true);
    assert_eq!(page["games"][1]["id"], json!(games[1]));
    let page = host
        .get(&format!("/v1/games?limit=2&after={}", games[1]))
        .expect(200);
    assert_eq!(page["more"], false);
    assert_eq!(page["games"][0]["id"], json!(games[2]));
    host.get("/v1/games?after=xyz").problem(400, "bad-request");
    host.get("/v1/games?befor=1").problem(400, "bad-request");
}
