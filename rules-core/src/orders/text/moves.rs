//! The moves of units: their legs where they are sure, or the question with each reading written out.

use super::clause::Clause;
use super::cursor::Cursor;
use super::fault::Problem;
use super::legs::{clauses, no_leg};
use super::meaning::{Meaning, Mover, meanings};
use super::measure;
use super::roster::Roster;
use super::several::names;
use super::subject::{Subject, nobody};
use super::words::{self, Sense};
use crate::orders::{Leg, Order, UnitId, print};

const ORDER_ADVICE: &str = "give it legs, as in \"red-1: forward 80 mm\", or say that it arrives at, withdraws, leaves, \
     attacks, fires at or gives way";
/// Legs that may follow, after a colon, a comma or `then`.
pub(super) fn legs_after(
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
    sure(&[(unit.clone(), found)], |orders| orders)
        .map(|mut all| all.pop().map_or(Vec::new(), |(_, legs)| legs))
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
        if let Some(missing) = last.missing().filter(|_| !cursor.is_at_end()) {
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
pub(super) fn moves(
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
    subject.together |= read.iter().any(|clause| clause.together);
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
        let key = subject
            .units
            .first()
            .cloned()
            .unwrap_or_else(|| UnitId::from(""));
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
    let moves = all
        .into_iter()
        .map(|(unit, legs)| Order::Move { unit, legs });
    let moves: Vec<Order> = moves.collect();
    let wheels = read.iter().any(|clause| clause.sense == Some(Sense::Wheel));
    if wheels && moves.len() > 1 && !subject.each {
        return Err(each_or_together(cursor, from, &subject.units, &moves));
    }
    Ok(moves)
}

/// Several units that wheel could each do so, or be a body that does.
fn each_or_together(
    cursor: &Cursor<'_>,
    from: usize,
    units: &[UnitId],
    moves: &[Order],
) -> Problem {
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
    let asked = found.iter().find_map(|(_, meanings)| {
        meanings
            .iter()
            .position(|meaning| meaning.question.is_some())
    });
    let legs = |meanings: &[Meaning], choice: usize| -> Vec<Leg> {
        let chosen = meanings.iter().enumerate().map(|(at, meaning)| {
            let choice = if Some(at) == asked { choice } else { 0 };
            meaning
                .choices
                .get(choice)
                .or_else(|| meaning.choices.first())
        });
        chosen.flatten().flatten().copied().collect()
    };
    let Some(asked_at) = asked else {
        let all = found.iter();
        return Ok(all
            .map(|(unit, meanings)| (unit.clone(), legs(meanings, 0)))
            .collect());
    };
    let mut asked_of = found
        .iter()
        .filter_map(|(_, meanings)| meanings.get(asked_at));
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
            format!(
                "the line does not say what {} should do",
                names(&subject.units)
            ),
            vec![lines.join("; ")],
        );
    }
    if colon {
        return no_leg(cursor);
    }
    let typed = cursor.peek().map_or("", |token| token.text);
    let usual = words::LEGS.iter().map(|(usual, _)| *usual);
    let verbs = [
        "arrives",
        "withdraws",
        "leaves",
        "attacks",
        "fires",
        "gives",
    ];
    let near = words::suggestion(typed, verbs.into_iter().chain(usual).chain(words::others()));
    cursor.expected(
        "a colon and legs, or a verb",
        format!("{ORDER_ADVICE}{near}"),
    )
}
