//! `goldward log sync`: brings a store in step with a server, as a phone does.

use std::path::PathBuf;

use clap::Args;
use goldward_journal::Uuid;
use goldward_journal::sync::{self, Ask, Came, Device, LogDone, Report, Standing};
use goldward_store::ops::{Exchange, Logs, Owner, Pull, Quota, Version};
use goldward_store::peers::{AskReached, Reached, SetReached};
use goldward_store::{Backend as _, Op, Place, Store};

use super::remote::{Address, Remote, token_of};
use super::{cannot_store, say, with_store_or_new};
use crate::failure::{EXIT_FINE, Failure};
use crate::terminal::{Terminal, now_ms};
use goldward_session::problem::{Problem, plain};

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
        let problem = Problem::new("--archer", "neither side has a log of that archer", "check the id");
        return Err(Failure::Usage(problem));
    }
    if args.json {
        say(terminal, &format!("{}\n", object(&report)))?;
    } else if report.is_in_step() {
        let sum = |f: fn(&LogDone) -> u64| report.logs.values().map(f).sum::<u64>();
        let logs = if report.logs.len() == 1 { "1 log".to_owned() } else { format!("{} logs", report.logs.len()) };
        say(terminal, &format!("{logs} in step: {} records sent, {} fetched\n", sum(|d| d.sent), sum(|d| d.fetched)))?;
    }
    let apart: Vec<String> = report.logs.values().flat_map(|l| &l.conflicts).map(|c| c.kept.id.to_string()).collect();
    if !apart.is_empty() && !args.json {
        let n = apart.len();
        say(
            terminal,
            &format!("{n} changed on two devices apart, the later version of each was kept: {}\n", apart.join(", ")),
        )?;
    }
    if report.is_in_step() {
        return Ok(EXIT_FINE);
    }
    let problems = problems(&report);
    Err(Failure::Data { title: format!("not in step with {}", args.url), problems })
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
fn problems(report: &Report) -> Vec<Problem> {
    let mut problems = Vec::new();
    if let Some(failure) = &report.stopped {
        problems.push(problem(String::new(), failure));
    }
    for (archer, done) in &report.logs {
        let place = format!("the log of {archer}");
        match &done.standing {
            Standing::InStep => {}
            Standing::Aside => {
                for aside in done.aside.iter().take(20) {
                    let remedy = "the rest was exchanged; it stays where it is";
                    problems.push(Problem::new(&place, plain(&aside.to_string()), remedy));
                }
                if done.aside.is_empty() {
                    let what = "the two sides differ by what was set aside before";
                    problems.push(Problem::new(&place, what, "nothing is lost: run goldward log check on both"));
                }
            }
            Standing::Differs { here, there } => {
                let (here, there) = (here.records, there.records);
                let what = format!(
                    "differs on the two sides after everything was exchanged: {here} records here, {there} there"
                );
                problems.push(Problem::new(&place, what, "run goldward log check on both"));
            }
            Standing::Unsent => {
                let ids = done.unsent.iter().take(5).map(ToString::to_string).collect::<Vec<_>>().join(", ");
                let what = match done.unsent.len() {
                    0 => "it may only be read, and there are records here that may not be sent".to_owned(),
                    n => format!("it may only be read, and {n} records here may not be sent: {ids}"),
                };
                problems.push(Problem::new(
                    &place,
                    what,
                    "write into a log of your own; ask its archer to let you write",
                ));
            }
            Standing::Erased => problems.push(Problem::new(
                &place,
                "its archer has erased it from the server: the copy here is set aside, and sent nowhere any more",
                "keep it only if its archer agrees; goldward log erase removes it here too",
            )),
            Standing::Refused(failure) => problems.push(problem(place, failure)),
            _ if report.stopped.is_some() => {}
            _ => problems.push(Problem::new(&place, "it is not done yet", "run it again: it goes on from there")),
        }
    }
    problems
}

fn problem(place: String, failure: &sync::Failure) -> Problem {
    let kept = "what was exchanged so far is kept: try again later, it goes on from there";
    match failure {
        sync::Failure::Offline(what) => Problem::new(place, format!("the server is not reached: {what}"), kept),
        sync::Failure::LogIn => Problem::new(
            place,
            "it does not know this device",
            "make a token for it and give it in GOLDWARD_TOKEN or with --token-file",
        ),
        sync::Failure::NotFound(what) => Problem::new(
            place,
            what.clone(),
            "the log belongs to another account or may no longer be read, or this is no Goldward server: check the address and --archer",
        ),
        sync::Failure::Forbidden(what) => {
            Problem::new(place, what.clone(), "ask its archer, or whoever runs the server")
        }
        sync::Failure::Bad(what) | sync::Failure::TooLarge(what) => {
            Problem::new(place, what.clone(), "is it a Goldward server of the same age? nothing is lost here")
        }
        sync::Failure::Other(300..=399, _) => {
            Problem::new(place, "it sends elsewhere", "give the address that a browser ends up at")
        }
        sync::Failure::Other(200, what) => Problem::new(place, what.clone(), "tell whoever runs it"),
        sync::Failure::Other(_, what) => Problem::new(place, what.clone(), kept),
        _ => Problem::new(place, "it is refused", kept),
    }
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
