//! The table: as data, as a drawing, as text.

use axum::extract::State;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::IntoResponse;
use schemars::JsonSchema;
use serde::Deserialize;

use fieldpost_wire as wire;

use super::asked::{By, InGame, Visiting, With};
use super::problem::Answer;
use super::routes::{Asks, Content, IF_NONE_MATCH, Operation, Routes, json, text};
use super::{App, etag};

pub(super) fn routes() -> Routes {
    let reading = |path, id, about, content: Content| {
        Operation::get(path, id, about)
            .asks(Asks::ReadersKey)
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

async fn data(State(app): State<App>, Visiting(visitor): Visiting, headers: HeaderMap) -> Answer {
    let table = app.office.table(&visitor).await?;
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

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Width {
    /// Characters across, from 40 to 400; 80 when absent.
    width: Option<usize>,
}

async fn text_of_table(
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
