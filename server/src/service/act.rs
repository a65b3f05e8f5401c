//! What is done on somebody's word, and the posting that asks for it as it stands in the record.

use fieldpost_rules::dice::{Bytes32, FIRST_ATTEMPT};
use fieldpost_rules::record::{Posted, PostingKind, Signed};
use jiff::Timestamp;

use crate::store::Authority;

use super::cache::FoldedGame;
use super::{ServiceError, ServiceResult};

/// A posting as it was sent.
#[derive(Debug, Clone, Default)]
pub struct Sent {
    /// The body, to the byte.
    pub body: String,
    /// Hash of the entry that it was written for; absent: whatever the last is.
    pub written_for: Option<Bytes32>,
    /// Its signature, if it was signed.
    pub signature: Option<SentSignature>,
}

/// A signature, and what it covers besides the posting itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SentSignature {
    /// The device's public key.
    pub key: Bytes32,
    /// The signature.
    pub signature: [u8; 64],
    /// Number of the player turn that it was written in, from 1.
    pub player_turn: u64,
    /// Attempt at that player turn, from 1.
    pub attempt: u32,
    /// The nonce that standing instructions were sealed with: their seal is signed, not they.
    pub nonce: Option<Bytes32>,
}

/// Something to be appended on somebody's word.
#[derive(Debug)]
pub(super) struct Act<'a> {
    /// Whose word it is.
    pub(super) by: Authority,
    /// The posting that asks for it; the server acts without one.
    pub(super) posting: Option<ActPosting<'a>>,
}

/// What is known of a posting before the game that it meets.
#[derive(Debug)]
pub(super) struct ActPosting<'a> {
    /// Id of the seat that it is sent for.
    pub(super) seat: &'a str,
    /// What it asks for.
    pub(super) kind: PostingKind,
    /// As it was sent.
    pub(super) sent: &'a Sent,
    /// The poster's own number for the dice, with a sheet.
    pub(super) number: Option<Bytes32>,
    /// What stands in the record in the place of the body, where that must stay sealed.
    pub(super) in_place_of_body: Option<String>,
}

impl<'a> Act<'a> {
    /// What somebody does by a posting for a seat.
    pub(super) fn by_posting(
        by: &Authority,
        seat: &'a str,
        kind: PostingKind,
        sent: &'a Sent,
    ) -> Self {
        Self {
            by: by.clone(),
            posting: Some(ActPosting {
                seat,
                kind,
                sent,
                number: None,
                in_place_of_body: None,
            }),
        }
    }

    /// What is done on somebody's word without a posting of a seat.
    pub(super) fn without_posting(by: Authority) -> Self {
        Self { by, posting: None }
    }

    /// What the server does of itself.
    pub(super) fn of_office() -> Self {
        Self::without_posting(Authority::Server)
    }

    /// The posting as it stands in the record of a game that has come so far.
    ///
    /// # Errors
    /// [`ServiceError::Stale`] without news when it was written for what is past; [`ServiceError::NotSigned`],
    /// [`ServiceError::BadSignature`].
    pub(super) fn posted(
        &self,
        folded: &FoldedGame,
        at: Timestamp,
    ) -> ServiceResult<Option<Posted>> {
        let posting = self.posting.as_ref();
        let posted = posting.map(|posting| posting.posted(folded, at));
        posted.transpose()
    }
}

impl ActPosting<'_> {
    fn posted(&self, folded: &FoldedGame, at: Timestamp) -> ServiceResult<Posted> {
        let record_state = &folded.record_state;
        let stale = || ServiceError::Stale {
            head: folded.head.into(),
            news: Vec::new(),
        };
        let precondition = match self.sent.written_for {
            Some(hash) if record_state.is_fresh(&hash) => hash,
            Some(_) => return Err(stale()),
            None => record_state.basis(),
        };
        let body = match &self.in_place_of_body {
            Some(body) => body.clone(),
            None => self.sent.body.clone(),
        };
        let mut posted = Posted {
            seat: self.seat.to_owned(),
            kind: self.kind,
            precondition: hex::encode(precondition),
            player_turn: folded.game.player_turn(),
            attempt: record_state.attempt().unwrap_or(FIRST_ATTEMPT),
            number: self.number.map(hex::encode),
            body,
            signed: None,
        };
        let keys = record_state.keys(self.seat, at);
        let Some(sent) = &self.sent.signature else {
            return match self.must_be_signed(folded, &keys) {
                true => Err(ServiceError::NotSigned),
                false => Ok(posted),
            };
        };
        if (sent.player_turn, sent.attempt) != (posted.player_turn, posted.attempt) {
            return Err(stale());
        }
        let (key, signature) = (hex::encode(sent.key), hex::encode(sent.signature));
        if record_state.has_signature(&signature) {
            let why = "This posting stands in the record already.".to_owned();
            return Err(ServiceError::NotNow(why));
        }
        if !keys.contains(&key.as_str()) {
            let why = "the record has no such key in force for this seat".to_owned();
            return Err(ServiceError::BadSignature { why });
        }
        // Whether it is the posting's is found out with all else that its entry needs.
        posted.signed = Some(Signed { key, signature });
        Ok(posted)
    }

    /// Whether it may not be sent unsigned. Keys answer for each other in any game; on the organiser's word alone a key is
    /// replaced.
    fn must_be_signed(&self, folded: &FoldedGame, keys: &[&str]) -> bool {
        match self.kind {
            PostingKind::KeyReplaced => !keys.is_empty(),
            PostingKind::KeyAdded | PostingKind::KeyRemoved if !keys.is_empty() => true,
            _ => folded.record_state.is_signed(),
        }
    }
}
