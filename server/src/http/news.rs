//! What happened: the news since an event, and one event whole.

use axum::extract::{Path, State};
use axum::response::IntoResponse;
use axum::routing::get;
use axum::{Json, Router};
use serde::Deserialize;

use crate::wire;

use super::asked::{By, InGame, With};
use super::problem::{Answer, Rejection};
use super::{App, etag};

/// The most events in one page of news.
const PAGE: u32 = 500;

pub(super) fn router() -> Router<App> {
    Router::new()
        .route("/v1/games/{game}/news", get(news))
        .route("/v1/games/{game}/events/{number}", get(event))
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Since {
    #[serde(default)]
    after: u64,
    limit: Option<u32>,
}

async fn news(
    State(app): State<App>,
    By(caller): By,
    InGame(game): InGame,
    With(since): With<Since>,
) -> Answer {
    let limit = since.limit.unwrap_or(PAGE).clamp(1, PAGE);
    let page = app.office.news(&caller, game, since.after, limit).await?;
    Ok((etag(&page.head.hash), Json(page)).into_response())
}

async fn event(
    State(app): State<App>,
    By(caller): By,
    InGame(game): InGame,
    Path(path): Path<EventPath>,
) -> Answer<Json<wire::EventPage>> {
    let number = path
        .number
        .parse()
        .map_err(|_| Rejection::BadRequest("An event is named by its number.".to_owned()))?;
    Ok(Json(app.office.event(&caller, game, number).await?))
}

#[derive(Deserialize)]
struct EventPath {
    number: String,
}
