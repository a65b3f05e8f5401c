//! The clock by example and by property; the calendar's own facts are checked against dates worked by hand.

use crate::game::{DiceProof, Ending, WhenOut};
use crate::orders::SideId;
use proptest::prelude::*;

use super::*;

fn rules() -> ClockRules {
    ClockRules {
        days_per_turn: 3,
        days_at_start: 2,
        most_saved: None,
        double_after: None,
        leave_days: 10,
        remind_days: vec![2, 1],
        when_out: WhenOut::Claim,
    }
}

fn at(text: &str) -> Timestamp {
    text.parse().expect("a moment")
}

fn side(key: &str) -> SideId {
    SideId(key.to_owned())
}

fn seat(key: &str) -> Event {
    Event::SeatTaken {
        side: side(key),
        player: key.to_owned(),
        seat: None,
        key: None,
    }
}

fn closed() -> Event {
    Event::TurnClosed {
        asked: Vec::new(),
        dice: DiceProof {
            player_turn: 1,
            attempt: Some(1),
            secret: String::new(),
            number: String::new(),
            throws: None,
        },
        commitment: String::new(),
        holders: Vec::new(),
    }
}

fn leave(key: &str, from: &str, days: u16) -> Event {
    Event::LeaveTaken {
        side: side(key),
        from: from.to_owned(),
        days,
    }
}

/// A game whose second seat was taken at that moment; Red moves first.
fn begun(rules: ClockRules, zone: &str, start: &str) -> Clock {
    let mut clock = Clock::new(&["red".to_owned(), "blue".to_owned()], "red");
    let set = Event::ClockSet { clock: rules };
    clock.apply(&set, at("2026-01-01T00:00:00Z"), Some("red"));
    clock.apply(&seat("blue"), at("2026-01-01T00:00:00Z"), Some("red"));
    let zone = Event::ZoneSet {
        side: side("red"),
        zone: zone.to_owned(),
    };
    clock.apply(&zone, at("2026-01-01T00:00:00Z"), Some("red"));
    assert_eq!(
        clock.due(),
        None,
        "nobody's clock runs before both have come"
    );
    clock.apply(&seat("red"), at(start), Some("red"));
    clock
}

#[test]
fn a_turn_has_its_days_and_those_saved() {
    let mut clock = begun(rules(), "UTC", "2026-03-01T19:00:00Z");
    assert_eq!(clock.due(), Some(at("2026-03-06T19:00:00Z")));
    assert_eq!(clock.days_left(at("2026-03-01T19:00:00Z")), Some(5));
    assert_eq!(clock.days_left(at("2026-03-02T18:59:59Z")), Some(4));
    // answered after a day and a half: one day is charged, four are saved
    clock.apply(&closed(), at("2026-03-03T07:00:00Z"), Some("blue"));
    assert_eq!(clock.saved("red"), Some(4));
    assert_eq!(clock.to_move(), Some("blue"));
    assert_eq!(clock.due(), Some(at("2026-03-08T07:00:00Z")));
    clock.apply(&closed(), at("2026-03-03T08:00:00Z"), Some("red"));
    assert_eq!(clock.saved("blue"), Some(5));
    assert_eq!(clock.due(), Some(at("2026-03-10T08:00:00Z")));
}

#[test]
fn what_is_saved_has_a_limit_and_a_late_turn_saves_nothing() {
    let mut clock = begun(
        ClockRules {
            most_saved: Some(3),
            ..rules()
        },
        "UTC",
        "2026-03-01T00:00:00Z",
    );
    clock.apply(&closed(), at("2026-03-01T01:00:00Z"), Some("blue"));
    assert_eq!(clock.saved("red"), Some(3));
    assert!(clock.is_out(at("2026-03-06T01:00:00Z")));
    assert!(!clock.is_out(at("2026-03-06T00:59:59Z")));
    clock.apply(&closed(), at("2026-03-20T00:00:00Z"), Some("red"));
    assert_eq!(clock.saved("blue"), Some(0));
}

#[test]
fn days_after_long_thought_count_double() {
    let mut clock = begun(
        ClockRules {
            days_at_start: 27,
            double_after: Some(20),
            ..rules()
        },
        "UTC",
        "2026-03-01T00:00:00Z",
    );
    // 30 days: 20, and 10 more are used up in 5
    assert_eq!(clock.due(), Some(at("2026-03-26T00:00:00Z")));
    // 23 whole days are charged as 26
    clock.apply(&closed(), at("2026-03-24T23:00:00Z"), Some("blue"));
    assert_eq!(clock.saved("red"), Some(4));
}

/// Europe's clocks went forward on 29 March 2026 (the last Sunday of March), America's back on 1 November
/// (the first Sunday of November): worked from the calendar.
#[test]
fn a_day_is_a_day_when_the_clocks_change() {
    let clock = begun(rules(), "Europe/Berlin", "2026-03-27T19:00:00Z");
    // eight in the evening before and after: 19:00 UTC, then 18:00 UTC
    assert_eq!(clock.due(), Some(at("2026-04-01T18:00:00Z")));
    let clock = begun(rules(), "America/New_York", "2026-10-30T12:00:00Z");
    assert_eq!(clock.due(), Some(at("2026-11-04T13:00:00Z")));
}

#[test]
fn days_of_leave_are_days_of_the_players_own_calendar() {
    let mut clock = begun(rules(), "Asia/Tokyo", "2026-05-01T00:00:00Z");
    // nine in the morning of 1 May there; leave on the 3rd and 4th
    clock.apply(
        &leave("red", "2026-05-03", 2),
        at("2026-05-01T01:00:00Z"),
        Some("red"),
    );
    assert_eq!(clock.due(), Some(at("2026-05-08T00:00:00Z")));
    // on the evening of the 4th two days and fifteen hours less leave have gone by: one day and 15 hours
    assert_eq!(clock.days_left(at("2026-05-04T10:00:00Z")), Some(3));
    assert_eq!(clock.leave_left("red", 2026), 8);
}

#[test]
fn leave_is_not_stretched_by_changing_zone() {
    // From the east of the date line to the west of it is 26 hours: each midnight comes so much later there.
    let zones = ["Pacific/Kiritimati", "Asia/Tokyo", "UTC", "Etc/GMT+12"];
    for there in zones {
        let mut clock = begun(rules(), there, "2026-05-01T00:00:00Z");
        let taken = at("2026-05-01T01:00:00Z");
        clock.apply(&leave("red", "2026-05-03", 2), taken, Some("red"));
        let due = clock.due().expect("it runs");
        for (hours, zone) in (0..).zip(zones) {
            // On a day of leave, and to and fro.
            let now = at("2026-05-04T03:00:00Z") + Span::new().hours(hours);
            let went = Event::ZoneSet {
                side: side("red"),
                zone: zone.to_owned(),
            };
            clock.apply(&went, now, Some("red"));
            assert_eq!(clock.due(), Some(due), "from {there} to {zone}");
            assert_eq!(
                clock.leave("red").next().map(|(.., zone)| zone.to_owned()),
                Some(there.to_owned())
            );
        }
    }
}

#[test]
fn leave_is_refused_with_a_reason() {
    let mut clock = begun(rules(), "UTC", "2026-05-01T00:00:00Z");
    let now = at("2026-05-01T12:00:00Z");
    let date = |text: &str| text.parse::<Date>().expect("a date");
    clock.apply(&leave("red", "2026-06-01", 6), now, Some("red"));
    let may = |from: &str, days| clock.may_take("red", date(from), days, now);
    assert_eq!(may("2026-05-01", 1), Ok(()));
    assert_eq!(may("2026-05-01", 0), Err(LeaveError::NotDays));
    assert_eq!(
        may("2026-04-30", 1),
        Err(LeaveError::Past(date("2026-05-01")))
    );
    assert_eq!(may("2027-06-01", 1), Err(LeaveError::TooFar));
    assert_eq!(
        may("2026-05-30", 3),
        Err(LeaveError::Overlaps(date("2026-06-01")))
    );
    let too_many = LeaveError::TooMany {
        year: 2026,
        left: 4,
    };
    assert_eq!(may("2026-07-01", 5), Err(too_many));
    // over the turn of the year each year pays its own
    assert_eq!(may("2026-12-28", 14), Ok(()));
}

#[test]
fn a_pause_stops_every_clock() {
    let mut clock = begun(rules(), "UTC", "2026-03-01T00:00:00Z");
    let why = || "both agreed".to_owned();
    clock.apply(
        &Event::Paused { why: why() },
        at("2026-03-02T00:00:00Z"),
        Some("red"),
    );
    assert!(clock.is_paused() && clock.due().is_none());
    assert_eq!(clock.days_left(at("2026-04-02T00:00:00Z")), Some(4));
    clock.apply(
        &Event::Resumed { why: why() },
        at("2026-04-01T00:00:00Z"),
        Some("red"),
    );
    assert_eq!(clock.due(), Some(at("2026-04-05T00:00:00Z")));
}

#[test]
fn more_time_from_the_umpire_moves_the_deadline() {
    let mut clock = begun(rules(), "UTC", "2026-03-01T00:00:00Z");
    let more = Event::DeadlineMoved {
        side: side("red"),
        days: 4,
        reason: "ill".to_owned(),
    };
    clock.apply(&more, at("2026-03-05T00:00:00Z"), Some("red"));
    assert_eq!(clock.due(), Some(at("2026-03-10T00:00:00Z")));
}

#[test]
fn a_clock_set_while_they_play_begins_then() {
    let mut clock = Clock::new(&["red".to_owned(), "blue".to_owned()], "red");
    for key in ["red", "blue"] {
        clock.apply(&seat(key), at("2026-01-01T00:00:00Z"), Some("red"));
    }
    assert_eq!(
        (clock.due(), clock.wake_at(at("2026-01-01T00:00:00Z"))),
        (None, None)
    );
    let set = Event::ClockSet { clock: rules() };
    clock.apply(&set, at("2026-02-01T00:00:00Z"), Some("red"));
    assert_eq!(clock.due(), Some(at("2026-02-06T00:00:00Z")));
    let longer = ClockRules {
        days_per_turn: 10,
        ..rules()
    };
    let set = Event::ClockSet { clock: longer };
    clock.apply(&set, at("2026-02-03T00:00:00Z"), Some("red"));
    assert_eq!(clock.due(), Some(at("2026-02-13T00:00:00Z")));
}

#[test]
fn it_wakes_for_each_reminder_and_then_when_time_is_out() {
    let clock = begun(rules(), "UTC", "2026-03-01T00:00:00Z");
    let mut now = at("2026-03-01T00:00:00Z");
    let mut woken = Vec::new();
    for _ in 0..3 {
        now = clock.wake_at(now).expect("it runs");
        woken.push(now.to_string());
    }
    assert_eq!(
        woken,
        [
            "2026-03-04T00:00:00Z",
            "2026-03-05T00:00:00Z",
            "2026-03-06T00:00:00Z"
        ]
    );
    assert_eq!(clock.wake_at(now), clock.due(), "late is still due");
}

#[test]
fn the_end_stops_the_clock() {
    let mut clock = begun(rules(), "UTC", "2026-03-01T00:00:00Z");
    let end = Event::GameEnded {
        ending: Ending {
            winner: None,
            why: String::new(),
            scores: Vec::new(),
        },
        opened: Vec::new(),
    };
    clock.apply(&end, at("2026-03-02T00:00:00Z"), None);
    assert_eq!((clock.due(), clock.to_move()), (None, None));
}

const ZONES: [&str; 6] = [
    "UTC",
    "Europe/Berlin",
    "America/St_Johns",
    "Australia/Lord_Howe",
    "Asia/Kathmandu",
    "Pacific/Apia",
];

proptest! {
    #![proptest_config(ProptestConfig { cases: 3000, ..ProptestConfig::default() })]

    /// A second before it is due there is time, at that second there is none, and what was charged by
    /// then never exceeds what there was, wherever the player lives, with leave and double counting.
    #[test]
    fn due_is_when_the_time_is_used_up(
        start in 1_700_000_000_i64..1_900_000_000,
        zone in 0..ZONES.len(),
        per_turn in 1_u16..40,
        saved in 0_u16..40,
        double_after in proptest::option::of(1_u16..30),
        leave_after in 0_i32..40,
        leave_days in 1_u16..20,
        back in 1_i64..4_000_000,
    ) {
        let rules = ClockRules {
            days_per_turn: per_turn,
            days_at_start: saved,
            double_after,
            leave_days: 366,
            ..rules()
        };
        let start = Timestamp::from_second(start).expect("a moment");
        let mut clock = begun(rules, ZONES[zone], &start.to_string());
        let first = clock.today("red", start).expect("a day");
        let from = first.checked_add(Span::new().days(leave_after)).expect("a day");
        clock.apply(&leave("red", &from.to_string(), leave_days), start, Some("red"));
        let due = clock.due().expect("it runs");
        prop_assert!(clock.is_out(due));
        prop_assert_eq!(clock.days_left(due), Some(0));
        let before = due - jiff::SignedDuration::from_secs(1);
        prop_assert!(before < start || !clock.is_out(before));
        let early = due - jiff::SignedDuration::from_secs(back);
        if early >= start {
            let mut answered = clock.clone();
            answered.apply(&closed(), early, Some("blue"));
            let left = answered.saved("red").expect("a side");
            prop_assert!(left >= 0 && left <= i64::from(per_turn + saved));
            // nobody gains by answering later
            let mut later = clock.clone();
            later.apply(&closed(), before, Some("blue"));
            prop_assert!(later.saved("red").expect("a side") <= left);
        }
    }
}
