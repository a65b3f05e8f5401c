//! What the ground does for a defender: the patch it stands on, the line before it.

use crate::game::{Game, GroundLine, GroundPatch};
use crate::geometry::{
    ContactKind, Footprint, Location, Path, Point, Separation, Side, TOUCH_MM, crossings, larger,
    smaller,
};

/// Reach of the check beyond the nearest places when the tolerance is 0, in millimetres: twice what storing
/// can do, once for whoever is drawn up to a line and once to be beyond it.
const LEAST_REACH_MM: f64 = 2.0 * TOUCH_MM;

/// What helps or hurts a defender.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Help {
    /// Factor on its strength.
    pub factor: f64,
    /// Columns; negative favours it.
    pub shift: i32,
    /// Name of what gives the factor, with the name of its kind.
    pub factor_from: String,
    /// Name of what gives the shift.
    pub shift_from: String,
}

impl Help {
    fn none() -> Self {
        Self {
            factor: 1.0,
            shift: 0,
            factor_from: String::new(),
            shift_from: String::new(),
        }
    }

    /// The best for the defender of several: the highest factor and, apart from it, the lowest
    /// shift. They do not add up.
    fn best(offers: impl IntoIterator<Item = (f64, i32, String)>) -> Self {
        let mut best: Option<Self> = None;
        for (factor, shift, name) in offers {
            match &mut best {
                None => {
                    best = Some(Self {
                        factor,
                        shift,
                        factor_from: name.clone(),
                        shift_from: name,
                    });
                }
                Some(best) => {
                    if factor > best.factor {
                        best.factor = factor;
                        best.factor_from.clone_from(&name);
                    }
                    if shift < best.shift {
                        best.shift = shift;
                        best.shift_from = name;
                    }
                }
            }
        }
        best.unwrap_or_else(Self::none)
    }
}

/// Patches that a block stands on: those that hold its middle, edge included.
pub(crate) fn patches_under<'a>(
    game: &'a Game,
    footprint: &Footprint,
) -> impl Iterator<Item = &'a GroundPatch> {
    let middle = footprint.centre;
    game.ground()
        .patches
        .iter()
        .filter(move |patch| patch.outline.locate(middle) != Location::Outside)
}

/// Whether a block stands on high ground.
pub(crate) fn is_high(game: &Game, footprint: &Footprint) -> bool {
    patches_under(game, footprint).any(|patch| patch.kind.high)
}

/// What the patch does that a defender stands on.
pub(crate) fn of_patches(game: &Game, defender: &Footprint) -> Help {
    Help::best(patches_under(game, defender).map(|patch| {
        (
            patch.kind.defence,
            patch.kind.shift,
            format!("{} ({})", patch.name, patch.kind_name),
        )
    }))
}

/// What lines do for a defender: those that lie between it and every one of the attackers.
/// `attacks` holds the nearest places of attacker and defender for each.
pub(crate) fn of_lines(game: &Game, attacks: &[Separation]) -> Help {
    let reach_mm = larger(game.ruleset().scale.tolerance_mm, LEAST_REACH_MM);
    let between = |line: &&GroundLine| {
        !attacks.is_empty()
            && attacks.iter().all(|nearest| {
                let from = nearest.on_first - nearest.normal * reach_mm;
                let to = nearest.on_second + nearest.normal * reach_mm;
                is_across(line, from, to)
            })
    };
    Help::best(
        game.ground()
            .lines
            .iter()
            .filter(between)
            .map(|line| (line.kind.defence, line.kind.shift, line.name.clone())),
    )
}

/// Whether a tape goes across a line outside its bridges, fords and gaps; over a slope edge,
/// whether it goes uphill: to the left of its drawing.
pub(crate) fn is_across(line: &GroundLine, from: Point, to: Point) -> bool {
    crossings(&Path::Straight { from, to }, &line.course)
        .iter()
        .filter(|contact| contact.kind == ContactKind::Crosses)
        .filter(|contact| !line.kind.slope || contact.to_side == Some(Side::Left))
        .any(|contact| !is_in_span(line, contact.along_mm))
}

/// Whether a place along a line is in one of its bridges, fords and gaps, the ends included as nearly as
/// storing can tell.
pub(super) fn is_in_span(line: &GroundLine, along_mm: f64) -> bool {
    line.spans
        .iter()
        .any(|span| (span.from_mm - TOUCH_MM..=span.to_mm + TOUCH_MM).contains(&along_mm))
}

/// The part of a tape's end that lies within a length of the target, for gun fire from afar:
/// only what stands close before the target covers it.
pub(crate) fn last_part(nearest: Separation, length_mm: f64) -> Separation {
    let whole = larger(nearest.distance_mm, 0.0);
    let back = smaller(whole, length_mm);
    Separation {
        on_first: nearest.on_second - nearest.normal * back,
        ..nearest
    }
}

#[cfg(test)]
mod tests {
    use super::Help;

    #[test]
    fn the_best_of_each_counts_and_of_equals_the_first_is_named() {
        let offer = |factor, shift, name: &str| (factor, shift, name.to_owned());
        let best = Help::best([
            offer(1.5, 0, "Mound"),
            offer(2.0, 1, "Hill"),
            offer(2.0, -1, "Wall"),
            offer(1.0, -1, "Hedge"),
        ]);
        let expected = Help {
            factor: 2.0,
            shift: -1,
            factor_from: "Hill".to_owned(),
            shift_from: "Wall".to_owned(),
        };
        assert_eq!(best, expected);
        assert_eq!(Help::best([]), Help::none());
    }
}
