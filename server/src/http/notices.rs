//! Notices: where the caller's seat hears of its game; stopping mails; what could not be delivered.

use axum::Json;
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::IntoResponse;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::service::Credentials;
use crate::store::NoticeId;
use fieldpost_wire as wire;

use super::app::App;
use super::body::{SMALL, StrictJson};
use super::error::{ApiError, ApiResult};
use super::extract::{GamePath, InPath, InQuery};
use super::routes::{KeyPolicy, Operation, Routes, json, text};

/// The most notices in one page.
const PAGE: u32 = 100;

pub(super) fn routes() -> Routes {
    let own = json::<wire::OwnNotices>();
    Routes::default()
        .with(
            Operation::get(
                "/v1/games/{game}/notices",
                "show_notices",
                "Where the caller's own seat hears of the game.",
            )
            .answers(200, "The addresses", &[own]),
            show,
        )
        .with(
            Operation::put(
                "/v1/games/{game}/notices",
                "set_notices",
                "Sets where the caller's own seat hears of the game; a webhook's secret is shown this once.",
            )
            .takes(json::<wire::SetNotices>())
            .answers(200, "The addresses", &[own]),
            set,
        )
        .with(
            Operation::get(
                "/v1/notices/stop/{token}",
                "ask_to_stop_mails",
                "A page with a button that stops the mails in which this link stood.",
            )
            .key_policy(KeyPolicy::NoKey)
            .answers(200, "The page", &[text("text/html")]),
            ask_to_stop,
        )
        .with(
            Operation::post(
                "/v1/notices/stop/{token}",
                "stop_mails",
                "Stops the mails in which this link stood (RFC 8058); doing so again changes nothing.",
            )
            .key_policy(KeyPolicy::NoKey)
            .answers(200, "No more mails go out", &[text("text/html")]),
            stop,
        )
        .with(
            Operation::get(
                "/v1/notices/dead",
                "list_dead_notices",
                "Notices that were given up (organiser).",
            )
            .query::<Page>()
            .answers(200, "Some of them", &[json::<wire::DeadNotices>()]),
            dead,
        )
        .with(
            Operation::post(
                "/v1/notices/dead/again",
                "try_dead_notices_again",
                "Tries notices again that were given up (organiser).",
            )
            .takes(json::<wire::TryAgain>())
            .answers(200, "How many", &[json::<wire::TriedAgain>()]),
            again,
        )
}

async fn show(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
) -> ApiResult<Json<wire::OwnNotices>> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    Ok(Json(app.service.notices(&caller, game).await?))
}

async fn set(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    StrictJson(requested): StrictJson<wire::SetNotices, SMALL>,
) -> ApiResult<Json<wire::OwnNotices>> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    Ok(Json(
        app.service.set_notices(&caller, game, &requested).await?,
    ))
}

#[derive(Deserialize)]
struct Token {
    token: String,
}

/// Programs that look at every link in a mail come here too, so that nothing may change.
async fn ask_to_stop(State(app): State<App>, InPath(Token { token }): InPath<Token>) -> ApiResult {
    if !app.service.would_unsubscribe(&token).await? {
        return Ok(page("No mails go out under this link any more.", ""));
    }
    let button = "<form method=\"post\"><button>Stop these mails</button></form>";
    Ok(page("Do you want no more mails about this game?", button))
}

async fn stop(State(app): State<App>, InPath(Token { token }): InPath<Token>) -> ApiResult {
    app.service.unsubscribe(&token).await?;
    Ok(page(
        "No more mails about this game go to your address. It is forgotten here.",
        "",
    ))
}

/// A page that says one thing. Nothing that came with the request is on it.
fn page(says: &str, below: &str) -> axum::response::Response {
    let html = format!(
        "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>Fieldpost</title></head>\n\
         <body style=\"font-family: sans-serif; margin: 3em\"><p>{says}</p>{below}</body></html>\n"
    );
    (
        StatusCode::OK,
        [(header::CONTENT_TYPE, "text/html; charset=utf-8")],
        html,
    )
        .into_response()
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Page {
    /// The id of a notice: those after it.
    after: Option<String>,
    /// At most so many.
    limit: Option<u32>,
}

async fn dead(
    State(app): State<App>,
    credentials: Credentials,
    InQuery(page): InQuery<Page>,
) -> ApiResult<Json<wire::DeadNotices>> {
    let caller = app.service.authenticate(&credentials, None).await?;
    let after: Option<NoticeId> = page
        .after
        .as_deref()
        .map(str::parse)
        .transpose()
        .map_err(|_| ApiError::BadRequest("after must be the id of a notice.".to_owned()))?;
    let limit = page.limit.unwrap_or(PAGE).clamp(1, PAGE);
    let dead = app
        .service
        .dead_notices(&caller, after.as_ref(), limit)
        .await?;
    Ok(Json(dead))
}

async fn again(
    State(app): State<App>,
    credentials: Credentials,
    StrictJson(requested): StrictJson<wire::TryAgain, SMALL>,
) -> ApiResult<Json<wire::TriedAgain>> {
    let caller = app.service.authenticate(&credentials, None).await?;
    Ok(Json(
        app.service.try_notices_again(&caller, &requested).await?,
    ))
}
