//! Verbs that agree with the names of units and sides.

use crate::places::called;
use fieldpost_rules::game::Game;
use fieldpost_rules::orders::UnitId;
use fieldpost_rules::verdict::rounding::amount;

/// The word that agrees with a unit: with its own name, whatever its side is called.
pub(super) fn verb<'a>(unit: &UnitId, one: &'a str, many: &'a str, game: &Game) -> &'a str {
    agreed(&called(game, unit), one, many)
}

/// The word that agrees with some units.
pub(super) fn verb_of<'a>(units: &[UnitId], one: &'a str, many: &'a str, game: &Game) -> &'a str {
    match units {
        [unit] => verb(unit, one, many, game),
        _ => many,
    }
}

/// The word that agrees with the name of a unit or a side: "Heath Lancers advance", "Orchard Foot
/// advances", "Army of the Marches stands".
#[must_use]
pub fn agreed<'a>(name: &str, one: &'a str, many: &'a str) -> &'a str {
    if is_plural(name) { many } else { one }
}

/// Whether a name is that of several: its head says so, not what it is "of".
pub(super) fn is_plural(name: &str) -> bool {
    let head = name.split(" of ").next().unwrap_or(name).trim_end();
    head.ends_with('s') && !head.ends_with("ss")
}

/// What a side has earned or an objective is worth: "1 point", "2.5 points".
pub(crate) fn points(worth: f64) -> String {
    let noun = if worth == 1.0 { "point" } else { "points" };
    format!("{} {noun}", amount(worth))
}

#[cfg(test)]
mod tests {
    use super::{agreed, points};

    #[test]
    fn one_point_is_no_points() {
        assert_eq!(
            [1.0, 0.0, 2.5].map(points),
            ["1 point", "0 points", "2.5 points"]
        );
    }

    #[test]
    fn a_verb_agrees_with_the_name() {
        for (name, verb) in [
            ("Orchard Foot", "advances"),
            ("Heath Lancers", "advance"),
            ("Keep Guns", "advance"),
            ("The Duchess", "advances"),
            ("Warden of the Marches", "advances"),
            ("Guns of the Vale", "advance"),
            ("The Hill Clans", "advance"),
            ("The Duchess of the Fens", "advances"),
        ] {
            assert_eq!(agreed(name, "advances", "advance"), verb, "{name}");
        }
    }
}
