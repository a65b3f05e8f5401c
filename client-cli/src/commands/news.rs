//! `news`: what happened, in words.

use std::time::Duration;

use fieldpost_rules::game::{Event, Game};

use super::session::{GameSession, Refresh};
use crate::answers::NewsAnswer;
use crate::arguments::{CommonArgs, NewsArgs, Pictures};
use crate::context::Context;
use crate::error::{CliError, CliResult};
use crate::output::Output;
use crate::render;
use crate::storage::read_mark::ReadMark;
use crate::storage::record::Record;
use crate::wire::NewsItem;

/// Tells the news and remembers that they were told.
///
/// # Errors
/// When server or record cannot be read, or the record was rewritten.
pub fn news(args: &NewsArgs, common: &CommonArgs, output: Output) -> CliResult {
    if let Some(record) = args.source.named()? {
        return of_record(&record, args.after, &args.pictures, output);
    }
    if args.wait {
        wait(args, common, output)?;
    }
    let refresh = Refresh::unless_offline(args.offline);
    let session = GameSession::open(common, refresh, output)?;
    let read = ReadMark::load(&session.own_folder)?;
    let after = match args.after {
        Some(after) => after,
        None if args.all => 0,
        None => read.entry,
    };
    show(
        &session.record,
        after,
        session.own_side(),
        &args.pictures,
        output,
    )?;
    let head = session.record.head();
    if args.after.is_none() && head.number > read.entry {
        read.advance(head.number).save(&session.own_folder)?;
    }
    Ok(())
}

/// Tells the news of a record, from its first event on or after one.
///
/// # Errors
/// When the record has no such event, or a picture cannot be written.
pub fn of_record(
    record: &Record,
    after: Option<u64>,
    pictures: &Pictures,
    output: Output,
) -> CliResult {
    show(record, after.unwrap_or(0), None, pictures, output)
}

fn show(
    record: &Record,
    after: u64,
    own: Option<&str>,
    pictures: &Pictures,
    output: Output,
) -> CliResult {
    let before = record.game_after(Some(after))?;
    let (news, game) = tell(record, before.clone(), after);
    let head = record.head();
    if pictures.any() {
        let events = record.events(after, head.number);
        pictures.draw(&render::changes_svg(&before, &game, events), output)?;
    }
    output.result(
        &NewsAnswer {
            head,
            after,
            news: &news,
            to_move: to_move(&game),
            own,
        },
        || in_words(&news, &game, own, after),
    )
}

/// Waits for an event that has not been told, however often the line breaks.
fn wait(args: &NewsArgs, common: &CommonArgs, output: Output) -> CliResult {
    let context = Context::load(common)?;
    let client = context.connect(output)?;
    let read = ReadMark::load(&context.seat_folder(&context.game_folder(&client)?))?;
    let known = args.after.unwrap_or(read.entry);
    let path = format!("/v1/games/{}/events?after={known}", context.game()?);
    output.info("waiting for news; Ctrl-C ends it");
    let mut pause = Duration::from_secs(1);
    loop {
        match client.wait_for_event(&path) {
            Ok(true) => return Ok(()),
            Ok(false) => pause = Duration::from_secs(1),
            Err(CliError::Network(why)) => {
                output.info(&format!("{why}; trying again in {} s", pause.as_secs()));
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
            words: render::news_words(&game, &entry.event),
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
    let line = render::turn_line(game);
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
