//! Bodies of requests: read whole, up to the route's limit, before a deadline.

use axum::extract::{FromRequest, Request};
use axum::http::{HeaderMap, header};
use http_body_util::BodyExt;
use serde::de::DeserializeOwned;

use crate::held::{Held, Whose};

use super::app::App;
use super::error::{ApiError, ApiResult, JsonError};
use super::headers::single;
use super::rate_limit::ClientAddress;
use super::strict_json;

/// A seat, an invitation, a switch.
pub(super) const SMALL: usize = 16 * 1024;
/// A turn sheet: a thousand units could each be given several legs.
pub(super) const SHEET: usize = 256 * 1024;
/// A ruleset and a scenario.
pub(super) const FILES: usize = 4 * 1024 * 1024;

/// What is read and thrown away of a body that is too long, so that its sender gets to read why
/// before the connection closes.
const DRAINED: usize = 32 * 1024 * 1024;

/// A body of strict JSON, of at most so many bytes.
pub(super) struct StrictJson<T, const LIMIT: usize>(pub(super) T);

impl<T: DeserializeOwned, const LIMIT: usize> FromRequest<App> for StrictJson<T, LIMIT> {
    type Rejection = ApiError;

    async fn from_request(request: Request, app: &App) -> ApiResult<Self> {
        Ok(Self(read_json(request, app, LIMIT).await?.0))
    }
}

/// Strict JSON of at most so many bytes, and its text as it was sent.
pub(super) async fn read_json<T: DeserializeOwned>(
    request: Request,
    app: &App,
    limit: usize,
) -> ApiResult<(T, String)> {
    if media_type(request.headers())? != Some("application/json") {
        return Err(ApiError::WrongMediaType("application/json"));
    }
    let body = read(request, app, limit).await?;
    let value = strict_json::read(&body).map_err(ApiError::BadJson)?;
    let text = String::from_utf8(body).map_err(|error| not_utf8(&error))?;
    Ok((value, text))
}

/// A body of nothing.
pub(super) async fn read_nothing(request: Request, app: &App) -> ApiResult<()> {
    match read(request, app, SMALL).await?.as_slice() {
        [] => Ok(()),
        _ => Err(ApiError::BadRequest("This takes no body.".to_owned())),
    }
}

/// A sheet as data or as typed.
pub(super) enum SheetBody<T> {
    /// `application/json`.
    Data(T),
    /// `text/plain`.
    Text(String),
}

impl<T: DeserializeOwned> FromRequest<App> for SheetBody<T> {
    type Rejection = ApiError;

    async fn from_request(request: Request, app: &App) -> ApiResult<Self> {
        let is_text = match media_type(request.headers())? {
            Some("application/json") => false,
            Some("text/plain") => true,
            _ => {
                return Err(ApiError::WrongMediaType(
                    "application/json, or text/plain for a sheet as typed",
                ));
            }
        };
        let body = read(request, app, SHEET).await?;
        if is_text {
            return String::from_utf8(body)
                .map(Self::Text)
                .map_err(|error| not_utf8(&error));
        }
        strict_json::read(&body)
            .map(Self::Data)
            .map_err(ApiError::BadJson)
    }
}

fn not_utf8(error: &std::string::FromUtf8Error) -> ApiError {
    ApiError::BadJson(JsonError {
        detail: format!(
            "Not UTF-8 after {} bytes.",
            error.utf8_error().valid_up_to()
        ),
        ..JsonError::default()
    })
}

fn media_type(headers: &HeaderMap) -> ApiResult<Option<&str>> {
    let value = single(headers, &header::CONTENT_TYPE)?.and_then(|value| value.to_str().ok());
    Ok(value.and_then(|value| value.split(';').next().map(str::trim)))
}

/// What arrives is counted by the address and the key it comes with from so many bytes on, as long as it arrives.
const UNCOUNTED: usize = SMALL;

/// Counts a body that has grown to so many bytes; whether there is room for it.
fn hold(held: &mut Option<Held>, app: &App, whose: &Whose, length: usize) -> bool {
    if length <= UNCOUNTED {
        return true;
    }
    let length = length as u64;
    if let Some(held) = held {
        return held.grow(length.saturating_sub(held.bytes()));
    }
    *held = app.held.hold(whose, length);
    held.is_some()
}

async fn read(request: Request, app: &App, limit: usize) -> ApiResult<Vec<u8>> {
    let reading = read_to_end(request, app, limit);
    match tokio::time::timeout(app.limits.body_deadline, reading).await {
        Ok(body) => body,
        Err(_) => Err(ApiError::TooSlow),
    }
}

async fn read_to_end(request: Request, app: &App, limit: usize) -> ApiResult<Vec<u8>> {
    let whose = ClientAddress::of(request.extensions()).whose(app, request.headers());
    let (mut held, mut has_room) = (None, true);
    let mut body = request.into_body();
    let mut kept = Vec::new();
    let mut length = 0;
    while let Some(frame) = body.frame().await {
        let frame = frame.map_err(|_| ApiError::BadRequest("The body broke off.".to_owned()))?;
        let Ok(data) = frame.into_data() else {
            continue;
        };
        length += data.len();
        if length > DRAINED {
            break;
        }
        // What is too much for the moment is read on and thrown away too.
        has_room = has_room && hold(&mut held, app, &whose, length.min(limit));
        if !has_room {
            (kept, held) = (Vec::new(), None);
        } else if length <= limit {
            kept.extend_from_slice(&data);
        }
    }
    if length > limit {
        return Err(ApiError::TooLarge { limit_bytes: limit });
    }
    if has_room {
        Ok(kept)
    } else {
        Err(ApiError::TooMuchHeld)
    }
}
