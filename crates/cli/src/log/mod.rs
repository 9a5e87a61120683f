//! `goldward log`: import, export, merge, check, backup and sync of logs.

mod check;
pub mod demo;
mod files;
mod remote;
mod sync;

pub(crate) use files::get;
#[cfg(feature = "serve")]
pub(crate) use files::write;

pub use remote::Address;
pub use sync::SyncArgs;

use std::path::PathBuf;

use clap::{Args, Subcommand};
use goldward_core::face::Face;
use goldward_core::units::Distance;
use goldward_journal::sync::MOST_PULLED;
use goldward_journal::{Log, Record, Uuid, jsonl, table};
use goldward_store::ops::{EraseLog, Exchange, Logs, Owner, Pull, Quota, Version};
use goldward_store::{Backend as _, Place, Store, StoreError};

use crate::failure::{EXIT_FINE, Failure, Fault, said};
use crate::terminal::Terminal;
use goldward_report::words::{Done, Wrong};

/// Options of `goldward log`.
#[derive(Debug, Args)]
#[command(after_help = "\
A log is kept as JSON Lines (.jsonl) or CSV (.csv), both described in docs/formats.md, or in the file of a server (--db).

Examples:
  goldward log import phone.jsonl --db goldward.db
  goldward log import scores.csv --db goldward.db --archer 01890a5d-ac96-774b-bcce-b302099a8057
  goldward log export --db goldward.db > all.jsonl
  goldward log merge phone.jsonl tablet.jsonl --out both.jsonl
  goldward log check both.jsonl
  goldward log backup copy.db --db goldward.db
  goldward log sync https://club.example --token-file token.txt
  goldward log erase 01890a5d-ac96-774b-bcce-b302099a8057")]
pub struct LogArgs {
    /// What to do.
    #[command(subcommand)]
    pub command: LogCommand,
}

/// What can be done with logs.
#[derive(Debug, Subcommand)]
pub enum LogCommand {
    /// Take a file into a store: a log, a table of scores, or the shots of a session
    Import(ImportArgs),
    /// Write the logs of a store as a file
    Export(ExportArgs),
    /// Put files together into one
    Merge(MergeArgs),
    /// Say whether a log holds together
    Check(CheckArgs),
    /// Copy a store while it is in use
    Backup(BackupArgs),
    /// Bring a store in step with a server: each side gets what it lacks
    Sync(SyncArgs),
    /// Erase the log of an archer from a store, for good
    Erase(EraseArgs),
}

/// Options of `goldward log import`.
#[derive(Debug, Args)]
pub struct ImportArgs {
    /// The file: .jsonl or .csv
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// File of the logs, or a postgres:// address
    #[arg(long, value_name = "FILE|URL", default_value = "goldward.db")]
    pub db: Place,
    /// Whose scores or shots these are [default: the only archer of the store]
    #[arg(long, value_name = "ARCHER")]
    pub archer: Option<Uuid>,
    /// The day of the shots: 2025-06-01
    #[arg(long, value_name = "DAY", help_heading = "Shots of a session")]
    pub date: Option<String>,
    /// Their distance: 70, 70m or 60yd
    #[arg(long, value_name = "DISTANCE", help_heading = "Shots of a session")]
    pub distance: Option<Distance>,
    /// Their face, as listed by `goldward face`
    #[arg(long, value_name = "NAME", help_heading = "Shots of a session", value_parser = Face::named)]
    pub face: Option<&'static Face>,
    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// How a log is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Format {
    /// JSON Lines
    Jsonl,
    /// CSV
    Csv,
}

/// Options of `goldward log export`.
#[derive(Debug, Args)]
pub struct ExportArgs {
    /// File of the logs, or a postgres:// address
    #[arg(long, value_name = "FILE|URL", default_value = "goldward.db")]
    pub db: Place,
    /// Only this archer's
    #[arg(long, value_name = "ARCHER")]
    pub archer: Option<Uuid>,
    /// Write into a file; its ending tells the format [default: standard output]
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// The format [default: jsonl]
    #[arg(long, value_name = "FORMAT")]
    pub format: Option<Format>,
}

/// Options of `goldward log merge`.
#[derive(Debug, Args)]
pub struct MergeArgs {
    /// The files: .jsonl or .csv
    #[arg(value_name = "FILE", required = true)]
    pub files: Vec<PathBuf>,
    /// Write into a file; its ending tells the format [default: standard output]
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// The format [default: jsonl]
    #[arg(long, value_name = "FORMAT")]
    pub format: Option<Format>,
}

/// Options of `goldward log check`.
#[derive(Debug, Args)]
pub struct CheckArgs {
    /// The file: .jsonl or .csv
    #[arg(value_name = "FILE", required_unless_present = "db")]
    pub file: Option<PathBuf>,
    /// Check a store instead: its file too
    #[arg(long, value_name = "FILE|URL", conflicts_with = "file")]
    pub db: Option<Place>,
    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// Options of `goldward log backup`.
#[derive(Debug, Args)]
pub struct BackupArgs {
    /// The new file
    #[arg(value_name = "FILE")]
    pub to: PathBuf,
    /// File of the logs
    #[arg(long, value_name = "FILE", default_value = "goldward.db")]
    pub db: Place,
}

/// Options of `goldward log erase`.
#[derive(Debug, Args)]
pub struct EraseArgs {
    /// Whose log: the archer's id, whole
    #[arg(value_name = "ARCHER")]
    pub archer: Uuid,
    /// File of the logs, or a postgres:// address
    #[arg(long, value_name = "FILE|URL", default_value = "goldward.db")]
    pub db: Place,
}

/// A failure of the store at `place` as a command tells it.
pub(crate) fn cannot_store(place: &Place, error: &StoreError) -> Failure {
    Failure::data(said(Wrong::NotUsed, [place.into()]), store_fault(error))
}

/// What the store says.
pub(crate) fn store_fault(error: &StoreError) -> Fault {
    let one = |wrong: Wrong, said_there: &str| said(wrong, [said_there.into()]).into();
    match error {
        StoreError::Newer { found, known } => said(Wrong::StoreNewer, [found.into(), known.into()]).into(),
        StoreError::ReadOnly => Wrong::StoreReadOnly.into(),
        StoreError::Full => Wrong::StoreFull.into(),
        StoreError::CannotWrite(what) => one(Wrong::StoreDisk, what),
        StoreError::NotAStore => Wrong::StoreOther.into(),
        StoreError::Damaged(what) => one(Wrong::StoreDamaged, what),
        StoreError::CannotOpen(what) => one(Wrong::StoreNotOpened, what),
        StoreError::NotReached(what) => one(Wrong::StoreNotReached, what),
        StoreError::Unavailable(what) => one(Wrong::StoreBusy, what),
        StoreError::NotYours => Wrong::StoreNoLog.into(),
        StoreError::Erased => Wrong::StoreErased.into(),
        StoreError::Quota { what, most, .. } => said(Wrong::StoreQuota, [most.into(), what.into()]).into(),
        StoreError::NameTaken => Wrong::NameTaken.into(),
        StoreError::NotHere(what) => one(Wrong::StoreNotHere, what),
        StoreError::Refused(what) => one(Wrong::StoreRefused, what),
        other => one(Wrong::StoreRefused, &other.to_string()),
    }
}

/// Runs `work` with an open store, which must be there.
pub(crate) fn with_store<R>(
    place: &Place,
    work: impl AsyncFnOnce(&Store) -> Result<R, StoreError>,
) -> Result<R, Failure> {
    must_be_there(place)?;
    with_store_or_new(place, work)
}

/// Runs `work`, which only reads, with an open store, which must be there and may be one that cannot be written.
pub(crate) fn with_store_to_read<R>(
    place: &Place,
    work: impl AsyncFnOnce(&Store) -> Result<R, StoreError>,
) -> Result<R, Failure> {
    must_be_there(place)?;
    block_on(place, async || work(&Store::open_to_read(place).await?).await)
}

fn must_be_there(place: &Place) -> Result<(), Failure> {
    match place {
        Place::File(path) if !path.exists() => {
            Err(Failure::data(said(Wrong::NotUsed, [place.into()]), Wrong::NoStoreFile))
        }
        _ => Ok(()),
    }
}

/// Runs `work` with an open store, which is made when it is not there.
pub(crate) fn with_store_or_new<R>(
    place: &Place,
    work: impl AsyncFnOnce(&Store) -> Result<R, StoreError>,
) -> Result<R, Failure> {
    block_on(place, async || work(&Store::open(place).await?).await)
}

fn block_on<R>(place: &Place, work: impl AsyncFnOnce() -> Result<R, StoreError>) -> Result<R, Failure> {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .map_err(|e| Failure::Internal(format!("no thread: {e}")))?;
    runtime.block_on(work()).map_err(|e| cannot_store(place, &e))
}

/// The log of one archer, or of all, from a store.
pub(crate) async fn load(store: &Store, archer: Option<Uuid>) -> Result<Log, StoreError> {
    let mut log = Log::new();
    let archers = match archer {
        Some(archer) => vec![archer],
        None => store.run(Logs { owner: Owner::Anyone }).await?.iter().map(|l| l.archer).collect(),
    };
    for archer in archers {
        let mut after = 0;
        loop {
            let page = store.run(Pull { archer, after, limit: MOST_PULLED }).await?;
            for json in page.json {
                let record: Record = serde_json::from_str(&json)
                    .map_err(|e| StoreError::Damaged(format!("a record is not readable: {e}")))?;
                log.insert(record);
            }
            if !page.more {
                break;
            }
            after = page.cursor;
        }
    }
    Ok(log)
}

/// Takes a log into a store; returns how many versions were new.
pub(crate) async fn save(store: &Store, log: Log) -> Result<u64, StoreError> {
    let mut accepted = 0;
    for archer in log.archers() {
        let records: Vec<Record> = log.records_of(archer).cloned().collect();
        for part in records.chunks(goldward_journal::sync::MOST_PUSHED) {
            let records = part.iter().map(Version::from).collect();
            let op = Exchange { archer, owner: Owner::Anyone, records, after: 0, limit: 0, quota: Quota::NONE };
            accepted += store.run(op).await?.accepted;
        }
    }
    Ok(accepted)
}

/// Runs the command; returns the exit code.
///
/// # Errors
/// [`Failure`].
pub fn run(args: &LogArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    match &args.command {
        LogCommand::Import(args) => import(args, terminal),
        LogCommand::Export(args) => {
            let log = with_store_to_read(&args.db, async |store| load(store, args.archer).await)?;
            files::put(&log, args.out.as_deref(), args.format, terminal)
        }
        LogCommand::Merge(args) => {
            let mut log = Log::new();
            for file in &args.files {
                log = log.merge(&files::get(file)?);
            }
            files::put(&log, args.out.as_deref(), args.format, terminal)
        }
        LogCommand::Sync(args) => sync::run(args, terminal),
        LogCommand::Erase(args) => erase(args, terminal),
        LogCommand::Check(args) => check::check(args, terminal),
        LogCommand::Backup(args) => check::backup(args, terminal),
    }
}

/// Says what was done, as a line.
fn done(terminal: &mut Terminal<'_>, what: Done, values: &[&str]) -> Result<u8, Failure> {
    let text = what.with(terminal.language(), values) + "\n";
    say(terminal, &text)
}

fn say(terminal: &mut Terminal<'_>, text: &str) -> Result<u8, Failure> {
    terminal.out.write_all(text.as_bytes()).map_err(|e| Failure::from_write(&e))?;
    Ok(EXIT_FINE)
}

fn erase(args: &EraseArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let archer = args.archer;
    let (records, erased) = with_store(&args.db, async |store| {
        let logs = store.run(Logs { owner: Owner::Anyone }).await?;
        let records = logs.iter().find(|l| l.archer == archer).map_or(0, |l| l.digest.records);
        let op = EraseLog { archer, owner: Owner::Anyone, now_ms: crate::terminal::now_ms() };
        Ok((records, store.run(op).await?))
    })?;
    if !erased {
        return Err(Failure::data(Wrong::NothingErased, said(Wrong::NoLogOf, [archer.into()])));
    }
    done(terminal, Done::Erased, &[&records.to_string(), &archer.to_string()])
}

fn import(args: &ImportArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let bytes = files::bytes(&args.file)?;
    let (records, accepted, kept) = {
        let now_ms = crate::terminal::now_ms();
        let known = with_store_or_new(&args.db, async |store| store.run(Logs { owner: Owner::Anyone }).await)?;
        let archer = args.archer.or(match known.as_slice() {
            [only] => Some(only.archer),
            _ => None,
        });
        let (mut log, plain) = files::imported(args, &bytes, archer, now_ms)?;
        let records = log.len();
        let (accepted, kept) = with_store(&args.db, async |store| {
            let mut kept = 0;
            if plain {
                // A table has no stamps: what was taken over from it once is not taken over again, so that what was deleted or
                // put right since stays so.
                let mut known = Log::new();
                for archer in log.archers() {
                    known.extend(load(store, Some(archer)).await?.records().cloned());
                }
                let fresh: Vec<Record> =
                    log.records().filter(|r| known.get(r.archer, r.id).is_none()).cloned().collect();
                kept = records - fresh.len();
                log = Log::from_records(fresh);
            }
            Ok((save(store, log).await?, kept))
        })?;
        (records, accepted, kept)
    };
    if args.json {
        let object = format!("{{\"schema\":1,\"records\":{records},\"new\":{accepted},\"known\":{kept}}}\n");
        return say(terminal, &object);
    }
    let what = if kept > 0 { Done::ImportedBefore } else { Done::Imported };
    done(terminal, what, &[&records.to_string(), &accepted.to_string(), &kept.to_string()])
}

/// The text of a log in a format.
pub(crate) fn text_of(log: &Log, format: Format) -> String {
    match format {
        Format::Jsonl => jsonl::write(log),
        Format::Csv => table::write(log),
    }
}
