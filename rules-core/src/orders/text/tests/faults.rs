//! What faulty lines are told, word for word.

use super::{game, read};
use crate::orders::SideId;
use crate::orders::text::parse_instructions;

/// Every fault of a text, drawn.
#[track_caller]
fn drawn(text: &str) -> String {
    let faults = read(text).expect_err(text);
    let drawn: Vec<String> = faults.iter().map(|fault| fault.drawn(false)).collect();
    drawn.join("\n\n")
}

#[test]
fn every_faulty_line_is_reported_with_a_caret() {
    insta::assert_snapshot!(drawn(
        "turn 1 red\n\
         red-3: forward 120 mm, weel left 20°\n\
         red-4: forward 40\n\
         \n\
         grenadeers: about   # a slip\n\
         red-1: sidestep 20\n"
    ));
}

/// Who stands makes no legs; to stand at the end of some says nothing more.
#[test]
fn standing_and_legs_do_not_go_together() {
    for line in ["red-1: stand, forward 40", "red-1: halt then forward 40"] {
        let told = drawn(line);
        assert!(told.contains("Leave it out"), "{told}");
        assert!(!told.contains("did you mean"), "{told}");
    }
    for line in [
        "red-1: forward 40, stand",
        "red-1: forward 40 then halts",
        "red-1 advances 40 and holds",
    ] {
        assert_eq!(read(line), read("red-1: forward 40"), "{line}");
    }
    assert!(read("red-1: stand").is_ok());
}

/// After words that name a unit a word that is no verb is what was mistyped, unless a verb follows it: then the name is.
#[test]
fn of_a_name_and_a_verb_the_mistyped_one_is_told() {
    let told = |line: &str| format!("{:?}", read(line).expect_err("mistyped"));
    let verb = told("grey lanc advnce 80");
    assert!(
        verb.contains("advnce") && verb.contains("or a verb"),
        "{verb}"
    );
    let name = told("grey lamc advance 80");
    assert!(name.contains("no unit is called"), "{name}");
}

#[test]
fn each_fault_says_what_would_do() {
    let lines = [
        "red-1",
        "red-1 dances 20",
        "red-1:",
        "red-1: forward",
        "red-1: forward fast",
        "red-1: forward left 20",
        "red-1: forward 20 30",
        "red-1: forward -20",
        "red-1: forward 20 kg",
        "red-1: forward 3 yd",
        "red-1: forward 3 yd, about",
        "red-9 arrives at 3 yd: forward 40",
        "red-1: forward up 4 in",
        "red-1: forward 20°",
        "red-1: forward 12,5",
        "red-1: forward 1e9",
        "red-1: forward 9999999999999999999999",
        "red-1: forward NaN",
        "red-1: forward 20 wheel 20",
        "red-1: forward 20,",
        "red-1: wheel 20",
        "red-1: wheel left",
        "red-1: wheel left 400",
        "red-1: wheel left 9 m",
        "red-1: turn left 45",
        "red-1: turn left up to 45",
        "red-1: about left",
        "red-1: oblique left 80 mm",
        "red-1: reform",
        "red-1: reform 0x4",
        "red-1: reform 4x70000",
        "red-1: forward as far as",
        "line: about",
        "blew-1: about",
        "[red 1]: about",
        "red-1, red-2: wheel left 20",
        "red-1: wheel left to face red-1",
        "red-1: wheel left to face the moon",
        "red-1: forward up to 40, wheel to face blue-1",
        "together red-1, red-2: wheel to face blue-1",
        "red-1: wheel right to face north-west",
        "red-1-blue-1: forward 20",
        "red-7 to red-1: forward 20",
        "red-1 withdraws 30",
        "red-1: moves left 20",
        "red-1: left 20",
        "red-1: faces blue-1",
        "red-1: forms column",
        "red-1: wheel left 10 and sing",
        "together red-1 and red-2 attack",
        "red-1 and red-2 attack blue-1 and follow up",
        "attack blue-1",
        "together red-1, red-2: wheel left 40 mm",
        "red-1 follows up",
        "red-1 attacks",
        "red-1 attacks blue-1; red-1",
        "red-1 attacks blue-1 with guns red-7 with r-fire",
        "red-1 fires at blue-1, blue-2",
        "red-1 gives way",
        "red-1 arrives",
        "red-1 leaves early",
        "turn 0",
        "turn 5 green",
        "red-1: about\nturn 2",
    ];
    let told: Vec<String> = lines
        .iter()
        .map(|line| {
            let faults = read(line).expect_err(line);
            assert_eq!(faults.len(), 1, "{line}");
            let fault = &faults[0];
            format!(
                "{line}\n  {}: {}; {}",
                fault.column, fault.problem, fault.remedy
            )
        })
        .collect();
    insta::assert_snapshot!(told.join("\n"));
}

#[test]
fn faults_of_standing_instructions() {
    let game = game();
    let text = "all hold\nall follow up\nred-1 holds, holds\nred-2 gives way\nred-3\nred-4 charges";
    let faults = parse_instructions("standing.txt", text, &game, &SideId::from("red")).unwrap_err();
    let told: Vec<String> = faults.iter().map(ToString::to_string).collect();
    insta::assert_snapshot!(told.join("\n"));
}

#[test]
fn ten_megabytes_are_refused_at_once() {
    for text in [
        "red-1: forward 20\n".repeat(600_000),
        "x".repeat(10 << 20),
        "9".repeat(10 << 20),
    ] {
        let faults = read(&text).unwrap_err();
        assert_eq!(faults.len(), 1);
        assert!(faults[0].problem.contains("bytes long"), "{}", faults[0]);
    }
}

#[test]
fn the_longest_text_that_is_read_is_answered_soon() {
    // one order more than a sheet holds, and a page of rubbish
    let many = "red-1: forward 20\n".repeat(2_001);
    assert!(read(&many).unwrap_err()[0].problem.contains("too many"));
    let rubbish = "zzzz zzzz zzzz zzzz\n".repeat(12_000);
    let faults = read(&rubbish).unwrap_err();
    assert_eq!(faults.len(), 50);
    let long = format!("red-1: {}", "é".repeat(5_000));
    assert!(read(&long).unwrap_err()[0].problem.contains("bytes long"));
    let legs = |more| format!("red-1: forward 20{}", ", forward 20".repeat(more));
    assert_eq!(read(&legs(59)).unwrap().orders.len(), 1);
    let faults = read(&format!("red-2: about\n{}", legs(60))).unwrap_err();
    assert_eq!((faults.len(), faults[0].line, faults[0].column), (1, 2, 1));
    assert_eq!(faults[0].problem, "the order has 61 legs");
    assert!(
        faults[0].remedy.contains("at most 60"),
        "{}",
        faults[0].remedy
    );
}

#[test]
fn control_characters_do_not_reach_the_terminal() {
    let text = drawn("red-1\u{1b}[2J: about\u{7}");
    assert!(
        !text.chars().any(|c| c.is_control() && c != '\n'),
        "{text:?}"
    );
}
