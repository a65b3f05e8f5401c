//! Verdicts are drawn on the table they were measured on.

use super::drawn::{Drawn, keep, length};
use crate::svg::{SvgOptions, order, sheet as drawn_sheet};
use fieldpost_rules::game::Game;
use fieldpost_rules::geometry::{Footprint, Vector, signed_distance_mm};
use fieldpost_rules::orders::{Leg, Order, TurnSheet, UnitId};
use fieldpost_rules::referee::testing::{
    bare_ground, battle, block, game, game_on, ids, pair, rules, scenario, sheet,
};
use fieldpost_rules::referee::wild::{Draws, wild_game, wild_orders};
use fieldpost_rules::referee::{judge_sheet, table_after_moves};
use fieldpost_rules::ruleset::{Distance, RangeBand, Sight};
use fieldpost_rules::scenario::{Arrival, Edge};
use fieldpost_rules::verdict::{Amounts, Code, Ruling};

fn forward(unit: &str, distance_mm: f64) -> Order {
    Order::Move {
        unit: UnitId::from(unit),
        legs: vec![Leg::Forward {
            distance_mm: fieldpost_rules::orders::Extent::Exactly(distance_mm),
        }],
    }
}

fn drawn_order(game: &Game, sheet: &TurnSheet, number: usize) -> Drawn {
    let verdict = judge_sheet(game, sheet);
    let svg = order(game, sheet, &verdict, number, &SvgOptions::default()).expect("drawn");
    Drawn::of(
        svg,
        &fieldpost_rules::referee::table_before(game, sheet, &verdict, number),
    )
}

/// The ground within a ring of four corners, front left first.
fn ground(corners: &[fieldpost_rules::geometry::Point]) -> Footprint {
    let (left, right, rear) = (corners[0], corners[1], corners[2]);
    let ahead = (right - rear).unit().expect("deep");
    Footprint {
        centre: left.towards(rear, 0.5),
        ahead,
        half_frontage: left.distance_to(right) / 2.0,
        half_depth: right.distance_to(rear) / 2.0,
    }
}

/// The second order ends on the unit that the first moved: the picture shows the overlap that the words tell.
#[test]
fn an_overlap_told_in_words_is_seen_in_the_picture() {
    let units = vec![
        pair("r1", "foot", (600.0, 400.0, 0.0)),
        pair("r2", "foot", (600.0, 320.0, 0.0)),
        block("r9", "general", (1, 1), (700.0, 350.0, 0.0)),
        pair("b1", "foot", (600.0, 900.0, 180.0)),
    ];
    let game = game(rules(), units);
    let sheet = sheet(vec![forward("r1", 50.0), forward("r2", 120.0)]);
    let verdict = judge_sheet(&game, &sheet);
    let on_friend =
        |reason: &&fieldpost_rules::verdict::Reason| reason.code() == Code::EndsOnFriend;
    let reason = verdict.moves[1]
        .reasons
        .iter()
        .find(on_friend)
        .expect("it ends on r1");
    let told_mm = reason.excess();
    let drawn = drawn_order(&game, &sheet, 1);
    keep("order-2", &drawn.svg);
    // the friend stands 50 mm ahead of where it began
    let [left, right] = drawn.front("r1").expect("drawn");
    assert!(
        (left.y - 450.0).abs() < 0.1 && (right.y - 450.0).abs() < 0.1,
        "{left:?}"
    );
    let depth = game.unit(&UnitId::from("r1")).unwrap().block().depth_mm;
    let friend = ground(&[left, right, right + Vector::new(0.0, -depth)]);
    let refused = drawn.all("refused");
    let ring = refused
        .iter()
        .find(|element| element.get("d").is_some_and(|d| d.ends_with('Z')));
    let refused = ground(&drawn.path(ring.expect("the refused end")));
    let overlap = -signed_distance_mm(&friend, &refused);
    assert!(
        (overlap - told_mm).abs() < 0.1,
        "{overlap} drawn, {told_mm} told"
    );
}

/// An arrival ordered first is there when the next order is measured, and who has left is not.
#[test]
fn arrivals_and_leavers_are_where_the_next_order_finds_them() {
    let mut late = pair("r3", "foot", (0.0, 0.0, 0.0));
    late.at = None;
    late.arrives = Some(Arrival {
        game_turn: 1,
        edge: Edge::South,
        from_mm: 300.0,
        to_mm: 800.0,
    });
    let units = vec![
        pair("r1", "foot", (600.0, 400.0, 0.0)),
        pair("r2", "foot", (60.0, 300.0, 270.0)),
        block("r9", "general", (1, 1), (700.0, 350.0, 0.0)),
        pair("b1", "foot", (600.0, 900.0, 180.0)),
        late,
    ];
    let mut field = scenario(units);
    field.exit.push(fieldpost_rules::scenario::Exit {
        side: "red".to_owned(),
        edge: Edge::West,
        from_mm: 0.0,
        to_mm: 900.0,
        points_per_strength: 1.0,
    });
    let game = game_on(rules(), field, bare_ground());
    let sheet = sheet(vec![
        Order::Arrive {
            unit: UnitId::from("r3"),
            along_mm: 500.0,
            legs: Vec::new(),
        },
        forward("r2", 60.0),
        Order::Leave {
            unit: UnitId::from("r2"),
        },
        forward("r1", 60.0),
    ]);
    let verdict = judge_sheet(&game, &sheet);
    assert_eq!(
        verdict.moves[2].verdict,
        Ruling::Legal,
        "{:?}",
        verdict.moves[2].reasons
    );
    let whole = SvgOptions {
        part: Some(crate::svg::Part::whole(&game.scenario().table)),
        ..SvgOptions::default()
    };
    let at = |number| {
        let svg = order(&game, &sheet, &verdict, number, &whole).expect("drawn");
        Drawn::of(
            svg,
            &fieldpost_rules::referee::table_before(&game, &sheet, &verdict, number),
        )
    };
    assert!(at(0).front("r3").is_none(), "it stands before it arrives");
    let last = at(3);
    keep("arrival", &at(0).svg);
    keep("leaves", &at(2).svg);
    let [left, right] = last.front("r3").expect("it has arrived");
    assert!((left.towards(right, 0.5).x - 500.0).abs() < 0.2);
    assert!(last.front("r2").is_none(), "it has left");
    assert!(at(2).front("r2").is_some(), "it leaves from somewhere");
}

/// Every piece of tape on the picture is as long as its ledger says and lies where the unit goes; nothing is bent.
#[test]
fn a_sheets_picture_draws_the_tapes_of_its_ledger() {
    let (mut pieces, mut sheets) = (0, 0);
    for seed in 0..60 {
        let mut draws = Draws::new(seed);
        let game = wild_game(&mut draws);
        let sheet = sheet(wild_orders(&mut draws, &game));
        let mut verdict = judge_sheet(&game, &sheet);
        // as an accepted sheet: what is refused is another picture
        verdict
            .moves
            .retain(|moved| moved.verdict != Ruling::Refused);
        verdict.reasons.clear();
        if verdict.moves.is_empty() {
            continue;
        }
        let options = SvgOptions {
            key: false,
            ..SvgOptions::default()
        };
        let svg = drawn_sheet(&game, &sheet, &verdict, &options);
        if seed < 8 {
            keep(&format!("sheet-{seed}"), &svg);
        }
        let drawn = Drawn::of(svg, &table_after_moves(&game, &sheet, &verdict));
        let found = drawn.all("tape");
        let mut wanted: Vec<f64> = Vec::new();
        for moved in &verdict.moves {
            for leg in &moved.legs {
                let is_own = leg
                    .tape_of
                    .as_ref()
                    .is_none_or(|owner| *owner == moved.unit);
                if leg.tape_mm < 0.005 {
                    continue;
                }
                if is_own && !leg.pieces.is_empty() {
                    wanted.extend(
                        leg.pieces
                            .iter()
                            .map(|piece| piece.to_mm - piece.from_mm)
                            .filter(|mm| *mm > 0.0),
                    );
                } else {
                    wanted.push(f64::NAN);
                }
            }
        }
        assert_eq!(found.len(), wanted.len(), "seed {seed}");
        for (element, mm) in found.iter().zip(wanted) {
            let points = drawn.path(element);
            if mm.is_nan() {
                continue;
            }
            // chords of an arc are a little shorter than it
            let off = (length(&points) - mm).abs();
            assert!(
                off < 0.05 + mm * 0.001,
                "seed {seed}: {} drawn, {mm} charged",
                length(&points)
            );
            pieces += 1;
        }
        sheets += 1;
    }
    assert!(sheets > 12 && pieces > 15, "{sheets} {pieces}");
}

fn facing() -> Game {
    let units = vec![
        pair("r1", "foot", (600.0, 400.0, 0.0)),
        pair("r2", "foot", (700.0, 400.0, 0.0)),
        block("r9", "general", (1, 1), (650.0, 300.0, 0.0)),
        pair("b1", "foot", (600.0, 425.0, 180.0)),
        pair("b2", "foot", (700.0, 430.0, 180.0)),
    ];
    game(rules(), units)
}

/// A declaration has a string for every distance, as long as it says, and an outline round everybody left out.
#[test]
fn a_refused_declaration_shows_distances_and_who_is_left_out() {
    let game = facing();
    let sheet = sheet(vec![battle(&["r1"], &["b1"])]);
    let verdict = judge_sheet(&game, &sheet);
    assert_eq!(verdict.verdict, Ruling::Refused);
    let duties: Vec<&str> = verdict
        .reasons
        .iter()
        .filter_map(|reason| reason.other())
        .collect();
    assert_eq!(duties, ["r2", "b2"]);
    let svg = drawn_sheet(&game, &sheet, &verdict, &SvgOptions::default());
    keep("declaration", &svg);
    let drawn = Drawn::of(svg, &game);
    let strings: Vec<f64> = drawn
        .all("string")
        .iter()
        .map(|line| length(&drawn.line(line)))
        .collect();
    let wanted = [25.0, 30.0];
    assert_eq!(strings.len(), wanted.len());
    for (drawn, wanted) in strings.iter().zip(wanted) {
        assert!((drawn - wanted).abs() < 0.1, "{strings:?}");
    }
    assert_eq!(drawn.all("left-out").len(), 2);
    assert!(!drawn.all("strike-zone").is_empty());
    for words in [
        ">r2 must attack<",
        ">b2 must be attacked<",
        ">25.0 of 40.0 mm<",
        ">30.0 mm<",
        ">Left out<",
        ">Would do<",
    ] {
        assert!(
            drawn
                .svg
                .contains(&words.replace("r2", "R2").replace("b2", "B2")),
            "{words}"
        );
    }
    let odds = verdict.battles[0].odds.as_ref().expect("odds");
    assert!(drawn.svg.contains(&format!(">{}<", odds.column)));
    // strike zones reach as far as they do: the outline's highest point is 40 mm before the front
    assert!(drawn.scale() > 1.0, "the part round the battle is enlarged");
}

/// The string of guns that do not see is clear as far as the verdict says, and a bar stands there.
#[test]
fn what_stops_a_line_of_sight_is_drawn_where_it_does() {
    let mut ruleset = rules();
    ruleset.attacks.compulsory = false;
    ruleset.sight = Some(Sight {
        units_block: true,
        bands: vec![RangeBand {
            within: Distance::new(20.0),
            strength: 1.0,
            shift: 0,
        }],
    });
    let units = vec![
        pair("r1", "guns", (600.0, 300.0, 0.0)),
        block("r2", "foot", (6, 1), (600.0, 450.0, 0.0)),
        block("r9", "general", (1, 1), (700.0, 300.0, 0.0)),
        pair("b1", "foot", (600.0, 700.0, 180.0)),
    ];
    let game = game(ruleset, units);
    let sheet = sheet(vec![Order::Fire {
        guns: ids(&["r1"]),
        target: UnitId::from("b1"),
    }]);
    let verdict = judge_sheet(&game, &sheet);
    let unseen = |reason: &&fieldpost_rules::verdict::Reason| reason.code() == Code::NotInSight;
    let reason = verdict.battles[0]
        .reasons
        .iter()
        .find(unseen)
        .expect("r2 is in the way");
    let Amounts::Millimetres { measured, .. } = reason.amounts() else {
        panic!("{reason:?}");
    };
    let drawn = drawn_order(&game, &sheet, 0);
    keep("fire", &drawn.svg);
    let blocks = drawn.all("block");
    let [from, to] = drawn.line(&blocks[0]);
    let along = from.towards(to, 0.5).y - 300.0;
    assert!(
        (along - measured).abs() < 0.1,
        "{along} drawn, {measured} told"
    );
    assert!(drawn.svg.contains("in the way after"));
}
