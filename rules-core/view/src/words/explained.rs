//! The manual's page of explanations shows what the referee says.

use std::sync::Arc;

use super::sheet_verdict;
use fieldpost_rules::game::Game;
use fieldpost_rules::orders::text::parse;
use fieldpost_rules::referee::judge_sheet;
use fieldpost_rules::shipped;

/// The fenced blocks of the manual that carry a label.
fn blocks<'a>(manual: &'a str, label: &str) -> Vec<&'a str> {
    let fence = format!("```{label}\n");
    let starts = manual.split(fence.as_str()).skip(1);
    starts.filter_map(|rest| rest.split("```").next()).collect()
}

#[test]
fn its_transcripts_are_what_the_referee_answers() {
    let battle = shipped::find("quern-bridge").expect("shipped");
    let game = Game::new(Arc::new(battle.open().expect("sound")));
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../manual/explanations.md");
    let manual = std::fs::read_to_string(path).expect("a page of the manual");
    let (sheets, answers) = (blocks(&manual, "sheet"), blocks(&manual, "answer"));
    assert_eq!((sheets.len(), answers.len()), (2, 2));
    let mut wrong = String::new();
    for (text, answer) in sheets.into_iter().zip(answers) {
        let sheet = parse("manual", text, &game)
            .unwrap_or_else(|faults| panic!("{}", faults[0].drawn(false)));
        let said = sheet_verdict(&judge_sheet(&game, &sheet), &game);
        if said.trim_end() != answer.trim_end() {
            wrong += &format!("{text}is answered\n{said}");
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}
