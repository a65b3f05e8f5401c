//! A server with a fault in its store, for the trials of the trials (see `store/mutant.rs`).

use std::process::ExitCode;

use clap::Parser;
use fieldpost_server::command::Command;
use fieldpost_server::{begin_log, run, told_to_stop};
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
        .settled()
        .map_err(|error| error.to_string())?;
    begin_log(&settings)?;
    let listener = TcpListener::bind(settings.listen)
        .await
        .map_err(|error| error.to_string())?;
    run(settings, listener, told_to_stop())
        .await
        .map_err(|error| error.to_string())
}
