//! The second factor of an account: a secret that an authenticator shares with the server, and codes for whoever has lost it. The codes
//! come in hashed; the secret has to be kept as it is.

use goldward_journal::Uuid;

use crate::cell::Row;
use crate::error::StoreError;
use crate::lock::lock_account;
use crate::{Op, Tx};

/// What an account has of it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Second {
    /// The secret that is asked for at every login.
    pub secret: Option<Vec<u8>>,
    /// A secret that was made and is not yet shown to work.
    pub waiting: Option<Vec<u8>>,
    /// Recovery codes that are left.
    pub recovery: u64,
}

/// Asks for that.
#[derive(Debug)]
pub struct SecondOf(pub Uuid);

impl Op for SecondOf {
    type Out = Second;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Second, StoreError> {
        let rows = tx.rows("SELECT totp, totp_new FROM accounts WHERE id = $1", &[self.0.into()]).await?;
        let Some(row) = rows.first() else { return Ok(Second::default()) };
        let bytes = |row: &Row, column| Ok::<_, StoreError>(row.maybe_bytes(column)?.map(<[u8]>::to_vec));
        let left = tx.rows("SELECT count(*) FROM recovery WHERE account = $1", &[self.0.into()]).await?;
        let recovery = left.first().map_or(Ok(0), |r| r.int(0))?;
        Ok(Second { secret: bytes(row, 0)?, waiting: bytes(row, 1)?, recovery })
    }
}

/// Keeps a fresh secret until it is shown to work; the one before it goes on to be asked for.
#[derive(Debug)]
pub struct Prepare {
    /// The account.
    pub account: Uuid,
    /// The secret.
    pub secret: Vec<u8>,
}

impl Op for Prepare {
    type Out = ();
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<(), StoreError> {
        let sql = "UPDATE accounts SET totp_new = $1 WHERE id = $2";
        tx.rows(sql, &[self.secret.as_slice().into(), self.account.into()]).await.map(|_| ())
    }
}

/// Asks for the secret from now on, with these recovery codes in place of all others. Returns whether that secret was waiting.
#[derive(Debug)]
pub struct Confirm {
    /// The account.
    pub account: Uuid,
    /// The secret that was shown to work.
    pub secret: Vec<u8>,
    /// The step of the code that showed it: that code is used up.
    pub step: u64,
    /// Hashes of the recovery codes.
    pub recovery: Vec<[u8; 32]>,
}

impl Op for Confirm {
    type Out = bool;
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<bool, StoreError> {
        lock_account(tx, self.account).await?;
        let sql = "UPDATE accounts SET totp = totp_new, totp_new = NULL, totp_step = $1
                   WHERE id = $2 AND totp_new = $3 RETURNING id";
        let confirmed = tx.rows(sql, &[self.step.into(), self.account.into(), self.secret.as_slice().into()]).await?;
        if confirmed.is_empty() {
            return Ok(false);
        }
        tx.rows("DELETE FROM recovery WHERE account = $1", &[self.account.into()]).await?;
        for hash in &self.recovery {
            let sql = "INSERT INTO recovery (hash, account) VALUES ($1, $2)";
            tx.rows(sql, &[hash.as_slice().into(), self.account.into()]).await?;
        }
        Ok(true)
    }
}

/// Uses up the code of a step; returns whether neither it nor a later one was used before.
#[derive(Debug)]
pub struct UseStep {
    /// The account.
    pub account: Uuid,
    /// The step.
    pub step: u64,
}

impl Op for UseStep {
    type Out = bool;
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<bool, StoreError> {
        let sql = "UPDATE accounts SET totp_step = $1 WHERE id = $2 AND totp_step < $3 RETURNING id";
        Ok(!tx.rows(sql, &[self.step.into(), self.account.into(), self.step.into()]).await?.is_empty())
    }
}

/// Uses up a recovery code; returns whether there was such a one.
#[derive(Debug)]
pub struct UseRecovery {
    /// The account.
    pub account: Uuid,
    /// The hash of the code.
    pub hash: [u8; 32],
}

impl Op for UseRecovery {
    type Out = bool;
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<bool, StoreError> {
        let sql = "DELETE FROM recovery WHERE account = $1 AND hash = $2 RETURNING account";
        Ok(!tx.rows(sql, &[self.account.into(), self.hash.as_slice().into()]).await?.is_empty())
    }
}

/// Asks for a second factor no more; returns whether there was one.
#[derive(Debug)]
pub struct RemoveSecond(pub Uuid);

impl Op for RemoveSecond {
    type Out = bool;
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<bool, StoreError> {
        tx.rows("DELETE FROM recovery WHERE account = $1", &[self.0.into()]).await?;
        let sql = "SELECT id FROM accounts WHERE id = $1 AND totp IS NOT NULL";
        let there = !tx.rows(sql, &[self.0.into()]).await?.is_empty();
        tx.rows("UPDATE accounts SET totp = NULL, totp_new = NULL WHERE id = $1", &[self.0.into()]).await?;
        Ok(there)
    }
}
