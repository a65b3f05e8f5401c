//! What surrounds the map: rulers along the edges, scale bars, the north arrow.

use fieldpost_rules::geometry::{Point, larger, smaller};
use fieldpost_rules::verdict::rounding::{amount, hundredths_text};

use super::Picture;
use super::palette;
use super::pen::{Pen, SERIF, Trace};

/// Millimetres between small, middle and numbered ticks, chosen so that small ones stand at
/// least 4 pixels apart and numbers 30.
fn tick_steps(scale: f64, of: &[[f64; 3]], unit_mm: f64) -> (f64, f64, f64) {
    let [small, middle, numbered] = of
        .iter()
        .find(|[small, _, numbered]| {
            small * unit_mm * scale >= 4.0 && numbered * unit_mm * scale >= 30.0
        })
        .or(of.last())
        .copied()
        .unwrap_or([1.0; 3]);
    (small * unit_mm, middle * unit_mm, numbered * unit_mm)
}

const CENTIMETRES: [[f64; 3]; 6] = [
    [0.1, 0.5, 1.0],
    [0.5, 1.0, 5.0],
    [1.0, 5.0, 10.0],
    [5.0, 10.0, 50.0],
    [10.0, 50.0, 100.0],
    [50.0, 100.0, 500.0],
];

const INCHES: [[f64; 3]; 8] = [
    [0.125, 0.5, 1.0],
    [0.25, 1.0, 2.0],
    [0.5, 1.0, 3.0],
    [1.0, 3.0, 6.0],
    [1.0, 6.0, 12.0],
    [3.0, 6.0, 12.0],
    [6.0, 12.0, 36.0],
    [36.0, 72.0, 180.0],
];

/// Neat frame and rulers from the table's west and south edges: centimetres below and on the left,
/// inches above and on the right.
pub(super) fn rulers(pen: &mut Pen, picture: &Picture) {
    let frame = &picture.frame;
    let (wide, high) = (frame.width(), frame.height());
    pen.rect(frame.corner, wide, high)
        .hollow(palette::INK, 1.6)
        .done();
    let outer = Point::new(frame.corner.x - RULER, frame.corner.y - RULER);
    pen.rect(outer, wide + 2.0 * RULER, high + 2.0 * RULER)
        .hollow(palette::FAINT, 0.8)
        .done();
    let far = Point::new(frame.corner.x + wide, frame.corner.y + high);
    ruler(
        pen,
        picture,
        (tick_steps(frame.scale, &CENTIMETRES, 10.0), 10.0),
        (Point::new(frame.corner.x, far.y), -1.0, 1.0),
        "cm",
    );
    ruler(
        pen,
        picture,
        (tick_steps(frame.scale, &INCHES, 25.4), 25.4),
        (Point::new(far.x, frame.corner.y), 1.0, -1.0),
        "in",
    );
}

/// One ruler along two sides of the map that meet at a corner: `right` and `down` are the ways
/// outward from the upright and from the level side, as signs.
fn ruler(
    pen: &mut Pen,
    picture: &Picture,
    (steps, unit_mm): ((f64, f64, f64), f64),
    (corner, right, down): (Point, f64, f64),
    name: &str,
) {
    let (frame, part) = (&picture.frame, &picture.frame.part);
    let mut ticks = Trace::new();
    let mut numbers = Vec::new();
    for (along, length, numbered) in ticked(part.west_mm, part.east_mm, steps) {
        let x = frame.corner.x + frame.long(along - part.west_mm);
        ticks = ticks
            .to(Point::new(x, corner.y))
            .line(Point::new(x, corner.y + down * length));
        if numbered {
            numbers.push((Point::new(x, corner.y + down * 13.5 + 3.2), along));
        }
    }
    let bottom = frame.corner.y + frame.height();
    for (along, length, numbered) in ticked(part.south_mm, part.north_mm, steps) {
        let y = bottom - frame.long(along - part.south_mm);
        ticks = ticks
            .to(Point::new(corner.x, y))
            .line(Point::new(corner.x + right * length, y));
        if numbered {
            numbers.push((Point::new(corner.x + right * 14.0, y + 3.2), along));
        }
    }
    pen.path(&ticks).hollow(palette::INK, 0.8).done();
    for (at, along) in numbers {
        pen.text(at, 9.0)
            .fill(palette::INK)
            .attr("text-anchor", "middle")
            .say(&amount(along / unit_mm));
    }
    pen.text(
        Point::new(corner.x + right * 13.0, corner.y + down * 17.0 + 3.2),
        9.0,
    )
    .fill(palette::PLACE)
    .attr("font-family", SERIF)
    .attr("font-style", "italic")
    .attr("text-anchor", "middle")
    .say(name);
}

/// Room for the rulers round the map, in pixels.
pub(super) const RULER: f64 = 24.0;

fn ticked(from: f64, to: f64, steps: (f64, f64, f64)) -> Vec<(f64, f64, bool)> {
    let (small, middle, numbered) = steps;
    let is_on = |along: f64, step: f64| ((along / step).round() * step - along).abs() < 1e-6;
    let mut found = Vec::new();
    let mut step = (from / small - 1e-9).ceil();
    while step * small <= to + 1e-6 && found.len() < 20_000 {
        let along = step * small;
        if is_on(along, numbered) {
            found.push((along, 7.0, true));
        } else {
            found.push((along, if is_on(along, middle) { 5.0 } else { 3.0 }, false));
        }
        step += 1.0;
    }
    found
}

/// Two scale bars, in centimetres and in base widths, side by side from a point.
pub(super) fn scale_bars(pen: &mut Pen, picture: &Picture, at: Point) {
    let bw = picture.game.ruleset().scale.base_width_mm;
    let end = bar(pen, picture, at, 10.0, "cm");
    bar(
        pen,
        picture,
        Point::new(end + 60.0, at.y),
        bw,
        "base widths",
    );
}

/// One bar of whole units; returns where its caption ends.
fn bar(pen: &mut Pen, picture: &Picture, at: Point, unit_mm: f64, name: &str) -> f64 {
    let scale = picture.frame.scale;
    let most = smaller(picture.frame.width() * 0.26, 260.0);
    let mut pieces = 4.0;
    let mut each = 1.0;
    for candidate in [
        0.1, 0.25, 0.5, 1.0, 2.0, 2.5, 5.0, 10.0, 20.0, 25.0, 50.0, 100.0, 250.0,
    ] {
        for count in [2.0, 4.0, 5.0] {
            if candidate * count * unit_mm * scale <= most {
                let length = candidate * count;
                if length > pieces * each || pieces * each * unit_mm * scale > most {
                    (pieces, each) = (count, candidate);
                }
            }
        }
    }
    let step = each * unit_mm * scale;
    let mut number = 0.0;
    while number < pieces {
        let fill = if number % 2.0 == 0.0 {
            palette::INK
        } else {
            palette::PAPER
        };
        pen.rect(Point::new(at.x + number * step, at.y), step, 6.0)
            .fill(fill)
            .stroke(palette::INK, 0.9)
            .done();
        number += 1.0;
    }
    let label = |pen: &mut Pen, number: f64| {
        pen.text(Point::new(at.x + number * step, at.y + 17.0), 9.5)
            .fill(palette::INK)
            .attr("text-anchor", "middle")
            .say(&hundredths_text(number * each));
    };
    let mut number = 0.0;
    while number <= pieces {
        label(pen, number);
        number += 1.0;
    }
    let end = at.x + pieces * step;
    // clear of the last number, which is centred on the bar's end
    pen.text(Point::new(end + 18.0, at.y + 7.5), 10.5)
        .fill(palette::INK)
        .say(name);
    end + 18.0 + super::letters::width(name, 10.5, false)
}

/// The north arrow, its point at the top.
pub(super) fn north(pen: &mut Pen, at: Point, high: f64) {
    let there = |x: f64, y: f64| Point::new(at.x + x * high, at.y + y * high);
    pen.path(&Trace::new().ring(&[there(0.0, -1.0), there(0.26, 0.0), there(0.0, -0.2)]))
        .fill(palette::INK)
        .done();
    pen.path(&Trace::new().ring(&[there(0.0, -1.0), there(-0.26, 0.0), there(0.0, -0.2)]))
        .fill(palette::PAPER)
        .stroke(palette::INK, 0.9)
        .attr("stroke-linejoin", "round")
        .done();
    pen.text(there(0.0, 0.4), larger(high * 0.36, 8.0))
        .fill(palette::INK)
        .attr("font-family", SERIF)
        .attr("font-weight", "bold")
        .attr("text-anchor", "middle")
        .say("N");
}
