//! The tables, and how an older store comes up to date.

use crate::accounts::name_key;
use crate::error::StoreError;
use crate::{Op, Tx};

/// The steps, oldest first; a step that was released is never changed. The same SQL on both backends.
const STEPS: &[&[&str]] = &[
    &[
        "CREATE TABLE logs (
        archer BYTEA NOT NULL PRIMARY KEY,
        owner BYTEA,
        seq BIGINT NOT NULL,
        records BIGINT NOT NULL,
        hash_sum BYTEA NOT NULL
    )",
        "CREATE INDEX logs_owner ON logs (owner)",
        "CREATE TABLE records (
        archer BYTEA NOT NULL,
        id BYTEA NOT NULL,
        seq BIGINT NOT NULL,
        ms BIGINT NOT NULL,
        counter BIGINT NOT NULL,
        device BYTEA NOT NULL,
        hash BYTEA NOT NULL,
        session BYTEA,
        json TEXT NOT NULL,
        PRIMARY KEY (archer, id)
    )",
        "CREATE UNIQUE INDEX records_seq ON records (archer, seq)",
        "CREATE INDEX records_session ON records (archer, session)",
        "CREATE TABLE accounts (
        id BYTEA NOT NULL PRIMARY KEY,
        name TEXT NOT NULL UNIQUE,
        password TEXT NOT NULL
    )",
        "CREATE TABLE tokens (
        hash BYTEA NOT NULL PRIMARY KEY,
        id BYTEA NOT NULL UNIQUE,
        account BYTEA NOT NULL,
        kind TEXT NOT NULL,
        label TEXT NOT NULL,
        made_ms BIGINT NOT NULL,
        expires_ms BIGINT NOT NULL
    )",
        "CREATE INDEX tokens_account ON tokens (account)",
        "CREATE TABLE coaches (
        archer BYTEA NOT NULL,
        account BYTEA NOT NULL,
        since_ms BIGINT NOT NULL,
        PRIMARY KEY (archer, account)
    )",
        "CREATE INDEX coaches_account ON coaches (account)",
        "CREATE TABLE invitations (
        hash BYTEA NOT NULL PRIMARY KEY,
        archer BYTEA NOT NULL,
        expires_ms BIGINT NOT NULL
    )",
    ],
    &["CREATE TABLE peers (
        archer BYTEA NOT NULL,
        peer TEXT NOT NULL,
        after_seq BIGINT NOT NULL,
        pushed_seq BIGINT NOT NULL,
        PRIMARY KEY (archer, peer)
    )"],
    &[
        "ALTER TABLE logs ADD COLUMN bytes BIGINT NOT NULL DEFAULT 0",
        "UPDATE logs SET bytes = coalesce((SELECT sum(octet_length(json)) FROM records r WHERE r.archer = logs.archer), 0)",
        "ALTER TABLE accounts ADD COLUMN name_key TEXT NOT NULL DEFAULT ''",
        "ALTER TABLE tokens ADD COLUMN used_ms BIGINT NOT NULL DEFAULT 0",
        "UPDATE tokens SET used_ms = made_ms",
        "CREATE INDEX invitations_archer ON invitations (archer)",
        "CREATE TABLE failures (
        pair BYTEA NOT NULL PRIMARY KEY,
        failed BIGINT NOT NULL,
        until_ms BIGINT NOT NULL,
        last_ms BIGINT NOT NULL,
        good_ms BIGINT NOT NULL
    )",
        "CREATE INDEX failures_last ON failures (last_ms)",
        "CREATE TABLE probe (
        id BIGINT NOT NULL PRIMARY KEY,
        filler TEXT NOT NULL
    )",
    ],
    // After the keys of the names have been filled in.
    &["CREATE UNIQUE INDEX accounts_by_name_key ON accounts (name_key)"],
    &[
        "CREATE TABLE trail (
        id BYTEA NOT NULL PRIMARY KEY,
        account BYTEA NOT NULL,
        at_ms BIGINT NOT NULL,
        what TEXT NOT NULL,
        about TEXT NOT NULL
    )",
        "CREATE INDEX trail_account ON trail (account, at_ms)",
    ],
    &[
        "ALTER TABLE accounts ADD COLUMN totp BYTEA",
        "ALTER TABLE accounts ADD COLUMN totp_new BYTEA",
        "ALTER TABLE accounts ADD COLUMN totp_step BIGINT NOT NULL DEFAULT 0",
        "CREATE TABLE recovery (
        hash BYTEA NOT NULL PRIMARY KEY,
        account BYTEA NOT NULL
    )",
        "CREATE INDEX recovery_account ON recovery (account)",
        "CREATE TABLE erased (
        archer BYTEA NOT NULL,
        account BYTEA NOT NULL,
        at_ms BIGINT NOT NULL,
        PRIMARY KEY (archer, account)
    )",
        "CREATE INDEX erased_account ON erased (account)",
    ],
    &[
        "ALTER TABLE coaches ADD COLUMN writes BIGINT NOT NULL DEFAULT 0",
        "ALTER TABLE invitations ADD COLUMN id BYTEA",
        "ALTER TABLE invitations ADD COLUMN made_ms BIGINT NOT NULL DEFAULT 0",
        "ALTER TABLE invitations ADD COLUMN writes BIGINT NOT NULL DEFAULT 0",
    ],
    &["ALTER TABLE coaches ADD COLUMN read_ms BIGINT NOT NULL DEFAULT 0"],
    &[
        "CREATE TABLE signup (
        one BIGINT NOT NULL PRIMARY KEY,
        hash BYTEA NOT NULL,
        made_ms BIGINT NOT NULL,
        expires_ms BIGINT NOT NULL,
        room BIGINT NOT NULL,
        account BYTEA
    )",
        "ALTER TABLE accounts ADD COLUMN manages BIGINT NOT NULL DEFAULT 0",
        "ALTER TABLE accounts ADD COLUMN minor BIGINT NOT NULL DEFAULT 0",
        "ALTER TABLE accounts ADD COLUMN guardian BYTEA",
        "CREATE INDEX accounts_guardian ON accounts (guardian)",
        "ALTER TABLE coaches ADD COLUMN agreed BIGINT NOT NULL DEFAULT 1",
        "CREATE TABLE roster (
        account BYTEA NOT NULL,
        archer BYTEA NOT NULL,
        words TEXT NOT NULL,
        PRIMARY KEY (account, archer)
    )",
        "CREATE INDEX roster_archer ON roster (archer)",
        "CREATE TABLE notes (
        id BYTEA NOT NULL PRIMARY KEY,
        archer BYTEA NOT NULL,
        author BYTEA NOT NULL,
        at_ms BIGINT NOT NULL,
        text TEXT NOT NULL,
        read_ms BIGINT NOT NULL
    )",
        "CREATE INDEX notes_archer ON notes (archer, at_ms)",
        "CREATE INDEX notes_author ON notes (author)",
    ],
];

/// The step before which every name gets its key.
const NAMES_HAVE_KEYS: usize = 3;

/// The schema of the tables.
pub const SCHEMA: u64 = STEPS.len() as u64;

/// Brings the tables up to date.
pub(crate) struct Migrate;

impl Op for Migrate {
    type Out = ();
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<(), StoreError> {
        if let Some(lock) = T::MIGRATION_LOCK {
            tx.rows(lock, &[]).await?;
        }
        tx.rows("CREATE TABLE IF NOT EXISTS goldward (schema BIGINT NOT NULL)", &[]).await?;
        let found = match tx.rows("SELECT schema FROM goldward", &[]).await?.first() {
            Some(row) => row.int(0)?,
            None => {
                tx.rows("INSERT INTO goldward (schema) VALUES (0)", &[]).await?;
                0
            }
        };
        if found > SCHEMA {
            return Err(StoreError::Newer { found, known: SCHEMA });
        }
        for (number, step) in STEPS.iter().enumerate().skip(usize::try_from(found).unwrap_or(0)) {
            if number == NAMES_HAVE_KEYS {
                fill_name_keys(tx).await?;
            }
            for statement in *step {
                tx.rows(statement, &[]).await?;
            }
        }
        if found < SCHEMA {
            tx.rows("UPDATE goldward SET schema = $1", &[SCHEMA.into()]).await?;
        }
        Ok(())
    }
}

/// Of names that differ only in case the oldest gets the key; the others are still found when written as they are.
async fn fill_name_keys<T: Tx>(tx: &mut T) -> Result<(), StoreError> {
    let mut taken = std::collections::HashSet::new();
    for mut row in tx.rows("SELECT id, name FROM accounts ORDER BY id", &[]).await? {
        let (id, name) = (row.id(0)?, row.text(1)?);
        let mut key = name_key(&name);
        if !taken.insert(key.clone()) {
            key = format!("{key}/{id}");
        }
        tx.rows("UPDATE accounts SET name_key = $1 WHERE id = $2", &[key.into(), id.into()]).await?;
    }
    Ok(())
}
