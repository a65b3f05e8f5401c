//! Reading the orders of one line: who, and what they do.

use std::collections::BTreeSet;

use super::battles;
use super::clause::{self, Clause, clauses, no_leg};
use super::cursor::Cursor;
use super::fault::Problem;
use super::meaning::{Meaning, Mover, meanings};
use super::measure;
use super::roster::{Roster, Whose};
use super::several::{begins_predicate, list, names, rest};
use super::tokens::{Kind, Token};
use super::words::{self, Deed, EVERYONE, Sense, TOGETHER, WITH};
use crate::orders::{Extent, Leg, Order, UnitId, print};

const ORDER_ADVICE: &str = "give it legs, as in \"red-1: forward 80 mm\", or say that it arrives at, withdraws, leaves, \
     attacks, fires at or gives way";
/// Words before who is ordered that order nothing.
const COURTESY: &[&str] = &["please", "let", "have", "order", "orders", "then", "now", "and", "also", "next"];
/// Words between who and what that order nothing.
const HELPING: &[&str] = &["is", "are", "will", "shall", "should", "must", "to", "now", "just", "also", "please", "then"];

/// Who is ordered.
struct Subject {
    units: Vec<UnitId>,
    /// As one body.
    together: bool,
    /// Each by itself, in so many words.
    each: bool,
    /// Whoever no order has named.
    rest: bool,
}

impl Subject {
    fn of(units: Vec<UnitId>) -> Self {
        Self {
            units,
            together: false,
            each: false,
            rest: false,
        }
    }
}

/// Reads the orders of a whole line. `before` are those of the lines before it.
pub(super) fn orders(
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
    before: &[Order],
) -> Result<Vec<Order>, Problem> {
    let mut found: Vec<Order> = Vec::new();
    loop {
        let earlier: Vec<&Order> = before.iter().chain(&found).collect();
        let orders = statement(cursor, roster, &earlier)?;
        found.extend(orders);
        if cursor.is_at_end() {
            return Ok(found);
        }
        let parted = cursor.mark(";") || cursor.mark(",");
        let then = cursor.word(&["and", "then"]);
        if !(parted || then) || cursor.is_at_end() {
            cursor.done("one order a line, or several parted by semicolons")?;
        }
    }
}

fn statement(
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
    before: &[&Order],
) -> Result<Vec<Order>, Problem> {
    while roster.words_named(cursor.rest()) == 0 && cursor.word(COURTESY) {}
    if cursor.word(TOGETHER) {
        let _ = cursor.mark(":") || cursor.mark(",");
        let mut subject = Subject::of(list(cursor, roster, Whose::Own)?);
        subject.together = true;
        return predicate(cursor, roster, subject);
    }
    if rest(cursor, roster) {
        let named: BTreeSet<&UnitId> = before.iter().flat_map(|order| order.units()).collect();
        let mut subject = Subject::of(roster.standing(|unit| !named.contains(&unit.id)));
        (subject.each, subject.rest) = (true, true);
        return predicate(cursor, roster, subject);
    }
    if let Some(turned) = imperative(cursor, roster) {
        let mut inner = Cursor::new(&turned);
        let deed = words::deed_of(inner.rest());
        let orders = match deed {
            Some((Deed::Attack, words)) => {
                inner.advance(words);
                vec![battles::attack_with(&mut inner, roster)?]
            }
            Some((Deed::Fire, words)) => {
                inner.advance(words);
                vec![fire_with(&mut inner, roster)?]
            }
            _ => statement(&mut inner, roster, before)?,
        };
        cursor.advance(inner.at());
        return Ok(orders);
    }
    let says_each = |token: &Token<'_>| token.is_word(EVERYONE) || token.is_word(&["each", "every"]);
    let each = cursor.peek().is_some_and(says_each);
    let mut subject = Subject::of(list(cursor, roster, Whose::Own)?);
    subject.each = each;
    predicate(cursor, roster, subject)
}

/// `Shoot at B2 with Old Thunderers`, after the verb.
fn fire_with(cursor: &mut Cursor<'_>, roster: &Roster<'_>) -> Result<Order, Problem> {
    let Order::Fire { target, .. } = battles::fire(cursor, roster, Vec::new())? else {
        return Err(cursor.expected("a target", "write \"red-7 fires at blue-2\""));
    };
    let _ = cursor.mark(",");
    if !(cursor.word(WITH) || cursor.word(&["by", "using", "from"])) {
        let remedy = "say which guns: \"red-7 fires at blue-2\", or \"fire at blue-2 with red-7\"";
        return Err(cursor.expected("\"with\" and which guns", remedy));
    }
    let guns = list(cursor, roster, Whose::Own)?;
    Ok(Order::Fire { guns, target })
}

/// A line that begins with what to do and then says who: its tokens, with who first; as they are where the first
/// one named is an enemy, to be attacked or fired at.
fn imperative<'a>(cursor: &Cursor<'a>, roster: &Roster<'_>) -> Option<Vec<Token<'a>>> {
    const BETWEEN: &[&str] = &["on", "out", "round", "around", "at", "up", "into", "off", "about", "back", "the", "in"];
    let rest = cursor.rest();
    let begins = words::sense_of(rest).is_some() || words::deed_of(rest).is_some() || {
        let hand = rest.first().is_some_and(|token| token.is_word(&["left", "right"]));
        hand && rest.get(1..).and_then(words::sense_of).is_some()
    };
    if !begins || roster.words_named(rest) > 0 {
        return None;
    }
    let is_verb = |token: &Token<'_>| {
        token.kind == Kind::Word
            && (words::is_soft(token) || words::begins_order(token) || token.is_word(BETWEEN))
    };
    let at = (1..rest.len()).find(|at| {
        let tokens = &rest[*at..];
        tokens[0].kind == Kind::Exact || roster.words_named(tokens) > 0 || !is_verb(&tokens[0])
    })?;
    let mut list_end = cursor.ahead(at);
    let is_attack = words::deed_of(rest).is_some_and(|(deed, _)| matches!(deed, Deed::Attack | Deed::Fire));
    if is_attack {
        let mut whom = cursor.ahead(at);
        let unit = roster.unit(&mut whom, Whose::Enemy).ok()?;
        let side = roster.game.unit(&unit).map(|unit| unit.side);
        if side != Some(roster.side) {
            return Some(rest.to_vec());
        }
    }
    list(&mut list_end, roster, Whose::Own).ok()?;
    let end = list_end.at() - cursor.at();
    let turned = rest[at..end].iter().chain(&rest[..at]).chain(&rest[end..]);
    Some(turned.cloned().collect())
}

/// Reads what the units do, from their names on.
fn predicate(
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
    mut subject: Subject,
) -> Result<Vec<Order>, Problem> {
    let _ = colon(cursor, roster);
    manner(cursor, &mut subject);
    let mut found = Vec::new();
    loop {
        let deed = words::deed_of(cursor.rest());
        let orders = match deed {
            Some((deed, words)) => {
                let from = cursor.at();
                cursor.advance(words);
                deeds(cursor, roster, &subject, deed, from)?
            }
            None => moves(cursor, roster, &mut subject)?,
        };
        found.extend(orders);
        let mut ahead = cursor.ahead(0);
        let parted = ahead.mark(",") || ahead.mark(";");
        let and = ahead.word(&["and"]);
        let then = ahead.word(&["then"]);
        let goes_on = words::deed_of(ahead.rest()).is_some();
        if !goes_on || !(parted || and || then || deed.is_none()) {
            return Ok(found);
        }
        cursor.go_to(&ahead);
    }
}

/// Takes a colon, a dash, or a comma before what is done.
fn colon(cursor: &mut Cursor<'_>, roster: &Roster<'_>) -> bool {
    if cursor.mark(":") {
        return true;
    }
    if cursor.peek().is_some_and(Token::is_dash) {
        cursor.advance(1);
        return true;
    }
    let ahead = cursor.ahead(1);
    begins_predicate(&ahead, roster, Whose::Own) && cursor.mark(",")
}

/// Takes `each`, `together`, `as one body`, `will`, `is to`.
fn manner(cursor: &mut Cursor<'_>, subject: &mut Subject) {
    loop {
        let moves = cursor.peek().is_some_and(|token| token.is_word(&["move", "moves", "advance", "stand"]));
        let body = |cursor: &Cursor<'_>| cursor.has(&[&["as", "in"], &["one", "a"], &["body", "block", "formation"]]);
        if body(cursor) {
            cursor.advance(3);
            subject.together = true;
        } else if moves && body(&cursor.ahead(1)) {
            // "move as one body forward 40 mm": the verb stays where it says something of its own
            cursor.advance(4);
            subject.together = true;
        } else if cursor.words(&[&["to", "is", "are"], &["face", "faces"]]) {
            // "R2 is to face left": no goal of a wheel before a wheel
            cursor.stand_at(cursor.at() - 1);
            return;
        } else if subject.units.len() > 1 && cursor.word(TOGETHER) {
            subject.together = true;
        } else if subject.units.len() > 1 && (cursor.word(&["each", "both"]) || cursor.word(EVERYONE)) {
            subject.each = true;
        } else if !cursor.word(HELPING) {
            return;
        }
    }
}

/// An order by a verb that begins no leg.
fn deeds(
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

fn nobody(cursor: &Cursor<'_>) -> Problem {
    Problem::new(
        cursor.since(0),
        "nobody is ordered to do this",
        "name the units that do it",
    )
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
    while cursor.word(&["at", "table", "the", "on", "edge", "its", "onto"]) {}
    let along_mm = measure::distance_mm(cursor, &roster.game.ruleset().scale)?;
    measure::refuse_unknown_unit(cursor)?;
    let _ = cursor.words(&[&["along", "of", "on"], &["its", "the", "their"], &["edge"]]);
    let legs = legs_after(cursor, roster, &unit)?;
    Ok(Order::Arrive {
        unit,
        along_mm,
        legs,
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

/// Legs that may follow, after a colon, a comma or `then`.
fn legs_after(
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
    unit: &UnitId,
) -> Result<Vec<Leg>, Problem> {
    if cursor.is_at_end() {
        return Ok(Vec::new());
    }
    let _ = cursor.mark(":") || cursor.mark(",") || cursor.mark(";");
    let _ = cursor.word(&["then", "and"]);
    let read = all_clauses(cursor, roster)?;
    if read.is_empty() {
        return Err(no_leg(cursor));
    }
    let mover = Mover {
        game: roster.game,
        unit: roster.game.unit(unit),
    };
    let found = meanings(&read, &mover)?;
    sure(&[(unit.clone(), found)], |orders| orders).map(|mut all| all.pop().map_or(Vec::new(), |(_, legs)| legs))
}

fn give_way(cursor: &mut Cursor<'_>, unit: UnitId) -> Result<Order, Problem> {
    let advice = "write \"gives way left\" or \"gives way right\"";
    if !cursor.word(&["way", "ground"]) {
        return Err(cursor.expected("\"way\"", advice));
    }
    while cursor.word(&["to", "the", "its", "their", "on"]) {}
    let side = clause::hand(cursor).ok_or_else(|| cursor.expected("left or right", advice))?;
    let _ = cursor.word(&["first"]);
    cursor.done(advice)?;
    Ok(Order::GiveWay { unit, side })
}

/// The clauses up to the end of the moves, and an error where what comes then is part of no order.
fn all_clauses(cursor: &mut Cursor<'_>, roster: &Roster<'_>) -> Result<Vec<Clause>, Problem> {
    let read = clauses(cursor, roster)?;
    if let Some(last) = read.last() {
        let goes_on = cursor.is_at_end() || words::deed_of(cursor.rest()).is_some() || {
            let mut ahead = cursor.ahead(0);
            ahead.joint() || ahead.mark(";") || ahead.word(&["then"])
        };
        let advice = match last.missing() {
            Some("an angle") => measure::angle_advice(),
            Some("left or right") => "say to which side: left or right",
            _ => measure::distance_advice(),
        };
        if let Some(missing) = last.missing() {
            return Err(cursor.expected(missing, advice));
        }
        if !goes_on {
            measure::refuse_unknown_unit(cursor)?;
            let remedy = "separate legs by a comma or \"then\"";
            return Err(cursor.expected("a comma or the end of the line", remedy));
        }
    }
    Ok(read)
}

/// The moves that the clauses mean, for each unit or for all as one body.
fn moves(
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
    subject: &mut Subject,
) -> Result<Vec<Order>, Problem> {
    let from = cursor.at();
    let read = all_clauses(cursor, roster)?;
    if read.is_empty() {
        return Err(nothing_said(cursor, subject));
    }
    let only_stands = read.iter().all(|clause| clause.sense == Some(Sense::Stand));
    if subject.rest && only_stands {
        return Ok(Vec::new());
    }
    if subject.together {
        let mover = Mover {
            game: roster.game,
            unit: None,
        };
        let found = meanings(&read, &mover)?;
        let units = subject.units.clone();
        let body = |legs: &[Leg]| Order::MoveTogether {
            units: units.clone(),
            legs: legs.to_vec(),
        };
        let key = subject.units.first().cloned().unwrap_or_else(|| UnitId::from(""));
        let all = sure(&[(key, found)], |mut orders| {
            if let Some(Order::Move { legs, .. }) = orders.pop() {
                orders.push(body(&legs));
            }
            orders
        })?;
        return Ok(all.iter().map(|(_, legs)| body(legs)).collect());
    }
    if subject.units.is_empty() && !subject.rest {
        return Err(nobody(cursor));
    }
    let mut found = Vec::new();
    for unit in &subject.units {
        let mover = Mover {
            game: roster.game,
            unit: roster.game.unit(unit),
        };
        found.push((unit.clone(), meanings(&read, &mover)?));
    }
    let all = sure(&found, |orders| orders)?;
    let moves = all.into_iter().map(|(unit, legs)| Order::Move { unit, legs });
    let moves: Vec<Order> = moves.collect();
    let wheels = read.iter().any(|clause| clause.sense == Some(Sense::Wheel));
    if wheels && moves.len() > 1 && !subject.each {
        return Err(each_or_together(cursor, from, &subject.units, &moves));
    }
    Ok(moves)
}

/// Several units that wheel could each do so, or be a body that does.
fn each_or_together(cursor: &Cursor<'_>, from: usize, units: &[UnitId], moves: &[Order]) -> Problem {
    let each: Vec<String> = moves.iter().map(print::order).collect();
    let mut readings = vec![each.join("; ")];
    let legs = |order: &Order| match order {
        Order::Move { legs, .. } => legs.clone(),
        _ => Vec::new(),
    };
    let first = moves.first().map(legs).unwrap_or_default();
    if moves.iter().all(|order| legs(order) == first) {
        let units = units.to_vec();
        readings.push(print::order(&Order::MoveTogether { units, legs: first }));
    }
    Problem::asked(
        cursor.since(from),
        "several units could each wheel by themselves, or all as one body",
        readings,
    )
}

/// The legs of each unit where all of them are sure; else the question, with each choice written out as the orders would
/// be typed.
fn sure(
    found: &[(UnitId, Vec<Meaning>)],
    written: impl Fn(Vec<Order>) -> Vec<Order>,
) -> Result<Vec<(UnitId, Vec<Leg>)>, Problem> {
    let asked = found
        .iter()
        .find_map(|(_, meanings)| meanings.iter().position(|meaning| meaning.question.is_some()));
    let legs = |meanings: &[Meaning], choice: usize| -> Vec<Leg> {
        let chosen = meanings.iter().enumerate().map(|(at, meaning)| {
            let choice = if Some(at) == asked { choice } else { 0 };
            meaning.choices.get(choice).or_else(|| meaning.choices.first())
        });
        chosen.flatten().flatten().copied().collect()
    };
    let Some(asked_at) = asked else {
        let all = found.iter();
        return Ok(all.map(|(unit, meanings)| (unit.clone(), legs(meanings, 0))).collect());
    };
    let mut asked_of = found.iter().filter_map(|(_, meanings)| meanings.get(asked_at));
    let Some((meaning, (span, question))) =
        asked_of.find_map(|meaning| Some((meaning, meaning.question.clone()?)))
    else {
        return Ok(Vec::new());
    };
    let reading = |choice: usize| {
        let orders = found.iter().map(|(unit, meanings)| Order::Move {
            unit: unit.clone(),
            legs: legs(meanings, choice),
        });
        let orders = written(orders.collect());
        let lines: Vec<String> = orders.iter().map(print::order).collect();
        lines.join("; ")
    };
    let readings = (0..meaning.choices.len()).map(reading).collect();
    Err(Problem::asked(span, question, readings))
}

/// Nothing was said of what the units do, or nothing that is understood.
fn nothing_said(cursor: &Cursor<'_>, subject: &Subject) -> Problem {
    let colon = cursor.before().is_some_and(|token| token.is_mark(":"));
    if cursor.is_at_end() {
        let stand = |unit: &UnitId| {
            print::order(&Order::Move {
                unit: unit.clone(),
                legs: Vec::new(),
            })
        };
        let lines: Vec<String> = subject.units.iter().map(stand).collect();
        return Problem::asked(
            cursor.here(),
            format!("the line does not say what {} should do", names(&subject.units)),
            vec![lines.join("; ")],
        );
    }
    if colon {
        return no_leg(cursor);
    }
    let typed = cursor.peek().map_or("", |token| token.text);
    let usual = words::LEGS.iter().map(|(usual, _)| *usual);
    let verbs = ["arrives", "withdraws", "leaves", "attacks", "fires", "gives"];
    let near = words::suggestion(typed, verbs.into_iter().chain(usual).chain(words::others()));
    cursor.expected(
        "a colon and legs, or a verb",
        format!("{ORDER_ADVICE}{near}"),
    )
}
