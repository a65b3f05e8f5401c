//! Rendering: the table and its events as pictures and words, as the service shows them.

use std::io::Write;

use bytes::Bytes;
use fieldpost_rules::game::{Event, Game};
use fieldpost_rules::orders::TurnSheet;
use fieldpost_rules::verdict::SheetVerdict;
use fieldpost_view::svg::{self, SvgOptions};
use fieldpost_view::text::{self, TextOptions};
use fieldpost_view::words;
use flate2::Compression;
use flate2::write::GzEncoder;

/// What is drawn of a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct DrawingView {
    /// The map alone, for a page whose script works on it.
    pub is_map: bool,
    /// With ghosts where units stood after that event.
    pub since: Option<u64>,
}

/// A drawing as it is sent.
#[derive(Debug, Clone)]
pub struct Drawing {
    /// SVG.
    pub svg: Bytes,
    /// The same, compressed with gzip.
    pub gzip: Bytes,
}

impl Drawing {
    /// A drawing, compressed too.
    pub(crate) fn of(svg: String) -> Self {
        let mut encoder = GzEncoder::new(Vec::new(), Compression::default());
        // Writing to memory cannot fail.
        let _ = encoder.write_all(svg.as_bytes());
        Self {
            gzip: encoder.finish().unwrap_or_default().into(),
            svg: svg.into(),
        }
    }
}

/// The table as a drawing.
pub(crate) fn table_svg(game: &Game) -> String {
    svg::table(game, &SvgOptions::default())
}

/// What happened between two moments of a game.
pub(crate) struct Changes {
    /// The game as it was.
    pub(crate) before: Game,
    /// What happened then.
    pub(crate) events: Vec<Event>,
}

/// The table or its map alone, with ghosts of what changed.
pub(crate) fn drawing(game: &Game, is_map: bool, changes: Option<&Changes>) -> String {
    let ghosts = changes.map(|changes| svg::changes(&changes.before, &changes.events));
    let options = SvgOptions {
        ghosts: ghosts.unwrap_or_default(),
        ..SvgOptions::default()
    };
    if is_map {
        svg::map(game, &options)
    } else {
        svg::table(game, &options)
    }
}

/// The table as text, so many columns wide.
pub(crate) fn table_text(game: &Game, columns: usize) -> String {
    let options = TextOptions {
        columns,
        ..TextOptions::default()
    };
    text::table(game, &options)
}

/// The table with the verdict on one of a sheet's orders; none when that order has none to draw.
pub(crate) fn verdict_svg(
    game: &Game,
    sheet: &TurnSheet,
    verdict: &SheetVerdict,
    order: usize,
) -> Option<String> {
    svg::order(game, sheet, verdict, order, &SvgOptions::default())
}

/// One event in words with every ledger, on the table as it was before it.
pub(crate) fn event_words(before: &Game, event: &Event) -> String {
    let words = words::event(event, before);
    match event {
        Event::SheetAccepted { verdict, .. } => {
            format!("{words}\n\n{}", words::sheet_verdict(verdict, before))
        }
        _ => words,
    }
}
