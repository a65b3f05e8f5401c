//! The table as a picture: plain SVG text, the same to the byte everywhere, without scripts,
//! styles or anything fetched.

mod caption;
mod declaration;
mod fights;
mod frame;
mod furniture;
mod ghosts;
mod labels;
mod layers;
mod letters;
mod lines;
mod map;
mod naming;
mod palette;
mod panel;
mod pen;
pub(crate) mod shape;
mod sheet;
mod signs;
mod stage;
mod tape;
mod tape_drawing;
mod terrain;
mod units;
mod verdict;
mod ways;
mod zones;

use std::collections::BTreeMap;

use fieldpost_rules::game::{Game, Unit};
use fieldpost_rules::geometry::{Footprint, Point, larger};
use fieldpost_rules::orders::UnitId;

use super::words::turn_line;
use fieldpost_rules::game::marks;
use frame::Frame;
use furniture::RULER;
use labels::Board;
use palette::Side;
use pen::{Pen, SERIF, Trace};

pub use fights::Fight;
pub use frame::Part;
pub use labels::Clashes;
pub use layers::{Layer, measure, reach};
pub(super) use lines::drawing_of as line_drawing;
pub use map::map;
pub use sheet::{order, sheet};
pub use stage::Stage;
pub(super) use terrain::{drawing_of as patch_drawing, tint as patch_tint};
pub use verdict::verdict;
pub use ways::{Ghost, changes, moves};

/// How units are lettered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Names {
    /// Mark and name: `R3 Third Foot`.
    #[default]
    Full,
    /// Short marks: `R3`.
    Marks,
    /// Nothing.
    None,
}

/// What a picture shows.
#[derive(Debug, Clone, PartialEq)]
pub struct SvgOptions {
    /// Width of the map in pixels; rulers and the key come beside it.
    pub map_width_px: f64,
    /// The part of the table to show; absent: all of it.
    pub part: Option<Part>,
    /// How units are lettered.
    pub names: Names,
    /// Type size of unit names in pixels.
    pub letters_px: f64,
    /// Whether halt zones are drawn.
    pub halt_zones: bool,
    /// Whether strike zones are drawn.
    pub strike_zones: bool,
    /// Whether deployment areas are drawn.
    pub deployment: bool,
    /// Whether arrivals still to come, and exits, are drawn.
    pub arrivals: bool,
    /// Units to draw the eye to.
    pub highlights: Vec<UnitId>,
    /// Where units stood before.
    pub ghosts: Vec<Ghost>,
    /// Outlines and distances laid over the table.
    pub layers: Vec<Layer>,
    /// Whether the key stands beside the map.
    pub key: bool,
    /// Begins every id in the file, so that several pictures can share a page. Letters only;
    /// anything else is left out.
    pub id_prefix: String,
}

impl Default for SvgOptions {
    fn default() -> Self {
        Self {
            map_width_px: 1200.0,
            part: None,
            names: Names::Full,
            letters_px: 11.5,
            halt_zones: false,
            strike_zones: false,
            deployment: false,
            arrivals: true,
            highlights: Vec::new(),
            ghosts: Vec::new(),
            layers: Vec::new(),
            key: true,
            id_prefix: "table".to_owned(),
        }
    }
}

/// Everything the files of this room draw from.
struct Picture<'a> {
    game: &'a Game,
    options: &'a SvgOptions,
    frame: Frame,
    sides: [Side; 2],
    marks: BTreeMap<UnitId, String>,
    /// Whether parts bear ids and say how they lie.
    is_for_scripts: bool,
}

impl<'a> Picture<'a> {
    fn new(game: &'a Game, options: &'a SvgOptions) -> Self {
        let table = &game.scenario().table;
        let part = options
            .part
            .map_or(Part::whole(table), |part| part.kept_on(table));
        let width = if options.map_width_px.is_finite() {
            fieldpost_rules::geometry::smaller(larger(options.map_width_px, 200.0), 8000.0)
        } else {
            1200.0
        };
        Self {
            frame: Frame {
                part,
                scale: width / part.width_mm(),
                corner: Point::new(MARGIN + RULER, TITLE + RULER),
            },
            sides: palette::sides(game),
            marks: marks(game),
            is_for_scripts: false,
            game,
            options,
        }
    }

    fn heading(&self) -> String {
        format!("{}: {}", self.game.scenario().name, turn_line(self.game))
    }

    fn side(&self, unit: &Unit) -> &Side {
        &self.sides[unit.side % 2]
    }

    fn side_index(&self, key: &str) -> Option<usize> {
        self.game
            .scenario()
            .side
            .iter()
            .position(|side| side.key == key)
    }

    fn mark(&self, unit: &Unit) -> String {
        self.mark_of(&unit.id)
    }

    fn mark_of(&self, unit: &UnitId) -> String {
        self.marks
            .get(unit)
            .cloned()
            .unwrap_or_else(|| unit.0.clone())
    }

    fn shows(&self, footprint: &Footprint) -> bool {
        self.shows_round(footprint, 0.0)
    }

    /// Whether anything within a distance of a footprint is on the picture.
    fn shows_round(&self, footprint: &Footprint, mm: f64) -> bool {
        ghosts::is_shown(&self.frame, footprint, mm)
    }

    fn base_width_px(&self) -> f64 {
        self.frame.long(self.game.ruleset().scale.base_width_mm)
    }

    fn id(&self, name: &str) -> String {
        let prefix: String = self
            .options
            .id_prefix
            .chars()
            .filter(char::is_ascii_alphabetic)
            .collect();
        format!("{prefix}-{name}")
    }
}

/// Paper round everything, in pixels.
const MARGIN: f64 = 18.0;
/// Room for the title above the map.
const TITLE: f64 = 76.0;
/// Room for the scale bars below it.
const FOOT: f64 = 52.0;
/// Between map and key.
const GUTTER: f64 = 26.0;

/// A side's inks as `#rrggbb`: for quiet parts, for outlines and lettering, and for its bases.
pub(super) fn side_inks(game: &Game, side: usize) -> (String, String, String) {
    let [first, second] = palette::sides(game);
    let inks = if side.is_multiple_of(2) {
        first
    } else {
        second
    };
    (inks.pale, inks.dark, inks.body)
}

/// The table at one moment.
#[must_use]
pub fn table(game: &Game, options: &SvgOptions) -> String {
    let picture = Picture::new(game, options);
    whole(&picture, panel::draw, &Nothing)
}

/// How well the lettering of that picture stands: overlaps are measured afresh.
#[must_use]
pub fn clashes(game: &Game, options: &SvgOptions) -> Clashes {
    let picture = Picture::new(game, options);
    let mut board = naming::board(&picture);
    ghosts::letter(&mut board, &picture);
    let (units_unnamed, places_unnamed) = naming::letter(&mut board, &picture);
    Clashes {
        units_unnamed,
        places_unnamed,
        ..labels::measured(&board)
    }
}

/// What a picture draws besides the table.
trait Overlay {
    /// Under the units.
    fn under(&self, _pen: &mut Pen) {}
    /// Over them, with its lettering, which has first choice of places.
    fn over(&self, _pen: &mut Pen, _board: &mut Board) {}
}

struct Nothing;

impl Overlay for Nothing {}

/// The whole sheet: map with an overlay, and something beside it that tells how deep it reaches.
fn whole(
    picture: &Picture,
    beside: impl Fn(&mut Pen, &Picture, f64, f64) -> f64,
    overlay: &dyn Overlay,
) -> String {
    let frame = &picture.frame;
    let map_right = frame.corner.x + frame.width() + RULER;
    let map_bottom = frame.corner.y + frame.height() + RULER;
    let (mut width, mut height) = (map_right + MARGIN, map_bottom + FOOT);
    let left = map_right + GUTTER;
    if picture.options.key {
        // drawn once on scrap to learn its depth
        let depth = beside(&mut Pen::new(1.0, 1.0, ""), picture, left, MARGIN + 6.0);
        width = left + panel::WIDTH + MARGIN;
        height = larger(height, depth + MARGIN);
    }
    let mut pen = Pen::new(width, height, &picture.heading());
    pen.rect(Point::new(0.0, 0.0), width, height)
        .fill(palette::PAPER)
        .done();
    title_block(&mut pen, picture);
    draw_map(&mut pen, picture, overlay);
    furniture::rulers(&mut pen, picture);
    let foot = map_bottom + 17.0;
    furniture::scale_bars(&mut pen, picture, Point::new(frame.corner.x, foot));
    furniture::north(
        &mut pen,
        Point::new(frame.corner.x + frame.width() - 12.0, foot + 11.0),
        22.0,
    );
    if picture.options.key {
        beside(&mut pen, picture, left, MARGIN + 6.0);
    }
    pen.finish()
}

fn title_block(pen: &mut Pen, picture: &Picture) {
    let left = MARGIN + RULER;
    let room = picture.frame.width();
    let name = letters::fitted(&picture.game.scenario().name, 27.0, true, room);
    pen.text(Point::new(left, MARGIN + 24.0), 27.0)
        .fill(palette::INK)
        .attr("font-family", SERIF)
        .attr("font-weight", "bold")
        .say(&name);
    let line = letters::fitted(&turn_line(picture.game), 14.0, false, room);
    pen.text(Point::new(left, MARGIN + 46.0), 14.0)
        .fill(palette::PLACE)
        .say(&line);
}

/// Opens the group that shows nothing beyond the map's frame, and draws the ground into it.
fn open_map(pen: &mut Pen, picture: &Picture) {
    let frame = &picture.frame;
    let clip = picture.id("map");
    pen.element("clipPath").attr("id", &clip).open();
    pen.rect(frame.corner, frame.width(), frame.height()).done();
    pen.close("clipPath");
    picture
        .tell_frame(pen.group())
        .attr("clip-path", &format!("url(#{clip})"))
        .open();
    pen.rect(frame.corner, frame.width(), frame.height())
        .fill(palette::OPEN)
        .done();
    grid(pen, picture);
    terrain::draw(pen, picture);
}

fn draw_map(pen: &mut Pen, picture: &Picture, overlay: &dyn Overlay) {
    open_map(pen, picture);
    if picture.options.deployment {
        zones::draw_deployment(pen, picture);
    }
    zones::draw_objectives(pen, picture);
    zones::draw(pen, picture);
    if picture.options.arrivals {
        zones::draw_edges(pen, picture);
    }
    layers::draw_under(pen, picture);
    overlay.under(pen);
    ghosts::draw(pen, picture);
    units::draw(pen, picture);
    ghosts::draw_tapes(pen, picture);
    let mut board = naming::board(picture);
    layers::draw_over(pen, picture, &mut board);
    overlay.over(pen, &mut board);
    ghosts::letter(&mut board, picture);
    naming::letter(&mut board, picture);
    board.draw(pen);
    pen.close("g");
}

/// A very light grid every 10 cm, to lay the table out from.
fn grid(pen: &mut Pen, picture: &Picture) {
    let (frame, part) = (&picture.frame, &picture.frame.part);
    let mut lines = Trace::new();
    let mut step = (part.west_mm / 100.0).ceil();
    while step * 100.0 < part.east_mm {
        let at = |y| frame.at(Point::new(step * 100.0, y));
        lines = lines.to(at(part.south_mm)).line(at(part.north_mm));
        step += 1.0;
    }
    let mut step = (part.south_mm / 100.0).ceil();
    while step * 100.0 < part.north_mm {
        let at = |x| frame.at(Point::new(x, step * 100.0));
        lines = lines.to(at(part.west_mm)).line(at(part.east_mm));
        step += 1.0;
    }
    pen.path(&lines).hollow("#ffffff", 0.8).opacity(0.55).done();
}

#[cfg(test)]
mod tests;
