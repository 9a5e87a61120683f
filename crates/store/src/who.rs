//! Who may see whose log; and accounts and tokens, gathered from their own files. Passwords and tokens come in hashed; nothing here
//! can give them back.

use goldward_journal::Uuid;

pub use crate::accounts::{
    Account, AccountOf, Accounts, AddAccount, CountAccounts, FindAccount, GiveLog, LONGEST_NAME, Logs as LogsOf,
    RemoveAccount, Rename, SetPassword, is_name, name_key,
};
pub use crate::tokens::{
    AddToken, Bearer, EndToken, FindToken, MOST_DEVICES, MOST_SESSIONS, Token, TokenInfo, TokenKind, Tokens, Used,
};

use crate::accounts::had_erased;
use crate::error::StoreError;
use crate::{Op, Tx};

/// What an account may do with a log.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Access {
    /// There is no such log yet: whoever writes first owns it.
    Free,
    /// It is the account's own.
    Owner,
    /// The account coaches its archer, and may read.
    Coach,
    /// The account had it, and it was erased.
    Erased,
    /// Nothing: to the account it does not exist.
    None,
}

/// Asks that.
#[derive(Debug)]
pub struct AskAccess {
    /// The account.
    pub account: Uuid,
    /// The log.
    pub archer: Uuid,
}

impl Op for AskAccess {
    type Out = Access;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Access, StoreError> {
        let rows = tx.rows("SELECT owner FROM logs WHERE archer = $1", &[self.archer.into()]).await?;
        let Some(row) = rows.first() else {
            let erased = had_erased(tx, self.archer, self.account).await?;
            return Ok(if erased { Access::Erased } else { Access::Free });
        };
        if row.maybe_id(0)? == Some(self.account) {
            return Ok(Access::Owner);
        }
        let sql = "SELECT since_ms FROM coaches WHERE archer = $1 AND account = $2";
        let coach = !tx.rows(sql, &[self.archer.into(), self.account.into()]).await?.is_empty();
        Ok(if coach { Access::Coach } else { Access::None })
    }
}

/// Keeps others from changing who sees the log until the end of the transaction.
async fn lock_log<T: Tx>(tx: &mut T, archer: Uuid) -> Result<(), StoreError> {
    let sql = format!("SELECT archer FROM logs WHERE archer = $1{}", T::FOR_UPDATE);
    if tx.rows(&sql, &[archer.into()]).await?.is_empty() { Err(StoreError::NotYours) } else { Ok(()) }
}

/// Most open invitations of a log.
pub const MOST_INVITATIONS: u64 = 50;

/// Most coaches of a log.
pub const MOST_COACHES: u64 = 100;

/// Keeps an invitation to coach, and forgets those that have ended.
#[derive(Debug)]
pub struct Invite {
    /// The log.
    pub archer: Uuid,
    /// The SHA-256 of the secret.
    pub hash: [u8; 32],
    /// The time.
    pub now_ms: u64,
    /// When it ends.
    pub expires_ms: u64,
}

impl Op for Invite {
    type Out = ();
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<(), StoreError> {
        lock_log(tx, self.archer).await?;
        tx.rows("DELETE FROM invitations WHERE expires_ms <= $1", &[self.now_ms.into()]).await?;
        let open = tx.rows("SELECT count(*) FROM invitations WHERE archer = $1", &[self.archer.into()]).await?;
        if open.first().map_or(Ok(0), |r| r.int(0))? >= MOST_INVITATIONS {
            let what = "this log would have more open invitations than it may";
            let remedy = "take one back, or wait until one ends";
            return Err(StoreError::Quota { what, most: MOST_INVITATIONS, remedy });
        }
        let sql = "INSERT INTO invitations (hash, archer, expires_ms) VALUES ($1, $2, $3)";
        tx.rows(sql, &[self.hash.as_slice().into(), self.archer.into(), self.expires_ms.into()]).await?;
        Ok(())
    }
}

/// Takes an invitation, which works once; returns the archer.
#[derive(Debug)]
pub struct Accept {
    /// The SHA-256 of the secret.
    pub hash: [u8; 32],
    /// Who takes it.
    pub account: Uuid,
    /// The time.
    pub now_ms: u64,
}

impl Op for Accept {
    type Out = Option<Uuid>;
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Option<Uuid>, StoreError> {
        let sql = "DELETE FROM invitations WHERE hash = $1 RETURNING archer, expires_ms";
        let rows = tx.rows(sql, &[self.hash.as_slice().into()]).await?;
        let Some(row) = rows.first() else { return Ok(None) };
        if row.int(1)? <= self.now_ms {
            return Ok(None);
        }
        let archer = row.id(0)?;
        lock_log(tx, archer).await?;
        let there = tx.rows("SELECT count(*) FROM coaches WHERE archer = $1", &[archer.into()]).await?;
        if there.first().map_or(Ok(0), |r| r.int(0))? >= MOST_COACHES {
            let what = "this log would have more coaches than it may";
            return Err(StoreError::Quota { what, most: MOST_COACHES, remedy: "its archer revokes one first" });
        }
        let sql = "INSERT INTO coaches (archer, account, since_ms) VALUES ($1, $2, $3) ON CONFLICT DO NOTHING";
        tx.rows(sql, &[archer.into(), self.account.into(), self.now_ms.into()]).await?;
        Ok(Some(archer))
    }
}

/// The coaches of a log: id, name and since when.
#[derive(Debug)]
pub struct Coaches(pub Uuid);

impl Op for Coaches {
    type Out = Vec<(Uuid, String, u64)>;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Self::Out, StoreError> {
        let sql = "SELECT a.id, a.name, c.since_ms FROM coaches c JOIN accounts a ON a.id = c.account
                   WHERE c.archer = $1 ORDER BY a.name";
        let mut rows = tx.rows(sql, &[self.0.into()]).await?;
        rows.iter_mut().map(|r| Ok((r.id(0)?, r.text(1)?, r.int(2)?))).collect()
    }
}

/// The logs that an account coaches, and since when.
#[derive(Debug)]
pub struct CoachedBy(pub Uuid);

impl Op for CoachedBy {
    type Out = Vec<(Uuid, u64)>;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Self::Out, StoreError> {
        let sql = "SELECT archer, since_ms FROM coaches WHERE account = $1 ORDER BY since_ms, archer";
        tx.rows(sql, &[self.0.into()]).await?.iter().map(|r| Ok((r.id(0)?, r.int(1)?))).collect()
    }
}

/// Ends what a coach may see, and all open invitations of the log; returns whether there was such a coach.
#[derive(Debug)]
pub struct RevokeCoach {
    /// The log.
    pub archer: Uuid,
    /// The coach's account.
    pub account: Uuid,
}

impl Op for RevokeCoach {
    type Out = bool;
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<bool, StoreError> {
        tx.rows("DELETE FROM invitations WHERE archer = $1", &[self.archer.into()]).await?;
        let sql = "DELETE FROM coaches WHERE archer = $1 AND account = $2 RETURNING account";
        Ok(!tx.rows(sql, &[self.archer.into(), self.account.into()]).await?.is_empty())
    }
}
