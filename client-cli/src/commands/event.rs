//! `event`: one event with everything that was measured.

use std::path::Path;

use super::session::{GameSession, Refresh};
use super::try_sheet::nothing_to_draw;
use crate::answers::EventAnswer;
use crate::arguments::{CommonArgs, EventArgs, OneEvent};
use crate::error::{CliError, CliResult};
use crate::output::Output;
use crate::render;
use crate::storage::files;
use crate::storage::record::Record;

/// Shows an event of the seat's game, or of a record.
///
/// # Errors
/// When there is no such event.
pub fn event(args: &EventArgs, common: &CommonArgs, output: Output) -> CliResult {
    if let Some(record) = args.source.named()? {
        return show(&args.event, &record, output);
    }
    let refresh = if args.offline {
        Refresh::Never
    } else {
        Refresh::IfMissing
    };
    let mut session = GameSession::open(common, refresh, output)?;
    if session.record.entry(args.event.number).is_none() && !args.offline {
        session.refresh()?;
    }
    show(&args.event, &session.record, output)
}

/// Shows an event of a battle kept in a file.
///
/// # Errors
/// When the file cannot be read, or there is no such event.
pub fn local_event(battle: &Path, args: &OneEvent, output: Output) -> CliResult {
    let (name, text) = files::read_named(battle)?;
    show(args, &Record::parse(&name, &text)?, output)
}

fn show(args: &OneEvent, record: &Record, output: Output) -> CliResult {
    let (entry, hash) = record.entry(args.number).ok_or_else(|| {
        CliError::Usage(format!(
            "there is no event {} yet: the record ends with event {}",
            args.number,
            record.head().number
        ))
    })?;
    let before = record.game_after(Some(args.number - 1))?;
    if args.pictures.files.any() {
        let after = record.game_after(Some(args.number))?;
        let svg = render::event_svg(&before, &after, &entry.event, args.pictures.order)
            .ok_or_else(|| nothing_to_draw(args.pictures.order))?;
        args.pictures.files.draw(&svg, output)?;
    }
    let words = render::event_words(&before, &entry.event);
    output.result(
        &EventAnswer {
            number: entry.number,
            previous: &entry.previous,
            hash,
            at: &entry.at,
            event: &entry.event,
            words: &words,
        },
        || {
            format!(
                "Event {} of {}, {}\n\n{}\n\nhash {hash}\nafter {}",
                entry.number,
                record.head().number,
                entry.at,
                words.trim_end(),
                entry.previous
            )
        },
    )
}
