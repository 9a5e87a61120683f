//! `goldward log sync`: brings a store in step with a server, as a phone does.

use std::path::PathBuf;

use clap::Args;
use goldward_journal::Uuid;
use goldward_journal::sync::{self, Ask, Came, Device, LogDone, Report, Standing};
use goldward_store::ops::{Exchange, Logs, Owner, Pull, Quota, Version};
use goldward_store::peers::{AskReached, Reached, SetReached};
use goldward_store::{Backend as _, Op, Place, Store};

use super::remote::{Address, Remote, token_of};
use super::{cannot_store, done, say, with_store_or_new};
use crate::failure::{EXIT_FINE, Failure, Fault, said};
use crate::terminal::{Terminal, now_ms};
use goldward_report::words::{Done, Wrong};
use goldward_session::problem::plain;

/// Options of `goldward log sync`.
#[derive(Debug, Args)]
#[command(after_help = "\
Each side gets what it lacks. What breaks off goes on from there the next time, and doing it twice changes nothing. A log that you
coach is fetched and not written.

On a server with accounts this device needs a token, in the environment as GOLDWARD_TOKEN or in the first line of a file. It is
never given on the command line, where others could read it.

Examples:
  goldward log sync https://club.example --token-file ~/.goldward-token
  goldward log sync http://127.0.0.1:8017 --db laptop.db")]
pub struct SyncArgs {
    /// Address of the server
    #[arg(value_name = "URL")]
    pub url: Address,
    /// File of the logs, made when it is not there, or a postgres:// address
    #[arg(long, value_name = "FILE|URL", default_value = "goldward.db")]
    pub db: Place,
    /// Only this archer's log [default: all that either side has]
    #[arg(long, value_name = "ARCHER")]
    pub archer: Option<Uuid>,
    /// File with this device's token [default: GOLDWARD_TOKEN of the environment]
    #[arg(long, value_name = "FILE")]
    pub token_file: Option<PathBuf>,
    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// Remembered in the place of the number that a server has everything up to, of a log that may only be read: so that it is never
/// sent, not even when the server has it no more.
const READER: u64 = i64::MAX as u64;

/// The same of a log that its archer has erased over there.
const ERASED: u64 = READER - 1;

/// Runs the command; returns the exit code.
///
/// # Errors
/// [`Failure`].
pub(super) fn run(args: &SyncArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let token = match &args.token_file {
        Some(file) => Some(token_of(file)?),
        None => terminal.token.clone(),
    };
    let remote = Remote::new(&args.url, token)?;
    let report = with_store_or_new(&args.db, async |store| Ok(Driver { store, remote: &remote, args }.run().await))??;
    if args.archer.is_some() && report.logs.is_empty() && report.stopped.is_none() {
        return Err(Failure::usage("--archer", Wrong::NeitherSide));
    }
    if args.json {
        say(terminal, &format!("{}\n", object(&report)))?;
    } else if report.is_in_step() {
        let sum = |f: fn(&LogDone) -> u64| report.logs.values().map(f).sum::<u64>();
        let told = [report.logs.len() as u64, sum(|d| d.sent), sum(|d| d.fetched)].map(|n| n.to_string());
        done(terminal, Done::InStep, &told.each_ref().map(String::as_str))?;
    }
    let apart: Vec<String> = report.logs.values().flat_map(|l| &l.conflicts).map(|c| c.kept.id.to_string()).collect();
    if !apart.is_empty() && !args.json {
        done(terminal, Done::ChangedApart, &[&apart.len().to_string(), &apart.join(", ")])?;
    }
    if report.is_in_step() {
        return Ok(EXIT_FINE);
    }
    Err(Failure::all(said(Wrong::NotInStep, [(&args.url).into()]), faults(&report)))
}

/// The word of a standing, for programs.
fn word(standing: &Standing) -> &'static str {
    match standing {
        Standing::InStep => "in_step",
        Standing::Aside => "set_aside",
        Standing::Differs { .. } => "differs",
        Standing::Unsent => "unsent",
        Standing::Erased => "erased",
        Standing::Refused(_) => "refused",
        _ => "unfinished",
    }
}

fn object(report: &Report) -> serde_json::Value {
    let logs: Vec<_> = report
        .logs
        .iter()
        .map(|(archer, d)| {
            let aside: Vec<String> = d.aside.iter().map(|a| plain(&a.to_string())).collect();
            serde_json::json!({
                "archer": archer, "standing": word(&d.standing), "sent": d.sent, "fetched": d.fetched,
                "log": d.digest.unwrap_or_default(), "set_aside": aside, "unsent": d.unsent,
                "changed_apart": d.conflicts.iter().map(|c| c.kept.id).collect::<Vec<_>>(),
            })
        })
        .collect();
    serde_json::json!({ "schema": 1, "logs": logs })
}

/// What keeps the two sides from being in step, and what to do about each.
fn faults(report: &Report) -> Vec<Fault> {
    let mut faults: Vec<Fault> = report.stopped.iter().map(fault).collect();
    for (archer, done) in &report.logs {
        let mut of_log = |fault: Fault| faults.push(fault.at_said(said(Wrong::TheLogOf, [archer.into()])));
        match &done.standing {
            Standing::InStep => {}
            Standing::Aside if done.aside.is_empty() => of_log(Wrong::SetAsideBefore.into()),
            Standing::Aside => {
                done.aside.iter().take(20).for_each(|a| of_log(said(Wrong::SetAside, [a.into()]).into()));
            }
            Standing::Differs { here, there } => {
                of_log(said(Wrong::Differs, [here.records.into(), there.records.into()]).into());
            }
            Standing::Unsent if done.unsent.is_empty() => of_log(Wrong::UnsentSome.into()),
            Standing::Unsent => {
                let ids = done.unsent.iter().take(5).map(ToString::to_string).collect::<Vec<_>>().join(", ");
                of_log(said(Wrong::UnsentMany, [done.unsent.len().into(), ids.into()]).into());
            }
            Standing::Erased => of_log(Wrong::ErasedThere.into()),
            Standing::Refused(failure) => of_log(fault(failure)),
            _ if report.stopped.is_some() => {}
            _ => of_log(Wrong::NotDoneYet.into()),
        }
    }
    faults
}

fn fault(failure: &sync::Failure) -> Fault {
    let (wrong, what) = match failure {
        sync::Failure::LogIn => return Wrong::UnknownDevice.into(),
        sync::Failure::Other(300..=399, _) => return Wrong::SendsElsewhere.into(),
        sync::Failure::Offline(what) => (Wrong::NotReached, what),
        sync::Failure::NotFound(what) => (Wrong::NotFoundThere, what),
        sync::Failure::Forbidden(what) => (Wrong::ForbiddenThere, what),
        sync::Failure::Bad(what) | sync::Failure::TooLarge(what) => (Wrong::BadThere, what),
        sync::Failure::Other(200, what) => (Wrong::OddAnswer, what),
        sync::Failure::Other(_, what) => (Wrong::OtherAnswer, what),
        _ => return Wrong::NotDoneYet.into(),
    };
    said(wrong, [what.into()]).into()
}

/// Does what the [`Device`] asks, with a store and a connection. A place in the store is one of its own numbers.
struct Driver<'a> {
    store: &'a Store,
    remote: &'a Remote,
    args: &'a SyncArgs,
}

impl Driver<'_> {
    async fn ask<O: Op>(&self, op: O) -> Result<O::Out, Failure> {
        self.store.run(op).await.map_err(|e| cannot_store(&self.args.db, &e))
    }

    async fn run(&self) -> Result<Report, Failure> {
        let here = self.ask(Logs { owner: Owner::Anyone }).await?;
        let mut device = Device::new(now_ms(), here.iter().map(|l| l.archer));
        if let Some(archer) = self.args.archer {
            device = device.only(archer);
        }
        let mut ask = Ask::List;
        loop {
            let came = match ask {
                Ask::List => self.remote.logs().map_or_else(Came::Failed, Came::Logs),
                Ask::Send(request) => self.remote.sync(&request).map_or_else(Came::Failed, Came::Answer),
                Ask::Recall(archer) => {
                    let Reached { after, pushed } =
                        self.ask(AskReached { archer, peer: self.args.url.to_string() }).await?;
                    let (reader, erased) = (pushed == READER, pushed == ERASED);
                    let mark = if reader || erased { 0 } else { pushed };
                    Came::Recalled(Some(sync::Reached { after, mark, reader, erased, ..sync::Reached::default() }))
                }
                Ask::Remember(archer, reached) => {
                    let pushed = match (reached.erased, reached.reader) {
                        (true, _) => ERASED,
                        (false, true) => READER,
                        (false, false) => reached.mark,
                    };
                    let now = Reached { after: reached.after, pushed };
                    self.ask(SetReached { archer, peer: self.args.url.to_string(), reached: now }).await?;
                    Came::Remembered
                }
                Ask::Mine { archer, since, most } => {
                    let page = self.ask(Pull { archer, after: since, limit: most }).await?;
                    // What cannot be read here is not sent; `goldward log check` names it.
                    let records = page.json.iter().filter_map(|json| serde_json::from_str(json).ok()).collect();
                    Came::Mine(records, page.cursor)
                }
                Ask::Keep { archer, records, .. } => {
                    // What is set aside stays with the server, and is told; it is no part of this store.
                    let records = records.iter().map(Version::from).collect();
                    let (after, quota) = (u64::MAX >> 1, Quota::NONE);
                    let op = Exchange { archer, owner: Owner::Anyone, records, after, limit: 0, quota };
                    let there = self.ask(op).await?;
                    Came::Kept(there.accepted, there.digest, there.cursor)
                }
                Ask::Done => return Ok(device.into_report()),
            };
            ask = device.step(came);
        }
    }
}
