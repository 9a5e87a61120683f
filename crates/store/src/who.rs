//! What an account may do with a log; and accounts, tokens and coaches, gathered from their own files. Passwords and tokens come in
//! hashed; nothing here can give them back.

use goldward_journal::Uuid;

pub use crate::access::{Access, Sight};
pub use crate::accounts::{
    Account, AccountOf, Accounts, AddAccount, CountAccounts, FindAccount, GiveLog, LONGEST_NAME, Logs as LogsOf,
    RemoveAccount, Rename, SetPassword, is_line, is_name, name_key,
};
pub use crate::coaches::{
    Accept, Accepted, Coach, CoachedBy, Coaches, Invitation, Invitations, Invite, KeepRead, MOST_COACHES,
    MOST_INVITATIONS, RevokeCoach, TakeBack, is_read_anew,
};
pub use crate::tokens::{
    AddToken, Bearer, EndToken, FindToken, MOST_DEVICES, MOST_SESSIONS, Token, TokenInfo, TokenKind, Tokens, Used,
};

use crate::access::access;
use crate::error::StoreError;
use crate::{Op, Tx};

/// Asks that.
#[derive(Debug)]
pub struct AskAccess {
    /// The account.
    pub account: Uuid,
    /// The log.
    pub archer: Uuid,
}

impl Op for AskAccess {
    type Out = Sight;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Sight, StoreError> {
        access(tx, self.archer, self.account).await
    }
}
