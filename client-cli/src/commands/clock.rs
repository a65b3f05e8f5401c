//! `clock`.

use fieldpost_rules::record::PostingKind;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use serde_json::{Value, json};
use ureq::http::Method;

use super::news::paragraphs;
use super::session::{GameSession, Refresh};
use crate::arguments::{ClockArgs, ClockCommand, CommonArgs};
use crate::context::Context;
use crate::error::{CliError, CliResult};
use crate::output::Output;
use crate::wire::{ClockPage, ClockSide, Done};

/// Shows the clock, or does something about it.
///
/// # Errors
/// When the server refuses.
pub fn clock(args: &ClockArgs, common: &CommonArgs, output: Output) -> CliResult {
    let Some(command) = &args.command else {
        return show(common, output);
    };
    let (kind, method, rest, body) = match command {
        ClockCommand::Zone { zone } => {
            let zone = zone.clone().or_else(own_zone).ok_or_else(|| {
                CliError::Usage(
                    "this machine does not say where it is; name a zone, as in Europe/Lisbon"
                        .to_owned(),
                )
            })?;
            (
                PostingKind::Zone,
                Method::PUT,
                "clock/zone",
                json!({ "zone": zone }),
            )
        }
        ClockCommand::Leave { from, days } => {
            let leave = json!({ "from": from, "days": days });
            (PostingKind::Leave, Method::POST, "clock/leave", leave)
        }
        ClockCommand::Pause => (PostingKind::Pause, Method::POST, "clock/pause", Value::Null),
        ClockCommand::Resume => (
            PostingKind::Resume,
            Method::POST,
            "clock/resume",
            Value::Null,
        ),
        ClockCommand::Claim => (PostingKind::Claim, Method::POST, "clock/claim", Value::Null),
        ClockCommand::Set(flags) => {
            let rules = flags.rules().ok_or_else(|| {
                CliError::Usage("how many days does a turn get? Say --days DAYS".to_owned())
            })?;
            (PostingKind::Clock, Method::PUT, "clock", json!(rules))
        }
    };
    post_and_report(common, kind, (&method, rest), &body, output)
}

/// Posts something that is done beside the sheets, and tells what came of it.
pub(super) fn post_and_report(
    common: &CommonArgs,
    kind: PostingKind,
    (method, rest): (&Method, &str),
    body: &Value,
    output: Output,
) -> CliResult {
    let mut session = GameSession::open(common, Refresh::Always, output)?;
    if matches!(kind, PostingKind::Ruling | PostingKind::Clock) {
        session.seat_organiser(output)?;
    }
    let text = body.to_string();
    let body = (!body.is_null()).then_some(text.as_bytes());
    let done = session.post(kind, method, rest, body)?;
    output.result(&done, || done_in_words(&done))
}

/// What came of it; how the clocks stand only where there are clocks.
pub(super) fn done_in_words(done: &Done) -> String {
    if done.news.is_empty() {
        return "It was so already.".to_owned();
    }
    let news = paragraphs(&done.news);
    match done.clock.rules {
        Some(_) => format!("{news}\n{}", clock_in_words(&done.clock)),
        None => news,
    }
}

fn show(common: &CommonArgs, output: Output) -> CliResult {
    let context = Context::load(common)?;
    let client = context.connect(output)?;
    let clock: ClockPage = client.get(format!("/v1/games/{}/clock", context.game()?))?;
    output.result(&clock, || clock_in_words(&clock))
}

/// The clock in words.
fn clock_in_words(clock: &ClockPage) -> String {
    let Some(rules) = &clock.rules else {
        return "The battle is played without a clock.".to_owned();
    };
    let mut lines = vec![running(clock)];
    for side in &clock.sides {
        lines.push(side_words(side, rules.leave_days));
    }
    lines.join("\n")
}

fn running(clock: &ClockPage) -> String {
    match (&clock.to_move, &clock.due) {
        (None, _) => "Nobody's clock runs.".to_owned(),
        (Some(_), None) => "The clocks stand.".to_owned(),
        (Some(side), Some(due)) if clock.is_out => {
            format!("The time of {side} is out since {}.", here(due))
        }
        (Some(side), Some(due)) => {
            let left = match clock.days_left {
                Some(0) | None => "its last day".to_owned(),
                Some(1) => "one whole day left".to_owned(),
                Some(days) => format!("{days} whole days left"),
            };
            format!("{side} has time until {} ({left}).", here(due))
        }
    }
}

fn side_words(side: &ClockSide, granted: u16) -> String {
    let mut words = format!(
        "  {}: {} saved; its days count by the clock of {}",
        side.side,
        days(side.saved),
        side.zone
    );
    for leave in &side.leave {
        words.push_str(&format!(
            "; leave from {} for {}",
            leave.from,
            days(leave.days.into())
        ));
        if !leave.zone.is_empty() && leave.zone != side.zone {
            words.push_str(&format!(" by the clock of {}", leave.zone));
        }
    }
    if granted > 0 {
        words.push_str(&format!(
            "; {} of leave left this year",
            days(side.leave_left)
        ));
    }
    if side.asks_pause {
        words.push_str("; asks for a pause");
    }
    words + "."
}

/// "1 day" or "3 days": the word agrees with its number.
fn days(count: i64) -> String {
    match count {
        1 => "1 day".to_owned(),
        count => format!("{count} days"),
    }
}

/// A moment as the clock on this wall shows it.
fn here(written: &str) -> String {
    let Ok(at) = written.parse::<Timestamp>() else {
        return written.to_owned();
    };
    let shown = at.to_zoned_datetime(TimeZone::system());
    shown.strftime("%a %-d %b %Y %H:%M %Z").to_string()
}

/// The time zone this machine says it is in.
#[must_use]
pub fn own_zone() -> Option<String> {
    TimeZone::system().iana_name().map(str::to_owned)
}

#[cfg(test)]
mod tests {
    use fieldpost_rules::game::{ClockRules, WhenOut};

    use super::*;

    fn done(rules: Value) -> Done {
        let side = json!({"side": "red", "zone": "UTC", "saved": 1, "leave_left": 1, "asks_pause": false,
            "leave": [{"from": "2026-07-31", "days": 1}]});
        serde_json::from_value(json!({
            "head": {"number": 4, "hash": "00"},
            "news": [{"number": 4, "at": "2026-07-30T10:00:00Z", "event": "dispute", "words": "Asked."}],
            "clock": {"rules": rules, "to_move": null, "due": null, "days_left": null, "is_out": false,
                "is_paused": false, "sides": [side]},
        }))
        .expect("as it travels")
    }

    #[test]
    fn the_clocks_are_told_where_there_are_any() {
        let told_of = |rules| done_in_words(&done(rules));
        assert!(!told_of(Value::Null).contains("clock"));
        let rules = ClockRules {
            days_per_turn: 3,
            days_at_start: 0,
            most_saved: None,
            double_after: None,
            leave_days: 14,
            remind_days: Vec::new(),
            when_out: WhenOut::Claim,
        };
        let words = told_of(json!(rules));
        for one in ["red: 1 day saved", "for 1 day;", "; 1 day of leave left"] {
            assert!(words.contains(one), "{one}: {words}");
        }
    }
}
