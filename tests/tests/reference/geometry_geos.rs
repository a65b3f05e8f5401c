//! Distances of rectangles and lengths of tape in patches against a stored table of 10,000
//! cases. Reference: GEOS 3.14.1 through shapely 2.2.0, `tests/references/geometry_geos.py`.

use fieldpost_rules::geometry::{
    Block, Footprint, Path, Placement, Point, Polygon, Vector, distance_mm, spans_inside,
};

use super::geometry_random::Worst;

const TABLE: &str = include_str!("../../references/geometry_geos.csv");

fn footprint(figures: &[f64]) -> Footprint {
    let block = Block {
        frontage_mm: figures[3],
        depth_mm: figures[4],
    };
    let ahead = Vector::along_bearing(figures[2].to_radians());
    // the table gives centres
    let anchor = Point::new(figures[0], figures[1]) + ahead * (figures[4] / 2.0);
    Footprint::new(&Placement { anchor, ahead }, block)
}

fn length_inside(figures: &[f64]) -> f64 {
    let radii = &figures[4..];
    let count = u32::try_from(radii.len()).expect("a few corners");
    let corners = radii
        .iter()
        .zip(0_u32..)
        .map(|(radius, index)| {
            let bearing = f64::from(index) / f64::from(count) * std::f64::consts::TAU;
            Point::new(0.0, 0.0) + Vector::along_bearing(bearing) * *radius
        })
        .collect();
    let patch = Polygon::new(corners, Vec::new()).expect("stars are sound");
    let path = Path::Straight {
        from: Point::new(figures[0], figures[1]),
        to: Point::new(figures[2], figures[3]),
    };
    spans_inside(&path, &patch)
        .iter()
        .fold(0.0, |sum, span| sum + span.length())
        * path.length_mm()
}

#[test]
fn the_stored_table() {
    let (mut distances, mut lengths) = (Worst::default(), Worst::default());
    for line in TABLE.lines() {
        let (kind, rest) = line.split_once(',').expect("a kind and figures");
        let figures: Vec<f64> = rest
            .split(',')
            .map(|figure| figure.parse().expect("a number"))
            .collect();
        let (expected, figures) = figures.split_last().expect("figures");
        match kind {
            "r" => {
                let ours = distance_mm(&footprint(&figures[..5]), &footprint(&figures[5..]));
                distances.take(ours - expected, || line.to_owned());
            }
            "t" => lengths.take(length_inside(figures) - expected, || line.to_owned()),
            other => panic!("no such kind of case: {other}"),
        }
    }
    assert_eq!((distances.compared, lengths.compared), (5000, 5000));
    distances.report("distance, stored table");
    lengths.report("straight tape in a patch, stored table");
}
