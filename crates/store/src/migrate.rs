//! The tables, and how an older store comes up to date.

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
];

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
        for step in &STEPS[usize::try_from(found).unwrap_or(0)..] {
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
