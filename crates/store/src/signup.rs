//! The link by which newcomers make their own accounts: one for the whole server, open until it ends, is full or is switched off.

use goldward_journal::Uuid;

use crate::accounts::{Account, AddAccount};
use crate::error::StoreError;
use crate::trail::{Entry, Note};
use crate::{Op, Tx};

/// The open link, as those who look after the server see it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Signup {
    /// When it was made, in milliseconds since 1970 UTC.
    pub made_ms: u64,
    /// When it ends.
    pub expires_ms: u64,
    /// How many more accounts it makes.
    pub room: u64,
}

/// Opens a link; the one before it works no more.
#[derive(Debug)]
pub struct OpenSignup {
    /// The SHA-256 of the secret.
    pub hash: [u8; 32],
    /// What it is.
    pub signup: Signup,
    /// Who opens it, to be told who came by it; nobody where it is opened on the machine itself.
    pub by: Option<Uuid>,
}

impl Op for OpenSignup {
    type Out = ();
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<(), StoreError> {
        let Signup { made_ms, expires_ms, room } = self.signup;
        // One row, so that of two who open one at once one link is left.
        let sql = "INSERT INTO signup (one, hash, made_ms, expires_ms, room, account) VALUES (1, $1, $2, $3, $4, $5)
                   ON CONFLICT (one) DO UPDATE SET hash = excluded.hash, made_ms = excluded.made_ms,
                   expires_ms = excluded.expires_ms, room = excluded.room, account = excluded.account";
        let values = [self.hash.as_slice().into(), made_ms.into(), expires_ms.into(), room.into(), self.by.into()];
        tx.rows(sql, &values).await.map(|_| ())
    }
}

/// Switches it off; returns whether there was one.
#[derive(Debug)]
pub struct CloseSignup;

impl Op for CloseSignup {
    type Out = bool;
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<bool, StoreError> {
        Ok(!tx.rows("DELETE FROM signup RETURNING one", &[]).await?.is_empty())
    }
}

/// The link that is open at that time.
#[derive(Debug)]
pub struct OpenedSignup {
    /// The time.
    pub now_ms: u64,
    /// Only where this is the SHA-256 of its secret.
    pub hash: Option<[u8; 32]>,
}

impl Op for OpenedSignup {
    type Out = Option<Signup>;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Option<Signup>, StoreError> {
        let sql = "SELECT made_ms, expires_ms, room, hash FROM signup WHERE expires_ms > $1 AND room > 0";
        let rows = tx.rows(sql, &[self.now_ms.into()]).await?;
        let Some(row) = rows.first() else { return Ok(None) };
        let other = self.hash.is_some_and(|hash| row.bytes(3).is_ok_and(|there| there != hash));
        let signup = Signup { made_ms: row.int(0)?, expires_ms: row.int(1)?, room: row.int(2)? };
        Ok((!other).then_some(signup))
    }
}

/// Makes an account by the link. Where the name is taken the link keeps its room.
#[derive(Debug)]
pub struct SignUp {
    /// The SHA-256 of the secret.
    pub hash: [u8; 32],
    /// The account.
    pub account: Account,
    /// Whether it is of somebody under age: others see its logs only when a guardian agrees.
    pub minor: bool,
    /// The time.
    pub now_ms: u64,
    /// Ids of the entries that it leaves in the trails of the newcomer and of whoever has opened the link.
    pub entries: [Uuid; 2],
}

impl Op for SignUp {
    type Out = bool;
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<bool, StoreError> {
        let sql =
            "UPDATE signup SET room = room - 1 WHERE hash = $1 AND expires_ms > $2 AND room > 0 RETURNING account";
        let rows = tx.rows(sql, &[self.hash.as_slice().into(), self.now_ms.into()]).await?;
        let Some(row) = rows.first() else { return Ok(false) };
        let by = row.maybe_id(0)?;
        let (id, name) = (self.account.id, self.account.name.clone());
        AddAccount { account: self.account, give: Vec::new() }.run(tx).await?;
        if self.minor {
            tx.rows("UPDATE accounts SET minor = 1 WHERE id = $1", &[id.into()]).await?;
        }
        let [mine, theirs] = self.entries;
        let entry =
            |id, account, what: &str, about| Entry { id, account, at_ms: self.now_ms, what: what.to_owned(), about };
        Note(entry(mine, id, "signed_up", String::new())).run(tx).await?;
        if let Some(by) = by {
            Note(entry(theirs, by, "newcomer", name)).run(tx).await?;
        }
        Ok(true)
    }
}
