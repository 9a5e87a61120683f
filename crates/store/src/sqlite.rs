//! SQLite: one file in write-ahead mode. One thread writes, and commits what has queued up in one go.

use std::future::Future;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::task::{Context, Poll, Waker};
use std::thread::JoinHandle;
use std::time::Duration;

use rusqlite::types::{ToSqlOutput, Value, ValueRef};
use rusqlite::{Connection, ErrorCode, OpenFlags, ToSql, ffi, params_from_iter};
use tokio::sync::oneshot;

use crate::cell::{Cell, Row};
use crate::error::StoreError;
use crate::migrate::{Migrate, SCHEMA};
use crate::{Backend, Op, Tx};

/// Most operations of one commit; the disk is waited for once for all of them.
const MOST_AT_ONCE: usize = 256;

/// A store in one file.
#[derive(Debug, Clone)]
pub struct Sqlite {
    shared: Arc<Shared>,
}

#[derive(Debug)]
struct Shared {
    path: PathBuf,
    /// Gone while the store is dropped only.
    writer: Option<Sender<Job>>,
    writing: Option<JoinHandle<()>>,
    readers: Mutex<Vec<Connection>>,
}

impl Drop for Shared {
    /// Waits for the last connection to close: that moves the write-ahead log into the file, so that the one file holds
    /// everything after an orderly end.
    fn drop(&mut self) {
        self.readers.get_mut().unwrap_or_else(PoisonError::into_inner).clear();
        self.writer = None;
        if let Some(writing) = self.writing.take() {
            // A writer that panicked has told those who waited.
            let _ = writing.join();
        }
    }
}

/// Tells an operation's caller how it went once the commit is through, or why it is not.
type Reply = Box<dyn FnOnce(Result<(), StoreError>) + Send>;
type Job = Box<dyn FnOnce(&mut SqliteTx<'_>) -> (bool, Reply) + Send>;

struct SqliteTx<'a> {
    // Mutable only because a shared reference could not go to another thread.
    connection: &'a mut Connection,
}

impl ToSql for Cell {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(match self {
            Self::Int(n) => ToSqlOutput::Owned(Value::Integer(*n)),
            Self::Text(t) => ToSqlOutput::Borrowed(ValueRef::Text(t.as_bytes())),
            Self::Bytes(b) => ToSqlOutput::Borrowed(ValueRef::Blob(b)),
            Self::NoInt | Self::NoBytes => ToSqlOutput::Owned(Value::Null),
        })
    }
}

impl Tx for SqliteTx<'_> {
    const FOR_UPDATE: &'static str = "";
    const MIGRATION_LOCK: Option<&'static str> = None;

    async fn rows(&mut self, sql: &str, params: &[Cell]) -> Result<Vec<Row>, StoreError> {
        let mut statement = self.connection.prepare_cached(sql)?;
        let columns = statement.column_count();
        let mut rows = statement.query(params_from_iter(params))?;
        let mut out = Vec::new();
        while let Some(row) = rows.next()? {
            let cells = (0..columns).map(|i| {
                Ok(match row.get_ref(i)? {
                    ValueRef::Null => Cell::NoBytes,
                    ValueRef::Integer(n) => Cell::Int(n),
                    ValueRef::Text(t) => Cell::Text(String::from_utf8_lossy(t).into_owned()),
                    ValueRef::Blob(b) => Cell::Bytes(b.to_vec()),
                    ValueRef::Real(_) => {
                        return Err(StoreError::Damaged("a real number where none is kept".to_owned()));
                    }
                })
            });
            out.push(Row(cells.collect::<Result<_, StoreError>>()?));
        }
        Ok(out)
    }
}

impl From<rusqlite::Error> for StoreError {
    fn from(error: rusqlite::Error) -> Self {
        let text = error.to_string();
        // A quota, or a disk that fails.
        if let Some(code) = error.sqlite_error().map(|e| e.extended_code) {
            if [ffi::SQLITE_IOERR_WRITE, ffi::SQLITE_IOERR_FSYNC, ffi::SQLITE_IOERR_SHMSIZE].contains(&code) {
                return Self::CannotWrite(text);
            }
        }
        match error.sqlite_error_code() {
            Some(ErrorCode::DiskFull) => Self::Full,
            Some(ErrorCode::ReadOnly | ErrorCode::PermissionDenied) => Self::ReadOnly,
            Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => Self::Damaged(text),
            Some(ErrorCode::CannotOpen) => Self::CannotOpen(text),
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked | ErrorCode::SystemIoFailure) => {
                Self::Unavailable(text)
            }
            _ => Self::Refused(text),
        }
    }
}

/// Runs a future that never waits.
fn at_once<F: Future>(future: F) -> F::Output {
    match std::pin::pin!(future).poll(&mut Context::from_waker(Waker::noop())) {
        Poll::Ready(out) => out,
        Poll::Pending => unreachable!("an operation waits for nothing but its transaction, which answers at once"),
    }
}

/// Opens the file and changes nothing in it.
fn open(path: &Path) -> Result<Connection, StoreError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let connection = Connection::open_with_flags(path, flags)?;
    connection.busy_timeout(Duration::from_secs(10))?;
    connection.set_prepared_statement_cache_capacity(64);
    Ok(connection)
}

fn connect(path: &Path) -> Result<Connection, StoreError> {
    let connection = open(path)?;
    tune(&connection)?;
    Ok(connection)
}

fn tune(connection: &Connection) -> Result<(), StoreError> {
    connection.pragma_update(None, "journal_mode", "WAL")?;
    // The write-ahead log is flushed to the disk before a commit returns.
    connection.pragma_update(None, "synchronous", "FULL")?;
    connection.pragma_update(None, "cache_size", -16_000)?;
    Ok(())
}

/// Refuses the tables of another program and those of a later schema, before anything is written.
fn check_tables(connection: &Connection) -> Result<(), StoreError> {
    let count = |sql: &str| connection.query_row(sql, [], |row| row.get::<_, i64>(0)).map_err(StoreError::from);
    if count("SELECT count(*) FROM sqlite_schema")? == 0 {
        return Ok(());
    }
    if count("SELECT count(*) FROM sqlite_schema WHERE name = 'goldward'")? == 0 {
        return Err(StoreError::NotAStore);
    }
    let found = count("SELECT coalesce(max(schema), 0) FROM goldward")?.unsigned_abs();
    if found > SCHEMA { Err(StoreError::Newer { found, known: SCHEMA }) } else { Ok(()) }
}

/// What every file of SQLite begins with.
const MAGIC: &[u8] = b"SQLite format 3\0";

/// Refuses a file that is none of SQLite's or was cut off, before anything is written to it.
fn check_file(path: &Path) -> Result<(), StoreError> {
    use std::io::Read as _;
    let Ok(mut file) = std::fs::File::open(path) else { return Ok(()) };
    let length = file.metadata().map_or(0, |m| m.len());
    let mut head = [0u8; 100];
    if length == 0 {
        return Ok(());
    }
    let whole = file.read_exact(&mut head).is_ok();
    if !head.starts_with(MAGIC) && (whole || length >= MAGIC.len() as u64) {
        return Err(StoreError::NotAStore);
    }
    if !whole {
        return Err(StoreError::Damaged(format!("only {length} bytes long")));
    }
    let page = match u16::from_be_bytes([head[16], head[17]]) {
        1 => 65_536,
        n => u64::from(n),
    };
    let pages = u64::from(u32::from_be_bytes([head[28], head[29], head[30], head[31]]));
    // Pages may still be in the write-ahead log.
    let wal = std::fs::metadata(with_suffix(path, "-wal")).map_or(0, |m| m.len());
    if wal == 0 && length < page * pages {
        return Err(StoreError::Damaged(format!("{length} bytes long where {} are named in its head", page * pages)));
    }
    Ok(())
}

fn with_suffix(path: &Path, suffix: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(suffix);
    name.into()
}

impl Sqlite {
    /// Opens the file, makes it when it is not there, and brings its tables up to date.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn open(path: &Path) -> Result<Self, StoreError> {
        Self::open_with_limit(path, None).await
    }

    /// The same, with a file of at most so many pages of 4 KiB: beyond, it is as if the disk were full.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn open_with_limit(path: &Path, most_pages: Option<u32>) -> Result<Self, StoreError> {
        let (sender, receiver) = channel();
        let path = path.to_owned();
        let (opened, wait) = oneshot::channel();
        let at = path.clone();
        let writing = std::thread::Builder::new()
            .name("store-writer".to_owned())
            .spawn(move || {
                match check_file(&at).and_then(|()| prepare(&at, most_pages)) {
                    Ok(mut connection) => {
                        let _ = opened.send(Ok(()));
                        write_loop(&mut connection, &receiver);
                    }
                    Err(e) => drop(opened.send(Err(e))),
                };
            })
            .map_err(|e| StoreError::Unavailable(e.to_string()))?;
        wait.await.map_err(|_| StoreError::Unavailable("the writer stopped".to_owned()))??;
        Ok(Self {
            shared: Arc::new(Shared { path, writer: Some(sender), writing: Some(writing), readers: Mutex::default() }),
        })
    }

    /// Runs `read` on a connection of its own, apart from the threads that answer requests.
    async fn read<R: Send + 'static>(
        &self,
        read: impl FnOnce(&mut Connection) -> Result<R, StoreError> + Send + 'static,
    ) -> Result<R, StoreError> {
        let shared = Arc::clone(&self.shared);
        let task = tokio::task::spawn_blocking(move || {
            let idle = shared.readers.lock().unwrap_or_else(PoisonError::into_inner).pop();
            let mut connection = match idle {
                Some(connection) => connection,
                None => connect(&shared.path)?,
            };
            let out = read(&mut connection);
            let mut readers = shared.readers.lock().unwrap_or_else(PoisonError::into_inner);
            if readers.len() < 8 {
                readers.push(connection);
            }
            out
        });
        task.await.map_err(|e| StoreError::Unavailable(e.to_string()))?
    }

    /// Copies the store into a new file.
    ///
    /// # Errors
    /// [`StoreError`]; also when the file exists.
    pub async fn backup(&self, to: &Path) -> Result<(), StoreError> {
        let to = to.to_owned();
        self.read(move |connection| {
            if to.exists() {
                return Err(StoreError::CannotOpen(format!("{} exists already", to.display())));
            }
            let name = to.to_str().ok_or_else(|| StoreError::CannotOpen("the name is not UTF-8".to_owned()))?;
            let done = connection.execute("VACUUM INTO $1", [name]).map_err(StoreError::from).and_then(|_| {
                let sync = std::fs::File::open(&to).and_then(|f| f.sync_all());
                sync.map_err(|e| StoreError::CannotWrite(e.to_string()))
            });
            if done.is_err() {
                // Half a copy is none. It was not there before.
                let _ = std::fs::remove_file(&to);
            }
            done
        })
        .await
    }

    /// SQLite's own `integrity_check`; empty when all is well.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn integrity(&self) -> Result<Vec<String>, StoreError> {
        self.read(|connection| {
            let rows = at_once(SqliteTx { connection }.rows("PRAGMA integrity_check", &[]))?;
            let lines: Result<Vec<String>, StoreError> = rows.into_iter().map(|mut r| r.text(0)).collect();
            Ok(lines?.into_iter().filter(|l| l != "ok").collect())
        })
        .await
    }
}

fn prepare(path: &Path, most_pages: Option<u32>) -> Result<Connection, StoreError> {
    let mut connection = open(path)?;
    check_tables(&connection)?;
    tune(&connection)?;
    if let Some(most) = most_pages {
        connection.pragma_update(None, "max_page_count", most)?;
    }
    connection.execute_batch("BEGIN IMMEDIATE")?;
    let done = at_once(Migrate.run(&mut SqliteTx { connection: &mut connection }));
    connection.execute_batch(if done.is_ok() { "COMMIT" } else { "ROLLBACK" })?;
    done.map(|()| connection)
}

fn write_loop(connection: &mut Connection, jobs: &Receiver<Job>) {
    while let Ok(first) = jobs.recv() {
        let mut replies: Vec<Reply> = Vec::new();
        let mut next = Some(first);
        let begun = connection.execute_batch("BEGIN IMMEDIATE").map_err(StoreError::from);
        let mut failed = begun.err();
        while let Some(job) = next.take() {
            // After a failure the jobs still need an answer, but nothing more is written.
            let savepoint = connection.execute_batch("SAVEPOINT one");
            let (good, reply) = job(&mut SqliteTx { connection });
            let kept = savepoint.and_then(|()| {
                connection.execute_batch(if good { "RELEASE one" } else { "ROLLBACK TO one; RELEASE one" })
            });
            if let Err(e) = kept {
                failed.get_or_insert(e.into());
            }
            replies.push(reply);
            if failed.is_none() && replies.len() < MOST_AT_ONCE {
                next = jobs.try_recv().ok();
            }
        }
        if failed.is_none() {
            failed = connection.execute_batch("COMMIT").err().map(StoreError::from);
        }
        if failed.is_some() && !connection.is_autocommit() {
            let _ = connection.execute_batch("ROLLBACK");
        }
        for reply in replies {
            reply(failed.clone().map_or(Ok(()), Err));
        }
    }
}

impl Backend for Sqlite {
    async fn run<O: Op>(&self, op: O) -> Result<O::Out, StoreError> {
        if !O::WRITES {
            return self
                .read(move |connection| {
                    connection.execute_batch("BEGIN")?;
                    let out = at_once(op.run(&mut SqliteTx { connection }));
                    connection.execute_batch("COMMIT")?;
                    out
                })
                .await;
        }
        let (sender, receiver) = oneshot::channel();
        let job: Job = Box::new(move |tx| {
            let out = at_once(op.run(tx));
            // An operation that failed by itself tells its own reason.
            let good = out.is_ok();
            let reply: Reply = Box::new(move |committed| {
                let _ = sender.send(match committed {
                    Err(e) if out.is_ok() => Err(e),
                    _ => out,
                });
            });
            (good, reply)
        });
        let gone = || StoreError::Unavailable("the writer stopped".to_owned());
        self.shared.writer.as_ref().ok_or_else(gone)?.send(job).map_err(|_| gone())?;
        receiver.await.map_err(|_| gone())?
    }
}
