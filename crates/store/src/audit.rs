//! Whether what is kept of a log is what was once taken in: every hash, column and sum is computed anew.

use goldward_journal::{Digest, Record, Uuid, jsonl};

use crate::cell::{Cell, Row};
use crate::error::StoreError;
use crate::{Op, Tx};

/// Rows read at once.
const ROWS: u64 = 5_000;

/// Looks at every record of a log.
#[derive(Debug)]
pub struct Audit {
    /// Whose log.
    pub archer: Uuid,
}

/// What an [`Audit`] found.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Audited {
    /// The records that are sound.
    pub records: Vec<Record>,
    /// What is wrong, in words: empty when all is well.
    pub findings: Vec<String>,
}

impl Op for Audit {
    type Out = Audited;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Audited, StoreError> {
        let archer = self.archer;
        let mut out = Audited::default();
        let sql = "SELECT seq, records, hash_sum FROM logs WHERE archer = $1";
        let rows = tx.rows(sql, &[archer.into()]).await?;
        let kept = rows.first().map(|row| -> Result<_, StoreError> { Ok((row.int(0)?, row.int(1)?, row.wide(2)?)) });
        let Some(Ok((seq, records, sum))) = kept else {
            out.findings.push(format!("the log of {archer} has no line of its own, or one that is not readable"));
            return Ok(out);
        };
        let (mut digest, mut after) = (Digest::default(), Cell::Int(i64::MIN));
        loop {
            let sql = "SELECT seq, id, ms, counter, device, hash, session, json FROM records
                       WHERE archer = $1 AND seq > $2 ORDER BY seq LIMIT $3";
            let mut page = tx.rows(sql, &[archer.into(), after.clone(), ROWS.into()]).await?;
            let Some(Row(last)) = page.last() else { break };
            after = last.first().cloned().unwrap_or(Cell::Int(i64::MAX));
            for row in &mut page {
                match sound(row, archer, seq) {
                    Ok((record, hash)) => {
                        digest = digest.with(hash);
                        out.records.push(record);
                    }
                    Err(what) => {
                        let id = row.id(1).map_or_else(|_| "without an id".to_owned(), |id| id.to_string());
                        out.findings.push(format!("record {id} of the log of {archer}: {what}"));
                    }
                }
            }
        }
        let whole = Digest { records, sum };
        if out.findings.is_empty() && digest != whole {
            let found = digest.records;
            out.findings.push(format!(
                "the log of {archer} has {found} records that do not add up to the {records} that were taken in"
            ));
        }
        Ok(out)
    }
}

fn sound(row: &mut Row, archer: Uuid, latest: u64) -> Result<(Record, u128), String> {
    let odd = |_: StoreError| "a column holds what it should not".to_owned();
    let json = row.text(7).map_err(odd)?;
    let record = jsonl::read_line(&json).map_err(|e| e.to_string())?;
    let hash = record.hash();
    let columns = [
        ("its wire form", record.to_json() == json),
        ("hash", row.wide(5).map_err(odd)? == hash),
        ("archer", record.archer == archer),
        ("id", row.id(1).map_err(odd)? == record.id),
        ("ms", row.int(2).map_err(odd)? == record.stamp.ms),
        ("counter", row.int(3).map_err(odd)? == u64::from(record.stamp.counter)),
        ("device", row.id(4).map_err(odd)? == record.stamp.device),
        ("session", row.maybe_id(6).map_err(odd)? == record.body.session()),
        ("number", (1..=latest).contains(&row.int(0).map_err(odd)?)),
    ];
    match columns.iter().find(|(_, same)| !same) {
        None => Ok((record, hash)),
        Some((name, _)) => Err(format!("{name} is not what was written: it was changed on the disk")),
    }
}
