//! `goldward log sync`: brings a store in step with a server, as a phone does.

use std::collections::BTreeMap;
use std::path::PathBuf;

use clap::Args;
use goldward_journal::{Digest, Record, Uuid};
use goldward_store::ops::{Exchange, Logs, Owner, Pull, Quota, Version};
use goldward_store::peers::{AskReached, Reached, SetReached};
use goldward_store::{Backend as _, Op, Place, Store};

use super::remote::{Address, Remote, token_of};
use super::{cannot_store, say, with_store_or_new};
use crate::failure::Failure;
use crate::terminal::Terminal;
use goldward_session::problem::Problem;

/// Records sent in one request: few enough that a bad connection gets somewhere.
const PART: u32 = 5_000;

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

/// What was exchanged of one log.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
struct Done {
    /// Versions that were new to the server.
    sent: u64,
    /// Versions that were new here.
    fetched: u64,
    /// The log afterwards.
    digest: Digest,
}

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
    let done = with_store_or_new(&args.db, async |store| Ok(Both { store, remote: &remote, args }.all().await))??;
    if args.json {
        let logs: Vec<_> = done
            .iter()
            .map(|(archer, d)| serde_json::json!({ "archer": archer, "sent": d.sent, "fetched": d.fetched, "log": d.digest }))
            .collect();
        return say(terminal, &format!("{}\n", serde_json::json!({ "schema": 1, "logs": logs })));
    }
    let sum = |f: fn(&Done) -> u64| done.values().map(f).sum::<u64>();
    let logs = if done.len() == 1 { "1 log".to_owned() } else { format!("{} logs", done.len()) };
    say(terminal, &format!("{logs} in step: {} records sent, {} fetched\n", sum(|d| d.sent), sum(|d| d.fetched)))
}

/// The two sides.
struct Both<'a> {
    store: &'a Store,
    remote: &'a Remote,
    args: &'a SyncArgs,
}

impl Both<'_> {
    async fn ask<O: Op>(&self, op: O) -> Result<O::Out, Failure> {
        self.store.run(op).await.map_err(|e| cannot_store(&self.args.db, &e))
    }

    async fn all(&self) -> Result<BTreeMap<Uuid, Done>, Failure> {
        // Whether each log may be written on the server; one that it does not have yet may.
        let mut logs: BTreeMap<Uuid, bool> =
            self.ask(Logs { owner: Owner::Anyone }).await?.iter().map(|l| (l.archer, true)).collect();
        logs.extend(self.remote.logs()?.iter().map(|l| (l.archer, l.own)));
        if let Some(archer) = self.args.archer {
            logs.retain(|a, _| *a == archer);
            if logs.is_empty() {
                let problem = Problem::new("--archer", "neither side has a log of that archer", "check the id");
                return Err(Failure::Usage(problem));
            }
        }
        let mut done = BTreeMap::new();
        for (archer, own) in logs {
            done.insert(archer, self.one(archer, own).await?);
        }
        Ok(done)
    }

    /// Brings one log in step. How far it has come is remembered after each exchange.
    async fn one(&self, archer: Uuid, own: bool) -> Result<Done, Failure> {
        let peer = self.args.url.to_string();
        let mut reached = self.ask(AskReached { archer, peer: peer.clone() }).await?;
        let (mut done, mut anew) = (Done::default(), false);
        loop {
            let limit = if own { PART } else { 0 };
            let mine = self.ask(Pull { archer, after: reached.pushed, limit }).await?;
            let answer = self.remote.sync(archer, reached.after, &mine.json)?;
            done.sent += answer.accepted;
            let here = self.take_in(archer, answer.records).await?;
            done.fetched += here.accepted;
            done.digest = here.digest;
            reached = Reached { after: answer.cursor, pushed: mine.cursor };
            let equal = here.digest == answer.log;
            if equal {
                // What has just come in need not be sent back.
                reached.pushed = here.cursor;
            }
            self.ask(SetReached { archer, peer: peer.clone(), reached }).await?;
            if answer.more || own && !equal && reached.pushed < here.cursor {
                continue;
            }
            if equal || !own {
                return Ok(done);
            }
            if anew {
                let what = format!("the log of {archer} differs on the two sides after everything was exchanged");
                let problem = Problem::new("", what, "run goldward log check on both");
                return Err(Failure::data(format!("not in step with {peer}"), problem));
            }
            // One side lacks something, whatever the reason, such as an old backup put in place: everything once more.
            (reached, anew) = (Reached::default(), true);
        }
    }

    /// Takes records into the store; tells where it stands then.
    async fn take_in(&self, archer: Uuid, records: Vec<Record>) -> Result<Standing, Failure> {
        let records = records.iter().map(Version::from).collect();
        let op = Exchange { archer, owner: Owner::Anyone, records, after: u64::MAX >> 1, limit: 0, quota: Quota::NONE };
        let there = self.ask(op).await?;
        Ok(Standing { accepted: there.accepted, cursor: there.cursor, digest: there.digest })
    }
}

struct Standing {
    accepted: u64,
    /// The store's latest number.
    cursor: u64,
    digest: Digest,
}
