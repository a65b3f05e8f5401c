//! Notices by webhook, as the Standard Webhooks specification 1.0.0 has them.

use std::error::Error;
use std::fmt;
use std::time::Duration;

use async_trait::async_trait;
use sha2::{Digest, Sha256};
use ureq::config::Config;
use ureq::http::{Response, Uri, header};
use ureq::unversioned::resolver::{DefaultResolver, ResolvedSocketAddrs, Resolver};
use ureq::unversioned::transport::{DefaultConnector, NextTimeout};
use ureq::{Agent, Body};

use crate::office::Letter;
use crate::outside::Outside;
use crate::store::{Kind, NoticeAddress, NoticeId};
use fieldpost_wire as wire;

use super::signature::signature;
use super::{Carried, Carry};

/// From looking up the host to the answer's head.
const PATIENCE: Duration = Duration::from_secs(5);
/// Bytes of the largest body sent, and of the largest head read. Bodies of answers are not read.
const LIMIT: usize = 64 * 1024;

/// Sends webhooks.
#[derive(Debug, Clone)]
pub struct Hooks {
    agent: Agent,
    outside: Outside,
}

impl Hooks {
    /// Sends webhooks there and nowhere else: straight to the address that was looked at, following no
    /// redirect and asking no proxy.
    #[must_use]
    pub fn new(outside: Outside) -> Self {
        let config = Config::builder()
            .https_only(outside != Outside::Anywhere)
            .proxy(None)
            .max_redirects(0)
            .max_redirects_will_error(false)
            .http_status_as_error(false)
            .timeout_global(Some(PATIENCE))
            .max_response_header_size(LIMIT)
            .max_idle_connections(0)
            .user_agent(concat!("fieldpost-server/", env!("CARGO_PKG_VERSION")))
            .build();
        let resolver = OnlyOutside {
            usual: DefaultResolver::default(),
            outside,
        };
        Self {
            agent: Agent::with_parts(config, DefaultConnector::default(), resolver),
            outside,
        }
    }

    fn post(&self, url: &str, head: &Head, body: &[u8]) -> Carried {
        // Settings may have become stricter since it was set.
        if let Err(trouble) = self.outside.target(url) {
            return Carried::Hopeless { trouble };
        }
        let sent = self
            .agent
            .post(url)
            .header(header::CONTENT_TYPE, "application/json")
            .header("webhook-id", &head.id)
            .header("webhook-timestamp", head.timestamp_s.to_string())
            .header("webhook-signature", &head.signature)
            .send(body);
        match sent {
            Ok(answer) => answered(&answer),
            Err(error) => Carried::Failed {
                trouble: trouble(&error),
                wait: None,
            },
        }
    }
}

struct Head {
    id: String,
    timestamp_s: i64,
    signature: String,
}

#[async_trait]
impl Carry for Hooks {
    async fn carry(&self, letter: &Letter, to: &NoticeAddress, now: i64) -> Carried {
        let body = match body(letter) {
            Ok(body) => body,
            Err(error) => {
                return Carried::Failed {
                    trouble: format!("The news could not be written as JSON: {error}."),
                    wait: None,
                };
            }
        };
        let (id, timestamp_s) = (message_id(&letter.id), now.div_euclid(1000));
        let head = Head {
            signature: signature(&to.secret, &id, timestamp_s, &body),
            id,
            timestamp_s,
        };
        let (hooks, url) = (self.clone(), to.address.clone());
        let posted = tokio::task::spawn_blocking(move || hooks.post(&url, &head, &body)).await;
        posted.unwrap_or_else(|_| Carried::Failed {
            trouble: "The server failed while sending it.".to_owned(),
            wait: None,
        })
    }
}

/// The same however often it is tried, and without a point (the signature puts points between its parts).
fn message_id(notice: &NoticeId) -> String {
    let hash = Sha256::digest(notice.to_string().as_bytes());
    format!("msg_{}", hex::encode(&hash[..16]))
}

fn body(letter: &Letter) -> serde_json::Result<Vec<u8>> {
    let mut hook = hook(letter);
    let body = serde_json::to_vec(&hook)?;
    if body.len() <= LIMIT {
        return Ok(body);
    }
    hook.data.news.clear();
    hook.data.news_left_out = true;
    serde_json::to_vec(&hook)
}

fn hook(letter: &Letter) -> wire::Hook {
    let kind = letter.id.kind;
    let room = if kind == Kind::Welcome {
        "notices"
    } else {
        "game"
    };
    wire::Hook {
        kind: format!("{room}.{}", kind.word().replace('-', "_")),
        timestamp: letter.queued_at.clone(),
        data: wire::HookData {
            game: letter.game.clone(),
            name: letter.battle.clone(),
            side: letter.role.side().map(str::to_owned),
            number: letter.id.number,
            game_turn: letter.game_turn,
            game_turns: letter.game_turns,
            to_move: letter.to_move.as_ref().map(|(side, _)| side.clone()),
            days_left: match kind {
                Kind::Reminder(days) => Some(days),
                _ => None,
            },
            words: Some(letter.words.clone()).filter(|words| !words.is_empty()),
            news: letter.news.clone(),
            news_left_out: false,
        },
    }
}

/// What an answer means, as the specification's "Delivery success and failure" has it.
fn answered(answer: &Response<Body>) -> Carried {
    let status = answer.status();
    if status.is_success() {
        return Carried::Arrived;
    }
    if status.as_u16() == 410 {
        return Carried::Gone;
    }
    let wait = answer
        .headers()
        .get(header::RETRY_AFTER)
        .and_then(|value| value.to_str().ok()?.trim().parse().ok())
        .map(Duration::from_secs);
    let trouble = if status.is_redirection() {
        format!(
            "It answered {}, a redirect, and those are not followed.",
            status.as_u16()
        )
    } else {
        format!("It answered {}.", status.as_u16())
    };
    Carried::Failed { trouble, wait }
}

/// Why nothing was answered, without a word of whom was asked.
fn trouble(error: &ureq::Error) -> String {
    let why = match error {
        ureq::Error::Timeout(_) => "There was no answer within 5 seconds.",
        ureq::Error::HostNotFound => "Its host is not known.",
        ureq::Error::Tls(_) | ureq::Error::Rustls(_) | ureq::Error::TlsRequired => {
            "No safe connection could be made: its certificate is not good for that name, or none that is known."
        }
        ureq::Error::Other(error) if error.is::<NotOutside>() => {
            "Its host has an address that is private, this machine's own or reserved."
        }
        ureq::Error::Io(_) | ureq::Error::ConnectionFailed => {
            "It could not be connected to, or the connection broke off."
        }
        _ => "What it answered is not HTTP, or too long.",
    };
    why.to_owned()
}

/// Looks hosts up, and lets nobody go to those that are not outside. Hosts given as addresses come
/// this way too. What is answered here is what is connected to: the name is not looked up again.
#[derive(Debug)]
struct OnlyOutside {
    usual: DefaultResolver,
    outside: Outside,
}

impl Resolver for OnlyOutside {
    fn resolve(
        &self,
        uri: &Uri,
        config: &Config,
        timeout: NextTimeout,
    ) -> Result<ResolvedSocketAddrs, ureq::Error> {
        let addresses = self.usual.resolve(uri, config, timeout)?;
        if addresses
            .iter()
            .all(|address| self.outside.allows(address.ip()))
        {
            Ok(addresses)
        } else {
            Err(ureq::Error::Other(Box::new(NotOutside)))
        }
    }
}

#[derive(Debug)]
struct NotOutside;

impl fmt::Display for NotOutside {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("not an address outside")
    }
}

impl Error for NotOutside {}
