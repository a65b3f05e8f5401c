//! Recognising units and sides by id, name or short mark.

use crate::game::{Game, State};
use crate::orders::{SideId, UnitId};

use super::cursor::Cursor;
use super::fault::{Problem, plain};
use super::names::{atoms, joined, row_and_number, shortens, with_ordinals};
use super::tokens::{Kind, Token};
use super::units::unit_at;
use super::words;
use crate::game::marks;

/// Whose unit a phrase most likely means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Whose {
    /// The side that orders.
    Own,
    /// The other.
    Enemy,
    /// Nobody's more than the other's.
    Either,
}

/// Longest name in words that is looked for.
const NAME_WORDS_MAX: usize = 12;

/// Both orders of battle, ready to be searched.
pub(super) struct Roster<'g> {
    pub game: &'g Game,
    /// Index of the side that orders.
    pub side: usize,
    units: Vec<Known<'g>>,
}

struct Known<'g> {
    id: &'g UnitId,
    name: &'g str,
    side: usize,
    is_gone: bool,
    /// The mark that the table shows it by.
    mark: String,
    id_atoms: Vec<String>,
    name_atoms: Vec<String>,
    /// The words of its name, ordinals as figures.
    ordinal_atoms: Vec<String>,
    /// Each of them run together.
    id_key: String,
    name_key: String,
    ordinal_key: String,
}

/// How the words of a unit are compared with its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Spelling {
    AsWritten,
    /// `second`, `2nd` and `2` are one.
    Ordinals,
}

/// Words before a unit that name nothing.
const ARTICLES: &[&str] = &[
    "the",
    "my",
    "our",
    "your",
    "their",
    "unit",
    "units",
    "enemy",
    "regiment",
    "regiments",
    "battalion",
    "battalions",
    "squadron",
    "squadrons",
];
/// Words after a shortened name that belong to it no more.
const AFTER_NAME: &[&str] = &[
    "is",
    "are",
    "will",
    "shall",
    "should",
    "must",
    "does",
    "do",
    "not",
    "both",
    "each",
    "as",
    "in",
    "by",
    "a",
    "an",
    "half",
    "quarter",
    "full",
    "flat",
    "no",
    "may",
    "also",
    "just",
    "now",
    "onto",
    "into",
    "through",
    "thru",
    "supported",
    "until",
    "till",
    "backed",
    "along",
    "alongside",
    "towards",
    "toward",
];

impl<'g> Roster<'g> {
    pub fn new(game: &'g Game, side: usize) -> Self {
        let marks = marks(game);
        let known = |unit: &'g crate::game::Unit| {
            let (id_atoms, name_atoms) = (atoms(&unit.id.0), atoms(&unit.name));
            let ordinal_atoms = with_ordinals(name_atoms.clone());
            Known {
                mark: joined(atoms(marks.get(&unit.id).map_or("", String::as_str))),
                id: &unit.id,
                name: &unit.name,
                side: unit.side,
                is_gone: matches!(unit.state, State::Gone(_)),
                id_key: joined(&id_atoms),
                name_key: joined(&name_atoms),
                ordinal_key: joined(&ordinal_atoms),
                id_atoms,
                name_atoms,
                ordinal_atoms,
            }
        };
        Self {
            game,
            side,
            units: game.units().map(known).collect(),
        }
    }

    /// Reads the unit that must be next.
    pub fn unit(&self, cursor: &mut Cursor<'_>, whose: Whose) -> Result<UnitId, Problem> {
        let rest = cursor.rest();
        let Some(first) = rest.first().filter(|token| token.kind != Kind::Mark) else {
            return Err(cursor.expected("a unit", self.advice(whose)));
        };
        if first.kind == Kind::Exact {
            cursor.advance(1);
            let known = self.units.iter().find(|known| known.id.0 == first.text);
            return known
                .map(|known| known.id.clone())
                .ok_or_else(|| self.unknown(first.text, first.span.clone(), whose));
        }
        let articles = self.articles(rest);
        cursor.advance(articles);
        let rest = &rest[articles..];
        let spellings = [Spelling::AsWritten, Spelling::Ordinals];
        let named = self.named(rest);
        let found = named.or_else(|| spellings.iter().find_map(|how| self.marked(rest, *how)));
        if let Some((words, found)) = found {
            let phrase = cursor.here().start..rest[words - 1].span.end;
            cursor.advance(words);
            let unit = self.choose(found, whose, phrase)?;
            self.take_same_in_parentheses(cursor, &unit);
            return Ok(unit);
        }
        let words = name_words(rest);
        if words == 0 {
            return Err(cursor.expected("a unit", self.advice(whose)));
        }
        // where no verb follows the last word may be the verb, mistyped: whoever reads on says so
        let is_verb = |token: &Token<'_>| words::begins_order(token) || words::is_soft(token);
        let verb_follows = rest[1..].iter().take(words).any(is_verb);
        let mut before = (1..words).rev().filter(|_| !verb_follows);
        let unit = before.find_map(|words| {
            let (_, found) = self.marked(&rest[..words], Spelling::AsWritten)?;
            Some((words, self.choose(found, whose, 0..0).ok()?))
        });
        if let Some((words, unit)) = unit {
            cursor.advance(words);
            return Ok(unit);
        }
        let typed: Vec<&str> = rest[..words].iter().map(|token| token.text).collect();
        let span = cursor.here().start..rest[words - 1].span.end;
        Err(self.unknown(&typed.join(" "), span, whose))
    }

    /// How many of the tokens are words before a name that name nothing.
    fn articles(&self, tokens: &[Token<'_>]) -> usize {
        (0..tokens.len())
            .find(|at| !tokens[*at].is_word(ARTICLES) || self.named(&tokens[*at..]).is_some())
            .filter(|at| tokens[*at].kind != Kind::Mark)
            .unwrap_or(0)
    }

    /// Takes a name of the same unit in parentheses, as in `Second Vale Foot (red-2)`.
    fn take_same_in_parentheses(&self, cursor: &mut Cursor<'_>, unit: &UnitId) {
        let rest = cursor.rest();
        let words = rest.iter().take_while(|token| token.kind == Kind::Word);
        let Some(last) = words.clone().position(|token| token.text.ends_with(')')) else {
            return;
        };
        let inside = joined(words.take(last + 1).flat_map(|token| atoms(token.text)));
        let is_same = rest[0].text.starts_with('(')
            && self
                .units
                .iter()
                .any(|known| known.id == unit && known.is_called(&inside));
        cursor.advance(if is_same { last + 1 } else { 0 });
    }

    /// How many words the whole id, name or mark of a unit takes that the tokens begin with; 0 for none.
    pub fn words_named(&self, tokens: &[Token<'_>]) -> usize {
        self.named(tokens).map_or(0, |(words, _)| words)
    }

    /// Units whose whole id, name or table mark the tokens begin with, the longest such name, in how many words.
    fn named(&self, tokens: &[Token<'_>]) -> Option<(usize, Vec<&Known<'g>>)> {
        let run = tokens
            .iter()
            .take(NAME_WORDS_MAX)
            .take_while(|token| token.kind == Kind::Word)
            .count();
        let first = tokens.first().filter(|_| run > 0)?;
        let ends_there = run == 1 || tokens.get(1).is_none_or(|t| words::is_reserved(t.text));
        let exact = self.units.iter().find(|known| known.id.0 == first.text);
        if let Some(known) = exact.filter(|_| ends_there) {
            return Some((1, vec![known]));
        }
        let keys: Vec<(String, String)> = (1..=run)
            .map(|words| {
                let typed = tokens[..words].iter().flat_map(|t| atoms(t.text));
                let typed: Vec<String> = typed.collect();
                (joined(&typed), joined(with_ordinals(typed)))
            })
            .collect();
        let found = |test: &dyn Fn(&Known<'_>, &(String, String)) -> bool| {
            (1..=run).rev().find_map(|words| {
                let key = &keys[words - 1];
                let called = |known: &&Known<'g>| !key.0.is_empty() && test(known, key);
                let found: Vec<_> = self.units.iter().filter(called).collect();
                (!found.is_empty()).then_some((words, found))
            })
        };
        found(&|known, key| known.is_called(&key.0))
            .or_else(|| found(&|known, key| known.ordinal_key == key.1))
    }

    /// Units that a short mark names: words that begin words of an id or name, in their order; in how many words.
    fn marked(&self, tokens: &[Token<'_>], how: Spelling) -> Option<(usize, Vec<&Known<'g>>)> {
        let most = words_to_reserved(tokens);
        (1..=most)
            .rev()
            .filter(|words| *words == most || may_end_name(&tokens[*words..]))
            .find_map(|words| {
                let typed: Vec<String> =
                    tokens[..words].iter().flat_map(|t| atoms(t.text)).collect();
                let mark = match how {
                    Spelling::AsWritten => typed,
                    Spelling::Ordinals => with_ordinals(typed),
                };
                let fits = |known: &&Known<'g>| match how {
                    _ if mark.is_empty() => false,
                    Spelling::AsWritten => {
                        shortens(&mark, &known.id_atoms) || shortens(&mark, &known.name_atoms)
                    }
                    Spelling::Ordinals => shortens(&mark, &known.ordinal_atoms),
                };
                let found: Vec<_> = self.units.iter().filter(fits).collect();
                (!found.is_empty()).then_some((words, found))
            })
    }

    /// The unit of that whole id, name or mark; one of the likelier side where each has one.
    pub fn called(&self, word: &str, whose: Whose) -> Option<UnitId> {
        let key = joined(atoms(word));
        let found = self.units.iter().filter(|known| known.is_called(&key));
        let found: Vec<_> = found.filter(|_| !key.is_empty()).collect();
        self.choose(found, whose, 0..0).ok()
    }

    /// The units whose marks run from one unit's to another's, those that are gone left out; `None` where the marks
    /// are no two numbers of one row.
    pub fn range(&self, first: &UnitId, last: &UnitId) -> Option<Vec<UnitId>> {
        let place = |unit: &UnitId| {
            let known = self.units.iter().find(|known| known.id == unit)?;
            row_and_number(&known.mark)
        };
        let ((row, from), (other_row, to)) = (place(first)?, place(last)?);
        if row != other_row || from > to {
            return None;
        }
        let here = self.units.iter().filter(|known| !known.is_gone);
        let mut found: Vec<(u32, &UnitId)> = here
            .filter_map(|known| {
                let (known_row, number) = row_and_number(&known.mark)?;
                (known_row == row && (from..=to).contains(&number)).then_some((number, known.id))
            })
            .collect();
        found.sort_unstable();
        Some(found.into_iter().map(|(_, unit)| unit.clone()).collect())
    }

    /// The units of the side that orders which stand on the table and pass the test, in the order of battle.
    pub fn standing(&self, test: impl Fn(&crate::game::Unit) -> bool) -> Vec<UnitId> {
        let units = self.game.units().filter(|unit| unit.side == self.side);
        let here = units.filter(|unit| matches!(unit.state, State::Standing(_)));
        here.filter(|unit| test(unit))
            .map(|unit| unit.id.clone())
            .collect()
    }

    /// The one unit meant: of the likelier side if that leaves one, of those not gone if that does.
    fn choose(
        &self,
        found: Vec<&Known<'g>>,
        whose: Whose,
        span: std::ops::Range<usize>,
    ) -> Result<UnitId, Problem> {
        let ours: Vec<_> = found
            .iter()
            .copied()
            .filter(|known| self.is_likely(known, whose))
            .collect();
        let left = if ours.is_empty() { found } else { ours };
        let here: Vec<_> = left
            .iter()
            .copied()
            .filter(|known| !known.is_gone)
            .collect();
        let left = if here.is_empty() { left } else { here };
        if let [known] = left[..] {
            return Ok(known.id.clone());
        }
        let list: Vec<String> = left
            .iter()
            .take(5)
            .map(|known| format!("{} ({})", known.id, plain(known.name, 40)))
            .collect();
        let more = if left.len() > 5 { " and others" } else { "" };
        let instead = left.iter().take(5).map(|known| known.id.0.clone());
        Err(Problem::new(
            span,
            format!("{} units could be meant here", left.len()),
            format!("say which: {}{more}", list.join(", ")),
        )
        .with_instead(instead.collect()))
    }

    fn is_likely(&self, known: &Known<'_>, whose: Whose) -> bool {
        match whose {
            Whose::Own => known.side == self.side,
            Whose::Enemy => known.side != self.side,
            Whose::Either => true,
        }
    }

    fn unknown(&self, typed: &str, span: std::ops::Range<usize>, whose: Whose) -> Problem {
        let likely = self
            .units
            .iter()
            .filter(|known| self.is_likely(known, whose));
        let others = self
            .units
            .iter()
            .filter(|known| !self.is_likely(known, whose));
        let words = |known: &Known<'g>| {
            let name = known.name;
            let whole = [(known.id.0.as_str(), known.id.0.as_str()), (name, name)];
            let parts = name
                .split_whitespace()
                .filter(|word| word.chars().count() > 3);
            whole.into_iter().chain(parts.map(move |word| (word, name)))
        };
        let near = words::nearest_of(typed, likely.chain(others).flat_map(words));
        let near = near.map_or_else(String::new, |near| format!("; did you mean {near:?}?"));
        Problem::new(
            span,
            format!("no unit is called {:?}", plain(typed, 60)),
            format!("{}{near}", self.advice(whose)),
        )
    }

    fn advice(&self, whose: Whose) -> String {
        let ids: Vec<&str> = self
            .units
            .iter()
            .filter(|known| self.is_likely(known, whose) && !known.is_gone)
            .map(|known| known.id.0.as_str())
            .take(3)
            .collect();
        format!("name a unit by its id or name, such as {}", ids.join(", "))
    }
}

impl Known<'_> {
    /// Whether this is its whole id, name or mark, run together.
    fn is_called(&self, key: &str) -> bool {
        self.mark == key || self.id_key == key || self.name_key == key
    }
}

/// Words that can belong to a name: up to one that is reserved.
fn words_to_reserved(tokens: &[Token<'_>]) -> usize {
    tokens
        .iter()
        .take(NAME_WORDS_MAX)
        .take_while(|token| token.kind == Kind::Word && !words::is_reserved(token.text))
        .count()
}

/// Words that a person meant as a name: up to one that says what to do.
fn name_words(tokens: &[Token<'_>]) -> usize {
    let most = words_to_reserved(tokens);
    (1..most)
        .find(|words| may_end_name(&tokens[*words..]))
        .unwrap_or(most)
}

/// Whether a shortened name may end before these tokens.
fn may_end_name(tokens: &[Token<'_>]) -> bool {
    tokens.first().is_none_or(|token| {
        words::is_soft(token)
            || token.is_word(AFTER_NAME)
            || token
                .text
                .starts_with(|c: char| c.is_ascii_digit() || c == '(')
            || unit_at(&tokens[1..]).is_some()
            || words::sense_of(tokens).is_some()
            || words::deed_of(tokens).is_some()
    })
}

/// Reads a side that must be next, by key or name or the start of one.
pub(super) fn side(cursor: &mut Cursor<'_>, game: &Game) -> Result<SideId, Problem> {
    let sides = &game.scenario().side;
    let keys: Vec<&str> = sides.iter().map(|side| side.key.as_str()).collect();
    let advice = format!("the sides are {}", keys.join(" and "));
    let words = cursor
        .rest()
        .iter()
        .take_while(|token| token.kind != Kind::Mark)
        .count();
    if let Some(exact) = sides
        .iter()
        .find(|side| words == 1 && side.key == cursor.rest()[0].text)
    {
        cursor.advance(words);
        return Ok(SideId(exact.key.clone()));
    }
    let typed = joined(cursor.rest()[..words].iter().flat_map(|t| atoms(t.text)));
    let whole = |text: &str| joined(atoms(text)) == typed;
    let start = |text: &str| joined(atoms(text)).starts_with(&typed);
    let by = |test: &dyn Fn(&str) -> bool| {
        let found: Vec<_> = sides
            .iter()
            .filter(|side| test(&side.key) || test(&side.name))
            .collect();
        (found.len() == 1).then(|| SideId(found[0].key.clone()))
    };
    let found = by(&whole)
        .or_else(|| by(&start))
        .filter(|_| !typed.is_empty());
    let side = found.ok_or_else(|| cursor.expected("a side", advice))?;
    cursor.advance(words);
    Ok(side)
}
