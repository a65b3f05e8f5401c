//! A picture read back: elements with their attributes, and places of the table.

use fieldpost_rules::game::Game;
use fieldpost_rules::geometry::Point;

/// A picture and how to take its pixels back to the table.
pub(super) struct Drawn {
    pub(super) svg: String,
    scale: f64,
    corner: Point,
    west_mm: f64,
    north_mm: f64,
}

/// An element: its attributes, and where in the file it begins.
#[derive(Debug, Clone)]
pub(super) struct Element<'a> {
    tag: &'a str,
}

impl<'a> Element<'a> {
    pub(super) fn get(&self, name: &str) -> Option<&'a str> {
        let from = self.tag.find(&format!(" {name}=\""))? + name.len() + 3;
        self.tag[from..].split('"').next()
    }

    pub(super) fn num(&self, name: &str) -> f64 {
        self.get(name).expect("there").parse().expect("a number")
    }
}

impl Drawn {
    /// Reads the frame off one unit that stands: its base is drawn where the game has it.
    pub(super) fn of(svg: String, game: &Game) -> Self {
        let clip = svg.split("<clipPath").nth(1).expect("a map");
        let frame = Element {
            tag: clip.split("<rect").nth(1).expect("a frame"),
        };
        let mut drawn = Self {
            scale: 1.0,
            corner: Point::new(frame.num("x"), frame.num("y")),
            west_mm: 0.0,
            north_mm: 0.0,
            svg: svg.clone(),
        };
        // two corners of one unit tell the scale and where the map begins
        let unit = game
            .on_table()
            .find(|unit| svg.contains(&format!("data-unit=\"{}\"", unit.id)))
            .expect("somebody is drawn");
        let ground = unit.footprint().expect("it stands");
        let [a, b] = drawn.front_px(&unit.id.0).expect("it is drawn");
        let (left, right) = (ground.front_left(), ground.front_right());
        drawn.scale = a.distance_to(b) / left.distance_to(right);
        drawn.west_mm = left.x - (a.x - drawn.corner.x) / drawn.scale;
        drawn.north_mm = left.y + (a.y - drawn.corner.y) / drawn.scale;
        drawn
    }

    /// A pixel's place on the table.
    pub(super) fn mm(&self, at: Point) -> Point {
        Point::new(
            self.west_mm + (at.x - self.corner.x) / self.scale,
            self.north_mm - (at.y - self.corner.y) / self.scale,
        )
    }

    pub(super) fn scale(&self) -> f64 {
        self.scale
    }

    /// Every element of a class.
    pub(super) fn all(&self, class: &str) -> Vec<Element<'_>> {
        let wanted = format!("class=\"{class}\"");
        let tags = self.svg.split('<').filter_map(|tag| tag.split('>').next());
        let found = tags.filter(|tag| tag.contains(&wanted));
        found.map(|tag| Element { tag }).collect()
    }

    /// Both ends of a unit's front edge in pixels.
    fn front_px(&self, unit: &str) -> Option<[Point; 2]> {
        let group = format!("class=\"unit\" data-unit=\"{unit}\"");
        let rest = self.svg.split(&group).nth(1)?;
        let line = Element {
            tag: rest.split("<line").nth(1)?,
        };
        Some([
            Point::new(line.num("x1"), line.num("y1")),
            Point::new(line.num("x2"), line.num("y2")),
        ])
    }

    /// Where a unit is drawn: both ends of its front edge on the table.
    pub(super) fn front(&self, unit: &str) -> Option<[Point; 2]> {
        self.front_px(unit).map(|ends| ends.map(|end| self.mm(end)))
    }

    /// The points of a path on the table.
    pub(super) fn path(&self, element: &Element<'_>) -> Vec<Point> {
        let data = element.get("d").expect("a path");
        assert!(!data.contains(['Q', 'C', 'A']), "bent: {data}");
        let numbers: Vec<f64> = data
            .split(['M', 'L', 'Z', ' '])
            .filter_map(|number| number.parse().ok())
            .collect();
        let pairs = numbers.chunks_exact(2);
        pairs
            .map(|pair| self.mm(Point::new(pair[0], pair[1])))
            .collect()
    }

    /// A straight stroke on the table.
    pub(super) fn line(&self, element: &Element<'_>) -> [Point; 2] {
        let at = |x, y| self.mm(Point::new(element.num(x), element.num(y)));
        [at("x1", "y1"), at("x2", "y2")]
    }
}

/// Writes a picture to the folder that `FIELDPOST_PICTURES` names, to be looked at.
pub(super) fn keep(name: &str, svg: &str) {
    if let Ok(folder) = std::env::var("FIELDPOST_PICTURES") {
        std::fs::write(format!("{folder}/{name}.svg"), svg).expect("a folder to write to");
    }
}

/// Length of a run of points.
pub(super) fn length(points: &[Point]) -> f64 {
    points
        .windows(2)
        .fold(0.0, |all, pair| all + pair[0].distance_to(pair[1]))
}
