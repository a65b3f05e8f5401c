//! Whether the server lives, and whether it can work.

use axum::Json;
use axum::extract::State;
use serde_json::{Value, json};

use super::app::App;
use super::error::ApiResult;
use super::routes::{KeyPolicy, Operation, Routes, text};

pub(super) fn routes() -> Routes {
    Routes::default()
        .with(
            Operation::get("/healthz", "is_alive", "Whether the process serves.")
                .key_policy(KeyPolicy::NoKey)
                .answers(200, "It does", &[text("application/json")]),
            alive,
        )
        .with(
            Operation::get(
                "/readyz",
                "is_ready",
                "Whether the database answers and can be written.",
            )
            .key_policy(KeyPolicy::NoKey)
            .answers(200, "It does", &[text("application/json")]),
            ready,
        )
}

async fn alive() -> Json<Value> {
    Json(json!({"status": "alive"}))
}

async fn ready(State(app): State<App>) -> ApiResult<Json<Value>> {
    app.service.must_be_ready().await?;
    Ok(Json(json!({"status": "ready"})))
}
