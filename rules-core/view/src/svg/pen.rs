//! Writes SVG text: every number in fixed hundredths, every string escaped.

use std::fmt::Write;

use fieldpost_rules::geometry::Point;
use fieldpost_rules::verdict::rounding::hundredths_text;

use fieldpost_rules::sanitize::xml;

/// The SVG text as it grows.
pub(super) struct Pen {
    out: String,
}

/// An element being written; nothing stands until it is closed by `done`, `open` or `say`.
pub(super) struct Element<'a> {
    pen: &'a mut Pen,
    tag: &'static str,
}

impl Pen {
    /// A picture of the given size in pixels.
    pub(super) fn new(width: f64, height: f64, title: &str) -> Self {
        let (width, height) = (hundredths_text(width), hundredths_text(height));
        let mut pen = Self {
            out: format!(
                "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" \
                 viewBox=\"0 0 {width} {height}\" font-family=\"{FAMILY}\">\n"
            ),
        };
        pen.element("title").say(title);
        pen
    }

    /// Part of a picture that is begun elsewhere.
    pub(super) fn fragment() -> Self {
        Self { out: String::new() }
    }

    /// The text so far, nothing closed.
    pub(super) fn unfinished(self) -> String {
        self.out
    }

    /// Starts an element.
    pub(super) fn element(&mut self, tag: &'static str) -> Element<'_> {
        self.out.push('<');
        self.out.push_str(tag);
        Element { pen: self, tag }
    }

    /// Starts a path.
    pub(super) fn path(&mut self, trace: &Trace) -> Element<'_> {
        self.element("path").attr("d", &trace.0)
    }

    /// Starts a group that `close("g")` ends.
    pub(super) fn group(&mut self) -> Element<'_> {
        self.element("g")
    }

    /// Starts a straight stroke.
    pub(super) fn line(&mut self, from: Point, to: Point) -> Element<'_> {
        self.element("line")
            .num("x1", from.x)
            .num("y1", from.y)
            .num("x2", to.x)
            .num("y2", to.y)
    }

    /// Starts an upright rectangle.
    pub(super) fn rect(&mut self, corner: Point, width: f64, height: f64) -> Element<'_> {
        self.element("rect")
            .num("x", corner.x)
            .num("y", corner.y)
            .num("width", width)
            .num("height", height)
    }

    /// Starts a circle.
    pub(super) fn circle(&mut self, centre: Point, radius: f64) -> Element<'_> {
        self.element("circle")
            .num("cx", centre.x)
            .num("cy", centre.y)
            .num("r", radius)
    }

    /// Starts a text whose baseline begins (or has its middle or end) at a point.
    pub(super) fn text(&mut self, at: Point, size: f64) -> Element<'_> {
        self.element("text")
            .num("x", at.x)
            .num("y", at.y)
            .num("font-size", size)
    }

    /// Closes a group or a definition.
    pub(super) fn close(&mut self, tag: &str) {
        self.out.push_str("</");
        self.out.push_str(tag);
        self.out.push_str(">\n");
    }

    /// The finished text.
    pub(super) fn finish(mut self) -> String {
        self.close("svg");
        self.out
    }
}

/// Names that most machines answer to; a renderer with one font answers all with that.
const FAMILY: &str = "DejaVu Sans, Verdana, sans-serif";
/// For titles and the names of places.
pub(super) const SERIF: &str = "DejaVu Serif, Georgia, serif";

impl Element<'_> {
    /// A number, in hundredths.
    pub(super) fn num(self, name: &str, value: f64) -> Self {
        let text = hundredths_text(value);
        self.raw(name, &text)
    }

    /// A string.
    pub(super) fn attr(self, name: &str, value: &str) -> Self {
        let text = xml(value);
        self.raw(name, &text)
    }

    fn raw(self, name: &str, value: &str) -> Self {
        // writing to a String cannot fail
        let _ = write!(self.pen.out, " {name}=\"{value}\"");
        self
    }

    /// Filled with a colour and not outlined.
    pub(super) fn fill(self, colour: &str) -> Self {
        self.attr("fill", colour)
    }

    /// Outlined.
    pub(super) fn stroke(self, colour: &str, width: f64) -> Self {
        self.attr("stroke", colour).num("stroke-width", width)
    }

    /// Outlined only.
    pub(super) fn hollow(self, colour: &str, width: f64) -> Self {
        self.attr("fill", "none").stroke(colour, width)
    }

    /// Dashes.
    pub(super) fn dashed(self, pattern: &str) -> Self {
        self.attr("stroke-dasharray", pattern)
    }

    /// Round ends and corners.
    pub(super) fn round(self) -> Self {
        self.attr("stroke-linejoin", "round")
            .attr("stroke-linecap", "round")
    }

    /// See-through.
    pub(super) fn opacity(self, share: f64) -> Self {
        self.num("opacity", share)
    }

    /// Turned about a point, in degrees clockwise on the picture.
    pub(super) fn turned(self, degrees: f64, about: Point) -> Self {
        let transform = format!(
            "rotate({} {} {})",
            hundredths_text(degrees),
            hundredths_text(about.x),
            hundredths_text(about.y)
        );
        self.attr("transform", &transform)
    }

    /// An element without content.
    pub(super) fn done(self) {
        self.pen.out.push_str("/>\n");
    }

    /// An element whose content follows; `Pen::close` ends it.
    pub(super) fn open(self) {
        self.pen.out.push_str(">\n");
    }

    /// An element that holds text, whose second part can be left away.
    pub(super) fn say_in_two(self, first: &str, rest: &str) {
        if rest.is_empty() {
            self.say(first);
            return;
        }
        // some viewers drop a blank that a part begins with
        let rest = xml(rest);
        let rest = rest
            .strip_prefix(' ')
            .map_or(rest.clone(), |rest| format!("\u{a0}{rest}"));
        let first = xml(first);
        let tag = self.tag;
        let _ = writeln!(
            self.pen.out,
            ">{first}<tspan class=\"rest\">{rest}</tspan></{tag}>"
        );
    }

    /// An element that holds text.
    pub(super) fn say(self, text: &str) {
        let text = xml(text);
        let _ = writeln!(self.pen.out, ">{text}</{}>", self.tag);
    }
}

/// Path data in picture pixels.
#[derive(Default)]
pub(super) struct Trace(String);

impl Trace {
    /// Nothing yet.
    pub(super) fn new() -> Self {
        Self::default()
    }

    fn put(mut self, letter: char, numbers: &[f64]) -> Self {
        self.0.push(letter);
        for (index, number) in numbers.iter().enumerate() {
            if index > 0 {
                self.0.push(' ');
            }
            self.0.push_str(&hundredths_text(*number));
        }
        self
    }

    /// Lifts the pen to a point.
    pub(super) fn to(self, at: Point) -> Self {
        self.put('M', &[at.x, at.y])
    }

    /// Straight to a point.
    pub(super) fn line(self, at: Point) -> Self {
        self.put('L', &[at.x, at.y])
    }

    /// Along a curve bent towards a point.
    pub(super) fn bend(self, towards: Point, at: Point) -> Self {
        self.put('Q', &[towards.x, towards.y, at.x, at.y])
    }

    /// Along a circle of a radius, the shorter way, clockwise on the picture or not.
    pub(super) fn arc(self, radius: f64, clockwise: bool, at: Point) -> Self {
        let sweep = if clockwise { 1.0 } else { 0.0 };
        self.put('A', &[radius, radius, 0.0, 0.0, sweep, at.x, at.y])
    }

    /// Back to where the pen was set down.
    pub(super) fn shut(mut self) -> Self {
        self.0.push('Z');
        self
    }

    /// Straight through points, open.
    pub(super) fn course(self, points: &[Point]) -> Self {
        let mut trace = self;
        for (index, point) in points.iter().enumerate() {
            trace = if index == 0 {
                trace.to(*point)
            } else {
                trace.line(*point)
            };
        }
        trace
    }

    /// Straight through points and back.
    pub(super) fn ring(self, points: &[Point]) -> Self {
        self.course(points).shut()
    }
}
