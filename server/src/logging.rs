//! Logging to standard error, as text or as JSON.

use std::io::IsTerminal;

use thiserror::Error;
use tracing::subscriber::set_global_default;
use tracing_subscriber::EnvFilter;

use crate::settings::{LogForm, Settings};

/// Why logging could not begin.
#[derive(Debug, Error)]
pub enum LoggingError {
    /// The filter cannot be read.
    #[error("log: {0}")]
    Filter(#[from] tracing_subscriber::filter::ParseError),
    /// The process logs already.
    #[error("log: {0}")]
    Begun(#[from] tracing::subscriber::SetGlobalDefaultError),
}

/// Begins to log, once for the process.
///
/// # Errors
/// When the filter cannot be read, or the process logs already.
pub fn init_logging(settings: &Settings) -> Result<(), LoggingError> {
    let filter = EnvFilter::try_new(&settings.log)?;
    let in_colour = std::io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none();
    let log = tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_ansi(in_colour)
        .with_writer(std::io::stderr);
    // Not by `init`, which would also log what libraries tell the `log` crate: where webhooks go, for one, and that
    // is their seats' alone to know.
    match settings.log_form {
        LogForm::Text => set_global_default(log.finish())?,
        LogForm::Json => set_global_default(log.json().flatten_event(true).finish())?,
    }
    Ok(())
}
