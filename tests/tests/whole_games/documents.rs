//! The documents told step by step: the README's first game, and the chapters of the manual that show
//! commands.

use crate::transcripts::{Shell, Step, steps};

const REPOSITORY: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/..");

fn read(path: &str) -> String {
    let path = format!("{REPOSITORY}/{path}");
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path}: {error}"))
}

fn document(path: &str) -> Vec<Step> {
    steps(&read(path))
}

fn comes_true(path: &str, least: usize) -> Shell {
    comes_true_in(Shell::new(), path, least)
}

fn comes_true_in(mut shell: Shell, path: &str, least: usize) -> Shell {
    let steps = document(path);
    assert!(steps.len() >= least, "{} steps in {path}", steps.len());
    let wrong = shell.types(&steps);
    assert!(
        wrong.is_empty(),
        "{path} says otherwise:\n\n{}",
        wrong.join("\n")
    );
    shell
}

/// A first-time player's way from two fresh programs to a sheet tried and posted, by the README alone.
#[test]
fn the_first_game_of_the_readme_is_played_as_it_says() {
    let shell = comes_true("README.md", 15);
    assert!(shell.file("red.svg").starts_with(b"<svg"));
    assert!(shell.file("game.html").starts_with(b"<!doctype html>"));
}

#[test]
fn seeing_the_table_comes_true() {
    let shell = comes_true("rules-core/manual/seeing-the-table.md", 8);
    assert!(shell.file("table.svg").starts_with(b"<svg"));
    assert!(shell.file("table.png").starts_with(b"\x89PNG"));
    assert!(shell.file("evening.html").starts_with(b"<!doctype html>"));
}

#[test]
fn the_real_table_comes_true() {
    let shell = comes_true("rules-core/manual/the-real-table.md", 4);
    assert!(shell.file("ground.pdf").starts_with(b"%PDF-1."));
}

#[test]
fn studying_and_converting_come_true() {
    comes_true("rules-core/manual/study-and-convert.md", 10);
}

/// In rules that the chapter speaks of, commanders are hardly heard.
#[test]
fn trials_and_an_evening_alone_come_true() {
    let rules = read("rules-core/shipped/musket.toml");
    let deaf = rules
        .replacen("command_radius = 10", "command_radius = 3", 1)
        .replacen("command_radius = 7", "command_radius = 3", 1);
    assert_eq!(deaf.matches("command_radius = 3").count(), 2);
    let shell = Shell::new();
    shell.write("deaf.toml", &deaf);
    shell.write("red.txt", "red-2: forward up to 100 mm\n");
    comes_true_in(shell, "rules-core/manual/trials-and-solo.md", 6);
}

#[test]
fn the_programs_own_page_comes_true() {
    comes_true("client-cli/manual/program.md", 4);
}

#[test]
fn the_rules_writers_first_page_comes_true() {
    let shell = comes_true("rules-core/manual/rules-writer.md", 10);
    assert!(shell.file("opening.png").starts_with(b"\x89PNG"));
    assert!(shell.file("ruleset.schema.json").starts_with(b"{"));
}
