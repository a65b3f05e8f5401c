//! Holding, points, endings, worked by hand.

use crate::game::{Cause, Event, Game};
use crate::referee::testing::{bare_ground, block, close, game_on, pair, rules, scenario};
use crate::referee::{breaking, victory};
use crate::ruleset::{Breaking, Broken, Ruleset};
use crate::scenario::{Objective, Scenario};

fn objective(x: f64, held_by: Option<&str>, keeps: bool) -> Objective {
    Objective {
        name: format!("place at {x}"),
        at: [x, 600.0],
        radius_mm: 50.0,
        points: 3.0,
        held_by: held_by.map(str::to_owned),
        keeps,
    }
}

/// `r1` (2 bases of foot) near x = 200, `rc` the general near 600 where `b1` is too, `b2` near 800.
fn field() -> Scenario {
    scenario(vec![
        pair("r1", "foot", (200.0, 540.0, 0.0)),
        block("rc", "general", (1, 1), (600.0, 580.0, 0.0)),
        pair("r2", "foot", (600.0, 560.0, 0.0)),
        pair("b1", "foot", (600.0, 650.0, 180.0)),
        pair("b2", "horse", (800.0, 650.5, 180.0)),
    ])
}

fn opened(scenario: Scenario, ruleset: Ruleset) -> Game {
    game_on(ruleset, scenario, bare_ground())
}

fn gone(unit: &str, cause: Cause) -> Event {
    Event::Removed {
        unit: unit.into(),
        cause,
    }
}

#[test]
fn who_holds_what() {
    let mut scenario = field();
    scenario.objective = vec![
        objective(200.0, None, true),          // r1 is 60 mm away
        objective(210.0, Some("blue"), false), // empty: blue's by the scenario
        objective(600.0, Some("red"), true),   // both there: stays red's
        objective(610.0, Some("red"), false),  // disputed: nobody's
        objective(800.0, None, true),          // b2's front is 50.5 mm away: within the tolerance
        objective(1000.0, None, true),
    ];
    let game = opened(scenario, rules());
    let held: Vec<String> = victory::holders(&game)
        .into_iter()
        .map(|side| side.map_or("nobody".to_owned(), |side| side.0))
        .collect();
    assert_eq!(held, ["nobody", "blue", "red", "nobody", "blue", "nobody"]);
}

#[test]
fn a_place_is_kept_until_the_other_side_takes_it() {
    let mut scenario = field();
    scenario.objective = vec![
        objective(200.0, Some("blue"), true),
        objective(800.0, None, true),
    ];
    let mut game = opened(scenario, rules());
    close(&mut game);
    let ids = |game: &Game| {
        victory::holders(game)
            .into_iter()
            .map(|s| s.map(|s| s.0))
            .collect::<Vec<_>>()
    };
    assert_eq!(ids(&game), [Some("blue".into()), Some("blue".into())]);
    game.apply(&gone("b2", Cause::Eliminated));
    assert_eq!(ids(&game)[1], Some("blue".into()));
    let there = crate::geometry::Pose::from_mm_deg(800.0, 600.0, 0.0).expect("a pose");
    game.apply(&Event::Arrived {
        unit: "r1".into(),
        pose: there,
    });
    assert_eq!(ids(&game)[1], Some("red".into()));
}

#[test]
fn points_for_losses_commanders_exits_and_ground() {
    let mut scenario = field();
    scenario.objective = vec![objective(800.0, None, true)];
    scenario.victory.points_per_strength = 2.0;
    scenario.victory.points_per_commander = 5.0;
    let mut game = opened(scenario, rules());
    game.apply(&Event::Lost {
        unit: "r1".into(),
        bases: 1,
    });
    game.apply(&gone("rc", Cause::CommanderTaken));
    game.apply(&Event::Lost {
        unit: "b1".into(),
        bases: 1,
    });
    game.apply(&Event::Left {
        unit: "b1".into(),
        points: 7.0,
    });
    let [red, blue] = victory::scores(&game);
    // of b1 one base was lost, the other marched off
    assert_eq!(
        (red.losses, red.exits, red.ground, red.total),
        (2.0, 0.0, 0.0, 2.0)
    );
    // one base of r1, the general, what b1 took over the exit, the place b2 holds
    assert_eq!(
        (blue.losses, blue.exits, blue.ground, blue.total),
        (7.0, 7.0, 3.0, 17.0)
    );
}

#[test]
fn the_last_game_turn_ends_it_and_a_small_lead_is_a_draw() {
    let winner = |draw_within: f64| {
        let mut scenario = field();
        scenario.game_turns = 2;
        scenario.victory.draw_within = draw_within;
        let mut game = opened(scenario, rules());
        game.apply(&Event::Lost {
            unit: "b2".into(),
            bases: 1,
        });
        for _ in 0..3 {
            close(&mut game);
            assert_eq!(victory::ending(&game, true), None);
        }
        close(&mut game);
        assert_eq!(victory::ending(&game, false), None);
        victory::ending(&game, true)
            .expect("over")
            .winner
            .map(|side| side.0)
    };
    // red leads by the 2 points of a base of horse
    assert_eq!(winner(0.0), Some("red".into()));
    assert_eq!(winner(2.0), Some("red".into()));
    assert_eq!(winner(2.1), None);
}

#[test]
fn points_that_win_at_once() {
    let mut scenario = field();
    scenario.victory.win_at = Some(4.0);
    let mut game = opened(scenario, rules());
    game.apply(&gone("b2", Cause::Eliminated));
    assert_eq!(victory::ending(&game, false), None);
    let ending = victory::ending(&game, true).expect("won");
    assert_eq!(ending.winner.map(|side| side.0), Some("red".into()));
    game.apply(&gone("r1", Cause::Eliminated));
    game.apply(&gone("r2", Cause::Eliminated));
    // both have four: nobody leads
    let ending = victory::ending(&game, true).expect("over");
    assert_eq!(ending.winner, None);
}

#[test]
fn a_side_with_nobody_left_has_lost() {
    let mut game = opened(field(), rules());
    game.apply(&gone("b1", Cause::Eliminated));
    assert_eq!(victory::ending(&game, false), None);
    game.apply(&gone("b2", Cause::NoWayOpen));
    let ending = victory::ending(&game, false).expect("over");
    assert_eq!(ending.winner.map(|side| side.0), Some("red".into()));
    // had one marched off instead, points decide
    let mut game = opened(field(), rules());
    game.apply(&Event::Left {
        unit: "b1".into(),
        points: 9.0,
    });
    game.apply(&gone("b2", Cause::NoWayOpen));
    let ending = victory::ending(&game, false).expect("over");
    assert_eq!(ending.winner.map(|side| side.0), Some("blue".into()));
}

#[test]
fn an_army_breaks_at_its_share_and_may_lose_by_it() {
    let broken = |then| {
        let mut rules = rules();
        rules.breaking = Some(Breaking {
            at_share: 0.5,
            then,
        });
        let mut game = opened(field(), rules);
        // blue: 2 of foot, 4 of horse; 3 of 6 is half
        game.apply(&Event::Lost {
            unit: "b1".into(),
            bases: 1,
        });
        assert!(!breaking::is_broken(&game, 1));
        game.apply(&Event::Lost {
            unit: "b2".into(),
            bases: 1,
        });
        assert!(breaking::is_broken(&game, 1) && !breaking::is_broken(&game, 0));
        (
            breaking::may_not_attack(&game, 1),
            victory::ending(&game, false),
        )
    };
    assert_eq!(broken(Broken::NoAttacks), (true, None));
    let (may_not_attack, ending) = broken(Broken::Loses);
    assert!(!may_not_attack);
    assert_eq!(
        ending.and_then(|ending| ending.winner).map(|side| side.0),
        Some("red".into())
    );
}
