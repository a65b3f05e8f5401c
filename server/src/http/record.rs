//! The record, exported as it is stored, one entry a line.

use std::sync::Arc;

use axum::body::Body;
use axum::extract::State;
use axum::http::header;
use axum::response::IntoResponse;
use futures_util::stream;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::service::{Caller, Credentials, Service, ServiceError};
use crate::store::GameId;

use super::app::App;
use super::error::ApiResult;
use super::extract::{GamePath, InQuery, entry_number};
use super::routes::{KeyPolicy, Operation, Routes, text};

pub(super) fn routes() -> Routes {
    Routes::default().with(
        Operation::get(
            "/v1/games/{game}/record",
            "export_record",
            "The record as it is stored, an entry a line, to be checked from nothing.",
        )
        .key_policy(KeyPolicy::ReadersKey)
        .query::<Since>()
        .answers(200, "The record", &[text("application/x-ndjson")]),
        export,
    )
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Since {
    /// Number of the last entry that is known; 0, as when absent: none.
    #[serde(default)]
    after: u64,
}

async fn export(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    InQuery(since): InQuery<Since>,
) -> ApiResult {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    let reading = Reading {
        service: Arc::clone(&app.service),
        credentials,
        game,
        after: entry_number(since.after)?,
    };
    // The first page is read before the answer begins, so that a game that is not there is a problem
    // and not a broken stream.
    let (first, reading) = reading.page(&caller).await?;
    let rest = stream::try_unfold(reading, async |reading| match reading {
        Some(reading) => reading.next().await.map(Some).map_err(|_| broken()),
        None => Ok(None),
    });
    let pages = stream::StreamExt::chain(stream::iter([Ok::<_, std::io::Error>(first)]), rest);
    Ok((
        [(header::CONTENT_TYPE, "application/x-ndjson")],
        Body::from_stream(pages),
    )
        .into_response())
}

/// A record being read a page at a time, each in a reading of its own.
struct Reading {
    service: Arc<Service>,
    /// Looked up again before each page: a long answer ends with its key.
    credentials: Credentials,
    game: GameId,
    after: u64,
}

impl Reading {
    /// The next page, if the caller still may read it.
    async fn next(self) -> Result<(String, Option<Self>), ServiceError> {
        let caller = self.service.identify(&self.credentials, Some(self.game));
        let caller = caller.await?;
        self.page(&caller).await
    }

    /// The page after what was read, and what is left to read.
    async fn page(mut self, caller: &Caller) -> Result<(String, Option<Self>), ServiceError> {
        let lines = self.service.record(caller, self.game, self.after).await?;
        let Some(last) = lines.last() else {
            return Ok((String::new(), None));
        };
        self.after = last.number;
        let mut text = String::new();
        for line in &lines {
            let json = serde_json::to_string(line)?;
            text.push_str(&json);
            text.push('\n');
        }
        Ok((text, Some(self)))
    }
}

fn broken() -> std::io::Error {
    std::io::Error::other("the record could not be read on")
}
