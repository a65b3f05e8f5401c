//! The clock, and what players and the umpire do besides posting sheets.

use axum::Json;
use axum::extract::State;
use fieldpost_rules::game::ClockRules;

use crate::service::Credentials;
use fieldpost_wire as wire;

use super::app::App;
use super::body::{SMALL, StrictJson};
use super::error::ApiResult;
use super::extract::GamePath;
use super::posting::{MAY_MATCH, POSTING_SIGNATURE, PostedJson, PostedNothing};
use super::routes::{KeyPolicy, Operation, Routes, json};

pub(super) fn routes() -> Routes {
    clock_routes().and(other_routes())
}

fn clock_routes() -> Routes {
    let done = json::<wire::Done>();
    Routes::default()
        .with(
            Operation::get("/v1/games/{game}/clock", "show_clock", "The clock of a game.")
                .key_policy(KeyPolicy::ReadersKey)
                .answers(200, "The clock", &[json::<wire::ClockPage>()]),
            show,
        )
        .with(
            Operation::put(
                "/v1/games/{game}/clock",
                "set_clock",
                "Sets the clock of a game, or another way for it to run: the umpire's.",
            )
            .takes(json::<ClockRules>())
            .header(MAY_MATCH)
            .header(POSTING_SIGNATURE)
            .answers(200, "It runs so", &[done]),
            set,
        )
        .with(
            Operation::put(
                "/v1/games/{game}/clock/zone",
                "set_zone",
                "Lets the days of the caller's side count in a time zone.",
            )
            .takes(json::<wire::SetZone>())
            .header(MAY_MATCH)
            .header(POSTING_SIGNATURE)
            .answers(200, "They count so", &[done]),
            set_zone,
        )
        .with(
            Operation::post(
                "/v1/games/{game}/clock/leave",
                "take_leave",
                "Takes leave for the caller's side: its clock stands on those days.",
            )
            .takes(json::<wire::TakeLeave>())
            .header(MAY_MATCH)
            .header(POSTING_SIGNATURE)
            .answers(200, "It is taken", &[done]),
            take_leave,
        )
        .with(
            Operation::post(
                "/v1/games/{game}/clock/pause",
                "ask_pause",
                "Asks for a pause for the caller's side; when the other has asked too, the clocks stand.",
            )
            .header(MAY_MATCH)
            .header(POSTING_SIGNATURE)
            .answers(200, "It is asked for", &[done]),
            ask_pause,
        )
        .with(
            Operation::post(
                "/v1/games/{game}/clock/resume",
                "resume",
                "Lets the clocks run again.",
            )
            .header(MAY_MATCH)
            .header(POSTING_SIGNATURE)
            .answers(200, "They run", &[done]),
            resume,
        )
        .with(
            Operation::post(
                "/v1/games/{game}/clock/claim",
                "claim",
                "Claims the game for the caller's side because the other's time is out.",
            )
            .header(MAY_MATCH)
            .header(POSTING_SIGNATURE)
            .answers(200, "The game is over", &[done]),
            claim,
        )
}

fn other_routes() -> Routes {
    let done = json::<wire::Done>();
    Routes::default()
        .with(
            Operation::post(
                "/v1/games/{game}/concession",
                "concede",
                "Gives the battle up for the caller's side.",
            )
            .header(MAY_MATCH)
            .header(POSTING_SIGNATURE)
            .answers(200, "The game is over", &[done]),
            concede,
        )
        .with(
            Operation::post(
                "/v1/games/{game}/disputes",
                "dispute",
                "Asks the umpire to look at something.",
            )
            .takes(json::<wire::RaiseDispute>())
            .header(MAY_MATCH)
            .header(POSTING_SIGNATURE)
            .answers(200, "It stands in the record", &[done]),
            dispute,
        )
        .with(
            Operation::post(
                "/v1/games/{game}/rulings",
                "rule",
                "Gives a ruling and does what follows from it: the umpire's.",
            )
            .takes(json::<wire::Rule>())
            .header(MAY_MATCH)
            .header(POSTING_SIGNATURE)
            .answers(200, "It stands in the record", &[done]),
            rule,
        )
        .with(
            Operation::post(
                "/v1/games/{game}/rulings/acceptance",
                "accept_umpire",
                "Agrees for the caller's side that somebody who plays on the other rules as well.",
            )
            .takes(json::<wire::AcceptUmpire>())
            .header(MAY_MATCH)
            .header(POSTING_SIGNATURE)
            .answers(200, "It stands in the record", &[done]),
            accept_umpire,
        )
        .with(
            Operation::post(
                "/v1/games/{game}/rulings/organiser",
                "seat_organiser",
                "Seats the organiser in the record as one who rules: the organiser's.",
            )
            .takes(json::<wire::SeatOrganiser>())
            .answers(200, "It stands in the record", &[done]),
            seat_organiser,
        )
}

async fn show(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
) -> ApiResult<Json<wire::ClockPage>> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    Ok(Json(app.service.clock(&caller, game).await?))
}

async fn set(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    PostedJson(rules, sent): PostedJson<ClockRules, SMALL>,
) -> ApiResult<Json<wire::Done>> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    Ok(Json(
        app.service.set_clock(&caller, game, rules, &sent).await?,
    ))
}

async fn set_zone(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    PostedJson(requested, sent): PostedJson<wire::SetZone, SMALL>,
) -> ApiResult<Json<wire::Done>> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    Ok(Json(
        app.service
            .set_zone(&caller, game, &requested.zone, &sent)
            .await?,
    ))
}

async fn take_leave(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    PostedJson(requested, sent): PostedJson<wire::TakeLeave, SMALL>,
) -> ApiResult<Json<wire::Done>> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    Ok(Json(
        app.service
            .take_leave(&caller, game, &requested, &sent)
            .await?,
    ))
}

async fn ask_pause(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    PostedNothing(sent): PostedNothing,
) -> ApiResult<Json<wire::Done>> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    Ok(Json(app.service.ask_pause(&caller, game, &sent).await?))
}

async fn resume(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    PostedNothing(sent): PostedNothing,
) -> ApiResult<Json<wire::Done>> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    Ok(Json(app.service.resume(&caller, game, &sent).await?))
}

async fn claim(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    PostedNothing(sent): PostedNothing,
) -> ApiResult<Json<wire::Done>> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    Ok(Json(app.service.claim(&caller, game, &sent).await?))
}

async fn concede(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    PostedNothing(sent): PostedNothing,
) -> ApiResult<Json<wire::Done>> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    Ok(Json(app.service.concede(&caller, game, &sent).await?))
}

async fn dispute(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    PostedJson(requested, sent): PostedJson<wire::RaiseDispute, SMALL>,
) -> ApiResult<Json<wire::Done>> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    Ok(Json(
        app.service
            .dispute(&caller, game, &requested, &sent)
            .await?,
    ))
}

async fn rule(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    PostedJson(requested, sent): PostedJson<wire::Rule, SMALL>,
) -> ApiResult<Json<wire::Done>> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    Ok(Json(
        app.service.rule(&caller, game, &requested, &sent).await?,
    ))
}

async fn accept_umpire(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    PostedJson(requested, sent): PostedJson<wire::AcceptUmpire, SMALL>,
) -> ApiResult<Json<wire::Done>> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    let done = app.service.accept_umpire(&caller, game, &requested, &sent);
    Ok(Json(done.await?))
}

async fn seat_organiser(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    StrictJson(requested): StrictJson<wire::SeatOrganiser, SMALL>,
) -> ApiResult<Json<wire::Done>> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    let done = app.service.seat_organiser(&caller, game, &requested);
    Ok(Json(done.await?))
}
