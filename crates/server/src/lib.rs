//! Goldward over HTTP: sync, accounts, and the web app.
//!
//! [`serve`] runs it. On a loopback address it needs no account: whoever sits at the machine may do everything. With accounts in
//! the store, or on any other address, everybody logs in. The server computes no archery: it keeps logs and hands them out.

#[cfg(feature = "app")]
mod app;
pub mod auth;
mod bodies;
mod body;
mod budget;
mod client;
pub mod clock;
pub mod error;
mod hashing;
mod health;
mod intake;
mod limit;
mod listen;
mod metrics;
mod openapi;
pub mod password;
pub mod routes;
pub mod second;
mod web;

use std::net::{IpAddr, SocketAddr};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use axum::Router;
use goldward_store::ops::Quota;
use goldward_store::who::CountAccounts;
use goldward_store::{Backend as _, Store, StoreError};
use tokio::net::TcpListener;

pub use ipnet::IpNet;
pub use listen::Patience;
pub use openapi::document;

use budget::Budgets;
use error::ApiError;
use hashing::Hashing;
use health::Health;
use limit::Limits;
use listen::Connections;
use metrics::Metrics;

/// Whether the web app is inside the program (the feature `app`).
pub const HAS_APP: bool = cfg!(feature = "app");

/// What a server is told at its start.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct Config {
    /// Where to listen.
    pub addr: SocketAddr,
    /// Where to tell its numbers.
    pub metrics: Option<SocketAddr>,
    /// Folder of the built web app; without one, the app inside the program is served where there is one ([`HAS_APP`]).
    pub web: Option<PathBuf>,
    /// Whether browsers reach it over HTTPS, through a proxy: cookies are then sent over nothing else.
    pub https: bool,
    /// Proxies that are believed when they say where a request comes from.
    pub trusted_proxies: Vec<IpNet>,
    /// How much an account may keep.
    pub quota: Quota,
    /// How long clients are waited for.
    pub patience: Patience,
    /// Most connections at once.
    pub most_connections: usize,
}

impl Config {
    /// The usual way of listening there.
    #[must_use]
    pub fn new(addr: SocketAddr) -> Self {
        Self {
            addr,
            metrics: None,
            web: None,
            https: false,
            trusted_proxies: Vec::new(),
            quota: Quota { logs: 200, records: 2_000_000, bytes: 1 << 30 },
            patience: Patience::default(),
            most_connections: 800,
        }
    }

    /// With the built web app in that folder.
    #[must_use]
    pub fn with_web(self, folder: impl Into<PathBuf>) -> Self {
        Self { web: Some(folder.into()), ..self }
    }

    /// Whether it is safe to let in whoever comes: from this machine, without anything between.
    fn may_be_open(&self) -> bool {
        self.addr.ip().to_canonical().is_loopback() && !self.https && self.trusted_proxies.is_empty()
    }
}

/// Why a server does not start.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ServeError {
    /// Anyone could read and write the logs.
    #[error(
        "{0} can be reached from other machines or through a proxy, and there are no accounts: add one first with goldward \
         accounts add, or listen on 127.0.0.1 without --https and --trusted-proxy"
    )]
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
}

/// What all handlers share.
#[derive(Debug)]
pub struct Shared {
    /// The store.
    pub(crate) store: Store,
    /// Whether everybody logs in. Once it is so, it stays so.
    closed: AtomicBool,
    pub(crate) https: bool,
    pub(crate) web: Option<PathBuf>,
    pub(crate) trusted_proxies: Vec<IpNet>,
    pub(crate) quota: Quota,
    pub(crate) patience: Patience,
    pub(crate) limits: Limits,
    pub(crate) metrics: Metrics,
    pub(crate) hashing: Hashing,
    pub(crate) budgets: Budgets,
    pub(crate) health: Health,
}

impl Shared {
    /// Whether nobody needs to log in: on a loopback address, while there is no account.
    pub(crate) async fn open(&self) -> Result<bool, ApiError> {
        if self.closed.load(Ordering::Acquire) {
            return Ok(false);
        }
        // An account may have been added since, by another process.
        if self.store.run(CountAccounts).await? > 0 {
            self.closed.store(true, Ordering::Release);
            return Ok(false);
        }
        Ok(true)
    }

    pub(crate) fn cookie_name(&self) -> &'static str {
        if self.https { auth::SECURE_COOKIE_NAME } else { auth::COOKIE_NAME }
    }
}

/// The state of the router.
pub type App = Arc<Shared>;

/// What the handlers share, for a store that is open.
///
/// # Errors
/// [`ServeError::NoAccounts`] when the address can be reached from elsewhere and nobody would need to log in.
pub async fn prepare(store: Store, config: &Config) -> Result<App, ServeError> {
    let accounts = store.run(CountAccounts).await?;
    let may_be_open = config.may_be_open();
    if accounts == 0 && !may_be_open {
        return Err(ServeError::NoAccounts(config.addr));
    }
    Ok(Arc::new(Shared {
        store,
        closed: AtomicBool::new(accounts > 0 || !may_be_open),
        https: config.https,
        web: config.web.clone(),
        trusted_proxies: config.trusted_proxies.clone(),
        quota: config.quota,
        patience: config.patience,
        limits: Limits::default(),
        metrics: Metrics::default(),
        hashing: Hashing::default(),
        budgets: Budgets::default(),
        health: Health::default(),
    }))
}

/// The router.
pub fn router(app: App) -> Router {
    routes::router(app, axum::routing::get(openapi::tell))
}

/// Where a server listens.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Listening {
    /// For everybody.
    pub addr: SocketAddr,
    /// For its numbers.
    pub metrics: Option<SocketAddr>,
}

/// Connections to the numbers.
const MOST_WATCHERS: usize = 16;

/// Listens, tells the address it has got, and serves until `stop` is done; requests under way get ten seconds.
///
/// # Errors
/// [`ServeError`].
pub async fn serve(
    store: Store,
    config: Config,
    listening: impl FnOnce(Listening),
    stop: impl Future<Output = ()> + Send + 'static,
) -> Result<(), ServeError> {
    let app = prepare(store, &config).await?;
    let listener = bind(config.addr).await?;
    let addr = address(&listener, config.addr)?;
    let watch = match config.metrics {
        Some(at) => Some(bind(at).await?),
        None => None,
    };
    let metrics = watch.as_ref().map(|l| address(l, config.addr)).transpose()?;
    listening(Listening { addr, metrics });
    let (stopping, stopped) = tokio::sync::watch::channel(false);
    let connections = Arc::new(Connections::new(config.most_connections));
    if let Some(watch) = watch {
        let (router, connections) = (routes::numbers(Arc::clone(&app)), Arc::new(Connections::new(MOST_WATCHERS)));
        tokio::spawn(listen::accept(watch, router, connections, config.patience, |_| true, stopped.clone()));
    }
    let trusted = config.trusted_proxies.clone();
    let shared = move |peer: IpAddr| trusted.iter().any(|net| net.contains(&peer.to_canonical()));
    let accepting =
        tokio::spawn(listen::accept(listener, router(app), Arc::clone(&connections), config.patience, shared, stopped));
    stop.await;
    let _ = stopping.send(true);
    let _ = accepting.await;
    let _ = tokio::time::timeout(Duration::from_secs(10), connections.gone()).await;
    Ok(())
}

async fn bind(addr: SocketAddr) -> Result<TcpListener, ServeError> {
    TcpListener::bind(addr).await.map_err(|source| ServeError::Listen { addr, source })
}

fn address(listener: &TcpListener, addr: SocketAddr) -> Result<SocketAddr, ServeError> {
    listener.local_addr().map_err(|source| ServeError::Listen { addr, source })
}

/// Writes the server's log to standard error, one JSON object a line.
pub fn log_to_stderr() {
    let subscriber = tracing_subscriber::fmt().json().with_writer(std::io::stderr).with_max_level(tracing::Level::INFO);
    // A second call changes nothing.
    let _ = subscriber.try_init();
}

/// Done when the process is asked to stop: an interrupt, or the signal to terminate. Who is asked after this call, however soon, stops in
/// order.
///
/// # Panics
/// Outside a tokio runtime.
pub fn stop_signal() -> impl Future<Output = ()> {
    #[cfg(unix)]
    let (terminate, interrupt) = {
        use tokio::signal::unix::{SignalKind, signal};
        (signal(SignalKind::terminate()), signal(SignalKind::interrupt()))
    };
    async move {
        #[cfg(unix)]
        if let (Ok(mut terminate), Ok(mut interrupt)) = (terminate, interrupt) {
            tokio::select! {
                _ = interrupt.recv() => {}
                _ = terminate.recv() => {}
            }
            return;
        }
        let _ = tokio::signal::ctrl_c().await;
    }
}
