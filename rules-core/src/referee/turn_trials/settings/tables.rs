//! The small tables that the settings are asked on, and the questions.

use crate::game::{Event, Game, Ground};
use crate::orders::{Extent, Hand, Instructions, Leg, Order};
use crate::referee::battles::fight;
use crate::referee::testing::{
    always, bare_ground, battle, block, game_on, ids, pair, scenario, sheet, throws,
};
use crate::referee::{attacks, judge_sheet, strength};
use crate::ruleset::{Distance, Fate, Outcome, RangeBand, Ruleset, Sight};
use crate::scenario::UnitEntry;

use crate::referee::turn_trials::answer;

/// `r1`, a pair of foot, marches from (600, 600) northward; whatever else stands about.
pub(super) fn marches(
    rules: Ruleset,
    ground: Ground,
    mut others: Vec<UnitEntry>,
    legs: &[Leg],
) -> String {
    others.push(pair("r1", "foot", (600.0, 600.0, 0.0)));
    if !others.iter().any(|unit| unit.side == "blue") {
        others.push(pair("b9", "foot", (100.0, 1150.0, 180.0)));
    }
    let order = Order::Move {
        unit: "r1".into(),
        legs: legs.to_vec(),
    };
    let found = answer(&game_on(rules, scenario(others), ground), order);
    let parts: Vec<&str> = found.split("; ").collect();
    format!("{} at {}", parts[0], parts[1])
}

pub(super) fn alone(rules: Ruleset, legs: &[Leg]) -> String {
    marches(rules, bare_ground(), vec![], legs)
}

/// An enemy pair so far ahead that faces the mover.
pub(super) fn facing(gap_mm: f64) -> Vec<UnitEntry> {
    vec![pair("b1", "foot", (600.0, 600.0 + gap_mm, 180.0))]
}

pub(super) fn sidestep(distance_mm: f64) -> Leg {
    Leg::Sidestep {
        side: Hand::Right,
        distance_mm: Extent::Exactly(distance_mm),
    }
}

pub(super) fn oblique(angle_deg: f64) -> Leg {
    Leg::Oblique {
        side: Hand::Right,
        angle_deg,
        distance_mm: Extent::Exactly(60.0),
    }
}

pub(super) fn wheel(angle_deg: f64) -> Leg {
    Leg::Wheel {
        side: Hand::Right,
        angle_deg: Extent::Exactly(angle_deg),
    }
}

pub(super) fn align(angle_deg: f64) -> Leg {
    Leg::Align {
        side: Hand::Right,
        angle_deg,
    }
}

/// What is wrong with a declaration, as codes with the units they name; "fine" if nothing is.
pub(super) fn declared(rules: Ruleset, units: Vec<UnitEntry>, orders: Vec<Order>) -> String {
    let game = game_on(rules, scenario(units), bare_ground());
    let (battles, duties) = attacks::judge(&game, &sheet(orders));
    let reasons = battles.iter().flat_map(|battle| &battle.reasons);
    let told: Vec<String> = reasons
        .chain(&duties)
        .map(|reason| {
            format!(
                "{} {}",
                reason.code().as_str(),
                reason.other().unwrap_or("-")
            )
        })
        .collect();
    if told.is_empty() {
        "fine".to_owned()
    } else {
        told.join(", ")
    }
}

/// `attack:defence column` of a battle.
pub(super) fn weighed(
    rules: Ruleset,
    ground: Ground,
    units: Vec<UnitEntry>,
    order: &Order,
) -> String {
    let game = game_on(rules, scenario(units), ground);
    let odds = strength::preview(&game, order).expect("a battle");
    format!("{}:{} {}", odds.attack, odds.defence, odds.column)
}

/// Red's foot pair `r1` at (500, 500) facing blue's `b1` 10 mm off.
pub(super) fn in_contact() -> Vec<UnitEntry> {
    vec![
        pair("r1", "foot", (500.0, 500.0, 0.0)),
        pair("b1", "foot", (500.0, 510.0, 180.0)),
    ]
}

pub(super) fn fought(game: &mut Game, order: Order) -> Vec<Event> {
    fight(
        game,
        &sheet(vec![order]),
        &Instructions::default(),
        &mut throws(22),
    )
    .events
}

/// Where both sides of a battle between `r1` and `b1` are after it, with their bases.
pub(super) fn after(rules: Ruleset, units: Vec<UnitEntry>, order: Order) -> String {
    let mut game = game_on(rules, scenario(units), bare_ground());
    fought(&mut game, order);
    let told = |id: &str| {
        let unit = game.unit(&id.into()).expect("a unit");
        match unit.pose() {
            Some(pose) => format!(
                "{id} {:.0} {:.0} × {}",
                pose.x_mm(),
                pose.y_mm(),
                unit.bases
            ),
            None => format!("{id} gone"),
        }
    };
    format!("{}, {}", told("r1"), told("b1"))
}

pub(super) fn falls_back(base_widths: f64) -> Fate {
    Fate {
        falls_back: Some(Distance::new(base_widths)),
        ..Fate::default()
    }
}

pub(super) fn defender(rules: &mut Ruleset, fate: Fate) {
    rules.results = always(Outcome {
        defender: fate,
        ..Outcome::default()
    });
}

pub(super) fn attacker(rules: &mut Ruleset, fate: Fate) {
    rules.results = always(Outcome {
        attacker: fate,
        ..Outcome::default()
    });
}

pub(super) fn one_fight() -> Order {
    battle(&["r1"], &["b1"])
}

pub(super) fn general(x_mm: f64) -> UnitEntry {
    block("r9", "general", (1, 1), (x_mm, 600.0, 0.0))
}

/// Guns 60 mm from `b1`, their own friend `r1` between them and touching nobody.
pub(super) fn guns_behind() -> Vec<UnitEntry> {
    vec![
        pair("r1", "foot", (500.0, 500.0, 0.0)),
        pair("rg", "guns", (500.0, 460.0, 0.0)),
        pair("b1", "foot", (500.0, 520.0, 180.0)),
    ]
}

/// Whether guns at (600, 200) may fire at foot whose near edge is 300 mm north of them.
pub(super) fn fires(mut rules: Ruleset, ground: Ground, mut others: Vec<UnitEntry>) -> String {
    if rules.sight.is_none() {
        rules.sight = Some(sight(vec![band(20.0, 1.0, 0)]));
    }
    others.push(block("rg", "guns", (1, 1), (600.0, 200.0, 0.0)));
    others.push(block("b1", "foot", (1, 1), (600.0, 500.0, 180.0)));
    let game = game_on(rules, scenario(others), ground);
    let verdict = judge_sheet(&game, &sheet(vec![shot()]));
    let reasons = &verdict.battles[0].reasons;
    reasons.first().map_or("in sight".to_owned(), |reason| {
        reason.code().as_str().to_owned()
    })
}

pub(super) fn shot() -> Order {
    Order::Fire {
        guns: ids(&["rg"]),
        target: "b1".into(),
    }
}

pub(super) fn sight(bands: Vec<RangeBand>) -> Sight {
    Sight {
        units_block: true,
        bands,
    }
}

pub(super) fn band(within: f64, strength: f64, shift: i32) -> RangeBand {
    RangeBand {
        within: Distance::new(within),
        strength,
        shift,
    }
}
