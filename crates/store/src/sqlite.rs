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
    patience: Duration,
    /// Not there in a store that is only read, and gone while one is dropped.
    writer: Option<Sender<Job>>,
    writing: Option<JoinHandle<()>>,
    readers: Mutex<Vec<Connection>>,
    /// Who reads at once.
    turns: tokio::sync::Semaphore,
}

/// Most that read at once.
const READERS: usize = 8;

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
/// Does an operation in the transaction, or learns why there is none; says whether what it wrote is to be kept.
type Job = Box<dyn FnOnce(Result<&mut SqliteTx<'_>, StoreError>) -> (bool, Reply) + Send>;

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
        if let Some(code) = error.sqlite_error().map(|e| e.extended_code)
            && [ffi::SQLITE_IOERR_WRITE, ffi::SQLITE_IOERR_FSYNC, ffi::SQLITE_IOERR_SHMSIZE].contains(&code)
        {
            return Self::CannotWrite(text);
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

/// How a file is opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Options {
    /// Most pages of 4 KiB: beyond, it is as if the disk were full.
    pub most_pages: Option<u32>,
    /// How long to wait for another process that writes.
    pub patience: Duration,
}

impl Default for Options {
    fn default() -> Self {
        Self { most_pages: None, patience: Duration::from_secs(10) }
    }
}

/// Opens the file and changes nothing in it.
fn open(path: &Path, patience: Duration) -> Result<Connection, StoreError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    ready(Connection::open_with_flags(path, flags)?, patience)
}

fn ready(connection: Connection, patience: Duration) -> Result<Connection, StoreError> {
    connection.busy_timeout(patience)?;
    connection.set_prepared_statement_cache_capacity(64);
    Ok(connection)
}

/// Opens a file that cannot be written, or whose folder cannot: everything in it can be read.
fn open_to_read(path: &Path) -> Result<Connection, StoreError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let patience = Options::default().patience;
    let look = |c: &Connection| check_tables(c, true);
    let plain = Connection::open_with_flags(path, flags).map_err(StoreError::from).and_then(|c| look(&c).map(|()| c));
    match plain {
        Ok(connection) => ready(connection, patience),
        // In write-ahead mode a file beside it would be made. Without one that holds anything, the one file is the whole store and
        // nobody can be writing it from here.
        Err(StoreError::CannotOpen(_) | StoreError::ReadOnly)
            if std::fs::metadata(with_suffix(path, "-wal")).map_or(0, |m| m.len()) == 0 =>
        {
            let connection = Connection::open_with_flags(uri(path)?, flags | OpenFlags::SQLITE_OPEN_URI)?;
            look(&connection)?;
            ready(connection, patience)
        }
        Err(e) => Err(e),
    }
}

/// The address of a file that nobody changes while it is open.
fn uri(path: &Path) -> Result<String, StoreError> {
    let absolute = std::path::absolute(path).map_err(|e| StoreError::CannotOpen(e.to_string()))?;
    let text = absolute.to_str().ok_or_else(|| StoreError::CannotOpen("the name is not UTF-8".to_owned()))?;
    let mut out = "file:".to_owned();
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || b"/-_.~".contains(&byte) {
            out.push(char::from(byte));
        } else {
            out.push_str(&format!("%{byte:02x}"));
        }
    }
    Ok(out + "?immutable=1")
}

/// A new file is for its owner only, and so are the two that SQLite puts beside it.
fn make_private(path: &Path) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt as _;
        // That it is there already is no fault, and what else may be wrong, opening it will say.
        let _ = std::fs::OpenOptions::new().write(true).create_new(true).mode(0o600).open(path);
    }
    #[cfg(not(unix))]
    let _ = path;
}

/// A store that everybody on the machine could read no longer is one.
fn keep_private(path: &Path) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        for file in [path.to_owned(), with_suffix(path, "-wal"), with_suffix(path, "-shm")] {
            let Ok(meta) = std::fs::metadata(&file) else { continue };
            let mode = meta.permissions().mode();
            if meta.is_file() && mode & 0o007 != 0 {
                let _ = std::fs::set_permissions(&file, std::fs::Permissions::from_mode(mode & 0o770));
            }
        }
    }
    #[cfg(not(unix))]
    let _ = path;
}

fn tune(connection: &Connection) -> Result<(), StoreError> {
    connection.pragma_update(None, "journal_mode", "WAL")?;
    // The write-ahead log is flushed to the disk before a commit returns.
    connection.pragma_update(None, "synchronous", "FULL")?;
    connection.pragma_update(None, "cache_size", -16_000)?;
    // There may be no folder for files that come and go, where the store's own is all that can be written.
    connection.pragma_update(None, "temp_store", "MEMORY")?;
    Ok(())
}

/// Refuses the tables of another program and those of a later schema, before anything is written.
fn check_tables(connection: &Connection, must_be_there: bool) -> Result<(), StoreError> {
    let count = |sql: &str| connection.query_row(sql, [], |row| row.get::<_, i64>(0)).map_err(StoreError::from);
    if count("SELECT count(*) FROM sqlite_schema")? == 0 {
        return if must_be_there { Err(StoreError::NotAStore) } else { Ok(()) };
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
        Self::open_with(path, Options::default()).await
    }

    /// The same, in another way than usual.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn open_with(path: &Path, options: Options) -> Result<Self, StoreError> {
        let (sender, receiver) = channel();
        let path = path.to_owned();
        let (opened, wait) = oneshot::channel();
        let at = path.clone();
        let writing = std::thread::Builder::new()
            .name("store-writer".to_owned())
            .spawn(move || {
                match check_file(&at).and_then(|()| prepare(&at, options)) {
                    Ok(mut connection) => {
                        let _ = opened.send(Ok(()));
                        write_loop(&mut connection, &receiver);
                    }
                    Err(e) => drop(opened.send(Err(e))),
                };
            })
            .map_err(|e| StoreError::Unavailable(e.to_string()))?;
        wait.await.map_err(|_| StoreError::Unavailable("the writer stopped".to_owned()))??;
        let (writer, writing) = (Some(sender), Some(writing));
        let (patience, readers) = (options.patience, Mutex::default());
        let turns = tokio::sync::Semaphore::new(READERS);
        Ok(Self { shared: Arc::new(Shared { path, patience, writer, writing, readers, turns }) })
    }

    /// Opens a file to read it, also one that cannot be written; whatever writes is refused.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn open_to_read(path: &Path) -> Result<Self, StoreError> {
        let path = path.to_owned();
        let task = tokio::task::spawn_blocking(move || {
            check_file(&path)?;
            let connection = open_to_read(&path)?;
            let patience = Options::default().patience;
            let readers = Mutex::new(vec![connection]);
            let turns = tokio::sync::Semaphore::new(READERS);
            Ok(Self { shared: Arc::new(Shared { path, patience, writer: None, writing: None, readers, turns }) })
        });
        task.await.map_err(|e| StoreError::Unavailable(e.to_string()))?
    }

    /// Runs `read` on a connection of its own, apart from the threads that answer requests.
    async fn read<R: Send + 'static>(
        &self,
        read: impl FnOnce(&mut Connection) -> Result<R, StoreError> + Send + 'static,
    ) -> Result<R, StoreError> {
        let shared = Arc::clone(&self.shared);
        // Each connection has a thread and a cache: what comes at once waits for one of the few.
        let turn = self.shared.turns.acquire().await;
        let _turn = turn.map_err(|_| StoreError::Unavailable("the store is closed".to_owned()))?;
        let task = tokio::task::spawn_blocking(move || {
            let idle = shared.readers.lock().unwrap_or_else(PoisonError::into_inner).pop();
            let mut connection = match idle {
                Some(connection) => connection,
                None if shared.writer.is_none() => open_to_read(&shared.path)?,
                None => {
                    let connection = open(&shared.path, shared.patience)?;
                    tune(&connection)?;
                    connection.pragma_update(None, "cache_size", -4_000)?;
                    connection
                }
            };
            let out = read(&mut connection);
            let mut readers = shared.readers.lock().unwrap_or_else(PoisonError::into_inner);
            readers.push(connection);
            drop(readers);
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
            make_private(&to);
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

fn prepare(path: &Path, options: Options) -> Result<Connection, StoreError> {
    make_private(path);
    let mut connection = open(path, options.patience)?;
    check_tables(&connection, false)?;
    keep_private(path);
    tune(&connection)?;
    if let Some(most) = options.most_pages {
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
        let mut failed = connection.execute_batch("BEGIN IMMEDIATE").err().map(StoreError::from);
        while let Some(job) = next.take() {
            let reply = match &failed {
                // Outside a transaction a job must not run: a savepoint would commit by itself what is told to have failed.
                Some(e) => job(Err(e.clone())).1,
                None => in_savepoint(connection, job, &mut failed),
            };
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

/// Runs one job of a commit so that it can be undone by itself; tells in `failed` when the whole commit is lost.
fn in_savepoint(connection: &mut Connection, job: Job, failed: &mut Option<StoreError>) -> Reply {
    if let Err(e) = connection.execute_batch("SAVEPOINT one") {
        let e = StoreError::from(e);
        *failed = Some(e.clone());
        return job(Err(e)).1;
    }
    let (good, reply) = job(Ok(&mut SqliteTx { connection }));
    // Some failures of the disk end the whole transaction.
    let kept = if connection.is_autocommit() {
        Err(StoreError::Unavailable("the transaction was ended by the database".to_owned()))
    } else {
        let end = if good { "RELEASE one" } else { "ROLLBACK TO one; RELEASE one" };
        connection.execute_batch(end).map_err(StoreError::from)
    };
    if let Err(e) = kept {
        *failed = Some(e);
    }
    reply
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
            let out = tx.and_then(|tx| at_once(op.run(tx)));
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
        self.shared.writer.as_ref().ok_or(StoreError::ReadOnly)?.send(job).map_err(|_| gone())?;
        receiver.await.map_err(|_| gone())?
    }
}
