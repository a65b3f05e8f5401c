//! Recognising units and sides by id, name or short mark.

use crate::game::{Game, State};
use crate::orders::{SideId, UnitId};

use super::cursor::Cursor;
use super::fault::{Problem, plain};
use super::tokens::{Kind, Token};
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
    side: usize,
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
}

impl<'g> Roster<'g> {
    pub fn new(game: &'g Game, side: usize) -> Self {
        let marks = marks(game);
        let known = |unit: &'g crate::game::Unit| Known {
            mark: joined(atoms(marks.get(&unit.id).map_or("", String::as_str))),
            id: &unit.id,
            name: &unit.name,
            side: unit.side,
            is_gone: matches!(unit.state, State::Gone(_)),
            id_atoms: atoms(&unit.id.0),
            name_atoms: atoms(&unit.name),
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
        if let Some((words, found)) = self.named(rest) {
            let phrase = cursor.here().start..rest[words - 1].span.end;
            cursor.advance(words);
            return self.choose(found, whose, phrase);
        }
        self.marked(cursor, whose)
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
        (1..=run).rev().find_map(|words| {
            let key = joined(tokens[..words].iter().flat_map(|token| atoms(token.text)));
            let found: Vec<_> = self
                .units
                .iter()
                .filter(|known| {
                    !key.is_empty()
                        && (known.mark == key
                            || joined(&known.id_atoms) == key
                            || joined(&known.name_atoms) == key)
                })
                .collect();
            (!found.is_empty()).then_some((words, found))
        })
    }

    /// Reads a short mark: words that begin words of one unit's id or name, in their order.
    fn marked(&self, cursor: &mut Cursor<'_>, whose: Whose) -> Result<UnitId, Problem> {
        let rest = cursor.rest();
        let words = rest
            .iter()
            .take(NAME_WORDS_MAX)
            .take_while(|token| token.kind == Kind::Word && !words::is_reserved(token.text))
            .count();
        if words == 0 {
            return Err(cursor.expected("a unit", self.advice(whose)));
        }
        let span = cursor.here().start..rest[words - 1].span.end;
        let mark: Vec<String> = rest[..words].iter().flat_map(|t| atoms(t.text)).collect();
        let found: Vec<_> = self
            .units
            .iter()
            .filter(|known| shortens(&mark, &known.id_atoms) || shortens(&mark, &known.name_atoms))
            .collect();
        if mark.is_empty() || found.is_empty() {
            let typed: Vec<&str> = rest[..words].iter().map(|token| token.text).collect();
            return Err(self.unknown(&typed.join(" "), span, whose));
        }
        cursor.advance(words);
        self.choose(found, whose, span)
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
        Err(Problem::new(
            span,
            format!("{} units could be meant here", left.len()),
            format!("say which: {}{more}", list.join(", ")),
        ))
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

    /// Size of one base of a unit across, and how many stand abreast.
    pub fn frontage(&self, unit: &UnitId) -> Option<(f64, u16)> {
        self.game
            .unit(unit)
            .map(|unit| (unit.base_mm.0, unit.files))
    }
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

/// Runs of letters and runs of digits, in small letters, a plural's `s` left off.
fn atoms(text: &str) -> Vec<String> {
    let mut atoms: Vec<String> = Vec::new();
    let mut before = None;
    for c in text.chars() {
        if matches!(c, '\'' | '’') {
            continue;
        }
        let kind = if c.is_ascii_digit() {
            Some(true)
        } else if c.is_alphanumeric() {
            Some(false)
        } else {
            None
        };
        if kind.is_some() {
            if kind != before {
                atoms.push(String::new());
            }
            if let Some(atom) = atoms.last_mut() {
                atom.extend(c.to_lowercase());
            }
        }
        before = kind;
    }
    for atom in &mut atoms {
        if atom.chars().count() > 3 && atom.ends_with('s') && !atom.ends_with("ss") {
            atom.pop();
        }
    }
    atoms
}

/// Atoms run together, figures kept apart from figures.
fn joined(atoms: impl IntoIterator<Item = impl AsRef<str>>) -> String {
    let is_figure = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
    atoms.into_iter().fold(String::new(), |mut all, atom| {
        let atom = atom.as_ref();
        if is_figure(all.chars().last()) && is_figure(atom.chars().next()) {
            all.push('.');
        }
        all.push_str(atom);
        all
    })
}

/// Whether each atom of a mark begins an atom of the name, in order; figures must be whole.
fn shortens(mark: &[String], name: &[String]) -> bool {
    let mut left = name.iter();
    mark.iter().all(|part| {
        let figures = part.starts_with(|c: char| c.is_ascii_digit());
        left.any(|atom| {
            if figures {
                atom == part
            } else {
                atom.starts_with(part.as_str())
            }
        })
    })
}
