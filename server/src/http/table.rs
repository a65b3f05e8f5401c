//! The table: as data, as a drawing, as text.

use axum::extract::State;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::IntoResponse;
use schemars::JsonSchema;
use serde::Deserialize;

use fieldpost_wire as wire;

use crate::service::{Credentials, DrawingView};

use super::app::{App, etag};
use super::error::ApiResult;
use super::extract::{GamePath, InQuery, entry_number};
use super::headers::VARY;
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
            )
            .query::<Moment>(),
            data,
        )
        .with(
            reading(
                "/v1/games/{game}/table.svg",
                "draw_table",
                "The table as a drawing.",
                text("image/svg+xml"),
            )
            .query::<Drawn>(),
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

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Moment {
    /// Number of an event: the table as it was after it; absent: as it is now.
    at: Option<u64>,
}

async fn data(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    InQuery(moment): InQuery<Moment>,
    headers: HeaderMap,
) -> ApiResult {
    let table = match moment.at.map(entry_number).transpose()? {
        Some(at) => app.service.table_as_of(&credentials, game, at).await?,
        None => app.service.table(&credentials, game).await?,
    };
    let hash = hex::encode(table.head.hash);
    let tag = etag(&hash);
    if is_known(&headers, &hash) {
        return Ok((StatusCode::NOT_MODIFIED, tag).into_response());
    }
    let json = [(header::CONTENT_TYPE, "application/json")];
    Ok((tag, json, table.json).into_response())
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Drawn {
    /// Number of an event: the table as it was after it; absent: as it is now.
    at: Option<u64>,
    /// Number of an event: ghosts show where units stood after it.
    since: Option<u64>,
    /// Whether only the map is drawn, each part of which says what it is.
    #[serde(default)]
    map: bool,
}

async fn drawn(
    State(app): State<App>,
    from: ClientAddress,
    credentials: Credentials,
    GamePath(game): GamePath,
    InQuery(wanted): InQuery<Drawn>,
    headers: HeaderMap,
) -> ApiResult {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    let at = wanted.at.map(entry_number).transpose()?;
    let view = DrawingView {
        is_map: wanted.map,
        since: wanted.since.map(entry_number).transpose()?,
    };
    let folded = app.service.folded_as_of(&caller, game, at).await?;
    let hash = hex::encode(folded.head.hash);
    if is_known(&headers, &hash) {
        return Ok((StatusCode::NOT_MODIFIED, etag(&hash)).into_response());
    }
    let asker = caller.asker(from.ip());
    let drawing = app.service.drawing(asker, game, folded, view).await?;
    let described = [
        (header::CONTENT_TYPE, "image/svg+xml".to_owned()),
        (header::VARY, format!("{VARY}, Accept-Encoding")),
    ];
    if takes_gzip(&headers) {
        let packed = [(header::CONTENT_ENCODING, "gzip")];
        return Ok((etag(&hash), described, packed, drawing.gzip).into_response());
    }
    Ok((etag(&hash), described, drawing.svg).into_response())
}

/// Whether the caller reads what is compressed with gzip.
fn takes_gzip(headers: &HeaderMap) -> bool {
    let lines = headers.get_all(header::ACCEPT_ENCODING).iter();
    let named = lines.filter_map(|line| line.to_str().ok());
    let mut named = named.flat_map(|line| line.split(','));
    named.any(|coding| {
        let (name, quality) = coding.split_once(';').unwrap_or((coding, ""));
        let quality = quality.trim().strip_prefix("q=").map(str::parse::<f64>);
        let is_refused = matches!(quality, Some(Ok(quality)) if quality <= 0.0);
        name.trim().eq_ignore_ascii_case("gzip") && !is_refused
    })
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
