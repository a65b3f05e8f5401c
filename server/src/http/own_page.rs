//! Requests that come from this server's own page, and the cookie of their session.

use axum::extract::FromRequestParts;
use axum::http::request::Parts;

use crate::key::Key;
use crate::service::ServiceError;

use super::app::App;
use super::error::{ApiError, ApiResult};

/// A request from the server's own page, wherever that can be reached.
pub(super) struct OwnPage;

impl FromRequestParts<App> for OwnPage {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> ApiResult<Self> {
        if app.page.origins.is_empty() {
            return Err(ApiError::NoPublicAddress);
        }
        app.page.must_be_own(parts)?;
        Ok(Self)
    }
}

/// The cookie of a session, in a request from the server's own page.
pub(super) struct SessionCookie(pub(super) Key);

impl SessionCookie {
    /// The cookie of a request, if it has one.
    pub(super) fn of(parts: &Parts, app: &App) -> ApiResult<Option<Self>> {
        let Some(cookie) = app.page.cookie(&parts.headers)? else {
            return Ok(None);
        };
        app.page.must_be_own(parts)?;
        Ok(Some(Self(cookie)))
    }
}

impl FromRequestParts<App> for SessionCookie {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> ApiResult<Self> {
        let cookie = Self::of(parts, app)?;
        cookie.ok_or(ApiError::Service(ServiceError::WrongSession))
    }
}

/// The same, of a session that may be there or not.
pub(super) struct OldCookie(pub(super) Option<Key>);

impl FromRequestParts<App> for OldCookie {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> ApiResult<Self> {
        Ok(Self(SessionCookie::of(parts, app)?.map(|cookie| cookie.0)))
    }
}
