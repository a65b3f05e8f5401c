//! Writing something of no meaning, to find out whether anything can be written.

use async_trait::async_trait;

use super::{DbConnection, Write};
use crate::key::random_bytes;
use crate::store::StoreResult;

/// About as long as what a posting writes: a page or two would find room where a posting finds none.
const FILLING_BYTES: usize = 32 * 1024;

/// One row, written anew each time.
pub(super) struct Probe;

#[async_trait]
impl Write for Probe {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        let filling = random_bytes::<FILLING_BYTES>();
        sqlx::query(
            "INSERT INTO probes (id, filling) VALUES (1, $1) \
             ON CONFLICT (id) DO UPDATE SET filling = excluded.filling",
        )
        .bind(&filling[..])
        .execute(connection)
        .await?;
        Ok(())
    }
}
