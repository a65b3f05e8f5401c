//! The one place where reasons become sentences.

use super::Ruling;
use super::reason::{Amounts, Code, Reason};
use super::rounding::{apart, seen, tenths, to_hundredths};

/// The reason as a sentence for people.
pub(super) fn of(reason: &Reason) -> String {
    sentence(reason, &Figures::of(reason))
}

/// The reason as records of earlier versions have it: every figure in tenths, even where a difference is less.
pub(crate) fn in_tenths(reason: &Reason) -> String {
    sentence(reason, &Figures::in_tenths(reason))
}

/// What a sentence says of a limit and a measurement, each with its unit.
struct Figures {
    limit: String,
    measured: String,
    /// How far they are apart, without a unit.
    excess: String,
    /// How deep it is within what it must keep off, where it is.
    overlap: Option<String>,
}

impl Figures {
    /// With decimals until the difference can be seen. They are taken from the hundredths of the wire: a reason
    /// read back says the same.
    fn of(reason: &Reason) -> Self {
        let (limit, measured, unit) = match reason.amounts() {
            Amounts::Millimetres { limit, measured } => (limit, measured, " mm"),
            Amounts::Degrees { limit, measured } => (limit, measured, "°"),
            Amounts::Count { limit, measured } => {
                return Self::of_count(limit, measured, reason.excess());
            }
            Amounts::Unmeasured => return Self::none(),
        };
        let (limit, measured) = (to_hundredths(limit), to_hundredths(measured));
        let found = apart(limit, measured);
        let is_too_fine = limit.to_bits() == measured.to_bits();
        Self {
            limit: format!("{}{unit}", found.first),
            measured: format!("{}{unit}", found.second),
            // what was found to be broken is broken by something
            excess: if is_too_fine { seen(0.0) } else { found.by },
            overlap: (measured < 0.0).then(|| format!("{}{unit}", seen(-measured))),
        }
    }

    fn in_tenths(reason: &Reason) -> Self {
        let (limit, measured, unit) = match reason.amounts() {
            Amounts::Millimetres { limit, measured } => (limit, measured, " mm"),
            Amounts::Degrees { limit, measured } => (limit, measured, "°"),
            Amounts::Count { limit, measured } => {
                return Self::of_count(limit, measured, reason.excess());
            }
            Amounts::Unmeasured => return Self::none(),
        };
        Self {
            limit: format!("{}{unit}", tenths(limit)),
            measured: format!("{}{unit}", tenths(measured)),
            excess: tenths(reason.excess()),
            overlap: None,
        }
    }

    fn none() -> Self {
        Self {
            limit: String::new(),
            measured: String::new(),
            excess: String::new(),
            overlap: None,
        }
    }

    fn of_count(limit: u32, measured: u32, excess: f64) -> Self {
        Self {
            limit: limit.to_string(),
            measured: measured.to_string(),
            excess: tenths(excess),
            overlap: None,
        }
    }
}

fn sentence(reason: &Reason, figures: &Figures) -> String {
    let Figures {
        limit,
        measured,
        excess,
        overlap,
    } = figures;
    let other = reason.other().unwrap_or("another unit");
    let is_count = matches!(reason.amounts(), Amounts::Count { .. });
    let sentence = match reason.code() {
        Code::NotInPhase => "This cannot be ordered now".to_owned(),
        Code::NoSuchUnit => format!("There is no unit {other} to order on the table"),
        Code::NotYourUnit => format!("{other} belongs to the other side"),
        Code::MovedAlready => format!("{other} has an order already"),
        Code::NotPossible => "This cannot be done".to_owned(),
        Code::Locked => locked(reason, other, figures),
        Code::OutOfCommand if is_by_reach(reason) => format!(
            "It is out of command and may not come ahead of the line of {other}'s front, where its halt zone lies; this comes {measured} ahead of it"
        ),
        Code::OutOfCommand => {
            let comes = overlap.as_ref().map_or_else(
                || format!("this comes to {measured}"),
                |deep| format!("this overlaps it by {deep}"),
            );
            format!("It is out of command and may not come within {limit} of {other}; {comes}")
        }
        Code::AngleTooLarge => {
            format!("An angle of {measured} is {excess}° more than the {limit} allowed")
        }
        Code::OffTable => format!("It leaves the table over the {other} edge by {excess} mm"),
        Code::Impassable => format!("It runs {excess} mm into {other}, which is impassable"),
        Code::EnemyContact => format!("It overlaps {other} by {excess} mm"),
        Code::EnemyZone if is_count => format!("It must stop at the halt zone of {other}"),
        Code::EnemyZone if reason.is_without_figures() => {
            format!("It aligned in the halt zone of {other}, in which it did not begin")
        }
        Code::EnemyZone if is_outside(reason) => {
            format!(
                "It aligned in the halt zone of {other} {}",
                ends_outside(reason, figures)
            )
        }
        Code::EnemyZone if is_by_reach(reason) => format!(
            "It must stop at the line of {other}'s front, ahead of which its halt zone lies; this comes {measured} ahead of it"
        ),
        Code::EnemyZone => {
            let goes = overlap.as_ref().map_or_else(
                || format!("this goes on to {measured}"),
                |deep| format!("this goes on until it overlaps it by {deep}"),
            );
            format!("It must stop at the halt zone of {other}, {limit} away; {goes}")
        }
        Code::OverAllowance => {
            format!("It costs {measured} of an allowance of {limit}, {excess} mm too much")
        }
        Code::EndsOnFriend => format!("It ends overlapping {other} by {excess} mm"),
        Code::NotInStrikeZone => {
            format!("{other} is {measured} away, beyond the strike zone of {limit}")
        }
        Code::MustAttack => format!(
            "{other} has an enemy {measured} away, within its strike zone of {limit}, and must attack"
        ),
        Code::MustBeAttacked => format!(
            "{other} is {measured} away, within a strike zone of {limit}, and must be attacked"
        ),
        Code::AttacksTwice => format!("{other} is in {measured} battles; a unit fights in one"),
        Code::OutOfRange => format!("{other} is {measured} away, beyond the range of {limit}"),
        Code::GunInZone => format!(
            "Its enemy {other} is {measured} away, within its strike zone of {limit}, so these guns may not bombard"
        ),
        Code::NoJoiningAttack => {
            "A bombardment joins a battle that a unit other than guns fights, and there is none"
                .to_owned()
        }
        Code::NotAGun => format!("{other} is no gun unit, and only guns fire or bombard"),
        Code::NotInSight => format!("{other} is not in sight"),
    };
    match reason.remark() {
        Some(note) => format!("{sentence}: {note}."),
        None => format!("{sentence}."),
    }
}

/// Why a unit that an enemy's halt zone holds may not do this: it moves off, it does what is neither
/// aligning nor closing in, or it must be clear of the zone and is not.
fn locked(reason: &Reason, other: &str, figures: &Figures) -> String {
    let Figures {
        limit, measured, ..
    } = figures;
    let held =
        format!("It began in the halt zone of {other} and may only align or close straight in");
    if is_outside(reason) {
        return format!(
            "It began in the halt zone of {other} {}",
            ends_outside(reason, figures)
        );
    }
    match reason.amounts() {
        Amounts::Unmeasured => {
            format!("It began in the halt zone of {other} and may only align or move straight")
        }
        Amounts::Count { .. } => held,
        // what is marginal is played, and stands in records word for word
        Amounts::Millimetres {
            limit: mm,
            measured: ends_mm,
        } if ends_mm < mm && reason.ruling() == Ruling::Refused => {
            format!("It ends {measured} from {other} and must end beyond {limit}")
        }
        _ => format!("{held}; this takes it from {limit} to {measured} away"),
    }
}

/// What earlier laws told of a unit that went on after it had come to a zone; it stands in records word for word.
const WENT_ON: &str = "having reached the zone it may only align";

/// Whether a unit came too far ahead of the line of a front, where zones look ahead: its reach beyond a limit of 0.
fn is_by_reach(reason: &Reason) -> bool {
    matches!(reason.amounts(), Amounts::Millimetres { limit, .. } if limit == 0.0)
        && reason.remark() != Some(WENT_ON)
}

/// The remarks on a unit that ends outside a zone which it may not leave: too far off, or behind the line of a front.
pub(crate) const LEFT_ZONE: &str = "no leg may leave the zone";
pub(crate) const LEFT_ZONE_BEHIND: &str =
    "no leg may leave the zone, which lies ahead of the front";

fn is_outside(reason: &Reason) -> bool {
    matches!(reason.remark(), Some(LEFT_ZONE | LEFT_ZONE_BEHIND))
}

fn ends_outside(reason: &Reason, figures: &Figures) -> String {
    let Figures {
        limit, measured, ..
    } = figures;
    match reason.remark() {
        Some(LEFT_ZONE_BEHIND) => format!("and ends {measured} behind the line of its front"),
        _ => format!("and must end within {limit}; this ends {measured} away"),
    }
}
