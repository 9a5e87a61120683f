//! What is asked of the logs.

use std::collections::HashMap;
use std::fmt::Write as _;

use goldward_journal::{Digest, Record, Stamp, Uuid};

use crate::access::{Access, access};
use crate::accounts::had_erased;
use crate::cell::{Cell, Row};
use crate::error::StoreError;
use crate::lock::lock_account;
use crate::{Op, Tx};

/// Rows of one statement; with nine columns each, well below what either database allows.
const ROWS: usize = 100;

/// Most bytes of records in one answer; one record is given even when it is larger.
pub const ANSWER_BYTES: u64 = 4 * 1024 * 1024;

/// One version of a record as it is kept: its wire form, and what is asked of it without reading that.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Version {
    /// Which act.
    pub id: Uuid,
    /// When this version was written.
    pub stamp: Stamp,
    /// The session it is part of.
    pub session: Option<Uuid>,
    /// Its hash.
    pub hash: u128,
    /// Its wire form.
    pub json: String,
}

impl Version {
    fn order(&self) -> (Stamp, u128) {
        (self.stamp, self.hash)
    }
}

impl From<&Record> for Version {
    fn from(record: &Record) -> Self {
        let json = record.to_json();
        let hash = record.hash_of(&json);
        Self { id: record.id, stamp: record.stamp, session: record.body.session(), hash, json }
    }
}

/// How much an account may keep.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Quota {
    /// Logs.
    pub logs: u64,
    /// Records of all its logs, tombstones included.
    pub records: u64,
    /// Bytes of them.
    pub bytes: u64,
}

impl Quota {
    /// As much as there is room for.
    pub const NONE: Self = Self { logs: u64::MAX, records: u64::MAX, bytes: u64::MAX };
}

/// For whom something is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Owner {
    /// Whoever sits at this machine: no accounts.
    Anyone,
    /// An account: a log that is new becomes its own, a log of another is refused.
    Account(Uuid),
}

/// Takes versions into a log and gives back what came after a number.
#[derive(Debug)]
pub struct Exchange {
    /// Whose log.
    pub archer: Uuid,
    /// For whom; looked at when there is something to take in.
    pub owner: Owner,
    /// The versions, all of that archer.
    pub records: Vec<Version>,
    /// The number.
    pub after: u64,
    /// Most records given back.
    pub limit: u32,
    /// How much the account may keep.
    pub quota: Quota,
}

/// What an [`Exchange`] gives.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Exchanged {
    /// How many versions were new.
    pub accepted: u64,
    /// The number reached.
    pub cursor: u64,
    /// Whether there is more beyond it.
    pub more: bool,
    /// The versions in their wire form, without those that were sent along.
    pub json: Vec<String>,
    /// The digest of the whole log.
    pub digest: Digest,
}

impl Op for Exchange {
    type Out = Exchanged;
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Exchanged, StoreError> {
        let mut out = Exchanged::default();
        let mut sent: HashMap<Uuid, u128> = HashMap::new();
        let writes = !self.records.is_empty();
        if writes {
            if let Owner::Account(account) = self.owner {
                lock_account(tx, account).await?;
            }
            let empty: [Cell; 5] =
                [self.archer.into(), owner(self.owner).into(), 0u64.into(), 0u64.into(), 0u128.into()];
            let made = tx
                .rows(
                    "INSERT INTO logs (archer, owner, seq, records, hash_sum) VALUES ($1, $2, $3, $4, $5)
                     ON CONFLICT (archer) DO NOTHING RETURNING archer",
                    &empty,
                )
                .await?;
            if let (Owner::Account(account), false) = (self.owner, made.is_empty()) {
                if had_erased(tx, self.archer, account).await? {
                    return Err(StoreError::Erased);
                }
                within_logs(tx, account, self.quota).await?;
            }
        }
        let lock = if writes { T::FOR_UPDATE } else { "" };
        let sql = format!("SELECT owner, seq, records, hash_sum FROM logs WHERE archer = $1{lock}");
        let rows = tx.rows(&sql, &[self.archer.into()]).await?;
        let Some(row) = rows.first() else { return Ok(out) };
        out.digest = Digest { records: row.int(2)?, sum: row.wide(3)? };
        let mut seq = row.int(1)?;
        if writes {
            let owner = row.maybe_id(0)?;
            if let Owner::Account(account) = self.owner
                && owner != Some(account)
                && access(tx, self.archer, account).await?.access != Access::Writer
            {
                return Err(StoreError::NotYours);
            }
            let mut grown = Grown::default();
            for part in winners(self.records).chunks(ROWS) {
                let taken = take(tx, self.archer, part, seq, &mut out.digest, &mut grown).await?;
                sent.extend(part.iter().map(|v| (v.id, v.hash)));
                out.accepted += taken;
                seq += taken;
            }
            if out.accepted > 0 {
                let now: [Cell; 5] = [
                    seq.into(),
                    out.digest.records.into(),
                    out.digest.sum.into(),
                    grown.bytes.into(),
                    self.archer.into(),
                ];
                let sql = "UPDATE logs SET seq = $1, records = $2, hash_sum = $3, bytes = bytes + $4 WHERE archer = $5";
                tx.rows(sql, &now).await?;
                // What a coach writes counts for whose log it is.
                if let (Owner::Account(_), Some(owner)) = (self.owner, owner) {
                    within(tx, owner, self.quota, grown).await?;
                }
            }
        }
        out.cursor = self.after.min(seq);
        if self.limit > 0 {
            let page = page(tx, self.archer, Part::All, out.cursor, self.limit, ANSWER_BYTES).await?;
            out.more = page.more;
            out.json.reserve(page.rows.len());
            for mut row in page.rows {
                out.cursor = row.int(0)?;
                if sent.get(&row.id(1)?) != Some(&row.wide(2)?) {
                    out.json.push(row.text(3)?);
                }
            }
            out.more &= out.cursor < seq;
            if !out.more {
                out.cursor = seq;
            }
        }
        Ok(out)
    }
}

/// Of several versions of one record only the winner, in the order of the ids.
fn winners(mut versions: Vec<Version>) -> Vec<Version> {
    versions.sort_unstable_by(|a, b| a.id.cmp(&b.id).then_with(|| b.order().cmp(&a.order())));
    versions.dedup_by_key(|v| v.id);
    versions
}

/// By how much a log has grown.
#[derive(Debug, Clone, Copy, Default)]
struct Grown {
    records: i64,
    bytes: i64,
}

async fn within_logs<T: Tx>(tx: &mut T, account: Uuid, quota: Quota) -> Result<(), StoreError> {
    let rows = tx.rows("SELECT count(*) FROM logs WHERE owner = $1", &[account.into()]).await?;
    if rows.first().map_or(Ok(0), |r| r.int(0))? > quota.logs {
        let what = "this account would have more logs than it may";
        let remedy = "write into one of those it has, or ask whoever runs the server";
        return Err(StoreError::Quota { what, most: quota.logs, remedy });
    }
    Ok(())
}

/// What makes an account smaller always goes.
async fn within<T: Tx>(tx: &mut T, account: Uuid, quota: Quota, grown: Grown) -> Result<(), StoreError> {
    if quota.records == u64::MAX && quota.bytes == u64::MAX {
        return Ok(());
    }
    let sql = "SELECT CAST(coalesce(sum(records), 0) AS BIGINT), CAST(coalesce(sum(bytes), 0) AS BIGINT)
               FROM logs WHERE owner = $1";
    let rows = tx.rows(sql, &[account.into()]).await?;
    let Some(row) = rows.first() else { return Ok(()) };
    let remedy = "export and erase a log that is no longer needed, or ask whoever runs the server";
    if grown.records > 0 && row.int(0)? > quota.records {
        let what = "this account would keep more records than it may";
        return Err(StoreError::Quota { what, most: quota.records, remedy });
    }
    if grown.bytes > 0 && row.int(1)? > quota.bytes {
        let what = "this account would keep more bytes than it may";
        return Err(StoreError::Quota { what, most: quota.bytes, remedy });
    }
    Ok(())
}

/// Which records of a log.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// Every one.
    All,
    /// Those that are part of no session.
    Rest,
    /// Those of one session.
    Session(Uuid),
}

struct Page {
    /// `seq, id, hash, json`.
    rows: Vec<Row>,
    more: bool,
}

/// The next records after a number, at most `limit` and `most` bytes of them. Their sizes are looked at before any is read.
async fn page<T: Tx>(
    tx: &mut T,
    archer: Uuid,
    part: Part,
    after: u64,
    limit: u32,
    most: u64,
) -> Result<Page, StoreError> {
    let (of, session) = match part {
        Part::All => ("", None),
        Part::Rest => (" AND session IS NULL", None),
        Part::Session(session) => (" AND session = $2", Some(session)),
    };
    let mut params: Vec<Cell> = vec![archer.into()];
    params.extend(session.map(Cell::from));
    let n = params.len();
    let mut sized = params.clone();
    sized.extend([after.into(), u64::from(limit).into()]);
    let sql = format!(
        "SELECT seq, CAST(octet_length(json) AS BIGINT) FROM records WHERE archer = $1{of} AND seq > ${}
         ORDER BY seq LIMIT ${}",
        n + 1,
        n + 2
    );
    let sizes = tx.rows(&sql, &sized).await?;
    let (mut bytes, mut last, mut given) = (0, None, 0);
    for row in &sizes {
        bytes += row.int(1)?;
        if given > 0 && bytes > most {
            break;
        }
        given += 1;
        last = Some(row.int(0)?);
    }
    let Some(last) = last else { return Ok(Page { rows: Vec::new(), more: false }) };
    let more = given < sizes.len() || sizes.len() == limit as usize;
    params.extend([after.into(), last.into()]);
    let sql = format!(
        "SELECT seq, id, hash, json FROM records WHERE archer = $1{of} AND seq > ${} AND seq <= ${} ORDER BY seq",
        n + 1,
        n + 2
    );
    Ok(Page { rows: tx.rows(&sql, &params).await?, more })
}

fn owner(owner: Owner) -> Option<Uuid> {
    match owner {
        Owner::Anyone => None,
        Owner::Account(account) => Some(account),
    }
}

/// Takes in the versions of `part` that win over what is there; returns how many.
async fn take<T: Tx>(
    tx: &mut T,
    archer: Uuid,
    part: &[Version],
    seq: u64,
    digest: &mut Digest,
    grown: &mut Grown,
) -> Result<u64, StoreError> {
    let mut sql = "SELECT id, ms, counter, device, hash, CAST(octet_length(json) AS BIGINT) FROM records
                   WHERE archer = $1 AND id IN ("
        .to_owned();
    let mut params: Vec<Cell> = vec![archer.into()];
    for (i, version) in part.iter().enumerate() {
        let _ = write!(sql, "{}${}", if i == 0 { "" } else { "," }, i + 2);
        params.push(version.id.into());
    }
    sql.push(')');
    let mut known = HashMap::new();
    for row in tx.rows(&sql, &params).await? {
        let version = (row.int(1)?, row.int(2)?, row.id(3)?, row.wide(4)?);
        known.insert(row.id(0)?, (version, row.int(5)?));
    }
    let mut sql = "INSERT INTO records (archer, id, seq, ms, counter, device, hash, session, json) VALUES ".to_owned();
    let mut params: Vec<Cell> = Vec::with_capacity(9 * part.len());
    let mut taken = 0;
    for one in part {
        let version = (one.stamp.ms, u64::from(one.stamp.counter), one.stamp.device, one.hash);
        match known.get(&one.id) {
            Some((there, _)) if *there >= version => continue,
            Some((there, bytes)) => {
                *digest = digest.without(there.3);
                grown.bytes -= i64::try_from(*bytes).unwrap_or(0);
            }
            None => grown.records += 1,
        }
        *digest = digest.with(one.hash);
        grown.bytes += i64::try_from(one.json.len()).unwrap_or(0);
        let n = params.len();
        let _ = write!(sql, "{}(", if taken == 0 { "" } else { "," });
        for i in 1..=9 {
            let _ = write!(sql, "{}${}", if i == 1 { "" } else { "," }, n + i);
        }
        sql.push(')');
        taken += 1;
        params.extend::<[Cell; 9]>([
            archer.into(),
            one.id.into(),
            (seq + taken).into(),
            one.stamp.ms.into(),
            u64::from(one.stamp.counter).into(),
            one.stamp.device.into(),
            one.hash.into(),
            one.session.into(),
            one.json.as_str().into(),
        ]);
    }
    if taken > 0 {
        sql.push_str(
            " ON CONFLICT (archer, id) DO UPDATE SET seq = excluded.seq, ms = excluded.ms, counter = excluded.counter,
              device = excluded.device, hash = excluded.hash, session = excluded.session, json = excluded.json",
        );
        tx.rows(&sql, &params).await?;
    }
    Ok(taken)
}

/// Gives records without taking any in: a reader, who needs no lock.
#[derive(Debug)]
pub struct Pull {
    /// Whose log.
    pub archer: Uuid,
    /// The number.
    pub after: u64,
    /// Most records given.
    pub limit: u32,
}

impl Op for Pull {
    type Out = Exchanged;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Exchanged, StoreError> {
        let Self { archer, after, limit } = self;
        let owner = Owner::Anyone;
        Exchange { archer, owner, records: Vec::new(), after, limit, quota: Quota::NONE }.run(tx).await
    }
}

/// The next page of a part of a log, oldest first.
#[derive(Debug)]
pub struct PullPart {
    /// Whose log.
    pub archer: Uuid,
    /// Which records of it.
    pub part: Part,
    /// The number.
    pub after: u64,
    /// Most bytes of records; one record is given even when it is larger.
    pub bytes: u64,
}

impl Op for PullPart {
    /// The records in their wire form, and the number to go on from when there are more.
    type Out = (Vec<String>, Option<u64>);
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Self::Out, StoreError> {
        let mut page = page(tx, self.archer, self.part, self.after, MOST_IN_PART, self.bytes).await?;
        let last = page.rows.last().map(|r| r.int(0)).transpose()?;
        let json = page.rows.iter_mut().map(|r| r.text(3)).collect::<Result<_, _>>()?;
        Ok((json, last.filter(|_| page.more)))
    }
}

/// Most records of one page of a part.
const MOST_IN_PART: u32 = 20_000;

/// One session and everything that is not part of another: kits, marks, sessions, scores, notes. In wire form.
#[derive(Debug)]
pub struct OneSession {
    /// Whose log.
    pub archer: Uuid,
    /// Which session; none for only what is part of no session.
    pub session: Option<Uuid>,
}

impl Op for OneSession {
    type Out = Vec<String>;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Vec<String>, StoreError> {
        let mut rows =
            tx.rows("SELECT json FROM records WHERE archer = $1 AND session IS NULL", &[self.archer.into()]).await?;
        if let Some(session) = self.session {
            let sql = "SELECT json FROM records WHERE archer = $1 AND session = $2";
            rows.extend(tx.rows(sql, &[self.archer.into(), session.into()]).await?);
        }
        rows.iter_mut().map(|r| r.text(0)).collect()
    }
}

/// What is known of a log without reading it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LogInfo {
    /// Whose.
    pub archer: Uuid,
    /// The account it belongs to.
    pub owner: Option<Uuid>,
    /// Number of the latest version taken in.
    pub cursor: u64,
    /// Its digest.
    pub digest: Digest,
    /// Whether whoever asked may write it.
    pub writes: bool,
    /// Whether whoever asked is the guardian of its owner.
    pub guards: bool,
    /// What its owner's account is called.
    pub owner_name: Option<String>,
    /// Notes from coaches that its archer has not read yet.
    pub unread: u64,
}

/// The logs of an account and those it coaches, or all.
#[derive(Debug)]
pub struct Logs {
    /// For whom.
    pub owner: Owner,
}

impl Op for Logs {
    type Out = Vec<LogInfo>;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Vec<LogInfo>, StoreError> {
        let select = "SELECT l.archer, l.owner, l.seq, l.records, l.hash_sum, coalesce(c.writes, 0), a.guardian, coalesce(a.name, ''),
                      (SELECT count(*) FROM notes n WHERE n.archer = l.archer AND n.read_ms = 0) FROM logs l LEFT JOIN coaches c ON c.archer = l.archer AND c.account = $1 AND c.agreed > 0 LEFT JOIN accounts a ON a.id = l.owner";
        let mut rows = match self.owner {
            Owner::Anyone => tx.rows(&format!("{select} ORDER BY l.archer"), &[Uuid::nil().into()]).await?,
            Owner::Account(account) => {
                // A guardian reads too.
                let sql = format!(
                    "{select} WHERE l.owner = $2 OR c.account IS NOT NULL OR a.guardian = $3 ORDER BY l.archer"
                );
                tx.rows(&sql, &[account.into(), account.into(), account.into()]).await?
            }
        };
        let (anyone, account) = (matches!(self.owner, Owner::Anyone), owner(self.owner));
        rows.iter_mut()
            .map(|r| {
                Ok(LogInfo {
                    archer: r.id(0)?,
                    owner: r.maybe_id(1)?,
                    cursor: r.int(2)?,
                    digest: Digest { records: r.int(3)?, sum: r.wide(4)? },
                    writes: anyone || r.maybe_id(1)? == account || r.int(5)? > 0,
                    guards: account.is_some() && r.maybe_id(6)? == account,
                    owner_name: Some(r.text(7)?).filter(|name| !name.is_empty()),
                    unread: r.int(8)?,
                })
            })
            .collect()
    }
}

/// The name that the archer of a log goes by there, when it has one.
#[derive(Debug)]
pub struct NameOf(pub Uuid);

impl Op for NameOf {
    type Out = Option<String>;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Option<String>, StoreError> {
        let sql = "SELECT json FROM records WHERE archer = $1 AND id = $2";
        let mut rows = tx.rows(sql, &[self.0.into(), self.0.into()]).await?;
        let Some(row) = rows.first_mut() else { return Ok(None) };
        let record: Option<Record> = serde_json::from_str(&row.text(0)?).ok();
        Ok(record.and_then(|r| match r.body {
            goldward_journal::Body::Archer(archer) => Some(archer.name),
            _ => None,
        }))
    }
}

/// Erases a log that belongs to that account, with everything about it; returns whether it did.
#[derive(Debug)]
pub struct EraseLog {
    /// Whose log.
    pub archer: Uuid,
    /// For whom.
    pub owner: Owner,
    /// The time.
    pub now_ms: u64,
}

impl Op for EraseLog {
    type Out = bool;
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<bool, StoreError> {
        let sql = format!("SELECT owner FROM logs WHERE archer = $1{}", T::FOR_UPDATE);
        let rows = tx.rows(&sql, &[self.archer.into()]).await?;
        let Some(row) = rows.first() else { return Ok(false) };
        if let Owner::Account(account) = self.owner
            && row.maybe_id(0)? != Some(account)
        {
            return Ok(false);
        }
        crate::accounts::erase(tx, self.archer, self.now_ms).await?;
        Ok(true)
    }
}

/// Whether the store takes something in: as much as a small request.
#[derive(Debug)]
pub struct Probe {
    /// The time.
    pub now_ms: u64,
}

impl Op for Probe {
    type Out = ();
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<(), StoreError> {
        // A row of its own before the last one goes: room that is taken already would tell nothing.
        let filler = format!("{:016x}", self.now_ms).repeat(PROBED / 16);
        let sql =
            "INSERT INTO probe (id, filler) VALUES ($1, $2) ON CONFLICT (id) DO UPDATE SET filler = excluded.filler";
        tx.rows(sql, &[self.now_ms.into(), filler.into()]).await?;
        tx.rows("DELETE FROM probe WHERE id <> $1", &[self.now_ms.into()]).await.map(|_| ())
    }
}

/// Bytes that a probe writes.
const PROBED: usize = 65_536;

/// Whether the store answers.
#[derive(Debug)]
pub struct Ping;

impl Op for Ping {
    type Out = ();
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<(), StoreError> {
        tx.rows("SELECT schema FROM goldward", &[]).await.map(|_| ())
    }
}
