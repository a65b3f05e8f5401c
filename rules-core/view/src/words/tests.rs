//! The wording, pinned.

use crate::sample::{self, verdicts};
use fieldpost_rules::orders::{Extent, Hand, Leg, Order, SideId, TurnSheet, UnitId};
use fieldpost_rules::verdict::{
    BattleVerdict, Code, Measured, OddsPreview, Reason, Ruling, SheetVerdict,
};

use super::*;

#[test]
fn a_sheet_refused_says_why_with_figures_that_line_up() {
    let game = sample::game();
    let battle = BattleVerdict {
        order: 3,
        verdict: Ruling::Refused,
        attackers: vec![UnitId::from("red-2")],
        defenders: vec![UnitId::from("blue-1")],
        guns: vec![UnitId::from("red-7")],
        measured: vec![
            Measured {
                from: UnitId::from("red-2"),
                to: UnitId::from("blue-1"),
                distance_mm: 48.06,
                limit_mm: 40.0,
                through: None,
            },
            Measured {
                from: UnitId::from("red-7"),
                to: UnitId::from("blue-1"),
                distance_mm: 79.0,
                limit_mm: 80.0,
                through: None,
            },
        ],
        odds: Some(OddsPreview {
            attack: 33.0,
            defence: 32.0,
            column_before_shifts: "1:1".to_owned(),
            shifts: vec!["Alder Mill doubles the defence".to_owned()],
            column: "1:1".to_owned(),
        }),
        reasons: vec![Reason::length_over(Code::NotInStrikeZone, 40.0, 48.06, 0.5).with("blue-1")],
    };
    let sheet = SheetVerdict {
        verdict: Ruling::Refused,
        moves: vec![
            verdicts::past_a_zone(&game),
            verdicts::legal(&game),
            verdicts::over_allowance(&game),
        ],
        battles: vec![battle],
        reasons: vec![Reason::length_under(Code::MustAttack, 40.0, 12.5, 0.5).with("red-4")],
        completion: None,
    };
    insta::assert_snapshot!(sheet_verdict(&sheet, &game));
}

#[test]
fn figures_line_up_out_of_command_and_a_row_of_noughts_is_left_out() {
    let game = sample::game();
    let mut moved = verdicts::legal(&game);
    moved.in_command = false;
    let mut piece = moved.legs[0].pieces[0].clone();
    (piece.from_mm, piece.to_mm, piece.charge_mm) = (0.0, 0.0, 0.0);
    moved.legs[0].pieces.insert(0, piece);
    let told = move_verdict(&moved, &game);
    let ends: std::collections::BTreeSet<usize> = told
        .lines()
        .filter(|line| line.ends_with(|c: char| c.is_ascii_digit()))
        .map(|line| line.chars().count())
        .collect();
    assert!(told.contains("out of command") && ends.len() == 1, "{told}");
    assert!(!told.contains("0.0–0.0"), "{told}");
}

#[test]
fn a_battle_is_told_as_news() {
    let game = sample::game();
    insta::assert_snapshot!(news(&game, &verdicts::a_battle(&game)));
}

/// What was accepted of a sheet.
fn accepted(moves: Vec<fieldpost_rules::verdict::MoveVerdict>) -> SheetVerdict {
    SheetVerdict {
        verdict: Ruling::Legal,
        moves,
        battles: Vec::new(),
        reasons: Vec::new(),
        completion: None,
    }
}

fn ordered(game: &fieldpost_rules::game::Game, orders: Vec<Order>) -> TurnSheet {
    TurnSheet {
        game_turn: game.game_turn(),
        side: game.player_side(),
        orders,
    }
}

/// A side that attacks or fires where it stands is not told to stand.
#[test]
fn who_attacks_without_moving_does_not_merely_stand() {
    let game = sample::game();
    let told = |orders| moves::moves(&ordered(&game, orders), &accepted(Vec::new()), &game);
    let units = || game.units().map(|unit| unit.id.clone());
    let (one, other) = (units().next().expect("one"), units().last().expect("one"));
    let battle = Order::Battle {
        attackers: vec![one.clone()],
        defenders: vec![other.clone()],
        guns: Vec::new(),
        follow_up: None,
    };
    let fire = Order::Fire {
        guns: vec![one],
        target: other,
    };
    let attacks = told(vec![fire.clone(), battle]);
    assert!(
        attacks.contains("attack") && !attacks.contains("stand"),
        "{attacks}"
    );
    let fires = told(vec![fire]);
    assert!(
        fires.contains("fire") && !fires.contains("stand"),
        "{fires}"
    );
    let nothing = told(Vec::new());
    assert!(nothing.contains("stand"), "{nothing}");
}

/// A unit that arrives comes on before it advances, and is told to stand where it did so afterwards.
#[test]
fn an_arrival_is_told_before_what_it_does_then() {
    let game = sample::game();
    let waiting = game
        .units()
        .find(|unit| matches!(unit.state, fieldpost_rules::game::State::Waiting(_)))
        .expect("one is to arrive");
    let mut moved = verdicts::legal(&game);
    moved.unit = waiting.id.clone();
    moved.legs.truncate(1);
    moved.legs[0].leg = "forward".to_owned();
    moved.legs[0].tape_mm = 60.0;
    let told = moves::moves(
        &ordered(&game, Vec::new()),
        &accepted(vec![moved.clone()]),
        &game,
    );
    let at = |words: &str| {
        told.find(words)
            .unwrap_or_else(|| panic!("{words}: {told}"))
    };
    assert!(at("on over the ") < at("advance"), "{told}");
    moved.legs.clear();
    let told = moves::moves(
        &ordered(&game, Vec::new()),
        &accepted(vec![moved.clone()]),
        &game,
    );
    assert!(
        told.contains("on over the ") && !told.contains("stand"),
        "{told}"
    );
    let pose = fieldpost_rules::geometry::Pose::from_mm_deg(100.0, 60.0, 0.0).expect("a pose");
    let unit = waiting.id.clone();
    let after = event(&fieldpost_rules::game::Event::Arrived { unit, pose }, &game);
    assert!(after.contains("arrived and stand"), "{after}");
}

/// The verb agrees with who fires: one battery fires, guns fire.
#[test]
fn one_battery_fires() {
    let mut scenario = sample::scenario();
    scenario.unit[0].name = "Mill Battery".to_owned();
    scenario.unit[1].name = "Guns of the Duke".to_owned();
    let game = sample::open(scenario.clone());
    let told = |guns: &[usize]| {
        let guns: Vec<UnitId> = guns
            .iter()
            .map(|index| UnitId(scenario.unit[*index].id.clone()))
            .collect();
        let target = game.units().last().expect("one").id.clone();
        let verdict = fieldpost_rules::verdict::BattleVerdict {
            order: 0,
            verdict: Ruling::Legal,
            attackers: Vec::new(),
            defenders: vec![target.clone()],
            guns: guns.clone(),
            measured: Vec::new(),
            odds: None,
            reasons: Vec::new(),
        };
        let ordered = order_in_words(&Order::Fire { guns, target }, &game);
        [battle_verdict(&verdict, &game), ordered]
    };
    for words in told(&[0]) {
        assert!(words.contains("Mill Battery fires at"), "{words}");
    }
    for words in told(&[1]).into_iter().chain(told(&[0, 1])) {
        assert!(words.contains("Guns of the Duke fire at"), "{words}");
    }
}

/// A leg that was stopped where it began is not told, nor a unit that did nothing else.
#[test]
fn what_covered_no_ground_is_not_told() {
    let game = sample::game();
    let nothing_more = |moved: &mut fieldpost_rules::verdict::MoveVerdict, tape_mm| {
        let mut leg = moved.legs[0].clone();
        leg.leg = "forward".to_owned();
        leg.tape_mm = tape_mm;
        moved.legs.push(leg);
    };
    let told = |moved: fieldpost_rules::verdict::MoveVerdict| {
        let verdict = accepted(vec![moved]);
        moves::moves(&ordered(&game, Vec::new()), &verdict, &game)
    };
    let mut moved = verdicts::legal(&game);
    let as_it_was = told(moved.clone());
    nothing_more(&mut moved, 0.04);
    assert_eq!(told(moved.clone()), as_it_was);
    moved.legs.drain(..moved.legs.len() - 1);
    let alone = told(moved.clone());
    assert!(alone.contains("stand") && !alone.contains(" mm"), "{alone}");
    nothing_more(&mut moved, 0.1);
    let some = told(moved);
    assert!(some.contains("0.1 mm") && !some.contains("0 mm"), "{some}");
}

/// A unit's verb is its own, however its side is called.
#[test]
fn a_unit_of_a_side_with_a_plural_name_keeps_its_verb() {
    let mut scenario = sample::scenario();
    for (side, name) in ["Outposts of the Vale", "Hill Clans"]
        .into_iter()
        .enumerate()
    {
        scenario.side[side].name = name.to_owned();
    }
    scenario.unit[0].name = "Fourth Foot".to_owned();
    scenario.unit[1].name = "Guns of the Duke".to_owned();
    let told = |unit: usize| {
        let id = UnitId(scenario.unit[unit].id.clone());
        let game = sample::open(scenario.clone());
        let gone = |cause| {
            let unit = id.clone();
            event(
                &fieldpost_rules::game::Event::Removed { unit, cause },
                &game,
            )
        };
        let lost = fieldpost_rules::game::Event::Lost {
            unit: id.clone(),
            bases: 1,
        };
        [
            gone(fieldpost_rules::game::Cause::Eliminated),
            gone(fieldpost_rules::game::Cause::Surrounded),
            event(&lost, &game),
        ]
        .join("\n")
    };
    let one = told(0);
    for words in [
        "Fourth Foot breaks and is",
        "is surrounded and lays down its",
        "Foot loses one base and has",
    ] {
        assert!(one.contains(words), "{words}: {one}");
    }
    let many = told(1);
    for words in [
        "Duke break and are",
        "are surrounded and lay down their",
        "Duke lose one base and have",
    ] {
        assert!(many.contains(words), "{words}: {many}");
    }
}

#[test]
fn orders_read_as_sentences() {
    let game = sample::game();
    let unit = UnitId::from;
    let sheet = TurnSheet {
        game_turn: 1,
        side: SideId::from("red"),
        orders: vec![
            Order::Move {
                unit: unit("red-3"),
                legs: vec![
                    Leg::Wheel {
                        side: Hand::Left,
                        angle_deg: Extent::Exactly(20.0),
                    },
                    Leg::Forward {
                        distance_mm: Extent::UpTo(120.0),
                    },
                ],
            },
            Order::MoveTogether {
                units: vec![unit("red-1"), unit("red-2")],
                legs: vec![Leg::About],
            },
            Order::Arrive {
                unit: unit("red-8"),
                along_mm: 640.0,
                legs: Vec::new(),
            },
            Order::Battle {
                attackers: vec![unit("red-2"), unit("red-3")],
                defenders: vec![unit("blue-1")],
                guns: vec![unit("red-7")],
                follow_up: Some(unit("red-3")),
            },
            Order::Fire {
                guns: vec![unit("red-7")],
                target: unit("blue-2"),
            },
            Order::GiveWay {
                unit: unit("red-1"),
                side: Hand::Right,
            },
        ],
    };
    insta::assert_snapshot!(orders_in_words(&sheet, &game));
}

#[test]
fn names_cannot_steer_a_terminal() {
    let mut scenario = sample::scenario();
    scenario.unit[0].name = "\u{1b}[31mRed\u{7}".to_owned();
    scenario.side[0].name = "A\u{1b}]0;x\u{7}".to_owned();
    let game = sample::open(scenario);
    let mut verdict = verdicts::legal(&game);
    verdict.unit = UnitId::from("red-1");
    verdict.legs[0].pieces[0].ground = "o\u{1b}pen".to_owned();
    let events = verdicts::a_battle(&game);
    let told = format!(
        "{}{}{}{}",
        move_verdict(&verdict, &game),
        news(&game, &events),
        turn_line(&game),
        crate::text::table(&game, &crate::text::TextOptions::default())
    );
    assert!(told.chars().all(|c| c == '\n' || !c.is_control()));
}

#[test]
fn a_refused_declaration_is_told_what_would_do() {
    use fieldpost_rules::referee::testing::{battle, game, pair, rules, sheet};
    let units = vec![
        pair("r1", "foot", (460.0, 500.0, 0.0)),
        pair("r2", "foot", (540.0, 500.0, 0.0)),
        pair("b1", "foot", (460.0, 510.0, 180.0)),
        pair("b2", "foot", (540.0, 510.0, 180.0)),
    ];
    let game = game(rules(), units);
    let verdict =
        fieldpost_rules::referee::judge_sheet(&game, &sheet(vec![battle(&["r1"], &["b1"])]));
    let said = sheet_verdict(&verdict, &game);
    let (_, offer) = said.split_once("Would do").expect("an offer");
    assert_eq!(
        offer,
        ", as the battles of this sheet:\n  r1 attacks b1\n  r2 attacks b2\n"
    );
}

/// A report of gun fire that came to an outcome of the sample's table.
fn fired(outcome: &str) -> fieldpost_rules::game::BattleReport {
    let battle = verdicts::a_battle(&sample::game());
    let Some(fieldpost_rules::game::Event::BattleFought { report }) = battle.first() else {
        panic!("a battle first");
    };
    fieldpost_rules::game::BattleReport {
        attackers: Vec::new(),
        outcome: outcome.to_owned(),
        ..report.clone()
    }
}

/// Guns that fire alone suffer nothing, whatever the table's words say of attackers.
#[test]
fn fire_that_does_nothing_to_its_target_has_no_effect() {
    let game = sample::game();
    let told = |outcome| {
        let report = fired(outcome);
        event(
            &fieldpost_rules::game::Event::BattleFought { report },
            &game,
        )
    };
    let without = told("back");
    assert!(without.ends_with("The throw is 4: no effect."), "{without}");
    let with = told("push");
    assert!(with.ends_with("the defenders give ground."), "{with}");
}

#[test]
fn a_difference_is_told_beside_its_column() {
    let mut field = sample::game().field().clone();
    field.ruleset.results.kind = fieldpost_rules::ruleset::ResultsKind::Differential;
    let game = fieldpost_rules::game::Game::new(std::sync::Arc::new(field));
    let mut report = fired("push");
    (report.attack, report.defence) = (4.0, 12.0);
    (report.column_before_shifts, report.column) = ("-5".to_owned(), "-2".to_owned());
    report.shifts.truncate(0);
    let told = event(
        &fieldpost_rules::game::Event::BattleFought { report },
        &game,
    );
    assert!(
        told.contains(" 4 against 12 is a difference of -8, in column -5, so in column -2. The"),
        "{told}"
    );
}

#[test]
fn disorder_tells_how_long_it_lasts() {
    let mut game = sample::game();
    let mut told = |turns| {
        let unit = UnitId::from("blue-1");
        let happened = fieldpost_rules::game::Event::Disordered { unit, turns };
        let line = event(&happened, &game);
        game.apply(&happened);
        line
    };
    let guard = "Mill Guard";
    assert_eq!(
        told(2),
        format!("{guard} is disordered, with 2 turns to stand.")
    );
    assert_eq!(
        told(2),
        format!("{guard} is disordered anew, with 2 turns to stand.")
    );
    assert_eq!(
        told(1),
        format!("{guard} stands and sheds one turn of disorder; 1 more to stand.")
    );
    assert_eq!(told(0), format!("{guard} is in order again."));
    assert_eq!(told(1), format!("{guard} is disordered."));
}

/// Left and right are those of the unit as it faces, as the law and the order have them.
#[test]
fn a_fall_back_is_told_by_the_units_own_hands() {
    let game = sample::game();
    let hand = |facing_deg: f64, way_deg: f64, turned_deg: f64| {
        let pose = |x: f64, y: f64| {
            fieldpost_rules::geometry::Pose::from_mm_deg(x, y, facing_deg).expect("on the table")
        };
        let way = fieldpost_rules::geometry::Vector::along_bearing(way_deg.to_radians()) * 80.0;
        let told = event(
            &fieldpost_rules::game::Event::FellBack {
                unit: UnitId::from("blue-1"),
                from: pose(600.0, 600.0),
                to: pose(600.0 + way.x, 600.0 + way.y),
                turned_deg,
                pushed: Vec::new(),
            },
            &game,
        );
        let (_, told) = told
            .split_once("off straight away to its ")
            .expect("a hand");
        told.to_owned()
    };
    // it faces south and goes back north, 10° east of it: east is its left
    assert_eq!(hand(180.0, 10.0, 10.0), "left.");
    assert_eq!(hand(180.0, 350.0, -10.0), "right.");
    // driven forward, clockwise is to its right
    assert_eq!(hand(0.0, 10.0, 10.0), "right.");
    // exactly sideways: straight away is east, and left of that way is north
    assert_eq!(hand(0.0, 80.0, -10.0), "left.");
    assert_eq!(hand(0.0, 100.0, 10.0), "right.");
}

#[test]
fn silent_guns_and_commanders_alone_are_told() {
    let game = sample::game();
    let ids = |keys: &[&str]| -> Vec<UnitId> { keys.iter().map(|&key| key.into()).collect() };
    let silent = event(
        &fieldpost_rules::game::Event::GunsSilent {
            order: 0,
            guns: ids(&["red-7"]),
            why: "nobody is left to attack".to_owned(),
        },
        &game,
    );
    assert!(
        silent.ends_with("silent: nobody is left to attack."),
        "{silent}"
    );
    let alone = event(
        &fieldpost_rules::game::Event::CommandersAttacked {
            order: 0,
            attackers: ids(&["red-3"]),
            guns: vec![],
            commanders: ids(&["blue-7"]),
        },
        &game,
    );
    assert!(alone.ends_with("who has no troops there."), "{alone}");
    let now = fieldpost_rules::game::LAWS;
    let next = fieldpost_rules::game::Event::LawsChanged { laws: now + 1 };
    let laws = event(&next, &game);
    let told = [
        format!("judged by laws {}", now + 1),
        format!("by laws {now}"),
    ];
    assert!(told.iter().all(|words| laws.contains(words)), "{laws}");
}

#[test]
fn a_minimum_move_says_what_it_granted() {
    use fieldpost_rules::orders::{Leg, Order};
    use fieldpost_rules::referee::testing::{game, pair, rules, sheet};
    use fieldpost_rules::ruleset::{Distance, MinimumMove};
    let mut ruleset = rules();
    ruleset.movement.minimum_move = Some(MinimumMove {
        forward: Distance::new(4.0),
    });
    let game = game(ruleset, vec![pair("r1", "foot", (600.0, 600.0, 0.0))]);
    let order = Order::Move {
        unit: UnitId::from("r1"),
        legs: vec![Leg::Forward {
            distance_mm: Extent::UpTo(300.0),
        }],
    };
    let verdict = fieldpost_rules::referee::judge_sheet(&game, &sheet(vec![order]));
    let told = sheet_verdict(&verdict, &game);
    assert!(told.contains("granted by the minimum move"), "{told}");
}

#[test]
fn whose_tape_a_body_pays_for_is_told() {
    use fieldpost_rules::orders::{Leg, Order};
    use fieldpost_rules::referee::testing::{game, pair, rules, sheet};
    let units = vec![
        pair("r1", "foot", (400.0, 600.0, 0.0)),
        pair("r2", "foot", (800.0, 600.0, 0.0)),
    ];
    let game = game(rules(), units);
    let order = Order::MoveTogether {
        units: vec![UnitId::from("r1"), UnitId::from("r2")],
        legs: vec![Leg::Forward {
            distance_mm: Extent::Exactly(50.0),
        }],
    };
    let verdict = fieldpost_rules::referee::judge_sheet(&game, &sheet(vec![order]));
    let told = sheet_verdict(&verdict, &game);
    assert!(told.contains("along the tape of r1"), "{told}");
}

/// What of a cost is no tape is named; so is a line that an *up to* leg could not pay for.
#[test]
fn a_line_that_cannot_be_paid_for_is_named() {
    use fieldpost_rules::referee::testing::{game_on, ground, line, pair, rules, scenario, sheet};
    use fieldpost_rules::ruleset::{Charge, LineKind, ZoneExit};
    let stream = || {
        let kind = LineKind {
            charge: Charge::new(2.0),
            ..LineKind::default()
        };
        let mut brook = line("Withy Brook", kind, &[(100.0, 650.0), (900.0, 650.0)], &[]);
        brook.charge_mm = 80.0;
        brook
    };
    let units = || {
        vec![
            pair("r1", "foot", (600.0, 600.0, 0.0)),
            pair("b1", "foot", (100.0, 1150.0, 180.0)),
        ]
    };
    let table = game_on(rules(), scenario(units()), ground(vec![], vec![stream()]));
    let told = |game: &fieldpost_rules::game::Game, distance_mm| {
        let order = Order::Move {
            unit: UnitId::from("r1"),
            legs: vec![Leg::Forward { distance_mm }],
        };
        let verdict = fieldpost_rules::referee::judge_sheet(game, &sheet(vec![order]));
        sheet_verdict(&verdict, game)
    };
    // 120 mm of allowance: 60 mm of tape and 80 for the brook
    let refused = told(&table, Extent::Exactly(60.0));
    assert!(
        refused.contains("Of that, 80.0 mm for Withy Brook."),
        "{refused}"
    );
    // 50 mm to the brook leave 70 of the 80 that it costs
    let stopped = told(&table, Extent::AsFarAsAllowed);
    assert!(
        stopped.contains("Withy Brook costs 80.0 mm and 70.0 mm are left"),
        "{stopped}"
    );
    // leaving a halt zone at a price
    let mut paying = rules();
    paying.zones.zone_exit = ZoneExit::Pay;
    paying.zones.zone_exit_charge = Charge::new(2.0);
    let mut held = units();
    held[1] = pair("b1", "foot", (600.0, 570.0, 0.0));
    let table = game_on(paying, scenario(held), ground(vec![], vec![]));
    let leaves = told(&table, Extent::Exactly(60.0));
    assert!(
        leaves.contains("Of that, 80.0 mm for leaving a halt zone."),
        "{leaves}"
    );
}

/// An order of nothing is not passed over in silence.
#[test]
fn what_orders_nothing_is_said_to() {
    use fieldpost_rules::referee::testing::{game, pair, rules, sheet};
    let game = game(
        rules(),
        vec![
            pair("r1", "foot", (600.0, 600.0, 0.0)),
            pair("b1", "foot", (100.0, 1150.0, 180.0)),
        ],
    );
    let told = |orders| {
        let verdict = fieldpost_rules::referee::judge_sheet(&game, &sheet(orders));
        sheet_verdict(&verdict, &game)
    };
    let none = told(Vec::new());
    assert!(none.contains("It orders nothing"), "{none}");
    let moves = |leg| {
        told(vec![Order::Move {
            unit: UnitId::from("r1"),
            legs: vec![leg],
        }])
    };
    let nothing = Extent::Exactly(0.0);
    let side = Hand::Left;
    for leg in [
        Leg::Forward {
            distance_mm: nothing,
        },
        Leg::Wheel {
            side,
            angle_deg: nothing,
        },
    ] {
        let told = moves(leg);
        assert!(told.contains("Leg 1 goes nowhere."), "{told}");
    }
    let some = moves(Leg::Forward {
        distance_mm: Extent::Exactly(10.0),
    });
    assert!(
        !some.contains("nowhere") && !some.contains("nothing"),
        "{some}"
    );
}
