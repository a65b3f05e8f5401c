//! The table: as data, as a drawing, as text.

use axum::extract::State;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::IntoResponse;
use schemars::JsonSchema;
use serde::Deserialize;

use fieldpost_wire as wire;

use crate::service::Credentials;

use super::app::{App, etag};
use super::error::ApiResult;
use super::extract::{GamePath, InQuery};
use super::rate_limit::ClientAddress;
use super::routes::{Content, IF_NONE_MATCH, KeyPolicy, Operation, Routes, json, text};

pub(super) fn routes() -> Routes {
    let reading = |path, id, about, content: Content| {
        Operation::get(path, id, about)
            .key_policy(KeyPolicy::ReadersKey)
            .header(IF_NONE_MATCH)
            .answers(200, "The table", &[content])
            .answers(304, "It is still the same", &[])
    };
    Routes::default()
        .with(
            reading(
                "/v1/games/{game}/table",
                "show_table",
                "The table as data.",
                json::<wire::Table>(),
            ),
            data,
        )
        .with(
            reading(
                "/v1/games/{game}/table.svg",
                "draw_table",
                "The table as a drawing.",
                text("image/svg+xml"),
            ),
            drawn,
        )
        .with(
            reading(
                "/v1/games/{game}/table.txt",
                "write_table",
                "The table as text.",
                text("text/plain"),
            )
            .query::<Width>(),
            text_of_table,
        )
}

async fn data(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    headers: HeaderMap,
) -> ApiResult {
    let table = app.service.table(&credentials, game).await?;
    let hash = hex::encode(table.head.hash);
    let tag = etag(&hash);
    if is_known(&headers, &hash) {
        return Ok((StatusCode::NOT_MODIFIED, tag).into_response());
    }
    let json = [(header::CONTENT_TYPE, "application/json")];
    Ok((tag, json, table.json).into_response())
}

async fn drawn(
    State(app): State<App>,
    from: ClientAddress,
    credentials: Credentials,
    GamePath(game): GamePath,
    headers: HeaderMap,
) -> ApiResult {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    let folded = app.service.folded(&caller, game).await?;
    let hash = hex::encode(folded.head.hash);
    if is_known(&headers, &hash) {
        return Ok((StatusCode::NOT_MODIFIED, etag(&hash)).into_response());
    }
    let asker = caller.asker(from.ip());
    let svg = app.service.table_svg(asker, folded).await?;
    Ok((etag(&hash), [(header::CONTENT_TYPE, "image/svg+xml")], svg).into_response())
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Width {
    /// Characters across, from 40 to 400; 80 when absent.
    width: Option<usize>,
}

async fn text_of_table(
    State(app): State<App>,
    from: ClientAddress,
    credentials: Credentials,
    GamePath(game): GamePath,
    InQuery(requested): InQuery<Width>,
    headers: HeaderMap,
) -> ApiResult {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    let folded = app.service.folded(&caller, game).await?;
    let hash = hex::encode(folded.head.hash);
    if is_known(&headers, &hash) {
        return Ok((StatusCode::NOT_MODIFIED, etag(&hash)).into_response());
    }
    let width = requested.width.unwrap_or(80).clamp(40, 400);
    let asker = caller.asker(from.ip());
    let text = app.service.table_text(asker, folded, width).await?;
    Ok((etag(&hash), text).into_response())
}

/// Whether the caller has this table already.
pub(super) fn is_known(headers: &HeaderMap, hash: &str) -> bool {
    let named = headers
        .get(header::IF_NONE_MATCH)
        .and_then(|value| value.to_str().ok());
    named.is_some_and(|tags| {
        tags.split(',')
            .any(|tag| tag.trim().trim_start_matches("W/").trim_matches('"') == hash)
    })
}
