//! The mark of a copy.

use async_trait::async_trait;
use sqlx::Row;

use super::{Backend, DbConnection, Write};
use crate::store::{Copies, StoreResult};

#[async_trait]
impl Copies for Backend {
    async fn to_be_renewed(&self) -> StoreResult<Option<String>> {
        let row = sqlx::query("SELECT why FROM copies ORDER BY made_at DESC LIMIT 1")
            .fetch_optional(&mut *self.reading().await?)
            .await?;
        Ok(row.map(|row| row.try_get("why")).transpose()?)
    }

    async fn mark_as_copy(&self, at: &str, why: &str) -> StoreResult<()> {
        self.write(Mark {
            at: at.to_owned(),
            why: why.to_owned(),
        })
        .await
    }

    async fn forget_copy(&self) -> StoreResult<()> {
        self.write(Unmark).await
    }
}

struct Mark {
    at: String,
    why: String,
}

#[async_trait]
impl Write for Mark {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        sqlx::query("INSERT INTO copies (made_at, why) VALUES ($1, $2) ON CONFLICT DO NOTHING")
            .bind(&self.at)
            .bind(&self.why)
            .execute(connection)
            .await?;
        Ok(())
    }
}

struct Unmark;

#[async_trait]
impl Write for Unmark {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        sqlx::query("DELETE FROM copies")
            .execute(connection)
            .await?;
        Ok(())
    }
}
