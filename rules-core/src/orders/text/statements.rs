//! Reading one order.

use super::cursor::Cursor;
use super::fault::Problem;
use super::legs::{self, begins_leg, legs};
use super::measure;
use super::roster::{Roster, Whose};
use super::tokens::{Kind, Token};
use super::words::{
    self, ARRIVE, ATTACK, FIRE, FOLLOW, GIVE, GUNS, LEAVE, NOBODY, TOGETHER, WITH, WITHDRAW,
};
use crate::orders::{Order, UnitId};

const ORDER_ADVICE: &str = "give it legs, as in \"red-1: forward 80 mm\", or say that it arrives at, withdraws, leaves, \
     attacks, fires at or gives way";

/// Reads the order of a whole line.
pub(super) fn order(cursor: &mut Cursor<'_>, roster: &Roster<'_>) -> Result<Order, Problem> {
    if cursor.word(TOGETHER) {
        return together(cursor, roster);
    }
    let from = cursor.at();
    let units = list(cursor, roster, Whose::Own)?;
    if cursor.word(ATTACK) {
        return battle(cursor, roster, units);
    }
    if cursor.word(FIRE) {
        return fire(cursor, roster, units);
    }
    let [unit] = <[UnitId; 1]>::try_from(units).map_err(|_| {
        Problem::new(
            cursor.since(from),
            "an order of several units must say how they act as one",
            "write \"together …: wheel left 15°\" to move as one body, \"… attack …\" or \"… fire at …\", \
             or give each unit its own line",
        )
    })?;
    of_one(cursor, roster, unit)
}

/// Reads the order of one unit, from its verb on.
fn of_one(cursor: &mut Cursor<'_>, roster: &Roster<'_>, unit: UnitId) -> Result<Order, Problem> {
    let frontage = roster.frontage(&unit);
    if cursor.word(ARRIVE) {
        let _ = cursor.word(&["at"]);
        let along_mm = measure::distance_mm(cursor, &roster.game.ruleset().scale)?;
        measure::refuse_unknown_unit(cursor)?;
        let legs = legs_after(cursor, roster, frontage)?;
        return Ok(Order::Arrive {
            unit,
            along_mm,
            legs,
        });
    }
    if cursor.word(WITHDRAW) {
        let legs = legs_after(cursor, roster, frontage)?;
        return Ok(Order::Withdraw { unit, legs });
    }
    if cursor.word(LEAVE) {
        let _ = cursor.word(&["the"]);
        let _ = cursor.word(&["table"]);
        cursor.done("a unit that leaves does nothing else; move it on another line before")?;
        return Ok(Order::Leave { unit });
    }
    if cursor.word(GIVE) {
        return give_way(cursor, unit);
    }
    if cursor.peek().is_some_and(|token| token.is_word(FOLLOW)) {
        return Err(Problem::new(
            cursor.here(),
            "following up is ordered with the attack",
            format!("end the attack's line with \"; {unit} follows up\""),
        ));
    }
    if colon(cursor) || cursor.peek().is_some_and(begins_leg) {
        let legs = legs(cursor, roster.game, frontage)?;
        return Ok(Order::Move { unit, legs });
    }
    let typed = cursor.peek().map_or("", |token| token.text);
    let verbs = [
        "arrives",
        "withdraws",
        "leaves",
        "attacks",
        "fires",
        "gives",
        "forward",
        "wheel",
        "sidestep",
    ];
    let near = words::suggestion(typed, verbs);
    Err(cursor.expected(
        "a colon and legs, or a verb",
        format!("{ORDER_ADVICE}{near}"),
    ))
}

/// A colon, or a comma in its place before a leg.
fn colon(cursor: &mut Cursor<'_>) -> bool {
    cursor.mark(":") || {
        let leg_follows = cursor.rest().get(1).is_some_and(begins_leg);
        leg_follows && cursor.mark(",")
    }
}

/// Legs that may follow, after a colon, a comma or `then`.
fn legs_after(
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
    frontage: legs::Frontage,
) -> Result<Vec<crate::orders::Leg>, Problem> {
    if cursor.is_at_end() {
        return Ok(Vec::new());
    }
    let _ = cursor.mark(":") || cursor.mark(",") || cursor.mark(";");
    let _ = cursor.word(&["then", "and"]);
    legs(cursor, roster.game, frontage)
}

fn together(cursor: &mut Cursor<'_>, roster: &Roster<'_>) -> Result<Order, Problem> {
    let units = list(cursor, roster, Whose::Own)?;
    if !colon(cursor) && !cursor.peek().is_some_and(begins_leg) {
        let remedy = "write \"together red-1, red-2: wheel left 15°\"";
        return Err(cursor.expected("a colon and legs", remedy));
    }
    let legs = legs(cursor, roster.game, None)?;
    Ok(Order::MoveTogether { units, legs })
}

fn battle(
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
    attackers: Vec<UnitId>,
) -> Result<Order, Problem> {
    let mut defenders = list(cursor, roster, Whose::Enemy)?;
    let (mut guns, mut follow_up) = (Vec::new(), None);
    // "attacks red-2, blue-3 follows up" reads as a list whose last member follows up
    if defenders.len() > 1 && cursor.word(FOLLOW) {
        up(cursor)?;
        follow_up = defenders.pop();
    }
    while !cursor.is_at_end() {
        let parted = cursor.mark(";") || cursor.mark(",");
        if guns.is_empty() && cursor.word(WITH) {
            skip_guns(cursor, roster);
            guns = list(cursor, roster, Whose::Own)?;
        } else if parted && follow_up.is_none() {
            follow_up = Some(roster.unit(cursor, Whose::Own)?);
            if !cursor.word(FOLLOW) {
                let remedy = "write \"; unit follows up\"";
                return Err(cursor.expected("\"follows up\"", remedy));
            }
            up(cursor)?;
        } else {
            cursor.done(
                "after the units attacked may come \"with guns …\" and \"; … follows up\", once each",
            )?;
        }
    }
    Ok(Order::Battle {
        attackers,
        defenders,
        guns,
        follow_up,
    })
}

/// Takes the `guns` of `with guns`. Where a unit comes after it, it is that word, whoever is called
/// so; else it is the unit of that name, if there is one.
fn skip_guns(cursor: &mut Cursor<'_>, roster: &Roster<'_>) {
    let rest = cursor.rest();
    let may_name = |token: &Token<'_>| match token.kind {
        Kind::Exact => true,
        Kind::Word => token.is_word(GUNS) || !words::is_reserved(token.text),
        Kind::Mark => false,
    };
    let words_named = roster.words_named(rest);
    let is_word = match rest.get(1) {
        // "Gun Park" written in full is that unit, unless there is a "Park" as well
        Some(after) if may_name(after) => words_named < 2 || roster.words_named(&rest[1..]) > 0,
        _ => words_named == 0,
    };
    if is_word {
        let _ = cursor.word(GUNS);
    }
}

fn up(cursor: &mut Cursor<'_>) -> Result<(), Problem> {
    if cursor.word(&["up"]) {
        return Ok(());
    }
    Err(cursor.expected("\"up\"", "write \"follows up\""))
}

fn fire(cursor: &mut Cursor<'_>, roster: &Roster<'_>, guns: Vec<UnitId>) -> Result<Order, Problem> {
    let _ = cursor.word(&["at", "on"]);
    let target = roster.unit(cursor, Whose::Enemy)?;
    cursor.done("guns that fire alone have one target; write one line for each")?;
    Ok(Order::Fire { guns, target })
}

fn give_way(cursor: &mut Cursor<'_>, unit: UnitId) -> Result<Order, Problem> {
    let advice = "write \"gives way left\" or \"gives way right\"";
    if !cursor.word(&["way", "ground"]) {
        return Err(cursor.expected("\"way\"", advice));
    }
    let _ = cursor.word(&["to"]);
    let _ = cursor.word(&["the"]);
    let side = legs::hand(cursor).ok_or_else(|| cursor.expected("left or right", advice))?;
    cursor.done(advice)?;
    Ok(Order::GiveWay { unit, side })
}

/// Units joined by commas and `and`; `nobody` is an empty list.
fn list(
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
    whose: Whose,
) -> Result<Vec<UnitId>, Problem> {
    let is_nobody = cursor.peek().is_some_and(|token| token.is_word(NOBODY));
    if is_nobody && roster.words_named(cursor.rest()) < 2 {
        cursor.advance(1);
        return Ok(Vec::new());
    }
    let mut units = vec![roster.unit(cursor, whose)?];
    loop {
        let next = cursor.rest().get(1);
        if next.is_some_and(|token| token.is_word(WITH) || begins_leg(token)) {
            return Ok(units);
        }
        if !cursor.joint() {
            return Ok(units);
        }
        units.push(roster.unit(cursor, whose)?);
    }
}
