//! The wording of faults, one line a case: each edit to the starter files and what is said of it.

use std::fmt::Write as _;

use super::open_with;

/// Every fault of the starter files after each of the edits, made one at a time.
fn told(is_ruleset: bool, edits: &[(&str, &str)]) -> String {
    let mut text = String::new();
    for edit in edits {
        let opened = if is_ruleset {
            open_with(&[*edit], &[])
        } else {
            open_with(&[], &[*edit])
        };
        let lines = match opened {
            Ok(_) => "no fault".to_owned(),
            Err(faults) => {
                let lines = faults.faults.iter().map(|fault| fault.line_of_text());
                lines.collect::<Vec<_>>().join("\n")
            }
        };
        let _ = writeln!(text, "{}\n{lines}\n", edit.1.replace('\n', "⏎"));
    }
    text
}

#[test]
fn faults_of_a_ruleset() {
    let text = told(
        true,
        &[
            ("format = 1", "format = 2"),
            ("name = \"My rules\"", ""),
            ("name = \"My rules\"", "name = 7"),
            ("halt_zone = 0.5", "halt_zome = 0.5"),
            ("halt_zone = 0.5", "halt_zone = \"40 furlongs\""),
            ("halt_zone = 0.5", "halt_zone = -1"),
            ("halt_zone = 0.5", "halt_zone = nan"),
            ("movement_point = 1 ", "movement_point = \"1 MP\" "),
            ("movement_points = 4", "movement_points = \"4\""),
            ("arm = \"foot\"", "arm = \"infantry\""),
            ("arm = \"horse\"", "arm = \"hors\""),
            ("strength_per_base = 1", "strength_per_base = 0"),
            ("command_radius = 8", ""),
            (
                "strength_per_base = 2",
                "bombard_range = 6\nstrength_per_base = 2\ncommand_radius = 3",
            ),
            ("throw = [2, 4]", "throw = [2, 5]"),
            ("throw = [2, 4]", "throw = [3, 4]"),
            ("throw = [2, 4]", "throw = [4, 2]"),
            ("throw = 1", "throw = 7"),
            ("throw = 1", "throw = \"one\""),
            ("\"1:1\", \"2:1\"]", "\"2:1\", \"1:1\"]"),
            ("\"1:1\", \"2:1\"]", "\"1:1\", 2]"),
            ("\"1:1\", \"2:1\"]", "\"1:1\", \"2:0\"]"),
            ("\"1:1\", \"2:1\"]", "\"1:1\"]"),
            (
                "\"stand\", \"defender gives way\", \"defender loses\"]",
                "\"stand\", \"defender gives way\", \"defender looses\"]",
            ),
            (
                "[results.outcome.stand]",
                "[results.outcome.hold]\n[results.outcome.stand]",
            ),
            (
                "count = 1, faces = 6",
                "count = 99999999999999999999, faces = 1.5",
            ),
            ("count = 1, faces = 6", "count = 0, faces = 6"),
            ("{ count = 1, faces = 6 }", "\"2d6\""),
            ("halt_zone = 0.5", "halt_zone = “2 in”"),
            ("[troops.foot]", "[troops.light foot]"),
            ("[zones]", "[[zones]]"),
        ],
    );
    insta::assert_snapshot!(text);
}

#[test]
fn faults_of_syntax() {
    let text = told(
        false,
        &[
            ("name = \"General Red\"", "name = \"General Red"),
            ("name = \"General Red\"", "name \"General Red\""),
            ("name = \"General Red\"", "name: \"General Red\""),
            ("name = \"General Red\"", "= \"General Red\""),
            ("name = \"General Red\"", "general name = \"Red\""),
            ("name = \"General Red\"", "name = \"Gen\\eral Red\""),
            ("files = 3\n", "files = 3,\n"),
            ("files = 3\n", "files = three\n"),
            ("files = 3\n", "files = 1.\n"),
            ("files = 3\n", "files = 03\n"),
            ("at = [300, 480, 180]", "at = [300, 480 180]"),
            ("at = [300, 480, 180]", "at = [300, 480, 180"),
            ("at = [300, 480, 180]", "at = (300, 480, 180)"),
            ("[[objective]]", "[[objective]"),
            ("[[objective]]", "[objective]"),
            ("[[line.span]]", "[line.span]"),
            (
                "[[objective]]",
                "[objective]\nname = \"Inn\"\n[[objective]]",
            ),
            ("[[objective]]", "[[objective.the inn]] # with a cellar"),
            ("at = [300, 480, 180]", "at = [\n[a 1]]"),
            ("[victory]", "[victory]\n[victory]"),
            ("[victory]", "{victory}"),
            ("[victory]", "victory"),
        ],
    );
    insta::assert_snapshot!(text);
}

#[test]
fn faults_of_a_scenario() {
    let text = told(
        false,
        &[
            ("kind = \"wood\"", "kind = \"woods\""),
            ("kind = \"wood\"", "kind = \"jungle\""),
            ("kind = \"stream\"", "kind = \"creek\""),
            ("troops = \"guns\"", "troops = \"gun\""),
            ("side = \"blue\"", "side = \"bleu\""),
            ("key = \"blue\"", "key = \"red\""),
            ("id = \"blue-1\"", "id = \"Red-1\""),
            ("id = \"blue-1\"", "id = \"blue 1\""),
            (
                "id = \"blue-1\"\n",
                "id = \"blue-1\"\nunder = \"blue-general\"\n",
            ),
            ("id = \"blue-1\"\n", "id = \"blue-1\"\nunder = \"blue-2\"\n"),
            (
                "id = \"blue-1\"\n",
                "id = \"blue-1\"\ncommand = \"chief\"\n",
            ),
            (
                "id = \"blue-1\"\n",
                "id = \"blue-1\"\nranks = 2\nbases = 3\n",
            ),
            ("id = \"blue-1\"\n", "id = \"blue-1\"\nbases = 1000000\n"),
            ("at = [400, 550, 180]\n", ""),
            ("at = [300, 480, 180]", "at = [330, 480, 180]"),
            ("at = [400, 550, 180]", "at = [400, 595, 180]"),
            ("at = [400, 550, 180]", "at = [1e300, inf, 180]"),
            ("at = [400, 550, 180]", "at = [1e300, 0, 180]"),
            ("at = [400, 550, 180]", "at = [400, 550]"),
            ("at = [380, 120, 0]", "at = [380, 205, 0]"),
            ("[210, 240], [250, 330]", "[250, 330], [210, 240]"),
            ("[210, 240], [250, 330]", "[210, 240], [210, 240]"),
            ("at = [620, 300]\nwidth", "at = [620, 250]\nwidth"),
            (
                "kind = \"wood\"\noutline = [[80, 260], [210, 240], [250, 330], [120, 370]]",
                "kind = \"lake\"\noutline = [[80, 100], [210, 100], [250, 330], [120, 370]]",
            ),
            ("to_mm = 760", "to_mm = 630"),
            ("to_mm = 760", "to_mm = 910"),
            ("game_turn = 3", "game_turn = 9"),
            ("colour = \"#2f5fa8\"", "colour = \"blue\""),
            ("radius_mm = 60\n", "radius_mm = 60\nheld_by = \"green\"\n"),
            ("files = 2\nat", "files = 0\nat"),
            ("name = \"General Red\"", "name = \"General \u{202e}Red\""),
            ("name = \"General Red\"", "name = General Red"),
            ("draw_within = 2", "win_at = 0"),
            ("[table]", "[table"),
            ("id = \"blue-1\"\n", "id = \"blue-1\"\nid = \"blue-9\"\n"),
        ],
    );
    insta::assert_snapshot!(text);
}

/// After a missing `command` it is the commander meant that is spoken of, and no other of a similar name.
#[test]
fn a_commander_without_command_is_the_one_spoken_of() {
    let opened = open_with(
        &[],
        &[
            (
                "id = \"red-1\"\n",
                "id = \"red-1\"\nunder = \"red-marshal\"\n",
            ),
            (
                "[[unit]]\nid = \"red-general\"",
                "[[unit]]\nid = \"red-marshal\"\nname = \"Marshal\"\nside = \"red\"\ntroops = \"general\"\nat = [700, 60, 0]\n\n\
                 [[unit]]\nid = \"red-marshall\"\nname = \"Another\"\nside = \"red\"\ntroops = \"general\"\ncommand = \"subordinate\"\nat = [800, 60, 0]\n\n\
                 [[unit]]\nid = \"red-general\"",
            ),
        ],
    );
    let faults = opened.expect_err("a commander has no place").faults;
    let lines: Vec<String> = faults.iter().map(|fault| fault.line_of_text()).collect();
    let under = lines
        .iter()
        .find(|line| line.contains(".under:"))
        .expect("it is told");
    assert!(
        under.contains("add command = \"subordinate\" to \"red-marshal\""),
        "{under}"
    );
    assert!(
        lines.iter().all(|line| !line.contains("red-marshall")),
        "{lines:#?}"
    );
}
