//! A battle without a server, through the real binary: begun, tried, played, looked at; by two people, or by
//! one against an automatic commander.

mod common;

use std::path::Path;
use std::process::Output;

use serde_json::Value;

use common::{fieldpost, home};

struct Table {
    home: tempfile::TempDir,
}

impl Table {
    /// A battle from the starter files.
    fn begun() -> Self {
        let table = Self { home: home() };
        for kind in ["ruleset", "scenario"] {
            let text = table.run(&["starter", kind]).stdout;
            table.write(&format!("{kind}.toml"), &text);
        }
        let begun = table.run(&["local", "new", "ruleset.toml", "scenario.toml", "b.ndjson"]);
        assert!(begun.status.success(), "{}", text(&begun.stderr));
        table
    }

    fn path(&self) -> &Path {
        self.home.path()
    }

    fn write(&self, name: &str, bytes: &[u8]) {
        std::fs::write(self.path().join(name), bytes).expect("written");
    }

    fn run(&self, args: &[&str]) -> Output {
        fieldpost(self.path()).args(args).output().expect("runs")
    }

    fn json(&self, args: &[&str]) -> Value {
        let output = self.run(&[args, &["--json"]].concat());
        serde_json::from_slice(&output.stdout)
            .unwrap_or_else(|error| panic!("{args:?}: {error}\n{}", text(&output.stderr)))
    }

    /// A unit of the side to move that stands on the table.
    fn some_unit(&self) -> String {
        let table = self.json(&["local", "table", "b.ndjson"]);
        let units = table["units"].as_array().expect("units").clone();
        let side = &table["to_move"];
        let found = units
            .iter()
            .find(|unit| unit["side"] == *side && unit["state"] == "standing");
        found.expect("a unit")["id"]
            .as_str()
            .expect("an id")
            .to_owned()
    }
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

#[test]
fn a_turn_is_tried_and_played() {
    let table = Table::begun();
    let unit = table.some_unit();
    table.write(
        "good.txt",
        format!("{unit}: forward up to 20 mm\n").as_bytes(),
    );
    table.write("far.txt", format!("{unit}: forward 5000 mm\n").as_bytes());

    let tried = table.run(&["local", "try", "b.ndjson", "good.txt"]);
    assert_eq!(tried.status.code(), Some(0), "{}", text(&tried.stderr));
    let refused = table.run(&["local", "try", "b.ndjson", "far.txt"]);
    assert_eq!(refused.status.code(), Some(3));
    assert!(
        text(&refused.stdout).contains("refused"),
        "{}",
        text(&refused.stdout)
    );
    // a refused sheet plays nothing
    let refused = table.run(&["local", "post", "b.ndjson", "far.txt"]);
    assert_eq!(refused.status.code(), Some(3));
    assert_eq!(
        table.json(&["local", "news", "b.ndjson"])["head"]["number"],
        1
    );

    let before = table.json(&["local", "table", "b.ndjson"])["to_move"].clone();
    let played = table.run(&["local", "post", "b.ndjson", "good.txt"]);
    assert_eq!(played.status.code(), Some(0), "{}", text(&played.stderr));
    assert_ne!(
        table.json(&["local", "table", "b.ndjson"])["to_move"],
        before
    );
    // an empty sheet is a turn too, but not by mistake
    table.write("none.txt", b"# all stand\n");
    let asked = table.run(&["local", "post", "b.ndjson", "none.txt"]);
    assert_eq!(asked.status.code(), Some(2), "{}", text(&asked.stderr));
    assert!(text(&asked.stderr).contains("--all-stand"));
    assert_eq!(table.json(&["local", "table", "b.ndjson"])["game_turn"], 1);
    assert!(
        table
            .run(&["local", "post", "b.ndjson", "none.txt", "--all-stand"])
            .status
            .success()
    );
    assert_eq!(table.json(&["local", "table", "b.ndjson"])["game_turn"], 2);
    // played again, to its end or until an event
    let replay = ["replay", "--record", "b.ndjson", "--page", "b.html"];
    let moments = |more: &[&str]| {
        let played = table.json(&[&replay[..], more].concat());
        played["moments"].as_array().expect("moments").len()
    };
    assert_eq!(moments(&["--at", "1"]), 1, "the opening");
    assert!(moments(&[]) > 1);
    // what changed is drawn, and where nothing did it is said why
    let since = |event: &str| {
        let drawn = [
            "table", "--record", "b.ndjson", "--svg", "c.svg", "--since", event,
        ];
        let output = table.run(&drawn);
        assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
        text(&output.stderr)
    };
    let head = table.json(&["local", "news", "b.ndjson"])["head"]["number"].clone();
    let head = head.as_u64().expect("a number");
    assert!(since("1").contains(&format!("what events 2 to {head} changed")));
    let svg = std::fs::read_to_string(table.path().join("c.svg")).expect("drawn");
    assert!(svg.contains("class=\"tape\"") && svg.contains("class=\"ghost\""));
    let nothing = since(&head.to_string());
    assert!(
        nothing.contains(&format!("since event {head}, the last")),
        "{nothing}"
    );
    let beyond = table.run(&[&replay[..], &["--at", "99"]].concat());
    assert_eq!(beyond.status.code(), Some(2), "{}", text(&beyond.stderr));
}

#[test]
fn a_battle_file_that_was_tampered_with_is_noticed() {
    let table = Table::begun();
    table.write("none.txt", b"");
    assert!(
        table
            .run(&["local", "post", "b.ndjson", "none.txt", "--all-stand"])
            .status
            .success()
    );
    let record = std::fs::read_to_string(table.path().join("b.ndjson")).expect("read");
    table.write(
        "b.ndjson",
        record
            .replacen("\\\"attempt\\\":1", "\\\"attempt\\\":2", 1)
            .as_bytes(),
    );
    let run = table.run(&["local", "table", "b.ndjson"]);
    assert_eq!(run.status.code(), Some(6), "{}", text(&run.stderr));
}

#[test]
fn faulty_lines_are_told_to_people_and_programs() {
    let table = Table::begun();
    table.write("bad.txt", b"nobody-here: forward 20\n\nturn x\n");
    let run = table.run(&["local", "try", "b.ndjson", "bad.txt"]);
    assert_eq!(run.status.code(), Some(3));
    assert!(run.stdout.is_empty());
    let told = text(&run.stderr);
    assert!(
        told.contains("bad.txt, line 1: ") && told.contains("bad.txt, line 3: "),
        "{told}"
    );
    let faults = table.json(&["local", "try", "b.ndjson", "bad.txt"]);
    assert_eq!(faults["faults"][1]["line"], 3);
    // JSON sheets have their faults told by line too
    table.write("bad.json", b"{\"game_turn\": 1,\n \"side\": 3}");
    let run = table.run(&["local", "try", "b.ndjson", "bad.json"]);
    assert!(
        text(&run.stderr).contains("bad.json:2:"),
        "{}",
        text(&run.stderr)
    );
}

#[test]
fn pictures_are_drawn() {
    let table = Table::begun();
    let run = table.run(&[
        "local", "table", "b.ndjson", "--svg", "t.svg", "--png", "t.png",
    ]);
    assert!(run.status.success(), "{}", text(&run.stderr));
    let svg = std::fs::read_to_string(table.path().join("t.svg")).expect("drawn");
    assert!(svg.contains("<svg"));
    let png = std::fs::read(table.path().join("t.png")).expect("painted");
    assert!(png.starts_with(b"\x89PNG") && png.len() > 10_000);
    // as data it is the table all the same, and says where it was drawn
    let drawn = table.json(&["local", "table", "b.ndjson", "--svg", "t.svg"]);
    assert_eq!(
        drawn["drawn"],
        serde_json::json!({ "svg": "t.svg", "png": null })
    );
    assert_eq!(drawn["player_turn"], 1);
    assert_eq!(drawn["units"][0]["disorder"], 0);
    let mut undrawn = table.json(&["local", "table", "b.ndjson"]);
    undrawn["drawn"] = drawn["drawn"].clone();
    assert_eq!(drawn, undrawn);
}

#[test]
fn names_cannot_steer_the_terminal() {
    let table = Table::begun();
    let scenario = std::fs::read_to_string(table.path().join("scenario.toml")).expect("read");
    let name = scenario
        .lines()
        .find(|line| line.starts_with("name = "))
        .expect("a name")
        .to_owned();
    table.write(
        "evil.toml",
        scenario
            .replacen(&name, "name = \"\\u001b[2JMill\\u202e\"", 1)
            .as_bytes(),
    );
    let run = table.run(&["local", "new", "ruleset.toml", "evil.toml", "e.ndjson"]);
    if run.status.success() {
        for args in [
            ["local", "table", "e.ndjson"],
            ["local", "news", "e.ndjson"],
        ] {
            let shown = table.run(&args);
            let shown = text(&shown.stdout) + &text(&shown.stderr);
            assert!(!shown.contains(['\u{1b}', '\u{202e}']), "{shown:?}");
        }
    } else {
        assert!(!text(&run.stderr).contains('\u{1b}'));
    }
}

/// An evening alone: a battle begun, turns posted and answered, the rest played out, the record audited.
#[test]
fn an_automatic_commander_answers_every_sheet() {
    let table = Table::begun();
    let begun = table.run(&[
        "local",
        "new",
        "withy-bridge",
        "solo.ndjson",
        "--opponent",
        "Blue",
    ]);
    assert!(begun.status.success(), "{}", text(&begun.stderr));
    assert!(text(&begun.stdout).contains("An automatic commander has"));
    let news = table.json(&["local", "news", "solo.ndjson"]);
    assert_eq!(news["news"][1]["event"], "seat-taken");
    assert_eq!(news["to_move"], "red");

    table.write("none.txt", b"# all stand\n");
    table.write("standing.txt", b"all hold\n");
    for turn in 2..=3 {
        let played = table.run(&[
            "local",
            "post",
            "solo.ndjson",
            "none.txt",
            "--all-stand",
            "--standing",
            "standing.txt",
        ]);
        assert_eq!(played.status.code(), Some(0), "{}", text(&played.stderr));
        let told = text(&played.stdout);
        // both turns are told, whatever the other side did
        assert_eq!(told.matches("The turn passes to").count(), 2, "{told}");
        let now = table.json(&["local", "table", "solo.ndjson"]);
        assert_eq!(
            (&now["game_turn"], &now["to_move"]),
            (&turn.into(), &"red".into())
        );
    }
    // a refused sheet plays nothing, and is not answered
    table.write("bad.txt", b"red-1: forward 9000 mm\n");
    let refused = table.run(&["local", "post", "solo.ndjson", "bad.txt"]);
    assert_eq!(refused.status.code(), Some(3), "{}", text(&refused.stderr));
    assert_eq!(
        table.json(&["local", "table", "solo.ndjson"])["game_turn"],
        3
    );
    // it plays for its guest too, and answers itself
    let news = table.json(&["local", "reply", "solo.ndjson"]);
    assert_eq!(news["to_move"], "red", "{news}");
    assert_eq!(
        table.json(&["local", "table", "solo.ndjson"])["game_turn"],
        4
    );

    let ended = table.run(&["local", "reply", "solo.ndjson", "--to-the-end"]);
    assert_eq!(ended.status.code(), Some(0), "{}", text(&ended.stderr));
    assert!(text(&ended.stdout).contains("The battle is over"));
    assert!(table.run(&["audit", "solo.ndjson"]).status.success());
    // a head that is remembered must stand in it
    let record = std::fs::read_to_string(table.path().join("solo.ndjson")).expect("read");
    let last = record.lines().last().expect("a line");
    let last: serde_json::Value = serde_json::from_str(last).expect("JSON");
    let head = last["hash"].as_str().expect("a hash");
    let held = |head: &str| table.run(&["audit", "solo.ndjson", "--head", head]);
    assert!(held(head).status.success());
    let cut = held(&"ab".repeat(32));
    assert_eq!(cut.status.code(), Some(6), "{}", text(&cut.stderr));
    assert!(
        text(&cut.stderr).contains("cut short"),
        "{}",
        text(&cut.stderr)
    );
    assert_eq!(held("ab").status.code(), Some(2));
    for again in [
        vec!["local", "reply", "solo.ndjson"],
        vec!["local", "post", "solo.ndjson", "none.txt", "--all-stand"],
    ] {
        let run = table.run(&again);
        assert_ne!(run.status.code(), Some(0));
        let told = text(&run.stdout) + &text(&run.stderr);
        assert!(told.contains("over"), "{told}");
    }
}

/// The automatic commander has the side that moves first: it moves before its guest sees the table.
#[test]
fn an_automatic_commander_moves_first_if_it_is_its_turn() {
    let table = Table::begun();
    let begun = table.run(&[
        "local",
        "new",
        "withy-bridge",
        "solo.ndjson",
        "--opponent",
        "red",
    ]);
    assert!(
        text(&begun.stdout).contains("Game turn 1"),
        "{}",
        text(&begun.stdout)
    );
    assert_eq!(
        table.json(&["local", "table", "solo.ndjson"])["to_move"],
        "blue"
    );
    // as if the machine had gone down between a player's turn and the answer to it
    let record = std::fs::read_to_string(table.path().join("solo.ndjson")).expect("read");
    let cut: Vec<&str> = record.lines().take(2).collect();
    table.write("cut.ndjson", (cut.join("\n") + "\n").as_bytes());
    table.write("none.txt", b"");
    let early = table.run(&["local", "post", "cut.ndjson", "none.txt", "--all-stand"]);
    assert_eq!(early.status.code(), Some(1));
    assert!(text(&early.stderr).contains("fieldpost local reply cut.ndjson"));
    // whose dice's secret is gone, which is told too
    let lost = table.run(&["local", "reply", "cut.ndjson"]);
    assert_eq!(lost.status.code(), Some(1));
    assert!(
        text(&lost.stderr).contains("secret"),
        "{}",
        text(&lost.stderr)
    );
}

#[test]
fn an_opponent_must_be_one_of_the_sides() {
    let table = Table::begun();
    let run = table.run(&[
        "local",
        "new",
        "withy-bridge",
        "solo.ndjson",
        "--opponent",
        "green",
    ]);
    assert_eq!(run.status.code(), Some(2));
    assert!(
        text(&run.stderr).contains("red and blue"),
        "{}",
        text(&run.stderr)
    );
    assert!(
        !table.path().join("solo.ndjson").exists(),
        "nothing was begun"
    );
}

/// A crash after the battle was written and before its secret was put in place loses nothing.
#[test]
fn a_turn_cut_short_between_two_files_goes_on() {
    let table = Table::begun();
    table.write("none.txt", b"");
    let path = |name: &str| table.path().join(name);
    let old = std::fs::read(path("b.ndjson.secret")).expect("the secret");
    let post = || table.run(&["local", "post", "b.ndjson", "none.txt", "--all-stand"]);
    assert!(post().status.success());
    std::fs::rename(path("b.ndjson.secret"), path("b.ndjson.secret-next")).expect("renamed");
    table.write("b.ndjson.secret", &old);
    let on = post();
    assert!(on.status.success(), "{}", text(&on.stderr));
    assert!(table.run(&["audit", "b.ndjson"]).status.success());
}

/// A rules writer has files alone: what a tape would say of them is told without a seat or a server.
#[test]
fn a_battle_in_a_file_is_measured() {
    let table = Table::begun();
    let unit = table.some_unit();
    table.write(
        "go.txt",
        format!("{unit}: forward up to 20 mm\n").as_bytes(),
    );
    assert!(
        table
            .run(&["local", "post", "b.ndjson", "go.txt"])
            .status
            .success()
    );
    let measure = ["measure", &unit, "blue-1", "--record", "b.ndjson"];
    let distance = |more: &[&str]| {
        let measured = table.json(&[&measure[..], more].concat());
        measured["distance_mm"].as_f64().expect("a distance")
    };
    let nearer = distance(&["--at", "1"]) - distance(&[]);
    assert!((nearer - 20.0).abs() < 0.1, "{nearer}");
    let drawn = table.run(&[&measure[..], &["--svg", "m.svg"]].concat());
    assert!(drawn.status.success(), "{}", text(&drawn.stderr));
    let beyond = table.run(&[&measure[..], &["--at", "99"]].concat());
    assert_eq!(beyond.status.code(), Some(2), "{}", text(&beyond.stderr));

    let reach = table.json(&["reach", "blue-1", "--record", "b.ndjson"]);
    assert_eq!(reach["unit"], "blue-1");
    let reach = table.run(&["reach", "R3", "--battle", "quern-bridge"]);
    assert!(
        text(&reach.stdout).contains("may spend"),
        "{}",
        text(&reach.stderr)
    );
    let both = [
        "reach",
        "R3",
        "--battle",
        "quern-bridge",
        "--record",
        "b.ndjson",
    ];
    assert_eq!(table.run(&both).status.code(), Some(2));
}

/// The bounds of a sheet are the same without a server, as data and typed.
#[test]
fn a_sheet_that_holds_too_much_is_told_before_it_is_measured() {
    let table = Table::begun();
    let unit = table.some_unit();
    let side = &table.json(&["local", "table", "b.ndjson"])["to_move"];
    let legs = vec![r#"{"leg":"about"}"#; 61].join(",");
    let sheet = format!(
        r#"{{"game_turn":1,"side":{side},"orders":[{{"order":"move","unit":"{unit}","legs":[{legs}]}}]}}"#
    );
    table.write("orders.json", sheet.as_bytes());
    let typed = format!("{unit}: about{}\n", ", about".repeat(60));
    table.write("orders.txt", typed.as_bytes());
    for file in ["orders.json", "orders.txt"] {
        let tried = table.run(&["local", "try", "b.ndjson", file]);
        assert_eq!(tried.status.code(), Some(3), "{}", text(&tried.stderr));
        let told = text(&tried.stderr);
        assert!(
            told.contains("61 legs") && told.contains("at most 60"),
            "{told}"
        );
    }
}

/// Events, pictures, the table and trials of any record, at any moment, named one way in every command.
#[test]
fn any_moment_of_any_record_can_be_looked_at_and_tried_on() {
    let table = Table::begun();
    let unit = table.some_unit();
    let sheet = |name: &str, legs: &str| table.write(name, format!("{unit}: {legs}\n").as_bytes());
    sheet("go.txt", "forward up to 20 mm");
    let ok = |args: &[&str]| {
        let output = table.run(args);
        assert_eq!(
            output.status.code(),
            Some(0),
            "{args:?}: {}",
            text(&output.stderr)
        );
        text(&output.stdout)
    };
    ok(&["local", "post", "b.ndjson", "go.txt"]);
    let event = ok(&[
        "event",
        "2",
        "--record",
        "b.ndjson",
        "--order",
        "1",
        "--svg",
        "order.svg",
    ]);
    assert_eq!(event, ok(&["local", "event", "b.ndjson", "2"]));
    let svg = std::fs::read_to_string(table.path().join("order.svg")).expect("drawn");
    assert!(svg.contains("class=\"tape\""));
    let news = ok(&["news", "--record", "b.ndjson", "--after", "1"]);
    assert_eq!(news, ok(&["local", "news", "b.ndjson", "--after", "1"]));
    assert!(!news.contains("No news"));
    let at = |number: &str| table.json(&["table", "--record", "b.ndjson", "--at", number]);
    assert_eq!(at("1")["after"], 1);
    assert_eq!(
        at("1"),
        table.json(&["local", "table", "b.ndjson", "--at", "1"])
    );
    assert_ne!(at("1")["units"], at("2")["units"]);
    // the sheet that was played is tried again where it was played, though it is the other side's turn now
    let tried = ok(&["try", "go.txt", "--record", "b.ndjson", "--at", "1"]);
    assert!(tried.contains("legal"), "{tried}");
    let late = table.run(&["try", "go.txt", "--record", "b.ndjson"]);
    assert_eq!(late.status.code(), Some(3), "{}", text(&late.stdout));
    // and as the next turn of the side that waits
    let ahead = table.run(&["local", "try", "b.ndjson", "go.txt", "--ahead"]);
    assert_eq!(ahead.status.code(), Some(0), "{}", text(&ahead.stderr));
    assert!(
        text(&ahead.stderr).contains("as your next turn"),
        "{}",
        text(&ahead.stderr)
    );
    assert!(ok(&["try", "go.txt", "--battle", "ruleset.toml", "scenario.toml"]).contains("legal"));
    // eight numbers to be read aloud
    let record = std::fs::read_to_string(table.path().join("b.ndjson")).expect("read");
    let hash = |line: &str| serde_json::from_str::<Value>(line).expect("JSON")["hash"].clone();
    let compared = table.json(&["compare", "--record", "b.ndjson", "--at", "1"]);
    assert_eq!(
        compared["hash"],
        hash(record.lines().next().expect("a line"))
    );
}

#[test]
fn own_files_are_named_one_way() {
    let table = Table::begun();
    let files = ["ruleset.toml", "scenario.toml"];
    let json = |args: &[&str]| table.json(&[args, &files].concat());
    assert_eq!(json(&["table", "--battle"])["name"], "My battle");
    let drawn = table.run(&["draw", "ruleset.toml", "scenario.toml"]);
    assert_eq!(
        drawn.stdout,
        table.run(&["draw", "scenario.toml", "ruleset.toml"]).stdout
    );
    assert!(text(&table.run(&["draw", "quern-bridge"]).stdout).contains("<svg"));
    let report = table.json(&["trials", "ruleset.toml", "scenario.toml", "--battles", "1"]);
    assert_eq!(report["scenario"], "My battle");
    for alone in [
        vec!["draw", "scenario.toml"],
        vec!["table", "--battle", "ruleset.toml"],
        vec!["local", "new", "ruleset.toml", "new.ndjson"],
        vec!["open", "scenario.toml", "--server", "http://127.0.0.1:9"],
    ] {
        let run = table.run(&alone);
        assert_eq!(
            run.status.code(),
            Some(2),
            "{alone:?}: {}",
            text(&run.stderr)
        );
        assert!(text(&run.stderr).contains("name "), "{}", text(&run.stderr));
    }
}

#[test]
fn a_narrow_terminal_gets_lines_that_fit_and_one_without_letters_ascii() {
    let table = Table::begun();
    let narrow = |args: &[&str]| {
        let output = fieldpost(table.path())
            .env("COLUMNS", "40")
            .args(args)
            .output();
        text(&output.expect("runs").stdout)
    };
    for args in [
        vec!["local", "table", "b.ndjson"],
        vec!["local", "news", "b.ndjson"],
        vec!["battles"],
        vec!["help"],
        vec!["words"],
        vec!["measure", "red-1", "blue-1", "--record", "b.ndjson"],
        vec!["reach", "red-1", "--record", "b.ndjson"],
    ] {
        let told = narrow(&args);
        let longest = told.lines().map(|line| line.chars().count()).max();
        assert!(longest <= Some(40) && !told.is_empty(), "{args:?}: {told}");
    }
    for args in [
        vec!["local", "table", "b.ndjson", "--ascii"],
        vec!["words", "--ascii"],
        vec!["table", "--battle", "quern-bridge", "--json", "--ascii"],
    ] {
        let told = text(&table.run(&args).stdout);
        assert!(told.is_ascii() && told.len() > 100, "{args:?}: {told}");
    }
}

/// Letters that the embedded fonts lack are told; an SVG keeps them.
#[test]
fn letters_that_cannot_be_drawn_are_told() {
    let table = Table::begun();
    let scenario = std::fs::read_to_string(table.path().join("scenario.toml")).expect("read");
    let name = scenario
        .lines()
        .find(|line| line.starts_with("name = "))
        .expect("a name");
    table.write(
        "far.toml",
        scenario.replacen(name, "name = \"騎兵 🐎\"", 1).as_bytes(),
    );
    let draw = [
        "draw",
        "ruleset.toml",
        "far.toml",
        "--png",
        "far.png",
        "--svg",
        "far.svg",
    ];
    let drawn = table.run(&draw);
    assert!(drawn.status.success(), "{}", text(&drawn.stderr));
    assert!(
        text(&drawn.stderr).contains("兵 騎 🐎"),
        "{}",
        text(&drawn.stderr)
    );
    let svg = std::fs::read_to_string(table.path().join("far.svg")).expect("drawn");
    assert!(svg.contains("騎兵 🐎"));
    let plain = table.run(&["draw", "ruleset.toml", "scenario.toml", "--png", "near.png"]);
    assert!(
        !text(&plain.stderr).contains("empty boxes"),
        "{}",
        text(&plain.stderr)
    );
}
