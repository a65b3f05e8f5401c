//! The doors of the referee that the post office knocks at.

use fieldpost_rules::game::{Battlefield, Event, Game};
use fieldpost_rules::referee::Posting;
use fieldpost_rules::verdict::{Ruling, SheetVerdict};

#[derive(Debug, Clone, serde::Serialize)]
pub struct Fault {
    pub problem: String,
}
#[derive(Debug, Clone)]
pub struct Faults(pub Vec<Fault>);

pub struct Shipped {
    pub key: &'static str,
    pub name: String,
    pub about: String,
    pub ruleset: (&'static str, &'static str),
    pub scenario: (&'static str, &'static str),
}

pub fn open_battle(_: (&str, &str), _: (&str, &str)) -> Result<Battlefield, Faults> {
    Err(Faults(vec![]))
}
pub fn shipped() -> Vec<Shipped> {
    vec![]
}
pub fn judge_sheet(_: &Game, _: &fieldpost_rules::orders::TurnSheet) -> SheetVerdict {
    SheetVerdict {
        verdict: Ruling::Legal,
        moves: vec![],
        battles: vec![],
        reasons: vec![],
    }
}
pub fn play(_: &Game, _: &Posting<'_>) -> Result<Vec<Event>, Box<SheetVerdict>> {
    Ok(vec![])
}
pub fn parse_sheet(_: &str, _: &Game) -> Result<fieldpost_rules::orders::TurnSheet, Vec<Fault>> {
    Err(vec![])
}
pub fn table_svg(_: &Game) -> String {
    String::new()
}
pub fn verdict_svg(_: &Game, _: &SheetVerdict, _order: usize) -> Option<String> {
    None
}
pub fn table_text(_: &Game, _width: usize) -> String {
    String::new()
}
pub fn news_words(_before: &Game, _: &Event) -> String {
    String::new()
}
pub fn event_words(_before: &Game, _: &Event) -> String {
    String::new()
}
pub fn verdict_words(_: &Game, _: &SheetVerdict) -> String {
    String::new()
}
