//! Members of the club.

use async_trait::async_trait;
use sqlx::Row;

use super::{
    Backend, DbConnection, DbRow, Write, addresses, exactly_one, keys, lock_exclusive, member_id,
    must_stand,
};
use crate::store::{
    Authority, Member, MemberId, MemberRole, Members, Opens, StoreError, StoreResult, StoredKey,
};

/// A member's columns, in the order in which [`member`] reads them.
macro_rules! member_columns {
    ($of:literal) => {
        concat!(
            $of,
            "id, ",
            $of,
            "name, ",
            $of,
            "role, ",
            $of,
            "joined_at, ",
            $of,
            "left_at"
        )
    };
}
pub(super) use member_columns;

#[async_trait]
impl Members for Backend {
    async fn members(&self) -> StoreResult<Vec<Member>> {
        let rows = sqlx::query(concat!(
            "SELECT ",
            member_columns!("members."),
            " FROM members WHERE left_at IS NULL ORDER BY name, id"
        ))
        .fetch_all(&mut *self.reading().await?)
        .await?;
        rows.iter().map(|row| member(row, 0)).collect()
    }

    async fn member(&self, id: MemberId) -> StoreResult<Option<Member>> {
        let row = sqlx::query(concat!(
            "SELECT ",
            member_columns!("members."),
            " FROM members WHERE id = $1"
        ))
        .bind(id.to_string())
        .fetch_optional(&mut *self.reading().await?)
        .await?;
        row.map(|row| member(&row, 0)).transpose()
    }

    async fn add_member(
        &self,
        by: &Authority,
        member: &Member,
        key: &StoredKey,
    ) -> StoreResult<()> {
        self.write(Joined {
            by: by.clone(),
            member: member.clone(),
            key: key.clone(),
        })
        .await
    }

    async fn change_member(
        &self,
        by: &Authority,
        id: MemberId,
        name: &str,
        role: MemberRole,
    ) -> StoreResult<()> {
        self.write(Changed {
            by: by.clone(),
            id,
            name: name.to_owned(),
            role,
        })
        .await
    }

    async fn rekey_member(&self, by: &Authority, key: &StoredKey) -> StoreResult<()> {
        self.write(Rekeyed {
            by: by.clone(),
            key: key.clone(),
        })
        .await
    }

    async fn remove_member(
        &self,
        by: &Authority,
        id: MemberId,
        at: &str,
        at_ms: i64,
    ) -> StoreResult<()> {
        self.write(Removed {
            by: by.clone(),
            id,
            at: at.to_owned(),
            at_ms,
        })
        .await
    }
}

struct Joined {
    by: Authority,
    member: Member,
    key: StoredKey,
}

#[async_trait]
impl Write for Joined {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        must_stand(connection, &self.by).await?;
        sqlx::query("INSERT INTO members (id, name, role, joined_at) VALUES ($1, $2, $3, $4)")
            .bind(self.member.id.to_string())
            .bind(&self.member.name)
            .bind(self.member.role.as_str())
            .bind(&self.member.joined_at)
            .execute(&mut *connection)
            .await?;
        keys::add_key(connection, &self.key).await
    }
}

struct Changed {
    by: Authority,
    id: MemberId,
    name: String,
    role: MemberRole,
}

#[async_trait]
impl Write for Changed {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        lock_exclusive(connection).await?;
        must_stand(connection, &self.by).await?;
        let changed = sqlx::query(
            "UPDATE members SET name = $2, role = $3 WHERE id = $1 AND left_at IS NULL",
        )
        .bind(self.id.to_string())
        .bind(&self.name)
        .bind(self.role.as_str())
        .execute(&mut *connection)
        .await?;
        exactly_one(changed.rows_affected())?;
        keys::somebody_organises(connection).await
    }
}

struct Rekeyed {
    by: Authority,
    key: StoredKey,
}

#[async_trait]
impl Write for Rekeyed {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        let Opens::Member { member } = self.key.opens else {
            return Err(StoreError::Damaged(
                "a member given another's key".to_owned(),
            ));
        };
        lock_exclusive(connection).await?;
        must_stand(connection, &self.by).await?;
        sqlx::query("UPDATE keys SET revoked_at = $2 WHERE member = $1 AND revoked_at IS NULL")
            .bind(member.to_string())
            .bind(&self.key.made_at)
            .execute(&mut *connection)
            .await?;
        sqlx::query(
            "UPDATE seats SET reads_after = (SELECT head_number FROM games WHERE games.id = seats.game) \
             WHERE member = $1",
        )
        .bind(member.to_string())
        .execute(&mut *connection)
        .await?;
        keys::add_key(connection, &self.key).await
    }
}

struct Removed {
    by: Authority,
    id: MemberId,
    at: String,
    at_ms: i64,
}

#[async_trait]
impl Write for Removed {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        lock_exclusive(connection).await?;
        must_stand(connection, &self.by).await?;
        let removed =
            sqlx::query("UPDATE members SET left_at = $2 WHERE id = $1 AND left_at IS NULL")
                .bind(self.id.to_string())
                .bind(&self.at)
                .execute(&mut *connection)
                .await?;
        exactly_one(removed.rows_affected())?;
        sqlx::query(
            "UPDATE keys SET revoked_at = $2 WHERE revoked_at IS NULL \
             AND (member = $1 OR seat IN (SELECT id FROM seats WHERE member = $1))",
        )
        .bind(self.id.to_string())
        .bind(&self.at)
        .execute(&mut *connection)
        .await?;
        let seats = sqlx::query("SELECT id FROM seats WHERE member = $1")
            .bind(self.id.to_string())
            .fetch_all(&mut *connection)
            .await?;
        for seat in &seats {
            addresses::remove_all(connection, seat.try_get("id")?, self.at_ms).await?;
        }
        keys::somebody_organises(connection).await
    }
}

/// A member, from the columns that begin there.
pub(super) fn member(row: &DbRow, at: usize) -> StoreResult<Member> {
    let role: String = row.try_get(at + 2)?;
    Ok(Member {
        id: member_id(row.try_get(at)?)?,
        name: row.try_get(at + 1)?,
        role: match role.as_str() {
            "organiser" => MemberRole::Organiser,
            "member" => MemberRole::Member,
            _ => return Err(StoreError::Damaged(format!("a member of role {role}"))),
        },
        joined_at: row.try_get(at + 3)?,
        left_at: row.try_get(at + 4)?,
    })
}
