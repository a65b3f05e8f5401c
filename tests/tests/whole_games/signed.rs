//! Games in which everything is signed, by two clients with keys of their own: several devices, a lost one, an organiser
//! who rules, and what a record without a signature is told to be.

use fieldpost_commander::Chance;
use fieldpost_rules::game::Event;
use fieldpost_rules::record::Entry;
use serde_json::Value;

use crate::programs::{Player, Post};
use crate::{MOST_PLAYER_TURNS, audited, play_turn};

fn entries(player: &Player) -> Vec<Entry> {
    let text = player.ok(&["record", "--fresh"]);
    let entry = |line: &str| {
        let line: Value = serde_json::from_str(line).expect("a line");
        serde_json::from_str(line["body"].as_str().expect("text")).expect("an entry")
    };
    text.lines().map(entry).collect()
}

fn game_of(entries: &[Entry]) -> [u8; 16] {
    let Event::Opened { game, signed, .. } = &entries[0].event else {
        panic!("no opening");
    };
    assert!(signed);
    hex::decode(game)
        .expect("hex")
        .try_into()
        .expect("16 bytes")
}

fn json(text: &str) -> Value {
    serde_json::from_str(text).expect("JSON")
}

#[test]
fn a_battle_is_fought_to_its_end_with_every_posting_signed() {
    let post = Post::start();
    let players = post.open_battle("withy-bridge", ["red", "blue"]);
    let standing = players[1].write("standing.txt", "all: follow up\n");
    players[1].ok(&["standing", "set", &standing]);
    let mut chance = Chance::new(5);
    let mut audit = audited(&players[0]);
    for _ in 0..MOST_PLAYER_TURNS {
        if audit.game.ending().is_some() {
            break;
        }
        play_turn(&audit.game, &players, &mut chance);
        audit = audited(&players[0]);
    }
    assert!(audit.game.ending().is_some(), "it ends");
    let entries = entries(&players[0]);
    let game = game_of(&entries);
    let mut keys = std::collections::BTreeMap::new();
    let mut signed = 0;
    for entry in &entries {
        if let Event::SeatTaken {
            seat: Some(seat),
            key: Some(key),
            ..
        } = &entry.event
        {
            keys.insert(seat.clone(), key.clone());
        }
        let must = matches!(
            entry.event,
            Event::SheetAccepted { .. } | Event::InstructionsChanged { .. }
        );
        assert_eq!(entry.posted.is_some(), must, "entry {}", entry.number);
        if let Some(posted) = &entry.posted {
            let key = posted.verify(&game).expect("sound").expect("signed");
            assert_eq!(keys.get(&posted.seat), Some(&hex::encode(key)));
            signed += 1;
        }
    }
    assert!(signed > 2 && keys.len() == 2, "{signed} signed");
    // Both read the same to each other.
    let read = |player: &Player| json(&player.ok(&["compare", "--json"]))["read_aloud"].clone();
    assert_eq!(read(&players[0]), read(&players[1]));
    let own = json(&players[0].ok(&["keys", "--json"]));
    assert_eq!(own["seats"].as_array().map(Vec::len), Some(2));
}

/// The same seat on another device: its key, its seat's key and what it does there.
fn second_device(post: &Post, player: &Player, name: &str) -> (Player, String) {
    let second = Player::new("second");
    let seats = std::fs::read_to_string(player.folder().join("config").join("seats.toml"));
    let seats = seats.expect("read");
    // The only seat that is kept there.
    let key = seats.lines().find_map(|line| line.strip_prefix("key = "));
    let key = key.expect("a key").trim_matches('"').to_owned();
    let file = second.write("seat.key", &key);
    second.ok(&[
        "seats",
        "keep",
        name,
        "--server",
        &post.url(),
        "--key-file",
        &file,
    ]);
    let made = json(&second.ok(&["keys", "new", "--json"]));
    (second, made["key"].as_str().expect("a key").to_owned())
}

#[test]
fn each_device_has_a_key_of_its_own() {
    let post = Post::start();
    let [red, blue] = post.open_battle("withy-bridge", ["red", "blue"]);
    let (second, key) = second_device(&post, &red, "red");
    let hold = second.write("hold.txt", "");
    let (code, said) = second.run(&["post", &hold, "--all-stand"]);
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("fieldpost keys add"), "{said}");
    red.ok(&["keys", "add", &key]);
    second.ok(&["post", &hold, "--all-stand"]);
    let hold = blue.write("hold.txt", "");
    blue.ok(&["post", &hold, "--all-stand"]);
    // Removed, it signs nothing more, and says so by itself.
    red.ok(&["keys", "remove", &key]);
    let hold = second.write("hold.txt", "");
    let (code, said) = second.run(&["post", &hold, "--all-stand"]);
    assert_eq!(code, 6, "{said}");
    assert!(
        said.contains("does not sign with this machine's key"),
        "{said}"
    );
    let hold = red.write("hold.txt", "");
    red.ok(&["post", &hold, "--all-stand"]);
    let own = json(&red.ok(&["keys", "--json"]))["own"].clone();
    let (code, said) = red.run(&["keys", "remove", own.as_str().expect("a key")]);
    assert_eq!(code, 4, "the last key stays: {said}");
    audited(&blue);
}

#[test]
fn a_lost_key_is_replaced_on_the_organisers_word_and_with_the_other_sides() {
    let post = Post::start();
    let (organiser, [red, blue]) = post.open_battle_with("withy-bridge", &[], ["red", "blue"]);
    let (second, key) = second_device(&post, &red, "red");
    let seats = json(&organiser.ok(&["seating", "--json"]));
    let seat = seats["seats"][0]["seat"]
        .as_str()
        .expect("an id")
        .to_owned();
    organiser.ok(&["keys", "replace", &seat, &key, "Its laptop is gone."]);
    // Until the other side agrees, or three days have gone by, the old one signs.
    let hold = second.write("hold.txt", "");
    assert_eq!(second.run(&["post", &hold, "--all-stand"]).0, 1);
    assert_eq!(
        red.run(&["keys", "countersign", &seat, &key]).0,
        4,
        "not one's own"
    );
    blue.ok(&["keys", "countersign", &seat, &key]);
    second.ok(&["post", &hold, "--all-stand"]);
    let hold = red.write("hold.txt", "");
    let (code, said) = red.run(&["post", &hold, "--all-stand"]);
    assert_eq!(code, 6, "{said}");
    audited(&blue);
}

#[test]
fn an_organiser_rules_with_a_key_of_their_own() {
    let post = Post::start();
    let (organiser, [red, blue]) = post.open_battle_with("withy-bridge", &[], ["red", "blue"]);
    red.ok(&["dispute", "Who begins?"]);
    organiser.ok(&["rule", "Red does."]);
    organiser.ok(&["rule", "--pass", "Or not."]);
    let entries = entries(&blue);
    let game = game_of(&entries);
    let rulings: Vec<_> = entries
        .iter()
        .filter(|entry| matches!(entry.event, Event::RulingGiven { .. }))
        .collect();
    assert_eq!(rulings.len(), 2);
    for ruling in rulings {
        let posted = ruling.posted.as_ref().expect("posted");
        assert_eq!(posted.seat, "organiser");
        assert!(posted.verify(&game).expect("sound").is_some());
    }
    audited(&blue);
}

#[test]
fn a_game_may_be_opened_without_signatures() {
    let post = Post::start();
    let flags = ["--without-signatures"];
    let (_, [red, blue]) = post.open_battle_with("withy-bridge", &flags, ["red", "blue"]);
    let hold = red.write("hold.txt", "");
    red.ok(&["post", &hold, "--all-stand"]);
    let file = blue.folder().join("game.ndjson").display().to_string();
    blue.ok(&["record", "--out", &file]);
    let said = blue.ok(&["audit", &file]);
    assert!(said.contains("without signatures"), "{said}");
}
