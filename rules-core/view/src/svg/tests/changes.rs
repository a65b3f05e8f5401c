//! What changed is drawn along the ways it took, and the key explains every sign that is there.

use super::drawn::Drawn;
use crate::sample::{self, verdicts};
use crate::svg::{SvgOptions, changes, table};
use fieldpost_rules::game::Event;
use fieldpost_rules::orders::{TurnSheet, UnitId};
use fieldpost_rules::verdict::{Ruling, SheetVerdict};

fn moved(game: &fieldpost_rules::game::Game) -> Event {
    Event::SheetAccepted {
        sheet: TurnSheet {
            game_turn: 1,
            side: game.side_id(0),
            orders: Vec::new(),
        },
        verdict: SheetVerdict {
            verdict: Ruling::Legal,
            moves: vec![verdicts::legal(game)],
            battles: Vec::new(),
            reasons: Vec::new(),
            completion: None,
        },
    }
}

/// The tape of what moved lies from where it stood to where it stands, straight.
#[test]
fn a_changed_table_has_tapes_and_no_bent_arrows() {
    let before = sample::game();
    let event = moved(&before);
    let mut after = before.clone();
    after.apply(&event);
    let options = SvgOptions {
        ghosts: changes(&before, [&event]),
        ..SvgOptions::default()
    };
    let drawn = Drawn::of(table(&after, &options), &after);
    let tapes = drawn.all("tape");
    assert_eq!(tapes.len(), 1);
    let points = drawn.path(&tapes[0]);
    let anchor = |game: &fieldpost_rules::game::Game| {
        let unit = game.unit(&UnitId::from("red-3")).expect("there");
        unit.pose().expect("it stands").placement().anchor
    };
    let (first, last) = (points[0], points[points.len() - 1]);
    assert!(first.distance_to(anchor(&before)) < 0.05);
    assert!(last.distance_to(anchor(&after)) < 0.05);
}

#[test]
fn the_lost_are_crossed_out_and_named_with_what_became_of_them() {
    let before = sample::game();
    let events = verdicts::a_battle(&before);
    let mut after = before.clone();
    for event in &events {
        after.apply(event);
    }
    let options = SvgOptions {
        ghosts: changes(&before, &events),
        ..SvgOptions::default()
    };
    let text = table(&after, &options);
    assert!(text.contains(">B7 Town Guns (cut off)<"));
    assert_eq!(
        text.matches("class=\"lost\"").count(),
        2 + 2,
        "on the map and in the key"
    );
    assert!(
        !text.contains("line-through"),
        "a name struck through is hard to read"
    );
    assert!(text.contains(">cut off<"), "in the order of battle");
}

#[test]
fn the_key_explains_the_signs_that_are_there_and_no_others() {
    let before = sample::game();
    let mut after = before.clone();
    let mut events = vec![moved(&before)];
    events.extend(verdicts::a_battle(&before));
    for event in &events {
        after.apply(event);
    }
    let signs = [
        "where a unit stood before",
        "tape on open ground",
        "gave ground, followed up or was set there",
        "lost, or left the table",
        "the units in question",
        "tint: halt zone, where enemies must stop",
        "strike zone, within which it attacks",
        "where a side deploys",
    ];
    let plain = table(&before, &SvgOptions::default());
    let full = SvgOptions {
        ghosts: changes(&before, &events),
        highlights: vec![UnitId::from("red-1")],
        halt_zones: true,
        strike_zones: true,
        deployment: true,
        ..SvgOptions::default()
    };
    let full = table(&after, &full);
    for sign in signs {
        assert!(!plain.contains(&format!(">{sign}<")), "{sign}");
        assert!(full.contains(&format!(">{sign}<")), "{sign}");
    }
    for sign in [
        "units arrive over this stretch of the edge",
        "an exit: units of its colour may leave",
        "worth points; pale: nobody holds it",
    ] {
        assert!(plain.contains(&format!(">{sign}<")), "{sign}");
    }
    // a flag stands beside the name of each objective in the list
    let flags = plain.matches("M0 0").count();
    assert_eq!(flags, 0);
    let mut scenario = sample::scenario();
    (scenario.exit, scenario.objective) = (Vec::new(), Vec::new());
    scenario.unit.retain(|unit| unit.arrives.is_none());
    let bare = table(&sample::open(scenario), &SvgOptions::default());
    for sign in ["units arrive over", "an exit:", "worth points;"] {
        assert!(!bare.contains(sign), "{sign}");
    }
}
