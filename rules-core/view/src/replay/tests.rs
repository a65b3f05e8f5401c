//! Trials of whole games shown: nothing is left out, nothing can be smuggled in.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use sha2::{Digest, Sha256};

use super::*;
use crate::sample::{self, fought};
use fieldpost_rules::game::Event;
use fieldpost_rules::shipped;

fn watched() -> Vec<Moment> {
    let battle = shipped::find("quern-bridge").unwrap();
    let (opening, events) = fought(&battle, 3, 40);
    moments(&opening, &events)
}

#[test]
fn the_moments_follow_one_another_and_end_where_the_game_does() {
    let battle = shipped::find("quern-bridge").unwrap();
    let (opening, events) = fought(&battle, 3, 40);
    let mut game = opening.clone();
    for event in &events {
        game.apply(event);
    }
    let all = moments(&opening, &events);
    for pair in all.windows(2) {
        assert!(pair[0].number < pair[1].number);
        assert_eq!(pair[0].after, pair[1].before);
    }
    let last = all.last().unwrap();
    assert_eq!(last.number, events.len() as u64);
    assert_eq!(last.after, game);
    let turns = events
        .iter()
        .filter(|event| matches!(event, Event::SheetAccepted { .. }))
        .count();
    let moves = all.iter().filter(|m| m.title.ends_with(": moves")).count();
    assert_eq!(moves, turns);
    assert!(all.iter().any(|m| m.title.ends_with(": fighting")));
    // every event that has words is told in exactly one moment
    let told: usize = all.iter().map(|moment| moment.words.len()).sum();
    let mut game = opening;
    let mut speaking = 0;
    for event in &events {
        speaking += usize::from(!crate::words::event(event, &game).is_empty());
        game.apply(event);
    }
    assert_eq!(told, speaking);
}

#[test]
fn the_page_holds_everything_and_fetches_nothing() {
    let all = watched();
    let text = page(&all);
    assert_eq!(text.matches("<section id=\"n").count(), all.len());
    assert_eq!(text.matches("class=\"moment\"").count(), all.len());
    assert_eq!(text.matches("display=\"inline\"").count(), 1);
    // the one address in it names SVG, and nothing is ever fetched from there
    assert_eq!(
        text.matches("http").count(),
        text.matches("http-equiv").count() + 1
    );
    for banned in [
        " src=",
        " href=",
        "@import",
        "url(h",
        "fetch(",
        "XMLHttp",
        "innerHTML",
        "eval(",
    ] {
        assert!(!text.contains(banned), "{banned}");
    }
    // the policy allows this style and this script by the hash of what stands between the tags
    for (kind, tag) in [("style", "style"), ("script", "script")] {
        let open = format!("<{tag}>");
        let from = text.find(&open).unwrap() + open.len();
        let to = from + text[from..].find(&format!("</{tag}>")).unwrap();
        let hash = STANDARD.encode(Sha256::digest(&text.as_bytes()[from..to]));
        assert!(
            text.contains(&format!("{kind}-src 'sha256-{hash}'")),
            "{kind}"
        );
    }
    assert!(text.contains("default-src 'none'"));
    assert!(
        !text.contains(" style=\""),
        "the policy allows no style on an element"
    );
    assert!(text.len() < 12_000_000, "{} bytes", text.len());
}

#[test]
fn the_animation_shows_every_moment_in_its_turn() {
    let all = watched();
    let text = animation(&all);
    assert!(text.starts_with("<svg") && text.ends_with("</svg>\n"));
    assert_eq!(text.matches("<animate ").count(), all.len());
    let mut latest = 0.0;
    for times in text.split("keyTimes=\"").skip(1) {
        let times: Vec<f64> = times
            .split('"')
            .next()
            .unwrap()
            .split(';')
            .map(|time| time.parse().unwrap())
            .collect();
        assert!(times.windows(2).all(|pair| pair[0] < pair[1]), "{times:?}");
        let begins = if times.len() == 3 {
            times[1]
        } else {
            times[times.len() - 1]
        };
        assert!(begins >= latest, "{times:?}");
        latest = if times.len() == 3 { times[1] } else { 0.0 };
    }
    assert!(!text.contains("<script") && !text.contains("href"));
}

#[test]
fn names_from_people_stay_text() {
    let bad = "</style></script><script>alert(1)</script> & \"Co\" '\u{1b}[2J";
    let mut scenario = sample::scenario();
    scenario.name = bad.to_owned();
    scenario.side[0].name = bad.to_owned();
    scenario.unit[0].name = bad.to_owned();
    scenario.terrain[0].name = bad.to_owned();
    let game = sample::open(scenario);
    let all = moments(
        &game,
        &[Event::SeatTaken {
            seat: None,
            key: None,
            side: game.side_id(0),
            player: bad.to_owned(),
        }],
    );
    for text in [page(&all), animation(&all)] {
        assert!(text.contains("&lt;/script&gt;"));
        assert!(!text.contains("alert(1)</script>") && !text.contains('\u{1b}'));
    }
    assert_eq!(page(&all).matches("<script>").count(), 1);
}

#[test]
fn the_same_game_is_the_same_page() {
    assert_eq!(page(&watched()), page(&watched()));
}

/// Writes pages to the folder that `FIELDPOST_PICTURES` names, to be looked at.
#[test]
fn pages_to_look_at() {
    let Ok(folder) = std::env::var("FIELDPOST_PICTURES") else {
        return;
    };
    for scenario in shipped::SCENARIOS {
        let battle = shipped::find(scenario.key).unwrap();
        let (opening, events) = fought(&battle, 3, 60);
        let all = moments(&opening, &events);
        let keep = |name: &str, text: String| {
            std::fs::write(format!("{folder}/{}.{name}", scenario.key), text).unwrap();
        };
        keep("html", page(&all));
        keep("svg", animation(&all));
        let told: Vec<String> = all
            .iter()
            .map(|moment| format!("{}\n{}\n", moment.title, moment.words.join("\n")))
            .collect();
        keep("txt", told.join("\n"));
    }
}
