//! The map alone, for a page whose script works on it: every part bears an id and says what it is and how it lies in
//! millimetres of table. `rules-core/manual/seeing-the-table.md` lists the parts.

use fieldpost_rules::game::{Game, Unit};
use fieldpost_rules::geometry::{Footprint, Point};

use super::pen::{Element, Pen};
use super::{Nothing, Picture, SvgOptions, draw_map};

/// The map of the table without rulers, title and key. Its zones and areas are all there, hidden. The picture's whole width is
/// the width of the part shown.
#[must_use]
pub fn map(game: &Game, options: &SvgOptions) -> String {
    let options = SvgOptions {
        deployment: true,
        halt_zones: true,
        strike_zones: true,
        ..options.clone()
    };
    let mut picture = Picture::new(game, &options);
    picture.is_for_scripts = true;
    picture.frame.corner = Point::new(0.0, 0.0);
    let (width, height) = (picture.frame.width(), picture.frame.height());
    let mut pen = Pen::new(width, height, &picture.heading());
    draw_map(&mut pen, &picture, &Nothing);
    pen.finish()
}

impl Picture<'_> {
    /// Opens the group of a part that scripts can find, by an id of its class and key; `said` are its `data-` attributes.
    /// Where the picture is only looked at there is no such group.
    pub(super) fn open_part(&self, pen: &mut Pen, class: &str, key: &str, said: &[(&str, &str)]) {
        if self.is_for_scripts {
            self.part(pen.group(), class, key, said).open();
        }
    }

    /// The same, hidden until a script shows it.
    pub(super) fn open_hidden(&self, pen: &mut Pen, class: &str, key: &str, said: &[(&str, &str)]) {
        if self.is_for_scripts {
            let part = self.part(pen.group(), class, key, said);
            part.attr("display", "none").open();
        }
    }

    /// Ends the group of a part.
    pub(super) fn close_part(&self, pen: &mut Pen) {
        if self.is_for_scripts {
            pen.close("g");
        }
    }

    /// An element that is a part by itself.
    pub(super) fn part<'p>(
        &self,
        element: Element<'p>,
        class: &str,
        key: &str,
        said: &[(&str, &str)],
    ) -> Element<'p> {
        if !self.is_for_scripts {
            return element;
        }
        let element = element
            .attr("id", &self.id(&format!("{class}-{key}")))
            .attr("class", class);
        said.iter().fold(element, |element, (name, value)| {
            element.attr(&format!("data-{name}"), value)
        })
    }

    /// What is shown of the table, on the group that holds all of it.
    pub(super) fn tell_frame<'p>(&self, element: Element<'p>) -> Element<'p> {
        if !self.is_for_scripts {
            return element;
        }
        let part = &self.frame.part;
        element
            .attr("id", &self.id("shown"))
            .num("data-west-mm", part.west_mm)
            .num("data-north-mm", part.north_mm)
            .num("data-width-mm", part.width_mm())
            .num("data-depth-mm", part.depth_mm())
    }

    /// What a unit is and how it stands, on its group.
    pub(super) fn tell_unit<'p>(
        &self,
        element: Element<'p>,
        unit: &Unit,
        footprint: &Footprint,
    ) -> Element<'p> {
        if !self.is_for_scripts {
            return element;
        }
        let side = self.game.side_id(unit.side);
        let [x, y, bearing] = match unit.pose() {
            Some(pose) => [pose.x_mm(), pose.y_mm(), pose.bearing_deg()],
            None => [footprint.anchor().x, footprint.anchor().y, 0.0],
        };
        element
            .attr("id", &self.id(&format!("unit-{}", unit.id)))
            .attr("data-side", &side.0)
            .attr("data-mark", &self.mark(unit))
            .num("data-x-mm", x)
            .num("data-y-mm", y)
            .num("data-bearing-deg", bearing)
            .num("data-frontage-mm", footprint.half_frontage * 2.0)
            .num("data-depth-mm", footprint.half_depth * 2.0)
    }
}
