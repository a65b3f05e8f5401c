//! Orders by a verb that begins no leg: arriving, breaking contact, leaving, giving way.

use super::battles;
use super::cursor::Cursor;
use super::fault::Problem;
use super::measure;
use super::moves::legs_after;
use super::parts::hand;
use super::roster::Roster;
use super::subject::{Subject, nobody};
use super::tokens::Token;
use super::words::Deed;
use crate::game::State;
use crate::orders::{Extent, Leg, Order, UnitId, print};
use crate::scenario::Edge;

/// An order by a verb that begins no leg.
pub(super) fn deeds(
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
    subject: &Subject,
    deed: Deed,
    from: usize,
) -> Result<Vec<Order>, Problem> {
    let units = subject.units.clone();
    match deed {
        Deed::Attack => return Ok(vec![battles::battle(cursor, roster, units)?]),
        Deed::Fire => {
            let fire = battles::fire(cursor, roster, units)?;
            return Ok(vec![fire]);
        }
        _ => {}
    }
    let here = cursor.at();
    let mut orders = Vec::new();
    if units.is_empty() {
        return Err(nobody(cursor));
    }
    for unit in units {
        cursor.stand_at(here);
        orders.push(of_one(cursor, roster, unit, deed, from)?);
    }
    Ok(orders)
}

fn of_one(
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
    unit: UnitId,
    deed: Deed,
    from: usize,
) -> Result<Order, Problem> {
    match deed {
        Deed::Arrive => arrive(cursor, roster, unit),
        Deed::Withdraw => withdraw(cursor, roster, unit),
        Deed::Leave => {
            let _ = cursor.word(&["the"]);
            let _ = cursor.word(&["table", "field", "board"]);
            cursor.done("a unit that leaves does nothing else; move it on another line before")?;
            Ok(Order::Leave { unit })
        }
        Deed::Give => give_way(cursor, unit),
        Deed::Follow | Deed::Attack | Deed::Fire => Err(Problem::new(
            cursor.since(from),
            "following up is ordered with the attack",
            format!("end the attack's line with \"; {unit} follows up\""),
        )),
    }
}

fn arrive(cursor: &mut Cursor<'_>, roster: &Roster<'_>, unit: UnitId) -> Result<Order, Problem> {
    let edge = edge_of(roster, &unit);
    let is_edge = |token: &Token<'_>| edge.is_some_and(|(name, _)| token.is_word(&[name]));
    loop {
        let names_edge = cursor.peek().is_some_and(is_edge);
        cursor.advance(usize::from(names_edge));
        if !names_edge
            && !cursor.word(&[
                "at", "table", "the", "on", "edge", "its", "onto", "over", "from",
            ])
        {
            break;
        }
    }
    let along_mm = measure::distance_mm(cursor, &roster.game.ruleset().scale)?;
    measure::refuse_unknown_unit(cursor)?;
    let _ = cursor.words(&[&["along", "of", "on"], &["its", "the", "their"], &["edge"]]);
    if let Some((_, end)) = edge
        && cursor.has(&[&["from"], &["the"], &[end]])
    {
        cursor.advance(3);
        let _ = cursor.word(&["end", "edge", "corner", "side"]);
    }
    let legs = legs_after(cursor, roster, &unit)?;
    Ok(Order::Arrive {
        unit,
        along_mm,
        legs,
    })
}

/// The edge that a unit which waits comes on over, and the end of it that is measured from.
fn edge_of(roster: &Roster<'_>, unit: &UnitId) -> Option<(&'static str, &'static str)> {
    let State::Waiting(arrival) = &roster.game.unit(unit)?.state else {
        return None;
    };
    Some(match arrival.edge {
        Edge::North => ("north", "west"),
        Edge::South => ("south", "west"),
        Edge::East => ("east", "south"),
        Edge::West => ("west", "south"),
    })
}

/// Breaking contact, and then legs. A distance alone could be a leg back and no breaking of contact.
fn withdraw(cursor: &mut Cursor<'_>, roster: &Roster<'_>, unit: UnitId) -> Result<Order, Problem> {
    let mut ahead = cursor.ahead(0);
    let from = ahead.at();
    while ahead.word(&["by", "for"]) {}
    if let Some(measure) = measure::measure(&mut ahead)?
        && ahead.is_at_end()
    {
        let distance_mm = Extent::Exactly(measure.distance_mm(&roster.game.ruleset().scale)?);
        let legs = vec![Leg::Back { distance_mm }];
        let withdraws = Order::Withdraw {
            unit: unit.clone(),
            legs: legs.clone(),
        };
        let readings = [withdraws, Order::Move { unit, legs }];
        return Err(Problem::asked(
            ahead.since(from),
            "withdrawing is breaking contact at a price; a step back is not",
            readings.iter().map(print::order).collect(),
        ));
    }
    let legs = legs_after(cursor, roster, &unit)?;
    Ok(Order::Withdraw { unit, legs })
}

fn give_way(cursor: &mut Cursor<'_>, unit: UnitId) -> Result<Order, Problem> {
    let advice = "write \"gives way left\" or \"gives way right\"";
    if !cursor.word(&["way", "ground"]) {
        return Err(cursor.expected("\"way\"", advice));
    }
    while cursor.word(&["to", "the", "its", "their", "on"]) {}
    let side = hand(cursor).ok_or_else(|| cursor.expected("left or right", advice))?;
    let _ = cursor.word(&["first"]);
    cursor.done(advice)?;
    Ok(Order::GiveWay { unit, side })
}
