//! `replay`: a whole game to be watched.

use fieldpost_rules::game::Game;
use fieldpost_view::replay::{animation, moments, page};

use super::position::event_number;
use super::session::Refresh;
use crate::answers::ReplayAnswer;
use crate::arguments::{CommonArgs, ReplayArgs};
use crate::error::CliResult;
use crate::output::Output;

/// Writes the page and the picture asked for.
///
/// # Errors
/// When the game cannot be read, or a file not be written.
pub fn replay(args: &ReplayArgs, common: &CommonArgs, output: Output) -> CliResult {
    let refresh = Refresh::unless_offline(args.offline);
    let (record, _) = args.source.record(refresh, common, output)?;
    let last = event_number(&record, args.moment)?;
    let opening = Game::new(record.battlefield()?);
    let entries = record.entries().iter();
    let shown = entries.take_while(|entry| entry.number <= last);
    let all = moments(&opening, shown.map(|entry| &entry.event));
    if let Some(path) = &args.page {
        output.write_file(path, page(&all).as_bytes(), "written")?;
    }
    if let Some(path) = &args.svg {
        output.write_file(path, animation(&all).as_bytes(), "written")?;
    }
    if output.json {
        let titles: Vec<&str> = all.iter().map(|moment| moment.title.as_str()).collect();
        output.print_json(&ReplayAnswer {
            page: args.page.as_ref(),
            svg: args.svg.as_ref(),
            moments: titles,
        })?;
    }
    Ok(())
}
