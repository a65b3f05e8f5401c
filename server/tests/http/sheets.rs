//! `/v1/games/{game}/check` and `/v1/games/{game}/sheets`.

use std::collections::BTreeSet;

use serde_json::json;

use crate::host::{Host, forward, sheet, text};

#[test]
fn two_player_turns_are_posted_and_a_battle_is_fought() {
    let host = Host::start();
    let battle = host.battle();
    let red = host
        .post(
            &battle,
            &battle.red,
            &sheet(1, "red", json!([forward("red-1", 120.0)])),
        )
        .expect(201);
    assert_eq!(red["verdict"]["verdict"], "legal");
    assert_eq!(red["verdict"]["moves"][0]["charge_mm"], 120.0);
    let blue = host.post(&battle, &battle.blue, &sheet(1, "blue", json!([
        forward("blue-1", 120.0),
        {"order": "move", "unit": "blue-2", "legs": [{"leg": "forward", "distance_mm": 200.0, "up_to": true}]},
        {"order": "battle", "attackers": ["blue-1", "blue-2"], "defenders": ["red-1"], "guns": ["blue-guns"], "follow_up": "blue-1"},
    ])));
    let blue = blue.expect(201);
    let kinds: BTreeSet<String> = blue["news"]
        .as_array()
        .expect("news")
        .iter()
        .map(|item| text(&item["event"]))
        .collect();
    for kind in ["sheet-accepted", "battle-fought", "turn-closed"] {
        assert!(kinds.contains(kind), "{kinds:?}");
    }
    let table = host
        .ask("GET", &battle.path("table"))
        .key(&battle.red)
        .send()
        .expect(200);
    assert_eq!(
        (&table["game_turn"], &table["to_move"]),
        (&json!(2), &json!("red"))
    );
    assert_eq!(table["own"], json!({"side": "red", "your_turn": true}));
    assert_eq!(table["head"], blue["head"]);
}

#[test]
fn a_refused_sheet_is_an_answer_with_its_figures_and_changes_nothing() {
    let host = Host::start();
    let battle = host.battle();
    let before = host.head(&battle.game, &battle.red);
    let orders = json!([forward("red-2", 60.0), forward("red-1", 160.0)]);
    let answer = host.post(&battle, &battle.red, &sheet(1, "red", orders));
    let refused = answer.expect(422);
    assert_eq!(answer.header("content-type"), "application/json");
    assert_eq!(refused["accepted"], false);
    assert_eq!(refused["head"]["hash"], json!(before));
    let reason = &refused["verdict"]["moves"][1]["reasons"][0];
    assert_eq!(reason["code"], "over-allowance");
    assert_eq!(reason["limit_mm"], 120.0);
    assert_eq!(reason["measured_mm"], 160.0);
    assert_eq!(host.head(&battle.game, &battle.red), before);
    // The same key may be used again with a mended sheet.
    host.post(
        &battle,
        &battle.red,
        &sheet(1, "red", json!([forward("red-1", 120.0)])),
    )
    .expect(201);
}

#[test]
fn checking_posts_nothing_and_reads_what_is_typed() {
    let host = Host::start();
    let battle = host.battle();
    let before = host.head(&battle.game, &battle.red);
    let check = host.ask("POST", &battle.path("check"));
    let data = check
        .clone()
        .json(&json!({"sheet": sheet(1, "red", json!([forward("red-1", 120.0)]))}));
    let typed = check.clone().body(
        "text/plain; charset=utf-8",
        b"turn 1 red\nred-1: forward 12 cm\n".to_vec(),
    );
    let by_data = data.clone().key(&battle.red).send().expect(200);
    let by_text = typed.clone().key(&battle.red).send().expect(200);
    assert_eq!(by_data, by_text);
    assert_eq!(by_data["sheet"]["orders"], json!([forward("red-1", 120.0)]));
    data.clone().key(&host.organiser()).send().expect(200);
    data.clone().send().problem(401, "no-key");
    data.clone()
        .key(&host.battle().red)
        .send()
        .problem(403, "not-allowed");
    let faulty = check.body(
        "text/plain",
        b"turn 1 red\nred-1: foward 12 cm\nred-99: forward 1 cm\n".to_vec(),
    );
    let problem = faulty
        .key(&battle.red)
        .send()
        .problem(422, "unreadable-sheet");
    assert_eq!(problem["faults"][0]["line"], 2, "{problem:#}");
    assert_eq!(problem["faults"][1]["line"], 3, "{problem:#}");
    assert_eq!(host.head(&battle.game, &battle.red), before);
}

#[test]
fn a_check_is_drawn_and_told_in_words() {
    let host = Host::start();
    let battle = host.battle();
    let typed = b"turn 1 red\nred-1: forward 160 mm\n".to_vec();
    let ask = |path: &str| {
        host.ask("POST", &battle.path(path))
            .body("text/plain", typed.clone())
            .key(&battle.red)
            .send()
    };
    let drawn = ask("check.svg?order=0");
    assert_eq!(
        (drawn.status, drawn.header("content-type")),
        (200, "image/svg+xml")
    );
    assert!(
        drawn.text.starts_with("<svg") && drawn.text.contains("160"),
        "{:.200}",
        drawn.text
    );
    ask("check.svg?order=7").problem(400, "bad-request");
    ask("check.svg").problem(400, "bad-request");
    let words = ask("check.txt");
    assert_eq!(words.status, 200);
    assert!(
        words.text.contains("120.0 mm") && words.text.contains("160.0 mm"),
        "{}",
        words.text
    );
}

#[test]
fn a_posting_needs_its_headers_and_its_number() {
    let host = Host::start();
    let battle = host.battle();
    let posting = host.posting(&battle, &battle.red, &sheet(1, "red", json!([])));
    posting
        .clone()
        .without("if-match")
        .send()
        .problem(428, "no-if-match");
    posting
        .clone()
        .without("idempotency-key")
        .send()
        .problem(400, "no-idempotency-key");
    posting
        .clone()
        .header("idempotency-key", &"x".repeat(201))
        .send()
        .problem(400, "no-idempotency-key");
    posting
        .clone()
        .header("if-match", "*")
        .send()
        .problem(400, "bad-request");
    posting
        .clone()
        .header("if-match", "\"12\"")
        .send()
        .problem(400, "bad-request");
    let odd = json!({"sheet": sheet(1, "red", json!([])), "number": "12"});
    let problem = posting.json(&odd).send().problem(400, "bad-json");
    assert_eq!(problem["pointer"], "/number");
}

#[test]
fn seats_post_for_their_own_side_and_turn() {
    let host = Host::start();
    let (battle, other) = (host.battle(), host.battle());
    let of_red = sheet(1, "red", json!([]));
    host.post(&battle, &battle.blue, &of_red)
        .problem(403, "not-your-side");
    host.post(&battle, &host.organiser(), &of_red)
        .problem(403, "not-allowed");
    host.post(&battle, &other.red, &of_red)
        .problem(403, "not-allowed");
    host.posting(&battle, &battle.red, &of_red)
        .without("authorization")
        .send()
        .problem(401, "no-key");
    for wrong in [sheet(1, "blue", json!([])), sheet(2, "blue", json!([]))] {
        let refused = host.post(&battle, &battle.blue, &wrong).expect(422);
        assert_eq!(
            refused["verdict"]["reasons"][0]["code"], "not-in-phase",
            "{refused:#}"
        );
    }
    let early = host
        .post(&battle, &battle.red, &sheet(2, "red", json!([])))
        .expect(422);
    assert_eq!(
        early["verdict"]["reasons"][0]["code"], "not-in-phase",
        "{early:#}"
    );
}

#[test]
fn a_stale_head_is_told_what_happened_since() {
    let host = Host::start();
    let battle = host.battle();
    let late = host.posting(
        &battle,
        &battle.red,
        &sheet(1, "red", json!([forward("red-2", 40.0)])),
    );
    let first = host
        .post(
            &battle,
            &battle.red,
            &sheet(1, "red", json!([forward("red-1", 40.0)])),
        )
        .expect(201);
    let problem = late
        .header("idempotency-key", "late")
        .send()
        .problem(412, "stale");
    assert_eq!(problem["head"], first["head"]);
    assert_eq!(problem["news"], first["news"]);
    let unheard_of = host
        .posting(&battle, &battle.blue, &sheet(1, "blue", json!([])))
        .header("if-match", &format!("\"{}\"", "00".repeat(32)));
    assert_eq!(unheard_of.send().problem(412, "stale")["news"], json!([]));
}

#[test]
fn a_posting_sent_again_is_one_turn() {
    let host = Host::start();
    let battle = host.battle();
    let posting = host.posting(
        &battle,
        &battle.red,
        &sheet(1, "red", json!([forward("red-1", 40.0)])),
    );
    let first = posting.clone().send();
    assert_eq!(first.header("idempotency-replayed"), "");
    // The game goes on before the retry comes.
    host.post(&battle, &battle.blue, &sheet(1, "blue", json!([])))
        .expect(201);
    let again = posting.clone().send();
    assert_eq!(again.header("idempotency-replayed"), "true");
    assert_eq!((first.status, &first.text), (again.status, &again.text));
    let other = json!({"sheet": sheet(1, "red", json!([])), "number": "5a".repeat(32)});
    posting
        .json(&other)
        .send()
        .problem(409, "idempotency-key-reused");
    let table = host.get(&battle.path("table")).expect(200);
    assert_eq!(table["player_turn"], 3);
}

#[test]
fn of_sheets_that_race_one_wins_and_the_others_hear_why() {
    let host = Host::start();
    let battle = host.battle();
    let postings: Vec<_> = (0..8)
        .map(|i| {
            let orders = json!([forward("red-1", 10.0 + f64::from(i))]);
            host.posting(&battle, &battle.red, &sheet(1, "red", orders))
                .header("idempotency-key", &format!("race-{i}"))
        })
        .collect();
    let answers = all_at_once(postings);
    let (won, lost): (Vec<_>, Vec<_>) = answers.iter().partition(|answer| answer.status == 201);
    assert_eq!(won.len(), 1, "{answers:?}");
    for answer in lost {
        let problem = answer.problem(412, "stale");
        assert_eq!(problem["head"], won[0].json()["head"]);
        assert_eq!(problem["news"], won[0].json()["news"]);
    }
}

#[test]
fn one_sheet_sent_many_times_at_once_is_one_turn() {
    let host = Host::start();
    let battle = host.battle();
    let posting = host.posting(
        &battle,
        &battle.red,
        &sheet(1, "red", json!([forward("red-1", 40.0)])),
    );
    let answers = all_at_once(vec![posting; 8]);
    let texts: BTreeSet<_> = answers
        .iter()
        .map(|answer| (answer.status, &answer.text))
        .collect();
    assert_eq!(texts.len(), 1, "{answers:?}");
    assert_eq!(
        host.get(&battle.path("table")).expect(200)["player_turn"],
        2
    );
}

fn all_at_once(asks: Vec<crate::host::Ask>) -> Vec<crate::host::Answer> {
    std::thread::scope(|scope| {
        let sent: Vec<_> = asks
            .into_iter()
            .map(|ask| scope.spawn(move || ask.send()))
            .collect();
        sent.into_iter()
            .map(|sent| sent.join().expect("no panic"))
            .collect()
    })
}
