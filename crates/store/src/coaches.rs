//! Who else may see a log, or write it too: coaches, invited by its archer, until they are revoked.

use goldward_journal::Uuid;

use crate::cell::Row;
use crate::error::StoreError;
use crate::lock::lock_account;
use crate::trail::{Entry, Note};
use crate::{Op, Tx};

/// Keeps others from changing who sees the log until the end of the transaction; returns whose it is.
pub(crate) async fn lock_log<T: Tx>(tx: &mut T, archer: Uuid) -> Result<Option<Uuid>, StoreError> {
    let sql = format!("SELECT owner FROM logs WHERE archer = $1{}", T::FOR_UPDATE);
    tx.rows(&sql, &[archer.into()]).await?.first().ok_or(StoreError::NotYours)?.maybe_id(0)
}

/// Most open invitations of a log.
pub const MOST_INVITATIONS: u64 = 50;

/// Most coaches of a log.
pub const MOST_COACHES: u64 = 100;

/// An open invitation, as the archer sees it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Invitation {
    /// By this it is taken back.
    pub id: Uuid,
    /// Whether it lets write too.
    pub writes: bool,
    /// When it was made, in milliseconds since 1970 UTC.
    pub made_ms: u64,
    /// When it ends.
    pub expires_ms: u64,
}

/// Keeps an invitation to coach, and forgets those that have ended.
#[derive(Debug)]
pub struct Invite {
    /// The log.
    pub archer: Uuid,
    /// The SHA-256 of the secret.
    pub hash: [u8; 32],
    /// What it is.
    pub invitation: Invitation,
}

impl Op for Invite {
    type Out = ();
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<(), StoreError> {
        lock_log(tx, self.archer).await?;
        let Invitation { id, writes, made_ms, expires_ms } = self.invitation;
        tx.rows("DELETE FROM invitations WHERE expires_ms <= $1", &[made_ms.into()]).await?;
        let open = tx.rows("SELECT count(*) FROM invitations WHERE archer = $1", &[self.archer.into()]).await?;
        if open.first().map_or(Ok(0), |r| r.int(0))? >= MOST_INVITATIONS {
            let what = "this log would have more open invitations than it may";
            let remedy = "take one back, or wait until one ends";
            return Err(StoreError::Quota { what, most: MOST_INVITATIONS, remedy });
        }
        let sql =
            "INSERT INTO invitations (hash, archer, expires_ms, id, made_ms, writes) VALUES ($1, $2, $3, $4, $5, $6)";
        let values = [
            self.hash.as_slice().into(),
            self.archer.into(),
            expires_ms.into(),
            id.into(),
            made_ms.into(),
            u64::from(writes).into(),
        ];
        tx.rows(sql, &values).await?;
        Ok(())
    }
}

/// The open invitations of a log, the latest first.
#[derive(Debug)]
pub struct Invitations {
    /// The log.
    pub archer: Uuid,
    /// The time.
    pub now_ms: u64,
}

impl Op for Invitations {
    type Out = Vec<Invitation>;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Self::Out, StoreError> {
        let sql = "SELECT id, writes, made_ms, expires_ms FROM invitations
                   WHERE archer = $1 AND expires_ms > $2 AND id IS NOT NULL ORDER BY made_ms DESC, id";
        let read =
            |r: &Row| Ok(Invitation { id: r.id(0)?, writes: r.int(1)? > 0, made_ms: r.int(2)?, expires_ms: r.int(3)? });
        tx.rows(sql, &[self.archer.into(), self.now_ms.into()]).await?.iter().map(read).collect()
    }
}

/// Takes an open invitation back; returns whether there was one.
#[derive(Debug)]
pub struct TakeBack {
    /// The log.
    pub archer: Uuid,
    /// The invitation.
    pub invitation: Uuid,
}

impl Op for TakeBack {
    type Out = bool;
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<bool, StoreError> {
        let sql = "DELETE FROM invitations WHERE archer = $1 AND id = $2 RETURNING id";
        Ok(!tx.rows(sql, &[self.archer.into(), self.invitation.into()]).await?.is_empty())
    }
}

/// Takes an invitation, which works once; none to the account's own log. Both who takes it and whose log it is can read so.
#[derive(Debug)]
pub struct Accept {
    /// The SHA-256 of the secret.
    pub hash: [u8; 32],
    /// Who takes it.
    pub account: Uuid,
    /// The time.
    pub now_ms: u64,
    /// Ids of the entries that it leaves in the trails of who takes it, of whose log it is, and of a guardian who is asked.
    pub entries: [Uuid; 3],
}

/// An invitation that was taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Accepted {
    /// Whose log it is.
    pub archer: Uuid,
    /// Name of the account whose log it is.
    pub from: Option<String>,
    /// Whether it may be written too.
    pub writes: bool,
    /// Whether a guardian has to agree first: until then nothing is seen.
    pub waits: bool,
}

pub(crate) async fn name_of<T: Tx>(tx: &mut T, account: Uuid) -> Result<Option<String>, StoreError> {
    tx.rows("SELECT name FROM accounts WHERE id = $1", &[account.into()])
        .await?
        .first_mut()
        .map(|r| r.text(0))
        .transpose()
}

impl Op for Accept {
    type Out = Option<Accepted>;
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Option<Accepted>, StoreError> {
        // Whose log it is stays as it is meanwhile, and is locked before the log, as everywhere.
        let sql = "SELECT l.owner FROM invitations i JOIN logs l ON l.archer = i.archer WHERE i.hash = $1";
        let rows = tx.rows(sql, &[self.hash.as_slice().into()]).await?;
        let before = rows.first().map(|r| r.maybe_id(0)).transpose()?.flatten();
        if let Some(owner) = before {
            lock_account(tx, owner).await?;
        }
        // Opened by the archer who made it, it stays for whom it was made.
        let sql = "DELETE FROM invitations WHERE hash = $1 AND archer NOT IN (SELECT archer FROM logs WHERE owner = $2)
                   RETURNING archer, expires_ms, writes";
        let rows = tx.rows(sql, &[self.hash.as_slice().into(), self.account.into()]).await?;
        let Some(row) = rows.first() else { return Ok(None) };
        if row.int(1)? <= self.now_ms {
            return Ok(None);
        }
        let (archer, writes) = (row.id(0)?, row.int(2)? > 0);
        let owner = lock_log(tx, archer).await?;
        if owner != before {
            return Err(StoreError::Unavailable("the log has changed hands meanwhile".to_owned()));
        }
        let (mut minor, mut guardian) = (false, None);
        if let Some(owner) = owner {
            let rows = tx.rows("SELECT minor, guardian FROM accounts WHERE id = $1", &[owner.into()]).await?;
            if let Some(row) = rows.first() {
                (minor, guardian) = (row.int(0)? > 0, row.maybe_id(1)?);
            }
        }
        let there = tx.rows("SELECT count(*) FROM coaches WHERE archer = $1", &[archer.into()]).await?;
        if there.first().map_or(Ok(0), |r| r.int(0))? >= MOST_COACHES {
            let what = "this log would have more coaches than it may";
            return Err(StoreError::Quota { what, most: MOST_COACHES, remedy: "its archer revokes one first" });
        }
        // Who coaches already gets what the later invitation gives, and never less than before. What a guardian has agreed to is not
        // made more without being asked.
        let sql = "INSERT INTO coaches (archer, account, since_ms, writes, agreed) VALUES ($1, $2, $3, $4, $5)
                   ON CONFLICT (archer, account) DO UPDATE SET
                   agreed = CASE WHEN excluded.agreed = 0 AND excluded.writes > coaches.writes THEN 0 ELSE coaches.agreed END,
                   writes = CASE WHEN coaches.writes > 0 THEN coaches.writes ELSE excluded.writes END
                   RETURNING writes, agreed";
        let agreed = u64::from(!minor);
        let values = [archer.into(), self.account.into(), self.now_ms.into(), u64::from(writes).into(), agreed.into()];
        let rows = tx.rows(sql, &values).await?;
        let (writes, agreed) = rows.first().map_or(Ok((0, 0)), |r| Ok::<_, StoreError>((r.int(0)?, r.int(1)?)))?;
        let (writes, waits) = (writes > 0, agreed == 0);
        let [mine, theirs, asked] = self.entries;
        let entry =
            |id, account, what: &str, about| Entry { id, account, at_ms: self.now_ms, what: what.to_owned(), about };
        Note(entry(mine, self.account, "coach_accepted", archer.to_string())).run(tx).await?;
        let mut from = None;
        if let Some(owner) = owner {
            let coach = name_of(tx, self.account).await?.unwrap_or_default();
            if let Some(guardian) = guardian.filter(|_| waits) {
                Note(entry(asked, guardian, "consent_asked", coach.clone())).run(tx).await?;
            }
            Note(entry(theirs, owner, "coach_joined", coach)).run(tx).await?;
            from = name_of(tx, owner).await?;
        }
        Ok(Some(Accepted { archer, from, writes, waits }))
    }
}

/// A coach of a log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Coach {
    /// The account.
    pub account: Uuid,
    /// Its name.
    pub name: String,
    /// Since when, in milliseconds since 1970 UTC.
    pub since_ms: u64,
    /// Whether it may write too.
    pub writes: bool,
    /// When the log was last read, to an hour; 0 where it never was.
    pub read_ms: u64,
    /// Whether it sees the log: of somebody under age only once a guardian has agreed.
    pub agreed: bool,
}

/// Reading is kept to so many milliseconds: a coach who looks on asks every few seconds.
const READ_MS: u64 = 3_600_000;

/// Whether it is to be kept that a coach reads a log who has last read it then.
#[must_use]
pub fn is_read_anew(read_ms: u64, now_ms: u64) -> bool {
    read_ms <= now_ms.saturating_sub(READ_MS)
}

/// Keeps that a coach reads a log, for its archer to see.
#[derive(Debug, Clone, Copy)]
pub struct KeepRead {
    /// The log.
    pub archer: Uuid,
    /// The coach's account.
    pub account: Uuid,
    /// The time.
    pub now_ms: u64,
}

impl Op for KeepRead {
    type Out = ();
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<(), StoreError> {
        let sql = "UPDATE coaches SET read_ms = $1 WHERE archer = $2 AND account = $3";
        tx.rows(sql, &[self.now_ms.into(), self.archer.into(), self.account.into()]).await.map(|_| ())
    }
}

/// The coaches of a log, by name.
#[derive(Debug)]
pub struct Coaches(pub Uuid);

impl Op for Coaches {
    type Out = Vec<Coach>;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Self::Out, StoreError> {
        let sql =
            "SELECT a.id, a.name, c.since_ms, c.writes, c.read_ms, c.agreed FROM coaches c JOIN accounts a ON a.id = c.account
                   WHERE c.archer = $1 ORDER BY a.name";
        let mut rows = tx.rows(sql, &[self.0.into()]).await?;
        rows.iter_mut()
            .map(|r| {
                Ok(Coach {
                    account: r.id(0)?,
                    name: r.text(1)?,
                    since_ms: r.int(2)?,
                    writes: r.int(3)? > 0,
                    read_ms: r.int(4)?,
                    agreed: r.int(5)? > 0,
                })
            })
            .collect()
    }
}

/// The logs that an account coaches, since when, and whether it writes them too.
#[derive(Debug)]
pub struct CoachedBy(pub Uuid);

impl Op for CoachedBy {
    type Out = Vec<(Uuid, u64, bool)>;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Self::Out, StoreError> {
        let sql = "SELECT archer, since_ms, writes FROM coaches WHERE account = $1 ORDER BY since_ms, archer";
        tx.rows(sql, &[self.0.into()]).await?.iter().map(|r| Ok((r.id(0)?, r.int(1)?, r.int(2)? > 0))).collect()
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
        // What a coach called the archer's groups is about nobody any more.
        tx.rows("DELETE FROM roster WHERE archer = $1 AND account = $2", &[self.archer.into(), self.account.into()])
            .await?;
        let sql = "DELETE FROM coaches WHERE archer = $1 AND account = $2 RETURNING account";
        Ok(!tx.rows(sql, &[self.archer.into(), self.account.into()]).await?.is_empty())
    }
}
