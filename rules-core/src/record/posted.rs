//! Postings as they were sent, and their signatures: what a host can neither write nor alter unseen.

use std::fmt;

use ed25519_dalek::{Signature, Signer, SigningKey, VerifyingKey};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use crate::dice::{Bytes32, length_prefixed};

/// A posting as it was sent. It stands in the record with the first event that it caused.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Posted {
    /// Id of the seat that it was sent for.
    pub seat: String,
    /// What it asks for.
    pub kind: PostingKind,
    /// Hash, in hex, of the entry that it was written for: the last that changed table or clock, or a later one.
    pub precondition: String,
    /// Number of the player turn that it was written in, from 1.
    pub player_turn: u64,
    /// Attempt at that player turn, from 1.
    pub attempt: u32,
    /// The poster's own number for the dice, 32 bytes in hex; with a sheet only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub number: Option<String>,
    /// The body as it was sent, to the byte; of standing instructions, which stay sealed, `{"seal":"…"}` in its place.
    pub body: String,
    /// Who signed it; absent in a game that is played without signatures.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub signed: Option<Signed>,
}

/// A signature and the key that made it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Signed {
    /// The device's public key: Ed25519 (RFC 8032), 32 bytes in hex.
    pub key: String,
    /// The signature: 64 bytes in hex.
    pub signature: String,
}

/// What a posting asks for.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum PostingKind {
    /// A turn sheet.
    Sheet,
    /// Standing instructions, as their seal.
    Instructions,
    /// The game, because the other side's time is out.
    Claim,
    /// Giving the battle up.
    Concession,
    /// An umpire's opinion.
    Dispute,
    /// An umpire's ruling and what it does.
    Ruling,
    /// Another clock.
    Clock,
    /// Another time zone for a side's days.
    Zone,
    /// Leave.
    Leave,
    /// A pause.
    Pause,
    /// The end of a pause.
    Resume,
    /// Another key for the seat.
    KeyAdded,
    /// The end of one of the seat's keys.
    KeyRemoved,
    /// A key in the place of a seat's lost ones, on the organiser's word.
    KeyReplaced,
    /// The other side's consent to that.
    KeyCountersigned,
    /// A side's consent that somebody who plays rules as well.
    UmpireAccepted,
}

impl PostingKind {
    /// Its name, as it is signed.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Sheet => "sheet",
            Self::Instructions => "instructions",
            Self::Claim => "claim",
            Self::Concession => "concession",
            Self::Dispute => "dispute",
            Self::Ruling => "ruling",
            Self::Clock => "clock",
            Self::Zone => "zone",
            Self::Leave => "leave",
            Self::Pause => "pause",
            Self::Resume => "resume",
            Self::KeyAdded => "key-added",
            Self::KeyRemoved => "key-removed",
            Self::KeyReplaced => "key-replaced",
            Self::KeyCountersigned => "key-countersigned",
            Self::UmpireAccepted => "umpire-accepted",
        }
    }
}

impl fmt::Display for PostingKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// All that a signature covers.
#[derive(Debug, Clone, Copy)]
pub struct SignedParts<'a> {
    /// The game's id.
    pub game: &'a [u8; 16],
    /// Id of the seat.
    pub seat: &'a str,
    /// What is asked for.
    pub kind: PostingKind,
    /// Hash of the entry that it was written for.
    pub precondition: &'a Bytes32,
    /// Number of the player turn, from 1.
    pub player_turn: u64,
    /// Attempt at that player turn, from 1.
    pub attempt: u32,
    /// The body as it is sent; of standing instructions `{"seal":"…"}`.
    pub body: &'a [u8],
    /// The poster's own number for the dice; absent: none.
    pub number: Option<&'a Bytes32>,
}

impl SignedParts<'_> {
    /// The bytes that are signed.
    #[must_use]
    pub fn message(&self) -> Vec<u8> {
        let body: Bytes32 = Sha256::digest(self.body).into();
        let mut message = b"post/v1".to_vec();
        message.extend(length_prefixed(self.game));
        message.extend(length_prefixed(self.seat.as_bytes()));
        message.extend(length_prefixed(self.kind.name().as_bytes()));
        message.extend(length_prefixed(self.precondition));
        message.extend(self.player_turn.to_be_bytes());
        message.extend(self.attempt.to_be_bytes());
        message.extend(length_prefixed(&body));
        message.extend(length_prefixed(self.number.map_or(&[], |number| number)));
        message
    }
}

/// Why a posting's signature does not count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SignatureFault {
    /// A hash, a number, a key or a signature is not so many bytes in lower-case hex.
    NotHex(&'static str),
    /// The key is no point of the curve, or one of small order, for which anybody could sign.
    BadKey,
    /// The signature is not that of this posting by this key.
    Mismatch,
}

impl fmt::Display for SignatureFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotHex(what) => write!(f, "the {what} of the posting cannot be read"),
            Self::BadKey => f.write_str("the key is none that can sign"),
            Self::Mismatch => f.write_str("the signature is not that of this posting by this key"),
        }
    }
}

impl std::error::Error for SignatureFault {}

/// Checks a signature over a message, as RFC 8032 has it; keys and nonces of small order are refused.
///
/// # Errors
/// [`SignatureFault::BadKey`], [`SignatureFault::Mismatch`].
pub fn verify(key: &Bytes32, message: &[u8], signature: &[u8; 64]) -> Result<(), SignatureFault> {
    let key = usable_key(key)?;
    key.verify_strict(message, &Signature::from_bytes(signature))
        .map_err(|_| SignatureFault::Mismatch)
}

/// Whether a key can stand in a record at all.
///
/// # Errors
/// [`SignatureFault::BadKey`].
pub fn check_key(key: &Bytes32) -> Result<(), SignatureFault> {
    usable_key(key).map(|_| ())
}

fn usable_key(key: &Bytes32) -> Result<VerifyingKey, SignatureFault> {
    VerifyingKey::from_bytes(key)
        .ok()
        .filter(|usable| !usable.is_weak() && is_canonical(key))
        .ok_or(SignatureFault::BadKey)
}

/// Whether a point is written in its one form: its coordinate below the field's prime, 2^255 − 19, as RFC 8032 (section
/// 5.1.3) asks. A key that could be written in two ways would look like two.
fn is_canonical(key: &Bytes32) -> bool {
    let [first, middle @ .., last] = key;
    let is_high = last & 0x7f == 0x7f && middle.iter().all(|byte| *byte == 0xff);
    !(is_high && *first >= 0xed)
}

/// The public key of a device whose secret seed this is.
#[must_use]
pub fn public_key(seed: &Bytes32) -> Bytes32 {
    SigningKey::from_bytes(seed).verifying_key().to_bytes()
}

/// The signature of a device whose secret seed this is. It draws no random number (RFC 8032).
#[must_use]
pub fn sign(seed: &Bytes32, message: &[u8]) -> [u8; 64] {
    SigningKey::from_bytes(seed).sign(message).to_bytes()
}

/// What two people read to each other to know that they hold the same key or head: eight numbers of five digits, the
/// first sixteen bytes of `SHA-256("fingerprint/v1" ‖ bytes)`, two bytes each. A host who may choose both of two heads
/// finds two that read the same by some 2^64 trials; half as many digits would have taken it minutes.
#[must_use]
pub fn fingerprint(bytes: &Bytes32) -> String {
    let mut hash = Sha256::new();
    hash.update(b"fingerprint/v1");
    hash.update(bytes);
    let hash: Bytes32 = hash.finalize().into();
    let groups = hash.chunks_exact(2).take(8);
    let groups = groups.map(|pair| format!("{:05}", u16::from_be_bytes([pair[0], pair[1]])));
    groups.collect::<Vec<_>>().join(" ")
}

impl Posted {
    /// Checks its signature, if it has one; by which key it was made.
    ///
    /// # Errors
    /// Why it does not count.
    pub fn verify(&self, game: &[u8; 16]) -> Result<Option<Bytes32>, SignatureFault> {
        let precondition = bytes_of(&self.precondition, "precondition")?;
        let number = self.number.as_deref();
        let number = number
            .map(|number| bytes_of(number, "number"))
            .transpose()?;
        let Some(signed) = &self.signed else {
            return Ok(None);
        };
        let key = bytes_of(&signed.key, "key")?;
        let parts = SignedParts {
            game,
            seat: &self.seat,
            kind: self.kind,
            precondition: &precondition,
            player_turn: self.player_turn,
            attempt: self.attempt,
            body: self.body.as_bytes(),
            number: number.as_ref(),
        };
        verify(
            &key,
            &parts.message(),
            &bytes_of(&signed.signature, "signature")?,
        )?;
        Ok(Some(key))
    }
}

/// Bytes as a record writes them: lower-case hex, so that each has one form.
fn bytes_of<const N: usize>(text: &str, what: &'static str) -> Result<[u8; N], SignatureFault> {
    let bytes: Option<[u8; N]> = hex::decode(text)
        .ok()
        .and_then(|bytes| bytes.try_into().ok());
    bytes
        .filter(|bytes| hex::encode(bytes) == text)
        .ok_or(SignatureFault::NotHex(what))
}
