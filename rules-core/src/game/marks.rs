//! Short marks of units: what fits beside a unit on a picture and in a line of a key.

use std::collections::{BTreeMap, BTreeSet};

use crate::game::{Game, Unit};
use crate::orders::UnitId;

use crate::sanitize::plain;

/// A short mark for every unit, unique in the game: the side's initial and the number its id
/// ends in, as `R3` for `red-3`; letters where there is no number, as `RC` for `red-chief`.
#[must_use]
pub fn marks(game: &Game) -> BTreeMap<UnitId, String> {
    let initials = side_initials(game);
    let mut taken = BTreeSet::new();
    let mut found = BTreeMap::new();
    for unit in game.units() {
        let initial = &initials[unit.side % 2];
        let side = &game.scenario().side[unit.side % 2].key;
        let mark = candidates(unit, side, initial)
            .find(|mark| !taken.contains(mark))
            .unwrap_or_else(|| unit.id.0.clone());
        taken.insert(mark.clone());
        found.insert(unit.id.clone(), mark);
    }
    found
}

/// One capital letter a side; the second letter too where both begin alike.
fn side_initials(game: &Game) -> [String; 2] {
    let key = |index: usize| -> Vec<char> {
        plain(&game.scenario().side[index].key)
            .to_uppercase()
            .chars()
            .filter(|c| c.is_alphanumeric())
            .collect()
    };
    let (first, second) = (key(0), key(1));
    let differ = first.iter().zip(&second).position(|(a, b)| a != b);
    let upto = differ.map_or(1, |at| at.min(2) + 1);
    let initial = |key: &[char], fallback: &str| {
        let letters: String = key.iter().take(upto).collect();
        if letters.is_empty() {
            fallback.to_owned()
        } else {
            letters
        }
    };
    [initial(&first, "A"), initial(&second, "B")]
}

fn candidates<'a>(
    unit: &Unit,
    side_key: &str,
    initial: &'a str,
) -> impl Iterator<Item = String> + 'a {
    let id = plain(&unit.id.0);
    let own = id
        .strip_prefix(side_key)
        .unwrap_or(&id)
        .trim_matches(|c: char| !c.is_alphanumeric())
        .to_owned();
    let digits: String = {
        let tail: Vec<char> = own.chars().rev().take_while(char::is_ascii_digit).collect();
        tail.into_iter().rev().collect()
    };
    let letters: Vec<char> = own
        .to_uppercase()
        .chars()
        .filter(|c| c.is_alphanumeric())
        .collect();
    let by_number = (!digits.is_empty() && digits.len() <= 3).then(|| format!("{initial}{digits}"));
    let by_letters = (1..=3).map(move |count| {
        let some: String = letters.iter().take(count).collect();
        format!("{initial}{some}")
    });
    by_number
        .into_iter()
        .chain(by_letters)
        .chain((1..10_000).map(move |number| format!("{initial}{number}")))
}
