//! Strength, odds and shifts, worked by hand.

use crate::game::{Event, Game, Ground};
use crate::orders::Order;
use crate::referee::odds::{column_for, head, shifted};
use crate::referee::testing::{
    always, bare_ground, battle, block, bombarded, game, game_on, ground, ids, line, pair, patch,
    rules, scenario,
};
use crate::referee::{disorder, strength};
use crate::ruleset::{
    Column, Disorder, Distance, Flanks, LineKind, Outcome, RangeBand, Results, ResultsKind,
    Ruleset, Sight, TerrainKind,
};
use crate::scenario::UnitEntry;

fn odds_table() -> Results {
    always(Outcome::default())
}

fn differences() -> Results {
    Results {
        kind: ResultsKind::Differential,
        columns: [-4.0, -2.0, 0.0, 1.5, 3.0].map(Column::Difference).to_vec(),
        ..odds_table()
    }
}

#[test]
fn odds_come_down_to_the_nearest_column_in_the_defenders_favour() {
    for (attack, defence, column) in [
        (4.5, 3.0, "3:2"),
        (4.4999, 3.0, "1:1"),
        (0.1 * 3.0, 0.3, "1:1"), // 0.30000000000000004 in floats
        (0.3, 0.1 * 3.0, "1:1"),
        (0.7, 0.1 * 7.0, "1:1"),
        (1.0, 3.0, "1:2"), // below the first column: the first
        (1.0, 2.0, "1:2"),
        (5.999, 3.0, "3:2"),
        (6.0, 3.0, "2:1"),
        (90.0, 3.0, "3:1"), // beyond the last: the last
        (1.0, 0.0, "3:1"),
        (0.0, 1.0, "1:2"),
    ] {
        let table = odds_table();
        let found = head(&table, column_for(&table, attack, defence));
        assert_eq!(found, column, "{attack} against {defence}");
    }
}

#[test]
fn differences_likewise() {
    for (attack, defence, column) in [
        (4.0, 4.0, "0"),
        (5.4, 4.0, "0"),
        (5.5, 4.0, "+1.5"),
        (0.3, 0.1 + 0.2, "0"),
        (0.1 + 0.2, 0.3, "0"),
        (1.0, 9.0, "-4"),
        (1.0, 3.5, "-4"),
        (9.0, 1.0, "+3"),
    ] {
        let table = differences();
        let found = head(&table, column_for(&table, attack, defence));
        assert_eq!(found, column, "{attack} against {defence}");
    }
}

#[test]
fn shifts_stop_at_the_ends() {
    let table = odds_table();
    assert_eq!(shifted(&table, 1, 2), 3);
    assert_eq!(shifted(&table, 1, -2), 0);
    assert_eq!(shifted(&table, 3, i32::MAX), 4);
    assert_eq!(shifted(&table, 3, i32::MIN), 0);
}

/// `attack:defence before→column` and every shift as `columns why` or `×factor why`.
fn weighed(game: &Game, order: &Order) -> (String, Vec<String>) {
    let odds = strength::preview(game, order).expect("a battle");
    (
        format!(
            "{}:{} {}→{}",
            odds.attack, odds.defence, odds.column_before_shifts, odds.column
        ),
        odds.shifts,
    )
}

fn on(ground: Ground, rules: Ruleset, units: Vec<UnitEntry>) -> Game {
    game_on(rules, scenario(units), ground)
}

/// Red's `r1` and `r2` side by side, 10 mm from blue's `b1` and `b2`, all of two foot bases.
fn lines_of_two() -> Vec<UnitEntry> {
    vec![
        pair("r1", "foot", (460.0, 500.0, 0.0)),
        pair("r2", "foot", (540.0, 500.0, 0.0)),
        pair("b1", "foot", (460.0, 510.0, 180.0)),
        pair("b2", "foot", (540.0, 510.0, 180.0)),
    ]
}

#[test]
fn three_bases_deep_count_and_no_more() {
    let units = vec![
        block("r1", "foot", (2, 2), (500.0, 500.0, 0.0)),
        block("r2", "horse", (2, 2), (500.0, 460.0, 0.0)),
        block("b1", "foot", (2, 4), (500.0, 500.0, 180.0)),
    ];
    let game = game(rules(), units);
    // r1's two ranks and one of r2's: 4 × 1 + 2 × 2; of b1's four ranks three
    let (odds, _) = weighed(&game, &battle(&["r1", "r2"], &["b1"]));
    assert_eq!(odds, "8:6 1:1→1:1");
}

#[test]
fn support_needs_touch_half_the_frontage_and_the_same_facing() {
    let supports = |x: f64, y: f64, bearing: f64| {
        let units = vec![
            pair("r1", "foot", (500.0, 500.0, 0.0)),
            pair("b1", "foot", (500.0, 510.0, 180.0)),
            pair("b2", "foot", (x, y, bearing)),
        ];
        let (odds, _) = weighed(&game(rules(), units), &battle(&["r1"], &["b1"]));
        odds.starts_with("2:4")
    };
    assert!(supports(500.0, 530.0, 180.0));
    assert!(supports(500.0, 530.5, 180.0)); // a gap of the tolerance
    assert!(!supports(500.0, 530.51, 180.0));
    assert!(supports(500.0, 529.5, 180.0)); // an overlap of it
    assert!(!supports(500.0, 529.4, 180.0));
    assert!(supports(540.5, 530.0, 180.0)); // half of its frontage, within the tolerance
    assert!(!supports(540.6, 530.0, 180.0));
    assert!(!supports(500.0, 550.0, 0.0)); // back to back
}

#[test]
fn a_patch_multiplies_those_whose_middle_stands_on_it() {
    let wood = TerrainKind {
        defence: 2.0,
        shift: -1,
        ..TerrainKind::default()
    };
    // b1's middle is at (460, 520)
    let reaching_to = |y: f64| {
        ground(
            vec![patch("Wood", wood.clone(), (400.0, y), (500.0, 600.0))],
            vec![],
        )
    };
    let both = battle(&["r1", "r2"], &["b1", "b2"]);
    let one = battle(&["r1"], &["b1"]);
    let inside = on(reaching_to(519.0), rules(), lines_of_two());
    assert_eq!(
        weighed(&inside, &one),
        (
            "2:4 1:2→1:2".to_owned(),
            vec![
                "b1 on Wood (wood): strength × 2".to_owned(),
                "defended on Wood (wood): -1 column(s)".to_owned()
            ]
        )
    );
    // b2 beside it has no wood: each is multiplied for itself, the shift is the weakest one's
    assert_eq!(
        weighed(&inside, &both),
        (
            "4:6 1:2→1:2".to_owned(),
            vec!["b1 on Wood (wood): strength × 2".to_owned()]
        )
    );
    assert_eq!(
        weighed(&on(reaching_to(520.0), rules(), lines_of_two()), &one).0,
        "2:4 1:2→1:2"
    );
    assert_eq!(
        weighed(&on(reaching_to(520.1), rules(), lines_of_two()), &one).0,
        "2:2 1:1→1:1"
    );
}

#[test]
fn patches_one_on_another_do_not_add_up() {
    let kind = |defence, shift| TerrainKind {
        defence,
        shift,
        ..TerrainKind::default()
    };
    let all = ((300.0, 500.0), (700.0, 700.0));
    let ground = ground(
        vec![
            patch("Hill", kind(1.0, -2), all.0, all.1),
            patch("Village", kind(2.0, -1), all.0, all.1),
            patch("Field", kind(1.5, 0), all.0, all.1),
        ],
        vec![],
    );
    let game = on(ground, rules(), lines_of_two());
    let (odds, why) = weighed(&game, &battle(&["r1", "r2"], &["b1"]));
    // 4 against 2 × 2; two columns down from 1:1 is the first
    assert_eq!(odds, "4:4 1:1→1:2");
    assert_eq!(
        why,
        [
            "b1 on Village (village): strength × 2",
            "defended on Hill (hill): -2 column(s)"
        ]
    );
}

#[test]
fn a_wall_helps_when_everybody_attacks_across_it() {
    let wall = LineKind {
        defence: 1.5,
        shift: -1,
        ..LineKind::default()
    };
    let walled = |to: f64, spans: &[(f64, f64)]| {
        let wall = line("Wall", wall.clone(), &[(400.0, 505.0), (to, 505.0)], spans);
        on(ground(vec![], vec![wall]), rules(), lines_of_two())
    };
    let both = battle(&["r1", "r2"], &["b1", "b2"]);
    assert_eq!(weighed(&walled(700.0, &[]), &both).0, "4:6 1:2→1:2");
    // it ends at x = 500: r2 comes to b2 round it
    assert_eq!(weighed(&walled(500.0, &[]), &both).0, "4:5 1:2→1:2");
    let (odds, why) = weighed(&walled(500.0, &[]), &battle(&["r1"], &["b1"]));
    assert_eq!(odds, "2:3 1:2→1:2");
    assert_eq!(
        why,
        [
            "b1 behind Wall: strength × 1.5",
            "attacked across Wall: -1 column(s)"
        ]
    );
    // a gap before b1, whose tape to r1 crosses 60 mm along the wall
    assert_eq!(
        weighed(&walled(700.0, &[(40.0, 80.0)]), &battle(&["r1"], &["b1"])).0,
        "2:2 1:1→1:1"
    );
}

#[test]
fn a_wall_helps_whoever_is_drawn_up_to_it() {
    let wall = |y: f64| {
        let kind = LineKind {
            defence: 2.0,
            ..LineKind::default()
        };
        ground(
            vec![],
            vec![line("Wall", kind, &[(300.0, y), (700.0, y)], &[])],
        )
    };
    let touching = || {
        vec![
            pair("r1", "foot", (500.0, 500.0, 0.0)),
            pair("b1", "foot", (500.0, 500.0, 180.0)),
        ]
    };
    let defence = |y: f64| weighed(&on(wall(y), rules(), touching()), &battle(&["r1"], &["b1"])).0;
    assert_eq!(defence(500.0), "2:4 1:2→1:2");
    assert_eq!(defence(500.4), "2:4 1:2→1:2"); // within the tolerance
    assert_eq!(defence(500.6), "2:2 1:1→1:1"); // the wall is under b1
}

#[test]
fn a_slope_helps_uphill_only() {
    let slope = |uphill_north: bool| {
        let kind = LineKind {
            slope: true,
            shift: -1,
            ..LineKind::default()
        };
        // its high side is on the left of its drawing
        let (from, to) = if uphill_north {
            (300.0, 700.0)
        } else {
            (700.0, 300.0)
        };
        ground(
            vec![],
            vec![line("Crest", kind, &[(from, 505.0), (to, 505.0)], &[])],
        )
    };
    let one = battle(&["r1", "r2"], &["b1"]);
    assert_eq!(
        weighed(&on(slope(true), rules(), lines_of_two()), &one).0,
        "4:2 2:1→3:2"
    );
    assert_eq!(
        weighed(&on(slope(false), rules(), lines_of_two()), &one).0,
        "4:2 2:1→2:1"
    );
}

#[test]
fn flank_and_rear_by_the_attackers_front_edge() {
    // b1 faces north, its front edge from (460, 600) to (540, 600), its rear edge at y = 580
    let shift = |x: f64, y: f64, bearing: f64| {
        let units = vec![
            pair("b1", "foot", (500.0, 600.0, 0.0)),
            block("r1", "foot", (1, 1), (x, y, bearing)),
        ];
        let mut rules = rules();
        rules.flanks = Some(Flanks::default());
        let (_, why) = weighed(&game(rules, units), &battle(&["r1"], &["b1"]));
        why.first().cloned().unwrap_or_default()
    };
    let flank = "r1 on the flank of b1: +1 column(s)";
    let rear = "r1 on the rear of b1: +2 column(s)";
    assert_eq!(shift(500.0, 620.0, 180.0), "");
    assert_eq!(shift(560.0, 620.0, 180.0), ""); // on the arc's edge: 20 out, 20 ahead
    assert_eq!(shift(560.2, 620.0, 180.0), flank);
    assert_eq!(shift(550.0, 590.0, 270.0), flank);
    assert_eq!(shift(500.0, 570.0, 0.0), rear);
    // its front edge runs from y = 575 to 585: not wholly behind
    assert_eq!(shift(545.0, 580.0, 330.0), flank);
}

#[test]
fn disorder_counts_against_both_sides() {
    let mut rules = rules();
    rules.disorder = Some(Disorder::default());
    let mut game = game(rules, lines_of_two());
    let both = battle(&["r1", "r2"], &["b1"]);
    assert_eq!(weighed(&game, &both).0, "4:2 2:1→2:1");
    let disordered = |unit: &str, turns| Event::Disordered {
        unit: unit.into(),
        turns,
    };
    game.apply(&disordered("r2", 1));
    assert_eq!(weighed(&game, &both).0, "4:2 2:1→3:2");
    game.apply(&disordered("b1", 1));
    assert_eq!(weighed(&game, &both).0, "4:2 2:1→2:1");
}

#[test]
fn disorder_goes_with_standing_out_of_zones() {
    let mut rules = rules();
    rules.disorder = Some(Disorder {
        turns_to_recover: 2,
        ..Disorder::default()
    });
    let units = vec![
        pair("r1", "foot", (300.0, 300.0, 0.0)),
        pair("r2", "foot", (540.0, 500.0, 0.0)),
        pair("b1", "foot", (540.0, 510.0, 180.0)),
    ];
    let mut game = game(rules, units);
    for unit in ["r1", "r2", "b1"] {
        game.apply(&Event::Disordered {
            unit: unit.into(),
            turns: 2,
        });
    }
    // who has just fallen back has not stood yet
    let pose = game.unit(&"r1".into()).and_then(|unit| unit.pose());
    let pose = pose.expect("it stands");
    game.apply(&Event::FellBack {
        unit: "r1".into(),
        from: pose,
        to: pose,
        turned_deg: 0.0,
        pushed: vec![],
    });
    assert_eq!(disorder::recovered(&game), []);
    let accepted = Event::SheetAccepted {
        sheet: crate::referee::testing::sheet(vec![]),
        verdict: crate::verdict::SheetVerdict {
            verdict: crate::verdict::Ruling::Legal,
            moves: vec![],
            battles: vec![],
            reasons: vec![],
            completion: None,
        },
    };
    game.apply(&accepted);
    // r2 stands in b1's zone, b1 is not the mover
    assert_eq!(
        disorder::recovered(&game),
        [Event::Disordered {
            unit: "r1".into(),
            turns: 1
        }]
    );
}

#[test]
fn gun_fire_by_range_bands() {
    let fire = Order::Fire {
        guns: ids(&["rg", "rh"]),
        target: "b1".into(),
    };
    let mut rules = rules();
    let band = |within, strength, shift| RangeBand {
        within: Distance::new(within),
        strength,
        shift,
    };
    rules.sight = Some(Sight {
        units_block: true,
        bands: vec![band(2.0, 2.0, 1), band(4.0, 1.0, 0), band(8.0, 0.5, -1)],
    });
    let units = vec![
        pair("rg", "guns", (460.0, 500.0, 0.0)),
        pair("rh", "guns", (540.0, 300.0, 0.0)),
        pair("b1", "foot", (500.0, 580.0, 180.0)),
    ];
    let game = game(rules, units);
    // rg at 80 mm in the first band, 4 × 2; rh at 280 in the last, 4 × ½; the worst shift
    let (odds, why) = weighed(&game, &fire);
    assert_eq!(odds, "10:2 3:1→2:1");
    assert_eq!(
        why,
        [
            "rg fires at strength × 2",
            "rh fires at strength × 0.5",
            "range: -1 column(s)"
        ]
    );
}

#[test]
fn guns_alone_mind_only_a_line_close_before_the_target() {
    let wall = |y: f64| {
        let kind = LineKind {
            defence: 2.0,
            ..LineKind::default()
        };
        ground(
            vec![],
            vec![line("Wall", kind, &[(300.0, y), (700.0, y)], &[])],
        )
    };
    let units = || {
        vec![
            pair("rg", "guns", (500.0, 500.0, 0.0)),
            pair("b1", "foot", (500.0, 570.0, 180.0)),
        ]
    };
    let bombards = bombarded(&[], &["b1"], &["rg"]);
    assert_eq!(
        weighed(&on(wall(535.0), rules(), units()), &bombards).0,
        "4:4 1:1→1:1"
    );
    assert_eq!(
        weighed(&on(wall(525.0), rules(), units()), &bombards).0,
        "4:2 2:1→2:1"
    );
    assert_eq!(
        weighed(&on(bare_ground(), rules(), units()), &bombards).0,
        "4:2 2:1→2:1"
    );
}
