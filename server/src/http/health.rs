//! Whether the server lives, and whether it can work.

use axum::Json;
use axum::extract::State;
use serde_json::{Value, json};

use super::App;
use super::problem::Answer;
use super::routes::{Asks, Operation, Routes, text};

pub(super) fn routes() -> Routes {
    Routes::default()
        .with(
            Operation::get("/healthz", "is_alive", "Whether the process serves.")
                .asks(Asks::NoKey)
                .answers(200, "It does", &[text("application/json")]),
            alive,
        )
        .with(
            Operation::get("/readyz", "is_ready", "Whether the database answers.")
                .asks(Asks::NoKey)
                .answers(200, "It does", &[text("application/json")]),
            ready,
        )
}

async fn alive() -> Json<Value> {
    Json(json!({"status": "alive"}))
}

async fn ready(State(app): State<App>) -> Answer<Json<Value>> {
    app.office.ping().await?;
    Ok(Json(json!({"status": "ready"})))
}
