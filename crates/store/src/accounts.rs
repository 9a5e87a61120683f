//! Accounts: who they are, and their passwords, which come in hashed.

use goldward_journal::Uuid;
use unicode_normalization::UnicodeNormalization as _;

use crate::cell::Row;
use crate::error::StoreError;
use crate::lock::lock_account;
use crate::tokens::TokenKind;
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

/// Longest name, in characters.
pub const LONGEST_NAME: usize = 100;

/// What makes a name the same name: without regard to capitals and to the ways in which Unicode writes one letter.
#[must_use]
pub fn name_key(name: &str) -> String {
    let folded: String = name.trim().nfkc().flat_map(char::to_lowercase).collect();
    folded.nfkc().collect()
}

/// Whether an account may be called that: no control or invisible characters, no spaces around it.
#[must_use]
pub fn is_name(name: &str) -> bool {
    !name.is_empty() && name.trim() == name && name.chars().count() <= LONGEST_NAME && is_plain(name, |_| false)
}

/// Whether that is a line of writing without control characters, what turns the direction around, and what is invisible; but for what joins
/// letters and signs into one.
#[must_use]
pub fn is_line(text: &str) -> bool {
    is_plain(text, |c| matches!(c, '\u{200c}' | '\u{200d}'))
}

fn is_plain(text: &str, but: fn(char) -> bool) -> bool {
    let odd = |c: char| {
        c.is_control()
            || matches!(c, '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}')
    };
    !text.chars().any(|c| odd(c) && !but(c))
}

/// Makes an account, and gives it logs that have no owner: all of it or nothing.
#[derive(Debug)]
pub struct AddAccount {
    /// The account.
    pub account: Account,
    /// Logs written before there were accounts.
    pub give: Vec<Uuid>,
}

impl Op for AddAccount {
    type Out = ();
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<(), StoreError> {
        let Account { id, name, password } = self.account;
        let made = tx
            .rows(
                "INSERT INTO accounts (id, name, password, name_key) VALUES ($1, $2, $3, $4) ON CONFLICT DO NOTHING RETURNING id",
                &[id.into(), name.as_str().into(), password.into(), name_key(&name).into()],
            )
            .await?;
        if made.is_empty() {
            return Err(StoreError::NameTaken);
        }
        for archer in self.give {
            if !(GiveLog { archer, account: id }).run(tx).await? {
                return Err(StoreError::NotYours);
            }
        }
        Ok(())
    }
}

/// Gives an account another name.
#[derive(Debug)]
pub struct Rename {
    /// The account.
    pub account: Uuid,
    /// The new name.
    pub name: String,
}

impl Op for Rename {
    type Out = ();
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<(), StoreError> {
        let key = name_key(&self.name);
        let sql = "SELECT id FROM accounts WHERE (name_key = $1 OR name = $2) AND id <> $3";
        let taken = tx.rows(sql, &[key.as_str().into(), self.name.as_str().into(), self.account.into()]).await?;
        if !taken.is_empty() {
            return Err(StoreError::NameTaken);
        }
        let sql = "UPDATE accounts SET name = $1, name_key = $2 WHERE id = $3 RETURNING id";
        let renamed = tx.rows(sql, &[self.name.into(), key.into(), self.account.into()]).await?;
        if renamed.is_empty() { Err(StoreError::NotYours) } else { Ok(()) }
    }
}

/// What becomes of the logs of an account that is removed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Logs {
    /// They stay, without an owner, to be given to another account.
    Keep,
    /// They are erased.
    Erase,
}

/// Removes an account with its tokens, what it coaches, and its logs as told; returns how many logs it had.
#[derive(Debug)]
pub struct RemoveAccount {
    /// The account.
    pub account: Uuid,
    /// Its logs.
    pub logs: Logs,
    /// The time.
    pub now_ms: u64,
}

impl Op for RemoveAccount {
    type Out = u64;
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<u64, StoreError> {
        let id = self.account;
        lock_account(tx, id).await?;
        let owned = tx.rows("SELECT archer FROM logs WHERE owner = $1", &[id.into()]).await?;
        for row in &owned {
            let archer = row.id(0)?;
            if self.logs == Logs::Erase {
                erase(tx, archer, self.now_ms).await?;
            }
            // Nobody is left who could take this back, and notes were for whoever is gone.
            for table in ["invitations", "coaches", "notes", "roster"] {
                tx.rows(&format!("DELETE FROM {table} WHERE archer = $1"), &[archer.into()]).await?;
            }
        }
        for table in ["tokens", "coaches", "trail", "recovery", "erased", "roster"] {
            tx.rows(&format!("DELETE FROM {table} WHERE account = $1"), &[id.into()]).await?;
        }
        tx.rows("DELETE FROM notes WHERE author = $1", &[id.into()]).await?;
        // Whom it guarded stays under age: nobody new sees their logs until there is another guardian.
        tx.rows("UPDATE accounts SET guardian = NULL WHERE guardian = $1", &[id.into()]).await?;
        tx.rows("UPDATE signup SET account = NULL WHERE account = $1", &[id.into()]).await?;
        tx.rows("UPDATE logs SET owner = NULL WHERE owner = $1", &[id.into()]).await?;
        tx.rows("DELETE FROM accounts WHERE id = $1", &[id.into()]).await?;
        Ok(owned.len() as u64)
    }
}

/// How long it is known that a log was erased: as long as the token of a device that may still have it.
const ERASED_MS: u64 = 730 * 86_400_000;

/// Removes every trace of a log, but that it was erased, for those who had it: their devices would send it anew otherwise.
pub(crate) async fn erase<T: Tx>(tx: &mut T, archer: Uuid, now_ms: u64) -> Result<(), StoreError> {
    tx.rows("DELETE FROM erased WHERE at_ms <= $1", &[now_ms.saturating_sub(ERASED_MS).into()]).await?;
    for had in [
        "SELECT archer, owner FROM logs WHERE archer = $1 AND owner IS NOT NULL",
        "SELECT archer, account FROM coaches WHERE archer = $1",
    ] {
        for row in tx.rows(had, &[archer.into()]).await? {
            let sql = "INSERT INTO erased (archer, account, at_ms) VALUES ($1, $2, $3) ON CONFLICT DO NOTHING";
            tx.rows(sql, &[archer.into(), row.id(1)?.into(), now_ms.into()]).await?;
        }
    }
    for table in ["records", "coaches", "invitations", "peers", "notes", "roster", "logs"] {
        tx.rows(&format!("DELETE FROM {table} WHERE archer = $1"), &[archer.into()]).await?;
    }
    Ok(())
}

/// Whether a log of that archer was erased that the account had.
pub(crate) async fn had_erased<T: Tx>(tx: &mut T, archer: Uuid, account: Uuid) -> Result<bool, StoreError> {
    let sql = "SELECT at_ms FROM erased WHERE archer = $1 AND account = $2";
    Ok(!tx.rows(sql, &[archer.into(), account.into()]).await?.is_empty())
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

fn account(row: &mut Row) -> Result<Account, StoreError> {
    Ok(Account { id: row.id(0)?, name: row.text(1)?, password: row.text(2)? })
}

/// Finds an account by its name, capitals or not.
#[derive(Debug)]
pub struct FindAccount(pub String);

impl Op for FindAccount {
    type Out = Option<Account>;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Option<Account>, StoreError> {
        // No database takes a zero byte in a text, and no name has one.
        if self.0.contains('\0') {
            return Ok(None);
        }
        let key = name_key(&self.0);
        let sql = "SELECT id, name, password FROM accounts WHERE name_key = $1 OR name = $2
                   ORDER BY CASE WHEN name = $3 THEN 0 ELSE 1 END, id";
        let name = self.0.as_str();
        tx.rows(sql, &[key.into(), name.into(), name.into()]).await?.first_mut().map(account).transpose()
    }
}

/// Finds an account by its id.
#[derive(Debug)]
pub struct AccountOf(pub Uuid);

impl Op for AccountOf {
    type Out = Option<Account>;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Option<Account>, StoreError> {
        let sql = "SELECT id, name, password FROM accounts WHERE id = $1";
        tx.rows(sql, &[self.0.into()]).await?.first_mut().map(account).transpose()
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

/// All accounts, by name.
#[derive(Debug)]
pub struct Accounts;

impl Op for Accounts {
    type Out = Vec<Account>;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Vec<Account>, StoreError> {
        let sql = "SELECT id, name, password FROM accounts ORDER BY name_key, id";
        tx.rows(sql, &[]).await?.iter_mut().map(account).collect()
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
        lock_account(tx, self.account).await?;
        let sql = "UPDATE logs SET owner = $1 WHERE archer = $2 AND owner IS NULL RETURNING archer";
        Ok(!tx.rows(sql, &[self.account.into(), self.archer.into()]).await?.is_empty())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn capitals_and_ways_of_writing_a_letter_make_no_other_name() {
        for name in ["anna", "Anna", " ANNA", "\u{ff41}nna"] {
            assert_eq!(name_key(name), "anna", "{name}");
        }
        // e with an accent, as one character and as two.
        assert_eq!(name_key("Ren\u{e9}"), name_key("RENE\u{301}"));
        assert_ne!(name_key("anna"), name_key("anne"));
    }

    #[test]
    fn what_may_be_a_name() {
        assert!(is_name("René van der Berg"));
        for name in ["", " anna", "anna\n", "an\0na", "an\u{202e}na", "an\u{200b}na", &"x".repeat(101)] {
            assert!(!is_name(name), "{name:?}");
        }
    }
}
