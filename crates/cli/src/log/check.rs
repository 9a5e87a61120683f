//! `goldward log check` and `goldward log backup`: whether what is there is what was once written.

use goldward_journal::check::Finding;
use goldward_journal::{Log, Uuid};
use goldward_store::audit::{Audit, Damage};
use goldward_store::ops::{Logs, Owner};
use goldward_store::{Backend as _, Place, Store, StoreError};

use super::{BackupArgs, CheckArgs, done, files, say, store_fault, with_store, with_store_to_read};
use crate::failure::{EXIT_DATA, EXIT_FINE, Failure, Fault, said};
use crate::terminal::Terminal;
use goldward_report::words::{Done, Language, Wrong, error};
use goldward_session::problem::plain;

/// What is wrong with a file, a store or a log.
enum Found {
    /// In the words of the database.
    File(String),
    Damage(Damage),
    Log(Finding),
    Nothing,
}

impl Found {
    fn said(&self, l: Language) -> String {
        let named = |id: &Option<Uuid>| id.map_or_else(|| Done::WithoutId.text(l).to_owned(), |id| id.to_string());
        let of_log = |archer: &Uuid, id: &Option<Uuid>, what: &str| {
            Done::RecordOfLog.with(l, &[&named(id), &archer.to_string(), what])
        };
        let of_record = |id: &Uuid, what: &str| Done::RecordIs.with(l, &[&id.to_string(), what]);
        match self {
            Self::Damage(Damage::NoLine { archer }) => Done::LogWithoutLine.with(l, &[&archer.to_string()]),
            Self::Damage(Damage::Unreadable { archer, id, why }) => of_log(archer, id, why),
            Self::Damage(Damage::Changed { archer, id, column }) => {
                of_log(archer, id, &Done::ChangedOnDisk.with(l, &[column]))
            }
            Self::Damage(Damage::Sum { archer, found, taken }) => {
                Done::AddsNotUp.with(l, &[&archer.to_string(), &found.to_string(), &taken.to_string()])
            }
            Self::Log(Finding::Invalid { id, error: e }) => of_record(id, &error::record(l, e)),
            Self::Log(Finding::Missing { id, kind, refers_to }) => {
                of_record(id, &Done::NotHere.with(l, &[kind.name(), &refers_to.to_string()]))
            }
            Self::Log(Finding::WrongReference { id, kind, refers_to }) => {
                of_record(id, &Done::OfAnotherKind.with(l, &[kind.name(), &refers_to.to_string()]))
            }
            Self::Log(Finding::SamePlace { session, end, index }) => {
                Done::SameNumber.with(l, &[&session.to_string(), &end.to_string(), &index.to_string()])
            }
            Self::Log(Finding::Later { records }) => Done::OfALater.with(l, &[&records.to_string()]),
            Self::File(text) => text.clone(),
            // A kind that is not known here yet says what it is.
            Self::Log(other) => other.to_string(),
            Self::Nothing => Done::NothingThere.text(l).to_owned(),
        }
    }
}

/// All records of a store that are sound, and what is wrong with the others.
async fn audit(store: &Store) -> Result<(Log, Vec<Found>), StoreError> {
    let mut findings: Vec<Found> = store.integrity().await?.into_iter().map(Found::File).collect();
    let mut log = Log::new();
    for archer in store.run(Logs { owner: Owner::Anyone }).await?.into_iter().map(|l| l.archer) {
        let audited = store.run(Audit { archer }).await?;
        log.extend(audited.records);
        findings.extend(audited.findings.into_iter().map(Found::Damage));
    }
    Ok((log, findings))
}

pub(super) fn check(args: &CheckArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let (log, damage) = match (&args.file, &args.db) {
        (Some(file), _) => (files::get(file)?, Vec::new()),
        (None, Some(db)) => with_store_to_read(db, async |store| audit(store).await)?,
        (None, None) => return Err(Failure::Internal("neither file nor store".to_owned())),
    };
    let mut findings: Vec<Found> = damage.into_iter().chain(log.check().into_iter().map(Found::Log)).collect();
    if log.is_empty() && findings.is_empty() {
        findings.push(Found::Nothing);
    }
    if args.json {
        let object = serde_json::json!({
            "schema": 1,
            "records": log.len(),
            "archers": log.archers().len(),
            "digest": log.digest(),
            "findings": findings.iter().map(|f| f.said(Language::English)).collect::<Vec<_>>(),
        });
        say(terminal, &format!("{object}\n"))?;
    } else {
        done(terminal, Done::RecordsOf, &[&log.len().to_string(), &log.archers().len().to_string()])?;
        for finding in &findings {
            say(terminal, &format!("  {}\n", plain(&finding.said(terminal.language()))))?;
        }
        done(terminal, if findings.is_empty() { Done::AllIsWell } else { Done::NothingWasChanged }, &[])?;
    }
    Ok(if findings.is_empty() { EXIT_FINE } else { EXIT_DATA })
}

/// Copies a store and looks at the copy: it holds the same logs, and each of them adds up.
pub(super) fn backup(args: &BackupArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let fail = |fault: Fault| Failure::data(said(Wrong::NoCopy, [args.to.display().into()]), fault);
    let (before, copied) = with_store_to_read(&args.db, async |store| {
        let before = store.run(Logs { owner: Owner::Anyone }).await?;
        Ok((before, store.backup(&args.to).await))
    })?;
    copied.map_err(|e| fail(store_fault(&e)))?;
    let (log, findings, after) = with_store(&Place::File(args.to.clone()), async |copy| {
        let (log, findings) = audit(copy).await?;
        Ok((log, findings, copy.run(Logs { owner: Owner::Anyone }).await?))
    })?;
    // The store may be in use, so that the copy can have more than was there a moment before.
    let lacks = before.iter().find(|b| !after.iter().any(|a| a.archer == b.archer && a.cursor >= b.cursor));
    let found = findings.first().map(|f| said(Wrong::CopyWrong, [f.said(terminal.language()).into()]));
    if let Some(wrong) = found.or_else(|| lacks.map(|l| said(Wrong::CopyNotWhole, [l.archer.into()]))) {
        return Err(fail(wrong.into()));
    }
    done(terminal, Done::Copied, &[&args.to.display().to_string(), &log.len().to_string()])
}
