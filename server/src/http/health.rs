//! Whether the server lives, and whether it can work.

use axum::extract::State;
use axum::routing::get;
use axum::{Json, Router};
use serde_json::{Value, json};

use super::App;
use super::problem::Answer;

pub(super) fn router() -> Router<App> {
    Router::new()
        .route("/healthz", get(alive))
        .route("/readyz", get(ready))
}

async fn alive() -> Json<Value> {
    Json(json!({"status": "alive"}))
}

async fn ready(State(app): State<App>) -> Answer<Json<Value>> {
    app.office.ping().await?;
    Ok(Json(json!({"status": "ready"})))
}
