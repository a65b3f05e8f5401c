//! Renewing keys and revoking them.

use fieldpost_wire as wire;

use crate::key::{Key, fresh_id, random_bytes};
use crate::store::{Origin, StoreError, StoredKey};

use super::notices::format_ms;
use super::{Caller, Credentials, IdempotencyKey, Service, ServiceError, ServiceResult};

/// A key that was renewed.
#[derive(Debug, Clone)]
pub struct Renewed {
    /// The answer.
    pub key: wire::FreshKey,
    /// Whether it had been renewed before by this same request.
    pub again: bool,
}

impl Service {
    /// Puts a fresh key in the place of one, which opens nothing from then on. Asked again with the old key
    /// and the same idempotency key it gives the same fresh key: an answer that was lost locks nobody out.
    ///
    /// # Errors
    /// [`ServiceError::NoKey`], [`ServiceError::WrongKey`].
    pub async fn renew_key(
        &self,
        credentials: &Credentials,
        once: &IdempotencyKey,
    ) -> ServiceResult<Renewed> {
        let old = credentials.required_key()?;
        let mut rows = self.store.context_rows(credentials.named(), None).await?;
        let stored_key = rows.key.take();
        let stored_key = stored_key.filter(|stored_key| old.matches(&stored_key.secret_hash));
        let stored_key = stored_key.ok_or(ServiceError::WrongKey)?;
        if stored_key.revoked_at.is_some() {
            return self.renewed_before(old, once).await;
        }
        // A seat or member that is gone has no key to renew.
        self.holder(stored_key.clone(), rows, None).await?;
        let salt = random_bytes();
        let key = old.renewed(fresh_id(), &salt, once.as_str());
        let fresh = StoredKey {
            id: key.id().to_owned(),
            secret_hash: key.hash().to_vec(),
            opens: stored_key.opens,
            origin: Origin::Renewal {
                renews: stored_key.id,
                salt: salt.to_vec(),
            },
            made_at: self.now().to_string(),
            revoked_at: None,
        };
        match self.store.renew_key(&fresh).await {
            Ok(()) => self.renewed(&key, false).await,
            Err(StoreError::Overtaken) => self.renewed_before(old, once).await,
            Err(error) => Err(error.into()),
        }
    }

    async fn renewed_before(&self, old: &Key, once: &IdempotencyKey) -> ServiceResult<Renewed> {
        let fresh = self.store.key_renewing(old.id()).await?;
        let Some(StoredKey {
            id,
            secret_hash,
            origin: Origin::Renewal { salt, .. },
            revoked_at: None,
            ..
        }) = fresh
        else {
            return Err(ServiceError::WrongKey);
        };
        let salt = salt
            .try_into()
            .map_err(|_| ServiceError::damaged("a salt"))?;
        let key = old.renewed(id, &salt, once.as_str());
        if !key.matches(&secret_hash) {
            return Err(ServiceError::WrongKey);
        }
        self.renewed(&key, true).await
    }

    async fn renewed(&self, key: &Key, again: bool) -> ServiceResult<Renewed> {
        Ok(Renewed {
            key: wire::FreshKey {
                key: key.reveal(),
                addresses_set: self.addresses_set_by(key.id()).await?,
            },
            again,
        })
    }

    /// Revokes the caller's own key.
    ///
    /// # Errors
    /// [`ServiceError::NoKey`]; [`ServiceError::LastOrganiser`] when nobody else could organise.
    pub async fn revoke_key(&self, caller: &Caller) -> ServiceResult<wire::RevokedKey> {
        let holder = caller.holder()?;
        match self
            .store
            .revoke_key(&holder.key, &self.now().to_string())
            .await
        {
            // It was revoked at the same moment: all the same.
            Ok(()) | Err(StoreError::Overtaken) => Ok(wire::RevokedKey {
                addresses_set: self.addresses_set_by(&holder.key).await?,
            }),
            Err(error) => Err(error.into()),
        }
    }

    /// Where notices go on going because a key, or one before it, said so: its holder may not have been alone with it.
    async fn addresses_set_by(&self, key: &str) -> ServiceResult<Vec<wire::AddressSet>> {
        let set = self.store.notice_addresses_set_by(key).await?;
        let mut told = Vec::with_capacity(set.len());
        for address in set {
            let seat = self.store.seat(&address.seat).await?;
            let game = seat.map(|seat| seat.game.to_string()).unwrap_or_default();
            told.push(wire::AddressSet {
                game,
                way: address.channel.into(),
                address: address.address,
                since: format_ms(address.set_at),
            });
        }
        Ok(told)
    }
}
