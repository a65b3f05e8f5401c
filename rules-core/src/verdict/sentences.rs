//! The one place where reasons become sentences.

use super::Ruling;
use super::reason::{Amounts, Code, Reason};
use super::rounding::{tenths, to_hundredths};

/// The reason as a sentence for people.
pub(super) fn of(reason: &Reason) -> String {
    let (limit, measured) = figures(reason.amounts());
    let excess = shown(reason.excess());
    let other = reason.other().unwrap_or("another unit");
    let is_count = matches!(reason.amounts(), Amounts::Count { .. });
    let sentence = match reason.code() {
        Code::NotInPhase => "This cannot be ordered now".to_owned(),
        Code::NoSuchUnit => format!("There is no unit {other} to order on the table"),
        Code::NotYourUnit => format!("{other} belongs to the other side"),
        Code::MovedAlready => format!("{other} has an order already"),
        Code::NotPossible => "This cannot be done".to_owned(),
        Code::Locked => locked(reason, other),
        Code::OutOfCommand => format!(
            "It is out of command and may not come within {limit} of {other}; this comes to {measured}"
        ),
        Code::AngleTooLarge => {
            format!("An angle of {measured} is {excess}° more than the {limit} allowed")
        }
        Code::OffTable => format!("It leaves the table over the {other} edge by {measured}"),
        Code::Impassable => format!("It runs {measured} into {other}, which is impassable"),
        Code::EnemyContact => format!("It overlaps {other} by {excess} mm"),
        Code::EnemyZone if is_count => format!("It must stop at the halt zone of {other}"),
        Code::EnemyZone => format!(
            "It must stop at the halt zone of {other}, {limit} away; this goes on to {measured}"
        ),
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
fn locked(reason: &Reason, other: &str) -> String {
    let (limit, measured) = figures(reason.amounts());
    let held =
        format!("It began in the halt zone of {other} and may only align or close straight in");
    match reason.amounts() {
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

/// A figure in tenths, taken from the hundredths of the wire: a reason read back says the same.
fn shown(value: f64) -> String {
    tenths(to_hundredths(value))
}

/// Limit and measurement with their unit.
fn figures(amounts: Amounts) -> (String, String) {
    match amounts {
        Amounts::Millimetres { limit, measured } => (
            format!("{} mm", shown(limit)),
            format!("{} mm", shown(measured)),
        ),
        Amounts::Degrees { limit, measured } => (
            format!("{}°", shown(limit)),
            format!("{}°", shown(measured)),
        ),
        Amounts::Count { limit, measured } => (limit.to_string(), measured.to_string()),
    }
}
