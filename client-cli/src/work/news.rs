//! `news`: what happened, in words.

use std::time::Duration;

use fieldpost_rules::game::{Event, Game};
use serde_json::json;

use super::story::{Ask, Story};
use crate::failure::{Failure, Outcome};
use crate::keep::record::{Read, Record};
use crate::meant::Meant;
use crate::out::Out;
use crate::shown;
use crate::typed::{Common, NewsArgs};
use crate::wire::NewsItem;

/// Tells the news and remembers that they were told.
///
/// # Errors
/// When server or record cannot be read, or the record was rewritten.
pub fn news(args: &NewsArgs, common: &Common, out: Out) -> Outcome {
    if args.wait {
        wait(args, common, out)?;
    }
    let ask = Ask::unless(args.offline);
    let story = Story::at_hand(common, ask, out)?;
    let read = Read::of(&story.own_folder)?;
    let after = match args.after {
        Some(after) => after,
        None if args.all => 0,
        None => read.entry,
    };
    let before = story.record.game_after(Some(after))?;
    let (news, game) = tell(&story.record, before.clone(), after);
    let head = story.record.head();
    if args.pictures.any() {
        let events = story.record.events(after, head.number);
        args.pictures
            .draw(&shown::changes_svg(&before, &game, events), out)?;
    }
    let own = story.own_side();
    out.result(
        &json!({ "head": head, "after": after, "news": news, "to_move": to_move(&game), "own": own }),
        || in_words(&news, &game, own, after),
    )?;
    if args.after.is_none() && head.number > read.entry {
        read.on_to(head.number).keep(&story.own_folder)?;
    }
    Ok(())
}

/// Waits for an event that has not been told, however often the line breaks.
fn wait(args: &NewsArgs, common: &Common, out: Out) -> Outcome {
    let meant = Meant::by(common)?;
    let office = meant.office(out)?;
    let read = Read::of(&meant.seat_folder(&meant.game_folder(&office)?))?;
    let known = args.after.unwrap_or(read.entry);
    let path = format!("/v1/games/{}/events?after={known}", meant.game()?);
    out.remark("waiting for news; Ctrl-C ends it");
    let mut pause = Duration::from_secs(1);
    loop {
        match office.first_event(&path) {
            Ok(true) => return Ok(()),
            Ok(false) => pause = Duration::from_secs(1),
            Err(Failure::Network(why)) => {
                out.remark(&format!("{why}; trying again in {} s", pause.as_secs()));
            }
            Err(failure) => return Err(failure),
        }
        std::thread::sleep(pause);
        pause = (pause * 2).min(Duration::from_secs(60));
    }
}

/// Every event after an entry in words, and the game after them all.
#[must_use]
pub fn tell(record: &Record, mut game: Game, after: u64) -> (Vec<NewsItem>, Game) {
    let mut news = Vec::new();
    for entry in record.entries().iter().filter(|entry| entry.number > after) {
        news.push(NewsItem {
            number: entry.number,
            at: entry.at.clone(),
            event: kind(&entry.event),
            words: shown::news_words(&game, &entry.event),
        });
        game.apply(&entry.event);
    }
    (news, game)
}

/// An event's kind as programs see it.
#[must_use]
pub fn kind(event: &Event) -> String {
    serde_json::to_value(event)
        .ok()
        .and_then(|value| Some(value.get("event")?.as_str()?.to_owned()))
        .unwrap_or_default()
}

/// The key of the side that posts next; `None` once the game is over.
#[must_use]
pub fn to_move(game: &Game) -> Option<String> {
    game.ending().is_none().then(|| game.player_side().0)
}

fn in_words(news: &[NewsItem], game: &Game, own: Option<&str>, after: u64) -> String {
    let mut text = if news.is_empty() {
        format!("No news since event {after}.\n")
    } else {
        paragraphs(news)
    };
    text.push('\n');
    text.push_str(&whose_turn(game, own));
    text
}

/// News with their numbers, a blank line between days.
#[must_use]
pub fn paragraphs(news: &[NewsItem]) -> String {
    let mut text = String::new();
    let mut day = "";
    for item in news {
        let this = item.at.get(..10).unwrap_or_default();
        if this != day {
            if !day.is_empty() {
                text.push('\n');
            }
            text.push_str(this);
            text.push('\n');
            day = this;
        }
        if item.words.is_empty() {
            continue;
        }
        let words = item.words.trim_end().replace('\n', "\n      ");
        text.push_str(&format!("{:>4}  {words}\n", item.number));
    }
    text
}

/// Whose turn it is, and what to do about it.
#[must_use]
pub fn whose_turn(game: &Game, own: Option<&str>) -> String {
    let line = shown::turn_line(game);
    let advice = match (game.ending(), own) {
        (Some(_), _) => "",
        (None, Some(side)) if side == game.player_side().0 => {
            " It is your turn: write a sheet (\"fieldpost words\"), try it, post it."
        }
        (None, Some(_)) => " You wait for the other side.",
        (None, None) => "",
    };
    format!("{line}.{advice}")
}
