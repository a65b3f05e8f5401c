//! Extractors: what a request's head says, of its caller, its game and its conditions.

use axum::extract::{FromRequestParts, OptionalFromRequestParts, Path, Query};
use axum::http::request::Parts;
use axum::http::{HeaderName, HeaderValue, header};
use fieldpost_rules::dice::Bytes32;
use serde::de::DeserializeOwned;

use crate::key::Key;
use crate::service::{Credentials, IdempotencyKey, ServiceError};
use crate::store::GameId;

use super::app::App;
use super::error::{ApiError, ApiResult};
use super::headers::{FIELDPOST_KEY, single};
use super::own_page::SessionCookie;
use super::rate_limit::ClientAddress;

/// What the request says about its caller. Nothing is looked up: whether the key is good the service finds out. An address
/// that has guessed too often is refused before.
impl FromRequestParts<App> for Credentials {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> ApiResult<Self> {
        if let Some(value) = single(&parts.headers, &header::AUTHORIZATION)? {
            app.may_guess(ClientAddress::of(&parts.extensions))?;
            return Ok(bearer(value)?.into());
        }
        let Some(value) = single(&parts.headers, &FIELDPOST_KEY)?.cloned() else {
            return Ok(Self::None);
        };
        // A cookie alone says nothing: whoever is meant is named.
        let SessionCookie(cookie) = SessionCookie::from_request_parts(parts, app).await?;
        let key = value.to_str().map_err(|_| ServiceError::WrongSession)?;
        let key = key.trim().to_owned();
        Ok(Self::Session { cookie, key })
    }
}

fn bearer(value: &HeaderValue) -> Result<Key, ServiceError> {
    let text = value.to_str().map_err(|_| ServiceError::WrongKey)?;
    let (scheme, key) = text.split_once(' ').ok_or(ServiceError::WrongKey)?;
    if !scheme.eq_ignore_ascii_case("bearer") {
        return Err(ServiceError::WrongKey);
    }
    key.parse().map_err(|_| ServiceError::WrongKey)
}

/// What the path names.
pub(super) struct InPath<T>(pub(super) T);

impl<T: DeserializeOwned + Send> FromRequestParts<App> for InPath<T> {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> ApiResult<Self> {
        match <Path<T> as FromRequestParts<App>>::from_request_parts(parts, app).await {
            Ok(Path(named)) => Ok(Self(named)),
            Err(error) => Err(ApiError::BadRequest(error.to_string())),
        }
    }
}

/// The game that the path names.
pub(super) struct GamePath(pub(super) GameId);

impl FromRequestParts<App> for GamePath {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> ApiResult<Self> {
        #[derive(serde::Deserialize)]
        struct Game {
            game: String,
        }
        let InPath(Game { game }) = InPath::from_request_parts(parts, app).await?;
        let game = game.parse().map_err(|_| ServiceError::NoSuchGame)?;
        Ok(Self(game))
    }
}

/// The query part.
pub(super) struct InQuery<T>(pub(super) T);

impl<T: DeserializeOwned> FromRequestParts<App> for InQuery<T> {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, _: &App) -> ApiResult<Self> {
        match Query::try_from_uri(&parts.uri) {
            Ok(Query(value)) => Ok(Self(value)),
            Err(error) => Err(ApiError::BadRequest(error.to_string())),
        }
    }
}

/// The greatest number that an entry of a record can have: the databases count no further.
const NUMBER_MAX: u64 = i64::MAX.unsigned_abs();

/// Refuses the number of an entry that no record reaches, wherever it came from.
pub(super) fn entry_number(number: u64) -> ApiResult<u64> {
    if number <= NUMBER_MAX {
        return Ok(number);
    }
    let why = format!("No record has an entry {number}; {NUMBER_MAX} is the most.");
    Err(ApiError::BadRequest(why))
}

/// The caller's own name for the request.
pub(super) struct IdempotencyHeader(pub(super) IdempotencyKey);

impl FromRequestParts<App> for IdempotencyHeader {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> ApiResult<Self> {
        <Self as OptionalFromRequestParts<App>>::from_request_parts(parts, app)
            .await?
            .ok_or(ApiError::NoIdempotencyKey)
    }
}

impl OptionalFromRequestParts<App> for IdempotencyHeader {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, _: &App) -> ApiResult<Option<Self>> {
        let name = HeaderName::from_static("idempotency-key");
        let Some(value) = single(&parts.headers, &name)? else {
            return Ok(None);
        };
        let key = value.to_str().ok().and_then(IdempotencyKey::new);
        key.map(|key| Some(Self(key)))
            .ok_or(ApiError::NoIdempotencyKey)
    }
}

/// The hash that `If-Match` names: the head of the record that was read.
pub(super) struct IfMatch(pub(super) Bytes32);

impl FromRequestParts<App> for IfMatch {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> ApiResult<Self> {
        <Self as OptionalFromRequestParts<App>>::from_request_parts(parts, app)
            .await?
            .ok_or(ApiError::NoIfMatch)
    }
}

impl OptionalFromRequestParts<App> for IfMatch {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, _: &App) -> ApiResult<Option<Self>> {
        let Some(value) = single(&parts.headers, &header::IF_MATCH)? else {
            return Ok(None);
        };
        let unreadable = || {
            ApiError::BadRequest(
                "If-Match must be one ETag of the game: 64 hexadecimal digits in quotation marks."
                    .to_owned(),
            )
        };
        let text = value.to_str().map_err(|_| unreadable())?.trim();
        let hash = text
            .strip_prefix('"')
            .and_then(|rest| rest.strip_suffix('"'));
        let hash = bytes32(hash.ok_or_else(unreadable)?).ok_or_else(unreadable)?;
        Ok(Some(Self(hash)))
    }
}

/// 32 bytes from hex.
pub(super) fn bytes32(text: &str) -> Option<Bytes32> {
    let mut bytes = [0; 32];
    hex::decode_to_slice(text, &mut bytes).ok()?;
    Some(bytes)
}
