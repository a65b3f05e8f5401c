//! Bearings and edges as people say them.

use fieldpost_rules::scenario::Edge;

const POINTS: [(&str, &str, char); 8] = [
    ("north", "N", '↑'),
    ("north-east", "NE", '↗'),
    ("east", "E", '→'),
    ("south-east", "SE", '↘'),
    ("south", "S", '↓'),
    ("south-west", "SW", '↙'),
    ("west", "W", '←'),
    ("north-west", "NW", '↖'),
];

fn nearest(bearing_deg: f64) -> usize {
    let eighth = ((bearing_deg % 360.0 + 360.0) / 45.0).round() % 8.0;
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a whole number below 8, or 0 for what is no number"
    )]
    let index = eighth as usize;
    index % 8
}

/// The name of a table edge.
#[must_use]
pub fn edge(edge: Edge) -> &'static str {
    match edge {
        Edge::North => "north",
        Edge::East => "east",
        Edge::South => "south",
        Edge::West => "west",
    }
}

/// The nearest of the eight points of the compass, in words.
#[must_use]
pub fn point(bearing_deg: f64) -> &'static str {
    POINTS[nearest(bearing_deg)].0
}

/// The nearest of the eight points in letters, as `NE`.
#[must_use]
pub fn letters(bearing_deg: f64) -> &'static str {
    POINTS[nearest(bearing_deg)].1
}

/// The nearest of the eight points as an arrow.
#[must_use]
pub fn arrow(bearing_deg: f64) -> char {
    POINTS[nearest(bearing_deg)].2
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_eight_points_meet_half_way() {
        assert_eq!(point(0.0), "north");
        assert_eq!(point(22.4), "north");
        assert_eq!(point(22.6), "north-east");
        assert_eq!(letters(359.0), "N");
        assert_eq!(arrow(225.0), '↙');
        assert_eq!(point(-90.0), "west");
        assert_eq!(point(f64::NAN), "north");
    }
}
