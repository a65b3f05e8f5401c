//! `event`: one event with everything that was measured.

use serde_json::json;

use super::story::{Ask, Story};
use crate::failure::{Failure, Outcome};
use crate::out::Out;
use crate::shown;
use crate::typed::{Common, EventArgs};

/// Shows an event.
///
/// # Errors
/// When there is no such event.
pub fn event(args: &EventArgs, common: &Common, out: Out) -> Outcome {
    let ask = if args.offline {
        Ask::Nobody
    } else {
        Ask::IfNothingKept
    };
    let mut story = Story::at_hand(common, ask, out)?;
    if story.record.entry(args.number).is_none() && !args.offline {
        story.refresh()?;
    }
    let (entry, hash) = story.record.entry(args.number).ok_or_else(|| {
        Failure::Usage(format!(
            "there is no event {} yet: the record ends with event {}",
            args.number,
            story.record.head().number
        ))
    })?;
    let before = story.record.game_after(Some(args.number - 1))?;
    if args.pictures.files.any() {
        let after = story.record.game_after(Some(args.number))?;
        let svg = shown::event_svg(&before, &after, &entry.event, args.pictures.order)
            .ok_or_else(|| super::trying::nothing_to_draw(args.pictures.order))?;
        args.pictures.files.draw(&svg, out)?;
    }
    out.result(
        &json!({
            "number": entry.number, "previous": entry.previous, "hash": hash, "at": entry.at,
            "event": entry.event, "words": shown::event_words(&before, &entry.event),
        }),
        || {
            let words = shown::event_words(&before, &entry.event);
            format!(
                "Event {} of {}, {}\n\n{}\n\nhash {hash}\nafter {}",
                entry.number,
                story.record.head().number,
                entry.at,
                words.trim_end(),
                entry.previous
            )
        },
    )
}
