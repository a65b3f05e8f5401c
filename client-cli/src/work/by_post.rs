//! `clock`, `concede`, `dispute` and `rule`: what is done beside the sheets.

use fieldpost_rules::game::Game;
use fieldpost_rules::orders::text::{TextFault, side_meant, unit_of_either};
use fieldpost_rules::record::{ORGANISER, PostingKind};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use serde_json::{Value, json};
use ureq::http::Method;

use super::news::paragraphs;
use super::story::{self, Story};
use crate::failure::{Failure, Outcome};
use crate::meant::Meant;
use crate::out::{Out, in_colour};
use crate::typed::{
    ClockArgs, ClockCommand, Common, ConsentArgs, DisputeArgs, RuleActions, RuleArgs,
};
use crate::wire::{ClockPage, ClockSide, Done};

/// Shows the clock, or does something about it.
///
/// # Errors
/// When the server refuses.
pub fn clock(args: &ClockArgs, common: &Common, out: Out) -> Outcome {
    let Some(command) = &args.command else {
        return show(common, out);
    };
    let (kind, method, rest, body) = match command {
        ClockCommand::Zone { zone } => {
            let zone = zone.clone().or_else(own_zone).ok_or_else(|| {
                Failure::Usage(
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
                Failure::Usage("how many days does a turn get? Say --days DAYS".to_owned())
            })?;
            (PostingKind::Clock, Method::PUT, "clock", json!(rules))
        }
    };
    done(common, kind, (&method, rest), &body, out)
}

/// Gives the battle up.
///
/// # Errors
/// When the server refuses.
pub fn concede(common: &Common, out: Out) -> Outcome {
    let route = (&Method::POST, "concession");
    done(common, PostingKind::Concession, route, &Value::Null, out)
}

/// Asks the umpire.
///
/// # Errors
/// When the server refuses.
pub fn dispute(args: &DisputeArgs, common: &Common, out: Out) -> Outcome {
    let mut body = json!({ "text": args.text });
    if let Some(about) = args.about {
        body["about"] = about.into();
    }
    done(
        common,
        PostingKind::Dispute,
        (&Method::POST, "disputes"),
        &body,
        out,
    )
}

/// Gives a ruling.
///
/// # Errors
/// When the server refuses.
pub fn rule(args: &RuleArgs, common: &Common, out: Out) -> Outcome {
    let mut body = json!({ "text": args.text });
    if let Some(about) = args.about {
        body["about"] = about.into();
    }
    if let Some(then) = action(&args.then, || table(common, out))? {
        body["then"] = then;
    }
    done(
        common,
        PostingKind::Ruling,
        (&Method::POST, "rulings"),
        &body,
        out,
    )
}

/// The table as it is, for what is named on it.
fn table(common: &Common, out: Out) -> Outcome<Game> {
    let story = Story::at_hand(common, story::Ask::only_if(true), out)?;
    story.record.game_after(None)
}

/// What is to be done besides, as it travels.
fn action(then: &RuleActions, table: impl Fn() -> Outcome<Game>) -> Outcome<Option<Value>> {
    let told = |fault: TextFault| Failure::NotValid(fault.drawn(in_colour()));
    if let Some(days) = then.more_days {
        return Ok(Some(json!({ "do": "more-time", "days": days })));
    }
    if let Some(winner) = &then.end {
        let winner = match winner.as_str() {
            "draw" => None,
            side => Some(side_meant(side, &table()?).map_err(told)?),
        };
        return Ok(Some(json!({ "do": "end", "winner": winner })));
    }
    if !then.place.is_empty() {
        let table = table()?;
        let mut units = Vec::new();
        // clap takes a unit and a place each time
        for pair in then.place.chunks(2) {
            let [unit, place] = pair else {
                return Err(Failure::Usage(
                    "say for each unit where it is put, as in --place red-3 412,233.5,45"
                        .to_owned(),
                ));
            };
            let place = place_meant(place)?;
            let unit = unit_of_either(unit, &table).map_err(told)?;
            units.push(json!({ "unit": unit, "place": place }));
        }
        return Ok(Some(json!({ "do": "correct", "units": units })));
    }
    let simple = [
        (then.pass, "pass"),
        (then.pause, "pause"),
        (then.resume, "resume"),
    ];
    let meant = simple.iter().find(|(is_meant, _)| *is_meant);
    Ok(meant.map(|(_, word)| json!({ "do": word })))
}

/// Three numbers as a place.
fn place_meant(place: &str) -> Outcome<Value> {
    let numbers: Option<Vec<f64>> = place
        .split(',')
        .map(|number| number.trim().parse().ok())
        .collect();
    let Some([x_mm, y_mm, bearing_deg]) = numbers.as_deref() else {
        return Err(Failure::Usage(format!(
            "{place:?} is no place; write mm from the west edge, mm from the south edge and the bearing, as in 412,233.5,45"
        )));
    };
    Ok(json!({ "x_mm": x_mm, "y_mm": y_mm, "bearing_deg": bearing_deg }))
}

/// Asks for something to be done and tells what came of it.
fn done(
    common: &Common,
    kind: PostingKind,
    (method, rest): (&Method, &str),
    body: &Value,
    out: Out,
) -> Outcome {
    let mut story = Story::at_hand(common, story::Ask::Server, out)?;
    if matches!(kind, PostingKind::Ruling | PostingKind::Clock) {
        story.seat_organiser(out)?;
    }
    let text = body.to_string();
    let body = (!body.is_null()).then_some(text.as_bytes());
    let done = story.post(kind, method, rest, body)?;
    out.result(&done, || told(&done))
}

/// Agrees that somebody who plays on the other side rules as well.
///
/// # Errors
/// When the server refuses.
pub fn consent(args: &ConsentArgs, common: &Common, out: Out) -> Outcome {
    let seat = args.seat_id.as_deref().unwrap_or(ORGANISER);
    let route = (&Method::POST, "rulings/acceptance");
    let body = json!({ "seat": seat });
    done(common, PostingKind::UmpireAccepted, route, &body, out)
}

/// What came of it; how the clocks stand only where there are clocks.
pub(super) fn told(done: &Done) -> String {
    if done.news.is_empty() {
        return "It was so already.".to_owned();
    }
    let news = paragraphs(&done.news);
    match done.clock.rules {
        Some(_) => format!("{news}\n{}", words(&done.clock)),
        None => news,
    }
}

fn show(common: &Common, out: Out) -> Outcome {
    let meant = Meant::by(common)?;
    let office = meant.office(out)?;
    let clock: ClockPage = office.get(format!("/v1/games/{}/clock", meant.game()?))?;
    out.result(&clock, || words(&clock))
}

/// The clock in words.
fn words(clock: &ClockPage) -> String {
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
    use crate::typed::{Command, Typed};

    fn table() -> Outcome<Game> {
        let battle = fieldpost_rules::shipped::find("withy-bridge").expect("it comes with it");
        Ok(Game::new(std::sync::Arc::new(
            battle.open().expect("it opens"),
        )))
    }

    fn then() -> RuleActions {
        RuleActions {
            more_days: None,
            pass: false,
            end: None,
            place: Vec::new(),
            pause: false,
            resume: false,
        }
    }

    #[test]
    fn an_action_travels_as_the_server_takes_it() {
        assert_eq!(action(&then(), table).expect("good"), None);
        let pass = RuleActions {
            pass: true,
            ..then()
        };
        assert_eq!(
            action(&pass, table).expect("good"),
            Some(json!({"do": "pass"}))
        );
        let draw = RuleActions {
            end: Some("draw".to_owned()),
            ..then()
        };
        assert_eq!(
            action(&draw, table).expect("good"),
            Some(json!({"do": "end", "winner": null}))
        );
        let at = |place: &str| RuleActions {
            place: vec!["Red-Chief".to_owned(), place.to_owned()],
            ..then()
        };
        let placed = json!({"do": "correct", "units": [
            {"unit": "red-chief", "place": {"x_mm": 412.0, "y_mm": 233.5, "bearing_deg": 45.0}}]});
        assert_eq!(
            action(&at("412, 233.5,45"), table).expect("good"),
            Some(placed)
        );
        let ends = |winner: &str| RuleActions {
            end: Some(winner.to_owned()),
            ..then()
        };
        assert_eq!(
            action(&ends("Blue"), table).expect("good"),
            Some(json!({"do": "end", "winner": "blue"}))
        );
        assert!(action(&ends("green"), table).is_err());
        assert!(action(&at("412,x,45"), table).is_err());
        assert!(action(&at("412,1,45,9"), table).is_err());
        assert!(action(&at("412,1,45,x"), table).is_err());
    }

    /// Every place that is typed travels, in one request that the server does whole or refuses.
    #[test]
    fn each_unit_that_is_placed_travels() {
        let line = "fieldpost rule --place red-1 412,233.5,45 --place red-2 500,233.5,45 Set.back";
        let typed = Typed::understood(line.split(' ').map(std::ffi::OsString::from));
        let Command::Rule(args) = typed.expect("understood").command else {
            panic!("a ruling");
        };
        let travels = action(&args.then, table).expect("good").expect("an action");
        let names: Vec<&str> = travels["units"]
            .as_array()
            .into_iter()
            .flatten()
            .filter_map(|put| put["unit"].as_str())
            .collect();
        assert_eq!(names, ["red-1", "red-2"]);
        let second_bad = RuleActions {
            place: ["red-1", "412,1,45", "nobody", "500,1,45"]
                .map(str::to_owned)
                .to_vec(),
            ..then()
        };
        assert!(action(&second_bad, table).is_err());
    }

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
        let told_of = |rules| told(&done(rules));
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
