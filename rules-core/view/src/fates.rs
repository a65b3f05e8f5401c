//! What became of a unit that is gone, in a word or two beside its name.

use fieldpost_rules::game::{Cause, Unit};

/// What became of a unit; `None` while it waits or stands.
pub(super) fn fate(unit: &Unit) -> Option<&'static str> {
    let fieldpost_rules::game::State::Gone(cause) = &unit.state else {
        return None;
    };
    Some(match cause {
        Cause::NoBasesLeft => "destroyed",
        Cause::Eliminated => "broken",
        Cause::Surrounded => "surrounded",
        Cause::NoWayOpen => "cut off",
        Cause::OffTable => "driven off",
        Cause::CommanderTaken => "taken",
        Cause::Exited => "left",
    })
}
