//! Where a server keeps the logs of its archers, their accounts, and who may see what.
//!
//! [`Store`] is opened from a path (SQLite, one file, in write-ahead mode) or a `postgres://` address (PostgreSQL, for more than
//! one machine). What is asked of it is an [`Op`]; every operation is written once, in SQL that both understand, on top of
//! the small trait [`Tx`]. An operation that returned `Ok` is durable: it survives `kill -9` and a power cut.

mod access;
mod accounts;
pub mod audit;
mod cell;
mod coaches;
mod error;
pub mod failures;
pub mod guardian;
mod lock;
mod migrate;
pub mod notes;
pub mod ops;
pub mod peers;
#[cfg(feature = "postgres")]
mod postgres;
pub mod roster;
pub mod second;
pub mod signup;
mod sqlite;
mod tokens;
pub mod trail;
pub mod who;

pub use cell::{Cell, Row};
pub use error::StoreError;
pub use migrate::SCHEMA;
#[cfg(feature = "postgres")]
pub use postgres::Postgres;
pub use sqlite::{Options, Sqlite};

use std::future::Future;
use std::path::{Path, PathBuf};

/// A transaction of one of the backends.
pub trait Tx: Send {
    /// What to add to a `SELECT` so that the row stays as it is until the end of the transaction.
    const FOR_UPDATE: &'static str;
    /// What keeps two processes from migrating at once.
    const MIGRATION_LOCK: Option<&'static str>;

    /// Runs one statement and returns its rows. Parameters are `$1`, `$2` and so on, first used in that order.
    fn rows(&mut self, sql: &str, params: &[Cell]) -> impl Future<Output = Result<Vec<Row>, StoreError>> + Send;
}

/// One thing asked of a store: one transaction.
pub trait Op: Send + 'static {
    /// What it returns.
    type Out: Send + 'static;
    /// Whether it writes.
    const WRITES: bool;

    /// Does it. When it fails, nothing of it is kept.
    fn run<T: Tx>(self, tx: &mut T) -> impl Future<Output = Result<Self::Out, StoreError>> + Send;
}

/// A place that runs operations.
pub trait Backend: Send + Sync {
    /// Runs `op` in one transaction. When it returns `Ok`, what `op` wrote is durable.
    fn run<O: Op>(&self, op: O) -> impl Future<Output = Result<O::Out, StoreError>> + Send;
}

/// An open store.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub enum Store {
    /// One file.
    Sqlite(Sqlite),
    /// A database server.
    #[cfg(feature = "postgres")]
    Postgres(Postgres),
}

/// Where a store is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Place {
    /// A file.
    File(PathBuf),
    /// A `postgres://` address.
    Postgres(String),
}

impl std::str::FromStr for Place {
    type Err = std::convert::Infallible;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        Ok(if text.starts_with("postgres://") || text.starts_with("postgresql://") {
            Self::Postgres(text.to_owned())
        } else {
            Self::File(text.into())
        })
    }
}

/// As people are told it: without the password of an address.
impl std::fmt::Display for Place {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::File(path) => path.display().fmt(f),
            Self::Postgres(address) => {
                let (scheme, rest) = address.split_once("://").unwrap_or(("postgres", address));
                let (before, options) = rest.split_once('?').unwrap_or((rest, ""));
                let (user, host) = before.rsplit_once('@').map_or(("", before), |(user, host)| (user, host));
                let user = user.split(':').next().unwrap_or_default();
                let at = if user.is_empty() { "" } else { "@" };
                let more = if options.is_empty() { "" } else { "?..." };
                write!(f, "{scheme}://{user}{at}{host}{more}")
            }
        }
    }
}

impl Store {
    /// Opens the store, makes it when it is not there, and brings its tables up to date.
    ///
    /// # Errors
    /// [`StoreError`]; nothing is changed when the store is of a later schema, read-only or damaged.
    pub async fn open(place: &Place) -> Result<Self, StoreError> {
        match place {
            Place::File(path) => Ok(Self::Sqlite(Sqlite::open(path).await?)),
            #[cfg(feature = "postgres")]
            Place::Postgres(address) => Ok(Self::Postgres(Postgres::open(address).await?)),
            #[cfg(not(feature = "postgres"))]
            Place::Postgres(_) => Err(StoreError::NotHere("a postgres:// address: this program was built without it")),
        }
    }

    /// Opens the store to read it: like [`Store::open`] where it can be written, and as it is where it cannot.
    ///
    /// # Errors
    /// [`StoreError`]; also when it is not there.
    pub async fn open_to_read(place: &Place) -> Result<Self, StoreError> {
        let Place::File(path) = place else { return Self::open(place).await };
        if !path.exists() {
            return Err(StoreError::CannotOpen("there is no such file".to_owned()));
        }
        match Self::open(place).await {
            Err(StoreError::ReadOnly | StoreError::CannotOpen(_)) => {
                Ok(Self::Sqlite(Sqlite::open_to_read(path).await?))
            }
            other => other,
        }
    }

    /// Copies the store into a new file, consistently, while it is in use. Only for a store in a file.
    ///
    /// # Errors
    /// [`StoreError`]; also when the file exists.
    pub async fn backup(&self, to: &Path) -> Result<(), StoreError> {
        match self {
            Self::Sqlite(store) => store.backup(to).await,
            #[cfg(feature = "postgres")]
            Self::Postgres(_) => Err(StoreError::NotHere("a backup into a file: use the server's own pg_dump")),
        }
    }

    /// What the database itself finds wrong with its file; empty when all is well.
    ///
    /// # Errors
    /// [`StoreError`] when it cannot even look.
    pub async fn integrity(&self) -> Result<Vec<String>, StoreError> {
        match self {
            Self::Sqlite(store) => store.integrity().await,
            #[cfg(feature = "postgres")]
            Self::Postgres(_) => Ok(Vec::new()),
        }
    }
}

impl Backend for Store {
    async fn run<O: Op>(&self, op: O) -> Result<O::Out, StoreError> {
        match self {
            Self::Sqlite(store) => store.run(op).await,
            #[cfg(feature = "postgres")]
            Self::Postgres(store) => store.run(op).await,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Place;

    #[test]
    fn a_place_is_told_without_its_password() {
        for (given, told) in [
            ("logs/goldward.db", "logs/goldward.db"),
            ("postgres://anna:se@cret@db:5432/goldward?password=x", "postgres://anna@db:5432/goldward?..."),
            ("postgres://db/goldward", "postgres://db/goldward"),
        ] {
            assert_eq!(given.parse::<Place>().unwrap().to_string(), told);
        }
    }
}
