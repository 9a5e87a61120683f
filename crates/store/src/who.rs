//! Accounts, tokens, and who may see whose log. Passwords and tokens come in hashed; nothing here can give them back.

use goldward_journal::Uuid;

use crate::error::StoreError;
use crate::{Op, Tx};

/// An account.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Account {
    /// Its id.
    pub id: Uuid,
    /// Its name.
    pub name: String,
    /// The hash of its password, in the PHC format.
    pub password: String,
}

/// Makes an account.
#[derive(Debug)]
pub struct AddAccount(pub Account);

impl Op for AddAccount {
    type Out = ();
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<(), StoreError> {
        let Account { id, name, password } = self.0;
        let made = tx
            .rows(
                "INSERT INTO accounts (id, name, password) VALUES ($1, $2, $3) ON CONFLICT (name) DO NOTHING RETURNING id",
                &[id.into(), name.into(), password.into()],
            )
            .await?;
        if made.is_empty() { Err(StoreError::NameTaken) } else { Ok(()) }
    }
}

/// Sets another password; the browsers of the account are logged out.
#[derive(Debug)]
pub struct SetPassword {
    /// The account.
    pub account: Uuid,
    /// The hash of the new password.
    pub password: String,
    /// The session that stays.
    pub keep: Option<Uuid>,
    /// Whether the tokens of its devices end too.
    pub end_devices: bool,
}

impl Op for SetPassword {
    type Out = ();
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<(), StoreError> {
        tx.rows("UPDATE accounts SET password = $1 WHERE id = $2", &[self.password.into(), self.account.into()])
            .await?;
        // No token has this id: it keeps none.
        let keep = self.keep.unwrap_or(Uuid::nil());
        for kind in [Some(TokenKind::Session), self.end_devices.then_some(TokenKind::Device)].into_iter().flatten() {
            let sql = "DELETE FROM tokens WHERE account = $1 AND kind = $2 AND id <> $3";
            tx.rows(sql, &[self.account.into(), kind.name().into(), keep.into()]).await?;
        }
        Ok(())
    }
}

/// Finds an account by its name.
#[derive(Debug)]
pub struct FindAccount(pub String);

impl Op for FindAccount {
    type Out = Option<Account>;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Option<Account>, StoreError> {
        let mut rows = tx.rows("SELECT id, name, password FROM accounts WHERE name = $1", &[self.0.into()]).await?;
        rows.first_mut().map(|r| Ok(Account { id: r.id(0)?, name: r.text(1)?, password: r.text(2)? })).transpose()
    }
}

/// Finds an account by its id.
#[derive(Debug)]
pub struct AccountOf(pub Uuid);

impl Op for AccountOf {
    type Out = Option<Account>;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Option<Account>, StoreError> {
        let mut rows = tx.rows("SELECT id, name, password FROM accounts WHERE id = $1", &[self.0.into()]).await?;
        rows.first_mut().map(|r| Ok(Account { id: r.id(0)?, name: r.text(1)?, password: r.text(2)? })).transpose()
    }
}

/// How many accounts there are.
#[derive(Debug)]
pub struct CountAccounts;

impl Op for CountAccounts {
    type Out = u64;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<u64, StoreError> {
        tx.rows("SELECT count(*) FROM accounts", &[]).await?.first().map_or(Ok(0), |r| r.int(0))
    }
}

/// What a token is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TokenKind {
    /// A browser that has logged in.
    Session,
    /// A device that syncs.
    Device,
}

impl TokenKind {
    fn name(self) -> &'static str {
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
        tx.rows("DELETE FROM tokens WHERE expires_ms <= $1", &[t.made_ms.into()]).await?;
        tx.rows(
            "INSERT INTO tokens (hash, id, account, kind, label, made_ms, expires_ms) VALUES ($1, $2, $3, $4, $5, $6, $7)",
            &[
                t.hash.as_slice().into(),
                t.id.into(),
                t.account.into(),
                t.kind.name().into(),
                t.label.into(),
                t.made_ms.into(),
                t.expires_ms.into(),
            ],
        )
        .await?;
        Ok(())
    }
}

/// Finds the account and the kind of a token that has not ended, by its hash.
#[derive(Debug)]
pub struct FindToken {
    /// The SHA-256 of the secret.
    pub hash: [u8; 32],
    /// The time, in milliseconds since 1970 UTC.
    pub now_ms: u64,
}

impl Op for FindToken {
    type Out = Option<(Uuid, TokenKind, Uuid)>;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Self::Out, StoreError> {
        let sql = "SELECT account, kind, id FROM tokens WHERE hash = $1 AND expires_ms > $2";
        let mut rows = tx.rows(sql, &[self.hash.as_slice().into(), self.now_ms.into()]).await?;
        rows.first_mut()
            .map(|r| {
                let kind = if r.text(1)? == "device" { TokenKind::Device } else { TokenKind::Session };
                Ok((r.id(0)?, kind, r.id(2)?))
            })
            .transpose()
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

/// The tokens of an account that have not ended: id, label, when made and when they end.
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
    type Out = Vec<(Uuid, String, u64, u64)>;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Self::Out, StoreError> {
        let sql = "SELECT id, label, made_ms, expires_ms FROM tokens
                   WHERE account = $1 AND kind = $2 AND expires_ms > $3 ORDER BY made_ms, id";
        let mut rows = tx.rows(sql, &[self.account.into(), self.kind.name().into(), self.now_ms.into()]).await?;
        rows.iter_mut().map(|r| Ok((r.id(0)?, r.text(1)?, r.int(2)?, r.int(3)?))).collect()
    }
}

/// What an account may do with a log.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Access {
    /// There is no such log yet: whoever writes first owns it.
    Free,
    /// It is the account's own.
    Owner,
    /// The account coaches its archer, and may read.
    Coach,
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
        let Some(row) = rows.first() else { return Ok(Access::Free) };
        if row.maybe_id(0)? == Some(self.account) {
            return Ok(Access::Owner);
        }
        let sql = "SELECT since_ms FROM coaches WHERE archer = $1 AND account = $2";
        let coach = !tx.rows(sql, &[self.archer.into(), self.account.into()]).await?.is_empty();
        Ok(if coach { Access::Coach } else { Access::None })
    }
}

/// Gives a log that has no owner (written before there were accounts) to an account; returns whether it could.
#[derive(Debug)]
pub struct GiveLog {
    /// The log.
    pub archer: Uuid,
    /// The account.
    pub account: Uuid,
}

impl Op for GiveLog {
    type Out = bool;
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<bool, StoreError> {
        let sql = "UPDATE logs SET owner = $1 WHERE archer = $2 AND owner IS NULL RETURNING archer";
        Ok(!tx.rows(sql, &[self.account.into(), self.archer.into()]).await?.is_empty())
    }
}

/// Keeps an invitation to coach.
#[derive(Debug)]
pub struct Invite {
    /// The log.
    pub archer: Uuid,
    /// The SHA-256 of the secret.
    pub hash: [u8; 32],
    /// When it ends.
    pub expires_ms: u64,
}

impl Op for Invite {
    type Out = ();
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<(), StoreError> {
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
