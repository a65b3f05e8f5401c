//! Sessions: coming in, another device, ending them.

use axum::Json;
use axum::extract::{FromRequestParts, State};
use axum::http::request::Parts;
use axum::http::{HeaderName, StatusCode, header};
use axum::response::IntoResponse;
use serde::Deserialize;

use crate::key::Key;
use crate::qr;
use crate::service::{
    Credentials, Entrance, IdempotencyKey, KeysHeld, OpenSession, ServiceError, Taking,
};
use fieldpost_wire as wire;

use super::app::App;
use super::body::{SMALL, StrictJson};
use super::error::{ApiError, ApiResult};
use super::extract::{IdempotencyHeader, InPath};
use super::own_page::{OldCookie, OwnPage, SessionCookie};
use super::rate_limit::MayGuess;
use super::routes::{HeaderDoc, IDEMPOTENCY_KEY, KeyPolicy, Operation, Routes, json};

/// `Origin` where something is changed under a cookie.
const ORIGIN: HeaderDoc = HeaderDoc {
    name: "Origin",
    about: "The address of the server's own page, as browsers send it.",
    required: true,
    pattern: "^https?://[!-~]+$",
};

pub(super) fn routes() -> Routes {
    let session = json::<wire::Session>();
    Routes::default()
        .with(
            Operation::post(
                "/v1/session",
                "start_session",
                "Comes in: by an invitation, by another device's link or by a key. The cookie is a fresh one.",
            )
            .key_policy(KeyPolicy::MaybeKey)
            .header(ORIGIN)
            .header(HeaderDoc {
                required: false,
                ..IDEMPOTENCY_KEY
            })
            .takes(json::<wire::StartSession>())
            .answers(201, "The session, its cookie given this once", &[session]),
            start,
        )
        .with(
            Operation::get("/v1/session", "show_session", "The session that asks.")
                .key_policy(KeyPolicy::Session)
                .answers(200, "The session", &[session]),
            show,
        )
        .with(
            Operation::delete("/v1/session", "end_session", "Ends the session that asks.")
                .key_policy(KeyPolicy::Session)
                .header(ORIGIN)
                .answers(204, "Ended", &[]),
            end,
        )
        .with(
            Operation::get(
                "/v1/session/games",
                "list_session_games",
                "Every seat that the session's keys open, with its game and clock.",
            )
            .key_policy(KeyPolicy::Session)
            .answers(200, "The games", &[json::<wire::SessionGames>()]),
            games,
        )
        .with(
            Operation::post(
                "/v1/session/links",
                "give_device_link",
                "Gives a link by which another device gets a session with the same keys, once, within ten minutes.",
            )
            .key_policy(KeyPolicy::Session)
            .header(ORIGIN)
            .answers(201, "The link, shown this once", &[json::<wire::GivenLink>()]),
            give_link,
        )
        .with(
            Operation::delete(
                "/v1/session/keys/{key}",
                "drop_session_key",
                "Takes a key out of the session that asks.",
            )
            .key_policy(KeyPolicy::Session)
            .header(ORIGIN)
            .answers(200, "What is left of it", &[session]),
            drop_key,
        )
        .with(
            Operation::get(
                "/v1/sessions",
                "list_sessions",
                "Every session that holds a key of the caller's.",
            )
            .key_policy(KeyPolicy::SessionOrKey)
            .answers(200, "The sessions", &[json::<wire::Sessions>()]),
            list,
        )
        .with(
            Operation::delete(
                "/v1/sessions",
                "end_sessions",
                "Takes the caller's keys out of every session; those left without any end.",
            )
            .key_policy(KeyPolicy::SessionOrKey)
            .answers(204, "Ended", &[]),
            end_all,
        )
        .with(
            Operation::delete(
                "/v1/sessions/{session}",
                "end_one_session",
                "Takes the caller's keys out of a session; without any it ends.",
            )
            .key_policy(KeyPolicy::SessionOrKey)
            .answers(204, "Ended", &[]),
            end_one,
        )
}

async fn start(
    State(app): State<App>,
    _: OwnPage,
    _: MayGuess,
    credentials: Credentials,
    OldCookie(old): OldCookie,
    once: Option<IdempotencyHeader>,
    StrictJson(requested): StrictJson<wire::StartSession, SMALL>,
) -> ApiResult<impl IntoResponse> {
    let once = once.map(|IdempotencyHeader(key)| key);
    let (entrance, device) = entrance(requested, &credentials, once)?;
    let caller = app.service.authenticate(&credentials, None).await?;
    let old = match old {
        Some(old) => match app.service.open_session(&old).await {
            Ok(open) => Some(open),
            // One that has ended has nothing to hand over.
            Err(ServiceError::WrongSession) => None,
            Err(error) => return Err(error.into()),
        },
        None => None,
    };
    let started = app
        .service
        .start_session(&caller, old.as_ref(), &entrance, device.as_deref())
        .await?;
    let cookie = app.page.give(&started.cookie);
    Ok((StatusCode::CREATED, cookie, Json(started.page)))
}

/// By what somebody comes in, and what they call their device.
fn entrance(
    requested: wire::StartSession,
    credentials: &Credentials,
    once: Option<IdempotencyKey>,
) -> ApiResult<(Entrance, Option<String>)> {
    use wire::StartSession as By;
    Ok(match requested {
        By::Key { device } => match credentials {
            Credentials::Key(_) => (Entrance::Key, device),
            Credentials::None | Credentials::Session { .. } => {
                return Err(ServiceError::NoKey.into());
            }
        },
        By::Link { link, device } => {
            let link = link.parse().map_err(|_| ServiceError::LinkExpired)?;
            (Entrance::Link(link), device)
        }
        By::Invitation {
            invitation,
            player,
            zone,
            key,
            device,
        } => {
            let invitation = invitation.parse();
            let taking = Taking {
                invitation: invitation.map_err(|_| ServiceError::WrongInvitation)?,
                player,
                zone,
                device_key: key,
                // Without it, whoever loses the answer has lost the seat.
                idempotency_key: Some(once.ok_or(ApiError::NoIdempotencyKey)?),
            };
            (Entrance::Invitation(Box::new(taking)), device)
        }
    })
}

async fn show(State(app): State<App>, SessionCookie(cookie): SessionCookie) -> ApiResult {
    let open = app.service.open_session(&cookie).await?;
    let page = Json(app.service.own_session(&open));
    Ok((app.page.give(&cookie), page).into_response())
}

async fn end(State(app): State<App>, SessionCookie(cookie): SessionCookie) -> ApiResult {
    match app.service.open_session(&cookie).await {
        Ok(open) => app.service.end_own_session(&open).await?,
        Err(ServiceError::WrongSession) => {}
        Err(error) => return Err(error.into()),
    }
    Ok((StatusCode::NO_CONTENT, app.page.take_back()).into_response())
}

const UNKEPT: [(HeaderName, &str); 1] = [(header::CACHE_CONTROL, "no-store")];

async fn games(State(app): State<App>, SessionCookie(cookie): SessionCookie) -> ApiResult {
    let open = app.service.open_session(&cookie).await?;
    let games = app.service.session_games(&open).await?;
    Ok((UNKEPT, Json(games)).into_response())
}

async fn give_link(
    State(app): State<App>,
    _: OwnPage,
    SessionCookie(cookie): SessionCookie,
) -> ApiResult {
    let open = app.service.open_session(&cookie).await?;
    let (link, expires_at) = app.service.give_device_link(&open).await?;
    let address = app.page.link("device", &link.reveal());
    let address = address.ok_or(ApiError::NoPublicAddress)?;
    let given = wire::GivenLink {
        link: link.reveal(),
        expires_at,
        qr: qr::svg(&address),
        address,
    };
    Ok((StatusCode::CREATED, UNKEPT, Json(given)).into_response())
}

#[derive(Deserialize)]
struct KeyPath {
    key: String,
}

async fn drop_key(
    State(app): State<App>,
    SessionCookie(cookie): SessionCookie,
    InPath(path): InPath<KeyPath>,
) -> ApiResult {
    let open = app.service.open_session(&cookie).await?;
    let left = app.service.drop_session_key(&cookie, &open, &path.key);
    Ok((UNKEPT, Json(left.await?)).into_response())
}

/// Whoever has keys: by a session, or by one that they sent.
enum HolderOfKeys {
    Session(Key),
    Key(Credentials),
}

impl FromRequestParts<App> for HolderOfKeys {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> ApiResult<Self> {
        if parts.headers.contains_key(header::AUTHORIZATION) {
            let credentials = Credentials::from_request_parts(parts, app).await?;
            return Ok(Self::Key(credentials));
        }
        let SessionCookie(cookie) = SessionCookie::from_request_parts(parts, app).await?;
        Ok(Self::Session(cookie))
    }
}

impl HolderOfKeys {
    async fn held(&self, app: &App) -> ApiResult<KeysHeld> {
        match self {
            Self::Session(cookie) => {
                let open: OpenSession = app.service.open_session(cookie).await?;
                Ok(open.held())
            }
            Self::Key(credentials) => {
                let caller = app.service.authenticate(credentials, None).await?;
                Ok(app.service.held_by(&caller)?)
            }
        }
    }
}

async fn list(State(app): State<App>, holder: HolderOfKeys) -> ApiResult {
    let held = holder.held(&app).await?;
    let sessions = app.service.sessions(&held).await?;
    Ok((UNKEPT, Json(sessions)).into_response())
}

async fn end_all(State(app): State<App>, holder: HolderOfKeys) -> ApiResult<StatusCode> {
    let held = holder.held(&app).await?;
    app.service.end_sessions(&held, None).await?;
    Ok(StatusCode::NO_CONTENT)
}

#[derive(Deserialize)]
struct SessionPath {
    session: String,
}

async fn end_one(
    State(app): State<App>,
    holder: HolderOfKeys,
    InPath(path): InPath<SessionPath>,
) -> ApiResult<StatusCode> {
    let held = holder.held(&app).await?;
    let session = Some(path.session.as_str());
    app.service.end_sessions(&held, session).await?;
    Ok(StatusCode::NO_CONTENT)
}
