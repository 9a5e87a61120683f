//! What is asked of the logs.

use std::collections::HashMap;
use std::fmt::Write as _;

use goldward_journal::{Digest, Log, Record, Uuid};

use crate::cell::Cell;
use crate::error::StoreError;
use crate::{Op, Tx};

/// Rows of one statement; with nine columns each, well below what either database allows.
const ROWS: usize = 100;

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
    pub records: Vec<Record>,
    /// The number.
    pub after: u64,
    /// Most records given back.
    pub limit: u32,
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
        if !self.records.is_empty() {
            let empty: [Cell; 5] =
                [self.archer.into(), owner(self.owner).into(), 0u64.into(), 0u64.into(), 0u128.into()];
            tx.rows(
                "INSERT INTO logs (archer, owner, seq, records, hash_sum) VALUES ($1, $2, $3, $4, $5)
                 ON CONFLICT (archer) DO NOTHING",
                &empty,
            )
            .await?;
        }
        let lock = if self.records.is_empty() { "" } else { T::FOR_UPDATE };
        let sql = format!("SELECT owner, seq, records, hash_sum FROM logs WHERE archer = $1{lock}");
        let rows = tx.rows(&sql, &[self.archer.into()]).await?;
        let Some(row) = rows.first() else { return Ok(out) };
        out.digest = Digest { records: row.int(2)?, sum: row.wide(3)? };
        let mut seq = row.int(1)?;
        if !self.records.is_empty() {
            if let Owner::Account(account) = self.owner {
                if row.maybe_id(0)? != Some(account) {
                    return Err(StoreError::NotYours);
                }
            }
            // Of several versions of one record in a request only the winner counts.
            let log = Log::from_records(self.records);
            for part in log.sorted().chunks(ROWS) {
                let taken = take(tx, self.archer, part, seq, &mut out.digest, &mut sent).await?;
                out.accepted += taken;
                seq += taken;
            }
            if out.accepted > 0 {
                let now: [Cell; 4] = [seq.into(), out.digest.records.into(), out.digest.sum.into(), self.archer.into()];
                tx.rows("UPDATE logs SET seq = $1, records = $2, hash_sum = $3 WHERE archer = $4", &now).await?;
            }
        }
        out.cursor = self.after.min(seq);
        if self.limit > 0 {
            let given = tx
                .rows(
                    "SELECT seq, id, hash, json FROM records WHERE archer = $1 AND seq > $2 ORDER BY seq LIMIT $3",
                    &[self.archer.into(), out.cursor.into(), u64::from(self.limit).into()],
                )
                .await?;
            out.more = given.len() == self.limit as usize;
            out.json.reserve(given.len());
            for mut row in given {
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
    part: &[&Record],
    seq: u64,
    digest: &mut Digest,
    sent: &mut HashMap<Uuid, u128>,
) -> Result<u64, StoreError> {
    let mut sql = "SELECT id, ms, counter, device, hash FROM records WHERE archer = $1 AND id IN (".to_owned();
    let mut params: Vec<Cell> = vec![archer.into()];
    for (i, record) in part.iter().enumerate() {
        let _ = write!(sql, "{}${}", if i == 0 { "" } else { "," }, i + 2);
        params.push(record.id.into());
    }
    sql.push(')');
    let mut known = HashMap::new();
    for row in tx.rows(&sql, &params).await? {
        known.insert(row.id(0)?, (row.int(1)?, row.int(2)?, row.id(3)?, row.wide(4)?));
    }
    let mut sql = "INSERT INTO records (archer, id, seq, ms, counter, device, hash, session, json) VALUES ".to_owned();
    let mut params: Vec<Cell> = Vec::with_capacity(9 * part.len());
    let mut taken = 0;
    for record in part {
        let json = record.to_json();
        let hash = record.hash_of(&json);
        sent.insert(record.id, hash);
        let version = (record.stamp.ms, u64::from(record.stamp.counter), record.stamp.device, hash);
        match known.get(&record.id) {
            Some(there) if *there >= version => continue,
            Some(there) => *digest = digest.without(there.3),
            None => {}
        }
        *digest = digest.with(hash);
        let n = params.len();
        let _ = write!(sql, "{}(", if taken == 0 { "" } else { "," });
        for i in 1..=9 {
            let _ = write!(sql, "{}${}", if i == 1 { "" } else { "," }, n + i);
        }
        sql.push(')');
        taken += 1;
        params.extend::<[Cell; 9]>([
            archer.into(),
            record.id.into(),
            (seq + taken).into(),
            record.stamp.ms.into(),
            u64::from(record.stamp.counter).into(),
            record.stamp.device.into(),
            hash.into(),
            record.body.session().into(),
            json.into(),
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
        Exchange { archer, owner: Owner::Anyone, records: Vec::new(), after, limit }.run(tx).await
    }
}

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
        let select = "SELECT archer, owner, seq, records, hash_sum FROM logs";
        let rows = match self.owner {
            Owner::Anyone => tx.rows(&format!("{select} ORDER BY archer"), &[]).await?,
            Owner::Account(account) => {
                let sql = format!(
                    "{select} WHERE owner = $1 OR archer IN (SELECT archer FROM coaches WHERE account = $2) ORDER BY archer"
                );
                tx.rows(&sql, &[account.into(), account.into()]).await?
            }
        };
        rows.iter()
            .map(|r| {
                Ok(LogInfo {
                    archer: r.id(0)?,
                    owner: r.maybe_id(1)?,
                    cursor: r.int(2)?,
                    digest: Digest { records: r.int(3)?, sum: r.wide(4)? },
                })
            })
            .collect()
    }
}

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
