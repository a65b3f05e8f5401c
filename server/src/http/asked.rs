//! What a request's head says: who calls, which game, which conditions.

use axum::extract::{FromRequestParts, OptionalFromRequestParts, Path, Query};
use axum::http::request::Parts;
use axum::http::{HeaderMap, HeaderName, HeaderValue, header};
use fieldpost_rules::dice::Bytes32;
use serde::de::DeserializeOwned;

use crate::key::Key;
use crate::office::{Caller, Failure, IdempotencyKey, Visitor};
use crate::store::GameId;

use super::App;
use super::problem::{Answer, Rejection};
use super::turning_away::CalledFrom;

/// Who calls.
pub(super) struct By(pub(super) Caller);

impl FromRequestParts<App> for By {
    type Rejection = Rejection;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Answer<Self> {
        if !parts.headers.contains_key(header::AUTHORIZATION) {
            return Ok(Self(Caller::Nobody));
        }
        let game = InGame::from_request_parts(parts, app).await.ok();
        let visitor = received(parts, app, game.map(|InGame(game)| game), None).await?;
        Ok(Self(visitor.caller))
    }
}

/// Who calls and what they find of the game that the path names.
pub(super) struct Visiting(pub(super) Visitor);

impl FromRequestParts<App> for Visiting {
    type Rejection = Rejection;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Answer<Self> {
        let game = InGame::from_request_parts(parts, app).await;
        let named = game.as_ref().ok().map(|InGame(game)| *game);
        // Whose key is wrong hears that before anything of the game.
        let visitor = received(parts, app, named, None).await?;
        game?;
        Ok(Self(visitor))
    }
}

/// Who posts and what they find of the game that the path names, that game, and the caller's own name for what
/// is posted.
pub(super) struct ToPost(
    pub(super) Visitor,
    pub(super) GameId,
    pub(super) IdempotencyKey,
);

impl FromRequestParts<App> for ToPost {
    type Rejection = Rejection;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Answer<Self> {
        let game = InGame::from_request_parts(parts, app).await;
        let once = <Once as FromRequestParts<App>>::from_request_parts(parts, app).await;
        let named = game.as_ref().ok().map(|InGame(game)| *game);
        let posting = once.as_ref().ok().map(|Once(name)| name);
        // As in a visit: first the key, then the game.
        let visitor = received(parts, app, named, posting).await?;
        let (InGame(game), Once(name)) = (game?, once?);
        Ok(Self(visitor, game, name))
    }
}

async fn received(
    parts: &mut Parts,
    app: &App,
    game: Option<GameId>,
    posting: Option<&IdempotencyKey>,
) -> Answer<Visitor> {
    if !parts.headers.contains_key(header::AUTHORIZATION) {
        return Ok(app.office.receive(None, game).await?);
    }
    let from = CalledFrom::from_request_parts(parts, app).await?;
    app.may_guess(from)?;
    match whose(&parts.headers, game, posting, app).await {
        Err(Rejection::Office(Failure::WrongKey)) => {
            app.guessed_wrong(from);
            Err(Failure::WrongKey.into())
        }
        Err(rejection) => Err(rejection),
        Ok((key, visitor)) => {
            app.count_key(key.id())?;
            Ok(visitor)
        }
    }
}

async fn whose(
    headers: &HeaderMap,
    game: Option<GameId>,
    posting: Option<&IdempotencyKey>,
    app: &App,
) -> Answer<(Key, Visitor)> {
    let key = bearer(headers)?;
    let visitor = match game.zip(posting) {
        Some((game, name)) => app.office.receive_posting(&key, game, name).await?,
        None => app.office.receive(Some(&key), game).await?,
    };
    Ok((key, visitor))
}

/// The key that was sent.
pub(super) fn bearer(headers: &HeaderMap) -> Answer<Key> {
    let value = single(headers, &header::AUTHORIZATION)?.ok_or(Failure::NoKey)?;
    let text = value.to_str().map_err(|_| Failure::WrongKey)?;
    let (scheme, key) = text.split_once(' ').ok_or(Failure::WrongKey)?;
    if !scheme.eq_ignore_ascii_case("bearer") {
        return Err(Failure::WrongKey.into());
    }
    let key = key.parse().map_err(|_| Failure::WrongKey)?;
    Ok(key)
}

/// A header that may be given once. Of two, this server and a proxy before it might each believe another.
pub(super) fn single<'h>(
    headers: &'h HeaderMap,
    name: &HeaderName,
) -> Answer<Option<&'h HeaderValue>> {
    let mut values = headers.get_all(name).iter();
    let value = values.next();
    match values.next() {
        None => Ok(value),
        Some(_) => Err(Rejection::BadRequest(format!(
            "The header {name} is given more than once."
        ))),
    }
}

/// What the path names.
pub(super) struct Named<T>(pub(super) T);

impl<T: DeserializeOwned + Send> FromRequestParts<App> for Named<T> {
    type Rejection = Rejection;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Answer<Self> {
        match <Path<T> as FromRequestParts<App>>::from_request_parts(parts, app).await {
            Ok(Path(named)) => Ok(Self(named)),
            Err(error) => Err(Rejection::BadRequest(error.to_string())),
        }
    }
}

/// The game that the path names.
pub(super) struct InGame(pub(super) GameId);

impl FromRequestParts<App> for InGame {
    type Rejection = Rejection;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Answer<Self> {
        #[derive(serde::Deserialize)]
        struct Game {
            game: String,
        }
        let Named(Game { game }) = Named::from_request_parts(parts, app).await?;
        let game = game.parse().map_err(|_| Failure::NoSuchGame)?;
        Ok(Self(game))
    }
}

/// The query part.
pub(super) struct With<T>(pub(super) T);

impl<T: DeserializeOwned> FromRequestParts<App> for With<T> {
    type Rejection = Rejection;

    async fn from_request_parts(parts: &mut Parts, _: &App) -> Answer<Self> {
        match Query::try_from_uri(&parts.uri) {
            Ok(Query(value)) => Ok(Self(value)),
            Err(error) => Err(Rejection::BadRequest(error.to_string())),
        }
    }
}

/// The caller's own name for the request.
pub(super) struct Once(pub(super) IdempotencyKey);

impl FromRequestParts<App> for Once {
    type Rejection = Rejection;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Answer<Self> {
        <Self as OptionalFromRequestParts<App>>::from_request_parts(parts, app)
            .await?
            .ok_or(Rejection::NoIdempotencyKey)
    }
}

impl OptionalFromRequestParts<App> for Once {
    type Rejection = Rejection;

    async fn from_request_parts(parts: &mut Parts, _: &App) -> Answer<Option<Self>> {
        let name = HeaderName::from_static("idempotency-key");
        let Some(value) = single(&parts.headers, &name)? else {
            return Ok(None);
        };
        let key = value.to_str().ok().and_then(IdempotencyKey::new);
        key.map(|key| Some(Self(key)))
            .ok_or(Rejection::NoIdempotencyKey)
    }
}

/// The hash that `If-Match` names: the head of the record that was read.
pub(super) struct WrittenFor(pub(super) Bytes32);

impl FromRequestParts<App> for WrittenFor {
    type Rejection = Rejection;

    async fn from_request_parts(parts: &mut Parts, _: &App) -> Answer<Self> {
        let value = single(&parts.headers, &header::IF_MATCH)?.ok_or(Rejection::NoIfMatch)?;
        let unreadable = || {
            Rejection::BadRequest(
                "If-Match must be one ETag of the game: 64 hexadecimal digits in quotation marks."
                    .to_owned(),
            )
        };
        let text = value.to_str().map_err(|_| unreadable())?.trim();
        let hash = text
            .strip_prefix('"')
            .and_then(|rest| rest.strip_suffix('"'));
        let hash = bytes32(hash.ok_or_else(unreadable)?).ok_or_else(unreadable)?;
        Ok(Self(hash))
    }
}

/// 32 bytes from hex.
pub(super) fn bytes32(text: &str) -> Option<Bytes32> {
    let mut bytes = [0; 32];
    hex::decode_to_slice(text, &mut bytes).ok()?;
    Some(bytes)
}
