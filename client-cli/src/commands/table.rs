//! `table`: the table as text, picture or data.

use fieldpost_view::svg::Ghost;

use super::position::Position;
use super::session::Refresh;
use super::table_data::table_data;
use crate::arguments::{CommonArgs, TableArgs, TableView};
use crate::error::{CliError, CliResult};
use crate::output::{Output, text_columns};
use crate::render::{self, TableOptions};
use crate::storage::read_mark::ReadMark;

/// Shows the table.
///
/// # Errors
/// When server or record cannot be read, or a picture not written.
pub fn table(args: &TableArgs, common: &CommonArgs, output: Output) -> CliResult {
    let refresh = Refresh::unless_offline(args.offline);
    let position = args
        .source
        .position(args.view.moment, refresh, common, output)?;
    show(&position, &args.view, output)
}

/// Shows a table as it is asked for.
///
/// # Errors
/// When a picture cannot be written.
pub fn show(position: &Position, args: &TableView, output: Output) -> CliResult {
    let game = &position.game;
    let part = args.part.part_of(game)?;
    let since = args
        .since
        .map(|since| begins(position, since))
        .transpose()?;
    if since.is_some() && !args.pictures.any() {
        return Err(CliError::Usage(
            "what changed is a drawing: name a file with --svg or --png, or --show it".to_owned(),
        ));
    }
    let options = TableOptions {
        zones: args.zones,
        part,
        changes: match since {
            Some(since) => changes(position, since, output)?,
            None => Vec::new(),
        },
    };
    args.pictures.answer(
        || render::table_svg(game, options),
        &table_data(game, position.number),
        || render::table_text(game, text_columns(args.width), part, output.ascii),
        output,
    )
}

/// The event after which changes are drawn: the one named; else the last whose news was read, or, when they were
/// read to the end, the last that had been read before.
fn begins(position: &Position, since: Option<u64>) -> CliResult<u64> {
    let unread_or_last_told = |read: ReadMark| {
        if read.entry < position.number {
            read.entry
        } else {
            read.before
        }
    };
    let since = since
        .or(position.read.map(unread_or_last_told))
        .ok_or_else(|| CliError::Usage("since which event? Name it: --since EVENT".to_owned()))?;
    if position.record.is_none() {
        return Err(CliError::Usage(
            "a battle at its opening has not changed yet".to_owned(),
        ));
    }
    if since > position.number {
        return Err(CliError::Usage(format!(
            "event {since} comes after the table shown, which is that after event {}",
            position.number
        )));
    }
    Ok(since)
}

/// What changed on the table after an event. Says since when, and when nothing did.
fn changes(position: &Position, since: u64, output: Output) -> CliResult<Vec<Ghost>> {
    let Some(record) = &position.record else {
        return Ok(Vec::new());
    };
    let before = record.game_after(Some(since))?;
    let found = render::changes(&before, record.events(since, position.number));
    let last = position.number;
    output.info(&match (since == last, found.is_empty()) {
        (true, _) => format!(
            "nothing to draw has happened since event {since}, the last; name an earlier one: --since EVENT"
        ),
        (false, true) => format!(
            "no unit came, went or moved by events {} to {last}; name an earlier one: --since EVENT",
            since + 1
        ),
        (false, false) => format!("drawn with what events {} to {last} changed", since + 1),
    });
    Ok(found)
}
