//! Random numbers of this machine, for secrets.

use rand::TryRng as _;
use rand::rngs::SysRng;

use crate::error::{CliError, CliResult};

/// Random bytes from the system's source.
///
/// # Errors
/// When it gives none.
pub fn random<const N: usize>() -> CliResult<[u8; N]> {
    let mut bytes = [0; N];
    SysRng.try_fill_bytes(&mut bytes).map_err(|error| {
        CliError::Other(format!("this machine gives no random numbers: {error}"))
    })?;
    Ok(bytes)
}
