//! The clock, disputes and rulings over HTTP.

use serde_json::{Value, json};

use crate::host::{Answer, Battle, Host, forward, sheet, text};

fn timed() -> Value {
    json!({
        "shipped": "withy-bridge",
        "clock": {"days_per_turn": 3, "days_at_start": 4, "leave_days": 10, "remind_days": [1]},
    })
}

fn detail(answer: &Answer, status: u16, name: &str) -> String {
    text(&answer.problem(status, name)["detail"])
}

fn path(battle: &Battle, rest: &str) -> String {
    format!("/v1/games/{}/{rest}", battle.game)
}

#[test]
fn a_game_is_opened_with_its_clock_and_everybody_reads_it() {
    let host = Host::start();
    let battle = host.battle_of(timed());
    let clock = host.get(&path(&battle, "clock")).expect(200);
    assert_eq!(clock["to_move"], "red");
    // seven days less the moment since
    let left = clock["days_left"].as_i64().expect("days");
    assert!((6..=7).contains(&left), "{left}");
    assert_eq!(clock["rules"]["when_out"], "claim");
    assert_eq!(clock["sides"][0]["zone"], "UTC");
    assert_eq!(
        (&clock["is_out"], &clock["is_paused"]),
        (&json!(false), &json!(false))
    );
    // its events are news like any other, and the record audits with them
    let news = host.get(&path(&battle, "news")).expect(200);
    assert!(news.to_string().contains("played by the clock"), "{news:#}");
}

#[test]
fn what_players_do_beside_their_sheets() {
    let host = Host::start();
    let battle = host.battle_of(timed());
    let ask = |method: &str, rest: &str, key: &str, body: Value| {
        let ask = host.ask(method, &path(&battle, rest)).key(key);
        match body {
            Value::Null => ask.send(),
            body => ask.json(&body).send(),
        }
    };
    let zone = json!({"zone": "Pacific/Auckland"});
    let done = ask("PUT", "clock/zone", &battle.red, zone).expect(200);
    assert_eq!(done["clock"]["sides"][0]["zone"], "Pacific/Auckland");
    let nowhere = ask(
        "PUT",
        "clock/zone",
        &battle.red,
        json!({"zone": "../../etc/passwd"}),
    );
    assert!(detail(&nowhere, 422, "unfit").contains("no such time zone"));
    let leave = json!({"from": "2020-02-30", "days": 3});
    let bad = ask("POST", "clock/leave", &battle.red, leave);
    assert!(detail(&bad, 422, "unfit").contains("as in 2026-07-31"));
    let past = ask(
        "POST",
        "clock/leave",
        &battle.red,
        json!({"from": "2020-02-20", "days": 3}),
    );
    assert!(detail(&past, 422, "unfit").contains("before it begins"));
    let empty = || Value::Null;
    let early = ask("POST", "clock/claim", &battle.blue, empty());
    assert!(detail(&early, 409, "not-now").contains("has time until"));
    ask("POST", "clock/pause", &battle.red, empty()).expect(200);
    let done = ask("POST", "clock/pause", &battle.blue, empty()).expect(200);
    assert_eq!(done["clock"]["is_paused"], true);
    assert_eq!(done["news"][1]["event"], "paused");
    // a pause keeps nobody from posting
    let orders = json!([forward("red-chief", 10.0)]);
    host.post(&battle, &battle.red, &sheet(1, "red", orders))
        .expect(201);
    ask("POST", "clock/resume", &battle.blue, empty()).expect(200);
    ask("POST", "clock/resume", &battle.blue, empty()).problem(409, "not-now");
    let text = json!({"text": "<script>was</script> it in range?", "about": 2});
    let done = ask("POST", "disputes", &battle.blue, text).expect(200);
    assert_eq!(done["news"][0]["event"], "dispute-raised");
    let unsafe_text = json!({"text": "line\u{202e}turned"});
    ask("POST", "disputes", &battle.blue, unsafe_text).problem(422, "unfit");
    ask(
        "POST",
        "disputes",
        &battle.blue,
        json!({"text": "x", "about": 999}),
    )
    .problem(404, "no-such-event");
    let done = ask("POST", "concession", &battle.blue, empty()).expect(200);
    assert_eq!(done["clock"]["to_move"], Value::Null);
    ask("POST", "concession", &battle.red, empty()).problem(409, "game-over");
}

#[test]
fn only_an_umpire_rules_and_only_a_seat_acts_for_its_side() {
    let host = Host::start();
    let battle = host.battle_of(timed());
    let other = host.battle();
    let organiser = host.organiser();
    let rule = json!({"text": "A slip of the ruler.", "then":
        {"do": "correct", "units": [
            {"unit": "red-chief", "place": {"x_mm": 300.0, "y_mm": 60.0, "bearing_deg": 10.0}}]}});
    let rulings = path(&battle, "rulings");
    host.ask("POST", &rulings)
        .json(&rule)
        .send()
        .problem(401, "no-key");
    for key in [&battle.red, &other.red] {
        host.ask("POST", &rulings)
            .key(key)
            .json(&rule)
            .send()
            .problem(403, "not-allowed");
    }
    let done = host
        .ask("POST", &rulings)
        .key(&organiser)
        .json(&rule)
        .send()
        .expect(200);
    assert_eq!(done["news"][0]["event"], "ruling-given");
    assert_eq!(done["news"][1]["event"], "position-corrected");
    let unknown = json!({"text": "x", "then": {"do": "cheat"}});
    host.ask("POST", &rulings)
        .key(&organiser)
        .json(&unknown)
        .send()
        .problem(400, "bad-json");
    for rest in ["clock/pause", "clock/resume", "clock/claim", "concession"] {
        let requested = host
            .ask("POST", &path(&battle, rest))
            .key(&other.red)
            .send();
        requested.problem(403, "not-allowed");
        host.ask("POST", &path(&battle, rest))
            .send()
            .problem(401, "no-key");
    }
    let clock = json!({"days_per_turn": 0});
    let set = |body: &Value| {
        host.ask("PUT", &path(&battle, "clock"))
            .key(&organiser)
            .json(body)
            .send()
    };
    assert!(detail(&set(&clock), 422, "unfit").contains("days_per_turn must be 1 to 365"));
    let done = set(&json!({"days_per_turn": 9, "when_out": "pass"})).expect(200);
    assert_eq!(text(&done["clock"]["rules"]["when_out"]), "pass");
    let requested = host
        .ask("PUT", &path(&battle, "clock"))
        .key(&battle.red)
        .json(&clock)
        .send();
    requested.problem(403, "not-allowed");
}
