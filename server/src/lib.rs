//! The post office: games over HTTP, kept as an append-only record.
//!
//! | room | holds |
//! | --- | --- |
//! | [`store`] | where games are kept; the only room with SQL |
//! | [`clock`] | how long a side may think: a fold of the record |
//! | [`office`] | opening, seats, postings, reading: asks the referee and the store, decides no rule |
//! | [`http`] | routes, conditions, problem documents |
//! | [`notices`], [`outside`] | telling seats what is queued by e-mail and webhook; which addresses a webhook may go to |
//! | `serve`, `rates`, `meters` | connections and TLS; how much is taken from whom; what is counted |
//! | [`settings`], [`command`] | how it is started |
//! | [`keeping`] | copies of the database: backing up, restoring, moving, checking |
//! | `supervisor` | telling systemd that it is ready |
//! | [`demo`] | two player turns played over HTTP |
//!
//! The routes are described in `API.md`.

#![expect(
    clippy::duplicate_mod,
    reason = "store/queries is compiled once for each database"
)]

pub mod clock;
pub mod command;
pub mod demo;
pub mod http;
pub mod keeping;
pub mod key;
mod markup;
mod meters;
pub mod notices;
pub mod office;
pub mod organiser;
pub mod outside;
mod rates;
mod rules;
mod serve;
pub mod settings;
pub mod store;
mod supervisor;

use std::fmt;
use std::future::Future;
use std::io::{ErrorKind, IsTerminal};
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use jiff::Timestamp;
use tokio::net::TcpListener;
use tokio::sync::{Semaphore, watch};
use tracing::subscriber::set_global_default;
use tracing::{error, info, warn};
use tracing_subscriber::EnvFilter;

use meters::Meters;
use notices::{Carry, Courier, Hooks};
use office::{NoticeRules, Office};
use outside::Outside;
use serve::{Bounds, Served, Tls, TlsError};
use settings::{LogForm, Settings};
use store::StoreError;

/// How long notices that are being told may take once the server is told to stop.
const PARTING: Duration = Duration::from_secs(5);

/// Why the server could not begin.
#[derive(Debug)]
pub enum StartError {
    /// The database cannot be opened.
    Store(StoreError),
    /// TLS cannot be spoken.
    Tls(TlsError),
    /// Mail cannot be sent as it is set up.
    Mail(String),
    /// The address for metrics cannot be listened on.
    Metrics(SocketAddr, std::io::Error),
}

impl StartError {
    /// Whether it is the settings, or what they name, that somebody must mend: trying again alone helps nothing.
    #[must_use]
    pub fn is_of_settings(&self) -> bool {
        match self {
            Self::Store(_) => false,
            Self::Tls(_) | Self::Mail(_) => true,
            Self::Metrics(_, error) => error.kind() == ErrorKind::PermissionDenied,
        }
    }
}

impl fmt::Display for StartError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Store(error) => error.fmt(f),
            Self::Tls(error) => error.fmt(f),
            Self::Mail(error) => f.write_str(error),
            Self::Metrics(address, error) => {
                write!(f, "{address} cannot be listened on for metrics: {error}")
            }
        }
    }
}

impl std::error::Error for StartError {}

impl From<StoreError> for StartError {
    fn from(error: StoreError) -> Self {
        Self::Store(error)
    }
}

impl From<TlsError> for StartError {
    fn from(error: TlsError) -> Self {
        Self::Tls(error)
    }
}

/// Serves games on a listener until `shutdown`, then lets open requests end.
///
/// # Errors
/// When the database cannot be opened or has not kept what was written, TLS cannot be spoken or metrics cannot be shown.
pub async fn run(
    settings: Settings,
    listener: TcpListener,
    shutdown: impl Future<Output = ()>,
) -> Result<(), StartError> {
    let tls = match settings.tls_files() {
        Some((certificate, key)) => Some(Arc::new(Tls::read(certificate, key)?)),
        None => None,
    };
    let metrics = match settings.metrics_listen {
        Some(address) => Some(
            TcpListener::bind(address)
                .await
                .map_err(|error| StartError::Metrics(address, error))?,
        ),
        None => None,
    };
    let store = store::open(settings.database.url(), settings.database_connections).await?;
    if let Some(key) = organiser::first_key(store.as_ref()).await? {
        organiser::hand_over(&key, &settings.database);
    }
    let mailer = settings
        .mailer()
        .map_err(|error| StartError::Mail(error.to_string()))?;
    let hooks = (settings.webhooks != Outside::Off).then(|| Hooks::new(settings.webhooks));
    let rules = NoticeRules {
        mail: mailer.is_some(),
        webhooks: settings.webhooks,
    };
    let office = Office::new(Arc::clone(&store), settings.invitation_days).with_notices(rules);
    let office = Arc::new(office);
    let courier = Arc::new(Courier::new(
        Arc::clone(&store),
        Arc::clone(&office),
        mailer.map(|mailer| Arc::new(mailer) as Arc<dyn Carry>),
        hooks.map(|hooks| Arc::new(hooks) as Arc<dyn Carry>),
        settings.notice_tries,
    ));
    let (closing, closed) = watch::channel(false);
    let delivery = tokio::spawn(courier.work(closed.clone()));
    let rates = Arc::new(settings.rates());
    let meters = Arc::new(Meters::new());
    let app = http::App::new(http::Shared {
        office: Arc::clone(&office),
        limits: settings.limits(),
        rates: Arc::clone(&rates),
        meters: Arc::clone(&meters),
        watchers: Arc::new(Semaphore::new(settings.watchers as usize)),
        closing: closed.clone(),
    });
    let served = Served {
        router: http::router(app),
        bounds: Bounds {
            connections: settings.connections,
            address_connections: settings.address_connections,
            header_deadline: settings.header_deadline(),
        },
        tls: tls.clone(),
        rates,
        meters,
        closing: closed,
    };
    let aside = [
        tokio::spawn(see_to_clocks(office, settings.clock_interval())),
        tokio::spawn(read_again_when_told(tls)),
        tokio::spawn(show_metrics(metrics, served.clone())),
    ];
    match listener.local_addr() {
        Ok(address) => {
            let scheme = if served.tls.is_some() {
                "https"
            } else {
                "http"
            };
            info!(%address, scheme, database = settings.database.shown(), "serving");
        }
        Err(error) => info!(%error, "serving at an address that cannot be told"),
    }
    // Whoever comes from now on waits in the listener's queue at worst.
    supervisor::tell(supervisor::READY);
    let mut given_up = None;
    let ending = async {
        tokio::select! {
            () = shutdown => {}
            why = store.given_up() => {
                error!(%why, "stopping");
                given_up = Some(why);
            }
        }
        supervisor::tell(supervisor::STOPPING);
    };
    serve::serve(listener, served, closing, ending).await;
    for task in aside {
        task.abort();
    }
    // What it is telling may still arrive; what does not is told after the next start.
    let abort = delivery.abort_handle();
    if tokio::time::timeout(PARTING, delivery).await.is_err() {
        abort.abort();
    }
    store.close().await;
    info!("stopped");
    given_up.map_or(Ok(()), |why| Err(why.into()))
}

/// Sees to clocks that wake, again and again.
async fn see_to_clocks(office: Arc<Office>, interval: Duration) {
    loop {
        match office.sweep(Timestamp::now()).await {
            Ok(0) => {}
            Ok(clocks) => info!(clocks, "clocks seen to"),
            Err(failure) => warn!(
                ?failure,
                "clocks could not be seen to; they are tried again"
            ),
        }
        tokio::time::sleep(interval).await;
    }
}

/// Shows what is counted at an address of its own, in the clear, to a few at once.
async fn show_metrics(listener: Option<TcpListener>, served: Served) {
    let Some(listener) = listener else {
        return;
    };
    if let Ok(address) = listener.local_addr() {
        info!(metrics = %address, "showing metrics");
    }
    let meters = Arc::clone(&served.meters);
    let served = Served {
        router: meters::router(Arc::clone(&meters)),
        bounds: Bounds {
            connections: 16,
            address_connections: 0,
            ..served.bounds
        },
        tls: None,
        // Those who read metrics are not among those counted.
        meters: Arc::new(Meters::new()),
        ..served
    };
    let (closing, closed) = watch::channel(false);
    let served = Served {
        closing: closed,
        ..served
    };
    serve::serve(listener, served, closing, std::future::pending()).await;
}

/// Reads the certificate again whenever the process gets SIGHUP, for renewed ones.
#[cfg(unix)]
async fn read_again_when_told(tls: Option<Arc<Tls>>) {
    use tokio::signal::unix::{SignalKind, signal};
    let Ok(mut hang_up) = signal(SignalKind::hangup()) else {
        return;
    };
    while hang_up.recv().await.is_some() {
        match tls.as_ref().map(|tls| tls.read_again()) {
            Some(Ok(())) => info!("the certificate was read again"),
            Some(Err(error)) => warn!(%error, "the certificate in use stays"),
            None => info!("told to read again, and there is nothing to read"),
        }
    }
}

#[cfg(not(unix))]
async fn read_again_when_told(_: Option<Arc<Tls>>) {}

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
    // Not by `init`, which would also log what libraries tell the `log` crate: where webhooks go, for one, and that
    // is their seats' alone to know.
    let begun = match settings.log_form {
        LogForm::Text => set_global_default(log.finish()),
        LogForm::Json => set_global_default(log.json().flatten_event(true).finish()),
    };
    begun.map_err(|error| format!("log: {error}"))
}

/// Ends when the process is told to stop: by ctrl-c or, where there is such a thing, by SIGTERM. From the call on,
/// within a runtime, none is missed.
pub fn told_to_stop() -> impl Future<Output = ()> {
    #[cfg(unix)]
    {
        use tokio::signal::unix::SignalKind;
        let interrupt = heard(SignalKind::interrupt());
        let terminate = heard(SignalKind::terminate());
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
fn heard(kind: tokio::signal::unix::SignalKind) -> impl Future<Output = ()> {
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
