//! `notices`: where a seat hears of its game; for the organiser, what could not be told.

use std::path::Path;

use serde_json::json;
use ureq::http::Method;

use super::columns;
use crate::api::{ApiClient, ApiRequest};
use crate::arguments::{
    CommonArgs, NoticeTopic, NoticeWay, NoticesArgs, NoticesCommand, NoticesSetArgs,
};
use crate::context::Context;
use crate::error::{CliError, CliResult};
use crate::output::{Output, sanitize};
use crate::storage::files;
use crate::wire::{DeadNotice, DeadNotices, OwnAddress, OwnNotices, SetNotices, TriedAgain};

/// Notices of one page of the list.
const PAGE: usize = 100;

/// Shows or sets notices, or looks after those that were given up.
///
/// # Errors
/// When the server refuses.
pub fn notices(args: &NoticesArgs, common: &CommonArgs, output: Output) -> CliResult {
    let context = Context::load(common)?;
    let client = context.connect(output)?;
    match &args.command {
        Some(NoticesCommand::Dead) => return dead(&client, output),
        Some(NoticesCommand::Again { ids }) => return again(ids, &client, output),
        _ => {}
    }
    let path = format!("/v1/games/{}/notices", context.game()?);
    let own: OwnNotices = client.get(path.clone())?;
    match &args.command {
        None | Some(NoticesCommand::Show) => output.result(&own, || notices_in_words(&own)),
        Some(NoticesCommand::Set(args)) => {
            let topics = args.about.as_ref().map(|topics| words(topics));
            let wanted = SetNotices {
                mail: args.mail.clone().or_else(|| address(&own.mail)),
                webhook: args.webhook.clone().or_else(|| address(&own.webhook)),
                topics: Some(topics.unwrap_or_else(|| topics_of(&own))),
            };
            let set = set(&wanted, &path, &client)?;
            report(&set, args, output)
        }
        Some(NoticesCommand::Stop { way }) => {
            let keeps = |kept: NoticeWay, own: &Option<OwnAddress>| {
                address(own).filter(|_| way.is_some_and(|stopped| stopped != kept))
            };
            let wanted = SetNotices {
                mail: keeps(NoticeWay::Mail, &own.mail),
                webhook: keeps(NoticeWay::Webhook, &own.webhook),
                topics: Some(topics_of(&own)),
            };
            let set = set(&wanted, &path, &client)?;
            output.result(&set, || notices_in_words(&set))
        }
        // Answered above.
        Some(NoticesCommand::Dead | NoticesCommand::Again { .. }) => Ok(()),
    }
}

fn words(topics: &[NoticeTopic]) -> Vec<String> {
    topics.iter().map(|topic| topic.word().to_owned()).collect()
}

fn topics_of(own: &OwnNotices) -> Vec<String> {
    own.topics.iter().map(ToString::to_string).collect()
}

fn address(own: &Option<OwnAddress>) -> Option<String> {
    own.as_ref().map(|own| own.address.clone())
}

fn set(wanted: &SetNotices, path: &str, client: &ApiClient) -> CliResult<OwnNotices> {
    let body = serde_json::to_vec(wanted)
        .map_err(|error| CliError::Other(format!("this cannot be sent: {error}")))?;
    client
        .send(&ApiRequest::send(Method::PUT, path, &body))?
        .success()?
        .json()
}

/// Tells what was set. A new webhook's secret is given this once.
fn report(set: &OwnNotices, args: &NoticesSetArgs, output: Output) -> CliResult {
    let secret = set
        .webhook
        .as_ref()
        .and_then(|webhook| webhook.secret.clone());
    let (Some(path), Some(secret)) = (&args.secret_file, &secret) else {
        return output.result(set, || match &secret {
            Some(secret) => format!(
                "{}\n\nThe webhook's signing secret, shown this once:\n  {secret}",
                notices_in_words(set)
            ),
            None => notices_in_words(set),
        });
    };
    let mut kept = set.clone();
    if let Some(webhook) = &mut kept.webhook {
        webhook.secret = None;
    }
    write(path, secret, output)?;
    output.result(&kept, || notices_in_words(&kept))
}

fn write(path: &Path, secret: &str, output: Output) -> CliResult {
    files::write_private(path, format!("{secret}\n").as_bytes())?;
    output.info(&format!(
        "the signing secret is written to {}",
        path.display()
    ));
    Ok(())
}

fn notices_in_words(own: &OwnNotices) -> String {
    let line = |way: &str, address: &Option<OwnAddress>| match address {
        _ if !own.ways.iter().any(|known| known.to_string() == way) && address.is_none() => {
            format!("{way:8} not sent by this server")
        }
        None => format!("{way:8} none"),
        Some(own) => {
            let trouble = own.trouble.as_ref().map(|trouble| {
                format!("\n         the last did not arrive: {}", sanitize(trouble))
            });
            format!(
                "{way:8} {}{}",
                sanitize(&own.address),
                trouble.unwrap_or_default()
            )
        }
    };
    format!(
        "{}\n{}\n{:8} {}",
        line("mail", &own.mail),
        line("webhook", &own.webhook),
        "about",
        sanitize(&topics_of(own).join(", "))
    )
}

fn dead(client: &ApiClient, output: Output) -> CliResult {
    let mut notices: Vec<DeadNotice> = Vec::new();
    loop {
        let after = notices.last().map(|notice| format!("&after={}", notice.id));
        let path = format!("/v1/notices/dead?limit={PAGE}{}", after.unwrap_or_default());
        let page: DeadNotices = client.get(path)?;
        let is_empty = page.notices.is_empty();
        notices.extend(page.notices);
        if !page.more || is_empty {
            break;
        }
    }
    output.result(&json!({ "notices": notices }), || {
        if notices.is_empty() {
            return "No notice was given up.".to_owned();
        }
        let rows = notices.iter().map(|notice| {
            let player = notice.player.as_deref().unwrap_or("nobody");
            [
                notice.id.clone(),
                notice.game.clone(),
                format!("{player} ({})", notice.side.as_deref().unwrap_or("umpire")),
                notice.way.to_string(),
                format!("after {} tries, {}", notice.tries, notice.dead_at),
                notice.trouble.clone(),
            ]
        });
        columns(
            ["id", "game", "for", "by", "given up", "why"],
            rows.collect(),
        )
    })
}

fn again(ids: &[String], client: &ApiClient, output: Output) -> CliResult {
    let body = match ids {
        [] => json!({}),
        ids => json!({ "ids": ids }),
    };
    let body = body.to_string();
    let request = ApiRequest::send(Method::POST, "/v1/notices/dead/again", body.as_bytes());
    let tried: TriedAgain = client.send(&request)?.success()?.json()?;
    output.result(&tried, || match tried.again {
        1 => "One notice is tried again.".to_owned(),
        count => format!("{count} notices are tried again."),
    })
}
