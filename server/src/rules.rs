//! The doors of the referee that the post office knocks at.

use fieldpost_rules::authored::{starter_ruleset, starter_scenario};
use fieldpost_rules::game::{Event, Game};
use fieldpost_rules::orders::TurnSheet;
use fieldpost_rules::orders::text::{self, TextFault};
use fieldpost_rules::verdict::SheetVerdict;

pub use fieldpost_rules::authored::{Faults, open_battle};
pub use fieldpost_rules::referee::{judge_sheet, play};

pub struct Shipped {
    pub key: &'static str,
    pub name: String,
    pub about: String,
    pub ruleset: (&'static str, &'static str),
    pub scenario: (&'static str, &'static str),
}

pub fn shipped() -> Vec<Shipped> {
    vec![Shipped {
        key: "starter",
        name: "starter".to_owned(),
        about: String::new(),
        ruleset: ("ruleset.toml", starter_ruleset()),
        scenario: ("scenario.toml", starter_scenario()),
    }]
}
pub fn parse_sheet(text: &str, game: &Game) -> Result<TurnSheet, Vec<TextFault>> {
    text::parse("sheet", text, game)
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
