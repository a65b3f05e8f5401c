//! Members of the club: who they are, what they may do, their keys.

use crate::key::{Key, random_bytes};
use crate::store::{KeyCard, Member, MemberId, Opens, Origin, StoreError};
use fieldpost_wire as wire;

use super::{Caller, Failure, Office, Outcome, names};

impl Office {
    /// The members of the club, by name.
    ///
    /// # Errors
    /// When the caller may not organise.
    pub async fn members(&self, caller: &Caller) -> Outcome<wire::Members> {
        caller.must_organise()?;
        let members = self.store.members().await?;
        Ok(wire::Members {
            members: members.iter().map(shown).collect(),
        })
    }

    /// Adds a member.
    ///
    /// # Errors
    /// When the caller may not organise, or the name is unfit.
    pub async fn add_member(
        &self,
        caller: &Caller,
        asked: &wire::AddMember,
    ) -> Outcome<wire::AddedMember> {
        caller.must_organise()?;
        let member = Member {
            id: MemberId(random_bytes()),
            name: names::fit(&asked.name).map_err(for_member)?,
            role: asked.role,
            joined_at: self.now().to_string(),
            left_at: None,
        };
        let (key, card) = self.fresh_key(member.id);
        self.store.add_member(&member, &card).await?;
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
        asked: &wire::ChangeMember,
    ) -> Outcome<wire::MemberSummary> {
        let mut member = self.member_for(caller, id).await?;
        if let Some(name) = &asked.name {
            member.name = names::fit(name).map_err(for_member)?;
        }
        if let Some(role) = asked.role {
            member.role = role;
        }
        let changed = self.store.change_member(id, &member.name, member.role);
        changed.await.map_err(no_such_member)?;
        Ok(shown(&member))
    }

    /// Gives a member another key; those they had open nothing from then on.
    ///
    /// # Errors
    /// When the caller may not organise or there is no such member.
    pub async fn rekey_member(&self, caller: &Caller, id: MemberId) -> Outcome<wire::AddedMember> {
        let member = self.member_for(caller, id).await?;
        let (key, card) = self.fresh_key(id);
        self.store.rekey_member(&card).await?;
        Ok(added(&member, &key))
    }

    /// Removes a member. Their keys and those of their seats open nothing from then on; the seats can be freed.
    ///
    /// # Errors
    /// When the caller may not organise, there is no such member, or nobody would be left to organise.
    pub async fn remove_member(&self, caller: &Caller, id: MemberId) -> Outcome<()> {
        self.member_for(caller, id).await?;
        let now = self.now();
        let removed = self
            .store
            .remove_member(id, &now.to_string(), now.as_millisecond())
            .await;
        removed.map_err(no_such_member)
    }

    async fn member_for(&self, caller: &Caller, id: MemberId) -> Outcome<Member> {
        caller.must_organise()?;
        let member = self.store.member(id).await?;
        member
            .filter(|member| member.left_at.is_none())
            .ok_or(Failure::NoSuchMember)
    }

    fn fresh_key(&self, member: MemberId) -> (Key, KeyCard) {
        let key = Key::fresh();
        let card = KeyCard {
            id: key.id().to_owned(),
            secret_hash: key.hash().to_vec(),
            opens: Opens::Member { member },
            origin: Origin::Afresh,
            made_at: self.now().to_string(),
            revoked_at: None,
        };
        (key, card)
    }
}

/// Whoever is not there any more when it comes to writing has left.
fn no_such_member(error: StoreError) -> Failure {
    match error {
        StoreError::Overtaken => Failure::NoSuchMember,
        error => error.into(),
    }
}

/// The same fault of a name, in the place where members have theirs.
fn for_member(failure: Failure) -> Failure {
    match failure {
        Failure::BadName { why, .. } => Failure::BadName {
            why,
            pointer: "/name",
        },
        failure => failure,
    }
}

fn added(member: &Member, key: &Key) -> wire::AddedMember {
    wire::AddedMember {
        member: shown(member),
        key: key.reveal(),
    }
}

fn shown(member: &Member) -> wire::MemberSummary {
    wire::MemberSummary {
        id: member.id.to_string(),
        name: member.name.clone(),
        role: member.role.into(),
        joined_at: member.joined_at.clone(),
    }
}
