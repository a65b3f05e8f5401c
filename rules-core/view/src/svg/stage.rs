//! One table for many moments: the ground drawn once, and what changes drawn over it.

use fieldpost_rules::game::Game;
use fieldpost_rules::geometry::Point;

use super::labels::Board;
use super::pen::{Pen, SERIF};
use super::{
    FOOT, Fight, Ghost, MARGIN, Picture, RULER, SvgOptions, fights, furniture, ghosts, letters,
    naming, palette, title_block, units, zones,
};

/// Room for a caption below the scale bars, in pixels.
const CAPTION: f64 = 118.0;
/// The most lines of a caption.
const LINES: usize = 6;

/// The ground of a game, on which its moments are drawn. Places keep their names where they are from
/// one moment to the next; units' names stay clear of them.
pub struct Stage<'a> {
    opening: Picture<'a>,
    options: &'a SvgOptions,
}

impl<'a> Stage<'a> {
    /// The stage of a game: its table as the options frame it.
    #[must_use]
    pub fn new(game: &'a Game, options: &'a SvgOptions) -> Self {
        Self {
            opening: Picture::new(game, options),
            options,
        }
    }

    fn map_bottom(&self) -> f64 {
        let frame = &self.opening.frame;
        frame.corner.y + frame.height() + RULER
    }

    /// The beginning of an SVG picture with the ground in it, left open for moments; `</svg>` ends it.
    /// With `captioned` there is room for [`Self::caption`] below the map.
    #[must_use]
    pub fn opened(&self, captioned: bool) -> String {
        let frame = &self.opening.frame;
        let width = frame.corner.x + frame.width() + RULER + MARGIN;
        let caption = if captioned { CAPTION } else { 0.0 };
        let height = self.map_bottom() + FOOT + caption;
        let mut pen = Pen::new(width, height, &self.opening.game.scenario().name);
        let corner = frame.corner;
        pen.rect(Point::new(0.0, 0.0), width, height)
            .fill(palette::PAPER)
            .done();
        // what a small screen shows of it: the map without its rulers
        pen.rect(corner, frame.width(), frame.height())
            .attr("id", &self.opening.id("frame"))
            .fill(palette::OPEN)
            .done();
        self.ground(&mut pen);
        furniture::rulers(&mut pen, &self.opening);
        let foot = self.map_bottom() + 17.0;
        furniture::scale_bars(&mut pen, &self.opening, Point::new(frame.corner.x, foot));
        furniture::north(
            &mut pen,
            Point::new(frame.corner.x + frame.width() - 12.0, foot + 11.0),
            22.0,
        );
        pen.unfinished()
    }

    fn ground(&self, pen: &mut Pen) {
        super::open_map(pen, &self.opening);
        self.named_ground().draw(pen);
        pen.close("g");
    }

    /// The names of the ground, as they stand in every moment.
    fn named_ground(&self) -> Board {
        let mut board = naming::empty_board(&self.opening);
        naming::letter_ground(&mut board, &self.opening);
        board
    }

    /// What changes: whose turn it is, flags, arrivals, ghosts and units with their names, and who fought whom. Units
    /// that went somewhere carry their way in `data-way`, for whoever lets them glide along it.
    #[must_use]
    pub fn moment(&self, game: &Game, ghosts: Vec<Ghost>, fights: &[Fight]) -> String {
        let options = SvgOptions {
            ghosts,
            highlights: fights.iter().flat_map(Fight::units).cloned().collect(),
            ..self.options.clone()
        };
        let picture = Picture::new(game, &options);
        let mut pen = Pen::fragment();
        title_block(&mut pen, &picture);
        let clip = format!("url(#{})", self.opening.id("map"));
        pen.group().attr("clip-path", &clip).open();
        zones::draw_objectives(&mut pen, &picture);
        if options.arrivals {
            zones::draw_edges(&mut pen, &picture);
        }
        ghosts::draw(&mut pen, &picture);
        units::draw(&mut pen, &picture);
        ghosts::draw_tapes(&mut pen, &picture);
        fights::draw(&mut pen, &picture, fights);
        self.named_units(&picture, fights).0.draw(&mut pen);
        pen.close("g");
        pen.unfinished()
    }

    /// The names of units, clear of each other, of battles' numbers and of the names of the ground, and how many
    /// units found no place for theirs.
    fn named_units(&self, picture: &Picture, fights: &[Fight]) -> (Board, usize) {
        let mut board = naming::board(picture);
        fights::block(&mut board, picture, fights);
        board.keep_clear_of(&self.named_ground());
        ghosts::letter(&mut board, picture);
        let unnamed = naming::letter_units(&mut board, picture);
        (board, unnamed)
    }

    /// How well the names of units stand.
    #[cfg(test)]
    pub(super) fn clashes(&self, game: &Game, ghosts: Vec<Ghost>) -> super::Clashes {
        let options = SvgOptions {
            ghosts,
            ..self.options.clone()
        };
        let picture = Picture::new(game, &options);
        let (board, units_unnamed) = self.named_units(&picture, &[]);
        super::Clashes {
            units_unnamed,
            ..super::labels::measured(&board)
        }
    }

    /// Words under the map: a title, and as many lines as there is room for.
    #[must_use]
    pub fn caption(&self, title: &str, words: &[String]) -> String {
        let mut pen = Pen::fragment();
        let frame = &self.opening.frame;
        let (left, room) = (frame.corner.x, frame.width());
        let mut y = self.map_bottom() + FOOT + 6.0;
        pen.text(Point::new(left, y), 15.0)
            .fill(palette::INK)
            .attr("font-family", SERIF)
            .attr("font-weight", "bold")
            .say(&letters::fitted(title, 15.0, true, room));
        let mut lines: Vec<String> = words
            .iter()
            .flat_map(|told| letters::wrapped(told, 12.0, false, room))
            .collect();
        if lines.len() > LINES {
            lines.truncate(LINES);
            if let Some(last) = lines.last_mut() {
                *last = letters::fitted(&format!("{last} …"), 12.0, false, room);
            }
        }
        for line in lines {
            y += 16.5;
            pen.text(Point::new(left, y), 12.0)
                .fill(palette::INK)
                .say(&line);
        }
        pen.unfinished()
    }
}
