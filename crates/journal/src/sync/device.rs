//! A device that keeps logs in step with a server: a pure machine that is fed what came and says what to do next.
//!
//! It starts by asking which logs the server has. Then it takes the logs one by one: fetches what is new there, sends what is
//! new here, and compares the digests. A log that is refused does not stop the others, nor does a record. What a driver
//! has to do is small: [`Ask`] says what, and [`Came`] tells what became of it.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet, VecDeque};

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::answer::{Answer, Aside, Failure, Why};
use super::{LARGEST_REQUEST, MOST_PULLED, SyncRequest};
use crate::log::Digest;
use crate::record::{Record, SCHEMA};
use crate::stamp::Stamp;

/// Records sent, and asked for, in one request: few enough that a bad connection gets somewhere.
const PART: u32 = 4_000;
/// Bytes of records sent in one request, as they are written on the wire: well below what a server or a proxy before it reads.
const PART_BYTES: usize = LARGEST_REQUEST / 4;
/// Exchanges about one log in one run; what is left goes on the next time.
const MOST_ROUNDS: u32 = 1_000;
/// Own records that a server may refuse one by one before the whole log counts as refused.
const MOST_REFUSED: usize = 64;

/// A log that the server lists.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub struct ServerLog {
    /// Whose.
    pub archer: Uuid,
    /// Whether it is the account's own.
    pub own: bool,
    /// Whether it may be written; where a server does not say, only one's own may.
    #[serde(default)]
    pub write: Option<bool>,
    /// The number of its latest version.
    #[serde(default)]
    pub cursor: u64,
}

/// How far one log has come with one server. `M` is how the driver marks a place in what was written here: what the server has
/// is before it, what it may lack is after it. Its default is the place before everything.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Reached<M> {
    /// The server's number up to which everything is here.
    pub after: u64,
    /// The place up to which the server has everything.
    pub mark: M,
    /// Whether the server gave it to be read only.
    pub reader: bool,
    /// What the two sides differed by even after everything had been exchanged: not tried again while it stays that.
    pub settled: Option<Digest>,
    /// How many versions were set aside since it was in step the last time.
    pub aside: u64,
    /// How many records here may not be sent.
    pub unsent: u64,
    /// Whether it was in step the last time.
    pub in_step: bool,
    /// Whether its archer has erased it over there: it is kept here, and neither asked for nor sent any more.
    pub erased: bool,
}

/// What the driver is to do. It answers each with [`Device::step`].
#[derive(Debug, Clone, PartialEq)]
pub enum Ask<M> {
    /// Ask the server for its logs (`GET /api/v1/logs`): [`Came::Logs`] or [`Came::Failed`].
    List,
    /// Find what was remembered of that log with [`Ask::Remember`]: [`Came::Recalled`].
    Recall(Uuid),
    /// Find the records of that archer after `since`, at most `most` of them: [`Came::Mine`].
    Mine {
        /// Whose.
        archer: Uuid,
        /// The place they come after.
        since: M,
        /// Most of them.
        most: u32,
    },
    /// Send this (`POST /api/v1/sync`): [`Came::Answer`] or [`Came::Failed`].
    Send(SyncRequest),
    /// Take these into the log and keep what is set aside, durably: [`Came::Kept`].
    Keep {
        /// Whose.
        archer: Uuid,
        /// Sound records, some of which may be known.
        records: Vec<Record>,
        /// What is set aside.
        aside: Vec<Aside>,
    },
    /// Remember this of that log: [`Came::Remembered`].
    Remember(Uuid, Reached<M>),
    /// Nothing more: see [`Device::report`].
    Done,
}

/// What became of it.
#[derive(Debug, Clone, PartialEq)]
pub enum Came<M> {
    /// The server's logs.
    Logs(Vec<ServerLog>),
    /// What was remembered; nothing the first time.
    Recalled(Option<Reached<M>>),
    /// Records, and the place after the last of them.
    Mine(Vec<Record>, M),
    /// The text of the server's answer.
    Answer(String),
    /// It is kept durably. How many versions were new, the digest of the log, and the place after everything in it.
    Kept(u64, Digest, M),
    /// It is remembered.
    Remembered,
    /// The server did not do it.
    Failed(Failure),
}

/// Two versions of one record, written by two devices of which neither had seen the other's.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Conflict {
    /// The later one, which is kept.
    pub kept: Record,
    /// The other.
    pub other: Record,
}

/// How a log stands with the server.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub enum Standing {
    /// It did not come to its turn, or is not done.
    Unfinished,
    /// Both sides have the same.
    InStep,
    /// All was exchanged but for records that are set aside.
    Aside,
    /// All was exchanged, and the two sides differ nevertheless: an alarm.
    Differs {
        /// The digest here.
        here: Digest,
        /// The digest there.
        there: Digest,
    },
    /// It may only be read, and records were written here that cannot be sent.
    Unsent,
    /// Its archer has erased it from the server. It is set aside: kept here, and sent nowhere, also not the next time.
    Erased,
    /// The server refuses it.
    Refused(Failure),
}

/// What was done about one log.
#[derive(Debug, Clone, PartialEq)]
pub struct LogDone {
    /// How it stands.
    pub standing: Standing,
    /// Whether it may only be read.
    pub reader: bool,
    /// Whether the server says that it is another's.
    pub others: bool,
    /// Versions that were new to the server.
    pub sent: u64,
    /// Versions that were new here.
    pub fetched: u64,
    /// The log here, when it was looked at.
    pub digest: Option<Digest>,
    /// What was set aside.
    pub aside: Vec<Aside>,
    /// Records that two devices changed apart.
    pub conflicts: Vec<Conflict>,
    /// Records that are here and may not be sent.
    pub unsent: Vec<Uuid>,
}

/// What a run came to.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Report {
    /// Each log.
    pub logs: BTreeMap<Uuid, LogDone>,
    /// What stopped the run before its end.
    pub stopped: Option<Failure>,
}

impl Report {
    /// Whether everything is in step.
    #[must_use]
    pub fn is_in_step(&self) -> bool {
        self.stopped.is_none() && self.logs.values().all(|l| l.standing == Standing::InStep)
    }
}

/// The machine. One run brings all logs in step; make a new one for the next.
#[derive(Debug)]
pub struct Device<M> {
    now_ms: u64,
    local: BTreeSet<Uuid>,
    left: BTreeSet<Uuid>,
    only: Option<Uuid>,
    thorough: bool,
    listed: BTreeMap<Uuid, ServerLog>,
    queue: VecDeque<Uuid>,
    at: Option<One<M>>,
    report: Report,
}

/// Where the machine stands with one log.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stage {
    /// Before anything: what is written here and not sent yet is looked at, to tell what was changed apart.
    Unsent,
    /// Fetching until there is no more.
    Fetching,
    /// Sending until there is no more.
    Sending,
    /// Everything was exchanged: looking for records that may not be sent.
    Comparing,
    /// Only remembering is left.
    Ending,
}

#[derive(Debug)]
struct One<M> {
    archer: Uuid,
    stage: Stage,
    reached: Reached<M>,
    done: LogDone,
    rounds: u32,
    /// Everything is exchanged once more in this run.
    anew: bool,
    /// What is here and was not sent before this run.
    unsent: HashMap<Uuid, Record>,
    /// Parts of what is to be sent, and the place that is reached when all of them are there.
    parts: VecDeque<Vec<Record>>,
    upto: M,
    /// What was sent and is not answered.
    sent: Vec<Record>,
    answer: Option<Answer>,
    /// All versions that came since everything is exchanged anew.
    came: HashSet<(Uuid, Stamp)>,
    /// Digests here and there after the last exchange.
    digests: Option<(Digest, Digest)>,
    refused: usize,
}

/// The records in parts that fit into a request each.
fn split(records: Vec<Record>) -> Vec<Vec<Record>> {
    let (mut parts, mut bytes) = (vec![Vec::new()], 0);
    for record in records {
        let length = record.to_json().len() + 1;
        if bytes > 0 && bytes + length > PART_BYTES {
            parts.push(Vec::new());
            bytes = 0;
        }
        bytes += length;
        if let Some(part) = parts.last_mut() {
            part.push(record);
        }
    }
    parts
}

impl<M: Clone + Default + PartialEq> Device<M> {
    /// A run at `now_ms` with the archers whose logs are here; begin by doing [`Ask::List`].
    #[must_use]
    pub fn new(now_ms: u64, local: impl IntoIterator<Item = Uuid>) -> Self {
        Self {
            now_ms,
            local: local.into_iter().collect(),
            left: BTreeSet::new(),
            only: None,
            thorough: true,
            listed: BTreeMap::new(),
            queue: VecDeque::new(),
            at: None,
            report: Report::default(),
        }
    }

    /// Without these logs, which were left.
    #[must_use]
    pub fn without(mut self, left: impl IntoIterator<Item = Uuid>) -> Self {
        self.left.extend(left);
        self
    }

    /// With this log alone.
    #[must_use]
    pub fn only(mut self, archer: Uuid) -> Self {
        self.only = Some(archer);
        self
    }

    /// Only what has changed since the last time, going by the server's list: for looking often.
    #[must_use]
    pub fn quick(mut self) -> Self {
        self.thorough = false;
        self
    }

    /// What was done so far.
    #[must_use]
    pub fn report(&self) -> &Report {
        &self.report
    }

    /// The report at the end.
    #[must_use]
    pub fn into_report(self) -> Report {
        self.report
    }

    /// Takes what came and says what to do next. What was not asked for ends the run.
    pub fn step(&mut self, came: Came<M>) -> Ask<M> {
        let Some(mut one) = self.at.take() else {
            return match came {
                Came::Logs(logs) => {
                    self.listed = logs.into_iter().map(|l| (l.archer, l)).collect();
                    let all: BTreeSet<Uuid> = self.listed.keys().chain(&self.local).copied().collect();
                    self.queue = all
                        .into_iter()
                        .filter(|a| !self.left.contains(a) && self.only.is_none_or(|only| only == *a))
                        .collect();
                    self.next_log()
                }
                Came::Failed(failure) => self.stop(failure),
                _ => Ask::Done,
            };
        };
        match one.step(came, self.now_ms, self.listed.get(&one.archer), self.thorough) {
            Step::Ask(ask) => {
                self.at = Some(one);
                ask
            }
            Step::Over => {
                self.report.logs.insert(one.archer, one.done);
                self.next_log()
            }
            Step::Stop(failure) => {
                self.report.logs.insert(one.archer, one.done);
                self.stop(failure)
            }
        }
    }

    fn next_log(&mut self) -> Ask<M> {
        let Some(archer) = self.queue.pop_front() else { return Ask::Done };
        self.at = Some(One::new(archer));
        Ask::Recall(archer)
    }

    fn stop(&mut self, failure: Failure) -> Ask<M> {
        for archer in self.queue.drain(..) {
            self.report.logs.insert(archer, LogDone::new());
        }
        self.report.stopped = Some(failure);
        Ask::Done
    }
}

impl LogDone {
    fn new() -> Self {
        Self {
            standing: Standing::Unfinished,
            reader: false,
            others: false,
            sent: 0,
            fetched: 0,
            digest: None,
            aside: Vec::new(),
            conflicts: Vec::new(),
            unsent: Vec::new(),
        }
    }
}

/// What is next with one log.
enum Step<M> {
    Ask(Ask<M>),
    /// Nothing more with this one.
    Over,
    /// Nothing more with any.
    Stop(Failure),
}

impl<M: Clone + Default + PartialEq> One<M> {
    fn new(archer: Uuid) -> Self {
        Self {
            archer,
            stage: Stage::Unsent,
            reached: Reached::default(),
            done: LogDone::new(),
            rounds: 0,
            anew: false,
            unsent: HashMap::new(),
            parts: VecDeque::new(),
            upto: M::default(),
            sent: Vec::new(),
            answer: None,
            came: HashSet::new(),
            digests: None,
            refused: 0,
        }
    }

    fn step(&mut self, came: Came<M>, now_ms: u64, listed: Option<&ServerLog>, thorough: bool) -> Step<M> {
        match came {
            Came::Recalled(reached) => {
                self.reached = reached.unwrap_or_default();
                // One that was only to be read, and is no longer listed, is still not ours to write.
                self.reached.reader = listed.map_or(self.reached.reader, |l| !l.write.unwrap_or(l.own));
                self.done.reader = self.reached.reader;
                self.done.others = listed.is_some_and(|l| !l.own);
                // Unless it stands there anew.
                self.reached.erased &= listed.is_none();
                if self.reached.erased {
                    self.done.standing = Standing::Erased;
                    return Step::Over;
                }
                self.mine()
            }
            Came::Mine(records, upto) => self.mine_came(records, upto, listed, thorough),
            Came::Answer(text) => match Answer::read(&text, self.archer, now_ms) {
                Ok(answer) => self.answered(answer),
                Err(what) => self.refuse(Failure::Other(200, what)),
            },
            Came::Kept(new, digest, mark) => self.kept(new, digest, mark),
            Came::Remembered if self.stage == Stage::Ending => Step::Over,
            Came::Remembered => self.go_on(),
            Came::Failed(failure) => self.failed(failure),
            Came::Logs(_) => Step::Over,
        }
    }

    /// Asks for what is here and not there.
    fn mine(&self) -> Step<M> {
        Step::Ask(Ask::Mine { archer: self.archer, since: self.reached.mark.clone(), most: PART })
    }

    fn mine_came(&mut self, records: Vec<Record>, upto: M, listed: Option<&ServerLog>, thorough: bool) -> Step<M> {
        match self.stage {
            Stage::Unsent => {
                let known = listed.is_some_and(|l| l.cursor == self.reached.after);
                let nothing = records.is_empty() || self.reached.reader;
                if known && nothing && self.reached.in_step && !thorough {
                    self.done.standing = Standing::InStep;
                    return Step::Over;
                }
                // At the first meeting everything is unsent, and nothing of it was written apart.
                if self.reached.after > 0 && !self.reached.reader {
                    self.unsent = records.iter().map(|r| (r.id, r.clone())).collect();
                }
                if !self.reached.reader && (known || listed.is_none()) && !records.is_empty() {
                    self.stage = Stage::Sending;
                    return self.send_these(records, upto);
                }
                self.stage = Stage::Fetching;
                self.send(Vec::new())
            }
            Stage::Comparing => {
                // These are here, and did not come from there when everything was fetched.
                self.done.unsent.extend(records.iter().filter(|r| !self.came.contains(&(r.id, r.stamp))).map(|r| r.id));
                if !records.is_empty() && upto != self.upto {
                    self.upto = upto.clone();
                    return Step::Ask(Ask::Mine { archer: self.archer, since: upto, most: PART });
                }
                self.reached.unsent = self.done.unsent.len() as u64;
                match self.digests {
                    Some((here, there)) => self.differs(here, there),
                    None => self.end(Standing::Unfinished),
                }
            }
            _ if records.is_empty() => self.compare(),
            _ => self.send_these(records, upto),
        }
    }

    fn send_these(&mut self, records: Vec<Record>, upto: M) -> Step<M> {
        self.upto = upto;
        self.parts.extend(split(records));
        self.send_part()
    }

    fn send_part(&mut self) -> Step<M> {
        let records = self.parts.pop_front().unwrap_or_default();
        self.send(records)
    }

    fn send(&mut self, records: Vec<Record>) -> Step<M> {
        self.rounds += 1;
        if self.rounds > MOST_ROUNDS {
            return self.end(Standing::Unfinished);
        }
        self.sent.clone_from(&records);
        let (archer, after) = (self.archer, self.reached.after);
        Step::Ask(Ask::Send(SyncRequest { schema: SCHEMA, archer, after, limit: PART.min(MOST_PULLED), records }))
    }

    fn answered(&mut self, answer: Answer) -> Step<M> {
        if answer.more && answer.cursor <= self.reached.after || i64::try_from(answer.cursor).is_err() {
            return self.refuse(Failure::Other(200, "its numbers lead nowhere".to_owned()));
        }
        self.done.sent += answer.accepted.min(self.sent.len() as u64);
        let mut aside = answer.aside.clone();
        for refused in &answer.refused {
            if let Some(record) = self.sent.get(refused.index as usize) {
                aside.push(self.refused(record, refused.message.clone()));
            }
        }
        for record in &answer.records {
            if !self.anew
                && let Some(own) = self.unsent.get(&record.id).filter(|own| own.stamp != record.stamp)
            {
                let later = record.compare_versions(own).is_gt();
                let (kept, other) = if later { (record, own) } else { (own, record) };
                self.done.conflicts.push(Conflict { kept: kept.clone(), other: other.clone() });
            }
        }
        if self.anew {
            self.came.extend(answer.records.iter().map(|r| (r.id, r.stamp)));
        }
        self.sent.clear();
        self.set_aside(&aside);
        let records = answer.records.clone();
        self.answer = Some(answer);
        Step::Ask(Ask::Keep { archer: self.archer, records, aside })
    }

    fn set_aside(&mut self, aside: &[Aside]) {
        self.reached.aside += aside.len() as u64;
        for aside in aside {
            // When everything is exchanged anew the same ones come along.
            if !self.done.aside.contains(aside) {
                self.done.aside.push(aside.clone());
            }
        }
    }

    fn refused(&self, record: &Record, what: String) -> Aside {
        Aside { archer: self.archer, why: Why::Refused { what }, json: record.to_json() }
    }

    fn kept(&mut self, new: u64, digest: Digest, mark: M) -> Step<M> {
        self.done.fetched += new;
        self.done.digest = Some(digest);
        if let Some(answer) = &self.answer {
            self.reached.after = answer.cursor;
            self.digests = Some((digest, answer.log));
        }
        if self.parts.is_empty() && self.stage == Stage::Sending {
            self.reached.mark = self.upto.clone();
        }
        if self.digests.is_some_and(|(here, there)| here == there) && !self.answer.as_ref().is_some_and(|a| a.more) {
            // What has just come in need not be sent back.
            self.reached.mark = mark;
        }
        Step::Ask(Ask::Remember(self.archer, self.reached.clone()))
    }

    /// After an exchange that is kept and remembered.
    fn go_on(&mut self) -> Step<M> {
        let more = self.answer.take().is_some_and(|a| a.more);
        if !self.parts.is_empty() {
            return self.send_part();
        }
        if more {
            return self.send(Vec::new());
        }
        if self.reached.reader {
            return self.compare();
        }
        // What was written here meanwhile, and what did not fit into the last part.
        self.stage = Stage::Sending;
        self.mine()
    }

    fn compare(&mut self) -> Step<M> {
        let Some((here, there)) = self.digests else { return self.send(Vec::new()) };
        if here == there {
            (self.reached.settled, self.reached.aside, self.reached.unsent) = (None, 0, 0);
            return self.end(Standing::InStep);
        }
        let by = there.less(here);
        if self.reached.settled == Some(by) || self.anew {
            self.reached.settled = Some(by);
            if self.reached.reader && self.anew {
                self.stage = Stage::Comparing;
                let since = M::default();
                self.upto = since.clone();
                return Step::Ask(Ask::Mine { archer: self.archer, since, most: PART });
            }
            return self.differs(here, there);
        }
        // One side lacks something, whatever the reason, such as an old backup put in place: everything once more.
        self.anew = true;
        self.reached = Reached { reader: self.reached.reader, ..Reached::default() };
        self.stage = Stage::Fetching;
        self.send(Vec::new())
    }

    fn differs(&mut self, here: Digest, there: Digest) -> Step<M> {
        self.end(if self.reached.unsent > 0 {
            Standing::Unsent
        } else if self.reached.aside > 0 {
            Standing::Aside
        } else {
            Standing::Differs { here, there }
        })
    }

    fn end(&mut self, standing: Standing) -> Step<M> {
        self.reached.in_step = standing == Standing::InStep;
        self.done.standing = standing;
        self.stage = Stage::Ending;
        Step::Ask(Ask::Remember(self.archer, self.reached.clone()))
    }

    fn refuse(&mut self, failure: Failure) -> Step<M> {
        self.end(Standing::Refused(failure))
    }

    fn failed(&mut self, failure: Failure) -> Step<M> {
        if !failure.is_of_one_log() {
            return Step::Stop(failure);
        }
        if matches!(failure, Failure::Erased(_)) {
            self.reached = Reached { erased: true, reader: self.reached.reader, ..Reached::default() };
            return self.end(Standing::Erased);
        }
        let (Failure::Bad(what) | Failure::TooLarge(what)) = &failure else { return self.refuse(failure) };
        let mut sent = std::mem::take(&mut self.sent);
        match sent.len() {
            0 => self.refuse(failure),
            1 if self.refused < MOST_REFUSED => {
                // This is the one that it does not take.
                self.refused += 1;
                let aside = self.refused(&sent[0], what.clone());
                self.set_aside(std::slice::from_ref(&aside));
                Step::Ask(Ask::Keep { archer: self.archer, records: Vec::new(), aside: vec![aside] })
            }
            1 => self.refuse(failure),
            n => {
                let rest = sent.split_off(n / 2);
                self.parts.push_front(rest);
                self.send(sent)
            }
        }
    }
}
