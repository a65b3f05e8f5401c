//! The first page: how the sheets go together, and whether the printer kept the scale.

use crate::words::turn_line;
use fieldpost_rules::game::Game;
use fieldpost_rules::geometry::{Point, smaller};
use fieldpost_rules::sanitize::plain;
use fieldpost_rules::verdict::rounding::amount;

use super::drawing::{BLACK, GREY, Mark};
use super::layout::Layout;
use super::pdf::{Leaf, width};

/// Length of the bar that the printer's scale is checked by, in millimetres.
pub(super) const CHECK_BAR_MM: f64 = 100.0;

/// The assembly page.
pub(super) fn page(game: &Game, layout: &Layout, drawing: &[Mark]) -> Leaf {
    let mut leaf = Leaf::new();
    let (page_wide, page_high) = layout.page_mm;
    let left = layout.margin_mm;
    let room = page_wide - 2.0 * left;
    let mut y = page_high - layout.margin_mm - 7.0;
    leaf.say(
        Point::new(left, y),
        7.0,
        true,
        BLACK,
        &plain(&game.scenario().name),
    );
    y -= 6.0;
    leaf.say(Point::new(left, y), 3.6, false, BLACK, &turn_line(game));
    y -= 10.0;
    check_bars(&mut leaf, Point::new(left, y));
    y -= 14.0;
    for paragraph in instructions(layout) {
        for line in wrapped(&paragraph, 3.4, room) {
            leaf.say(Point::new(left, y), 3.4, false, BLACK, &line);
            y -= 4.7;
        }
        y -= 1.3;
    }
    let high = y - layout.margin_mm;
    plan(
        &mut leaf,
        layout,
        drawing,
        Point::new(left, layout.margin_mm),
        (room, high),
    );
    leaf
}

fn instructions(layout: &Layout) -> Vec<String> {
    let (wide, high) = layout.window_mm();
    let sheets = match layout.count() {
        1 => "One sheet follows".to_owned(),
        count => format!(
            "{count} sheets follow, {} across and {} deep",
            layout.columns, layout.rows
        ),
    };
    let mut out = vec![
        "Print at actual size: choose 100 %, never \"fit to page\". Then measure both bars above. If either is not \
         as long as it says, the sheets are not to scale."
            .to_owned(),
        format!(
            "{sheets}, on {} paper. Each shows {} by {} mm of table inside its frame; the table's own edge is the \
             heavy line. Thin grey lines stand every 10 cm from the west (W) and south (S) edges.",
            layout.paper,
            amount(wide),
            amount(high)
        ),
    ];
    if layout.count() > 1 {
        out.push(format!(
            "Neighbouring sheets share {} mm: dashes show how far each neighbour reaches, and crosses stand on the \
             same spot of both. Lay out from the south-west corner, {}. Trim a sheet's left and lower margin along \
             its frame, lay it over its neighbours so that the crosses meet, and fasten it. The letter is the \
             column from the west, the number the row from the north.",
            amount(layout.overlap_mm),
            super::layout::name(0, layout.rows - 1)
        ));
    }
    out
}

/// A bar of 100 mm and one of 4 inches.
fn check_bars(leaf: &mut Leaf, at: Point) {
    let inches = 4.0 * 25.4;
    for (down, length, steps, text) in [
        (0.0, CHECK_BAR_MM, 10_u32, "This bar is 100 mm long."),
        (7.0, inches, 4, "This one is 4 inches long."),
    ] {
        let from = Point::new(at.x, at.y - down);
        let to = Point::new(from.x + length, from.y);
        leaf.line(from, to, BLACK, 0.5, None);
        for step in 0..=steps {
            let x = from.x + length * f64::from(step) / f64::from(steps);
            let tall = if step == 0 || step == steps { 3.0 } else { 1.6 };
            leaf.line(
                Point::new(x, from.y),
                Point::new(x, from.y + tall),
                BLACK,
                0.3,
                None,
            );
        }
        leaf.say(Point::new(to.x + 4.0, from.y), 3.4, true, BLACK, text);
    }
}

/// The whole table, small, with every sheet's frame and label on it.
fn plan(
    leaf: &mut Leaf,
    layout: &Layout,
    drawing: &[Mark],
    corner: Point,
    (wide, high): (f64, f64),
) {
    let first = layout.sheet(0, layout.rows.saturating_sub(1)).window;
    let last = layout.sheet(layout.columns.saturating_sub(1), 0).window;
    let (span_wide, span_high) = (last.east_mm - first.west_mm, last.north_mm - first.south_mm);
    let scale = smaller(wide / span_wide, high / span_high);
    let south_west = Point::new(first.west_mm, first.south_mm);
    let top = Point::new(corner.x, corner.y + high - span_high * scale);
    leaf.shrunk(scale, south_west, top);
    let shapes: Vec<Mark> = drawing
        .iter()
        .filter(|mark| matches!(mark, Mark::Path { .. }))
        .cloned()
        .collect();
    leaf.marks(
        &shapes,
        &layout.part,
        Point::new(0.0, 0.0),
        Point::new(0.0, 0.0),
    );
    leaf.end_group();
    for sheet in layout.sheets() {
        let window = &sheet.window;
        let at = Point::new(
            top.x + (window.west_mm - first.west_mm) * scale,
            top.y + (window.south_mm - first.south_mm) * scale,
        );
        let size = (window.width_mm() * scale, window.depth_mm() * scale);
        leaf.rect(at, size, None, Some((GREY, 0.25, None)));
        let letters = smaller(smaller(size.0 * 0.3, size.1 * 0.3), 9.0);
        leaf.say_middle(
            Point::new(at.x + size.0 / 2.0, at.y + size.1 / 2.0 - letters * 0.36),
            letters,
            true,
            BLACK,
            &sheet.name,
        );
    }
}

/// Words broken into lines no wider than some millimetres.
fn wrapped(text: &str, size: f64, room: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if width(&format!("{line} {word}"), size, false) <= room => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
