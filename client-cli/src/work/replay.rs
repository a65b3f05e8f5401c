//! `replay`: a whole game to be watched.

use fieldpost_rules::game::Game;
use fieldpost_view::replay::{animation, moments, page};
use serde_json::json;

use super::source::{moment, recorded};
use super::story::Ask;
use crate::failure::Outcome;
use crate::out::Out;
use crate::typed::{Common, ReplayArgs};

/// Writes the page and the picture asked for.
///
/// # Errors
/// When the game cannot be read, or a file not be written.
pub fn replay(args: &ReplayArgs, common: &Common, out: Out) -> Outcome {
    let ask = Ask::unless(args.offline);
    let (record, _) = recorded(args.record.as_deref(), ask, common, out)?;
    let last = moment(&record, args.until)?;
    let opening = Game::new(record.battlefield()?);
    let entries = record.entries().iter();
    let shown = entries.take_while(|entry| entry.number <= last);
    let all = moments(&opening, shown.map(|entry| &entry.event));
    if let Some(path) = &args.page {
        out.put(path, page(&all).as_bytes(), "written")?;
    }
    if let Some(path) = &args.svg {
        out.put(path, animation(&all).as_bytes(), "written")?;
    }
    if out.json {
        let titles: Vec<&str> = all.iter().map(|moment| moment.title.as_str()).collect();
        out.json(&json!({ "page": args.page, "svg": args.svg, "moments": titles }))?;
    }
    Ok(())
}
