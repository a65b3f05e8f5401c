//! Table, news, events, record.

use fieldpost_rules::record;
use serde_json::{Value, json};

use crate::host::{Battle, Host, forward, sheet, text};

fn played() -> (Host, Battle) {
    let host = Host::start();
    let battle = host.battle();
    host.post(
        &battle,
        &battle.red,
        &sheet(1, "red", json!([forward("red-1", 120.0)])),
    )
    .expect(201);
    (host, battle)
}

#[test]
fn the_table_comes_as_data_drawing_and_text() {
    let (host, battle) = played();
    let table = host.get(&battle.path("table")).expect(200);
    let unit = table["units"]
        .as_array()
        .expect("units")
        .iter()
        .find(|unit| unit["id"] == "red-1")
        .expect("red-1");
    assert_eq!(
        unit["place"],
        json!({"x_mm": 300.0, "y_mm": 300.0, "bearing_deg": 0.0})
    );
    assert_eq!(unit["state"], "standing");
    assert_eq!(table.get("own"), None);
    let svg = host.get(&battle.path("table.svg"));
    assert_eq!(
        (svg.status, svg.header("content-type")),
        (200, "image/svg+xml")
    );
    assert!(svg.text.starts_with("<svg") && svg.text.contains("Fourth Vale Foot"));
    let wide = host.get(&battle.path("table.txt?width=100"));
    assert!(
        wide.text.lines().all(|line| line.chars().count() <= 100),
        "{}",
        wide.text
    );
    assert!(wide.text.contains("Fourth Vale Foot"), "{}", wide.text);
    for path in ["table", "table.svg", "table.txt"] {
        let path = battle.path(path);
        let tag = host.get(&path).header("etag").to_owned();
        assert_eq!(tag, format!("\"{}\"", text(&table["head"]["hash"])));
        let known = host.ask("GET", &path).header("if-none-match", &tag).send();
        assert_eq!((known.status, known.text.as_str()), (304, ""));
    }
}

#[test]
fn names_are_text_and_never_markup() {
    let host = Host::start();
    let opened = host.open(&json!({"shipped": "withy-bridge"}));
    let requested = json!({"invitation": opened["invitations"][0]["invitation"], "player": "<script>x</script>"});
    host.ask("POST", "/v1/seats")
        .json(&requested)
        .send()
        .expect(201);
    let svg = host.get(&format!(
        "/v1/games/{}/table.svg",
        text(&opened["game"]["id"])
    ));
    assert!(!svg.text.contains("<script"), "{}", svg.text);
    assert!(
        svg.header("content-security-policy")
            .contains("default-src 'none'")
    );
    assert_eq!(svg.header("x-content-type-options"), "nosniff");
}

#[test]
fn news_are_told_since_an_event() {
    let (host, battle) = played();
    let all = host.get(&battle.path("news")).expect(200);
    let kinds: Vec<_> = all["news"]
        .as_array()
        .expect("news")
        .iter()
        .map(|item| text(&item["event"]))
        .collect();
    assert_eq!(
        kinds,
        [
            "opened",
            "seat-taken",
            "seat-taken",
            "sheet-accepted",
            "turn-closed"
        ]
    );
    assert_eq!(all["more"], false);
    let moved = all["news"][3]["words"].as_str().expect("words");
    assert!(moved.contains("Fourth Vale Foot"), "{moved}");
    let some = host.get(&battle.path("news?after=2&limit=2")).expect(200);
    assert_eq!(
        some["news"].as_array(),
        Some(&all["news"].as_array().expect("news")[2..4].to_vec())
    );
    assert_eq!(some["more"], true);
    let none = host.get(&battle.path("news?after=999")).expect(200);
    assert_eq!(none["news"], json!([]));
    host.get(&battle.path("news?after=-1"))
        .problem(400, "bad-request");
}

#[test]
fn one_event_comes_with_its_ledger() {
    let (host, battle) = played();
    let event = host.get(&battle.path("events/4")).expect(200);
    assert_eq!(event["event"]["verdict"]["moves"][0]["unit"], "red-1");
    let words = text(&event["words"]);
    assert!(words.contains("120.0 mm"), "{words}");
    host.get(&battle.path("events/0"))
        .problem(404, "no-such-event");
    host.get(&battle.path("events/6"))
        .problem(404, "no-such-event");
    host.get(&battle.path("events/one"))
        .problem(400, "bad-request");
}

#[test]
fn the_record_is_a_chain_of_what_is_stored() {
    let (host, battle) = played();
    let export = host.get(&battle.path("record"));
    assert_eq!(export.header("content-type"), "application/x-ndjson");
    let mut previous = "00".repeat(32);
    for line in export.text.lines() {
        let line: Value = serde_json::from_str(line).expect("a line of JSON");
        let body = text(&line["body"]);
        let entry: record::Entry = serde_json::from_str(&body).expect("an entry");
        assert_eq!(entry.previous, previous);
        assert_eq!(record::canonical(&entry).expect("canonical"), body);
        previous = hex::encode(record::hash_of(body.as_bytes()));
        assert_eq!(line["hash"], json!(previous));
    }
    assert_eq!(previous, host.head(&battle.game, &battle.red));
    let rest = host.get(&battle.path("record?after=3"));
    assert!(export.text.ends_with(&rest.text) && rest.text.lines().count() == 2);
}

#[test]
fn places_that_are_not_there() {
    let (host, battle) = played();
    host.get("/v1/nowhere").problem(404, "no-such-place");
    host.get("/v1/games/xyz").problem(404, "no-such-game");
    host.get(&format!("/v1/games/{}/table", "00".repeat(16)))
        .problem(404, "no-such-game");
    host.ask("DELETE", &battle.path("table"))
        .send()
        .problem(405, "method-not-allowed");
    assert_eq!(host.get("/healthz").expect(200), json!({"status": "alive"}));
}

#[test]
fn the_description_is_served_and_printed_alike_and_the_page_needs_nothing_else() {
    let host = Host::start();
    let served = host.get("/openapi.json");
    assert_eq!(served.header("content-type"), "application/json");
    assert_eq!(served.expect(200)["openapi"], "3.1.0");
    let printed = |arguments: &[&str]| {
        let output = crate::host::server()
            .current_dir(host.folder.path())
            .args(arguments)
            .output()
            .expect("runs");
        assert!(output.status.success(), "{output:?}");
        String::from_utf8(output.stdout).expect("text")
    };
    assert_eq!(printed(&["openapi"]), served.text);
    let page = host.get("/openapi.html");
    assert_eq!(page.header("content-type"), "text/html; charset=utf-8");
    assert_eq!(printed(&["openapi", "--page"]), page.text);
    // Every route that is told is there, and has no method that is not told.
    let document = served.json();
    let told = |path: &str, method: &str| document["paths"][path].get(method).is_some();
    for path in document["paths"].as_object().expect("paths").keys() {
        let requested = path
            .replace("{game}", &"00".repeat(16))
            .replace("{number}", "1")
            .replace("{member}", &"00".repeat(8))
            .replace("{seat}", &"00".repeat(8));
        for method in ["get", "post", "put", "patch", "delete"] {
            let answer = host.ask(&method.to_ascii_uppercase(), &requested).send();
            assert_eq!(
                answer.status != 405,
                told(path, method),
                "{method} {path}: {answer:?}"
            );
            assert!(
                !answer.text.contains("/problems/no-such-place"),
                "{method} {path}"
            );
        }
    }
}
