//! The display list as a PDF file (ISO 32000-1), in millimetres under one scaling.

use pdf_writer::types::{LineCapStyle, LineJoinStyle};
use pdf_writer::{Content, Name, Pdf, Rect, Ref, Str, TextStr};

use crate::svg::Part;
use fieldpost_rules::game::Game;
use fieldpost_rules::geometry::{Point, larger, smaller};
use fieldpost_rules::sanitize::plain;
use fieldpost_rules::verdict::rounding::amount;

use super::assembly;
use super::drawing::{BLACK, GREY, Ink, Mark};
use super::layout::{Layout, Sheet, name};

/// Points to a millimetre: 72 to an inch of 25.4 mm.
const POINTS_PER_MM: f64 = 72.0 / 25.4;

const ROMAN: Name<'static> = Name(b"R");
const BOLD: Name<'static> = Name(b"B");

/// The whole file.
pub(super) fn written(game: &Game, layout: &Layout, drawing: &[Mark]) -> Vec<u8> {
    let mut next = 0;
    let mut fresh = || {
        next += 1;
        Ref::new(next)
    };
    let (catalog, pages, info, roman, bold) = (fresh(), fresh(), fresh(), fresh(), fresh());
    let mut contents = vec![assembly::page(game, layout, drawing)];
    contents.extend(
        layout
            .sheets()
            .map(|sheet| sheet_page(game, layout, &sheet, drawing)),
    );
    let ids: Vec<(Ref, Ref)> = contents.iter().map(|_| (fresh(), fresh())).collect();

    let mut pdf = Pdf::new();
    pdf.catalog(catalog).pages(pages);
    pdf.document_info(info)
        .title(TextStr(&plain(&game.scenario().name)))
        .creator(TextStr("Fieldpost"));
    for (id, base) in [(roman, b"Helvetica".as_slice()), (bold, b"Helvetica-Bold")] {
        pdf.type1_font(id)
            .base_font(Name(base))
            .encoding_predefined(Name(b"WinAnsiEncoding"));
    }
    pdf.pages(pages)
        .kids(ids.iter().map(|(page, _)| *page))
        .count(i32::try_from(ids.len()).unwrap_or(i32::MAX));
    let (wide, high) = layout.page_mm;
    let margin = layout.margin_mm;
    for ((page_id, content_id), content) in ids.into_iter().zip(contents) {
        let mut page = pdf.page(page_id);
        page.media_box(rect(0.0, 0.0, wide, high))
            .trim_box(rect(margin, margin, wide - margin, high - margin))
            .parent(pages)
            .contents(content_id);
        page.resources().fonts().pair(ROMAN, roman).pair(BOLD, bold);
        drop(page);
        pdf.stream(content_id, content.done().as_slice());
    }
    pdf.finish()
}

fn rect(west: f64, south: f64, east: f64, north: f64) -> Rect {
    let points = |mm: f64| single(mm * POINTS_PER_MM);
    Rect::new(points(west), points(south), points(east), points(north))
}

/// As PDF's reals are read: to single precision, which at 20 m still tells micrometres apart.
#[expect(clippy::cast_possible_truncation, reason = "single precision is meant")]
fn single(value: f64) -> f32 {
    value as f32
}

/// A page being drawn, in millimetres from the paper's south-west corner.
pub(super) struct Leaf {
    content: Content,
}

impl Leaf {
    pub(super) fn new() -> Self {
        let mut content = Content::new();
        let scale = single(POINTS_PER_MM);
        content.transform([scale, 0.0, 0.0, scale, 0.0, 0.0]);
        content
            .set_line_join(LineJoinStyle::RoundJoin)
            .set_line_cap(LineCapStyle::ButtCap);
        Self { content }
    }

    fn done(self) -> pdf_writer::Buf {
        self.content.finish()
    }

    /// Begins a group in which only a rectangle of the paper is drawn on.
    pub(super) fn clipped(&mut self, corner: Point, wide: f64, high: f64) {
        self.content.save_state();
        self.content
            .rect(
                single(corner.x),
                single(corner.y),
                single(wide),
                single(high),
            )
            .clip_nonzero()
            .end_path();
    }

    /// Begins a group in which millimetres of table are drawn: `place` of the table comes to `at` of
    /// the paper, shrunk by a scale.
    pub(super) fn shrunk(&mut self, scale: f64, place: Point, at: Point) {
        self.content.save_state();
        let (x, y) = (at.x - place.x * scale, at.y - place.y * scale);
        let scale = single(scale);
        self.content
            .transform([scale, 0.0, 0.0, scale, single(x), single(y)]);
    }

    pub(super) fn end_group(&mut self) {
        self.content.restore_state();
    }

    /// Draws marks, each moved by what takes `place` of the table to `at` of the paper, leaving out
    /// those that lie wholly outside a part of the table.
    pub(super) fn marks(&mut self, marks: &[Mark], part: &Part, place: Point, at: Point) {
        let move_by = at - place;
        for mark in marks {
            let (low, high) = mark.bounds();
            let is_outside = high.x < part.west_mm
                || low.x > part.east_mm
                || high.y < part.south_mm
                || low.y > part.north_mm;
            if !is_outside {
                self.mark(mark, move_by);
            }
        }
    }

    fn mark(&mut self, mark: &Mark, by: fieldpost_rules::geometry::Vector) {
        match mark {
            Mark::Path {
                runs,
                closed,
                fill,
                stroke,
            } => {
                self.inks(*fill, stroke.map(|(ink, width, dash)| (ink, width, dash)));
                for run in runs {
                    for (index, point) in run.iter().enumerate() {
                        let point = *point + by;
                        let (x, y) = (single(point.x), single(point.y));
                        if index == 0 {
                            self.content.move_to(x, y);
                        } else {
                            self.content.line_to(x, y);
                        }
                    }
                    if *closed {
                        self.content.close_path();
                    }
                }
                match (fill.is_some(), stroke.is_some()) {
                    (true, true) => self.content.fill_even_odd_and_stroke(),
                    (true, false) => self.content.fill_even_odd(),
                    (false, true) => self.content.stroke(),
                    (false, false) => self.content.end_path(),
                };
            }
            Mark::Words {
                at,
                size,
                bold,
                ink,
                text,
            } => {
                let at = *at + by;
                let start = at.x - width(text, *size, *bold) / 2.0;
                // capitals of these faces are 0.72 of the type size high
                let baseline = at.y - size * 0.36;
                self.say(Point::new(start, baseline), *size, *bold, *ink, text);
            }
        }
    }

    fn inks(&mut self, fill: Option<Ink>, stroke: Option<(Ink, f64, Option<f64>)>) {
        if let Some((r, g, b)) = fill {
            self.content.set_fill_rgb(r, g, b);
        }
        if let Some(((r, g, b), width, dash)) = stroke {
            self.content
                .set_stroke_rgb(r, g, b)
                .set_line_width(single(width));
            match dash {
                Some(dash) => self
                    .content
                    .set_dash_pattern([single(dash), single(dash * 0.7)], 0.0),
                None => self.content.set_dash_pattern([], 0.0),
            };
        }
    }

    /// A straight line on the paper.
    pub(super) fn line(&mut self, from: Point, to: Point, ink: Ink, width: f64, dash: Option<f64>) {
        self.inks(None, Some((ink, width, dash)));
        self.content
            .move_to(single(from.x), single(from.y))
            .line_to(single(to.x), single(to.y))
            .stroke();
    }

    /// A rectangle on the paper, outlined or filled.
    pub(super) fn rect(
        &mut self,
        corner: Point,
        (wide, high): (f64, f64),
        fill: Option<Ink>,
        stroke: Option<(Ink, f64, Option<f64>)>,
    ) {
        self.inks(fill, stroke);
        self.content.rect(
            single(corner.x),
            single(corner.y),
            single(wide),
            single(high),
        );
        match (fill.is_some(), stroke.is_some()) {
            (true, true) => self.content.fill_nonzero_and_stroke(),
            (true, false) => self.content.fill_nonzero(),
            _ => self.content.stroke(),
        };
    }

    /// Words on the paper, from a point of their baseline.
    pub(super) fn say(&mut self, at: Point, size: f64, bold: bool, ink: Ink, text: &str) {
        let (r, g, b) = ink;
        self.content
            .set_fill_rgb(r, g, b)
            .begin_text()
            .set_font(if bold { BOLD } else { ROMAN }, single(size))
            .next_line(single(at.x), single(at.y))
            .show(Str(&encoded(text)))
            .end_text();
    }

    /// Words on the paper whose middle is at a point.
    pub(super) fn say_middle(&mut self, at: Point, size: f64, bold: bool, ink: Ink, text: &str) {
        let start = at.x - width(text, size, bold) / 2.0;
        self.say(Point::new(start, at.y), size, bold, ink, text);
    }

    /// Words that run up the paper, their middle at a point.
    pub(super) fn say_upward(&mut self, at: Point, size: f64, ink: Ink, text: &str) {
        let (r, g, b) = ink;
        let start = at.y - width(text, size, false) / 2.0;
        self.content
            .set_fill_rgb(r, g, b)
            .begin_text()
            .set_font(ROMAN, single(size))
            .set_text_matrix([0.0, 1.0, -1.0, 0.0, single(at.x), single(start)])
            .show(Str(&encoded(text)))
            .end_text();
    }
}

/// One sheet: the table within its window, how far its neighbours reach, crosses to lay it by, and
/// what it is and joins in the margins.
fn sheet_page(game: &Game, layout: &Layout, sheet: &Sheet, drawing: &[Mark]) -> Leaf {
    let mut leaf = Leaf::new();
    let margin = layout.margin_mm;
    let (wide, high) = layout.window_mm();
    let corner = Point::new(margin, margin);
    let origin = Point::new(sheet.window.west_mm, sheet.window.south_mm);
    leaf.clipped(corner, wide, high);
    grid(
        &mut leaf,
        &on_table(&sheet.window, game),
        &sheet.window,
        corner,
    );
    leaf.marks(drawing, &sheet.window, origin, corner);
    overlaps(&mut leaf, layout, sheet);
    leaf.end_group();
    leaf.rect(corner, (wide, high), None, Some((GREY, 0.2, None)));
    margins(&mut leaf, game, layout, sheet);
    leaf
}

/// What of a window lies on the table.
fn on_table(window: &Part, game: &Game) -> Part {
    let table = &game.scenario().table;
    Part {
        west_mm: larger(window.west_mm, 0.0),
        south_mm: larger(window.south_mm, 0.0),
        east_mm: smaller(window.east_mm, table.width_mm),
        north_mm: smaller(window.north_mm, table.depth_mm),
    }
}

/// A line every 10 cm of table, with its distance from the west or south edge. `corner` of the paper
/// is the window's south-west corner.
fn grid(leaf: &mut Leaf, part: &Part, window: &Part, corner: Point) {
    let at = |x: f64, y: f64| {
        Point::new(
            corner.x + x - window.west_mm,
            corner.y + y - window.south_mm,
        )
    };
    let mut step = (part.west_mm / 100.0).ceil();
    while step * 100.0 < part.east_mm {
        let x = step * 100.0;
        leaf.line(at(x, part.south_mm), at(x, part.north_mm), GREY, 0.12, None);
        let label = format!("{} cm W", amount(step * 10.0));
        leaf.say(at(x + 0.8, part.north_mm - 3.0), 2.4, false, GREY, &label);
        step += 1.0;
    }
    let mut step = (part.south_mm / 100.0).ceil();
    while step * 100.0 < part.north_mm {
        let y = step * 100.0;
        leaf.line(at(part.west_mm, y), at(part.east_mm, y), GREY, 0.12, None);
        let label = format!("{} cm S", amount(step * 10.0));
        leaf.say(at(part.west_mm + 0.8, y + 0.8), 2.4, false, GREY, &label);
        step += 1.0;
    }
}

/// Dashes where each neighbour's printed area begins, and two crosses in the middle of what is
/// shared: both sheets print them at the same place of the table.
fn overlaps(leaf: &mut Leaf, layout: &Layout, sheet: &Sheet) {
    let (wide, high) = layout.window_mm();
    let (margin, overlap) = (layout.margin_mm, layout.overlap_mm);
    let (west, south) = (margin, margin);
    let (east, north) = (margin + wide, margin + high);
    let is_first = (sheet.column == 0, sheet.row == 0);
    let is_last = (
        sheet.column + 1 == layout.columns,
        sheet.row + 1 == layout.rows,
    );
    for (joins, x, middle) in [
        (!is_first.0, west + overlap, west + overlap / 2.0),
        (!is_last.0, east - overlap, east - overlap / 2.0),
    ] {
        if joins {
            leaf.line(
                Point::new(x, south),
                Point::new(x, north),
                BLACK,
                0.25,
                Some(3.0),
            );
            for share in [0.25, 0.75] {
                cross(leaf, Point::new(middle, south + high * share), overlap);
            }
        }
    }
    for (joins, y, middle) in [
        (!is_first.1, north - overlap, north - overlap / 2.0),
        (!is_last.1, south + overlap, south + overlap / 2.0),
    ] {
        if joins {
            leaf.line(
                Point::new(west, y),
                Point::new(east, y),
                BLACK,
                0.25,
                Some(3.0),
            );
            for share in [0.25, 0.75] {
                cross(leaf, Point::new(west + wide * share, middle), overlap);
            }
        }
    }
}

fn cross(leaf: &mut Leaf, at: Point, overlap: f64) {
    let arm = smaller(overlap * 0.4, 4.0);
    leaf.line(
        Point::new(at.x - arm, at.y),
        Point::new(at.x + arm, at.y),
        BLACK,
        0.25,
        None,
    );
    leaf.line(
        Point::new(at.x, at.y - arm),
        Point::new(at.x, at.y + arm),
        BLACK,
        0.25,
        None,
    );
}

fn margins(leaf: &mut Leaf, game: &Game, layout: &Layout, sheet: &Sheet) {
    let (page_wide, page_high) = layout.page_mm;
    let margin = layout.margin_mm;
    let above = page_high - margin + 1.6;
    leaf.say(Point::new(margin, above), 5.0, true, BLACK, &sheet.name);
    let line = format!(
        "{}, sheet {} of {}: column {} of {}, row {} of {}. North is at the top.",
        plain(&game.scenario().name),
        u64::from(sheet.row) * u64::from(layout.columns) + u64::from(sheet.column) + 1,
        layout.count(),
        super::layout::letters(sheet.column),
        layout.columns,
        sheet.row + 1,
        layout.rows,
    );
    leaf.say(Point::new(margin + 16.0, above), 2.8, false, BLACK, &line);
    let below = margin - 4.0;
    if sheet.row > 0 {
        let text = format!("{} above", name(sheet.column, sheet.row - 1));
        let at = Point::new(page_wide - margin - width(&text, 2.8, false), above);
        leaf.say(at, 2.8, false, BLACK, &text);
    }
    if sheet.row + 1 < layout.rows {
        let text = format!("{} below", name(sheet.column, sheet.row + 1));
        leaf.say_middle(Point::new(page_wide / 2.0, below), 2.8, false, BLACK, &text);
    }
    if sheet.column > 0 {
        let text = format!("{} on this side", name(sheet.column - 1, sheet.row));
        leaf.say_upward(Point::new(margin - 1.6, page_high / 2.0), 2.8, BLACK, &text);
    }
    if sheet.column + 1 < layout.columns {
        let text = format!("{} on this side", name(sheet.column + 1, sheet.row));
        let at = Point::new(page_wide - margin + 4.0, page_high / 2.0);
        leaf.say_upward(at, 2.8, BLACK, &text);
    }
}

/// Text in the encoding that the standard fonts share: Windows code page 1252. Letters that it has
/// not become question marks.
pub(super) fn encoded(text: &str) -> Vec<u8> {
    text.chars()
        .map(|letter| match letter {
            ' '..='~' => u8::try_from(letter).unwrap_or(b'?'),
            '\u{a0}'..='\u{ff}' => u8::try_from(u32::from(letter)).unwrap_or(b'?'),
            '€' => 0x80,
            '…' => 0x85,
            '‘' => 0x91,
            '’' => 0x92,
            '“' => 0x93,
            '”' => 0x94,
            '•' => 0x95,
            '–' => 0x96,
            '—' => 0x97,
            'Š' => 0x8a,
            'Œ' => 0x8c,
            'Ž' => 0x8e,
            'š' => 0x9a,
            'œ' => 0x9c,
            'ž' => 0x9e,
            'Ÿ' => 0x9f,
            _ => b'?',
        })
        .collect()
}

/// Advance widths of the printing ASCII characters in Helvetica, in thousandths of the type size, as
/// Adobe's core metrics give them (from memory; only the centring of words depends on them).
const ADVANCE: [u16; 95] = [
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556,
    556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667,
    611, 778, 722, 278, 500, 667, 556, 833, 722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667,
    667, 611, 278, 278, 278, 469, 556, 333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500,
    222, 833, 556, 556, 556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
];

/// Width of words, in the unit of the type size.
pub(super) fn width(text: &str, size: f64, bold: bool) -> f64 {
    let mut thousandths = 0.0;
    for byte in encoded(text) {
        let index = usize::from(byte).wrapping_sub(32);
        thousandths += f64::from(ADVANCE.get(index).copied().unwrap_or(556));
    }
    thousandths / 1000.0 * size * if bold { 1.06 } else { 1.0 }
}
