//! `concede`, `dispute`, `rule` and `consent`: what is said beside the sheets.

use fieldpost_rules::game::Game;
use fieldpost_rules::orders::text::{TextFault, side_meant, unit_of_either};
use fieldpost_rules::record::{ORGANISER, PostingKind};
use serde_json::{Value, json};
use ureq::http::Method;

use super::clock::post_and_report;
use super::session::{GameSession, Refresh};
use crate::arguments::{CommonArgs, ConsentArgs, DisputeArgs, RuleActions, RuleArgs};
use crate::error::{CliError, CliResult};
use crate::output::Output;

/// Gives the battle up.
///
/// # Errors
/// When the server refuses.
pub fn concede(common: &CommonArgs, output: Output) -> CliResult {
    let route = (&Method::POST, "concession");
    post_and_report(common, PostingKind::Concession, route, &Value::Null, output)
}

/// Asks the umpire.
///
/// # Errors
/// When the server refuses.
pub fn dispute(args: &DisputeArgs, common: &CommonArgs, output: Output) -> CliResult {
    let mut body = json!({ "text": args.text });
    if let Some(about) = args.about {
        body["about"] = about.into();
    }
    post_and_report(
        common,
        PostingKind::Dispute,
        (&Method::POST, "disputes"),
        &body,
        output,
    )
}

/// Gives a ruling.
///
/// # Errors
/// When the server refuses.
pub fn rule(args: &RuleArgs, common: &CommonArgs, output: Output) -> CliResult {
    let mut body = json!({ "text": args.text });
    if let Some(about) = args.about {
        body["about"] = about.into();
    }
    if let Some(then) = action(&args.then, || current_table(common, output))? {
        body["then"] = then;
    }
    post_and_report(
        common,
        PostingKind::Ruling,
        (&Method::POST, "rulings"),
        &body,
        output,
    )
}

/// The table as it is, for what is named on it.
fn current_table(common: &CommonArgs, output: Output) -> CliResult<Game> {
    let session = GameSession::open(common, Refresh::Always, output)?;
    session.record.game_after(None)
}

/// What is to be done besides, as it travels.
fn action(then: &RuleActions, table: impl Fn() -> CliResult<Game>) -> CliResult<Option<Value>> {
    let invalid = |fault: TextFault| CliError::Invalid(fault.sentence());
    if let Some(days) = then.more_days {
        return Ok(Some(json!({ "do": "more-time", "days": days })));
    }
    if let Some(winner) = &then.end {
        let winner = match winner.as_str() {
            "draw" => None,
            side => Some(side_meant(side, &table()?).map_err(invalid)?),
        };
        return Ok(Some(json!({ "do": "end", "winner": winner })));
    }
    if !then.place.is_empty() {
        let table = table()?;
        let mut units = Vec::new();
        // clap takes a unit and a place each time
        for pair in then.place.chunks(2) {
            let [unit, place] = pair else {
                return Err(CliError::Usage(
                    "say for each unit where it is put, as in --place red-3 412,233.5,45"
                        .to_owned(),
                ));
            };
            let place = parse_place(place)?;
            let unit = unit_of_either(unit, &table).map_err(invalid)?;
            units.push(json!({ "unit": unit, "place": place }));
        }
        return Ok(Some(json!({ "do": "correct", "units": units })));
    }
    let simple = [
        (then.pass, "pass"),
        (then.pause, "pause"),
        (then.resume, "resume"),
    ];
    let action = simple.iter().find(|(is_chosen, _)| *is_chosen);
    Ok(action.map(|(_, word)| json!({ "do": word })))
}

/// Three numbers as a place.
fn parse_place(place: &str) -> CliResult<Value> {
    let numbers: Option<Vec<f64>> = place
        .split(',')
        .map(|number| number.trim().parse().ok())
        .collect();
    let Some([x_mm, y_mm, bearing_deg]) = numbers.as_deref() else {
        return Err(CliError::Usage(format!(
            "{place:?} is no place; write mm from the west edge, mm from the south edge and the bearing, as in 412,233.5,45"
        )));
    };
    Ok(json!({ "x_mm": x_mm, "y_mm": y_mm, "bearing_deg": bearing_deg }))
}

/// Agrees that somebody who plays on the other side rules as well.
///
/// # Errors
/// When the server refuses.
pub fn consent(args: &ConsentArgs, common: &CommonArgs, output: Output) -> CliResult {
    let seat = args.seat_id.as_deref().unwrap_or(ORGANISER);
    let route = (&Method::POST, "rulings/acceptance");
    let body = json!({ "seat": seat });
    post_and_report(common, PostingKind::UmpireAccepted, route, &body, output)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::arguments::{Arguments, Command};

    fn table() -> CliResult<Game> {
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
        let typed = Arguments::parse(line.split(' ').map(std::ffi::OsString::from));
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
}
