//! The manual's examples are read as they stand there.

use super::game;
use crate::orders::print;
use crate::orders::text::{parse, parse_instructions};
use crate::orders::{Order, SideId};

const MANUAL: &str = include_str!("../../../../manual/orders.md");

/// The fenced blocks of the manual that carry a label.
fn blocks(label: &str) -> Vec<&'static str> {
    let fence = format!("```{label}\n");
    let starts = MANUAL.split(fence.as_str()).skip(1);
    starts.filter_map(|rest| rest.split("```").next()).collect()
}

#[test]
fn its_sheets_are_read() {
    let game = game();
    let sheets = blocks("sheet");
    assert!(sheets.len() == 4, "{}", sheets.len());
    for text in sheets {
        let sheet = parse("manual", text, &game)
            .unwrap_or_else(|faults| panic!("{}", faults[0].drawn(false)));
        assert!(!sheet.orders.is_empty());
        assert_eq!(parse("printed", &print::sheet(&sheet), &game), Ok(sheet));
    }
}

#[test]
fn its_order_as_data_is_what_it_would_be_typed() {
    let [data] = blocks("json")[..] else {
        panic!("one order as data");
    };
    let order: Order = serde_json::from_str(data).expect("an order");
    assert_eq!(
        print::order(&order),
        "red-3: wheel right 21.5°, forward up to 80 mm, sidestep left as far as allowed"
    );
}

#[test]
fn its_instructions_are_read() {
    let game = game();
    let texts = blocks("instructions");
    assert!(!texts.is_empty());
    for text in texts {
        let read = parse_instructions("manual", text, &game, &SideId::from("red"));
        assert!(read.is_ok(), "{read:?}");
    }
}

#[test]
fn its_faulty_lines_are_faulty() {
    let game = game();
    let [text] = blocks("faulty")[..] else {
        panic!("one block of faulty lines");
    };
    for line in text.lines() {
        assert!(parse("manual", line, &game).is_err(), "{line}");
    }
    let [answer] = blocks("answer")[..] else {
        panic!("one answer");
    };
    let faults = parse("orders.txt", "red-3: forward 100, weel left 20", &game).unwrap_err();
    assert_eq!(faults[0].drawn(false), answer.trim_end());
}

#[test]
fn what_it_says_is_asked_is_asked_with_readings() {
    let game = game();
    let [text] = blocks("asked")[..] else {
        panic!("one block of lines that are asked about");
    };
    for line in text.lines() {
        let faults = parse("manual", line, &game).expect_err(line);
        assert!(!faults[0].readings.is_empty(), "{}", faults[0]);
    }
    let [question] = blocks("question")[..] else {
        panic!("one question");
    };
    let faults = parse("orders.txt", "red-3: retire 30", &game).unwrap_err();
    assert_eq!(faults[0].drawn(false), question.trim_end());
}
