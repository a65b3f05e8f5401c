//! `notices`: where a seat hears of its game; for the organiser, what could not be told.

use std::path::Path;

use serde_json::json;
use ureq::http::Method;

use super::columns;
use crate::failure::{Failure, Outcome};
use crate::keep::files;
use crate::meant::Meant;
use crate::office::{Ask, Office};
use crate::out::{Out, harmless};
use crate::typed::{Common, NoticeTopic, NoticeWay, NoticesArgs, NoticesCommand, NoticesSetArgs};
use crate::wire::{DeadNotice, DeadNotices, OwnAddress, OwnNotices, SetNotices, TriedAgain};

/// Notices of one page of the list.
const PAGE: usize = 100;

/// Shows or sets notices, or looks after those that were given up.
///
/// # Errors
/// When the server refuses.
pub fn notices(args: &NoticesArgs, common: &Common, out: Out) -> Outcome {
    let meant = Meant::by(common)?;
    let office = meant.office(out)?;
    match &args.command {
        Some(NoticesCommand::Dead) => return dead(&office, out),
        Some(NoticesCommand::Again { ids }) => return again(ids, &office, out),
        _ => {}
    }
    let path = format!("/v1/games/{}/notices", meant.game()?);
    let own: OwnNotices = office.get(path.clone())?;
    match &args.command {
        None | Some(NoticesCommand::Show) => out.result(&own, || shown(&own)),
        Some(NoticesCommand::Set(args)) => {
            let topics = args.about.as_ref().map(|topics| words(topics));
            let wanted = SetNotices {
                mail: args.mail.clone().or_else(|| address(&own.mail)),
                webhook: args.webhook.clone().or_else(|| address(&own.webhook)),
                topics: Some(topics.unwrap_or_else(|| topics_of(&own))),
            };
            let set = set(&wanted, &path, &office)?;
            told(&set, args, out)
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
            let set = set(&wanted, &path, &office)?;
            out.result(&set, || shown(&set))
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

fn set(wanted: &SetNotices, path: &str, office: &Office) -> Outcome<OwnNotices> {
    let body = serde_json::to_vec(wanted)
        .map_err(|error| Failure::Plain(format!("this cannot be sent: {error}")))?;
    office
        .ask(&Ask::send(Method::PUT, path, &body))?
        .accepted()?
        .json()
}

/// Tells what was set. A new webhook's secret is given this once.
fn told(set: &OwnNotices, args: &NoticesSetArgs, out: Out) -> Outcome {
    let secret = set
        .webhook
        .as_ref()
        .and_then(|webhook| webhook.secret.clone());
    let (Some(path), Some(secret)) = (&args.secret_file, &secret) else {
        return out.result(set, || match &secret {
            Some(secret) => format!(
                "{}\n\nThe webhook's signing secret, shown this once:\n  {secret}",
                shown(set)
            ),
            None => shown(set),
        });
    };
    let mut kept = set.clone();
    if let Some(webhook) = &mut kept.webhook {
        webhook.secret = None;
    }
    write(path, secret, out)?;
    out.result(&kept, || shown(&kept))
}

fn write(path: &Path, secret: &str, out: Out) -> Outcome {
    files::write_private(path, format!("{secret}\n").as_bytes())?;
    out.remark(&format!(
        "the signing secret is written to {}",
        path.display()
    ));
    Ok(())
}

fn shown(own: &OwnNotices) -> String {
    let line = |way: &str, address: &Option<OwnAddress>| match address {
        _ if !own.ways.iter().any(|known| known.to_string() == way) && address.is_none() => {
            format!("{way:8} not sent by this server")
        }
        None => format!("{way:8} none"),
        Some(own) => {
            let trouble = own.trouble.as_ref().map(|trouble| {
                format!("\n         the last did not arrive: {}", harmless(trouble))
            });
            format!(
                "{way:8} {}{}",
                harmless(&own.address),
                trouble.unwrap_or_default()
            )
        }
    };
    format!(
        "{}\n{}\n{:8} {}",
        line("mail", &own.mail),
        line("webhook", &own.webhook),
        "about",
        harmless(&topics_of(own).join(", "))
    )
}

fn dead(office: &Office, out: Out) -> Outcome {
    let mut notices: Vec<DeadNotice> = Vec::new();
    loop {
        let after = notices.last().map(|notice| format!("&after={}", notice.id));
        let path = format!("/v1/notices/dead?limit={PAGE}{}", after.unwrap_or_default());
        let page: DeadNotices = office.get(path)?;
        let is_empty = page.notices.is_empty();
        notices.extend(page.notices);
        if !page.more || is_empty {
            break;
        }
    }
    out.result(&json!({ "notices": notices }), || {
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

fn again(ids: &[String], office: &Office, out: Out) -> Outcome {
    let body = match ids {
        [] => json!({}),
        ids => json!({ "ids": ids }),
    };
    let body = body.to_string();
    let ask = Ask::send(Method::POST, "/v1/notices/dead/again", body.as_bytes());
    let tried: TriedAgain = office.ask(&ask)?.accepted()?.json()?;
    out.result(&tried, || match tried.again {
        1 => "One notice is tried again.".to_owned(),
        count => format!("{count} notices are tried again."),
    })
}
