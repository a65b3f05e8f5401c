//! Bodies that nobody honest sends, and some that people do by mistake.

use serde_json::{Value, json};

use crate::host::{Battle, Host, sheet};

struct Target {
    host: Host,
    battle: Battle,
}

impl Target {
    fn new() -> Self {
        let host = Host::start();
        let battle = host.battle();
        Self { host, battle }
    }

    /// Sends a body to where sheets are posted and sees that nothing came of it.
    #[track_caller]
    fn refuses(&self, body: &[u8], status: u16, problem: &str) -> Value {
        let posting =
            self.host
                .posting(&self.battle, &self.battle.red, &sheet(1, "red", json!([])));
        let answer = posting.body("application/json", body.to_vec()).send();
        let told = answer.problem(status, problem);
        let table = self.host.get(&self.battle.path("table")).expect(200);
        assert_eq!(table["player_turn"], 1);
        told
    }
}

#[test]
fn bodies_that_are_not_what_they_should_be() {
    let target = Target::new();
    let number = "5a".repeat(32);
    let with = |orders: &str| {
        format!(
            r#"{{"sheet":{{"game_turn":1,"side":"red","orders":{orders}}},"number":"{number}"}}"#
        )
    };
    let leg = |leg: &str| {
        with(&format!(
            r#"[{{"order":"move","unit":"red-1","legs":[{leg}]}}]"#
        ))
    };
    let cases = [
        (
            "an unknown key",
            with("[]").replace(r#""number""#, r#""extra":1,"number""#),
        ),
        (
            "an unknown key deep down",
            leg(r#"{"leg":"forward","distance_mm":1,"speed":2}"#),
        ),
        (
            "a key given twice",
            leg(r#"{"leg":"forward","distance_mm":1,"distance_mm":2}"#),
        ),
        (
            "a wrong type",
            leg(r#"{"leg":"forward","distance_mm":"far"}"#),
        ),
        ("an unknown leg", leg(r#"{"leg":"fly","distance_mm":1}"#)),
        ("no number", leg(r#"{"leg":"forward","distance_mm":NaN}"#)),
        (
            "infinity",
            leg(r#"{"leg":"forward","distance_mm":Infinity}"#),
        ),
        (
            "a number out of reach",
            leg(r#"{"leg":"forward","distance_mm":1e999}"#),
        ),
        (
            "a whole number out of reach",
            with("[]").replace(r#""game_turn":1"#, r#""game_turn":9007199254740993"#),
        ),
        ("nothing", String::new()),
        ("half a body", with("[").chars().take(40).collect()),
        ("something after the end", format!("{}{{}}", with("[]"))),
        ("deep nesting", "[".repeat(200_000)),
    ];
    for (what, body) in &cases {
        let problem = target.refuses(body.as_bytes(), 400, "bad-json");
        assert!(problem["line"].as_u64().is_some(), "{what}: {problem:#}");
    }
    target.refuses(&[b'{', b'"', 0xff, 0xfe, b'"', b'}'], 400, "bad-json");
}

#[test]
fn a_number_that_is_huge_and_finite_is_measured_and_refused() {
    let target = Target::new();
    let orders = json!([{"order": "move", "unit": "red-1", "legs": [{"leg": "forward", "distance_mm": 1e300}]}]);
    let refused = target
        .host
        .post(&target.battle, &target.battle.red, &sheet(1, "red", orders))
        .expect(422);
    assert_eq!(refused["verdict"]["verdict"], "refused", "{refused:#}");
}

#[test]
fn ten_megabytes_are_refused_and_the_sender_hears_why() {
    let target = Target::new();
    let long = vec![b' '; 10 * 1024 * 1024];
    let problem = target.refuses(&long, 413, "too-large");
    assert_eq!(problem["limit_bytes"], 256 * 1024);
    let host = &target.host;
    let check = host
        .ask("POST", &target.battle.path("check"))
        .key(&target.battle.red);
    check
        .body("text/plain", vec![b'a'; 10 * 1024 * 1024])
        .send()
        .problem(413, "too-large");
    let files = json!({"files": {"ruleset": {"name": "r", "text": "x".repeat(10 * 1024 * 1024)}, "scenario": {"name": "s", "text": ""}}});
    host.ask("POST", "/v1/games")
        .key(&host.organiser())
        .json(&files)
        .send()
        .problem(413, "too-large");
}

#[test]
fn other_media_types_are_refused() {
    let target = Target::new();
    let posting = target.host.posting(
        &target.battle,
        &target.battle.red,
        &sheet(1, "red", json!([])),
    );
    posting
        .clone()
        .header("content-type", "text/plain")
        .send()
        .problem(415, "wrong-media-type");
    posting
        .without("content-type")
        .send()
        .problem(415, "wrong-media-type");
}

#[test]
fn names_that_no_database_takes_and_numbers_that_no_record_reaches_are_bad_requests() {
    let target = Target::new();
    let (host, battle) = (&target.host, &target.battle);
    let organiser = host.organiser();
    let beyond = u64::MAX / 2 + 1;
    for path in [
        battle.path(&format!("record?after={beyond}")),
        battle.path(&format!("news?after={beyond}")),
        battle.path(&format!("events?after={beyond}")),
        battle.path("table?x=%00"),
        "/v1/games?after=%00".to_owned(),
    ] {
        let answer = host.ask("GET", &path).key(&organiser).send();
        answer.problem(400, "bad-request");
    }
    let greatest = battle.path(&format!("record?after={}", beyond - 1));
    assert_eq!(host.get(&greatest).status, 200);
    let number = battle.path(&format!("events/{beyond}"));
    host.get(&number).problem(404, "no-such-event");
    let stream = host.ask("GET", &battle.path("events"));
    let stream = stream.header("last-event-id", &beyond.to_string());
    stream.send().problem(400, "bad-request");
    for path in [
        battle.path("seats/%00/player"),
        battle.path("seats/a%00b/player"),
        "/v1/members/%00".to_owned(),
        "/v1/games/%00/seats/%00/player".to_owned(),
    ] {
        let answer = host.ask("DELETE", &path).key(&organiser).send();
        answer.problem(400, "bad-request");
    }
    let seat = host
        .ask("POST", &battle.path("invitations"))
        .key(&organiser);
    let told = seat
        .json(&json!({"seat": "a\u{0}b"}))
        .send()
        .problem(400, "bad-json");
    assert!(
        told["detail"]
            .as_str()
            .is_some_and(|detail| detail.contains("U+0000")),
        "{told}"
    );
}
