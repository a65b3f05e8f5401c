//! The links in mails that stop them: each mail has one of its own, and nobody can guess one.

use hmac::{Hmac, KeyInit, Mac};
use sha2::Sha256;
use subtle::ConstantTimeEq;

use crate::store::{NoticeAddress, NoticeId};

/// What is in the link of one mail to an address: `ADDRESS.NUMBER.KIND.PROOF`.
#[derive(Debug)]
pub struct UnsubscribeToken {
    notice: NoticeId,
    proof: [u8; 32],
}

impl UnsubscribeToken {
    /// The token of a mail to an address.
    #[must_use]
    pub fn new(notice: &NoticeId, to: &NoticeAddress) -> Self {
        Self {
            proof: proof(notice, &to.secret),
            notice: notice.clone(),
        }
    }

    /// As it is in the link.
    #[must_use]
    pub fn text(&self) -> String {
        format!("{}.{}", self.notice, hex::encode(self.proof))
    }

    /// Reads a token; none if it is not even one in form.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let (notice, hex_proof) = text.rsplit_once('.')?;
        let mut proof = [0; 32];
        hex::decode_to_slice(hex_proof, &mut proof).ok()?;
        Some(Self {
            notice: notice.parse().ok()?,
            proof,
        })
    }

    /// Id of the address that it names.
    #[must_use]
    pub fn address_id(&self) -> &str {
        &self.notice.address
    }

    /// Whether it was made for that address; takes as long whether it was or not.
    #[must_use]
    pub fn belongs_to(&self, address: &NoticeAddress) -> bool {
        proof(&self.notice, &address.secret)
            .ct_eq(&self.proof)
            .into()
    }
}

/// Only who knows the address's secret can make it.
fn proof(notice: &NoticeId, secret: &[u8]) -> [u8; 32] {
    let mut mac = Hmac::<Sha256>::new_from_slice(secret).expect("HMAC takes a key of any length");
    mac.update(b"stop-mail/v1");
    mac.update(notice.to_string().as_bytes());
    mac.finalize().into_bytes().into()
}
