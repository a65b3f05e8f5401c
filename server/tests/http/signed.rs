//! Games that are played with signatures: what is not signed by a key of its seat, for now and for this, changes nothing.

use fieldpost_rules::record::{self, Posted, PostingKind, SignedParts};
use serde_json::{Value, json};

use crate::host::{Answer, Ask, Battle, Host, sheet, text};

/// A player or umpire with a device.
struct Signer {
    key: String,
    seat: String,
    seed: [u8; 32],
}

impl Signer {
    fn public(&self) -> String {
        hex::encode(record::public_key(&self.seed))
    }
}

struct Table {
    host: Host,
    battle: Battle,
    red: Signer,
    blue: Signer,
}

fn take(host: &Host, invitation: &Value, player: &str, seed: u8, by: Option<&str>) -> Signer {
    let seed = [seed; 32];
    let public = hex::encode(record::public_key(&seed));
    let mut ask = host.ask("POST", "/v1/seats");
    if let Some(by) = by {
        ask = ask.key(by);
    }
    let taken = ask
        .json(&json!({"invitation": invitation, "player": player, "key": public}))
        .send()
        .expect(201);
    Signer {
        key: text(&taken["key"]),
        seat: text(&taken["seat"]),
        seed,
    }
}

impl Table {
    fn open() -> Self {
        let host = Host::start();
        let opened = host.open(&json!({"shipped": "withy-bridge", "signed": true}));
        let invitation = |side: usize| &opened["invitations"][side]["invitation"];
        let red = take(&host, invitation(0), "Ash", 1, None);
        let blue = take(&host, invitation(1), "Birch", 2, None);
        let battle = Battle {
            game: text(&opened["game"]["id"]),
            red: red.key.clone(),
            blue: blue.key.clone(),
        };
        Self {
            host,
            battle,
            red,
            blue,
        }
    }

    fn head(&self) -> [u8; 32] {
        let head = self.host.head(&self.battle.game, &self.red.key);
        hex::decode(head)
            .expect("hex")
            .try_into()
            .expect("32 bytes")
    }

    fn turn(&self) -> u64 {
        let card = self.host.get(&format!("/v1/games/{}", self.battle.game));
        card.expect(200)["player_turn"].as_u64().expect("a number")
    }

    /// The header of a signature over these.
    fn header(
        &self,
        by: &Signer,
        kind: PostingKind,
        body: &[u8],
        number: Option<[u8; 32]>,
    ) -> String {
        let game: [u8; 16] = hex::decode(&self.battle.game)
            .expect("hex")
            .try_into()
            .expect("16");
        let (precondition, player_turn) = (self.head(), self.turn());
        let parts = SignedParts {
            game: &game,
            seat: &by.seat,
            kind,
            precondition: &precondition,
            player_turn,
            attempt: 1,
            body,
            number: number.as_ref(),
        };
        let signature = record::sign(&by.seed, &parts.message());
        format!(
            "player-turn={player_turn}, attempt=1, key={}, signature={}",
            by.public(),
            hex::encode(signature)
        )
    }

    fn ask(&self, method: &str, rest: &str, by: &Signer) -> Ask {
        let head = hex::encode(self.head());
        self.host
            .ask(method, &self.battle.path(rest))
            .key(&by.key)
            .header("if-match", &format!("\"{head}\""))
    }

    /// A posting with a body of JSON, signed by somebody; not sent yet.
    fn signed(&self, rest: &str, by: &Signer, kind: PostingKind, body: &Value) -> Ask {
        let bytes = body.to_string().into_bytes();
        let header = self.header(by, kind, &bytes, None);
        self.ask("POST", rest, by)
            .body("application/json", bytes)
            .header("posting-signature", &header)
    }

    fn posting(&self, by: &Signer, sheet: &Value, name: &str) -> Ask {
        let body = json!({"sheet": sheet, "number": "5a".repeat(32)}).to_string();
        let number = Some([0x5a; 32]);
        let header = self.header(by, PostingKind::Sheet, body.as_bytes(), number);
        self.ask("POST", "sheets", by)
            .header("idempotency-key", name)
            .body("application/json", body.into_bytes())
            .header("posting-signature", &header)
    }

    fn record(&self) -> Vec<Value> {
        let text = self.host.get(&self.battle.path("record")).text;
        let entry = |line: &str| {
            let line: Value = serde_json::from_str(line).expect("a line");
            serde_json::from_str(line["body"].as_str().expect("text")).expect("an entry")
        };
        text.lines().map(entry).collect()
    }

    /// The last posting in the record, whose signature is sound.
    fn last_posted(&self) -> Posted {
        let entries = self.record();
        let posted = entries
            .iter()
            .rev()
            .find(|entry| !entry["posted"].is_null());
        let posted: Posted =
            serde_json::from_value(posted.expect("one")["posted"].clone()).expect("a posting");
        let game: [u8; 16] = hex::decode(&self.battle.game)
            .expect("hex")
            .try_into()
            .expect("16");
        assert!(posted.verify(&game).expect("sound").is_some());
        posted
    }
}

fn hold(turn: u32, side: &str) -> Value {
    sheet(turn, side, json!([]))
}

#[test]
fn a_seat_of_such_a_game_is_taken_with_a_key() {
    let host = Host::start();
    let opened = host.open(&json!({"shipped": "withy-bridge", "signed": true}));
    let invitation = &opened["invitations"][0]["invitation"];
    let take = |key: &Value| {
        let requested = json!({"invitation": invitation, "player": "Ash", "key": key});
        host.ask("POST", "/v1/seats").json(&requested).send()
    };
    take(&Value::Null).problem(403, "not-signed");
    // No point of the curve, one of small order, one that is not in its one form.
    let good = hex::encode(record::public_key(&[1; 32]));
    for bad in [
        "00",
        &"ff".repeat(32),
        &format!("01{}", "00".repeat(31)),
        &good.to_uppercase(),
    ] {
        take(&json!(bad)).problem(422, "unfit");
    }
    take(&json!(good)).expect(201);
}

#[test]
fn a_posting_must_be_signed_by_a_key_of_its_seat() {
    let table = Table::open();
    let good = table.posting(&table.red, &hold(1, "red"), "one");
    good.clone()
        .without("posting-signature")
        .send()
        .problem(403, "not-signed");
    good.clone()
        .without("if-match")
        .send()
        .problem(428, "no-if-match");
    let head = hex::encode(table.head());
    let wrong: [(&str, Answer); 5] = [
        ("another's key", {
            let forger = Signer {
                key: table.red.key.clone(),
                seat: table.red.seat.clone(),
                seed: [9; 32],
            };
            table.posting(&forger, &hold(1, "red"), "one").send()
        }),
        ("the other side's key", {
            let blue = Signer {
                key: table.red.key.clone(),
                seat: table.red.seat.clone(),
                seed: table.blue.seed,
            };
            table.posting(&blue, &hold(1, "red"), "one").send()
        }),
        ("another body", {
            let body = json!({"sheet": hold(1, "red"), "number": "5b".repeat(32)}).to_string();
            good.clone()
                .body("application/json", body.into_bytes())
                .send()
        }),
        ("the same body with a blank", {
            let body = json!({"sheet": hold(1, "red"), "number": "5a".repeat(32)}).to_string();
            good.clone()
                .body("application/json", format!("{body} ").into_bytes())
                .send()
        }),
        ("another kind", {
            let header = table.header(&table.red, PostingKind::Concession, b"", None);
            good.clone().header("posting-signature", &header).send()
        }),
    ];
    for (what, answer) in wrong {
        let problem = answer.problem(403, "bad-signature");
        assert_eq!(hex::encode(table.head()), head, "{what}: {problem}");
    }
    good.clone()
        .header("posting-signature", "player-turn=1")
        .send()
        .problem(400, "bad-request");
    good.clone().send().expect(201);
    let posted = table.last_posted();
    assert_eq!(posted.kind, PostingKind::Sheet);
    assert_eq!(posted.number, Some("5a".repeat(32)));
    assert_eq!(
        posted.body,
        json!({"sheet": hold(1, "red"), "number": "5a".repeat(32)}).to_string()
    );
    // Sent again because its answer was lost, it is answered as before; under another name it is a stale one.
    assert_eq!(good.clone().send().expect(201)["accepted"], true);
    good.header("idempotency-key", "two")
        .send()
        .problem(412, "stale");
}

#[test]
fn seals_and_disputes_make_nothing_stale_and_no_signature_counts_twice() {
    let table = Table::open();
    let written_before = table.posting(&table.red, &hold(1, "red"), "one");
    let asked = json!({"text": "Was that so?"});
    let dispute = table.signed("disputes", &table.blue, PostingKind::Dispute, &asked);
    dispute.clone().send().expect(200);
    dispute.send().problem(409, "not-now");
    written_before.send().expect(201);
    let disputes = table.record();
    let disputes = disputes
        .iter()
        .filter(|entry| entry["event"]["event"] == "dispute-raised");
    assert_eq!(disputes.count(), 1);
}

#[test]
fn instructions_are_signed_as_their_seal() {
    let table = Table::open();
    let instructions = json!({"all": {"follow_up": true, "give_way": null}, "units": {}});
    let nonce = [3; 32];
    let parsed = serde_json::from_value(instructions.clone()).expect("instructions");
    let seal = hex::encode(record::seal_of_instructions(&nonce, &parsed).expect("a seal"));
    let seal_body = json!({"seal": seal}).to_string();
    let header = table.header(
        &table.blue,
        PostingKind::Instructions,
        seal_body.as_bytes(),
        None,
    );
    let put = table
        .ask("PUT", "instructions", &table.blue)
        .json(&instructions);
    put.clone().send().problem(403, "not-signed");
    put.clone()
        .header("posting-signature", &header)
        .send()
        .problem(403, "bad-signature");
    let other = format!("{header}, nonce={}", "04".repeat(32));
    put.clone()
        .header("posting-signature", &other)
        .send()
        .problem(403, "bad-signature");
    let own = put
        .header(
            "posting-signature",
            &format!("{header}, nonce={}", hex::encode(nonce)),
        )
        .send()
        .expect(200);
    assert_eq!(own["seal"], seal);
    let posted = table.last_posted();
    assert_eq!(
        (posted.kind, posted.body),
        (PostingKind::Instructions, seal_body)
    );
    // The ruleset, in the first, speaks of following up too.
    let written = serde_json::to_string(&table.record()[1..]).expect("JSON");
    assert!(!written.contains("follow_up"), "they stay sealed");
}

#[test]
fn keys_are_added_and_removed_by_those_that_a_seat_has() {
    let table = Table::open();
    let second = Signer {
        key: table.red.key.clone(),
        seat: table.red.seat.clone(),
        seed: [5; 32],
    };
    let named = json!({"key": second.public()});
    // Not by itself, nor by the other side.
    table
        .signed("keys", &second, PostingKind::KeyAdded, &named)
        .send()
        .problem(403, "bad-signature");
    table
        .posting(&second, &hold(1, "red"), "one")
        .send()
        .problem(403, "bad-signature");
    table
        .signed("keys", &table.red, PostingKind::KeyAdded, &named)
        .send()
        .expect(200);
    table
        .posting(&second, &hold(1, "red"), "one")
        .send()
        .expect(201);
    let first = json!({"key": table.red.public()});
    table
        .signed("keys/removals", &second, PostingKind::KeyRemoved, &first)
        .send()
        .expect(200);
    table
        .signed("keys", &table.red, PostingKind::KeyAdded, &first)
        .send()
        .problem(403, "bad-signature");
    table
        .signed("keys/removals", &second, PostingKind::KeyRemoved, &named)
        .send()
        .problem(409, "not-now");
}

#[test]
fn an_organiser_who_plays_rules_only_once_the_other_side_agrees() {
    let host = Host::start();
    let organiser = host.organiser();
    let opened = host.open(&json!({"shipped": "withy-bridge"}));
    let invitation = |side: usize| &opened["invitations"][side]["invitation"];
    let red = take(&host, invitation(0), "Ash", 1, Some(&organiser));
    let blue = take(&host, invitation(1), "Birch", 2, None);
    let path = |rest: &str| format!("/v1/games/{}/{rest}", text(&opened["game"]["id"]));
    let ruling = json!({"text": "So be it."});
    let rule = || {
        host.ask("POST", &path("rulings"))
            .key(&organiser)
            .json(&ruling)
            .send()
    };
    let clock = json!({"days_per_turn": 3});
    rule().problem(403, "not-allowed");
    host.ask("PUT", &path("clock"))
        .key(&organiser)
        .json(&clock)
        .send()
        .problem(403, "not-allowed");
    // Nor through an umpire's seat that they take.
    let added = host
        .ask("POST", &path("seats"))
        .key(&organiser)
        .json(&json!({"role": "umpire"}))
        .send()
        .expect(201);
    let umpire = take(&host, &added["invitation"], "Elm", 3, Some(&organiser));
    host.ask("POST", &path("rulings"))
        .key(&umpire.key)
        .json(&ruling)
        .send()
        .problem(403, "not-allowed");
    let accept = |key: &str, seat: &str| {
        let body = json!({"seat": seat});
        host.ask("POST", &path("rulings/acceptance"))
            .key(key)
            .json(&body)
            .send()
    };
    // Their own side's word is none.
    accept(&red.key, "organiser").expect(200);
    rule().problem(403, "not-allowed");
    accept(&blue.key, "nobody's").problem(404, "no-such-seat");
    accept(&blue.key, "organiser").expect(200);
    rule().expect(200);
    host.ask("POST", &path("rulings"))
        .key(&umpire.key)
        .json(&ruling)
        .send()
        .problem(403, "not-allowed");
    let news = host.get(&path("news")).text;
    assert!(
        news.contains("agrees that somebody who plays rules")
            || news.contains("agree that somebody who plays rules"),
        "{news}"
    );
}

#[test]
fn what_a_side_has_sealed_is_cleared_once_nobody_of_it_is_left() {
    let host = Host::start();
    let battle = host.battle();
    let given = json!({"all": {"follow_up": true, "give_way": null}, "units": {}});
    let put = host
        .ask("PUT", &battle.path("instructions"))
        .key(&battle.red)
        .json(&given);
    put.send().expect(200);
    let seats = host.get(&battle.path("seats")).expect(200);
    let seat = text(&seats["seats"][0]["seat"]);
    let organiser = host.organiser();
    let free = host
        .ask("DELETE", &battle.path(&format!("seats/{seat}/player")))
        .key(&organiser);
    free.send().expect(200);
    let invited = host
        .ask("POST", &battle.path("invitations"))
        .key(&organiser)
        .json(&json!({"seat": seat}))
        .send()
        .expect(201);
    let spy = take(&host, &invited["invitation"], "Spy", 4, None);
    let seen = host
        .ask("GET", &battle.path("instructions"))
        .key(&spy.key)
        .send()
        .expect(200);
    assert_eq!(seen["seal"], Value::Null, "{seen}");
    let kinds: Vec<String> = host.get(&battle.path("news")).expect(200)["news"]
        .as_array()
        .expect("news")
        .iter()
        .map(|item| text(&item["event"]))
        .collect();
    assert!(
        kinds.ends_with(&[
            "seat-freed".to_owned(),
            "instructions-cleared".to_owned(),
            "seat-taken".to_owned()
        ]),
        "{kinds:?}"
    );
}
