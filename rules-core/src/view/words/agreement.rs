//! Verbs that agree with the names of units.

use crate::game::Game;
use crate::orders::UnitId;
use crate::view::places::called;

/// The word that agrees with some units.
pub(super) fn verb_of<'a>(units: &[UnitId], one: &'a str, many: &'a str, game: &Game) -> &'a str {
    match units {
        [unit] => agreed(&called(game, unit), one, many),
        _ => many,
    }
}

/// The word that agrees with a unit's name: "Heath Lancers advance", "Orchard Foot advances".
pub(super) fn agreed<'a>(name: &str, one: &'a str, many: &'a str) -> &'a str {
    let ends_plural = name.ends_with('s') && !name.ends_with("ss");
    if ends_plural { many } else { one }
}

#[cfg(test)]
mod tests {
    use super::agreed;

    #[test]
    fn a_verb_agrees_with_the_name() {
        for (name, verb) in [
            ("Orchard Foot", "advances"),
            ("Red’s Heath Lancers", "advance"),
            ("Keep Guns", "advance"),
            ("The Duchess", "advances"),
        ] {
            assert_eq!(agreed(name, "advances", "advance"), verb, "{name}");
        }
    }
}
