//! Lettering measured by somebody else: every text of a picture is set in the embedded fonts by the
//! library that paints it, and no two of them may overlap, on every shipped battle from the opening on.

use std::sync::Arc;

use fieldpost_client::render::{TableOptions, changes, table_svg};
use fieldpost_commander::Chance;
use fieldpost_png::parse_svg;
use fieldpost_rules::dice::{FIRST_ATTEMPT, commitment};
use fieldpost_rules::game::{Event, Game};
use fieldpost_rules::geometry::{Footprint, Point, Vector, signed_distance_mm};
use fieldpost_rules::orders::Instructions;
use fieldpost_rules::referee::{Posting, play};
use fieldpost_rules::shipped::{self, SCENARIOS};
use resvg::usvg::{Group, Node, Text};

/// Overlaps smaller than this cannot be seen, in pixels.
const SEEN_PX: f64 = 0.5;

/// The ground that a text covers, slanted as it is. The library's box is as high as the face's lines
/// are apart; letters keep within nine tenths of it.
fn texts(group: &Group, found: &mut Vec<(String, Footprint)>) {
    for node in group.children() {
        match node {
            Node::Group(inner) => texts(inner, found),
            // What is only outlined is the edge round letters that follow.
            Node::Text(text) if is_hollow(text) => {}
            Node::Text(text) => {
                let said: String = text.chunks().iter().map(|chunk| chunk.text()).collect();
                let (own, place) = (text.bounding_box(), text.abs_transform());
                let at = |x: f32, y: f32| {
                    let x_of = place.sx * x + place.kx * y + place.tx;
                    let y_of = place.ky * x + place.sy * y + place.ty;
                    Point::new(f64::from(x_of), f64::from(y_of))
                };
                let middle = (
                    f32::midpoint(own.left(), own.right()),
                    f32::midpoint(own.top(), own.bottom()),
                );
                let centre = at(middle.0, middle.1);
                let top = at(middle.0, own.top());
                let end = at(own.right(), middle.1);
                found.push((
                    said,
                    Footprint {
                        centre,
                        ahead: (top - centre).unit().unwrap_or(Vector::new(0.0, -1.0)),
                        half_frontage: centre.distance_to(end),
                        half_depth: centre.distance_to(top) * 0.9,
                    },
                ));
            }
            Node::Path(_) | Node::Image(_) => {}
        }
    }
}

fn is_hollow(text: &Text) -> bool {
    let mut spans = text.chunks().iter().flat_map(|chunk| chunk.spans());
    spans.all(|span| span.fill().is_none())
}

/// Pairs of texts that overlap.
fn overlaps(svg: &str) -> (usize, Vec<String>) {
    let tree = parse_svg(svg).expect("a picture");
    let mut found = Vec::new();
    texts(tree.root(), &mut found);
    let mut pairs = Vec::new();
    for (index, (first, box_)) in found.iter().enumerate() {
        for (second, other) in &found[index + 1..] {
            if signed_distance_mm(box_, other) < -SEEN_PX {
                pairs.push(format!("{first:?} on {second:?}"));
            }
        }
    }
    (found.len(), pairs)
}

/// A shipped battle as it stands before the first and after each of some player turns.
fn stages(key: &str, seed: u64, player_turns: usize) -> Vec<(Game, Vec<Event>)> {
    let battle = shipped::find(key).expect("shipped");
    let mut game = Game::new(Arc::new(battle.open().expect("sound files")));
    let mut chance = Chance::new(seed);
    let mut secret = chance.bytes();
    let mut all = vec![(game.clone(), Vec::new())];
    for _ in 0..player_turns {
        if game.ending().is_some() {
            break;
        }
        let sheet =
            fieldpost_commander::sheet(&game, &mut chance).expect("some sheet can be written");
        let next = chance.bytes();
        let posting = Posting {
            sheet: &sheet,
            standing: &Instructions::default(),
            game_id: [9; 16],
            attempt: FIRST_ATTEMPT,
            secret,
            number: chance.bytes(),
            next_commitment: commitment(&[9; 16], game.player_turn() + 1, FIRST_ATTEMPT, &next),
            sealed: &[],
        };
        let events = play(&game, &posting).expect("a commander's sheet is legal");
        for event in &events {
            game.apply(event);
        }
        secret = next;
        all.push((game.clone(), events));
    }
    all
}

#[test]
fn no_two_texts_overlap_on_any_shipped_battle_as_it_is_fought() {
    let mut wrong = Vec::new();
    for (seed, scenario) in (1..).zip(SCENARIOS) {
        let all = stages(scenario.key, seed, 12);
        for turn in [0, 3, 6, 9, 12] {
            let Some((game, events)) = all.get(turn) else {
                continue;
            };
            let before = turn.checked_sub(1).map_or(game, |before| &all[before].0);
            let options = TableOptions {
                changes: changes(before, events),
                ..TableOptions::default()
            };
            let (texts, pairs) = overlaps(&table_svg(game, options));
            assert!(texts > 60, "{texts}");
            if !pairs.is_empty() {
                wrong.push(format!("{}, {turn}: {pairs:?}", scenario.key));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The measure itself notices an overlap.
#[test]
fn an_overlap_is_noticed() {
    let with = |y: f64| {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"200\" height=\"80\"><text x=\"10\" y=\"30\">First Foot</text>\
             <text x=\"40\" y=\"{y}\">Second Foot</text></svg>"
        )
    };
    assert_eq!(overlaps(&with(35.0)).1.len(), 1);
    assert_eq!(overlaps(&with(52.0)), (2, Vec::new()));
}
