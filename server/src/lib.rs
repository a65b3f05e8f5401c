//! The post office: games over HTTP, kept as an append-only record.
//!
//! | room | holds |
//! | --- | --- |
//! | [`wire`] | what travels, as plain types |
//! | [`store`] | where games are kept; the only room with SQL |
//! | [`office`] | opening, seats, postings, reading: asks the referee and the store, decides no rule |
//! | [`http`] | routes, conditions, problem documents |
//! | [`settings`], [`command`] | how it is started |
//! | [`demo`] | two player turns played over HTTP |
//!
//! The routes are described in `API.md`.

#![expect(
    clippy::duplicate_mod,
    reason = "store/queries is compiled once for each database"
)]

pub mod command;
pub mod demo;
pub mod http;
pub mod key;
pub mod office;
pub mod organiser;
mod rules;
mod serve;
pub mod settings;
pub mod store;
pub mod wire;

use std::future::Future;
use std::io::IsTerminal;
use std::sync::Arc;

use tokio::net::TcpListener;
use tracing::info;
use tracing_subscriber::EnvFilter;

use office::Office;
use settings::{LogForm, Settings};
use store::StoreError;

/// Serves games on a listener until `shutdown`, then lets open requests end.
///
/// # Errors
/// When the database cannot be opened.
pub async fn run(
    settings: Settings,
    listener: TcpListener,
    shutdown: impl Future<Output = ()>,
) -> Result<(), StoreError> {
    let store = store::open(settings.database.url(), settings.database_connections).await?;
    if let Some(key) = organiser::first_key(store.as_ref()).await? {
        organiser::hand_over(&key, &settings.database);
    }
    let office = Arc::new(Office::new(Arc::clone(&store), settings.invitation_days));
    let bounds = serve::Bounds {
        connections: settings.connections,
        header_deadline: settings.header_deadline(),
    };
    match listener.local_addr() {
        Ok(address) => info!(%address, database = settings.database.shown(), "serving"),
        Err(error) => info!(%error, "serving at an address that cannot be told"),
    }
    serve::serve(
        listener,
        http::router(office, settings.limits()),
        bounds,
        shutdown,
    )
    .await;
    store.close().await;
    info!("stopped");
    Ok(())
}

/// Begins to log to standard error, once for the process.
///
/// # Errors
/// When the filter cannot be read, in its own words.
pub fn begin_log(settings: &Settings) -> Result<(), String> {
    let filter = EnvFilter::try_new(&settings.log).map_err(|error| format!("log: {error}"))?;
    let in_colour = std::io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none();
    let log = tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_ansi(in_colour)
        .with_writer(std::io::stderr);
    let begun = match settings.log_form {
        LogForm::Text => log.try_init(),
        LogForm::Json => log.json().flatten_event(true).try_init(),
    };
    begun.map_err(|error| format!("log: {error}"))
}

/// Ends when the process is told to stop: by ctrl-c or, where there is such a thing, by SIGTERM.
pub async fn told_to_stop() {
    let interrupt = async {
        if tokio::signal::ctrl_c().await.is_err() {
            std::future::pending::<()>().await;
        }
    };
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        match signal(SignalKind::terminate()) {
            Ok(mut terminate) => tokio::select! {
                () = interrupt => {}
                _ = terminate.recv() => {}
            },
            Err(_) => interrupt.await,
        }
    }
    #[cfg(not(unix))]
    interrupt.await;
}
