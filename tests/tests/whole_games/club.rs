//! A club: members with keys of their own, an umpire, a key renewed, and news that are waited for.

use serde_json::Value;

use crate::programs::{Player, Post};

fn json(text: &str) -> Value {
    serde_json::from_str(text).expect("json")
}

fn text<'v>(value: &'v Value, name: &str) -> &'v str {
    value[name].as_str().expect(name)
}

#[test]
fn a_member_gets_a_key_renews_it_and_is_removed() {
    let post = Post::start();
    let organiser = post.organiser();
    let ann = Player::new("ann");
    let key_file = ann.folder().join("ann.key").display().to_string();
    let added = json(&organiser.ok(&["members", "add", "Ann", "--out", &key_file, "--json"]));
    let url = post.url();
    ann.ok(&[
        "seats",
        "keep",
        "club",
        "--server",
        &url,
        "--key-file",
        &key_file,
    ]);
    ann.ok(&["seats", "renew", "club"]);
    // The organiser's copy opens nothing any more, Ann's does.
    let stale = ["games", "--server", &url, "--key-file", &key_file];
    assert_eq!(ann.run(&stale).0, 4);
    ann.ok(&["games"]);
    let listed = ann.ok(&["seats", "list", "--json"]);
    assert_eq!(json(&listed)["seats"][0]["role"], "member");
    let id = text(&added["member"], "id");
    organiser.ok(&["members", "role", id, "organiser"]);
    let members = json(&ann.ok(&["members", "--json"]));
    assert_eq!(members["members"][0]["role"], "organiser");
    organiser.ok(&["members", "remove", id]);
    assert_eq!(ann.run(&["games"]).0, 4);
    assert!(organiser.ok(&["members"]).contains("no members"));
}

#[test]
fn a_seat_is_freed_and_an_umpire_looks_on() {
    let post = Post::start();
    let (organiser, [red, _]) = post.open_battle_with("withy-bridge", &[], ["red", "blue"]);
    organiser.ok(&["spectators", "off"]);
    let file = organiser.folder().join("umpire.txt").display().to_string();
    organiser.ok(&["seating", "add", "--umpire", "--out", &file]);
    let umpire = Player::new("umpire");
    let url = post.url();
    umpire.ok(&[
        "join",
        "--player",
        "Dogwood",
        "--server",
        &url,
        "--invitation-file",
        &file,
        "--name",
        "umpire",
    ]);
    umpire.ok(&["table"]);
    let seats = json(&organiser.ok(&["seating", "--json"]));
    let of = |role: &str| {
        let seats = seats["seats"].as_array().expect("seats");
        seats
            .iter()
            .find(|seat| seat["role"] == role || seat["side"] == role)
            .expect("a seat")
            .clone()
    };
    assert_eq!(of("umpire")["player"], "Dogwood");
    organiser.ok(&["seating", "free", text(&of("red"), "seat")]);
    assert_eq!(red.run(&["table"]).0, 4, "the key opens nothing");
    let again = organiser.folder().join("red.txt").display().to_string();
    organiser.ok(&[
        "invite",
        "--seat-id",
        text(&of("red"), "seat"),
        "--out",
        &again,
    ]);
    let second = Player::new("second");
    second.ok(&[
        "join",
        "--player",
        "Cedar",
        "--server",
        &url,
        "--invitation-file",
        &again,
    ]);
    assert!(organiser.ok(&["games"]).contains("Cedar"));
    second.ok(&["seats", "renew", "withy-bridge-red"]);
    second.ok(&["table"]);
    second.ok(&["seats", "revoke", "withy-bridge-red"]);
    assert!(second.ok(&["seats"]).contains("No seat"));
}

#[test]
fn news_are_waited_for() {
    let post = Post::start();
    let [red, blue] = post.open_battle("withy-bridge", ["red", "blue"]);
    blue.ok(&["news"]);
    let told = std::thread::scope(|scope| {
        let waiting = scope.spawn(|| blue.ok(&["news", "--wait"]));
        let sheet = red.write("red.txt", "red-1: forward 40 mm\n");
        red.ok(&["post", &sheet]);
        waiting.join().expect("no panic")
    });
    assert!(told.contains("It is your turn"), "{told}");
    // What is there already is not waited for.
    blue.ok(&["news", "--wait", "--after", "1"]);
}
