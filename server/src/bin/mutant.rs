//! A server with a fault in its store, to try the tests of crashes (see `store/mutant.rs`).

use std::process::ExitCode;

use clap::Parser;
use fieldpost_server::command::Command;
use fieldpost_server::logging::init_logging;
use fieldpost_server::server::run;
use fieldpost_server::signals::shutdown_signal;
use tokio::net::TcpListener;

#[tokio::main]
async fn main() -> ExitCode {
    match serve().await {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("fieldpost-server-mutant: {error}");
            ExitCode::FAILURE
        }
    }
}

async fn serve() -> Result<(), String> {
    let settings = Command::parse()
        .resolved_settings()
        .map_err(|error| error.to_string())?;
    init_logging(&settings).map_err(|error| error.to_string())?;
    let listener = TcpListener::bind(settings.listen)
        .await
        .map_err(|error| error.to_string())?;
    run(settings, listener, shutdown_signal())
        .await
        .map_err(|error| error.to_string())
}
