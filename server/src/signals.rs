//! Signals of the process.

use std::future::Future;

/// Ends when the process is told to stop: by ctrl-c or, where there is such a thing, by SIGTERM. From the call on,
/// within a runtime, none is missed.
pub fn shutdown_signal() -> impl Future<Output = ()> {
    #[cfg(unix)]
    {
        use tokio::signal::unix::SignalKind;
        let interrupt = received(SignalKind::interrupt());
        let terminate = received(SignalKind::terminate());
        async move {
            tokio::select! {
                () = interrupt => {}
                () = terminate => {}
            }
        }
    }
    #[cfg(not(unix))]
    async {
        if tokio::signal::ctrl_c().await.is_err() {
            std::future::pending::<()>().await;
        }
    }
}

/// Listens for a signal from now on.
#[cfg(unix)]
fn received(kind: tokio::signal::unix::SignalKind) -> impl Future<Output = ()> {
    let signal = tokio::signal::unix::signal(kind);
    async move {
        match signal {
            Ok(mut signal) => {
                signal.recv().await;
            }
            Err(_) => std::future::pending().await,
        }
    }
}
