//! The links in mails that stop them: each mail has one of its own, and nobody can guess one.

use hmac::{Hmac, KeyInit, Mac};
use sha2::Sha256;
use subtle::ConstantTimeEq;

use crate::store::{Channel, NoticeAddress, NoticeId};

use super::super::{Office, Outcome};

/// What stands in the link of one mail to an address: `ADDRESS.NUMBER.KIND.PROOF`.
#[must_use]
pub fn stop_token(notice: &NoticeId, address: &NoticeAddress) -> String {
    format!("{notice}.{}", hex::encode(proof(notice, &address.secret)))
}

/// Only who knows the address's secret can make it.
fn proof(notice: &NoticeId, secret: &[u8]) -> [u8; 32] {
    let mut mac = Hmac::<Sha256>::new_from_slice(secret).expect("HMAC takes a key of any length");
    mac.update(b"stop-mail/v1");
    mac.update(notice.to_string().as_bytes());
    mac.finalize().into_bytes().into()
}

impl Office {
    /// The address in use that a token belongs to.
    pub(super) async fn stopped_by(&self, token: &str) -> Outcome<Option<NoticeAddress>> {
        let Some((notice, proof_given)) = token.rsplit_once('.') else {
            return Ok(None);
        };
        let mut given = [0; 32];
        let (Ok(notice), Ok(())) = (
            notice.parse::<NoticeId>(),
            hex::decode_to_slice(proof_given, &mut given),
        ) else {
            return Ok(None);
        };
        let address = self.store.notice_address(&notice.address).await?;
        Ok(address.filter(|address| {
            address.way == Channel::Mail && proof(&notice, &address.secret).ct_eq(&given).into()
        }))
    }
}
