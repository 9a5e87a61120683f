//! What an account may do with a log; and accounts, tokens and coaches, gathered from their own files. Passwords and tokens come in
//! hashed; nothing here can give them back.

use goldward_journal::Uuid;

pub use crate::accounts::{
    Account, AccountOf, Accounts, AddAccount, CountAccounts, FindAccount, GiveLog, LONGEST_NAME, Logs as LogsOf,
    RemoveAccount, Rename, SetPassword, is_name, name_key,
};
pub use crate::coaches::{
    Accept, Accepted, Coach, CoachedBy, Coaches, Invitation, Invitations, Invite, IsReadAnew, KeepRead, MOST_COACHES,
    MOST_INVITATIONS, RevokeCoach, TakeBack,
};
pub use crate::tokens::{
    AddToken, Bearer, EndToken, FindToken, MOST_DEVICES, MOST_SESSIONS, Token, TokenInfo, TokenKind, Tokens, Used,
};

use crate::accounts::had_erased;
use crate::coaches::coach;
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
    /// The account coaches its archer, and may read and write.
    Writer,
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
        Ok(match coach(tx, self.archer, self.account).await? {
            Some(true) => Access::Writer,
            Some(false) => Access::Coach,
            None => Access::None,
        })
    }
}
