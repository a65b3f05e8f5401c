//! A game's news as they happen, as Server-Sent Events (HTML standard, section 9.2). Each stream subscribes
//! before it reads, so that nothing falls between the two, and is resumed by `Last-Event-ID`.

use std::collections::VecDeque;
use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

use axum::extract::State;
use axum::http::{HeaderMap, HeaderName};
use axum::response::IntoResponse;
use axum::response::sse::{Event, KeepAlive, Sse};
use futures_util::stream;
use schemars::JsonSchema;
use serde::Deserialize;
use tokio::sync::{OwnedSemaphorePermit, watch};

use crate::measuring::Asker;
use crate::metrics::{Metrics, Watched};
use crate::service::{Credentials, Service};
use crate::store::{GameId, Subscription};
use fieldpost_wire as wire;

use super::app::App;
use super::error::{ApiError, ApiResult};
use super::extract::{GamePath, InQuery, entry_number};
use super::headers::single;
use super::routes::{HeaderDoc, KeyPolicy, Operation, Routes, text};

/// News read at a time.
const PAGE: u32 = 50;
/// A line of nothing this often keeps proxies from thinking the connection dead.
const KEEP_ALIVE: Duration = Duration::from_secs(15);
/// How often it is looked whether the key of a stream on which nothing happens has ended.
const KEY_CHECK: Duration = Duration::from_secs(5);
/// How often it is looked whether spectators may be shown something by now.
const LATE: Duration = Duration::from_secs(5);

pub(super) fn routes() -> Routes {
    Routes::default().with(
        Operation::get(
            "/v1/games/{game}/events",
            "watch_game",
            "The news as they happen: Server-Sent Events that go on until either side hangs up.",
        )
        .key_policy(KeyPolicy::ReadersKey)
        .query::<Since>()
        .header(HeaderDoc {
            name: "Last-Event-ID",
            about: "Number of the last event that is known: the stream goes on after it. Beats after.",
            required: false,
            pattern: "^[0-9]{1,15}$",
        })
        .answers(200, "The stream: the id of each event is its number, its data a NewsItem", &[text("text/event-stream")]),
        watch_game,
    )
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Since {
    /// Number of the last event that is known; absent: only what happens from now on.
    after: Option<u64>,
}

async fn watch_game(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    InQuery(since): InQuery<Since>,
    headers: HeaderMap,
) -> ApiResult {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    let place = Arc::clone(&app.watchers).try_acquire_owned();
    let place = place.map_err(|_| ApiError::TooManyWatchers)?;
    let subscription = app.service.subscribe(game);
    let head = app.service.game(&caller, game).await?.head.number;
    let known = last_event_id(&headers)?.or(since.after);
    let known = known.map(entry_number).transpose()?;
    let watching = Watching {
        seen: known.unwrap_or(head).min(head),
        ready: VecDeque::new(),
        was_late: true,
        service: Arc::clone(&app.service),
        credentials,
        game,
        subscription,
        closing: app.closing.clone(),
        _counted: Metrics::count_watcher(&app.metrics),
        _place: place,
    };
    let events = stream::unfold(watching, Watching::next);
    let stream = Sse::new(events).keep_alive(KeepAlive::new().interval(KEEP_ALIVE));
    // Proxies that gather an answer before they pass it on would gather for ever.
    Ok(([("x-accel-buffering", "no")], stream).into_response())
}

fn last_event_id(headers: &HeaderMap) -> ApiResult<Option<u64>> {
    let value = single(headers, &HeaderName::from_static("last-event-id"))?;
    let number = value.map(|value| value.to_str().ok()?.trim().parse().ok());
    match number {
        None => Ok(None),
        Some(Some(number)) => Ok(Some(number)),
        Some(None) => Err(ApiError::BadRequest(
            "Last-Event-ID must be the number of an event.".to_owned(),
        )),
    }
}

/// Waits until a key opens nothing any more: whatever is read with it next says so. Without a key, for ever.
async fn key_ended(service: &Service, credentials: &Credentials, game: GameId) {
    if credentials.is_none() {
        std::future::pending::<()>().await;
    }
    while service.identify(credentials, Some(game)).await.is_ok() {
        tokio::time::sleep(KEY_CHECK).await;
    }
}

/// Somebody watching a game.
struct Watching {
    service: Arc<Service>,
    /// Looked up again before each reading: a stream ends with its key.
    credentials: Credentials,
    game: GameId,
    /// Number of the last event that was sent.
    seen: u64,
    ready: VecDeque<wire::NewsItem>,
    /// Whether news were kept back when this was last asked.
    was_late: bool,
    subscription: Subscription,
    closing: watch::Receiver<bool>,
    _counted: Watched,
    _place: OwnedSemaphorePermit,
}

impl Watching {
    /// The next event, and whoever goes on watching; none when the stream ends: the server stops, the caller
    /// may no longer read the game, or the database fails. Whoever comes again goes on where it ended.
    async fn next(mut self) -> Option<(Result<Event, Infallible>, Self)> {
        loop {
            if *self.closing.borrow() {
                return None;
            }
            if let Some(item) = self.ready.pop_front() {
                self.seen = item.number;
                let event = Event::default()
                    .id(item.number.to_string())
                    .event(&item.event)
                    .json_data(&item)
                    .ok()?;
                return Some((Ok(event), self));
            }
            let caller = self.service.identify(&self.credentials, Some(self.game));
            let caller = caller.await.ok()?;
            let page = self
                .service
                .news(&caller, &Asker::Watchers, self.game, self.seen, PAGE);
            self.ready = page.await.ok()?.news.into();
            if self.ready.is_empty() {
                let is_late = self.service.is_late(&caller, self.game).await.ok()?;
                // What was read may still have been kept back: nobody announces it again.
                let was_late = std::mem::replace(&mut self.was_late, is_late);
                if is_late || !was_late {
                    self.wait(is_late).await;
                }
            }
        }
    }

    /// Until there is more to read, the key has ended, or the server stops.
    async fn wait(&mut self, is_late: bool) {
        let more = async {
            if is_late {
                tokio::time::sleep(LATE).await;
            } else {
                self.subscription.wait_beyond(self.seen).await;
            }
        };
        tokio::select! {
            () = more => {}
            () = key_ended(&self.service, &self.credentials, self.game) => {}
            _ = self.closing.wait_for(|closing| *closing) => {}
        }
    }
}
