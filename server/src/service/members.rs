//! Members of the club: who they are, what they may do, their keys.

use fieldpost_wire as wire;

use crate::key::{Key, random_bytes};
use crate::store::{Authority, Member, MemberId, Opens, Origin, StoreError, StoredKey};

use super::summaries::member_summary;
use super::{Caller, Service, ServiceError, ServiceResult, names};

impl Service {
    /// The members of the club, by name.
    ///
    /// # Errors
    /// When the caller may not organise.
    pub async fn members(&self, caller: &Caller) -> ServiceResult<wire::Members> {
        caller.must_organise()?;
        let members = self.store.members().await?;
        Ok(wire::Members {
            members: members.iter().map(member_summary).collect(),
        })
    }

    /// Adds a member.
    ///
    /// # Errors
    /// When the caller may not organise, or the name is unfit.
    pub async fn add_member(
        &self,
        caller: &Caller,
        requested: &wire::AddMember,
    ) -> ServiceResult<wire::AddedMember> {
        let by = caller.must_organise()?;
        let member = Member {
            id: MemberId(random_bytes()),
            name: names::fit(&requested.name).map_err(for_member)?,
            role: requested.role,
            joined_at: self.now().to_string(),
            left_at: None,
        };
        let (key, stored_key) = self.fresh_key(member.id);
        self.store.add_member(&by, &member, &stored_key).await?;
        Ok(added(&member, &key))
    }

    /// Gives a member another name or role.
    ///
    /// # Errors
    /// When the caller may not organise, there is no such member, or nobody would be left to organise.
    pub async fn change_member(
        &self,
        caller: &Caller,
        id: MemberId,
        requested: &wire::ChangeMember,
    ) -> ServiceResult<wire::MemberSummary> {
        let (by, mut member) = self.member_for(caller, id).await?;
        if let Some(name) = &requested.name {
            member.name = names::fit(name).map_err(for_member)?;
        }
        if let Some(role) = requested.role {
            member.role = role;
        }
        let changed = self.store.change_member(&by, id, &member.name, member.role);
        changed.await.map_err(no_such_member)?;
        Ok(member_summary(&member))
    }

    /// Gives a member another key; those they had open nothing from then on.
    ///
    /// # Errors
    /// When the caller may not organise or there is no such member.
    pub async fn rekey_member(
        &self,
        caller: &Caller,
        id: MemberId,
    ) -> ServiceResult<wire::AddedMember> {
        let (by, member) = self.member_for(caller, id).await?;
        let (key, stored_key) = self.fresh_key(id);
        self.store.rekey_member(&by, &stored_key).await?;
        Ok(added(&member, &key))
    }

    /// Removes a member. Their keys and those of their seats open nothing from then on; the seats can be freed.
    ///
    /// # Errors
    /// When the caller may not organise, there is no such member, or nobody would be left to organise.
    pub async fn remove_member(&self, caller: &Caller, id: MemberId) -> ServiceResult<()> {
        let (by, _) = self.member_for(caller, id).await?;
        let now = self.now();
        let removed = self
            .store
            .remove_member(&by, id, &now.to_string(), now.as_millisecond())
            .await;
        removed.map_err(no_such_member)
    }

    /// A member as an organiser may change them, and that organiser's word.
    async fn member_for(
        &self,
        caller: &Caller,
        id: MemberId,
    ) -> ServiceResult<(Authority, Member)> {
        let by = caller.must_organise()?;
        let member = self.store.member(id).await?;
        let member = member.filter(|member| member.left_at.is_none());
        Ok((by, member.ok_or(ServiceError::NoSuchMember)?))
    }

    fn fresh_key(&self, member: MemberId) -> (Key, StoredKey) {
        let key = Key::fresh();
        let stored_key = StoredKey {
            id: key.id().to_owned(),
            secret_hash: key.hash().to_vec(),
            opens: Opens::Member { member },
            origin: Origin::Afresh,
            made_at: self.now().to_string(),
            revoked_at: None,
        };
        (key, stored_key)
    }
}

/// Whoever is not there any more when it comes to writing has left.
fn no_such_member(error: StoreError) -> ServiceError {
    match error {
        StoreError::Overtaken => ServiceError::NoSuchMember,
        error => error.into(),
    }
}

/// The same fault of a name, in the place where members have theirs.
fn for_member(failure: ServiceError) -> ServiceError {
    match failure {
        ServiceError::BadName { why, .. } => ServiceError::BadName {
            why,
            pointer: "/name",
        },
        failure => failure,
    }
}

fn added(member: &Member, key: &Key) -> wire::AddedMember {
    wire::AddedMember {
        member: member_summary(member),
        key: key.reveal(),
    }
}
