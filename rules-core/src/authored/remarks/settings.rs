//! Remarks on settings of a ruleset that do nothing, or do away with what they set.

use crate::ruleset::{Arm, Ruleset};

use super::super::findings::Findings;
use super::super::place::Place;

/// Remarks on every such setting.
pub(super) fn check(ruleset: &Ruleset, findings: &mut Findings<'_>) {
    on_sight(ruleset, findings);
    on_guns(ruleset, findings);
    on_free_movement(ruleset, findings);
    on_troops(ruleset, findings);
}

/// What hides or overlooks, where nothing asks who sees whom.
fn on_sight(ruleset: &Ruleset, findings: &mut Findings<'_>) {
    if ruleset.sight.is_some() {
        return;
    }
    let mut remark = |place: Place, setting: &str| {
        findings.fault(
            &place.key(setting),
            format!("{setting} does nothing: these rules have no [sight], and without it nobody asks who sees whom"),
            "leave it out, or add [sight] with its bands; how the ground looks is said by drawn_as",
        );
    };
    for (name, kind) in &ruleset.terrain {
        let place = || Place::of("terrain").key(name);
        if kind.blocks_sight {
            remark(place(), "blocks_sight");
        }
        if kind.high {
            remark(place(), "high");
        }
    }
    for (name, _) in ruleset.lines.iter().filter(|(_, kind)| kind.blocks_sight) {
        remark(Place::of("lines").key(name), "blocks_sight");
    }
}

fn on_guns(ruleset: &Ruleset, findings: &mut Findings<'_>) {
    let attacks = &ruleset.attacks;
    let excepted = Place::of("attacks").key("guns_excepted");
    if attacks.guns_excepted && !attacks.compulsory && findings.is_written(&excepted) {
        findings.fault(
            &excepted,
            "guns are excepted from a duty that nobody has: attacks are not compulsory",
            "leave it out, or set compulsory = true",
        );
    }
}

/// Charges of nothing: a move that costs nothing goes on to the table's edge.
fn on_free_movement(ruleset: &Ruleset, findings: &mut Findings<'_>) {
    let movement = &ruleset.movement;
    for (key, rate) in [
        ("forward", movement.forward),
        ("back", movement.back),
        ("sidestep", movement.sidestep),
        ("oblique", movement.oblique),
        ("wheel", movement.wheel),
    ] {
        if rate == 0.0 {
            findings.fault(
                &Place::of("movement").key(key),
                format!("{key} costs nothing, so that a unit may go on so as far as it likes"),
                "write 1 for what the tape measures, or more",
            );
        }
    }
    if let Some(least) = &movement.minimum_move
        && least.forward.mm(&ruleset.scale) <= 0.0
    {
        findings.fault(
            &Place::of("movement").key("minimum_move"),
            "a minimum move of no length grants nothing",
            "give its length, as in minimum_move = { forward = 1 }, or leave it out",
        );
    }
    for (name, kind) in &ruleset.terrain {
        if kind.rate == 0.0 && !kind.impassable {
            findings.fault(
                &Place::of("terrain").key(name).key("rate"),
                format!("tape over {name:?} costs nothing: units cross any width of it free"),
                "1 is open ground; write what a millimetre of it costs",
            );
        }
    }
}

fn on_troops(ruleset: &Ruleset, findings: &mut Findings<'_>) {
    for (name, troops) in &ruleset.troops {
        let place = Place::of("troops").key(name);
        if troops.movement_points == 0.0 {
            findings.fault(
                &place.key("movement_points"),
                format!("{name:?} can never move"),
                "give it movement points, if it is to move",
            );
        }
        let radius = troops.command_radius.as_ref();
        if troops.arm == Arm::Commander
            && radius.is_some_and(|radius| radius.mm(&ruleset.scale) <= 0.0)
        {
            findings.fault(
                &place.key("command_radius"),
                format!("{name:?} commands only units that touch it"),
                "give the radius in base widths, such as 8",
            );
        }
    }
}
