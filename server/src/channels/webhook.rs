//! Notices by webhook, as the Standard Webhooks specification 1.0.0 has them.

use std::time::Duration;

use async_trait::async_trait;
use fieldpost_rules::record::fingerprint;
use fieldpost_wire as wire;
use sha2::{Digest, Sha256};
use thiserror::Error;
use ureq::config::Config;
use ureq::http::{Response, Uri, header};
use ureq::unversioned::resolver::{DefaultResolver, ResolvedSocketAddrs, Resolver};
use ureq::unversioned::transport::{DefaultConnector, NextTimeout};
use ureq::{Agent, Body};

use crate::store::{Channel, Kind, NoticeAddress, NoticeId};
use crate::webhook_policy::WebhookPolicy;

use super::message::NoticeMessage;
use super::signature::{self, signature};
use super::{Delivery, NoticeChannel};

/// From looking up the host to the answer's head.
const TIMEOUT: Duration = Duration::from_secs(5);
/// Addresses that are delivered to at the same time: each has a thread that mostly waits.
const LANES: usize = 128;
/// Bytes of the largest body sent, and of the largest head read. Bodies of answers are not read.
const LIMIT: usize = 64 * 1024;

/// Sends webhooks.
#[derive(Debug, Clone)]
pub struct WebhookChannel {
    agent: Agent,
    policy: WebhookPolicy,
}

impl WebhookChannel {
    /// Sends webhooks there and nowhere else: straight to the address that was looked at, following no
    /// redirect and asking no proxy.
    #[must_use]
    pub fn new(policy: WebhookPolicy) -> Self {
        let config = Config::builder()
            .https_only(policy != WebhookPolicy::Anywhere)
            .proxy(None)
            .max_redirects(0)
            .max_redirects_will_error(false)
            .http_status_as_error(false)
            .timeout_global(Some(TIMEOUT))
            .max_response_header_size(LIMIT)
            .max_idle_connections(0)
            .user_agent(concat!("fieldpost-server/", env!("CARGO_PKG_VERSION")))
            .build();
        let resolver = PolicyResolver {
            usual: DefaultResolver::default(),
            policy,
        };
        Self {
            agent: Agent::with_parts(config, DefaultConnector::default(), resolver),
            policy,
        }
    }

    fn post(&self, url: &str, head: &Head, body: &[u8]) -> Delivery {
        // Settings may have become stricter since it was set.
        if let Err(trouble) = self.policy.target(url) {
            return Delivery::Hopeless { trouble };
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
            Err(error) => Delivery::Failed {
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
impl NoticeChannel for WebhookChannel {
    fn channel(&self) -> Channel {
        Channel::Webhook
    }

    fn accept(&self, address: &str) -> Result<String, String> {
        self.policy.target(address).map(String::from)
    }

    fn holder_secret(&self, secret: &[u8]) -> Option<String> {
        Some(signature::shown(secret))
    }

    fn lanes(&self) -> usize {
        LANES
    }

    fn receiver(&self, address: &str) -> String {
        let url = url::Url::parse(address).ok();
        let host = url.as_ref().and_then(url::Url::host_str);
        host.unwrap_or_default().to_owned()
    }

    async fn deliver(&self, message: &NoticeMessage, to: &NoticeAddress, now: i64) -> Delivery {
        let body = match body(message) {
            Ok(body) => body,
            Err(error) => {
                return Delivery::Failed {
                    trouble: format!("The news could not be written as JSON: {error}."),
                    wait: None,
                };
            }
        };
        let (id, timestamp_s) = (message_id(&message.id), now.div_euclid(1000));
        let head = Head {
            signature: signature(&to.secret, &id, timestamp_s, &body),
            id,
            timestamp_s,
        };
        let (channel, url) = (self.clone(), to.address.clone());
        let posted = tokio::task::spawn_blocking(move || channel.post(&url, &head, &body)).await;
        posted.unwrap_or_else(|_| Delivery::Failed {
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

fn body(message: &NoticeMessage) -> serde_json::Result<Vec<u8>> {
    let mut hook = hook(message);
    let body = serde_json::to_vec(&hook)?;
    if body.len() <= LIMIT {
        return Ok(body);
    }
    hook.data.news.clear();
    hook.data.news_left_out = true;
    serde_json::to_vec(&hook)
}

fn hook(message: &NoticeMessage) -> wire::Hook {
    let kind = message.id.kind;
    let prefix = if kind == Kind::Welcome {
        "notices"
    } else {
        "game"
    };
    wire::Hook {
        kind: format!("{prefix}.{}", kind.word().replace('-', "_")),
        timestamp: message.queued_at.clone(),
        data: wire::HookData {
            game: message.game.clone(),
            name: message.battle.clone(),
            side: message.role.side().map(str::to_owned),
            number: message.id.number,
            hash: hex::encode(message.hash),
            read_aloud: fingerprint(&message.hash),
            game_turn: message.game_turn,
            game_turns: message.game_turns,
            to_move: message.to_move.as_ref().map(|(side, _)| side.clone()),
            days_left: match kind {
                Kind::Reminder(days) => Some(days),
                _ => None,
            },
            words: Some(message.words.clone()).filter(|words| !words.is_empty()),
            news: message.news.clone(),
            news_left_out: false,
        },
    }
}

/// What an answer means, as the specification's "Delivery success and failure" has it.
fn answered(answer: &Response<Body>) -> Delivery {
    let status = answer.status();
    if status.is_success() {
        return Delivery::Arrived;
    }
    if status.as_u16() == 410 {
        return Delivery::Gone;
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
    Delivery::Failed { trouble, wait }
}

/// Why nothing was answered; the URL is not named.
fn trouble(error: &ureq::Error) -> String {
    let why = match error {
        ureq::Error::Timeout(_) => "There was no answer within 5 seconds.",
        ureq::Error::HostNotFound => "Its host is not known.",
        ureq::Error::Tls(_) | ureq::Error::Rustls(_) | ureq::Error::TlsRequired => {
            "No safe connection could be made: its certificate is not good for that name, or none that is known."
        }
        ureq::Error::Other(error) if error.is::<ForbiddenAddressError>() => {
            "Its host has an address that is private, this machine's own or reserved."
        }
        ureq::Error::Io(_) | ureq::Error::ConnectionFailed => {
            "It could not be connected to, or the connection broke off."
        }
        _ => "What it answered is not HTTP, or too long.",
    };
    why.to_owned()
}

/// Looks hosts up, and refuses those with an address that the policy forbids. Hosts given as addresses come
/// this way too. What is answered here is what is connected to: the name is not looked up again.
#[derive(Debug)]
struct PolicyResolver {
    usual: DefaultResolver,
    policy: WebhookPolicy,
}

impl Resolver for PolicyResolver {
    fn resolve(
        &self,
        uri: &Uri,
        config: &Config,
        timeout: NextTimeout,
    ) -> Result<ResolvedSocketAddrs, ureq::Error> {
        let addresses = self.usual.resolve(uri, config, timeout)?;
        if addresses
            .iter()
            .all(|address| self.policy.allows(address.ip()))
        {
            Ok(addresses)
        } else {
            Err(ureq::Error::Other(Box::new(ForbiddenAddressError)))
        }
    }
}

/// A host has an address that the policy forbids.
#[derive(Debug, Error)]
#[error("an address that webhooks may not go to")]
struct ForbiddenAddressError;
