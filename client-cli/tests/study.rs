//! Studying, converting and trials with the real binary: pictures, JSON, and the exit codes of what is not
//! possible. What the manual shows of them is typed by the tests of whole games.

mod common;

use std::fs;
use std::path::Path;

use common::{fieldpost, home};

/// Every command fails, with its exit code and with words that tell why.
fn refused(home: &Path, cases: &[(&str, i32, &str)]) {
    for (line, code, told) in cases {
        let output = fieldpost(home)
            .args(line.split_whitespace())
            .output()
            .expect("the binary runs");
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(*code), "{line}: {said}");
        assert!(said.contains(told), "{line}: {said}");
    }
}

#[test]
fn what_cannot_be_studied_is_told_with_its_exit_code() {
    let home = home();
    let board = home.path().join("board.toml");
    let starter = fieldpost(home.path())
        .args(["convert", "starter"])
        .output()
        .expect("the binary runs");
    fs::write(&board, &starter.stdout).expect("written");
    // both faults of a board game's file at once
    let half = String::from_utf8(starter.stdout).expect("text");
    let half = half.replacen("across = ", "wide = ", 1);
    fs::write(home.path().join("half.toml"), half).expect("written");
    let cases = [
        ("study table nowhere.toml", 1, "cannot read nowhere.toml"),
        ("study table board.toml", 3, "board.toml"),
        ("check half.toml", 3, "2 faults"),
        ("study chain musket 2:0", 2, "is not a column"),
        ("study chain musket -2", 2, "is not a column"),
        ("study shift musket two", 2, "invalid value"),
        ("study multiplier musket 0", 2, "not above 0"),
        ("study table musket --attacker 2x4", 2, "--defender"),
        (
            "study table musket --attacker many --defender 1x1",
            2,
            "is not a force",
        ),
        ("convert plan board.toml 5bw", 2, "no measure"),
        ("convert plan board.toml 0.5", 3, "a base's width"),
        ("convert fit board.toml 10 10", 3, "the table's width"),
        ("convert plan nowhere.toml 30", 1, "cannot read"),
    ];
    refused(home.path(), &cases);
}

#[test]
fn pictures_and_json_of_a_study() {
    let home = home();
    let run = |line: &str| {
        let output = fieldpost(home.path())
            .args(line.split_whitespace())
            .output()
            .expect("the binary runs");
        assert!(output.status.success(), "{line}");
        String::from_utf8(output.stdout).expect("text")
    };
    let board = run("convert starter");
    fs::write(home.path().join("board.toml"), board).expect("written");
    assert!(run("check board.toml").contains("the board game's file"));
    run("study plot musket --svg plot.svg --png plot.png");
    let svg = fs::read_to_string(home.path().join("plot.svg")).expect("the picture");
    assert!(svg.starts_with("<svg") && svg.contains("Horse and musket by odds"));
    let png = fs::read(home.path().join("plot.png")).expect("the picture");
    assert!(png.starts_with(b"\x89PNG"));
    let drawn: serde_json::Value =
        serde_json::from_str(&run("study plot musket --svg plot.svg --json")).expect("JSON");
    assert_eq!(drawn["drawn"]["svg"], "plot.svg");
    let table: serde_json::Value =
        serde_json::from_str(&run("study table musket --json")).expect("JSON");
    assert_eq!(drawn["columns"], table["columns"]);
    // manual/results-table.md: at 1:3 the attackers are destroyed in 6 of 36 throws
    let column = &table["columns"][0];
    assert_eq!(column["head"], "1:3");
    assert_eq!(column["attacker"]["removed"]["exact"], "1/6");
}

/// A series is the same on any number of threads, word for word and figure for figure.
#[test]
fn trials_do_not_depend_on_threads() {
    let home = home();
    let run = |line: &str| {
        let output = fieldpost(home.path())
            .args(line.split_whitespace())
            .output()
            .expect("the binary runs");
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(output.status.success(), "{line}: {told}");
        assert!(told.is_empty(), "nothing but results in a pipe: {told}");
        String::from_utf8(output.stdout).expect("text")
    };
    let line = "trials withy-bridge --battles 12 --seed 5 --json --each --threads";
    let alone = run(&format!("{line} 1"));
    assert_eq!(alone, run(&format!("{line} 4")));
    assert_eq!(alone, run(&format!("{line} 64")));
    let data: serde_json::Value = serde_json::from_str(&alone).expect("JSON");
    assert_eq!(data["battles"], 12);
    let numbers = data["fought"].as_array().expect("each battle").iter();
    let numbers: Vec<u64> = numbers.filter_map(|one| one["number"].as_u64()).collect();
    assert_eq!(numbers, (1..=12).collect::<Vec<u64>>());
    // a longer series begins with the shorter one
    let more = run("trials withy-bridge --battles 14 --seed 5 --json --each");
    let more: serde_json::Value = serde_json::from_str(&more).expect("JSON");
    assert_eq!(more["fought"][11], data["fought"][11]);
    let words = run("trials withy-bridge -n 3 --seed 5 --threads 2");
    assert!(words.contains("Withy Bridge") && words.contains("3 battles of seed 5"));
}

#[test]
fn trials_compare_rules_and_scenarios() {
    let home = home();
    let run = |line: &str| {
        fieldpost(home.path())
            .args(line.split_whitespace())
            .output()
            .expect("the binary runs")
    };
    assert!(run("battles copy withy-bridge .").status.success());
    let rules = fs::read_to_string(home.path().join("musket.toml")).expect("the rules");
    let slower = rules.replacen("halt_zone = 0.5", "halt_zone = 1", 1);
    assert_ne!(slower, rules, "the rules have a halt zone to widen");
    fs::write(home.path().join("wide.toml"), slower).expect("written");
    let json = |line: &str| -> serde_json::Value {
        let output = run(line);
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(output.status.success(), "{line}: {told}");
        serde_json::from_slice(&output.stdout).expect("JSON")
    };
    // a shipped battle, its files, and its files the other way about are one battle
    let same = json("trials withy-bridge --against withy-bridge.toml musket.toml -n 4 --json");
    assert_eq!(same["first"]["sides"], same["second"]["sides"]);
    assert_eq!(same["game_turns"]["difference"]["mean"], 0.0);
    let other = json("trials withy-bridge --against wide.toml -n 4 --json --each");
    assert_eq!(other["pairs"], 4);
    assert_ne!(other["first_fought"], other["second_fought"]);
    let words = run("trials musket withy-bridge --against wide.toml -n 4");
    let words = String::from_utf8(words.stdout).expect("text");
    assert!(words.contains("4 battles compared one by one"), "{words}");
}

#[test]
fn what_cannot_be_tried_is_told_with_its_exit_code() {
    let home = home();
    fs::write(home.path().join("broken.toml"), "format = 1\n[[unit]]\n").expect("written");
    let cases = [
        ("trials", 2, "required"),
        ("trials nowhere", 2, "quern-bridge"),
        ("trials nowhere.toml shield", 1, "cannot read nowhere.toml"),
        ("trials musket", 2, "name a scenario for it too"),
        ("trials broken.toml", 2, "name the rules that it is for too"),
        ("trials musket shield", 2, "one ruleset and one scenario"),
        ("trials musket broken.toml", 3, "broken.toml"),
        (
            "trials quern-bridge withy-bridge",
            2,
            "one ruleset and one scenario",
        ),
        ("trials withy-bridge --battles 0", 2, "invalid value"),
        ("trials withy-bridge --threads 0", 2, "invalid value"),
        ("trials withy-bridge --seed one", 2, "invalid value"),
        ("trials withy-bridge --each", 2, "--json"),
        ("trials withy-bridge --against rifle -n 1", 3, "error"),
    ];
    refused(home.path(), &cases);
}
