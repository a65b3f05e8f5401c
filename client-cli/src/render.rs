//! What a command shows of a game: this client draws nothing of its own, it asks the rules' view.

use fieldpost_rules::game::{Event, Game};
use fieldpost_rules::orders::{TurnSheet, UnitId};
use fieldpost_rules::verdict::{Reach, SheetVerdict};
use fieldpost_view::svg::{self, Ghost, Part, SvgOptions};
use fieldpost_view::text::{self, TextOptions};
use fieldpost_view::words;

/// The table as text, in so many columns; a part of it where one is named, and in ASCII where that is asked for.
#[must_use]
pub fn table_text(game: &Game, columns: usize, part: Option<Part>, ascii: bool) -> String {
    let options = TextOptions {
        columns,
        part,
        ascii,
        ..TextOptions::default()
    };
    text::table(game, &options)
}

/// What a picture of the table shows besides it.
#[derive(Debug, Clone, Default)]
pub struct TableOptions {
    /// Halt and strike zones.
    pub zones: bool,
    /// A part of it; absent: all of it.
    pub part: Option<Part>,
    /// What changed: where units stood before, and the ways by which they left.
    pub changes: Vec<Ghost>,
}

/// The table as a picture.
#[must_use]
pub fn table_svg(game: &Game, options: TableOptions) -> String {
    let options = SvgOptions {
        halt_zones: options.zones,
        strike_zones: options.zones,
        part: options.part,
        ghosts: options.changes,
        ..SvgOptions::default()
    };
    svg::table(game, &options)
}

/// The opening table as a picture, with deployment areas.
#[must_use]
pub fn opening_svg(game: &Game, zones: bool) -> String {
    let options = SvgOptions {
        halt_zones: zones,
        strike_zones: zones,
        deployment: true,
        ..SvgOptions::default()
    };
    svg::table(game, &options)
}

/// The table as a picture after some events, with ghosts where units stood before and the ways by which they left.
#[must_use]
pub fn changes_svg<'a>(
    before: &Game,
    after: &Game,
    events: impl IntoIterator<Item = &'a Event>,
) -> String {
    let options = TableOptions {
        changes: changes(before, events),
        ..TableOptions::default()
    };
    table_svg(after, options)
}

/// What some events changed.
#[must_use]
pub fn changes<'a>(before: &Game, events: impl IntoIterator<Item = &'a Event>) -> Vec<Ghost> {
    svg::changes(before, events)
}

/// What a tried sheet looks like: one order's verdict when it is asked for by its number from 1; else the
/// first refused move with its tape and where it was stopped, or a refused declaration of battles; else the table as
/// the moves would leave it, with their tapes. `None` when the order asked for has nothing to draw.
#[must_use]
pub fn tried_svg(
    game: &Game,
    sheet: &TurnSheet,
    verdict: &SheetVerdict,
    order: Option<u16>,
) -> Option<String> {
    let options = SvgOptions::default();
    match order {
        Some(number) => {
            let order = usize::from(number).wrapping_sub(1);
            svg::order(game, sheet, verdict, order, &options)
        }
        None => Some(svg::sheet(game, sheet, verdict, &options)),
    }
}

/// One event; of an accepted sheet, all its orders or one, by its number from 1.
#[must_use]
pub fn event_svg(before: &Game, after: &Game, event: &Event, order: Option<u16>) -> Option<String> {
    match (event, order) {
        (Event::SheetAccepted { sheet, verdict }, _) => tried_svg(before, sheet, verdict, order),
        (_, Some(_)) => None,
        (_, None) => Some(changes_svg(before, after, [event])),
    }
}

/// The table with the distance between two units on it.
#[must_use]
pub fn measured_svg(game: &Game, first: &UnitId, second: &UnitId) -> String {
    let options = SvgOptions {
        highlights: vec![first.clone(), second.clone()],
        layers: svg::measure(game, first, second).into_iter().collect(),
        ..SvgOptions::default()
    };
    svg::table(game, &options)
}

/// The table with the ground that a unit can reach.
#[must_use]
pub fn reach_svg(game: &Game, reach: &Reach) -> String {
    let options = SvgOptions {
        highlights: vec![reach.unit.clone()],
        layers: vec![svg::reach(reach)],
        ..SvgOptions::default()
    };
    svg::table(game, &options)
}

/// One event as news.
#[must_use]
pub fn news_words(before: &Game, event: &Event) -> String {
    words::event(event, before)
}

/// One event with everything that was measured.
#[must_use]
pub fn event_words(before: &Game, event: &Event) -> String {
    match event {
        Event::SheetAccepted { sheet, verdict } => format!(
            "{}\n{}",
            words::orders_in_words(sheet, before),
            words::sheet_verdict(verdict, before)
        ),
        event => words::event(event, before),
    }
}

/// A sheet's verdicts with their ledgers.
#[must_use]
pub fn verdict_words(game: &Game, verdict: &SheetVerdict) -> String {
    words::sheet_verdict(verdict, game)
}

/// Whose turn it is, in a line.
#[must_use]
pub fn turn_line(game: &Game) -> String {
    words::turn_line(game)
}
