//! Tokens of browsers and devices. They come in hashed; nothing here can give them back.

use goldward_journal::Uuid;

use crate::error::StoreError;
use crate::lock::lock_account;
use crate::{Op, Tx};

/// Most devices of an account.
pub const MOST_DEVICES: u64 = 100;

/// Most browsers of an account that are logged in; one more logs out the one that was not used for longest.
pub const MOST_SESSIONS: u64 = 100;

/// What a token is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TokenKind {
    /// A browser that has logged in.
    Session,
    /// A device that syncs.
    Device,
}

impl TokenKind {
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Session => "session",
            Self::Device => "device",
        }
    }
}

/// A token as it is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Token {
    /// Its id, by which it is revoked.
    pub id: Uuid,
    /// The SHA-256 of the secret.
    pub hash: [u8; 32],
    /// Whose.
    pub account: Uuid,
    /// For what.
    pub kind: TokenKind,
    /// What its owner calls it.
    pub label: String,
    /// When it was made, in milliseconds since 1970 UTC.
    pub made_ms: u64,
    /// When it ends.
    pub expires_ms: u64,
}

/// Keeps a token, and forgets those that have ended.
#[derive(Debug)]
pub struct AddToken(pub Token);

impl Op for AddToken {
    type Out = ();
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<(), StoreError> {
        let t = self.0;
        lock_account(tx, t.account).await?;
        tx.rows("DELETE FROM tokens WHERE expires_ms <= $1", &[t.made_ms.into()]).await?;
        let sql = "SELECT id FROM tokens WHERE account = $1 AND kind = $2 ORDER BY used_ms, id";
        let there = tx.rows(sql, &[t.account.into(), t.kind.name().into()]).await?;
        match t.kind {
            TokenKind::Device if there.len() as u64 >= MOST_DEVICES => {
                let what = "this account would have more devices than it may";
                return Err(StoreError::Quota { what, most: MOST_DEVICES, remedy: "end one that is no longer used" });
            }
            TokenKind::Session => {
                let surplus = (there.len() as u64 + 1).saturating_sub(MOST_SESSIONS);
                for row in there.iter().take(usize::try_from(surplus).unwrap_or(usize::MAX)) {
                    tx.rows("DELETE FROM tokens WHERE id = $1", &[row.id(0)?.into()]).await?;
                }
            }
            TokenKind::Device => {}
        }
        tx.rows(
            "INSERT INTO tokens (hash, id, account, kind, label, made_ms, expires_ms, used_ms)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
            &[
                t.hash.as_slice().into(),
                t.id.into(),
                t.account.into(),
                t.kind.name().into(),
                t.label.into(),
                t.made_ms.into(),
                t.expires_ms.into(),
                t.made_ms.into(),
            ],
        )
        .await?;
        Ok(())
    }
}

/// Of whom a token is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bearer {
    /// The account.
    pub account: Uuid,
    /// For what the token is.
    pub kind: TokenKind,
    /// Its id.
    pub token: Uuid,
    /// When it was made.
    pub made_ms: u64,
    /// When it was last used, to some minutes.
    pub used_ms: u64,
}

/// Finds out of whom a token is, by its hash, unless it has ended or was not used for too long.
#[derive(Debug)]
pub struct FindToken {
    /// The SHA-256 of the secret.
    pub hash: [u8; 32],
    /// The time, in milliseconds since 1970 UTC.
    pub now_ms: u64,
    /// How long a browser may be idle.
    pub idle_ms: u64,
}

impl Op for FindToken {
    type Out = Option<Bearer>;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Self::Out, StoreError> {
        let sql = "SELECT account, kind, id, made_ms, used_ms FROM tokens WHERE hash = $1 AND expires_ms > $2";
        let mut rows = tx.rows(sql, &[self.hash.as_slice().into(), self.now_ms.into()]).await?;
        let Some(row) = rows.first_mut() else { return Ok(None) };
        let kind = if row.text(1)? == "device" { TokenKind::Device } else { TokenKind::Session };
        let bearer =
            Bearer { account: row.id(0)?, kind, token: row.id(2)?, made_ms: row.int(3)?, used_ms: row.int(4)? };
        let idle = kind == TokenKind::Session && bearer.used_ms.saturating_add(self.idle_ms) <= self.now_ms;
        Ok((!idle).then_some(bearer))
    }
}

/// Notes that a token was used.
#[derive(Debug)]
pub struct Used {
    /// The token.
    pub token: Uuid,
    /// When.
    pub now_ms: u64,
}

impl Op for Used {
    type Out = ();
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<(), StoreError> {
        let sql = "UPDATE tokens SET used_ms = $1 WHERE id = $2 AND used_ms < $3";
        tx.rows(sql, &[self.now_ms.into(), self.token.into(), self.now_ms.into()]).await.map(|_| ())
    }
}

/// Ends a token of an account; returns whether there was one.
#[derive(Debug)]
pub struct EndToken {
    /// The account.
    pub account: Uuid,
    /// The id of the token.
    pub token: Uuid,
    /// What it is for.
    pub kind: TokenKind,
}

impl Op for EndToken {
    type Out = bool;
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<bool, StoreError> {
        let sql = "DELETE FROM tokens WHERE account = $1 AND id = $2 AND kind = $3 RETURNING id";
        Ok(!tx.rows(sql, &[self.account.into(), self.token.into(), self.kind.name().into()]).await?.is_empty())
    }
}

/// A token as its owner sees it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TokenInfo {
    /// Its id.
    pub id: Uuid,
    /// What its owner calls it.
    pub label: String,
    /// When it was made.
    pub made_ms: u64,
    /// When it ends.
    pub expires_ms: u64,
    /// When it was last used, to some minutes.
    pub used_ms: u64,
}

/// The tokens of an account that have not ended, oldest first.
#[derive(Debug)]
pub struct Tokens {
    /// The account.
    pub account: Uuid,
    /// Which of them.
    pub kind: TokenKind,
    /// The time, in milliseconds since 1970 UTC.
    pub now_ms: u64,
}

impl Op for Tokens {
    type Out = Vec<TokenInfo>;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Self::Out, StoreError> {
        let sql = "SELECT id, label, made_ms, expires_ms, used_ms FROM tokens
                   WHERE account = $1 AND kind = $2 AND expires_ms > $3 ORDER BY made_ms, id";
        let mut rows = tx.rows(sql, &[self.account.into(), self.kind.name().into(), self.now_ms.into()]).await?;
        rows.iter_mut()
            .map(|r| {
                Ok(TokenInfo {
                    id: r.id(0)?,
                    label: r.text(1)?,
                    made_ms: r.int(2)?,
                    expires_ms: r.int(3)?,
                    used_ms: r.int(4)?,
                })
            })
            .collect()
    }
}
