//! Drawings: of any moment, of the map alone, with what changed; drawn once and never stale.

use std::io::Read;

use serde_json::json;

use crate::host::{Battle, Host, forward, sheet, text};

/// A game in which red moved one unit and blue another.
fn played() -> (Host, Battle) {
    let host = Host::start();
    let battle = host.battle();
    for (side, key, unit) in [
        ("red", &battle.red, "red-1"),
        ("blue", &battle.blue, "blue-1"),
    ] {
        let posted = host.post(&battle, key, &sheet(1, side, json!([forward(unit, 40.0)])));
        posted.expect(201);
    }
    (host, battle)
}

fn place(svg: &str, unit: &str) -> (f64, f64) {
    let rest = svg.split(&format!("id=\"table-unit-{unit}\"")).nth(1);
    let rest = rest.unwrap_or_else(|| panic!("{unit} is not drawn"));
    let number = |name: &str| {
        let rest = rest.split(&format!("{name}=\"")).nth(1).expect("told");
        let text = rest.split('"').next().expect("closed");
        text.parse::<f64>().expect("a number")
    };
    (number("data-x-mm"), number("data-y-mm"))
}

#[test]
fn the_map_tells_where_units_stand_now_and_stood_before() {
    let (host, battle) = played();
    let table = host.get(&battle.path("table")).expect(200);
    let units = table["units"].as_array().expect("units");
    let now = host.get(&battle.path("table.svg?map=true"));
    for unit in units.iter().filter(|unit| unit["state"] == "standing") {
        let (x, y) = place(&now.text, &text(&unit["id"]));
        assert_eq!(
            (json!(x), json!(y)),
            (unit["place"]["x_mm"].clone(), unit["place"]["y_mm"].clone())
        );
    }
    assert!(!now.text.contains("table-stood-"));
    let opening = host.get(&battle.path("table.svg?map=true&at=1"));
    assert_eq!(
        place(&now.text, "red-1").1 - place(&opening.text, "red-1").1,
        40.0
    );
    let before = host.get(&battle.path("table?at=1"));
    let before = before.expect(200);
    assert_eq!(
        (&before["head"]["number"], &before["to_move"]),
        (&json!(1), &json!("red"))
    );
    let head = table["head"]["number"].as_u64().expect("a number");
    assert_eq!(
        host.get(&battle.path(&format!("table?at={head}")))
            .expect(200),
        table
    );
    let changed = host.get(&battle.path("table.svg?map=true&since=1"));
    for id in [
        "table-stood-red-1",
        "table-tape-red-1-0",
        "table-stood-blue-1",
    ] {
        assert!(changed.text.contains(&format!("id=\"{id}\"")), "{id}");
    }
    for number in [
        "0".to_owned(),
        (head + 1).to_string(),
        "99999999999999999999".to_owned(),
    ] {
        for path in ["table?at", "table.svg?at", "table.svg?since"] {
            let status = host.get(&battle.path(&format!("{path}={number}"))).status;
            assert!(status == 404 || status == 400, "{path}={number}: {status}");
        }
    }
}

/// What is kept compressed is what is drawn, and goes with the head.
#[test]
fn it_comes_compressed_as_it_is_drawn_and_a_new_head_is_drawn_anew() {
    let (host, battle) = played();
    let drawn = |encoding: &str| {
        let ask = host.ask("GET", &battle.path("table.svg?map=true"));
        ask.header("accept-encoding", encoding).open()
    };
    let read = |packed: bool| {
        let answer = drawn(if packed { "br, gzip;q=0.5" } else { "gzip;q=0" });
        let coding = answer.headers().get("content-encoding").cloned();
        assert_eq!(coding.is_some(), packed);
        let vary: Vec<_> = answer.headers().get_all("vary").iter().collect();
        assert!(
            format!("{vary:?}")
                .to_ascii_lowercase()
                .contains("accept-encoding")
        );
        let mut body = String::new();
        let mut reader = answer.into_body().into_reader();
        if packed {
            let mut unpacked = flate2::read::GzDecoder::new(reader);
            unpacked.read_to_string(&mut body).expect("unpacked");
        } else {
            reader.read_to_string(&mut body).expect("read");
        }
        body
    };
    let first = read(false);
    assert_eq!(read(true), first);
    let moved = sheet(2, "red", json!([forward("red-1", 15.0)]));
    host.post(&battle, &battle.red, &moved).expect(201);
    let next = read(true);
    assert_eq!(place(&next, "red-1").1 - place(&first, "red-1").1, 15.0);
    assert_eq!(read(false), next);
}

/// Spectators who are shown everything later see no later moment by asking for it.
#[test]
fn no_moment_is_drawn_that_a_spectator_may_not_see_yet() {
    let (host, battle) = played();
    let head = host.get(&battle.path("table")).expect(200)["head"]["number"].clone();
    let delayed = host.ask("PATCH", &format!("/v1/games/{}", battle.game));
    let delayed = delayed
        .key(&host.organiser())
        .json(&json!({"spectator_delay_minutes": 60}));
    delayed.send().expect(200);
    for path in ["table", "table.svg"] {
        let path = battle.path(&format!("{path}?at={head}"));
        host.get(&path).problem(404, "no-such-event");
        assert_eq!(host.ask("GET", &path).key(&battle.red).send().status, 200);
    }
    let path = battle.path(&format!("table.svg?since={head}"));
    host.get(&path).problem(404, "no-such-event");
}
