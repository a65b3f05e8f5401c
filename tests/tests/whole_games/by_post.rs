//! What players and umpire do between postings, typed as they would type it.

use crate::audited;
use crate::programs::Post;

#[test]
fn a_clock_a_dispute_a_ruling_and_a_battle_given_up() {
    let post = Post::start();
    let flags = ["--days", "3", "--leave-days", "14", "--remind", "2,1"];
    let (organiser, [red, blue]) = post.open_battle_with("withy-bridge", &flags, ["red", "blue"]);
    let shown = red.ok(&["clock"]);
    assert!(shown.contains("red has time until"), "{shown}");
    let zoned = blue.ok(&["clock", "zone", "Australia/Lord_Howe"]);
    assert!(
        zoned.contains("count by the clock of Australia/Lord_Howe"),
        "{zoned}"
    );
    let (code, said) = blue.run(&["clock", "claim"]);
    assert_eq!(code, 4, "{said}");
    assert!(said.contains("has time until"), "{said}");
    let (code, said) = red.run(&["clock", "leave", "1999-01-01", "3"]);
    assert_eq!(code, 4, "{said}");
    assert!(said.contains("before it begins"), "{said}");
    // a sheet written before the clock's news still goes in
    let sheet = red.write("hold.txt", "");
    red.ok(&["try", &sheet, "--fresh"]);
    blue.ok(&["clock", "pause"]);
    blue.ok(&["news"]);
    red.ok(&["post", &sheet, "--all-stand"]);
    // blue's copy has not heard that it is its turn: the sheet is tried as its next one
    let march = blue.write("march.txt", "blue-chief: stand");
    let (code, said) = blue.run(&["try", &march]);
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("it is not your turn yet"), "{said}");
    assert!(said.contains("fieldpost news"), "{said}");
    blue.ok(&["try", &march, "--fresh"]);
    blue.ok(&["dispute", "--about", "2", "Was that so?"]);
    let place = [
        "rule",
        "--place",
        "Red-Chief",
        "300,60,10",
        "Was it a slip of the ruler?",
    ];
    let ruled = organiser.ok(&place);
    assert!(ruled.contains("The umpire rules"), "{ruled}");
    assert!(ruled.contains("The umpire sets"), "{ruled}");
    assert!(ruled.contains("ruler?") && !ruled.contains("?."), "{ruled}");
    let (code, said) = red.run(&["rule", "--pass", "I would like that."]);
    assert_eq!(code, 4, "{said}");
    let (code, _) = red.run(&["concede"]);
    assert_eq!(code, 2, "it wants to be sure");
    red.ok(&["concede", "--sure"]);
    let news = blue.ok(&["news", "--all"]);
    for told in [
        "played by the clock",
        "ask for a pause",
        "ask the umpire about event 2",
        "give the battle up",
        "The battle is over",
    ] {
        assert!(news.contains(told), "{told}: {news}");
    }
    let ending = audited(&blue).game.ending().cloned().expect("over");
    assert_eq!(ending.winner.map(|side| side.0).as_deref(), Some("blue"));
}
