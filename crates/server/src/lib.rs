//! Goldward over HTTP: sync, accounts, and the web app.
//!
//! [`serve`] runs it. On a loopback address it needs no account: whoever sits at the machine may do everything. With accounts in
//! the store, or on any other address, everybody logs in. The server computes no archery: it keeps logs and hands them out.

pub mod auth;
pub mod clock;
pub mod error;
mod limit;
mod metrics;
mod openapi;
pub mod routes;
mod web;

use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use goldward_store::who::CountAccounts;
use goldward_store::{Backend as _, Store, StoreError};
use tokio::net::TcpListener;

pub use limit::Limits;
pub use metrics::Metrics;
pub use openapi::document;

/// What a server is told at its start.
#[derive(Debug, Clone)]
pub struct Config {
    /// Where to listen.
    pub addr: SocketAddr,
    /// Folder of the built web app.
    pub web: Option<PathBuf>,
    /// Whether browsers reach it over HTTPS, through a proxy: cookies are then sent over nothing else.
    pub secure_cookies: bool,
}

/// Why a server does not start.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ServeError {
    /// Anyone could read and write the logs.
    #[error("{0} can be reached from other machines, and there are no accounts: add one first, or listen on 127.0.0.1")]
    NoAccounts(SocketAddr),
    /// The address cannot be listened on.
    #[error("cannot listen on {addr}: {source}")]
    Listen {
        /// The address.
        addr: SocketAddr,
        /// Why.
        source: std::io::Error,
    },
    /// The store fails.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The connection to the network broke.
    #[error("the server stopped: {0}")]
    Stopped(std::io::Error),
}

/// What all handlers share.
#[derive(Debug)]
pub struct Shared {
    /// The store.
    pub store: Store,
    /// Whether nobody needs to log in.
    pub open: bool,
    /// As in [`Config`].
    pub secure_cookies: bool,
    /// Folder of the web app.
    pub web: Option<PathBuf>,
    /// Counts of failed logins.
    pub limits: Limits,
    /// What `/metrics` tells.
    pub metrics: Metrics,
    /// Hashing a password takes a core and 19 MiB for a while: at most two at once.
    pub(crate) hashing: tokio::sync::Semaphore,
}

/// The state of the router.
pub type App = Arc<Shared>;

/// What the handlers share, for a store that is open.
///
/// # Errors
/// [`ServeError::NoAccounts`] when the address can be reached from elsewhere and nobody would need to log in.
pub async fn prepare(store: Store, config: &Config) -> Result<App, ServeError> {
    let accounts = store.run(CountAccounts).await?;
    if accounts == 0 && !config.addr.ip().is_loopback() {
        return Err(ServeError::NoAccounts(config.addr));
    }
    Ok(Arc::new(Shared {
        store,
        open: accounts == 0,
        secure_cookies: config.secure_cookies,
        web: config.web.clone(),
        limits: Limits::default(),
        metrics: Metrics::default(),
        hashing: tokio::sync::Semaphore::new(2),
    }))
}

/// The router.
pub fn router(app: App) -> Router {
    routes::router(app)
}

/// Listens, tells the address it has got, and serves until `stop` is done; requests under way get ten seconds.
///
/// # Errors
/// [`ServeError`].
pub async fn serve(
    store: Store,
    config: Config,
    listening: impl FnOnce(SocketAddr),
    stop: impl Future<Output = ()> + Send + 'static,
) -> Result<(), ServeError> {
    let app = prepare(store, &config).await?;
    let cannot = |source| ServeError::Listen { addr: config.addr, source };
    let listener = TcpListener::bind(config.addr).await.map_err(cannot)?;
    listening(listener.local_addr().map_err(cannot)?);
    let (stopping, stopped) = tokio::sync::oneshot::channel();
    let stop = async move {
        stop.await;
        let _ = stopping.send(());
    };
    let service = router(app).into_make_service_with_connect_info::<SocketAddr>();
    let run = async { axum::serve(listener, service).with_graceful_shutdown(stop).await };
    tokio::select! {
        done = run => done.map_err(ServeError::Stopped),
        () = async {
            let _ = stopped.await;
            tokio::time::sleep(Duration::from_secs(10)).await;
        } => Ok(()),
    }
}

/// Writes the server's log to standard error, one JSON object a line.
pub fn log_to_stderr() {
    let subscriber = tracing_subscriber::fmt().json().with_writer(std::io::stderr).with_max_level(tracing::Level::INFO);
    // A second call changes nothing.
    let _ = subscriber.try_init();
}

/// Done when the process is asked to stop: an interrupt, or the signal to terminate.
pub async fn stop_signal() {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut terminate) = signal(SignalKind::terminate()) {
            tokio::select! {
                _ = tokio::signal::ctrl_c() => {}
                _ = terminate.recv() => {}
            }
            return;
        }
    }
    let _ = tokio::signal::ctrl_c().await;
}
