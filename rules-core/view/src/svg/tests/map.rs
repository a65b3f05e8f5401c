//! The map for a page: its parts are where they say they are.

use std::collections::BTreeSet;

use fieldpost_rules::game::marks;
use fieldpost_rules::orders::{Extent, Leg, Order, TurnSheet};
use fieldpost_rules::referee::{judge_sheet, table_after_moves};

use super::drawn::Drawn;
use super::*;
use crate::svg::map;

fn drawn(game: &Game, options: &SvgOptions) -> String {
    let text = map(game, options);
    assert!(sound_elements(&text) > 100);
    text
}

#[test]
fn every_unit_says_how_it_stands_and_is_drawn_there() {
    let game = sample::game();
    let marks = marks(&game);
    let svg = drawn(&game, &SvgOptions::default());
    let drawn = Drawn::of(svg, &game);
    let units = drawn.all("unit");
    assert_eq!(units.len(), game.on_table().count());
    for (unit, told) in game.on_table().zip(&units) {
        let (pose, block) = (unit.pose().expect("it stands"), unit.block());
        assert_eq!(told.get("data-unit"), Some(unit.id.0.as_str()));
        let id = format!("table-unit-{}", unit.id);
        assert_eq!(told.get("id"), Some(id.as_str()));
        assert_eq!(
            told.get("data-side"),
            Some(game.side_id(unit.side).0.as_str())
        );
        assert_eq!(
            told.get("data-mark"),
            marks.get(&unit.id).map(String::as_str)
        );
        for (name, is) in [
            ("data-x-mm", pose.x_mm()),
            ("data-y-mm", pose.y_mm()),
            ("data-bearing-deg", pose.bearing_deg()),
            ("data-frontage-mm", block.frontage_mm),
            ("data-depth-mm", block.depth_mm),
        ] {
            assert!((told.num(name) - is).abs() <= 0.005, "{} {name}", unit.id);
        }
        let [left, right] = drawn.front(&unit.id.0).expect("it is drawn");
        let middle = left.towards(right, 0.5);
        let anchor = Point::new(told.num("data-x-mm"), told.num("data-y-mm"));
        assert!(middle.distance_to(anchor) < 0.02, "{}", unit.id);
        assert!((left.distance_to(right) - block.frontage_mm).abs() < 0.03);
    }
}

/// The scale that the manual tells: pixels of the picture's width to millimetres of the part shown.
#[test]
fn the_frame_tells_where_a_millimetre_is() {
    let game = sample::game();
    let part = Part {
        west_mm: 100.0,
        south_mm: 50.0,
        east_mm: 900.0,
        north_mm: 650.0,
    };
    for part in [None, Some(part)] {
        let options = SvgOptions {
            part,
            ..SvgOptions::default()
        };
        let drawn = Drawn::of(drawn(&game, &options), &game);
        let tag = drawn.svg.split("id=\"table-shown\"").nth(1).expect("there");
        let number = |name: &str| -> f64 {
            let rest = tag.split(&format!("{name}=\"")).nth(1).expect("there");
            rest.split('"')
                .next()
                .and_then(|text| text.parse().ok())
                .expect("a number")
        };
        let view = drawn.svg.split("viewBox=\"0 0 ").nth(1).expect("there");
        let width: f64 = view
            .split(' ')
            .next()
            .and_then(|text| text.parse().ok())
            .expect("one");
        let scale = width / number("data-width-mm");
        assert!((scale - drawn.scale()).abs() < 1e-3, "{scale}");
        let corner = drawn.mm(Point::new(0.0, 0.0));
        let told = Point::new(number("data-west-mm"), number("data-north-mm"));
        assert!(corner.distance_to(told) < 0.05);
    }
}

#[test]
fn ids_are_given_once_and_every_kind_of_part_has_some() {
    let before = sample::game();
    let order = Order::Move {
        unit: UnitId::from("red-1"),
        legs: vec![Leg::Forward {
            distance_mm: Extent::Exactly(20.0),
        }],
    };
    let sheet = TurnSheet {
        game_turn: before.game_turn(),
        side: before.player_side(),
        orders: vec![order],
    };
    let verdict = judge_sheet(&before, &sheet);
    let options = SvgOptions {
        ghosts: moves(&before, &sheet, &verdict),
        ..SvgOptions::default()
    };
    let svg = drawn(&table_after_moves(&before, &sheet, &verdict), &options);
    let ids: Vec<&str> = svg
        .split(" id=\"")
        .skip(1)
        .filter_map(|rest| rest.split('"').next())
        .collect();
    let given: BTreeSet<&&str> = ids.iter().collect();
    assert_eq!(given.len(), ids.len(), "an id was given twice");
    for kind in [
        "unit-red-1",
        "ground-0",
        "line-0",
        "objective-0",
        "halt-zone-red-1",
        "strike-zone-red-1",
        "stood-red-1",
        "tape-red-1-0",
    ] {
        let wanted = format!("table-{kind}");
        assert!(ids.iter().any(|id| id.starts_with(&wanted)), "{kind}");
    }
}

#[test]
fn zones_and_areas_are_hidden_and_there_for_every_unit_that_has_them() {
    let game = sample::game();
    let drawn = Drawn::of(drawn(&game, &SvgOptions::default()), &game);
    for class in ["halt-zones", "strike-zones"] {
        let groups = drawn.all(class);
        assert_eq!(groups.len(), 2, "{class}");
        assert!(
            groups
                .iter()
                .all(|group| group.get("display") == Some("none"))
        );
    }
    let armed: Vec<&str> = game
        .on_table()
        .filter(|unit| unit.has_strength())
        .map(|unit| unit.id.0.as_str())
        .collect();
    for class in ["halt-zone", "strike-zone"] {
        let zones = drawn.all(class);
        let told: BTreeSet<_> = zones
            .iter()
            .filter_map(|zone| zone.get("data-unit"))
            .collect();
        assert_eq!(told, armed.iter().copied().collect(), "{class}");
    }
}

/// What is only looked at stays as it was: no ids of units, so that many pictures can share a page.
#[test]
fn other_pictures_have_no_parts() {
    let svg = table(&sample::game(), &SvgOptions::default());
    assert!(!svg.contains("table-unit-") && !svg.contains("data-x-mm"));
}
