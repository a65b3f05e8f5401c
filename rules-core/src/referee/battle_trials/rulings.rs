//! Declarations judged: one line a ruling. Tables are described in [`table`]; distances in the
//! expectations follow from the places given there, by hand.

use crate::game::Game;
use crate::orders::Order;
use crate::referee::attacks;
use crate::referee::testing::{
    bare_ground, battle, block, bombarded, game, game_on, ground, ids, pair, patch, rules,
    scenario, sheet,
};
use crate::ruleset::{Breaking, Broken, Distance, RangeBand, Ruleset, Sight, TerrainKind};
use crate::verdict::{Amounts, Reason, Ruling};

/// Bases are 40 × 20 mm, the strike zone is 40 mm, bombardment reaches 80 mm. Red faces north:
/// `r1` and `r2` side by side with their fronts at y = 500, `r3` right behind `r1`, `rg` guns 60
/// mm behind `r2`'s rear, `rc` the general far back. Blue faces south: `b1` 30 mm ahead of `r1`,
/// `b2` 39.8 mm ahead of `r2`, `b3` far to the east, 40.3 mm ahead of `r4`.
fn table() -> Vec<crate::scenario::UnitEntry> {
    vec![
        pair("r1", "foot", (460.0, 500.0, 0.0)),
        pair("r2", "foot", (540.0, 500.0, 0.0)),
        pair("r3", "foot", (460.0, 480.0, 0.0)),
        pair("r4", "horse", (900.0, 500.0, 0.0)),
        block("rg", "guns", (1, 1), (540.0, 420.0, 0.0)),
        block("rc", "general", (1, 1), (460.0, 300.0, 0.0)),
        pair("b1", "foot", (460.0, 530.0, 180.0)),
        pair("b2", "foot", (560.0, 539.8, 180.0)),
        pair("b3", "foot", (900.0, 540.3, 180.0)),
        block("bc", "general", (1, 1), (200.0, 900.0, 180.0)),
    ]
}

/// Every reason as `code/other/limit/measured/ruling`, battles' first, in mm or counts.
fn answers(game: &Game, orders: Vec<Order>) -> Vec<String> {
    let (battles, duties) = attacks::judge(game, &sheet(orders));
    let reasons = battles.iter().flat_map(|battle| &battle.reasons);
    reasons.chain(&duties).map(in_short).collect()
}

fn in_short(reason: &Reason) -> String {
    let figures = match reason.amounts() {
        Amounts::Millimetres { limit, measured } => format!("{limit:.1}/{measured:.1}"),
        Amounts::Degrees { limit, measured } => format!("{limit:.1}°/{measured:.1}°"),
        Amounts::Count { limit, measured } => format!("{limit}/{measured}"),
        Amounts::Unmeasured => String::new(),
    };
    let other = reason.other().unwrap_or("-");
    let ruling = reason.ruling().word();
    format!("{} {other} {figures} {ruling}", reason.code().as_str())
}

/// One ruling: what is declared, and every reason that must come back.
struct Ruled {
    law: &'static str,
    rules: fn(&mut Ruleset),
    orders: Vec<Order>,
    reasons: &'static [&'static str],
}

fn with_sight(rules: &mut Ruleset) {
    rules.attacks.compulsory = false;
    rules.sight = Some(Sight {
        units_block: true,
        bands: vec![RangeBand {
            within: Distance::new(4.0),
            strength: 1.0,
            shift: 0,
        }],
    });
}

fn free(rules: &mut Ruleset) {
    rules.attacks.compulsory = false;
}

fn as_written(_: &mut Ruleset) {}

fn fire(gun: &str, target: &str) -> Order {
    Order::Fire {
        guns: ids(&[gun]),
        target: target.into(),
    }
}

fn rulings() -> Vec<Ruled> {
    let whole = || vec![battle(&["r1"], &["b1"]), battle(&["r2"], &["b2"])];
    let ruled = |law, rules, orders, reasons| Ruled {
        law,
        rules,
        orders,
        reasons,
    };
    vec![
        ruled(
            "a whole declaration; r3's enemy is 50 mm away and it need not attack",
            as_written,
            whole(),
            &[],
        ),
        ruled(
            "nothing declared: every idle unit and every enemy left out, with distances",
            as_written,
            vec![],
            &[
                "must-attack r1 40.0/30.0 refused",
                "must-attack r2 40.0/30.0 refused",
                "must-be-attacked b1 40.0/30.0 refused",
                "must-be-attacked b2 40.0/39.8 marginal",
            ],
        ),
        ruled(
            "one enemy left out; b2 is within r2's zone by less than the tolerance",
            as_written,
            vec![battle(&["r1", "r2"], &["b1"])],
            &["must-be-attacked b2 40.0/39.8 marginal"],
        ),
        ruled(
            "support through r1: 20 mm farther than the strike zone by itself",
            as_written,
            vec![battle(&["r1", "r3"], &["b1"]), battle(&["r2"], &["b2"])],
            &[],
        ),
        ruled(
            "without support r3 is too far",
            |rules| rules.attacks.support = false,
            vec![battle(&["r1", "r3"], &["b1"]), battle(&["r2"], &["b2"])],
            &["not-in-strike-zone b1 40.0/50.0 refused"],
        ),
        ruled(
            "support needs the unit it stands behind in the same battle",
            as_written,
            vec![battle(&["r3"], &["b1"]), battle(&["r1"], &["b2"])],
            &[
                "not-in-strike-zone b1 40.0/50.0 refused",
                "not-in-strike-zone b2 40.0/44.5 refused",
                "must-attack r2 40.0/30.0 refused",
            ],
        ),
        ruled(
            "no room in the depth for a second rank: no support",
            |rules| rules.attacks.depth = 1,
            vec![battle(&["r1", "r3"], &["b1"]), battle(&["r2"], &["b2"])],
            &["not-in-strike-zone b1 40.0/50.0 refused"],
        ),
        ruled(
            "each attacker must reach each defender; 40.3 mm is within the tolerance",
            free,
            vec![battle(&["r4"], &["b3"])],
            &["not-in-strike-zone b3 40.0/40.3 marginal"],
        ),
        ruled(
            "a unit fights in one battle",
            free,
            vec![battle(&["r1"], &["b1"]), battle(&["r1"], &["b1"])],
            &[
                "attacks-twice r1 1/2 refused",
                "attacks-twice b1 1/2 refused",
            ],
        ),
        ruled(
            "named twice in one battle is in one battle, and told to be named twice",
            free,
            vec![battle(&["r1", "r1"], &["b1"])],
            &["not-possible r1 1/0 refused"],
        ),
        ruled(
            "unknown, foreign, own and strengthless units",
            free,
            vec![battle(&["r9", "b2", "rc", "r1"], &["b1", "r2", "b9"])],
            &[
                "no-such-unit r9 1/0 refused",
                "no-such-unit b9 1/0 refused",
                "not-your-unit b2 0/1 refused",
                "not-possible rc 1/0 refused",
                "not-possible r2 1/0 refused",
            ],
        ),
        ruled(
            "nobody attacks nobody",
            free,
            vec![battle(&[], &[])],
            &["not-possible - 1/0 refused", "not-possible - 1/0 refused"],
        ),
        ruled(
            "guns join: rg is 119.8 mm from b2",
            free,
            vec![bombarded(&["r2"], &["b2"], &["rg"])],
            &["out-of-range b2 80.0/119.8 refused"],
        ),
        ruled(
            "guns of longer reach join over friends",
            |rules| {
                free(rules);
                rules.attacks.bombard_range = Distance::new(3.0);
            },
            vec![bombarded(&["r2"], &["b2"], &["rg"])],
            &[],
        ),
        ruled(
            "but not where that is forbidden",
            |rules| {
                free(rules);
                rules.attacks.bombard_range = Distance::new(3.0);
                rules.attacks.bombard_over_friends = false;
            },
            vec![bombarded(&["r2"], &["b2"], &["rg"])],
            &["not-in-sight b2 119.8/60.0 refused"],
        ),
        ruled(
            "a bombardment joins a battle that others fight",
            |rules| {
                free(rules);
                rules.attacks.bombard_range = Distance::new(3.0);
            },
            vec![bombarded(&[], &["b2"], &["rg"])],
            &["no-joining-attack - 1/0 refused"],
        ),
        ruled(
            "unless it need not",
            |rules| {
                free(rules);
                rules.attacks.bombard_range = Distance::new(3.0);
                rules.attacks.bombard_joins_only = false;
            },
            vec![bombarded(&[], &["b2"], &["rg"])],
            &[],
        ),
        ruled(
            "and even then not against a commander alone",
            |rules| {
                free(rules);
                rules.attacks.bombard_range = Distance::new(15.0);
                rules.attacks.bombard_joins_only = false;
            },
            vec![bombarded(&[], &["bc"], &["rg"])],
            &["not-possible - 1/0 refused"],
        ),
        ruled(
            "though a commander among others is one",
            |rules| {
                free(rules);
                rules.attacks.bombard_range = Distance::new(15.0);
                rules.attacks.bombard_joins_only = false;
            },
            vec![bombarded(&[], &["b2", "bc"], &["rg"])],
            &[],
        ),
        ruled(
            "foot are no guns",
            free,
            vec![bombarded(&["r2"], &["b2"], &["r1"])],
            &["not-a-gun r1 1/0 refused"],
        ),
        ruled(
            "gun fire needs its law",
            free,
            vec![fire("rg", "b2")],
            &["not-possible - 1/0 refused"],
        ),
        ruled(
            "gun fire is stopped by units in the way",
            with_sight,
            vec![fire("rg", "b2")],
            &["not-in-sight b2 119.8/60.0 refused"],
        ),
        ruled(
            "gun fire reaches to the last band",
            with_sight,
            vec![fire("rg", "b3")],
            &["out-of-range b3 160.0/323.2 refused"],
        ),
        ruled(
            "only an attacker follows up",
            free,
            vec![Order::Battle {
                attackers: ids(&["r1"]),
                defenders: ids(&["b1"]),
                guns: vec![],
                follow_up: Some("r2".into()),
            }],
            &["not-possible r2 1/0 refused"],
        ),
        ruled(
            "an army broken by what it lost need not attack, nor may it bombard",
            |rules| {
                rules.breaking = Some(Breaking {
                    at_share: 0.0,
                    then: Broken::NoAttacks,
                });
                rules.attacks.bombard_range = Distance::new(3.0);
            },
            vec![bombarded(&["r2"], &["b2"], &["rg"])],
            &["not-possible - 0/0 refused"],
        ),
    ]
}

/// The first reason of a declaration in words.
fn said(rules: fn(&mut Ruleset), units: Vec<crate::scenario::UnitEntry>, order: Order) -> String {
    let mut changed = super::super::testing::rules();
    free(&mut changed);
    rules(&mut changed);
    let (battles, _) = attacks::judge(&game(changed, units), &sheet(vec![order]));
    battles[0].reasons[0].text()
}

#[test]
fn what_is_wrong_with_who_is_named_is_said() {
    let twice = said(as_written, table(), battle(&["r1", "r1"], &["b1"]));
    assert!(twice.contains("r1 is named twice in this order"), "{twice}");
    let foot = said(with_sight, table(), fire("r1", "b1"));
    assert!(
        foot.contains("no gun unit, and only guns fire or bombard"),
        "{foot}"
    );
}

/// Support that fails by a hair is told with the hair.
#[test]
fn support_that_fails_by_a_hair_is_named() {
    let moved = |x_mm: f64, y_mm: f64| {
        let mut units = table();
        units.retain(|unit| unit.id != "r3");
        units.push(pair("r3", "foot", (x_mm, y_mm, 0.0)));
        said(as_written, units, battle(&["r1", "r3"], &["b1"]))
    };
    // r1's rear is at 480: 0.9 mm behind it is not touching it
    let apart = moved(460.0, 479.1);
    assert!(apart.contains("it stands 0.9 mm behind r1"), "{apart}");
    // both fronts are 80 mm: 39 mm of it, where half is 40
    let beside = moved(501.0, 480.0);
    assert!(
        beside.contains("39.0 mm of its front edge are behind r1") && beside.contains("40.0 mm"),
        "{beside}"
    );
    // far off, nobody speaks of support
    let far = moved(460.0, 440.0);
    assert!(!far.contains("support"), "{far}");
    let full = said(
        |rules| rules.attacks.depth = 1,
        table(),
        battle(&["r1", "r3"], &["b1"]),
    );
    assert!(
        full.contains("1 bases at most count behind one another"),
        "{full}"
    );
}

/// A second gun that fires at the same target joins the first in what is offered instead; it is not dropped.
#[test]
fn what_is_offered_keeps_the_second_fire() {
    let mut rules = rules();
    with_sight(&mut rules);
    let units = vec![
        block("rg", "guns", (1, 1), (500.0, 400.0, 0.0)),
        block("rh", "guns", (1, 1), (580.0, 400.0, 0.0)),
        pair("b1", "foot", (540.0, 520.0, 180.0)),
        pair("b2", "foot", (640.0, 520.0, 180.0)),
    ];
    let game = game(rules, units);
    let completion = |orders| crate::referee::judge_sheet(&game, &sheet(orders)).completion;
    let both = Order::Fire {
        guns: ids(&["rg", "rh"]),
        target: "b1".into(),
    };
    assert_eq!(answers(&game, vec![fire("rg", "b1")]), [""; 0]);
    assert_eq!(
        completion(vec![fire("rg", "b1"), fire("rh", "b1")]),
        Some(vec![both])
    );
    // one gun fires once: what it was told first stays
    let twice = vec![fire("rg", "b1"), fire("rg", "b2")];
    assert_eq!(completion(twice), Some(vec![fire("rg", "b1")]));
}

#[test]
fn declarations_are_ruled_on() {
    for ruled in rulings() {
        let mut rules = rules();
        (ruled.rules)(&mut rules);
        let found = answers(&game(rules, table()), ruled.orders);
        assert_eq!(found, ruled.reasons, "{}", ruled.law);
    }
}

#[test]
fn guns_in_a_strike_zone_do_not_bombard() {
    let mut units = table();
    units.push(pair("b9", "foot", (540.0, 350.0, 0.0)));
    let mut rules = rules();
    free(&mut rules);
    rules.attacks.bombard_range = Distance::new(3.0);
    let found = answers(
        &game(rules, units),
        vec![bombarded(&["r2"], &["b2"], &["rg"])],
    );
    // rg's rear edge is at y = 400, b9's front at 350: 50 mm; moved up to 370 it is 30
    assert_eq!(found, [""; 0]);
    let mut units = table();
    units.push(pair("b9", "foot", (540.0, 370.0, 0.0)));
    let mut rules = crate::referee::testing::rules();
    free(&mut rules);
    rules.attacks.bombard_range = Distance::new(3.0);
    let found = answers(
        &game(rules, units),
        vec![bombarded(&["r2"], &["b2"], &["rg"])],
    );
    assert_eq!(found, ["gun-in-zone b9 40.0/30.0 refused"]);
}

#[test]
fn guns_may_be_held_to_the_duty_too() {
    let units = vec![
        pair("rg", "guns", (500.0, 500.0, 0.0)),
        pair("b1", "foot", (500.0, 520.0, 180.0)),
    ];
    assert_eq!(answers(&game(rules(), units.clone()), vec![]), [""; 0]);
    let mut strict = rules();
    strict.attacks.guns_excepted = false;
    assert_eq!(
        answers(&game(strict, units), vec![]),
        [
            "must-attack rg 40.0/20.0 refused",
            "must-be-attacked b1 40.0/20.0 refused"
        ]
    );
}

#[test]
fn a_unit_behind_an_attacked_one_is_attacked_with_it() {
    // b2 stands behind b1 and within the strike zone itself; naming b1 is enough
    let units = vec![
        pair("r1", "foot", (500.0, 500.0, 0.0)),
        pair("b1", "foot", (500.0, 510.0, 180.0)),
        pair("b2", "foot", (500.0, 530.0, 180.0)),
    ];
    let game = game(rules(), units);
    assert_eq!(answers(&game, vec![battle(&["r1"], &["b1"])]), [""; 0]);
    let (battles, _) = attacks::judge(&game, &sheet(vec![battle(&["r1"], &["b1"])]));
    let odds = battles[0].odds.as_ref().expect("odds");
    assert_eq!((odds.attack, odds.defence), (2.0, 4.0));
    assert_eq!(odds.column, "1:2");
}

#[test]
fn a_declaration_is_completed() {
    let game = game(rules(), table());
    for started in [
        vec![],
        vec![battle(&["r1", "r2"], &["b1"])],
        vec![battle(&["r1", "r3", "r9"], &["b2", "b1"])],
        vec![
            bombarded(&["r2"], &["b1"], &["rg"]),
            battle(&["r2"], &["b2"]),
        ],
    ] {
        let orders = attacks::completion(&game, &sheet(started)).expect("completed");
        let (battles, duties) = attacks::judge(&game, &sheet(orders.clone()));
        assert!(
            battles
                .iter()
                .all(|battle| battle.verdict != Ruling::Refused),
            "{orders:?}"
        );
        assert!(
            duties.iter().all(|duty| duty.ruling() != Ruling::Refused),
            "{orders:?}"
        );
    }
}

/// Guns without leave to fire over friends do so from or to high ground, where only friends as high stop a string: as
/// gun fire does.
#[test]
fn a_bombardment_from_high_ground_passes_over_friends_below() {
    let mut ruleset = rules();
    free(&mut ruleset);
    ruleset.attacks.bombard_over_friends = false;
    ruleset.attacks.bombard_range = Distance::new(3.0);
    let order = || vec![bombarded(&["r2"], &["b2"], &["rg"])];
    let hill = |low_y: f64, high_y: f64| {
        let kind = TerrainKind {
            high: true,
            ..TerrainKind::default()
        };
        ground(
            vec![patch("ridge", kind, (480.0, low_y), (600.0, high_y))],
            vec![],
        )
    };
    let on = |hill| game_on(ruleset.clone(), scenario(table()), hill);
    let stopped = ["not-in-sight b2 119.8/60.0 refused"];
    assert_eq!(answers(&on(bare_ground()), order()), stopped);
    assert_eq!(answers(&on(hill(380.0, 440.0)), order()), [""; 0]);
    assert_eq!(answers(&on(hill(380.0, 520.0)), order()), stopped);
}

/// What is offered keeps a battle whose guns cannot fire, without them.
#[test]
fn a_completion_leaves_out_guns_that_cannot_fire() {
    let mut ruleset = rules();
    free(&mut ruleset);
    ruleset.attacks.bombard_over_friends = false;
    ruleset.attacks.bombard_range = Distance::new(3.0);
    let game = game(ruleset, table());
    let started = vec![bombarded(&["r2"], &["b2"], &["rg"]), fire("rg", "b3")];
    let orders = attacks::completion(&game, &sheet(started)).expect("completed");
    assert_eq!(orders, [battle(&["r2"], &["b2"])]);
}

#[test]
fn sentences_read_well() {
    let game = game(rules(), table());
    let (_, duties) = attacks::judge(&game, &sheet(vec![]));
    let said: Vec<String> = duties.iter().map(Reason::text).collect();
    insta::assert_snapshot!(said.join("\n"));
}
