//! What callers ask for, held against what can be.

use fieldpost_rules::clock::zone_name;
use fieldpost_rules::game::ClockRules;

use super::{ServiceError, ServiceResult};

/// Refuses rules by which no clock can run.
pub(super) fn check_clock_rules(rules: &ClockRules) -> ServiceResult<()> {
    rules
        .check()
        .map_err(|fault| ServiceError::Unfit(format!("The clock cannot run so: {fault}.")))
}

/// The zone's name as the database of zones has it.
pub(super) fn time_zone_name(zone: &str) -> ServiceResult<String> {
    zone_name(zone).ok_or_else(|| {
        ServiceError::Unfit(
            "There is no such time zone; one is named as in Europe/Lisbon or UTC.".to_owned(),
        )
    })
}

/// The longest that spectators can be kept waiting: a week.
const LONGEST_DELAY_MINUTES: u32 = 7 * 24 * 60;

/// Refuses a delay that is longer than a week.
pub(super) fn check_delay(minutes: u32) -> ServiceResult<u32> {
    if minutes <= LONGEST_DELAY_MINUTES {
        Ok(minutes)
    } else {
        Err(ServiceError::DelayTooLong {
            requested: minutes,
            most: LONGEST_DELAY_MINUTES,
        })
    }
}

/// Refuses to speak of an event that is not in the record, whose last one is given.
pub(super) fn check_event_number(about: Option<u64>, last: u64) -> ServiceResult<()> {
    match about {
        Some(requested) if requested == 0 || requested > last => {
            Err(ServiceError::NoSuchEvent { requested, last })
        }
        _ => Ok(()),
    }
}
