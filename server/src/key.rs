//! Keys and invitations: `id.secret`, looked up by id, compared by hash in constant time.

use std::fmt;
use std::str::FromStr;

use fieldpost_rules::dice::Bytes32;
use hmac::{Hmac, KeyInit, Mac};
use rand::TryRng;
use rand::rngs::SysRng;
use sha2::{Digest, Sha256};
use subtle::ConstantTimeEq;
use thiserror::Error;

/// A key as its holder has it. Neither `Debug` nor logs show its secret; only [`Key::reveal`] does.
#[derive(Clone)]
pub struct Key {
    id: String,
    secret: Bytes32,
}

/// Random bytes from the operating system.
///
/// # Panics
/// When the operating system has no random numbers to give: nothing here is safe without.
#[must_use]
pub fn random_bytes<const N: usize>() -> [u8; N] {
    let mut bytes = [0; N];
    SysRng
        .try_fill_bytes(&mut bytes)
        .expect("the operating system gives random numbers");
    bytes
}

/// A fresh id of 16 hexadecimal digits, for keys and seats.
#[must_use]
pub fn fresh_id() -> String {
    hex::encode(random_bytes::<8>())
}

impl Key {
    /// A fresh key of 256 random bits.
    #[must_use]
    pub fn fresh() -> Self {
        Self {
            id: fresh_id(),
            secret: random_bytes(),
        }
    }

    /// The key of a seat, made from the invitation's secret, a salt that only the server keeps and
    /// the idempotency key that only the taker knows: the three make the same key again, no two do.
    #[must_use]
    pub fn for_seat(id: String, invitation: &Self, salt: &Bytes32, idempotency_key: &str) -> Self {
        let mut mac = Hmac::<Sha256>::new_from_slice(&invitation.secret)
            .expect("HMAC takes a key of any length");
        mac.update(b"seat-key/v1");
        mac.update(salt);
        mac.update(idempotency_key.as_bytes());
        Self {
            id,
            secret: mac.finalize().into_bytes().into(),
        }
    }

    /// The key that takes the place of this one, made again by whoever has this key and the idempotency key
    /// that it was renewed with, and by nobody else.
    #[must_use]
    pub fn renewed(&self, id: String, salt: &Bytes32, idempotency_key: &str) -> Self {
        let mut mac =
            Hmac::<Sha256>::new_from_slice(&self.secret).expect("HMAC takes a key of any length");
        mac.update(b"renewed-key/v1");
        mac.update(salt);
        mac.update(idempotency_key.as_bytes());
        Self {
            id,
            secret: mac.finalize().into_bytes().into(),
        }
    }

    /// The public part, by which it is looked up.
    #[must_use]
    pub fn id(&self) -> &str {
        &self.id
    }

    /// What the store keeps of the secret.
    #[must_use]
    pub fn hash(&self) -> Bytes32 {
        Sha256::digest(self.secret).into()
    }

    /// Whether the secret is the one whose hash is kept; takes as long whether it is or not.
    #[must_use]
    pub fn matches(&self, hash: &[u8]) -> bool {
        self.hash().ct_eq(hash).into()
    }

    /// The whole key, to be given to its holder and to nobody else.
    #[must_use]
    pub fn reveal(&self) -> String {
        format!("{}.{}", self.id, hex::encode(self.secret))
    }
}

impl fmt::Debug for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Key({}.…)", self.id)
    }
}

/// A text that is no key.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("a key is id.secret: 16 and 64 hexadecimal digits")]
pub struct ParseKeyError;

impl FromStr for Key {
    type Err = ParseKeyError;

    fn from_str(text: &str) -> Result<Self, ParseKeyError> {
        let (id, secret) = text.trim().split_once('.').ok_or(ParseKeyError)?;
        let is_id = id.len() == 16 && id.bytes().all(|b| b.is_ascii_hexdigit());
        if !is_id || secret.len() != 64 {
            return Err(ParseKeyError);
        }
        let mut bytes = [0; 32];
        hex::decode_to_slice(secret, &mut bytes).map_err(|_| ParseKeyError)?;
        Ok(Self {
            id: id.to_ascii_lowercase(),
            secret: bytes,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_goes_there_and_back() {
        let key = Key::fresh();
        let again: Key = key.reveal().parse().expect("a key");
        assert_eq!(again.id(), key.id());
        assert!(again.matches(&key.hash()));
        assert!(!Key::fresh().matches(&key.hash()));
    }

    #[test]
    fn debug_keeps_the_secret() {
        let key = Key::fresh();
        let (_, secret) = key
            .reveal()
            .split_once('.')
            .map(|(a, b)| (a.to_owned(), b.to_owned()))
            .expect("two parts");
        assert!(!format!("{key:?}").contains(&secret));
    }

    #[test]
    fn what_is_no_key_is_refused() {
        for text in [
            "",
            ".",
            "abc",
            "0123456789abcdef.",
            "0123456789abcdef.zz",
            "é.é",
        ] {
            assert!(text.parse::<Key>().is_err(), "{text}");
        }
    }

    #[test]
    fn a_renewed_key_needs_all_three() {
        let (old, salt) = (Key::fresh(), random_bytes());
        let key = |old: &Key, salt: &Bytes32, once: &str| {
            old.renewed("0123456789abcdef".to_owned(), salt, once)
                .hash()
        };
        let right = key(&old, &salt, "once");
        assert_eq!(key(&old, &salt, "once"), right);
        assert_ne!(key(&Key::fresh(), &salt, "once"), right);
        assert_ne!(key(&old, &random_bytes(), "once"), right);
        assert_ne!(key(&old, &salt, "twice"), right);
        assert_ne!(old.hash(), right);
    }

    #[test]
    fn a_seat_key_needs_all_three() {
        let (invitation, salt) = (Key::fresh(), random_bytes());
        let key = |i: &Key, s: &Bytes32, k: &str| {
            Key::for_seat("0123456789abcdef".to_owned(), i, s, k).hash()
        };
        let right = key(&invitation, &salt, "once");
        assert_eq!(key(&invitation, &salt, "once"), right);
        assert_ne!(key(&Key::fresh(), &salt, "once"), right);
        assert_ne!(key(&invitation, &random_bytes(), "once"), right);
        assert_ne!(key(&invitation, &salt, "twice"), right);
    }
}
