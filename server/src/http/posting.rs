//! Postings as they are sent: the body to the byte, what it was written for, and its signature.

use axum::extract::{FromRequest, OptionalFromRequestParts, Request};
use axum::http::HeaderName;
use axum::http::request::Parts;
use serde::de::DeserializeOwned;

use crate::service::{Sent, SentSignature};

use super::app::App;
use super::body::{read_json, read_nothing};
use super::error::{ApiError, ApiResult};
use super::extract::IfMatch;
use super::headers::single;
use super::routes::HeaderDoc;

/// The signature of a posting, for descriptions.
pub(super) const POSTING_SIGNATURE: HeaderDoc = HeaderDoc {
    name: "Posting-Signature",
    about: "Who signed the posting, and for which player turn: `player-turn=7, attempt=1, key=HEX, signature=HEX`; for \
            standing instructions `nonce=HEX` besides. Must be there in a game that is played with signatures.",
    required: false,
    pattern: "^player-turn=[0-9]{1,15}, attempt=[0-9]{1,9}, key=[0-9a-f]{64}, signature=[0-9a-f]{128}(, nonce=[0-9a-f]{64})?$",
};

/// What a posting was written for, where it need not be said.
pub(super) const MAY_MATCH: HeaderDoc = HeaderDoc {
    required: false,
    ..super::routes::IF_MATCH
};

/// A posting with a body of strict JSON, of at most so many bytes.
pub(super) struct PostedJson<T, const LIMIT: usize>(pub(super) T, pub(super) Sent);

impl<T: DeserializeOwned, const LIMIT: usize> FromRequest<App> for PostedJson<T, LIMIT> {
    type Rejection = ApiError;

    async fn from_request(request: Request, app: &App) -> ApiResult<Self> {
        let (mut parts, body) = request.into_parts();
        let mut sent = sent(&mut parts, app).await?;
        let request = Request::from_parts(parts, body);
        let (value, body) = read_json(request, app, LIMIT).await?;
        sent.body = body;
        Ok(Self(value, sent))
    }
}

/// A posting without a body.
pub(super) struct PostedNothing(pub(super) Sent);

impl FromRequest<App> for PostedNothing {
    type Rejection = ApiError;

    async fn from_request(request: Request, app: &App) -> ApiResult<Self> {
        let (mut parts, body) = request.into_parts();
        let sent = sent(&mut parts, app).await?;
        read_nothing(Request::from_parts(parts, body), app).await?;
        Ok(Self(sent))
    }
}

/// All of a posting but its body.
async fn sent(parts: &mut Parts, app: &App) -> ApiResult<Sent> {
    let written_for =
        <IfMatch as OptionalFromRequestParts<App>>::from_request_parts(parts, app).await?;
    let signature = single(
        &parts.headers,
        &HeaderName::from_static("posting-signature"),
    )?;
    let signature = signature.map(|value| {
        let text = value.to_str().ok();
        text.and_then(signature_of).ok_or_else(unreadable)
    });
    let signature = signature.transpose()?;
    if signature.is_some() && written_for.is_none() {
        return Err(ApiError::NoIfMatch);
    }
    Ok(Sent {
        body: String::new(),
        written_for: written_for.map(|IfMatch(hash)| hash),
        signature,
    })
}

/// Reads the header: its members in their order, each once.
fn signature_of(text: &str) -> Option<SentSignature> {
    let mut members = text.split(',').map(str::trim);
    let mut next = |name: &str| members.next()?.strip_prefix(name)?.strip_prefix('=');
    let player_turn = next("player-turn")?.parse().ok()?;
    let attempt = next("attempt")?.parse().ok()?;
    let key = bytes(next("key")?)?;
    let signature = bytes(next("signature")?)?;
    let nonce = match members.next() {
        None => None,
        Some(member) => Some(bytes(member.strip_prefix("nonce=")?)?),
    };
    members.next().is_none().then_some(SentSignature {
        key,
        signature,
        player_turn,
        attempt,
        nonce,
    })
}

fn bytes<const N: usize>(hex: &str) -> Option<[u8; N]> {
    let mut bytes = [0; N];
    hex::decode_to_slice(hex, &mut bytes).ok()?;
    Some(bytes)
}

fn unreadable() -> ApiError {
    ApiError::BadRequest(
        "Posting-Signature must be as in: player-turn=7, attempt=1, key=HEX, signature=HEX"
            .to_owned(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_header_is_read_in_its_order_and_nothing_else() {
        let (key, signature, nonce) = ("0a".repeat(32), "0b".repeat(64), "0c".repeat(32));
        let text = format!("player-turn=7, attempt=2, key={key}, signature={signature}");
        let read = signature_of(&text).expect("readable");
        let expected = SentSignature {
            key: [10; 32],
            signature: [11; 64],
            player_turn: 7,
            attempt: 2,
            nonce: None,
        };
        assert_eq!(read, expected);
        let with_nonce = signature_of(&format!("{text}, nonce={nonce}")).expect("readable");
        assert_eq!(with_nonce.nonce, Some([12; 32]));
        for bad in [
            "",
            "player-turn=7",
            &text.replace("attempt=2, ", ""),
            &text.replace("player-turn=7", "player-turn=-7"),
            &text[..text.len() - 2],
            &format!("{text}, more=1"),
            &format!("{text}, nonce={nonce}, nonce={nonce}"),
        ] {
            assert_eq!(signature_of(bad), None, "{bad}");
        }
    }
}
