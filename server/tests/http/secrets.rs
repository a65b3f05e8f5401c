//! What is secret leaves the server in no answer and no log line before its time.

use serde_json::{Value, json};

use crate::host::{Host, sheet, short_battle, text};

fn secret_of(key: &str) -> &str {
    key.split_once('.').expect("id and secret").1
}

#[test]
fn secrets_of_dice_and_instructions_leave_when_they_are_due() {
    let host = Host::start();
    let battle = host.battle_of(short_battle());
    let given = json!({"units": {"blue-2": {"follow_up": true, "give_way": "right"}}});
    host.ask("PUT", &battle.path("instructions"))
        .key(&battle.blue)
        .json(&given)
        .send()
        .expect(200);
    // How much had left before each turn was closed.
    let mut before = Vec::new();
    for turn in 1..=2 {
        for (key, side) in [(&battle.red, "red"), (&battle.blue, "blue")] {
            for path in [
                "",
                "table",
                "table.svg",
                "table.txt",
                "news",
                "record",
                "instructions",
            ] {
                let path = battle.path(path);
                host.ask("GET", path.trim_end_matches('/')).key(key).send();
                host.ask("GET", path.trim_end_matches('/'))
                    .key(&host.organiser())
                    .send();
            }
            host.ask("POST", &battle.path("check"))
                .key(key)
                .json(&json!({"sheet": sheet(turn, side, json!([]))}))
                .send();
            before.push((host.answers.len(), host.log.len()));
            host.post(&battle, key, &sheet(turn, side, json!([])))
                .expect(201);
        }
    }
    let record = host.get(&battle.path("record")).text;
    let events: Vec<Value> = record.lines().map(event_of).collect();
    let secrets: Vec<String> = events
        .iter()
        .filter(|event| event["event"] == "turn-closed")
        .map(|event| text(&event["dice"]["secret"]))
        .collect();
    assert_eq!(secrets.len(), before.len());
    for (secret, &(answers, _)) in secrets.iter().zip(&before) {
        assert!(!host.answers.holds(secret, answers));
        assert!(
            host.answers.holds(secret, usize::MAX),
            "the check above sees what is there"
        );
        assert!(!host.log.holds(secret, usize::MAX));
    }
    let ended = events.last().expect("events");
    let nonce = text(&ended["opened"][0]["nonce"]);
    let (answers, _) = *before.last().expect("turns");
    assert!(!host.answers.holds(&nonce, answers) && !host.log.holds(&nonce, usize::MAX));
}

fn event_of(line: &str) -> Value {
    let line: Value = serde_json::from_str(line).expect("a line");
    let entry: Value = serde_json::from_str(&text(&line["body"])).expect("an entry");
    entry["event"].clone()
}

#[test]
fn instructions_are_in_nothing_that_others_see() {
    let host = Host::start();
    let battle = host.battle();
    let given = json!({"units": {"blue-2": {"follow_up": true, "give_way": "right"}}});
    host.ask("PUT", &battle.path("instructions"))
        .key(&battle.blue)
        .json(&given)
        .send()
        .expect(200);
    for key in [Some(battle.red.clone()), Some(host.organiser()), None] {
        for path in [
            "table",
            "table.svg",
            "table.txt",
            "news",
            "record",
            "events/4",
            "instructions",
        ] {
            let ask = host.ask("GET", &battle.path(path));
            let answer = key.iter().fold(ask, |ask, key| ask.key(key)).send();
            assert!(
                !answer.text.contains("give_way\":\"right"),
                "{path}: {}",
                answer.text
            );
            assert!(
                !answer.text.contains("follow_up\":true"),
                "{path}: {}",
                answer.text
            );
        }
    }
    assert!(!host.log.holds("give_way", usize::MAX));
}

#[test]
fn keys_are_shown_once_and_kept_nowhere() {
    let host = Host::start();
    let organiser = host.organiser();
    let opened = host.open(&json!({"shipped": "withy-bridge"}));
    let invitation = text(&opened["invitations"][0]["invitation"]);
    let requested = json!({"invitation": invitation, "player": "Ash"});
    let key = text(
        &host
            .ask("POST", "/v1/seats")
            .json(&requested)
            .send()
            .expect(201)["key"],
    );
    // Mistakes of every kind, some with the key in a wrong place.
    host.get(&format!("/v1/games?after={key}"));
    host.ask("GET", "/v1/seat")
        .header("authorization", &format!("Basic {key}"))
        .send();
    host.ask("POST", "/v1/seats")
        .json(&json!({"invitation": key, "player": "Ash"}))
        .send();
    host.ask("GET", "/v1/seat").key(&key).send().expect(200);
    let (key, renewed) = (
        text(
            &host
                .ask("POST", "/v1/key")
                .key(&key)
                .header("idempotency-key", "renewed-once")
                .send()
                .expect(201)["key"],
        ),
        key,
    );
    let member = text(
        &host
            .ask("POST", "/v1/members")
            .key(&organiser)
            .json(&json!({"name": "Rowan"}))
            .send()
            .expect(201)["key"],
    );
    host.ask("GET", "/v1/seat").key(&key).send().expect(200);
    let left: Vec<String> = [&key, &renewed, &member, &invitation, &organiser]
        .map(|key| secret_of(key).to_owned())
        .to_vec();
    for secret in &left {
        assert!(
            !host.log.holds(secret, usize::MAX),
            "{secret} is in the log"
        );
    }
    for secret in &left[..4] {
        assert_eq!(host.answers.count(secret), 1, "each is shown once");
    }
    assert!(!host.answers.holds(secret_of(&organiser), usize::MAX));
    let kept = host.kept();
    for (name, bytes) in &kept {
        for secret in &left {
            let raw = hex::decode(secret).expect("hex");
            assert!(!contains(bytes, secret.as_bytes()), "{name}");
            assert!(!contains(bytes, &raw), "{name}");
        }
    }
    let hash = <sha2::Sha256 as sha2::Digest>::digest(hex::decode(secret_of(&key)).expect("hex"));
    let holds = |(_, bytes): &(String, Vec<u8>)| {
        contains(bytes, &hash) || contains(bytes, hex::encode(hash).as_bytes())
    };
    assert!(
        kept.iter().any(holds),
        "the search above sees what is there"
    );
}

fn contains(bytes: &[u8], part: &[u8]) -> bool {
    bytes.windows(part.len()).any(|window| window == part)
}
