//! Renewing keys and revoking them.

use crate::key::{Key, fresh_id, random_bytes};
use crate::store::{KeyCard, Origin, StoreError};
use fieldpost_wire as wire;

use super::{Caller, Failure, IdempotencyKey, Office, Outcome};

/// A key that was renewed.
#[derive(Debug, Clone)]
pub struct Renewed {
    /// The answer.
    pub key: wire::FreshKey,
    /// Whether it had been renewed before by this same request.
    pub again: bool,
}

impl Office {
    /// Puts a fresh key in the place of one, which opens nothing from then on. Asked again with the old key
    /// and the same idempotency key it gives the same fresh key: an answer that was lost locks nobody out.
    ///
    /// # Errors
    /// [`Failure::WrongKey`].
    pub async fn renew_key(&self, old: &Key, once: &IdempotencyKey) -> Outcome<Renewed> {
        let mut visit = self.store.visit(Some(old.id()), None).await?;
        let card = visit.key.take();
        let card = card.filter(|card| old.matches(&card.secret_hash));
        let card = card.ok_or(Failure::WrongKey)?;
        if card.revoked_at.is_some() {
            return self.renewed_before(old, once).await;
        }
        // A seat or member that is gone has no key to renew.
        self.holder(card.clone(), visit, None).await?;
        let salt = random_bytes();
        let key = old.renewed(fresh_id(), &salt, once.as_str());
        let fresh = KeyCard {
            id: key.id().to_owned(),
            secret_hash: key.hash().to_vec(),
            opens: card.opens,
            origin: Origin::Renewal {
                renews: card.id,
                salt: salt.to_vec(),
            },
            made_at: self.now().to_string(),
            revoked_at: None,
        };
        match self.store.renew_key(&fresh).await {
            Ok(()) => Ok(Renewed {
                key: wire::FreshKey { key: key.reveal() },
                again: false,
            }),
            Err(StoreError::Overtaken) => self.renewed_before(old, once).await,
            Err(error) => Err(error.into()),
        }
    }

    async fn renewed_before(&self, old: &Key, once: &IdempotencyKey) -> Outcome<Renewed> {
        let fresh = self.store.key_renewing(old.id()).await?;
        let Some(KeyCard {
            id,
            secret_hash,
            origin: Origin::Renewal { salt, .. },
            revoked_at: None,
            ..
        }) = fresh
        else {
            return Err(Failure::WrongKey);
        };
        let salt = salt.try_into().map_err(|_| Failure::damaged("a salt"))?;
        let key = old.renewed(id, &salt, once.as_str());
        if !key.matches(&secret_hash) {
            return Err(Failure::WrongKey);
        }
        Ok(Renewed {
            key: wire::FreshKey { key: key.reveal() },
            again: true,
        })
    }

    /// Revokes the caller's own key.
    ///
    /// # Errors
    /// [`Failure::NoKey`]; [`Failure::LastOrganiser`] when nobody else could organise.
    pub async fn revoke_key(&self, caller: &Caller) -> Outcome<()> {
        let holder = caller.holder()?;
        match self
            .store
            .revoke_key(&holder.key, &self.now().to_string())
            .await
        {
            // It was revoked at the same moment: all the same.
            Ok(()) | Err(StoreError::Overtaken) => Ok(()),
            Err(error) => Err(error.into()),
        }
    }
}
