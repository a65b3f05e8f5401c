//! The keys that seats sign with: adding, removing, replacing lost ones.

use axum::Json;
use axum::extract::State;

use crate::service::Credentials;
use fieldpost_wire as wire;

use super::app::App;
use super::body::SMALL;
use super::error::ApiResult;
use super::extract::GamePath;
use super::posting::{MAY_MATCH, POSTING_SIGNATURE, PostedJson};
use super::routes::{Content, Operation, Routes, json};

pub(super) fn routes() -> Routes {
    let posting = |path, id, about, body: Content| {
        Operation::post(path, id, about)
            .takes(body)
            .header(MAY_MATCH)
            .header(POSTING_SIGNATURE)
            .answers(200, "It stands in the record", &[json::<wire::Done>()])
    };
    let (key, of_seat) = (json::<wire::NameKey>(), json::<wire::NameSeatKey>());
    Routes::default()
        .with(
            posting(
                "/v1/games/{game}/keys",
                "add_signing_key",
                "Adds a key to the caller's seat: that of another device.",
                key,
            ),
            add,
        )
        .with(
            posting(
                "/v1/games/{game}/keys/removals",
                "remove_signing_key",
                "Ends a key of the caller's seat.",
                key,
            ),
            remove,
        )
        .with(
            posting(
                "/v1/games/{game}/keys/replacements",
                "replace_signing_key",
                "Names a key in the place of those that a seat has lost: the organiser's.",
                of_seat,
            ),
            replace,
        )
        .with(
            posting(
                "/v1/games/{game}/keys/countersignatures",
                "countersign_key",
                "Says that a key which the organiser named is the other side's player's.",
                of_seat,
            ),
            countersign,
        )
}

async fn add(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    PostedJson(requested, sent): PostedJson<wire::NameKey, SMALL>,
) -> ApiResult<Json<wire::Done>> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    let done = app
        .service
        .add_signing_key(&caller, game, &requested, &sent);
    Ok(Json(done.await?))
}

async fn remove(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    PostedJson(requested, sent): PostedJson<wire::NameKey, SMALL>,
) -> ApiResult<Json<wire::Done>> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    let done = app
        .service
        .remove_signing_key(&caller, game, &requested, &sent);
    Ok(Json(done.await?))
}

async fn replace(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    PostedJson(requested, sent): PostedJson<wire::NameSeatKey, SMALL>,
) -> ApiResult<Json<wire::Done>> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    let done = app
        .service
        .replace_signing_key(&caller, game, &requested, &sent);
    Ok(Json(done.await?))
}

async fn countersign(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    PostedJson(requested, sent): PostedJson<wire::NameSeatKey, SMALL>,
) -> ApiResult<Json<wire::Done>> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    let done = app
        .service
        .countersign_key(&caller, game, &requested, &sent);
    Ok(Json(done.await?))
}
