//! What an account may do with a log: asked before everything that is done with one.

use goldward_journal::Uuid;

use crate::Tx;
use crate::accounts::had_erased;
use crate::error::StoreError;

/// What an account may do with a log.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Access {
    /// There is no such log yet: whoever writes first owns it.
    Free,
    /// It is the account's own.
    Owner,
    /// The account is the guardian of its owner, and reads.
    Guardian,
    /// The account coaches its archer, and may read.
    Coach,
    /// The account coaches its archer, and may read and write.
    Writer,
    /// The account had it, and it was erased.
    Erased,
    /// Nothing: to the account it does not exist.
    None,
}

/// That, and what is known of a coach.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sight {
    /// What the account may do.
    pub access: Access,
    /// Whether it is the guardian of its owner, a coach too or not: then it decides who else sees the log.
    pub guards: bool,
    /// When a coach has last read the log, to an hour; 0 for never. Nothing for others.
    pub read_ms: Option<u64>,
}

/// What an account may do with a log, in one statement.
pub(crate) async fn access<T: Tx>(tx: &mut T, archer: Uuid, account: Uuid) -> Result<Sight, StoreError> {
    let sql =
        "SELECT l.owner, c.account, coalesce(c.writes, 0), coalesce(c.agreed, 0), coalesce(c.read_ms, 0), a.guardian
               FROM logs l LEFT JOIN coaches c ON c.archer = l.archer AND c.account = $1
               LEFT JOIN accounts a ON a.id = l.owner WHERE l.archer = $2";
    let rows = tx.rows(sql, &[account.into(), archer.into()]).await?;
    let told = |access| Sight { access, guards: false, read_ms: None };
    let Some(row) = rows.first() else {
        let erased = had_erased(tx, archer, account).await?;
        return Ok(told(if erased { Access::Erased } else { Access::Free }));
    };
    if row.maybe_id(0)? == Some(account) {
        return Ok(told(Access::Owner));
    }
    let guards = row.maybe_id(5)? == Some(account);
    if row.maybe_id(1)?.is_none() || row.int(3)? == 0 {
        return Ok(Sight { guards, ..told(if guards { Access::Guardian } else { Access::None }) });
    }
    let access = if row.int(2)? > 0 { Access::Writer } else { Access::Coach };
    Ok(Sight { access, guards, read_ms: Some(row.int(4)?) })
}
