//! Remarks on sound files, one line a case: the edits to the starter files and what is remarked.

use std::fmt::Write as _;

use super::{edited, open_with};
use crate::authored::{
    Remarks, open_battle, remarks_on_ruleset, remarks_on_scenario, starter_ruleset,
    starter_scenario,
};

type Edits<'e> = &'e [(&'e str, &'e str)];

/// The remarks on both starter files after some edits, which leave them sound.
fn remarked(rules: Edits<'_>, battle: Edits<'_>) -> [Remarks; 2] {
    let field = open_with(rules, battle).unwrap_or_else(|faults| panic!("{faults}"));
    let (rules, battle) = (
        edited(starter_ruleset(), rules),
        edited(starter_scenario(), battle),
    );
    [
        remarks_on_ruleset("rules.toml", &rules, &field.ruleset),
        remarks_on_scenario("battle.toml", &battle, &field.scenario, &field.ruleset),
    ]
}

fn told(cases: &[(Edits<'_>, Edits<'_>)]) -> String {
    let mut text = String::new();
    for (rules, battle) in cases {
        for (_, edit) in rules.iter().chain(*battle) {
            let _ = writeln!(text, "{}", edit.trim().replace('\n', "⏎"));
        }
        for remark in remarked(rules, battle).iter().flat_map(Remarks::all) {
            let _ = writeln!(text, "  {}", remark.line_of_text());
        }
        text.push('\n');
    }
    text
}

#[test]
fn likely_mistakes_are_remarked_on() {
    let strikes = "strike_zone = 1 ";
    let freely = (strikes, "zone_exit = \"free\"\nstrike_zone = 1 ");
    let paying = (
        strikes,
        "zone_exit = \"pay\"\nzone_exit_charge = 2\nstrike_zone = 1 ",
    );
    let withdrawal = (
        "[terrain.wood]",
        "[withdrawal]\nfaces = 6\n\n[terrain.wood]",
    );
    let independent = (
        "[terrain.wood]",
        "[command]\nindependent_subordinates = false\n\n[terrain.wood]",
    );
    let no_chief = ("command = \"chief\"", "command = \"subordinate\"");
    let lake = |outline: &str| {
        format!(
            "[[terrain]]\nname = \"Still Lake\"\nkind = \"lake\"\noutline = {outline}\n\n[[terrain]]\nname = \"Long Wood\""
        )
    };
    let wood = "[[terrain]]\nname = \"Long Wood\"";
    let (under_bridge, north) = (
        lake("[[540, 210], [700, 210], [700, 390], [540, 390]]"),
        lake("[[550, 560], [770, 560], [770, 600], [550, 600]]"),
    );
    // beside this one there is room for the unit's 80 mm
    let half = lake("[[550, 560], [670, 560], [670, 600], [550, 600]]");
    insta::assert_snapshot!(told(&[
        (&[], &[]),
        (&[(strikes, "strike_zone = 0.25 ")], &[]),
        (&[(strikes, "zone_exit_charge = 1\nstrike_zone = 1 ")], &[]),
        (&[paying], &[]),
        (&[freely, withdrawal], &[]),
        (&[paying, withdrawal], &[]),
        (&[withdrawal], &[]),
        (&[], &[("#2f5fa8", "#B03030")]),
        (&[], &[no_chief]),
        (&[independent], &[no_chief]),
        (
            &[],
            &[(
                "[[80, 260], [210, 240], [250, 330], [120, 370]]",
                "[[80, 660], [210, 640], [250, 730], [120, 770]]"
            )]
        ),
        (
            &[],
            &[("[[600, 0], [620, 300], [640, 600]]", "[[-9, 0], [-9, 600]]")]
        ),
        (
            &[],
            &[(
                "at = [620, 300]\nwidth_mm = 40",
                "at = [620, 300]\nwidth_mm = 900"
            )]
        ),
        (&[], &[(wood, &under_bridge)]),
        (&[], &[(wood, &north)]),
        (&[], &[(wood, &half)]),
    ]));
}

/// What was silent and is hardly meant: each edit of the starter files with what is said, and where.
#[test]
fn what_does_nothing_or_is_hardly_meant_is_remarked_on() {
    let wood = "drawn_as = \"wood\"";
    let slope_rules = [
        (
            "[lines.stream]",
            "[lines.edge]\nslope = true\n\n[lines.stream]",
        ),
        (wood, "drawn_as = \"hill\""),
    ];
    // the wood lies north of its south edge, which runs from (80, 260) to (210, 240)
    let slope = |from: &str, to: &str| {
        format!(
            "[[line]]\nname = \"Brow\"\nkind = \"edge\"\npoints = [{from}, {to}]\n\n[[line]]\nname = \"Mill Brook\""
        )
    };
    let brook = "[[line]]\nname = \"Mill Brook\"";
    let (west, east) = ("[80, 259]", "[210, 239]");
    let (up, down) = (slope(west, east), slope(east, west));
    let cases: [(Edits<'_>, Edits<'_>, &str); 19] = [
        (
            &[(wood, "drawn_as = \"wood\"\nblocks_sight = true")],
            &[],
            "blocks_sight does nothing",
        ),
        (
            &[(wood, "drawn_as = \"wood\"\nhigh = true")],
            &[],
            "high does nothing",
        ),
        (
            &[("charge = 2\n", "charge = 2\nblocks_sight = true\n")],
            &[],
            "lines.stream.blocks_sight",
        ),
        (
            &[("[terrain.lake]", "[movement]\nwheel = 0\n\n[terrain.lake]")],
            &[],
            "wheel costs nothing",
        ),
        (
            &[("rate = 2\n", "rate = 0\n")],
            &[],
            "units cross any width of it free",
        ),
        (
            &[(
                "[terrain.lake]",
                "[movement]\nminimum_move = { forward = 0 }\n\n[terrain.lake]",
            )],
            &[],
            "grants nothing",
        ),
        (
            &[("movement_points = 4", "movement_points = 0")],
            &[],
            "\"foot\" can never move",
        ),
        (
            &[("command_radius = 8 ", "command_radius = 0 ")],
            &[],
            "commands only units that touch it",
        ),
        (
            &[],
            &[("draw_within = 2", "draw_within = 2\nwin_at = 4000")],
            "4000 points are out of reach",
        ),
        (
            &[],
            &[("draw_within = 2", "draw_within = 9\nwin_at = 4")],
            "may not have that lead",
        ),
        (
            &[],
            &[("radius_mm = 60", "radius_mm = 0")],
            "on the very point",
        ),
        (
            &[],
            &[("name = \"Second Foot\"", "name = \"first foot\"")],
            "\"red-1\" is called",
        ),
        (
            &[],
            &[("id = \"red-2\"", "id = \"guns\"")],
            "must be written [guns]",
        ),
        (
            &[],
            // red-1 is 120 mm wide round x 380: its east side is at 440, a unit of 80 mm reaches 439.6
            &[("at = [240, 120, 0]", "at = [479.6, 120, 0]")],
            "begins 0.40 mm deep in \"red-1\"",
        ),
        (&[], &[("at = [240, 120, 0]", "at = [480, 120, 0]")], ""),
        (
            &slope_rules,
            &[(brook, &down)],
            "\"Brow\" is drawn upside down",
        ),
        (&slope_rules, &[(brook, &up)], ""),
        (&slope_rules[..1], &[(brook, &down)], ""),
        (&[], &[], ""),
    ];
    for (rules, battle, expected) in cases {
        let said = told(&[(rules, battle)]);
        let remarks = said.lines().filter(|line| line.starts_with("  ")).count();
        assert_eq!(remarks, usize::from(!expected.is_empty()), "{said}");
        assert!(said.contains(expected), "{expected}: {said}");
    }
}

#[test]
fn guns_excepted_from_no_duty_are_remarked_on() {
    let written = "[attacks]\ncompulsory = false\nguns_excepted = true\n\n[terrain.lake]";
    let said = told(&[(&[("[terrain.lake]", written)], &[])]);
    assert!(said.contains("a duty that nobody has"), "{said}");
    let compulsory = "[attacks]\nguns_excepted = true\n\n[terrain.lake]";
    let said = told(&[(&[("[terrain.lake]", compulsory)], &[])]);
    assert!(!said.contains("a duty that nobody has"), "{said}");
}

#[test]
fn shipped_files_are_not_remarked_on() {
    for scenario in crate::shipped::SCENARIOS {
        let battle = crate::shipped::find(scenario.key).expect("its ruleset is shipped");
        let (rules, text) = (battle.ruleset.text, battle.scenario.text);
        let field = open_battle(("rules", rules), ("battle", text)).expect("sound");
        let on_rules = remarks_on_ruleset("rules", rules, &field.ruleset);
        let on_battle = remarks_on_scenario("battle", text, &field.scenario, &field.ruleset);
        assert_eq!((on_rules.all(), on_battle.all()), (&[][..], &[][..]));
    }
}

#[test]
fn a_remark_is_drawn_as_one() {
    let [remarks, _] = remarked(&[("strike_zone = 1 ", "strike_zone = 0.25 ")], &[]);
    let drawn = remarks.rendered(false);
    assert!(drawn.starts_with("remark: units halt"), "{drawn}");
    assert!(drawn.contains("rules.toml:") && drawn.contains("= help: make strike_zone"));
}
