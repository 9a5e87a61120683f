//! What an account may do with a log; and accounts, tokens and coaches, gathered from their own files. Passwords and tokens come in
//! hashed; nothing here can give them back.

use goldward_journal::Uuid;

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

use crate::coaches::access;
use crate::error::StoreError;
use crate::{Op, Tx};

/// What an account may do with a log.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Access {
    /// There is no such log yet: whoever writes first owns it.
    Free,
    /// It is the account's own.
    Owner,
    /// The account is the guardian of its owner, and reads.
    Guardian,
    /// The account coaches its archer, and may read.
    Coach,
    /// The account coaches its archer, and may read and write.
    Writer,
    /// The account had it, and it was erased.
    Erased,
    /// Nothing: to the account it does not exist.
    None,
}

/// That, and what is known of a coach.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sight {
    /// What the account may do.
    pub access: Access,
    /// Whether it is the guardian of its owner, a coach too or not: then it decides who else sees the log.
    pub guards: bool,
    /// When a coach has last read the log, to an hour; 0 for never. Nothing for others.
    pub read_ms: Option<u64>,
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
    type Out = Sight;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Sight, StoreError> {
        access(tx, self.archer, self.account).await
    }
}
