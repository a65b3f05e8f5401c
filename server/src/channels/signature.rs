//! Signatures of webhooks: the symmetric scheme of the Standard Webhooks specification, version 1.0.0.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use hmac::{Hmac, KeyInit, Mac};
use sha2::Sha256;

/// A secret as the receiver is given it.
#[must_use]
pub(super) fn shown(secret: &[u8]) -> String {
    format!("whsec_{}", STANDARD.encode(secret))
}

/// What `webhook-signature` holds: HMAC-SHA256 over id, time and body with points between.
#[must_use]
pub(super) fn signature(secret: &[u8], id: &str, timestamp_s: i64, body: &[u8]) -> String {
    let mut mac = Hmac::<Sha256>::new_from_slice(secret).expect("HMAC takes a key of any length");
    mac.update(format!("{id}.{timestamp_s}.").as_bytes());
    mac.update(body);
    format!("v1,{}", STANDARD.encode(mac.finalize().into_bytes()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The vector that the specification's own reference libraries are tested with (standard-webhooks/standard-webhooks,
    /// for one in libraries/javascript/src/webhook.test.ts and libraries/rust); computed again with Python's `hmac`.
    #[test]
    fn the_published_vector_is_signed_as_published() {
        let secret = STANDARD
            .decode("MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw")
            .expect("base64");
        let signed = signature(
            &secret,
            "msg_p5jXN8AQM9LWM0D4loKWxJek",
            1_614_265_330,
            br#"{"test": 2432232314}"#,
        );
        assert_eq!(signed, "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=");
        assert_eq!(shown(&secret), "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw");
    }
}
