//! `goldward log check` and `goldward log backup`: whether what is there is what was once written.

use goldward_journal::Log;
use goldward_store::audit::Audit;
use goldward_store::ops::{Logs, Owner};
use goldward_store::{Backend as _, Place, Store, StoreError};

use super::{BackupArgs, CheckArgs, done, files, say, store_fault, with_store, with_store_to_read};
use crate::failure::{EXIT_DATA, EXIT_FINE, Failure, Fault, said};
use crate::terminal::Terminal;
use goldward_report::words::{Done, Wrong};
use goldward_session::problem::plain;

/// All records of a store that are sound, and what is wrong with the others.
async fn audit(store: &Store) -> Result<(Log, Vec<String>), StoreError> {
    let mut findings = store.integrity().await?;
    let mut log = Log::new();
    for archer in store.run(Logs { owner: Owner::Anyone }).await?.into_iter().map(|l| l.archer) {
        let audited = store.run(Audit { archer }).await?;
        log.extend(audited.records);
        findings.extend(audited.findings);
    }
    Ok((log, findings))
}

pub(super) fn check(args: &CheckArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let (log, damage) = match (&args.file, &args.db) {
        (Some(file), _) => (files::get(file)?, Vec::new()),
        (None, Some(db)) => with_store_to_read(db, async |store| audit(store).await)?,
        (None, None) => return Err(Failure::Internal("neither file nor store".to_owned())),
    };
    let mut findings: Vec<String> = damage.into_iter().chain(log.check().iter().map(ToString::to_string)).collect();
    if log.is_empty() && findings.is_empty() {
        findings.push("there is no record in it: check the name".to_owned());
    }
    if args.json {
        let object = serde_json::json!({
            "schema": 1,
            "records": log.len(),
            "archers": log.archers().len(),
            "digest": log.digest(),
            "findings": findings,
        });
        say(terminal, &format!("{object}\n"))?;
    } else {
        done(terminal, Done::RecordsOf, &[&log.len().to_string(), &log.archers().len().to_string()])?;
        for finding in &findings {
            say(terminal, &format!("  {}\n", plain(finding)))?;
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
    let found = findings.first().map(|f| said(Wrong::CopyWrong, [f.into()]));
    if let Some(wrong) = found.or_else(|| lacks.map(|l| said(Wrong::CopyNotWhole, [l.archer.into()]))) {
        return Err(fail(wrong.into()));
    }
    done(terminal, Done::Copied, &[&args.to.display().to_string(), &log.len().to_string()])
}
