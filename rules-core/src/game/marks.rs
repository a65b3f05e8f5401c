//! Short marks of units: what fits beside a unit on a picture and in a line of a key.

use std::collections::{BTreeMap, BTreeSet};

use crate::game::{Game, Unit};
use crate::orders::UnitId;

use crate::sanitize::plain;

/// A short mark for every unit, unique in the game: the scenario's own where it has one; else the side's initial and the
/// number its id ends in, as `R3` for `red-3`; letters where there is no number, as `RC` for `red-chief`.
#[must_use]
pub fn marks(game: &Game) -> BTreeMap<UnitId, String> {
    let initials = side_initials(game);
    let entries = game.scenario().unit.iter();
    let authored = entries.filter_map(|entry| {
        let mark = entry.mark.as_ref()?;
        Some((UnitId(entry.id.clone()), plain(mark)))
    });
    let mut found: BTreeMap<UnitId, String> = authored.collect();
    let mut taken: BTreeSet<String> = found.values().map(|mark| mark.to_uppercase()).collect();
    for unit in game.units() {
        if found.contains_key(&unit.id) {
            continue;
        }
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

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::authored::{open_battle, starter_ruleset, starter_scenario};

    /// The starter's battle with a mark for its first unit of that id.
    fn marked(id: &str, mark: &str) -> BTreeMap<UnitId, String> {
        let line = format!("id = {id:?}\n");
        let scenario = starter_scenario();
        assert!(scenario.contains(&line), "{id}");
        let scenario = scenario.replacen(&line, &format!("{line}mark = {mark:?}\n"), 1);
        let field = open_battle(("rules", starter_ruleset()), ("battle", &scenario));
        marks(&Game::new(Arc::new(
            field.unwrap_or_else(|faults| panic!("{faults}")),
        )))
    }

    #[test]
    fn a_mark_of_the_scenario_stands_and_takes_nobodys_place() {
        let mark = |all: &BTreeMap<UnitId, String>, id: &str| all[&UnitId(id.to_owned())].clone();
        let all = marked("red-1", "Gd");
        assert_eq!(mark(&all, "red-1"), "Gd");
        assert_eq!(mark(&all, "blue-1"), "B1");
        // what would have been made for another is made anew
        let all = marked("red-1", "b1");
        assert_eq!(mark(&all, "red-1"), "b1");
        assert_ne!(mark(&all, "blue-1"), "B1");
        let distinct: BTreeSet<String> = all.values().map(|mark| mark.to_uppercase()).collect();
        assert_eq!(distinct.len(), all.len());
    }
}
