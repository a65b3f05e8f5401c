//! The table: as data, as a drawing, as text.

use axum::extract::State;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::IntoResponse;
use axum::routing::get;
use axum::{Json, Router};
use serde::Deserialize;

use super::asked::{By, InGame, With};
use super::problem::Answer;
use super::{App, etag};

pub(super) fn router() -> Router<App> {
    Router::new()
        .route("/v1/games/{game}/table", get(data))
        .route("/v1/games/{game}/table.svg", get(drawn))
        .route("/v1/games/{game}/table.txt", get(text))
}

async fn data(
    State(app): State<App>,
    By(caller): By,
    InGame(game): InGame,
    headers: HeaderMap,
) -> Answer {
    let table = app.office.table(&caller, game).await?;
    let tag = etag(&table.head.hash);
    if is_known(&headers, &table.head.hash) {
        return Ok((StatusCode::NOT_MODIFIED, tag).into_response());
    }
    Ok((tag, Json(table)).into_response())
}

async fn drawn(
    State(app): State<App>,
    By(caller): By,
    InGame(game): InGame,
    headers: HeaderMap,
) -> Answer {
    let folded = app.office.folded(&caller, game).await?;
    let hash = hex::encode(folded.head.hash);
    if is_known(&headers, &hash) {
        return Ok((StatusCode::NOT_MODIFIED, etag(&hash)).into_response());
    }
    let svg = app.office.table_svg(folded).await?;
    Ok((etag(&hash), [(header::CONTENT_TYPE, "image/svg+xml")], svg).into_response())
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Width {
    width: Option<usize>,
}

async fn text(
    State(app): State<App>,
    By(caller): By,
    InGame(game): InGame,
    With(asked): With<Width>,
    headers: HeaderMap,
) -> Answer {
    let folded = app.office.folded(&caller, game).await?;
    let hash = hex::encode(folded.head.hash);
    if is_known(&headers, &hash) {
        return Ok((StatusCode::NOT_MODIFIED, etag(&hash)).into_response());
    }
    let width = asked.width.unwrap_or(80).clamp(40, 400);
    let text = app.office.table_text(folded, width).await?;
    Ok((etag(&hash), text).into_response())
}

/// Whether the caller has this table already.
fn is_known(headers: &HeaderMap, hash: &str) -> bool {
    let named = headers
        .get(header::IF_NONE_MATCH)
        .and_then(|value| value.to_str().ok());
    named.is_some_and(|tags| {
        tags.split(',')
            .any(|tag| tag.trim().trim_start_matches("W/").trim_matches('"') == hash)
    })
}
