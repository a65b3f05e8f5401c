//! What no schema can say of a ruleset.

use crate::ruleset::{Arm, Distance, LengthUnit, RangeBand, Ruleset, Scale, TroopType, Withdrawal};
use crate::verdict::rounding::{apart, hundredths_text};

use super::findings::Findings;
use super::place::Place;
use super::results;

/// Smallest side of a base in millimetres: anything less cannot be handled.
const LEAST_BASE_MM: f64 = 1.0;

/// Checks a ruleset that fits its schema.
pub(super) fn check(ruleset: &Ruleset, findings: &mut Findings<'_>) {
    check_scale(&ruleset.scale, findings);
    results::check(&ruleset.results, findings);
    if ruleset.troops.is_empty() {
        findings.fault(
            &Place::of("troops"),
            "there is no troop type",
            "define at least one, such as [troops.foot]",
        );
    }
    for (name, troops) in &ruleset.troops {
        let place = Place::of("troops").key(name);
        check_troops(name, troops, &ruleset.scale, &place, findings);
    }
    if let Some(sight) = &ruleset.sight {
        check_bands(&sight.bands, &ruleset.scale, findings);
    }
    if let Some(withdrawal) = &ruleset.withdrawal {
        check_withdrawal(withdrawal, findings);
    }
}

fn check_scale(scale: &Scale, findings: &mut Findings<'_>) {
    let place = Place::of("scale").key("movement_point");
    if scale.movement_point.unit == LengthUnit::MovementPoints {
        findings.fault(
            &place,
            "a movement point cannot be counted in movement points",
            "give its worth in base widths or in mm, such as \"40 mm\"",
        );
    } else if scale.movement_point_mm() <= 0.0 {
        findings.fault(
            &place,
            "a movement point that is worth nothing moves nobody",
            "give it a worth above 0; one base width is usual",
        );
    }
}

fn check_troops(
    name: &str,
    troops: &TroopType,
    scale: &Scale,
    place: &Place,
    findings: &mut Findings<'_>,
) {
    for (key, side) in [
        ("base_width", troops.base_width),
        ("base_depth", troops.base_depth),
    ] {
        check_base_side(key, side, scale, place, findings);
    }
    let commands = troops.arm == Arm::Commander;
    if commands && troops.strength_per_base > 0.0 {
        findings.fault(
            &place.key("strength_per_base"),
            format!("{name:?} is a commander and has strength"),
            "leave strength_per_base out; commanders do not fight",
        );
    } else if !commands && troops.strength_per_base <= 0.0 {
        findings.fault(
            &place.key("strength_per_base"),
            format!("{name:?} has no strength"),
            "set strength_per_base above 0; only commanders have none",
        );
    }
    match (commands, troops.command_radius) {
        (true, None) => findings.fault(
            place,
            format!("{name:?} is a commander without a command_radius"),
            "add command_radius, in base widths, such as command_radius = 8",
        ),
        (false, Some(_)) => findings.fault(
            &place.key("command_radius"),
            format!("{name:?} commands nobody, and yet has a command_radius"),
            "leave it out, or set arm = \"commander\"",
        ),
        _ => {}
    }
    if troops.arm != Arm::Guns && troops.bombard_range.is_some() {
        findings.fault(
            &place.key("bombard_range"),
            format!("{name:?} are no guns, and only guns bombard"),
            "leave it out, or set arm = \"guns\"",
        );
    }
}

fn check_base_side(
    key: &str,
    side: Distance,
    scale: &Scale,
    place: &Place,
    findings: &mut Findings<'_>,
) {
    let side_mm = side.mm(scale);
    if side_mm < LEAST_BASE_MM {
        findings.fault(
            &place.key(key),
            format!(
                "a base side of {} mm is too small to stand",
                hundredths_text(side_mm)
            ),
            format!("bases measure at least {LEAST_BASE_MM} mm each way"),
        );
    }
}

fn check_bands(bands: &[RangeBand], scale: &Scale, findings: &mut Findings<'_>) {
    let mut inner_mm = 0.0;
    for (index, band) in bands.iter().enumerate() {
        let outer_mm = band.within.mm(scale);
        if outer_mm <= inner_mm {
            let ends = apart(outer_mm, inner_mm);
            findings.fault(
                &Place::of("sight").key("bands").item(index).key("within"),
                format!(
                    "this band ends at {} mm, and the one before it at {} mm",
                    ends.first, ends.second
                ),
                "give the bands nearest first, each reaching farther than the last",
            );
        }
        inner_mm = outer_mm;
    }
}

fn check_withdrawal(withdrawal: &Withdrawal, findings: &mut Findings<'_>) {
    if withdrawal.costs_up_to > withdrawal.faces {
        findings.fault(
            &Place::of("withdrawal").key("costs_up_to"),
            format!(
                "no throw of a die with {} faces reaches {}",
                withdrawal.faces, withdrawal.costs_up_to
            ),
            format!(
                "write a number from 0 to {}; {} makes every throw cost bases",
                withdrawal.faces, withdrawal.faces
            ),
        );
    }
}
