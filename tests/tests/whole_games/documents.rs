//! The documents told step by step: the README's first game, and the chapters of the manual that show
//! commands.

use crate::transcripts::{Shell, Step, steps};

fn document(path: &str) -> Vec<Step> {
    let path = format!("{}/../{path}", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path}: {error}"));
    steps(&text)
}

fn comes_true(path: &str, least: usize) -> Shell {
    let steps = document(path);
    assert!(steps.len() >= least, "{} steps in {path}", steps.len());
    let mut shell = Shell::new();
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
