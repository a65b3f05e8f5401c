//! What is asked while a turn is written by hand: one order of a draft, distances, ground in reach, points.

use serde_json::{Value, json};

use crate::host::{Answer, Battle, Host, forward, sheet};

struct Desk {
    host: Host,
    battle: Battle,
}

impl Desk {
    fn new() -> Self {
        let host = Host::start();
        let battle = host.battle();
        Self { host, battle }
    }

    fn ask(&self, what: &str, body: &Value) -> Answer {
        let ask = self.host.ask("POST", &self.battle.path(what));
        ask.key(&self.battle.red).json(body).send()
    }
}

#[test]
fn an_order_of_a_draft_is_told_what_the_sheet_is_told_of_it() {
    let desk = Desk::new();
    let orders = json!([
        forward("red-1", 60.0),
        forward("red-2", 400.0),
        forward("red-guns", 10.0)
    ]);
    let draft = sheet(1, "red", orders);
    let whole = desk.ask("check", &json!({"sheet": draft})).expect(200);
    for order in 0..3 {
        let answer = desk.ask("order", &json!({"sheet": draft, "order": order}));
        let told = answer.expect(200);
        let mut of_sheet = whole["verdict"]["moves"][order].clone();
        if let Some(remedies) = of_sheet.get_mut("remedies").and_then(Value::as_array_mut) {
            remedies.retain(|remedy| remedy["change"] == "cut-short");
        }
        assert_eq!(told["moves"], json!([of_sheet]));
        assert_eq!(told["head"], whole["head"]);
        assert!(
            answer
                .header("etag")
                .contains(told["head"]["hash"].as_str().expect("a hash"))
        );
        let left = of_sheet["allowance_mm"].as_f64().expect("mm")
            - of_sheet["charge_mm"].as_f64().expect("mm");
        assert!(
            (told["left_mm"].as_f64().expect("mm") - left).abs() < 0.011,
            "{told}"
        );
        assert_eq!(told["first"].is_null(), order != 1, "{told}");
        assert!(answer.text.len() < 2500, "small: {}", answer.text.len());
    }
    let refused = desk
        .ask("order", &json!({"sheet": draft, "order": 1}))
        .expect(200);
    assert_eq!(refused["first"]["code"], "over-allowance");
    assert!(
        refused["first"]["text"]
            .as_str()
            .expect("a sentence")
            .contains("mm")
    );
    assert!(refused["moves"][0]["furthest"].is_object());
    // The same sheet as it is typed, and read back.
    let typed = whole["typed"].as_str().expect("text").to_owned();
    let again = desk
        .host
        .ask("POST", &desk.battle.path("check"))
        .key(&desk.battle.red);
    let again = again
        .body("text/plain", typed.into_bytes())
        .send()
        .expect(200);
    assert_eq!(again["sheet"], whole["sheet"]);
}

#[test]
fn a_draft_is_its_own_sides_and_of_moves() {
    let desk = Desk::new();
    let draft = sheet(1, "red", json!([forward("red-1", 10.0)]));
    let asked = json!({"sheet": draft, "order": 0});
    let path = desk.battle.path("order");
    desk.host
        .ask("POST", &path)
        .json(&asked)
        .send()
        .problem(401, "no-key");
    let beyond = json!({"sheet": draft, "order": 1});
    desk.ask("order", &beyond).problem(422, "unfit");
    let battle = json!([{"order": "battle", "attackers": ["red-1"], "defenders": ["blue-1"]}]);
    desk.ask(
        "order",
        &json!({"sheet": sheet(1, "red", battle), "order": 0}),
    )
    .problem(422, "unfit");
    let late = sheet(2, "red", json!([forward("red-1", 10.0)]));
    let told = desk
        .ask("order", &json!({"sheet": late, "order": 0}))
        .expect(200);
    assert_eq!(
        (&told["verdict"], &told["moves"]),
        (&json!("refused"), &json!([]))
    );
    assert_eq!(told["reasons"][0]["code"], "not-in-phase");
    let many = vec![forward("red-1", 1.0); 300];
    desk.ask(
        "order",
        &json!({"sheet": sheet(1, "red", json!(many)), "order": 0}),
    )
    .problem(422, "sheet-too-long");
    // Whoever may not have sheets measured measures the table as it stands, and no draft.
    let bare = json!({"first": "red-1", "second": "blue-1"});
    let drafted = json!({"first": "red-1", "second": "blue-1", "sheet": draft});
    let ask = |body: &Value| {
        desk.host
            .ask("POST", &desk.battle.path("measure"))
            .json(body)
            .send()
    };
    ask(&bare).expect(200);
    ask(&drafted).problem(401, "no-key");
}

#[test]
fn distances_and_ground_are_measured_as_they_stand_and_after_a_draft() {
    let desk = Desk::new();
    let draft = sheet(1, "red", json!([forward("red-1", 50.0)]));
    let between = |body: Value| {
        let told = desk.ask("measure", &body).expect(200);
        assert!(!told["words"].as_str().expect("words").is_empty());
        told["measurement"]["distance_mm"].as_f64().expect("mm")
    };
    let now = between(json!({"first": "red-1", "second": "blue-1"}));
    let then = between(json!({"first": "red-1", "second": "blue-1", "sheet": draft}));
    assert!(
        (now - then).abs() > 5.0 && (now - then).abs() < 50.1,
        "{now} {then}"
    );
    let south = |body: Value| {
        let told = desk.ask("reach", &body).expect(200);
        assert_eq!(told["reach"]["unit"], "red-1");
        let rings = told["reach"]["footprint"]
            .as_array()
            .expect("rings")
            .clone();
        let points = rings
            .iter()
            .flat_map(|ring| ring["points"].as_array().expect("points").clone());
        points
            .map(|point| point["y_mm"].as_f64().expect("mm"))
            .fold(0.0, f64::max)
    };
    let now = south(json!({"unit": "red-1"}));
    let then = south(json!({"unit": "red-1", "sheet": draft}));
    assert!((then - now - 50.0).abs() < 5.0, "{now} {then}");
    desk.ask("reach", &json!({"unit": "nobody"}))
        .problem(422, "unfit");
    desk.ask("measure", &json!({"first": "red-1", "second": "red-1"}))
        .problem(422, "unfit");
    let score = desk.host.get(&desk.battle.path("score")).expect(200);
    assert_eq!(score["scores"].as_array().expect("two").len(), 2);
    assert_eq!(score["scores"][0]["side"], "red");
}
