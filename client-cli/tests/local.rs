//! A battle without a server, through the real binary: begun, tried, played, looked at.

use std::path::Path;
use std::process::Output;

use serde_json::Value;
use snapbox::cmd::{Command, cargo_bin};

struct Table {
    home: tempfile::TempDir,
}

impl Table {
    /// A battle from the starter files.
    fn begun() -> Self {
        let table = Self {
            home: tempfile::tempdir().expect("a temporary folder"),
        };
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
        Command::new(cargo_bin!("fieldpost"))
            .env_clear()
            .env("FIELDPOST_CONFIG_DIR", self.path().join("config"))
            .env("FIELDPOST_DATA_DIR", self.path().join("data"))
            .current_dir(self.path())
            .args(args)
            .output()
            .expect("runs")
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
    // an empty sheet is a turn too
    table.write("none.txt", b"# all stand\n");
    assert!(
        table
            .run(&["local", "post", "b.ndjson", "none.txt"])
            .status
            .success()
    );
    assert_eq!(table.json(&["local", "table", "b.ndjson"])["game_turn"], 2);
}

#[test]
fn a_battle_file_that_was_tampered_with_is_noticed() {
    let table = Table::begun();
    table.write("none.txt", b"");
    assert!(
        table
            .run(&["local", "post", "b.ndjson", "none.txt"])
            .status
            .success()
    );
    let record = std::fs::read_to_string(table.path().join("b.ndjson")).expect("read");
    table.write(
        "b.ndjson",
        record
            .replacen("\\\"throws\\\":0", "\\\"throws\\\":1", 1)
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
        told.contains("bad.txt:1:1") && told.contains("bad.txt:3:1"),
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
