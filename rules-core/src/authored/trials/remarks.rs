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
