//! `event`: one event with everything that was measured.

use serde_json::json;

use super::session::{GameSession, Refresh};
use crate::arguments::{CommonArgs, EventArgs};
use crate::error::{CliError, CliResult};
use crate::output::Output;
use crate::render;

/// Shows an event.
///
/// # Errors
/// When there is no such event.
pub fn event(args: &EventArgs, common: &CommonArgs, output: Output) -> CliResult {
    let refresh = if args.offline {
        Refresh::Never
    } else {
        Refresh::IfMissing
    };
    let mut session = GameSession::open(common, refresh, output)?;
    if session.record.entry(args.number).is_none() && !args.offline {
        session.refresh()?;
    }
    let (entry, hash) = session.record.entry(args.number).ok_or_else(|| {
        CliError::Usage(format!(
            "there is no event {} yet: the record ends with event {}",
            args.number,
            session.record.head().number
        ))
    })?;
    let before = session.record.game_after(Some(args.number - 1))?;
    if args.pictures.files.any() {
        let after = session.record.game_after(Some(args.number))?;
        let svg = render::event_svg(&before, &after, &entry.event, args.pictures.order)
            .ok_or_else(|| super::try_sheet::nothing_to_draw(args.pictures.order))?;
        args.pictures.files.draw(&svg, output)?;
    }
    output.result(
        &json!({
            "number": entry.number, "previous": entry.previous, "hash": hash, "at": entry.at,
            "event": entry.event, "words": render::event_words(&before, &entry.event),
        }),
        || {
            let words = render::event_words(&before, &entry.event);
            format!(
                "Event {} of {}, {}\n\n{}\n\nhash {hash}\nafter {}",
                entry.number,
                session.record.head().number,
                entry.at,
                words.trim_end(),
                entry.previous
            )
        },
    )
}
