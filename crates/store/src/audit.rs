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
    /// What is wrong: empty when all is well.
    pub findings: Vec<Damage>,
}

/// What an [`Audit`] found wrong with a log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Damage {
    /// The log has no line of its own, or one that is not readable.
    NoLine {
        /// Whose log.
        archer: Uuid,
    },
    /// A record that cannot be read.
    Unreadable {
        /// Whose log.
        archer: Uuid,
        /// Which, where that is readable.
        id: Option<Uuid>,
        /// Why, for those who mend it.
        why: String,
    },
    /// A column of a record that is not what was written.
    Changed {
        /// Whose log.
        archer: Uuid,
        /// Which, where that is readable.
        id: Option<Uuid>,
        /// Which column.
        column: &'static str,
    },
    /// Every record is sound, and they are not those that were taken in.
    Sum {
        /// Whose log.
        archer: Uuid,
        /// How many there are.
        found: u64,
        /// How many there were.
        taken: u64,
    },
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
            out.findings.push(Damage::NoLine { archer });
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
                    Err(damage) => out.findings.push(damage),
                }
            }
        }
        let whole = Digest { records, sum };
        if out.findings.is_empty() && digest != whole {
            out.findings.push(Damage::Sum { archer, found: digest.records, taken: records });
        }
        Ok(out)
    }
}

fn sound(row: &mut Row, archer: Uuid, latest: u64) -> Result<(Record, u128), Damage> {
    let id = row.id(1).ok();
    let unreadable = |why: String| Damage::Unreadable { archer, id, why };
    let odd = |_: StoreError| unreadable("a column holds what it should not".to_owned());
    let json = row.text(7).map_err(odd)?;
    let record = jsonl::read_line(&json).map_err(|e| unreadable(e.to_string()))?;
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
        Some((column, _)) => Err(Damage::Changed { archer, id, column }),
    }
}
