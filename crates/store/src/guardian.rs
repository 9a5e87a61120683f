//! Accounts of those under age, and whoever sees their logs and agrees, or does not, that a coach sees them; and who looks after the server.

use goldward_journal::Uuid;

use crate::access::access;
use crate::accounts::FindAccount;
use crate::coaches::{lock_log, name_of};
use crate::error::StoreError;
use crate::lock::lock_account;
use crate::trail::{Entry, Note};
use crate::{Op, Tx};

/// What an account is beside its name.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Standing {
    /// Whether it opens and closes the way in for newcomers.
    pub manages: bool,
    /// Whether it is of somebody under age: nobody else sees its logs before a guardian has agreed.
    pub minor: bool,
    /// The guardian's account and its name.
    pub guardian: Option<(Uuid, String)>,
    /// The accounts whose guardian it is, with their names.
    pub guards: Vec<(Uuid, String)>,
}

/// Asks that; nothing where there is no such account.
#[derive(Debug)]
pub struct StandingOf(pub Uuid);

impl Op for StandingOf {
    type Out = Option<Standing>;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Option<Standing>, StoreError> {
        let sql = "SELECT a.manages, a.minor, g.id, coalesce(g.name, '') FROM accounts a
                   LEFT JOIN accounts g ON g.id = a.guardian WHERE a.id = $1";
        let mut rows = tx.rows(sql, &[self.0.into()]).await?;
        let Some(row) = rows.first_mut() else { return Ok(None) };
        let (manages, minor, guardian) = (row.int(0)? > 0, row.int(1)? > 0, row.maybe_id(2)?);
        let guardian = guardian.map(|id| Ok::<_, StoreError>((id, row.text(3)?))).transpose()?;
        let guards =
            tx.rows("SELECT id, name FROM accounts WHERE guardian = $1 ORDER BY name_key", &[self.0.into()]).await?;
        let guards = guards.into_iter().map(|mut r| Ok((r.id(0)?, r.text(1)?))).collect::<Result<_, StoreError>>()?;
        Ok(Some(Standing { manages, minor, guardian, guards }))
    }
}

/// Lets an account open and close the way in for newcomers, or no more.
#[derive(Debug)]
pub struct SetManager {
    /// The account.
    pub account: Uuid,
    /// Whether it may.
    pub manages: bool,
}

impl Op for SetManager {
    type Out = ();
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<(), StoreError> {
        let sql = "UPDATE accounts SET manages = $1 WHERE id = $2 RETURNING id";
        let set = tx.rows(sql, &[u64::from(self.manages).into(), self.account.into()]).await?;
        if set.is_empty() { Err(StoreError::NotYours) } else { Ok(()) }
    }
}

/// Whether an account is of somebody under age, and who its guardian is.
///
/// From then on coaches of its logs, those before too, see nothing until the guardian agrees. When it is over, what nobody has agreed to is
/// gone, and its owner invites anew.
#[derive(Debug)]
pub struct SetMinor {
    /// The account.
    pub account: Uuid,
    /// Whether it is of somebody under age.
    pub minor: bool,
    /// The guardian's account: of somebody else, and not of somebody under age.
    pub guardian: Option<Uuid>,
    /// The time.
    pub now_ms: u64,
    /// Ids of the entries that it leaves in the trails of the account and of the guardian.
    pub entries: [Uuid; 2],
}

/// What came of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MinorSet {
    /// It is so.
    Done,
    /// This account cannot be a guardian: it is the same one, of somebody under age, or not there.
    NoGuardian,
    /// The account is itself a guardian, and has to be relieved of that first.
    Guards,
}

impl Op for SetMinor {
    type Out = MinorSet;
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<MinorSet, StoreError> {
        let id = self.account;
        // Both stay as they are meanwhile; in one order, so that two never wait for each other.
        let mut both: Vec<Uuid> = self.guardian.into_iter().chain([id]).collect();
        both.sort_unstable();
        for account in &both {
            match lock_account(tx, *account).await {
                Err(StoreError::NotYours) if *account != id => return Ok(MinorSet::NoGuardian),
                other => other?,
            }
        }
        let was = StandingOf(id).run(tx).await?.ok_or(StoreError::NotYours)?;
        let guardian = self.guardian.filter(|_| self.minor);
        if let Some(guardian) = guardian {
            let standing = StandingOf(guardian).run(tx).await?.unwrap_or_default();
            if guardian == id || standing.minor {
                return Ok(MinorSet::NoGuardian);
            }
        }
        if self.minor && !was.guards.is_empty() {
            return Ok(MinorSet::Guards);
        }
        let sql = "UPDATE accounts SET minor = $1, guardian = $2 WHERE id = $3";
        tx.rows(sql, &[u64::from(self.minor).into(), guardian.into(), id.into()]).await?;
        if self.minor && !was.minor {
            tx.rows(
                "UPDATE coaches SET agreed = 0 WHERE archer IN (SELECT archer FROM logs WHERE owner = $1)",
                &[id.into()],
            )
            .await?;
        }
        if !self.minor {
            let sql = "DELETE FROM coaches WHERE agreed = 0 AND archer IN (SELECT archer FROM logs WHERE owner = $1)";
            tx.rows(sql, &[id.into()]).await?;
        }
        let [mine, theirs] = self.entries;
        let entry =
            |id, account, what: &str, about| Entry { id, account, at_ms: self.now_ms, what: what.to_owned(), about };
        let now = StandingOf(id).run(tx).await?.unwrap_or_default();
        let what = match (self.minor, guardian) {
            (true, Some(_)) => "guardian_set",
            (true, None) => "minor_set",
            (false, _) => "minor_removed",
        };
        let about = now.guardian.map(|(_, name)| name).unwrap_or_default();
        Note(entry(mine, id, what, about)).run(tx).await?;
        if let Some(guardian) = guardian {
            let name = name_of(tx, id).await?.unwrap_or_default();
            Note(entry(theirs, guardian, "guardian_of", name)).run(tx).await?;
        }
        Ok(MinorSet::Done)
    }
}

/// The accounts of those under age that have no guardian, with their names.
#[derive(Debug)]
pub struct Unguarded;

impl Op for Unguarded {
    type Out = Vec<(Uuid, String)>;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Self::Out, StoreError> {
        let sql = "SELECT id, name FROM accounts WHERE minor > 0 AND guardian IS NULL ORDER BY name_key";
        tx.rows(sql, &[]).await?.into_iter().map(|mut r| Ok((r.id(0)?, r.text(1)?))).collect()
    }
}

/// Whoever looks after the server names a guardian, where an account is of somebody under age and has none: nobody gets to see a log by
/// being put in another's place, nor names oneself.
#[derive(Debug)]
pub struct NameGuardian {
    /// The account of whoever is under age.
    pub account: Uuid,
    /// What the guardian's account is called.
    pub guardian: String,
    /// Who names it.
    pub by: Uuid,
    /// The time.
    pub now_ms: u64,
    /// Ids of the entries that it leaves in the trails of the account, of the guardian and of who names.
    pub entries: [Uuid; 3],
}

/// What came of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Named {
    /// It is so.
    Done,
    /// There is no such account, or none that waits for a guardian.
    NotWaiting,
    /// This account cannot be the guardian: it is the same one, of whoever names it, of somebody under age, or not there.
    NoGuardian,
}

impl Op for NameGuardian {
    type Out = Named;
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Named, StoreError> {
        let Self { account, guardian, by, now_ms, entries: [mine, theirs, named] } = self;
        let guardian = FindAccount(guardian).run(tx).await?.map(|g| g.id).filter(|g| *g != by && *g != account);
        // Asked under the lock that `SetMinor` takes too, in the same order.
        let mut both: Vec<Uuid> = guardian.into_iter().chain([account]).collect();
        both.sort_unstable();
        for id in both {
            match lock_account(tx, id).await {
                Err(StoreError::NotYours) if id == account => return Ok(Named::NotWaiting),
                Err(StoreError::NotYours) => return Ok(Named::NoGuardian),
                other => other?,
            }
        }
        let was = StandingOf(account).run(tx).await?.unwrap_or_default();
        if !was.minor || was.guardian.is_some() {
            return Ok(Named::NotWaiting);
        }
        let Some(guardian) = guardian else { return Ok(Named::NoGuardian) };
        let set = SetMinor { account, minor: true, guardian: Some(guardian), now_ms, entries: [mine, theirs] };
        if set.run(tx).await? != MinorSet::Done {
            return Ok(Named::NoGuardian);
        }
        let about = name_of(tx, account).await?.unwrap_or_default();
        Note(Entry { id: named, account: by, at_ms: now_ms, what: "guardian_named".to_owned(), about }).run(tx).await?;
        Ok(Named::Done)
    }
}

/// A guardian agrees that a coach sees a log; returns whether there was something to agree to.
#[derive(Debug)]
pub struct Agree {
    /// Whose log.
    pub archer: Uuid,
    /// The coach's account.
    pub coach: Uuid,
    /// The guardian's account.
    pub guardian: Uuid,
}

impl Op for Agree {
    type Out = bool;
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<bool, StoreError> {
        lock_log(tx, self.archer).await?;
        if !access(tx, self.archer, self.guardian).await?.guards {
            return Ok(false);
        }
        let sql = "UPDATE coaches SET agreed = 1 WHERE archer = $1 AND account = $2 AND agreed = 0 RETURNING account";
        Ok(!tx.rows(sql, &[self.archer.into(), self.coach.into()]).await?.is_empty())
    }
}
