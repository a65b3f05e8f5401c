//! Rendering: the table and its events as pictures and words, as the service shows them.

use std::io::Write;

use bytes::Bytes;
use fieldpost_png::Size;
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

/// Width of the map in a picture for mail, in pixels.
const MAIL_MAP_PX: f64 = 1000.0;
/// The most that a picture for mail may be, in pixels and in bytes: painting one is not ended halfway.
const MAIL_PIXELS_MAX: u64 = 4_000_000;
const MAIL_BYTES_MAX: usize = 600 * 1024;

/// The table as PNG, with what events changed on it; none when that would be larger than a mail should carry.
pub(crate) fn changes_png(before: &Game, after: &Game, events: &[Event]) -> Option<Vec<u8>> {
    let size = Size {
        pixels_max: Some(MAIL_PIXELS_MAX),
        ..Size::default()
    };
    let picture = fieldpost_png::rasterize(&changes_svg(before, after, events), size).ok()?;
    let png = picture.png().ok()?;
    (png.len() <= MAIL_BYTES_MAX).then_some(png)
}

fn changes_svg(before: &Game, after: &Game, events: &[Event]) -> String {
    let options = SvgOptions {
        map_width_px: MAIL_MAP_PX,
        ghosts: svg::changes(before, events),
        ..SvgOptions::default()
    };
    svg::table(after, &options)
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

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use fieldpost_rules::authored::open_battle;
    use fieldpost_rules::dice::{FIRST_ATTEMPT, commitment};
    use fieldpost_rules::orders::{Extent, Instructions, Leg, Order, UnitId};
    use fieldpost_rules::referee::{Posting, play};
    use fieldpost_rules::shipped;

    use super::*;

    /// A battle, and what a first turn does in which one unit moves.
    fn first_turn() -> (Game, Vec<Event>, Game) {
        let battle = shipped::find("withy-bridge").expect("shipped");
        let (rules, scenario) = (battle.ruleset.text, battle.scenario.text);
        let field = open_battle(("rules", rules), ("scenario", scenario)).expect("sound");
        let before = Game::new(Arc::new(field));
        let distance_mm = Extent::Exactly(40.0);
        let sheet = TurnSheet {
            game_turn: before.game_turn(),
            side: before.player_side(),
            orders: vec![Order::Move {
                unit: UnitId::from("red-1"),
                legs: vec![Leg::Forward { distance_mm }],
            }],
        };
        let game_id = [0; 16];
        let posting = Posting {
            sheet: &sheet,
            standing: &Instructions::default(),
            game_id,
            attempt: FIRST_ATTEMPT,
            secret: [1; 32],
            number: [2; 32],
            next_commitment: commitment(&game_id, 2, FIRST_ATTEMPT, &[3; 32]),
            sealed: &[],
        };
        let events = play(&before, &posting).expect("legal");
        let mut after = before.clone();
        for event in &events {
            after.apply(event);
        }
        (before, events, after)
    }

    #[test]
    fn what_moved_is_in_the_picture_for_mail() {
        let (before, events, after) = first_turn();
        let ghosts = |svg: String| svg.matches("class=\"ghost\"").count();
        assert_eq!(ghosts(changes_svg(&after, &after, &[])), 0);
        // One on the map, and one in the key that says what it means.
        assert_eq!(ghosts(changes_svg(&before, &after, &events)), 2);
        let png = changes_png(&before, &after, &events).expect("small enough");
        assert!(png.starts_with(b"\x89PNG") && png.len() <= MAIL_BYTES_MAX);
        assert_ne!(Some(png), changes_png(&after, &after, &[]));
    }
}
