//! Whole battles through the two real programs: a server process, and a client process for every command
//! that a player types.

mod by_post;
mod club;
#[cfg(unix)]
mod documents;
mod notices;
mod programs;
mod signed;
#[cfg(unix)]
mod transcripts;

use fieldpost_commander::Chance;
use fieldpost_rules::game::Game;
use fieldpost_rules::record::audit::{Audited, Line, audit};

use programs::{Player, Post};

/// More player turns than any shipped battle has: a game that never ends must fail, not hang.
const MOST_PLAYER_TURNS: u32 = 60;

/// The record as the server has it, checked from nothing.
fn audited(player: &Player) -> Audited {
    let text = player.ok(&["record", "--fresh"]);
    let lines: Vec<Line> = text
        .lines()
        .map(|line| serde_json::from_str(line).expect("a line of a record"))
        .collect();
    audit(&lines).unwrap_or_else(|fault| panic!("{fault}"))
}

fn side_to_move<'a>(game: &Game, players: &'a [Player; 2]) -> &'a Player {
    &players[game.player()]
}

/// Plays one player turn as a player would: writes a sheet, tries it, posts it.
fn play_turn(game: &Game, players: &[Player; 2], chance: &mut Chance) {
    let player = side_to_move(game, players);
    let sheet = fieldpost_commander::sheet(game, chance).expect("some sheet can always be written");
    let file = player.write("sheet.json", &serde_json::to_string(&sheet).expect("json"));
    player.ok(&["try", &file, "--fresh"]);
    player.ok(&["post", &file, "--all-stand"]);
}

#[test]
fn quern_bridge_is_fought_to_its_end() {
    let post = Post::start();
    let players = post.open_battle("quern-bridge", ["red", "blue"]);
    let mut chance = Chance::new(11);
    let mut audit = audited(&players[0]);
    for _ in 0..MOST_PLAYER_TURNS {
        if audit.game.ending().is_some() {
            break;
        }
        play_turn(&audit.game, &players, &mut chance);
        audit = audited(&players[0]);
    }
    let ending = audit.game.ending().expect("it ends");
    assert_eq!(ending.scores.len(), 2);
    assert!(audit.throws > 0, "somebody fought");
    let news = players[1].ok(&["news", "--all"]);
    let why = ending.why.trim_end_matches('.').to_lowercase();
    assert!(
        news.to_lowercase().contains(&why),
        "the news tells that {why}: {news}"
    );
    for player in &players {
        let table = player.ok(&["table", "--width", "80"]);
        assert!(
            table.lines().all(|line| line.chars().count() <= 80),
            "{table}"
        );
        let file = player.folder().join("table.svg");
        player.ok(&["table", "--svg", &file.display().to_string()]);
        assert!(
            std::fs::read_to_string(file)
                .expect("drawn")
                .starts_with("<svg")
        );
    }
    // the saved record holds up in a program that never saw the server
    let saved = players[0]
        .folder()
        .join("game.ndjson")
        .display()
        .to_string();
    players[0].ok(&["record", "--out", &saved]);
    players[0].ok(&["audit", &saved]);
}

#[test]
fn a_server_killed_between_postings_goes_on_where_it_was() {
    let mut post = Post::start();
    let players = post.open_battle("withy-bridge", ["red", "blue"]);
    let mut chance = Chance::new(5);
    let mut head = audited(&players[0]).head;
    for _ in 0..6 {
        post.kill_and_start_again();
        let found = audited(&players[1]);
        assert_eq!(found.head, head, "nothing was lost and nothing was made up");
        if found.game.ending().is_some() {
            break;
        }
        play_turn(&found.game, &players, &mut chance);
        head = audited(&players[0]).head;
        assert_ne!(head, found.head);
    }
}

#[test]
fn a_refused_sheet_changes_nothing_and_says_why() {
    let post = Post::start();
    let players = post.open_battle("withy-bridge", ["red", "blue"]);
    let before = audited(&players[0]);
    let sheet = players[0].write("far.txt", "red-1: forward 400 mm\n");
    let (code, said) = players[0].run(&["try", &sheet, "--fresh"]);
    assert_eq!(code, 3, "{said}");
    assert!(said.contains("allowance"), "{said}");
    let (code, said) = players[0].run(&["post", &sheet, "--untried"]);
    assert_ne!(code, 0, "{said}");
    assert!(said.contains("allowance"), "{said}");
    let (code, said) = players[1].run(&["post", &sheet]);
    assert_ne!(code, 0, "it is not blue's turn: {said}");
    assert_eq!(audited(&players[1]).head, before.head);
}
