//! Reading attacks and gun fire: who, whom, with whose help, and who follows up.

use super::cursor::Cursor;
use super::fault::Problem;
use super::roster::{Roster, Whose};
use super::several::{begins_predicate, list};
use super::tokens::{Kind, Token};
use super::words::{self, Deed, FOLLOW, GUNS, HOLD, WITH};
use crate::orders::{Order, UnitId, print};
use crate::ruleset::Arm;

/// What may stand between an attack and whom it strikes.
const INTO: &[&str] = &[
    "into", "at", "on", "upon", "against", "onto", "home", "to", "with",
];
const HELPED: &[&str] = &[
    "supported",
    "helped",
    "backed",
    "aided",
    "assisted",
    "joined",
    "covered",
];
const SUPPORT: &[&str] = &["support", "supports", "supporting", "reserve"];
const BOMBARDING: &[&str] = &[
    "bombarding",
    "firing",
    "shooting",
    "shelling",
    "bombard",
    "bombards",
];
const IF_IT_WINS: &[&str] = &[
    "if",
    "when",
    "it",
    "they",
    "wins",
    "win",
    "won",
    "victorious",
    "successful",
    "possible",
    "able",
    "is",
    "are",
];

/// A battle as far as it has been read.
struct Battle {
    attackers: Vec<UnitId>,
    defenders: Vec<UnitId>,
    guns: Vec<UnitId>,
    follow_up: Option<UnitId>,
    /// It was said that nobody follows up.
    holds: bool,
}

impl Battle {
    fn order(self) -> Order {
        Order::Battle {
            attackers: self.attackers,
            defenders: self.defenders,
            guns: self.guns,
            follow_up: self.follow_up,
        }
    }
}

/// Reads an attack after its verb.
pub(super) fn battle(
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
    attackers: Vec<UnitId>,
) -> Result<Order, Problem> {
    if roster.words_named(cursor.rest()) == 0 {
        while cursor.word(INTO) {}
    }
    let mut defenders = list(cursor, roster, Whose::Enemy)?;
    let mut follow_up = None;
    // "attacks red-2, blue-3 follows up" reads as a list whose last member follows up
    if defenders.len() > 1 && cursor.word(FOLLOW) {
        up(cursor)?;
        follow_up = defenders.pop();
    }
    let mut battle = Battle {
        attackers,
        defenders,
        guns: Vec::new(),
        follow_up,
        holds: false,
    };
    supporters_among(cursor, roster, &mut battle);
    tail(cursor, roster, &mut battle)?;
    Ok(battle.order())
}

/// Of units attacked, those of the side that orders are its supporters if it is said so: `attacks B2, R3 supporting`.
fn supporters_among(cursor: &mut Cursor<'_>, roster: &Roster<'_>, battle: &mut Battle) {
    let is_own = |unit: &UnitId| {
        let known = roster.game.unit(unit);
        known.is_some_and(|known| known.side == roster.side)
    };
    let own = battle
        .defenders
        .iter()
        .rev()
        .take_while(|unit| is_own(unit))
        .count();
    if own == 0 || own == battle.defenders.len() {
        return;
    }
    let are_guns = begins(cursor, BOMBARDING);
    if supports(cursor) {
        let units = battle.defenders.split_off(battle.defenders.len() - own);
        join(battle, roster, units, are_guns);
    }
}

/// Takes what says that the units just named support.
fn supports(cursor: &mut Cursor<'_>) -> bool {
    cursor.words(&[&["in", "as"], SUPPORT])
        || cursor.words(&[&["in"], &["the"], &["reserve"]])
        || cursor.word(SUPPORT)
        || cursor.word(BOMBARDING)
}

/// Reads an attack that names whom it strikes before who strikes: `attack B2 with R2 and R3`.
pub(super) fn attack_with(cursor: &mut Cursor<'_>, roster: &Roster<'_>) -> Result<Order, Problem> {
    let defenders = list(cursor, roster, Whose::Enemy)?;
    let _ = cursor.mark(",");
    if !cursor.word(&["with", "using", "by"]) {
        let remedy = "say who attacks: \"red-1 attacks blue-1\", or \"attack blue-1 with red-1\"";
        return Err(cursor.expected("\"with\" and who attacks", remedy));
    }
    let mut battle = Battle {
        attackers: list(cursor, roster, Whose::Own)?,
        defenders,
        guns: Vec::new(),
        follow_up: None,
        holds: false,
    };
    tail(cursor, roster, &mut battle)?;
    Ok(battle.order())
}

fn tail(cursor: &mut Cursor<'_>, roster: &Roster<'_>, battle: &mut Battle) -> Result<(), Problem> {
    while !cursor.is_at_end() {
        let before = cursor.at();
        let parted = parted(cursor);
        if parted && begins_other_order(cursor, roster) {
            cursor.stand_at(before);
            return Ok(());
        }
        if !(help(cursor, roster, battle, parted)? || follow(cursor, roster, battle, parted)?) {
            cursor.done(
                "after the units attacked may come \"with guns …\" and \"; … follows up\", once each",
            )?;
        }
    }
    Ok(())
}

/// Takes what parts the pieces of an attack.
fn parted(cursor: &mut Cursor<'_>) -> bool {
    let mark = cursor.mark(";") || cursor.mark(",");
    let dash = cursor.peek().is_some_and(Token::is_dash) && {
        cursor.advance(1);
        true
    };
    let word = cursor.word(&["and", "but"]);
    let then = cursor.word(&["then"]);
    mark || dash || word || then
}

/// Whether another unit's order begins: a unit named in full, and then no following up and no support.
fn begins_other_order(cursor: &Cursor<'_>, roster: &Roster<'_>) -> bool {
    let mut ahead = cursor.ahead(0);
    if roster.words_named(ahead.rest()) == 0 && ahead.peek().is_none_or(|t| t.kind != Kind::Exact) {
        return false;
    }
    if roster.unit(&mut ahead, Whose::Own).is_err() {
        return false;
    }
    let Some(next) = ahead.peek() else {
        return false;
    };
    let helps = next.is_word(FOLLOW)
        || next.is_word(SUPPORT)
        || next.is_word(BOMBARDING)
        || next.is_word(&["in", "will", "to"]);
    let orders = next.is_mark(":")
        || words::sense_of(ahead.rest()).is_some()
        || words::deed_of(ahead.rest()).is_some();
    orders && !helps
}

/// Takes `with guns …`, `guns …`, `bombarded by …`, `with … in support`, `supported by …`.
fn help(
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
    battle: &mut Battle,
    parted: bool,
) -> Result<bool, Problem> {
    if roster.words_named(cursor.rest()) > 1 {
        return supporters_named(cursor, roster, battle, parted);
    }
    if battle.guns.is_empty() && cursor.words(&[&["bombarded", "shelled", "covered"], &["by"]]) {
        skip_guns(cursor, roster);
        battle.guns = list(cursor, roster, Whose::Own)?;
        return Ok(true);
    }
    let says_guns = begins(cursor, GUNS);
    if parted && says_guns && battle.guns.is_empty() {
        let _ = cursor.word(GUNS);
        let _ = cursor.mark(":");
        battle.guns = list(cursor, roster, Whose::Own)?;
        return Ok(true);
    }
    let with = cursor.words(&[HELPED, &["by"]])
        || cursor.words(&[&["along", "together", "alongside"], WITH])
        || cursor.word(&["alongside", "using"])
        || (battle.guns.is_empty() && cursor.word(WITH));
    if !with {
        return supporters_named(cursor, roster, battle, parted);
    }
    let _ = cursor.words(&[&["the"], &["support", "help", "fire"], &["of", "from"]])
        || cursor.words(&[&["support", "help", "fire"], &["of", "from"]]);
    let are_guns = begins(cursor, GUNS);
    skip_guns(cursor, roster);
    let units = list(cursor, roster, Whose::Own)?;
    let bombard = begins(cursor, BOMBARDING);
    let _ = supports(cursor);
    join(battle, roster, units, are_guns || bombard);
    Ok(true)
}

/// Takes `R3 supports`, `R3 in support`.
fn supporters_named(
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
    battle: &mut Battle,
    parted: bool,
) -> Result<bool, Problem> {
    if !parted || roster.words_named(cursor.rest()) == 0 {
        return Ok(false);
    }
    let mut ahead = cursor.ahead(0);
    let units = list(&mut ahead, roster, Whose::Own)?;
    let bombard = begins(&ahead, BOMBARDING);
    let found = supports(&mut ahead);
    if found {
        cursor.go_to(&ahead);
        join(battle, roster, units, bombard);
    }
    Ok(found)
}

/// Guns bombard and others attack as well; those said to be guns bombard, and the referee says whether they can.
fn join(battle: &mut Battle, roster: &Roster<'_>, units: Vec<UnitId>, are_guns: bool) {
    for unit in units {
        let arm = roster.game.unit(&unit).map(|known| known.arm);
        if are_guns || arm == Some(Arm::Guns) {
            battle.guns.push(unit);
        } else {
            battle.attackers.push(unit);
        }
    }
}

/// Takes `red-2 follows up`, `and follows up`, `and holds`.
fn follow(
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
    battle: &mut Battle,
    parted: bool,
) -> Result<bool, Problem> {
    if battle.follow_up.is_some() || battle.holds {
        return Ok(false);
    }
    let from = cursor.at();
    if roster.words_named(cursor.rest()) == 0 && stays(cursor) {
        battle.holds = true;
        return Ok(true);
    }
    let follows = words::deed_of(cursor.rest()).is_some_and(|(deed, _)| deed == Deed::Follow)
        && (begins(cursor, FOLLOW) || roster.words_named(cursor.rest()) == 0);
    if follows && parted {
        cursor.advance(1);
        up(cursor)?;
        battle.follow_up = Some(follower(cursor, from, battle)?);
        return Ok(true);
    }
    if !parted {
        return Ok(false);
    }
    let unit = roster.unit(cursor, Whose::Own)?;
    let _ = cursor.word(&["to", "will", "shall"]);
    if !cursor.word(FOLLOW) {
        let remedy = "write \"; unit follows up\"";
        return Err(cursor.expected("\"follows up\"", remedy));
    }
    up(cursor)?;
    battle.follow_up = Some(unit);
    Ok(true)
}

fn begins(cursor: &Cursor<'_>, words: &[&str]) -> bool {
    cursor.peek().is_some_and(|token| token.is_word(words))
}

/// Takes what says that nobody follows up.
fn stays(cursor: &mut Cursor<'_>) -> bool {
    const NOT: &[&str] = &["not", "don't", "doesn't", "don’t", "doesn’t"];
    const UP: &[&str] = &["up"];
    let not = cursor.words(&[&["do", "does"], NOT, FOLLOW, UP])
        || cursor.words(&[NOT, FOLLOW, UP])
        || cursor.words(&[&["without"], &["following"], UP])
        || cursor.words(&[&["nobody"], FOLLOW, UP])
        || cursor.words(&[&["no"], &["follow", "following"], UP])
        || cursor.words(&[&["no"], &["follow-up", "pursuit"]]);
    if not {
        return true;
    }
    let holds = cursor.word(HOLD)
        || cursor.word(&["stays", "stay", "stands", "stand", "remains", "remain"]);
    if holds {
        while cursor.word(&[
            "its", "their", "the", "ground", "position", "put", "where", "it", "is", "they", "are",
        ]) {}
    }
    holds
}

/// Who follows up where that is not said: the one attacker, or it is asked which.
fn follower(cursor: &Cursor<'_>, from: usize, battle: &Battle) -> Result<UnitId, Problem> {
    if let [unit] = &battle.attackers[..] {
        return Ok(unit.clone());
    }
    let reading = |unit: &UnitId| {
        print::order(&Order::Battle {
            attackers: battle.attackers.clone(),
            defenders: battle.defenders.clone(),
            guns: battle.guns.clone(),
            follow_up: Some(unit.clone()),
        })
    };
    Err(Problem::asked(
        cursor.since(from),
        "one attacker follows up, and this does not say which",
        battle.attackers.iter().map(reading).collect(),
    ))
}

/// Takes the `guns` of `with guns`. Where a unit comes after it, it is that word, whoever is called so; else it is the
/// unit of that name, if there is one.
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
    if is_word && cursor.word(GUNS) && roster.words_named(cursor.rest()) == 0 {
        let _ = cursor.word(&["of"]);
    }
}

fn up(cursor: &mut Cursor<'_>) -> Result<(), Problem> {
    if cursor.word(&["up"]) {
        if begins(cursor, &["if", "when"]) {
            while cursor.word(IF_IT_WINS) {}
        }
        return Ok(());
    }
    Err(cursor.expected("\"up\"", "write \"follows up\""))
}

/// Reads gun fire after its verb.
pub(super) fn fire(
    cursor: &mut Cursor<'_>,
    roster: &Roster<'_>,
    guns: Vec<UnitId>,
) -> Result<Order, Problem> {
    let at = cursor.word(&["at"]);
    if !at && roster.words_named(cursor.rest()) == 0 {
        let _ = cursor.word(&["on", "upon", "into", "against"]);
    }
    let target = roster.unit(cursor, Whose::Enemy)?;
    let more = cursor.ahead(0);
    let mut after = cursor.ahead(0);
    if after.joint()
        && !begins_predicate(&after, roster, Whose::Enemy)
        && roster.words_named(after.rest()) > 0
    {
        more.done("guns that fire alone have one target; write one line for each")?;
    }
    Ok(Order::Fire { guns, target })
}
