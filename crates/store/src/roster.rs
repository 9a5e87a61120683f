//! In which groups an account puts the archers whose logs it may see, in its own words: its own data, seen by nobody else.

use goldward_journal::Uuid;

use crate::access::{Access, access};
use crate::error::StoreError;
use crate::lock::lock_account;
use crate::{Op, Tx};

/// Most archers that an account has put into groups.
pub const MOST_ROSTER: u64 = 1000;

/// Puts an archer into these groups and no others; returns whether the account may see the archer's log.
#[derive(Debug)]
pub struct SetGroups {
    /// The account.
    pub account: Uuid,
    /// The archer.
    pub archer: Uuid,
    /// The groups, one a line; empty for none.
    pub groups: String,
}

impl Op for SetGroups {
    type Out = bool;
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<bool, StoreError> {
        let (account, archer) = (self.account, self.archer);
        lock_account(tx, account).await?;
        if matches!(access(tx, archer, account).await?.access, Access::Free | Access::Erased | Access::None) {
            return Ok(false);
        }
        if self.groups.is_empty() {
            let sql = "DELETE FROM roster WHERE account = $1 AND archer = $2";
            return tx.rows(sql, &[account.into(), archer.into()]).await.map(|_| true);
        }
        let sql = "INSERT INTO roster (account, archer, words) VALUES ($1, $2, $3)
                   ON CONFLICT (account, archer) DO UPDATE SET words = excluded.words";
        tx.rows(sql, &[account.into(), archer.into(), self.groups.into()]).await?;
        let there = tx.rows("SELECT count(*) FROM roster WHERE account = $1", &[account.into()]).await?;
        if there.first().map_or(Ok(0), |r| r.int(0))? > MOST_ROSTER {
            let what = "this account would have more archers in groups than it may";
            return Err(StoreError::Quota { what, most: MOST_ROSTER, remedy: "take one out of its groups" });
        }
        Ok(true)
    }
}

/// The archers that an account has put into groups, with those, one a line.
#[derive(Debug)]
pub struct Roster(pub Uuid);

impl Op for Roster {
    type Out = Vec<(Uuid, String)>;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Self::Out, StoreError> {
        let sql = "SELECT archer, words FROM roster WHERE account = $1 ORDER BY archer";
        tx.rows(sql, &[self.0.into()]).await?.iter_mut().map(|r| Ok((r.id(0)?, r.text(1)?))).collect()
    }
}
