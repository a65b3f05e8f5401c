//! A server process from its settings to its end: what is opened, what runs beside the connections, and in which order
//! all of it stops.

use std::future::Future;
use std::io::ErrorKind;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use fieldpost_command_line::in_plain_words;
use jiff::Timestamp;
use thiserror::Error;
use tokio::net::TcpListener;
use tokio::sync::{Semaphore, watch};
use tokio::task::JoinHandle;
use tracing::{error, info, warn};

use crate::channels::{Channels, MailChannel, NoticeChannel, WebhookChannel};
use crate::dispatcher::Dispatcher;
use crate::held::HeldBytes;
use crate::measuring::Measuring;
use crate::metrics::{self, Metrics};
use crate::rate_limits::RateLimits;
use crate::serve::{Bounds, Served, Tls, TlsError};
use crate::service::{Service, ServiceError};
use crate::settings::{Settings, SettingsError};
use crate::store::{self, Store, StoreError};
use crate::webhook_policy::WebhookPolicy;
use crate::{http, organiser_key, serve, supervisor};

/// How long notices that are being delivered may take once the server is told to stop.
const SHUTDOWN_GRACE: Duration = Duration::from_secs(5);

/// Why the server could not begin.
#[derive(Debug, Error)]
pub enum StartError {
    /// The database cannot be opened.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The secrets of the games of a copy cannot be renewed.
    #[error("the secrets behind the dice cannot be renewed, as they must be in a copy: {0}")]
    Renewal(#[from] ServiceError),
    /// TLS cannot be spoken.
    #[error(transparent)]
    Tls(#[from] TlsError),
    /// Something that is set up cannot be used.
    #[error(transparent)]
    Settings(#[from] SettingsError),
    /// The address for metrics cannot be listened on.
    #[error(
        "{address} cannot be listened on for metrics: {}",
        in_plain_words(source)
    )]
    Metrics {
        /// The address that is set.
        address: SocketAddr,
        /// Why not.
        source: std::io::Error,
    },
}

impl StartError {
    /// Whether it is the settings, or what they name, that somebody must mend: trying again alone helps nothing.
    #[must_use]
    pub fn is_of_settings(&self) -> bool {
        match self {
            Self::Store(_) | Self::Renewal(_) => false,
            Self::Tls(_) | Self::Settings(_) => true,
            Self::Metrics { source, .. } => source.kind() == ErrorKind::PermissionDenied,
        }
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
    let metrics_listener = metrics_listener(&settings).await?;
    let channels = Arc::new(channels(&settings)?);
    let store = store::open(settings.database.url(), settings.database_connections).await?;
    if let Some(key) = organiser_key::first_key(store.as_ref()).await? {
        organiser_key::hand_over(&key, &settings.database);
    }
    let service = Service::new(Arc::clone(&store), settings.invitation_days)
        .with_channels(Arc::clone(&channels))
        .with_key_limit(settings.key_requests)
        .with_check_limit(settings.key_checks)
        .with_measuring(Measuring::new(settings.answer_deadline()));
    let renewed = service.renew_secrets_of_copy().await?;
    if renewed > 0 {
        info!(games = renewed, "the secrets behind the dice are renewed");
    }
    let service = Arc::new(service);
    let (closing, closed) = watch::channel(false);
    let dispatcher = Dispatcher::new(
        Arc::clone(&store),
        Arc::clone(&service),
        channels,
        settings.notice_tries,
    );
    let dispatching = tokio::spawn(Arc::new(dispatcher).run(closed.clone()));
    let page = http::PageAddress::new(
        settings.public_address()?.as_ref(),
        listener.local_addr().ok(),
        tls.is_some(),
    );
    let served = served(&settings, &service, (tls.clone(), page), closed);
    let measuring = Arc::clone(&service);
    let background = [
        tokio::spawn(sweep_clocks(service, settings.clock_interval())),
        tokio::spawn(reload_on_hangup(tls)),
        tokio::spawn(serve_metrics(metrics_listener, served.clone())),
    ];
    log_address(&listener, &served, &settings);
    // Whoever comes from now on waits in the listener's queue at worst.
    supervisor::notify(supervisor::READY);
    let mut given_up = None;
    let ending = async {
        tokio::select! {
            () = shutdown => {}
            why = store.given_up() => {
                error!(%why, "stopping");
                given_up = Some(why);
            }
        }
        supervisor::notify(supervisor::STOPPING);
        // Nobody's sheet is waited for.
        measuring.stop_measuring();
    };
    serve::serve(listener, served, closing, ending).await;
    stop(&background, dispatching, store.as_ref()).await;
    given_up.map_or(Ok(()), |why| Err(why.into()))
}

/// The registry of notice channels: those that the settings set up.
fn channels(settings: &Settings) -> Result<Channels, SettingsError> {
    let mail = settings.mail()?.map(MailChannel::new);
    let mail = mail.map(|channel| Arc::new(channel) as Arc<dyn NoticeChannel>);
    let has_webhooks = settings.webhooks != WebhookPolicy::Off;
    let webhook = has_webhooks.then(|| WebhookChannel::new(settings.webhooks));
    let webhook = webhook.map(|channel| Arc::new(channel) as Arc<dyn NoticeChannel>);
    Ok(Channels::new([mail, webhook].into_iter().flatten()))
}

async fn metrics_listener(settings: &Settings) -> Result<Option<TcpListener>, StartError> {
    let Some(address) = settings.metrics_listen else {
        return Ok(None);
    };
    let bound = TcpListener::bind(address).await;
    bound
        .map(Some)
        .map_err(|source| StartError::Metrics { address, source })
}

/// What every connection is served with.
fn served(
    settings: &Settings,
    service: &Arc<Service>,
    (tls, page): (Option<Arc<Tls>>, http::PageAddress),
    closing: watch::Receiver<bool>,
) -> Served {
    let rate_limits = Arc::new(RateLimits::new(settings));
    let metrics = Arc::new(Metrics::new());
    let router = http::router(http::Shared {
        service: Arc::clone(service),
        limits: http::Limits {
            body_deadline: settings.body_deadline(),
            answer_deadline: settings.answer_deadline(),
        },
        rate_limits: Arc::clone(&rate_limits),
        metrics: Arc::clone(&metrics),
        held: HeldBytes::new(settings.held_bytes()),
        page,
        watchers: Arc::new(Semaphore::new(settings.watchers as usize)),
        closing: closing.clone(),
    });
    Served {
        router,
        bounds: Bounds {
            connections: settings.connections,
            address_connections: settings.address_connections,
            header_deadline: settings.header_deadline(),
            unread_deadline: settings.unread_deadline(),
        },
        tls,
        rate_limits,
        metrics,
        closing,
    }
}

fn log_address(listener: &TcpListener, served: &Served, settings: &Settings) {
    let scheme = if served.tls.is_some() {
        "https"
    } else {
        "http"
    };
    match listener.local_addr() {
        Ok(address) => {
            info!(%address, scheme, database = settings.database.redacted(), "serving");
        }
        Err(error) => info!(%error, "serving at an unknown address"),
    }
}

/// Stops what runs beside the connections, once those have ended.
async fn stop(background: &[JoinHandle<()>], dispatching: JoinHandle<()>, store: &dyn Store) {
    for task in background {
        task.abort();
    }
    // What is being delivered may still arrive; what does not is delivered after the next start.
    let abort = dispatching.abort_handle();
    if tokio::time::timeout(SHUTDOWN_GRACE, dispatching)
        .await
        .is_err()
    {
        abort.abort();
    }
    store.close().await;
    info!("stopped");
}

/// Acts on clocks that are due, again and again.
async fn sweep_clocks(service: Arc<Service>, interval: Duration) {
    loop {
        match service.sweep(Timestamp::now()).await {
            Ok(0) => {}
            Ok(clocks) => info!(clocks, "clocks swept"),
            Err(error) => warn!(%error, "clocks could not be swept and are tried again"),
        }
        tokio::time::sleep(interval).await;
    }
}

/// Shows metrics at an address of their own, without TLS, to a few at once.
async fn serve_metrics(listener: Option<TcpListener>, served: Served) {
    let Some(listener) = listener else {
        return;
    };
    if let Ok(address) = listener.local_addr() {
        info!(metrics = %address, "showing metrics");
    }
    let (closing, closed) = watch::channel(false);
    let served = Served {
        router: metrics::router(Arc::clone(&served.metrics)),
        bounds: Bounds {
            connections: 16,
            address_connections: 0,
            ..served.bounds
        },
        tls: None,
        // Those who read metrics are not among those counted.
        metrics: Arc::new(Metrics::new()),
        closing: closed,
        ..served
    };
    serve::serve(listener, served, closing, std::future::pending()).await;
}

/// Reads the certificate again whenever the process gets SIGHUP, for renewed ones.
#[cfg(unix)]
async fn reload_on_hangup(tls: Option<Arc<Tls>>) {
    use tokio::signal::unix::{SignalKind, signal};
    let Ok(mut hang_up) = signal(SignalKind::hangup()) else {
        return;
    };
    while hang_up.recv().await.is_some() {
        match tls.as_ref().map(|tls| tls.reload()) {
            Some(Ok(())) => info!("the certificate was read again"),
            Some(Err(error)) => warn!(%error, "the certificate in use stays"),
            None => info!("SIGHUP, and there is no certificate to read again"),
        }
    }
}

#[cfg(not(unix))]
async fn reload_on_hangup(_: Option<Arc<Tls>>) {}
