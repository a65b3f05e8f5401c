//! Convex hulls of a few points.

use crate::geometry::Point;

/// A convex hull; one may be made after another without asking for memory again.
#[derive(Default)]
pub(super) struct Hull {
    /// Places of the given points, from west to east.
    order: Vec<usize>,
    /// Places of the corners among the given points, counter-clockwise.
    places: Vec<usize>,
    corners: Vec<Point>,
}

impl Hull {
    /// The hull about some points (the monotone chain, from memory).
    pub(super) fn about(&mut self, points: &[Point]) -> &Self {
        self.order.clear();
        self.order.extend(0..points.len());
        self.order.sort_unstable_by(|a, b| {
            let (a, b) = (points[*a], points[*b]);
            a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y))
        });
        self.places.clear();
        let turns = |a: usize, b: usize, c: usize| {
            (points[b] - points[a]).cross(points[c] - points[b]) > 0.0
        };
        let mut least = 0;
        for pass in 0..2 {
            for step in 0..self.order.len() {
                let place = if pass == 0 {
                    self.order[step]
                } else {
                    self.order[self.order.len() - 1 - step]
                };
                while let [.., before, last] = self.places[least..]
                    && !turns(before, last, place)
                {
                    self.places.pop();
                }
                self.places.push(place);
            }
            // the last of each pass is the first of the other
            self.places.pop();
            least = self.places.len();
        }
        self.corners.clear();
        self.corners
            .extend(self.places.iter().map(|place| points[*place]));
        self
    }

    /// Its corners, counter-clockwise.
    pub(super) fn corners(&self) -> &[Point] {
        &self.corners
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(x: f64, y: f64) -> [Point; 4] {
        [
            Point::new(x, y),
            Point::new(x + 10.0, y),
            Point::new(x + 10.0, y + 10.0),
            Point::new(x, y + 10.0),
        ]
    }

    #[test]
    fn the_hull_of_two_squares() {
        let mut hull = Hull::default();
        let two = [square(0.0, 0.0), square(30.0, 20.0)];
        let six = [
            Point::new(0.0, 0.0),
            Point::new(10.0, 0.0),
            Point::new(40.0, 20.0),
            Point::new(40.0, 30.0),
            Point::new(30.0, 30.0),
            Point::new(0.0, 10.0),
        ];
        assert_eq!(hull.about(two.as_flattened()).corners(), six);
        let twice = [square(0.0, 0.0), square(0.0, 0.0)];
        let corners = hull.about(twice.as_flattened()).corners();
        assert_eq!(corners, square(0.0, 0.0));
        assert!(hull.about(&[]).corners().is_empty());
    }
}
