//! Studying and converting with the real binary: every transcript of the manual's chapter, word
//! for word, and the exit codes of what is not possible.

use std::fs;
use std::path::Path;

use snapbox::cmd::{Command, cargo_bin};

/// The binary with a home of its own and nothing of this machine's environment.
fn fieldpost(home: &Path) -> Command {
    Command::new(cargo_bin!("fieldpost"))
        .env_clear()
        .env("FIELDPOST_CONFIG_DIR", home.join("config"))
        .env("FIELDPOST_DATA_DIR", home.join("data"))
        .current_dir(home)
}

const CHAPTER: &str = concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/../rules-core/manual/study-and-convert.md"
);

/// A command of the chapter and what it says there.
struct Transcript {
    line: usize,
    command: String,
    said: String,
}

/// Every `$ fieldpost …` in a console block, with the lines up to the next or the block's end.
fn transcripts(chapter: &str) -> Vec<Transcript> {
    let mut all: Vec<Transcript> = Vec::new();
    let mut in_block = false;
    for (number, line) in chapter.lines().enumerate() {
        if line.starts_with("```") {
            in_block = line == "```console";
        } else if in_block && let Some(command) = line.strip_prefix("$ fieldpost ") {
            all.push(Transcript {
                line: number + 1,
                command: command.to_owned(),
                said: String::new(),
            });
        } else if in_block && let Some(last) = all.last_mut() {
            last.said.push_str(line);
            last.said.push('\n');
        }
    }
    all
}

#[test]
fn every_transcript_of_the_chapter_comes_true() {
    let home = tempfile::tempdir().expect("a temporary folder");
    let chapter = fs::read_to_string(CHAPTER).expect("the chapter");
    let transcripts = transcripts(&chapter);
    assert!(transcripts.len() >= 10, "{} transcripts", transcripts.len());
    let mut wrong = Vec::new();
    for transcript in transcripts {
        let (command, file) = match transcript.command.split_once(" > ") {
            Some((command, file)) => (command, Some(file)),
            None => (transcript.command.as_str(), None),
        };
        let output = fieldpost(home.path())
            .args(command.split_whitespace())
            .output()
            .expect("the binary runs");
        let said = String::from_utf8(output.stdout).expect("text");
        let (said, remarks) = match file {
            Some(file) => {
                fs::write(home.path().join(file), said).expect("written");
                (String::new(), output.stderr)
            }
            None => (said, output.stderr),
        };
        let said = said + &String::from_utf8(remarks).expect("text");
        let lines = |text: &str| -> Vec<String> {
            let lines = text.trim_end().lines();
            lines.map(|line| line.trim_end().to_owned()).collect()
        };
        if lines(&said) != lines(&transcript.said) {
            wrong.push(format!(
                "line {}: fieldpost {}\n{said}",
                transcript.line, transcript.command
            ));
        }
    }
    assert!(
        wrong.is_empty(),
        "these say otherwise:\n\n{}",
        wrong.join("\n")
    );
}

#[test]
fn what_cannot_be_studied_is_told_with_its_exit_code() {
    let home = tempfile::tempdir().expect("a temporary folder");
    let board = home.path().join("board.toml");
    let starter = fieldpost(home.path())
        .args(["convert", "starter"])
        .output()
        .expect("the binary runs");
    fs::write(&board, starter.stdout).expect("written");
    for (line, code, told) in [
        ("study table nowhere.toml", 1, "cannot read nowhere.toml"),
        ("study table board.toml", 3, "board.toml"),
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
    ] {
        let output = fieldpost(home.path())
            .args(line.split_whitespace())
            .output()
            .expect("the binary runs");
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(code), "{line}: {said}");
        assert!(said.contains(told), "{line}: {said}");
    }
}

#[test]
fn pictures_and_json_of_a_study() {
    let home = tempfile::tempdir().expect("a temporary folder");
    let run = |line: &str| {
        let output = fieldpost(home.path())
            .args(line.split_whitespace())
            .output()
            .expect("the binary runs");
        assert!(output.status.success(), "{line}");
        String::from_utf8(output.stdout).expect("text")
    };
    run("study plot musket --svg plot.svg --png plot.png");
    let svg = fs::read_to_string(home.path().join("plot.svg")).expect("the picture");
    assert!(svg.starts_with("<svg") && svg.contains("Horse and musket by odds"));
    let png = fs::read(home.path().join("plot.png")).expect("the picture");
    assert!(png.starts_with(b"\x89PNG"));
    let table: serde_json::Value =
        serde_json::from_str(&run("study table musket --json")).expect("JSON");
    // manual/results-table.md: at 1:3 the attackers are destroyed in 6 of 36 throws
    let column = &table["columns"][0];
    assert_eq!(column["head"], "1:3");
    assert_eq!(column["attacker"]["removed"]["exact"], "1/6");
}
