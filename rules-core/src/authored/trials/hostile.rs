//! Texts that mean harm or are merely damaged: no panic, a plain answer. How long they take is a bench.

use proptest::prelude::*;

use super::{edited, open_with};
use crate::authored::{MOST_BYTES, open_battle, read_ruleset, starter_ruleset, starter_scenario};

#[test]
fn ten_megabytes_are_refused_at_once() {
    let text = "name = \"x\"\n".repeat(1_000_000);
    let faults = read_ruleset("big.toml", &text).expect_err("too long");
    // its length is all that is told of it: it was not read
    assert_eq!(faults.faults.len(), 1);
    assert_eq!(
        faults.faults[0].line_of_text(),
        "big.toml: the file is 10.5 MiB long, and at most 1 MiB are read; \
         rulesets and scenarios take a few dozen KiB; is this the right file?"
    );
}

#[test]
fn the_longest_nonsense_is_told_briefly() {
    let many_keys: String = (0..90_000).map(|n| format!("k{n} = 1\n")).collect();
    for line in [
        &many_keys[..],
        "x\n",
        "[[\n",
        "= = =\n",
        "\u{1b}[31m\n",
        "[light \u{1b}[31mgun]\n",
        "[light\u{1b}gun]\n",
        "[[side\u{1b} \u{202e}a]]\n",
        "[a]\n",
        "\"\"\"",
        "{",
        "[",
        "a.a.a.",
    ] {
        let text = line.repeat(1.max(MOST_BYTES / line.len()));
        let line = &line[..line.len().min(12)];
        let faults = read_ruleset("nonsense.toml", &text).expect_err("nonsense");
        assert!(faults.faults.len() <= 100);
        let told = faults.to_string();
        assert!(!told.contains('\u{1b}'), "{line:?} reaches the terminal");
        assert!(told.len() < 400_000, "{line:?}: {} bytes", told.len());
    }
}

#[test]
fn deep_nesting_is_named() {
    let list = format!("x = {}1{}", "[".repeat(1000), "]".repeat(1000));
    let table = format!("x = {}1{}", "{a=".repeat(1000), "}".repeat(1000));
    let heading = format!("[{}a]", "a.".repeat(1000));
    for text in [list, table, heading] {
        let faults = read_ruleset("deep.toml", &text).expect_err("too deep");
        assert!(
            faults
                .faults
                .iter()
                .any(|fault| fault.problem == "the file is nested too deep"),
            "{faults}"
        );
    }
}

#[test]
fn faults_of_both_files_are_told_together() {
    let ruleset = [("name = \"My rules\"", "name = 1")];
    let scenario = [("files = 3", "fils = 3"), ("[victory]", "[victori]")];
    let faults = open_with(&ruleset, &scenario).expect_err("three faults");
    let lines: Vec<_> = faults.faults.iter().map(|fault| &fault.path[..]).collect();
    assert_eq!(lines, ["name", "unit[0].fils", "victori"]);
}

#[test]
fn shape_and_meaning_are_told_together() {
    let scenario = [
        (
            "files = 2\nat = [240, 120, 0]",
            "fils = 2\nat = [240, 120, 0]",
        ),
        ("at = [300, 480, 180]", "at = [330, 480, 180]"),
        ("game_turn = 3", "game_turn = 30"),
    ];
    let faults = open_with(&[], &scenario).expect_err("three faults");
    let paths: Vec<_> = faults.faults.iter().map(|fault| &fault.path[..]).collect();
    assert_eq!(
        paths,
        ["unit[1].fils", "unit[4].at", "unit[6].arrives.game_turn"]
    );
}

#[test]
fn faults_as_data() {
    let faults = open_with(&[], &[("kind = \"wood\"", "kind = \"woods\"")]).expect_err("a fault");
    let data = serde_json::to_value(&faults).expect("data");
    assert_eq!(
        data,
        serde_json::json!({
            "faults": [{
                "file": "battle.toml", "path": "terrain[0].kind", "line": 28, "column": 8,
                "problem": "\"woods\" is no kind of terrain in these rules",
                "remedy": "did you mean \"wood\"?",
            }],
            "left_out": 0,
        })
    );
}

#[test]
fn faults_with_carets() {
    let scenario = [
        ("kind = \"wood\"", "kind = \"woods\""),
        ("at = [300, 480, 180]", "\tat = [330, 480, 180]"),
    ];
    let faults = open_with(&[], &scenario).expect_err("two faults");
    let text = faults.to_string();
    insta::assert_snapshot!(text);
    assert!(faults.rendered(true).contains('\u{1b}'));
}

/// A text with some of its bytes exchanged, taken out or doubled, as UTF-8 again.
fn damaged(text: &str, damage: &[(usize, u8, u8)]) -> String {
    let mut bytes = text.as_bytes().to_vec();
    for &(at, kind, byte) in damage {
        let at = at % bytes.len();
        match kind % 4 {
            0 => bytes[at] = byte,
            1 => {
                bytes.remove(at);
            }
            2 => bytes.insert(at, byte),
            _ => {
                let end = (at + usize::from(byte)).min(bytes.len());
                let piece = bytes[at..end].to_vec();
                let to = (at * 7919) % bytes.len();
                bytes.splice(to..to, piece);
            }
        }
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

proptest! {
    #[test]
    fn no_bytes_make_it_panic(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        let text = String::from_utf8_lossy(&bytes).into_owned();
        let opened = open_battle(("r", &text), ("s", &text));
        prop_assert!(opened.is_err());
        prop_assert!(!opened.expect_err("checked").faults.is_empty());
    }

    #[test]
    fn no_damage_makes_it_panic(
        rules in proptest::collection::vec((any::<usize>(), any::<u8>(), any::<u8>()), 0..3),
        battle in proptest::collection::vec((any::<usize>(), any::<u8>(), any::<u8>()), 0..6),
    ) {
        let rules = damaged(starter_ruleset(), &rules);
        let battle = damaged(starter_scenario(), &battle);
        if let Err(faults) = open_battle(("r.toml", &rules), ("b.toml", &battle)) {
            prop_assert!(!faults.faults.is_empty());
            prop_assert!(!faults.to_string().is_empty());
        }
    }

    #[test]
    fn any_number_in_place_of_any_other(
        which in 0usize..60,
        number in prop_oneof![
            Just("nan".to_owned()), Just("inf".to_owned()), Just("-1e308".to_owned()),
            Just("0".to_owned()), Just("-0.0".to_owned()), Just("9223372036854775807".to_owned()),
            Just("1e-300".to_owned()), any::<f64>().prop_map(|x| format!("{x:?}")),
            any::<i64>().prop_map(|x| x.to_string()),
        ],
    ) {
        let text = starter_scenario();
        let places: Vec<_> = text.match_indices(|c: char| c.is_ascii_digit()).collect();
        let (at, _) = places[which * 7 % places.len()];
        let end = text[at..].find(|c: char| !c.is_ascii_digit()).map_or(text.len(), |n| at + n);
        let battle = format!("{}{number}{}", &text[..at], &text[end..]);
        if let Err(faults) = open_battle(("r.toml", starter_ruleset()), ("b.toml", &battle)) {
            prop_assert!(!faults.faults.is_empty());
        }
    }
}

/// A patch of `corners` corners round a circle that no unit of the starter scenario stands in.
fn round_patch(number: usize, corners: u32) -> String {
    let corner = |index: u32| {
        let angle = f64::from(index) / f64::from(corners) * std::f64::consts::TAU;
        let (x, y) = (-200.0 + 90.0 * libm::cos(angle), 90.0 * libm::sin(angle));
        format!("[{x:.3}, {y:.3}]")
    };
    let outline: Vec<_> = (0..corners).map(corner).collect();
    format!(
        "\n[[terrain]]\nname = \"Pond {number}\"\nkind = \"lake\"\noutline = [{}]\n",
        outline.join(", ")
    )
}

#[test]
fn the_largest_maps_and_armies_are_read_and_told_briefly() {
    let map: String = (0..98).map(|number| round_patch(number, 500)).collect();
    let army: String = (0..990)
        .map(|n| {
            let (x, y) = (430 + n % 33, 400 - n / 33);
            format!("\n[[unit]]\nid = \"r{n}\"\nname = \"Unit {n}\"\nside = \"red\"\ntroops = \"general\"\ncommand = \"subordinate\"\nat = [{x}, {y}, 0]\n")
        })
        .collect();
    // what is wrong with them is told as briefly as of any file; how long that takes is a bench
    for (more, is_sound) in [(map, true), (army, false)] {
        let battle = format!("{}{more}", starter_scenario());
        assert!(battle.len() <= MOST_BYTES);
        let opened = open_battle(("r.toml", starter_ruleset()), ("b.toml", &battle));
        assert_eq!(opened.is_ok(), is_sound);
        if let Err(faults) = opened {
            assert!(faults.faults.len() <= 100 && faults.left_out > 0);
        }
    }
}

#[test]
fn a_file_with_windows_line_ends_opens() {
    let crlf = |text: &str| edited(text, &[]).replace('\n', "\r\n");
    let opened = open_battle(
        ("r.toml", &crlf(starter_ruleset())),
        ("b.toml", &crlf(starter_scenario())),
    );
    assert!(opened.is_ok());
}
