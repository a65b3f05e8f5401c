//! What commands answer as JSON is what their schemas describe, checked by somebody else's validator.

mod common;

use serde_json::Value;

use common::{fieldpost, home};

fn json(home: &std::path::Path, args: &[&str]) -> Value {
    let output = fieldpost(home).args(args).output().expect("runs");
    serde_json::from_slice(&output.stdout).unwrap_or_else(|error| {
        panic!(
            "{args:?}: {error}\n{}",
            String::from_utf8_lossy(&output.stderr)
        )
    })
}

/// Every answer that needs no server, from a battle that was fought.
#[test]
fn answers_are_what_their_schemas_describe() {
    let home = home();
    let home = home.path();
    let quiet = |args: &[&str]| {
        let output = fieldpost(home).args(args).output().expect("runs");
        assert!(output.status.success(), "{args:?}");
    };
    quiet(&["local", "new", "quern-bridge", "b.ndjson"]);
    quiet(&["local", "reply", "b.ndjson", "--turns", "7"]);
    quiet(&["local", "new", "quern-bridge", "c.ndjson"]);
    std::fs::write(home.join("none.txt"), "# all stand\n").expect("written");
    std::fs::write(home.join("go.txt"), "red-2: forward 40 mm\n").expect("written");
    let number = json(home, &["local", "news", "b.ndjson", "--json"])["head"]["number"]
        .as_u64()
        .expect("a number");
    for (command, args) in [
        ("table", "table --record b.ndjson"),
        ("table", "table --battle quern-bridge --svg t.svg"),
        ("local table", "local table b.ndjson --at 3"),
        ("news", "news --record b.ndjson"),
        ("local news", "local news b.ndjson"),
        ("local post", "local post c.ndjson none.txt --all-stand"),
        ("local reply", "local reply b.ndjson"),
        ("try", "try go.txt --record b.ndjson --at 1"),
        ("try", "try none.txt --battle quern-bridge"),
        ("local try", "local try b.ndjson go.txt --at 1"),
        ("compare", "compare --record b.ndjson"),
        ("audit", "audit b.ndjson"),
        ("replay", "replay --record b.ndjson --page p.html"),
        ("seats", "seats"),
        ("battles", "battles"),
        ("settings", "settings"),
        ("words", "words"),
        ("help", "help"),
    ] {
        let args: Vec<&str> = args.split(' ').collect();
        check(home, command, &args);
    }
    for number in 1..=number {
        let number = number.to_string();
        check(home, "event", &["event", &number, "--record", "b.ndjson"]);
    }
}

fn check(home: &std::path::Path, command: &str, args: &[&str]) {
    let path: Vec<&str> = command.split(' ').collect();
    let schema = json(home, &[&["schema", "answer"], &path[..]].concat());
    let validator = jsonschema::validator_for(&schema).expect("a schema");
    let answer = json(home, &[args, &["--json"]].concat());
    let faults: Vec<String> = validator
        .iter_errors(&answer)
        .map(|fault| format!("{fault} at {}", fault.instance_path()))
        .collect();
    assert!(faults.is_empty(), "{args:?}: {}", faults.join("\n"));
    // a schema that takes anything would describe nothing
    assert!(!validator.is_valid(&serde_json::json!({})), "{command}");
}

#[test]
fn every_described_command_exists_and_another_is_told() {
    let definition = fieldpost_client::arguments::definition();
    for (command, _) in fieldpost_client::answers::DESCRIBED {
        let found = command
            .split(' ')
            .try_fold(&definition, |command, name| command.find_subcommand(name));
        assert!(found.is_some(), "{command}");
    }
    let home = home();
    let run = fieldpost(home.path())
        .args(["schema", "answer", "config"])
        .assert();
    run.code(2);
}
