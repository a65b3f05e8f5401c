//! How much a turn sheet may hold: what its side's units can do, and nothing that would only keep the referee busy.
//!
//! A unit moves, arrives or withdraws once, leaves once, gives way to one side and fights or fires once: four orders. Every
//! figure here is far above what a player writes; what is beyond is told before anything is judged.

use std::fmt;

use serde::Serialize;

use super::{Leg, Order, TurnSheet};

/// Orders of a sheet for each unit of its side: a move, a departure, a way to give ground, a battle.
const ORDERS_A_UNIT: usize = 4;
/// Legs of one order, and of a sheet for each unit of its side.
const LEGS_A_UNIT: usize = 60;
/// Names in one order: a body that moves as one, or everybody in one battle. Each attacker is measured to each defender.
const NAMES_OF_ORDER: usize = 64;
/// Names in a sheet for each unit in the battle: each of its own unit's four orders, and what others attack and fire at.
const NAMES_A_UNIT: usize = 6;

/// The most that a sheet may hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SheetBounds {
    /// Orders.
    pub orders: usize,
    /// Legs of one order.
    pub legs_of_order: usize,
    /// Legs of all orders.
    pub legs: usize,
    /// Units that one order names, each time it names one.
    pub names_of_order: usize,
    /// Units that all orders name.
    pub names: usize,
}

/// What there may be too much of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Bounded {
    /// Orders of the sheet.
    Orders,
    /// Legs.
    Legs,
    /// Names of units.
    Names,
}

/// More in a sheet than it may hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Excess {
    /// The order that holds it, counted from 0; none: all of them together.
    pub order: Option<usize>,
    /// What there is too much of.
    pub of: Bounded,
    /// How much there is.
    pub held: usize,
    /// The most there may be.
    pub most: usize,
}

impl SheetBounds {
    /// The bounds of every sheet, whatever the battle.
    pub const ANY: Self = Self {
        orders: 2_000,
        legs_of_order: LEGS_A_UNIT,
        legs: 10_000,
        names_of_order: NAMES_OF_ORDER,
        names: 10_000,
    };

    /// The bounds of a side of so many units, in a battle of so many of both sides; who has fallen or is yet to come
    /// is counted.
    #[must_use]
    pub fn of_units(of_side: usize, of_battle: usize) -> Self {
        let (own, all) = (of_side.max(1), of_battle.max(1));
        Self {
            orders: Self::ANY.orders.min(own.saturating_mul(ORDERS_A_UNIT)),
            legs_of_order: Self::ANY.legs_of_order,
            legs: Self::ANY.legs.min(own.saturating_mul(LEGS_A_UNIT)),
            names_of_order: Self::ANY.names_of_order.min(all),
            names: Self::ANY.names.min(all.saturating_mul(NAMES_A_UNIT)),
        }
    }

    /// Holds a sheet against these bounds.
    ///
    /// # Errors
    /// What it holds too much of: the sheet's orders, else each order by itself, else all together.
    pub fn check(&self, sheet: &TurnSheet) -> Result<(), Vec<Excess>> {
        let over = |order, of, held, most| {
            (held > most).then_some(Excess {
                order,
                of,
                held,
                most,
            })
        };
        let held = sheet.orders.len();
        if let Some(excess) = over(None, Bounded::Orders, held, self.orders) {
            return Err(vec![excess]);
        }
        let (mut legs, mut names, mut found) = (0, 0, Vec::new());
        for (index, order) in sheet.orders.iter().enumerate() {
            legs += order.legs().len();
            names += order.names();
            let at = Some(index);
            let (of_legs, of_names) = (order.legs().len(), order.names());
            found.extend(over(at, Bounded::Legs, of_legs, self.legs_of_order));
            found.extend(over(at, Bounded::Names, of_names, self.names_of_order));
        }
        if found.is_empty() {
            found.extend(over(None, Bounded::Legs, legs, self.legs));
            found.extend(over(None, Bounded::Names, names, self.names));
        }
        if found.is_empty() { Ok(()) } else { Err(found) }
    }
}

impl Order {
    /// The legs of a move.
    #[must_use]
    pub fn legs(&self) -> &[Leg] {
        match self {
            Self::Move { legs, .. }
            | Self::MoveTogether { legs, .. }
            | Self::Arrive { legs, .. }
            | Self::Withdraw { legs, .. } => legs,
            Self::Leave { .. } | Self::Battle { .. } | Self::Fire { .. } | Self::GiveWay { .. } => {
                &[]
            }
        }
    }

    /// How many units the order names, each time it names one.
    #[must_use]
    pub fn names(&self) -> usize {
        match self {
            Self::Move { .. }
            | Self::Arrive { .. }
            | Self::Withdraw { .. }
            | Self::Leave { .. }
            | Self::GiveWay { .. } => 1,
            Self::MoveTogether { units, .. } => units.len(),
            // whoever follows up is one of the attackers, named once more
            Self::Battle {
                attackers,
                defenders,
                guns,
                ..
            } => attackers.len() + defenders.len() + guns.len(),
            Self::Fire { guns, .. } => guns.len() + 1,
        }
    }
}

impl Bounded {
    fn word(self) -> &'static str {
        match self {
            Self::Orders => "orders",
            Self::Legs => "legs",
            Self::Names => "names of units",
        }
    }
}

impl fmt::Display for Excess {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { held, most, of, .. } = self;
        let of = of.word();
        match self.order {
            Some(order) => write!(
                f,
                "order {} of the sheet has {held} {of}, and an order of this side has at most {most}",
                order + 1
            ),
            None => write!(
                f,
                "the sheet has {held} {of}, and one of this side has at most {most}"
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::orders::{SideId, UnitId};

    fn sheet(orders: Vec<Order>) -> TurnSheet {
        TurnSheet {
            game_turn: 1,
            side: SideId::from("red"),
            orders,
        }
    }

    fn leave(unit: usize) -> Order {
        let unit = UnitId(format!("red-{unit}"));
        Order::Leave { unit }
    }

    fn moves(legs: usize) -> Order {
        Order::Move {
            unit: UnitId::from("red-1"),
            legs: vec![Leg::About; legs],
        }
    }

    fn fire(guns: usize) -> Order {
        Order::Fire {
            guns: vec![UnitId::from("red-1"); guns],
            target: UnitId::from("blue-1"),
        }
    }

    fn told(bounds: &SheetBounds, orders: Vec<Order>) -> Vec<String> {
        let found = bounds.check(&sheet(orders)).expect_err("too much");
        found.iter().map(Excess::to_string).collect()
    }

    #[test]
    fn a_sheet_holds_what_its_units_can_do_and_one_more_is_told() {
        let bounds = SheetBounds::of_units(3, 5);
        let whole = (0..12).map(leave).collect();
        assert_eq!(bounds.check(&sheet(whole)), Ok(()));
        assert_eq!(
            told(&bounds, (0..13).map(leave).collect()),
            ["the sheet has 13 orders, and one of this side has at most 12"]
        );
        assert_eq!(bounds.check(&sheet(vec![moves(60); 3])), Ok(()));
        assert_eq!(
            told(&bounds, vec![leave(1), moves(61)]),
            ["order 2 of the sheet has 61 legs, and an order of this side has at most 60"]
        );
        assert_eq!(
            told(&bounds, vec![moves(60), moves(60), moves(60), moves(1)]),
            ["the sheet has 181 legs, and one of this side has at most 180"]
        );
        assert_eq!(bounds.check(&sheet(vec![fire(4)])), Ok(()));
        assert_eq!(
            told(&bounds, vec![fire(5), leave(1), fire(9)]),
            [
                "order 1 of the sheet has 6 names of units, and an order of this side has at most 5",
                "order 3 of the sheet has 10 names of units, and an order of this side has at most 5"
            ]
        );
        assert_eq!(
            told(&bounds, vec![fire(4); 7]),
            ["the sheet has 35 names of units, and one of this side has at most 30"]
        );
    }

    #[test]
    fn however_many_units_there_are_a_sheet_has_an_end() {
        assert_eq!(
            SheetBounds::of_units(1_000_000, 2_000_000),
            SheetBounds::ANY
        );
        assert_eq!(SheetBounds::of_units(0, 0), SheetBounds::of_units(1, 1));
    }
}
