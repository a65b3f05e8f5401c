//! Remedies: orders near a refused one that would be legal.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::orders::{Extent, Leg};

use super::Place;
use super::rounding::{Apart, hundredths, ordered as shown, ordered_apart, tenths};

/// An order near a refused one that was judged in its place in the sheet and found legal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Remedy {
    /// What is changed.
    /// What was changed of the leg.
    /// What was changed of the leg.
    pub change: Change,
    /// The leg that is changed, from 0; of the path cut short, its last leg.
    pub leg: usize,
    /// How far the corner that is moved most then ends from where the order put it.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub off_mm: f64,
    /// The legs to order instead.
    pub legs: Vec<Leg>,
    /// Where they end.
    pub end: Place,
    /// The remedy in words.
    pub words: String,
}

/// What a remedy changes.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Change {
    /// The path is cut at the furthest place that is legal; later legs are left out.
    CutShort,
    /// One leg says *up to*.
    UpTo,
    /// One leg is shorter.
    Shorter,
    /// One leg has a smaller angle.
    SmallerAngle,
    /// One leg is left out.
    LeftOut,
    /// The block reformed to has the ranks that its bases need.
    OtherBlock,
}

/// What a remedy says of the leg it changes.
#[derive(Debug, Clone, Copy)]
pub struct ChangedLeg<'a> {
    /// What was changed of the leg.
    pub change: Change,
    /// The legs as ordered.
    pub ordered: &'a [Leg],
    /// The leg changed, from 0.
    pub leg: usize,
    /// That leg as it would be ordered; absent when it is left out.
    pub instead: Option<Leg>,
    /// Tape of that leg, and what stopped it if it says *up to*.
    pub stopped: Option<(f64, &'a str)>,
}

/// A remedy as a clause for people: "forward 84.0 mm instead of 120.0 mm, 36.0 mm less".
pub fn words(changed: &ChangedLeg<'_>) -> String {
    let Some(ordered) = changed.ordered.get(changed.leg) else {
        return String::new();
    };
    let number = changed.leg + 1;
    let place = if changed.ordered.len() > 1 {
        format!("leg {number}: ")
    } else {
        String::new()
    };
    let left = changed.ordered.len() - number;
    match (changed.change, changed.instead) {
        (Change::CutShort, instead) => {
            let cut = match instead {
                Some(leg) if leg != *ordered => instead_of(&leg, ordered),
                _ => "whole".to_owned(),
            };
            let rest = match left {
                0 => String::new(),
                1 => ", and the leg after it left out".to_owned(),
                more => format!(", and the {more} legs after it left out"),
            };
            format!("the furthest on this path: {place}{cut}{rest}")
        }
        (_, None) => format!("without leg {number}, {}", leg_words(ordered)),
        (Change::UpTo, Some(leg)) => {
            let stop = match changed.stopped {
                Some((tape_mm, what)) => {
                    format!(", which stops after {} mm ({what})", tenths(tape_mm))
                }
                None => String::new(),
            };
            format!("{place}{}{stop}", leg_words(&leg))
        }
        (_, Some(leg)) => format!("{place}{}", instead_of(&leg, ordered)),
    }
}

fn instead_of(leg: &Leg, ordered: &Leg) -> String {
    if let (Some(new), Some(old)) = (leg.extent(), ordered.extent())
        && new != old
    {
        let unit = unit(leg);
        let less = match (leg, new.amount(), old.amount()) {
            (Leg::Wheel { .. }, _, _) => String::new(),
            (_, Some(new), Some(old)) if new < old => {
                format!(", {}{unit} less", ordered_apart(new, old).by)
            }
            _ => String::new(),
        };
        let (new, old) = extents_apart(new, old, unit);
        return format!("{} {new} instead of {old}{less}", name(leg));
    }
    match (angle_deg(leg), angle_deg(ordered)) {
        (Some(new), Some(old)) => {
            let Apart { first, second, .. } = ordered_apart(new, old);
            format!("{} {first}° instead of {second}°", name(leg))
        }
        _ => format!("{} instead of {}", leg_words(leg), leg_words(ordered)),
    }
}

/// The angle of a leg that is no extent.
fn angle_deg(leg: &Leg) -> Option<f64> {
    match *leg {
        Leg::Oblique { angle_deg, .. } | Leg::Align { angle_deg, .. } => Some(angle_deg),
        _ => None,
    }
}

fn unit(leg: &Leg) -> &'static str {
    match leg {
        Leg::Wheel { .. } => "°",
        _ => " mm",
    }
}

fn name(leg: &Leg) -> String {
    match leg.side() {
        Some(side) => format!("{} {}", leg.name(), side.word()),
        None => leg.name().to_owned(),
    }
}

/// Two extents in words, their figures with as many decimals as it takes to see that they differ.
fn extents_apart(new: Extent, old: Extent, unit: &str) -> (String, String) {
    let (Some(first), Some(second)) = (new.amount(), old.amount()) else {
        return (extent_words(new, unit), extent_words(old, unit));
    };
    let figures = ordered_apart(first, second);
    let words = |extent: Extent, figure: String| {
        let up_to = if extent.is_up_to() { "up to " } else { "" };
        format!("{up_to}{figure}{unit}")
    };
    (words(new, figures.first), words(old, figures.second))
}

fn extent_words(extent: Extent, unit: &str) -> String {
    match extent {
        Extent::Exactly(amount) => format!("{}{unit}", shown(amount)),
        Extent::UpTo(amount) => format!("up to {}{unit}", shown(amount)),
        Extent::AsFarAsAllowed => "as far as allowed".to_owned(),
    }
}

/// A leg in words: "oblique left 30.0° up to 96.3 mm".
pub fn leg_words(leg: &Leg) -> String {
    let mut text = name(leg);
    if let Leg::Reform { files, ranks } = leg {
        text.push_str(&format!(" {files}×{ranks}"));
    }
    if let Some(angle_deg) = angle_deg(leg) {
        text.push_str(&format!(" {}°", shown(angle_deg)));
    }
    if let Some(extent) = leg.extent() {
        text.push_str(&format!(" {}", extent_words(extent, unit(leg))));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::orders::Hand;

    fn changed(change: Change, ordered: &[Leg], leg: usize, instead: Option<Leg>) -> String {
        words(&ChangedLeg {
            change,
            ordered,
            leg,
            instead,
            stopped: None,
        })
    }

    fn forward(distance_mm: f64) -> Leg {
        Leg::Forward {
            distance_mm: Extent::Exactly(distance_mm),
        }
    }

    fn wheel(angle_deg: f64) -> Leg {
        Leg::Wheel {
            side: Hand::Left,
            angle_deg: Extent::Exactly(angle_deg),
        }
    }

    #[test]
    fn the_clauses() {
        let one = [forward(120.0)];
        let two = [wheel(20.0), forward(120.0)];
        assert_eq!(
            changed(Change::Shorter, &one, 0, Some(forward(84.0))),
            "forward 84.0 mm instead of 120.0 mm, 36.0 mm less"
        );
        assert_eq!(
            changed(Change::SmallerAngle, &two, 0, Some(wheel(12.0))),
            "leg 1: wheel left 12.0° instead of 20.0°"
        );
        assert_eq!(
            changed(Change::CutShort, &two, 0, Some(wheel(20.0))),
            "the furthest on this path: leg 1: whole, and the leg after it left out"
        );
        assert_eq!(
            changed(Change::CutShort, &two, 1, Some(forward(96.3))),
            "the furthest on this path: leg 2: forward 96.3 mm instead of 120.0 mm, 23.7 mm less"
        );
        assert_eq!(
            changed(Change::LeftOut, &two, 0, None),
            "without leg 1, wheel left 20.0°"
        );
        let far = |extent| Leg::Forward {
            distance_mm: extent,
        };
        let ordered = [far(Extent::AsFarAsAllowed), Leg::About];
        assert_eq!(
            changed(Change::Shorter, &ordered, 0, Some(far(Extent::UpTo(88.7)))),
            "leg 1: forward up to 88.7 mm instead of as far as allowed"
        );
        assert_eq!(
            changed(Change::LeftOut, &ordered, 0, None),
            "without leg 1, forward as far as allowed"
        );
        let ordered = [far(Extent::UpTo(120.0))];
        assert_eq!(
            changed(Change::Shorter, &ordered, 0, Some(far(Extent::UpTo(88.7)))),
            "forward up to 88.7 mm instead of up to 120.0 mm, 31.3 mm less"
        );
        let finer = [forward(96.34)];
        assert_eq!(
            changed(Change::Shorter, &finer, 0, Some(forward(96.3))),
            "forward 96.30 mm instead of 96.34 mm, 0.04 mm less"
        );
        let stopped = ChangedLeg {
            change: Change::UpTo,
            ordered: &one,
            leg: 0,
            instead: Some(Leg::Forward {
                distance_mm: Extent::UpTo(120.0),
            }),
            stopped: Some((96.34, "halt zone of b1")),
        };
        assert_eq!(
            words(&stopped),
            "forward up to 120.0 mm, which stops after 96.3 mm (halt zone of b1)"
        );
    }
}
