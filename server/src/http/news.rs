//! What happened: the news since an event, and one event whole.

use axum::Json;
use axum::extract::State;
use axum::http::header;
use axum::response::IntoResponse;
use schemars::JsonSchema;
use serde::Deserialize;

use fieldpost_wire as wire;

use crate::service::Credentials;

use super::app::{App, etag};
use super::error::{ApiError, ApiResult};
use super::extract::{GamePath, InPath, InQuery, entry_number};
use super::rate_limit::ClientAddress;
use super::routes::{KeyPolicy, Operation, Routes, json};

/// The most events in one page of news.
const PAGE: u32 = 500;

pub(super) fn routes() -> Routes {
    Routes::default()
        .with(
            Operation::get(
                "/v1/games/{game}/news",
                "read_news",
                "What happened since an event, in words.",
            )
            .key_policy(KeyPolicy::ReadersKey)
            .query::<Since>()
            .answers(200, "The news", &[json::<wire::NewsPage>()]),
            news,
        )
        .with(
            Operation::get(
                "/v1/games/{game}/events/{number}",
                "show_event",
                "One event whole, its verdicts with their ledgers in words.",
            )
            .key_policy(KeyPolicy::ReadersKey)
            .answers(200, "The event", &[json::<wire::EventPage>()]),
            event,
        )
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Since {
    /// Number of the last event that is known; 0, as when absent: none.
    #[serde(default)]
    after: u64,
    /// The most events wanted; 500 is the most there are.
    limit: Option<u32>,
}

async fn news(
    State(app): State<App>,
    from: ClientAddress,
    credentials: Credentials,
    GamePath(game): GamePath,
    InQuery(since): InQuery<Since>,
) -> ApiResult {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    let limit = since.limit.unwrap_or(PAGE).clamp(1, PAGE);
    let after = entry_number(since.after)?;
    let asker = caller.asker(from.ip());
    let page = app.service.news(&caller, &asker, game, after, limit);
    let page = page.await?;
    Ok((etag(&page.head.hash), Json(page)).into_response())
}

async fn event(
    State(app): State<App>,
    from: ClientAddress,
    credentials: Credentials,
    GamePath(game): GamePath,
    InPath(path): InPath<EventPath>,
) -> ApiResult {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    let number = path
        .number
        .parse()
        .map_err(|_| ApiError::BadRequest("An event is named by its number.".to_owned()))?;
    let asker = caller.asker(from.ip());
    let page = app.service.event(&caller, asker, game, number).await?;
    let json = [(header::CONTENT_TYPE, "application/json")];
    Ok((json, page).into_response())
}

#[derive(Deserialize)]
struct EventPath {
    number: String,
}
