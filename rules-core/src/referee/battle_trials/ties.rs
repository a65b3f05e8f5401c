//! Ties and edges of the laws of battle (laws of measurement, §8, at its end), worked by hand.

use crate::game::{Event, Game};
use crate::orders::{Hand, Instruction, Instructions, Order, UnitId};
use crate::referee::battles::fight;
use crate::referee::disorder;
use crate::referee::testing::{
    always, battle, block, bombarded, game, game_on, ground, line, pair, patch, rules, scenario,
    sheet, throws,
};
use crate::referee::{strength, support};
use crate::ruleset::{Disorder, Distance, Fate, LineKind, Outcome, Ruleset, TerrainKind};
use crate::scenario::UnitEntry;

/// The defenders fall back so many base widths; nobody has to attack.
fn driven(base_widths: f64) -> Ruleset {
    let mut ruleset = Ruleset {
        results: always(Outcome {
            defender: Fate {
                falls_back: Some(Distance::new(base_widths)),
                ..Fate::default()
            },
            ..Outcome::default()
        }),
        disorder: Some(Disorder::default()),
        ..rules()
    };
    ruleset.attacks.compulsory = false;
    ruleset
}

/// The orders fought, everybody told to give way to one hand first.
fn fought(game: &mut Game, orders: Vec<Order>, give_way: Option<Hand>) -> Vec<Event> {
    let standing = Instructions {
        all: Instruction {
            give_way,
            ..Instruction::default()
        },
        ..Instructions::default()
    };
    fight(game, &sheet(orders), &standing, &mut throws(1)).events
}

fn place(game: &Game, unit: &str) -> Option<(f64, f64)> {
    let pose = game.unit(&UnitId::from(unit))?.pose()?;
    let tenths = |mm: f64| (mm * 10.0).round() / 10.0;
    Some((tenths(pose.x_mm()), tenths(pose.y_mm())))
}

/// Whether a unit two bases wide stands behind one that faces north with its rear edge on y = 480, between
/// x = 460 and 540, when it faces so and its left front corner stands so.
fn is_behind((x, y): (f64, f64), bearing_deg: f64) -> bool {
    let right = crate::geometry::Vector::along_bearing((bearing_deg + 90.0).to_radians()) * 40.0;
    let units = vec![
        pair("r1", "foot", (500.0, 500.0, 0.0)),
        pair("r2", "foot", (x + right.x, y + right.y, bearing_deg)),
    ];
    let game = game(rules(), units);
    let ground = |id: &str| game.unit(&id.into()).and_then(|unit| unit.footprint());
    let (rear, front) = (ground("r2").expect("r2"), ground("r1").expect("r1"));
    support::stands_behind(&rear, &front, 0.5)
}

#[test]
fn support_at_a_slant_is_measured_along_the_units_own_front() {
    // it faces 30° to the right, so its left front corner leads; from there to x = 540 its own front is
    // 44 mm long, and 38.1 mm along the other's rear
    let along = |mm: f64| 540.0 - mm * 0.866_025_4;
    assert!(is_behind((along(44.0), 480.0), 30.0));
    assert!(is_behind((along(39.6), 480.0), 30.0));
    assert!(!is_behind((along(39.4), 480.0), 30.0));
    // within the tolerance of the line, either way
    assert!(is_behind((along(44.0), 480.4), 30.0) && is_behind((along(44.0), 479.6), 30.0));
    assert!(!is_behind((along(44.0), 480.6), 30.0) && !is_behind((along(44.0), 479.4), 30.0));
    // the other's left rear corner touches its front, 5.8 mm and 43 mm from the corner that leads and stands
    // beside the other: 74.2 mm and 37 mm of it are behind
    assert!(is_behind((455.0, 482.887), 30.0));
    assert!(!is_behind((422.761, 501.5), 30.0));
}

#[test]
fn a_corner_on_a_corner_falls_back_along_the_line_through_both_centres() {
    // r1 covers 460 to 540 and 480 to 500, b1 540 to 620 and 500 to 520: centres 80 and 20 mm apart
    let units = |x: f64| {
        vec![
            pair("r1", "foot", (500.0, 500.0, 0.0)),
            pair("b1", "foot", (x, 500.0, 180.0)),
        ]
    };
    let ends = |x| {
        let mut game = game(driven(2.0), units(x));
        fought(&mut game, vec![battle(&["r1"], &["b1"])], None);
        place(&game, "b1")
    };
    assert_eq!(ends(580.0), Some((657.6, 519.4)));
    assert_eq!(ends(420.0), Some((342.4, 519.4)));
    // what storing can do is no other place; with a millimetre of edge on edge it is the edge's normal
    assert_eq!(ends(580.003), Some((657.6, 519.4)));
    assert_eq!(ends(579.0), Some((579.0, 580.0)));
}

#[test]
fn who_falls_exactly_sideways_takes_its_hands_along_the_way() {
    // r1 stands west of b1, which faces north: away is east; a crag bars the straight way
    let turned = |hand| {
        let units = vec![
            pair("r1", "foot", (460.0, 500.0, 90.0)),
            pair("b1", "foot", (500.0, 510.0, 0.0)),
        ];
        let kind = TerrainKind {
            impassable: true,
            ..TerrainKind::default()
        };
        let crag = patch("Crag", kind, (600.0, 495.0), (610.0, 505.0));
        let mut rules = driven(3.0);
        rules.falling_back.fan = 90.0;
        let mut game = game_on(rules, scenario(units), ground(vec![crag], vec![]));
        let events = fought(&mut game, vec![battle(&["r1"], &["b1"])], hand);
        events
            .iter()
            .find_map(|event| match event {
                Event::FellBack { turned_deg, .. } => Some(*turned_deg),
                _ => None,
            })
            .expect("it falls back")
    };
    // left of a way east is north, counter-clockwise
    assert!(turned(Some(Hand::Left)) < -1.0);
    assert!(turned(Some(Hand::Right)) > 1.0);
    assert_eq!(turned(None), turned(Some(Hand::Right)));
}

#[test]
fn of_two_grounds_equally_near_the_first_named_is_taken() {
    let units = || {
        vec![
            block("r1", "foot", (4, 1), (500.1, 500.3, 0.0)),
            pair("b1", "foot", (460.1, 530.3, 180.0)),
            pair("b2", "foot", (540.1, 530.3, 180.0)),
        ]
    };
    let taken = |defenders: &[&str]| {
        let order = Order::Battle {
            attackers: vec!["r1".into()],
            defenders: defenders.iter().map(|&id| id.into()).collect(),
            guns: vec![],
            follow_up: Some("r1".into()),
        };
        let mut game = game(driven(2.0), units());
        fought(&mut game, vec![order], None);
        place(&game, "r1").expect("r1 stands").0
    };
    // at most 40 of the 50 mm to it: 32 mm to the side
    assert_eq!((taken(&["b1", "b2"]), taken(&["b2", "b1"])), (468.1, 532.1));
}

#[test]
fn cover_is_decided_by_the_string_from_the_middle_of_the_shared_front() {
    // fronts share 460 to 500: the middle is 480, which is 80 along the wall
    let shifts = |gap: (f64, f64)| {
        let units = vec![
            pair("r1", "foot", (460.0, 500.0, 0.0)),
            pair("b1", "foot", (500.0, 530.0, 180.0)),
        ];
        let kind = LineKind {
            shift: -1,
            ..LineKind::default()
        };
        let wall = line("Wall", kind, &[(400.0, 515.0), (600.0, 515.0)], &[gap]);
        let game = game_on(rules(), scenario(units), ground(vec![], vec![wall]));
        let odds = strength::preview(&game, &battle(&["r1"], &["b1"]));
        odds.expect("a battle").shifts.len()
    };
    assert_eq!(shifts((75.0, 85.0)), 0);
    assert_eq!((shifts((62.0, 79.0)), shifts((81.0, 98.0))), (1, 1));
    // a gap's end belongs to it
    assert_eq!((shifts((70.0, 80.0)), shifts((80.0, 90.0))), (0, 0));
}

/// A disordered `r1` before a commander with a unit behind him.
fn before_a_commander(mut others: Vec<UnitEntry>) -> Game {
    others.extend([
        pair("r1", "foot", (500.0, 500.0, 0.0)),
        block("bc", "general", (1, 1), (500.0, 530.0, 180.0)),
        block("b1", "foot", (1, 1), (500.0, 550.0, 180.0)),
    ]);
    let mut game = game(driven(1.0), others);
    let disordered = Event::Disordered {
        unit: "r1".into(),
        turns: 1,
    };
    game.apply(&disordered);
    game
}

#[test]
fn who_takes_a_commander_alone_has_fought_and_who_stands_behind_him_has_not() {
    let mut game = before_a_commander(vec![]);
    // it stands in b1's strike zone alone, in no halt zone: left in peace it would shed its disorder
    assert_eq!(disorder::recovered(&game).len(), 1);
    let events = fought(&mut game, vec![battle(&["r1"], &["bc"])], None);
    let Some(Event::CommandersAttacked {
        attackers,
        commanders,
        ..
    }) = events.first()
    else {
        panic!("{events:?}");
    };
    assert_eq!(
        (&attackers[0].0[..], &commanders[..]),
        ("r1", &["bc".into()][..])
    );
    assert_eq!(place(&game, "bc"), None);
    assert_eq!(place(&game, "b1"), Some((500.0, 550.0)));
    assert_eq!(disorder::recovered(&game), []);
}

#[test]
fn a_fall_back_by_nothing_is_none() {
    let units = vec![
        pair("r1", "foot", (500.0, 500.0, 0.0)),
        pair("b1", "foot", (480.0, 510.0, 180.0)),
        block("bc", "general", (1, 1), (540.0, 510.0, 180.0)),
    ];
    let mut game = game(driven(0.0), units);
    let events = fought(&mut game, vec![battle(&["r1"], &["b1", "bc"])], None);
    assert!(matches!(&events[..], [Event::BattleFought { .. }]));
}

/// What a sheet's battle comes to whose foot is gone: `rg` stands out of all strike zones, `ra` in b1's.
fn guns_left(attackers: &[&str], joins_only: bool) -> Vec<Event> {
    let units = vec![
        pair("rg", "guns", (500.0, 440.0, 0.0)),
        block("ra", "guns", (1, 1), (600.0, 500.0, 0.0)),
        pair("b1", "foot", (560.0, 510.0, 180.0)),
    ];
    let mut rules = driven(0.0);
    rules.attacks.bombard_joins_only = joins_only;
    let mut game = game(rules, units);
    fought(
        &mut game,
        vec![bombarded(attackers, &["b1"], &["rg"])],
        None,
    )
}

#[test]
fn guns_whose_attackers_are_gone_do_not_fire_and_it_is_said() {
    let alone = guns_left(&["gone"], true);
    let [Event::BattleLapsed { why, .. }] = &alone[..] else {
        panic!("{alone:?}");
    };
    assert!(why.contains("guns may only join"), "{why}");
    let beside_guns = guns_left(&["gone", "ra"], true);
    let [
        Event::GunsSilent { guns, why, .. },
        Event::BattleFought { report },
    ] = &beside_guns[..]
    else {
        panic!("{beside_guns:?}");
    };
    assert!(guns[..] == ["rg".into()] && why.contains("guns may only join"));
    assert!(report.guns.is_empty() && report.attackers == ["ra".into()]);
    // where they may fight alone, they do
    let free = guns_left(&["gone"], false);
    assert!(
        matches!(&free[..], [Event::BattleFought { report }] if report.guns == ["rg".into()]),
        "{free:?}"
    );
}
