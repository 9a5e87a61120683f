//! PostgreSQL: for several server processes behind one database.

use std::time::Duration;

use sqlx::postgres::{PgArguments, PgConnectOptions, PgPoolOptions, PgRow};
use sqlx::query::Query;
use sqlx::{Column as _, PgPool, Row as _, TypeInfo as _};

use crate::cell::{Cell, Row};
use crate::error::StoreError;
use crate::migrate::Migrate;
use crate::{Backend, Op, Tx};

/// A store in a database server.
#[derive(Debug, Clone)]
pub struct Postgres {
    pool: PgPool,
}

struct PostgresTx {
    transaction: sqlx::Transaction<'static, sqlx::Postgres>,
}

fn bind<'q>(query: Query<'q, sqlx::Postgres, PgArguments>, cell: &Cell) -> Query<'q, sqlx::Postgres, PgArguments> {
    match cell {
        Cell::Int(n) => query.bind(*n),
        Cell::Text(t) => query.bind(t.clone()),
        Cell::Bytes(b) => query.bind(b.clone()),
        Cell::NoInt => query.bind(None::<i64>),
        Cell::NoBytes => query.bind(None::<Vec<u8>>),
    }
}

fn row(row: &PgRow) -> Result<Row, StoreError> {
    let cells = row.columns().iter().enumerate().map(|(i, column)| {
        Ok(match column.type_info().name() {
            "BYTEA" => row.try_get::<Option<Vec<u8>>, _>(i)?.map_or(Cell::NoBytes, Cell::Bytes),
            "INT8" => row.try_get::<Option<i64>, _>(i)?.map_or(Cell::NoInt, Cell::Int),
            // What a lock returns.
            "VOID" => Cell::NoInt,
            _ => row.try_get::<Option<String>, _>(i)?.map_or(Cell::NoBytes, Cell::Text),
        })
    });
    cells.collect::<Result<_, sqlx::Error>>().map(Row).map_err(StoreError::from)
}

impl Tx for PostgresTx {
    const FOR_UPDATE: &'static str = " FOR UPDATE";
    const MIGRATION_LOCK: Option<&'static str> = Some("SELECT pg_advisory_xact_lock(7465726471)");

    async fn rows(&mut self, sql: &str, params: &[Cell]) -> Result<Vec<Row>, StoreError> {
        let query = params.iter().fold(sqlx::query(sql), bind);
        query.fetch_all(&mut *self.transaction).await?.iter().map(row).collect()
    }
}

impl From<sqlx::Error> for StoreError {
    fn from(error: sqlx::Error) -> Self {
        let text = error.to_string();
        match &error {
            sqlx::Error::Database(e) => match e.code().as_deref().unwrap_or_default() {
                "53100" => Self::Full,
                "25006" => Self::ReadOnly,
                "XX001" | "XX002" => Self::Damaged(text),
                // Deadlock, serialisation, shutting down, too many connections.
                "40P01" | "40001" | "57P01" | "57P02" | "57P03" | "53300" => Self::Unavailable(text),
                _ => Self::Refused(text),
            },
            sqlx::Error::Configuration(_) => Self::CannotOpen(text),
            _ => Self::Unavailable(text),
        }
    }
}

impl Postgres {
    /// Connects, and brings the tables up to date.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn open(address: &str) -> Result<Self, StoreError> {
        // A plan made when a log was small would read the whole table once it is large.
        let options = address.parse::<PgConnectOptions>().map_err(|e| StoreError::NotReached(e.to_string()))?;
        let options = options.options([("plan_cache_mode", "force_custom_plan")]);
        let pool = PgPoolOptions::new()
            .max_connections(16)
            .acquire_timeout(Duration::from_secs(10))
            .connect_with(options)
            .await
            .map_err(|e| match StoreError::from(e) {
                StoreError::Unavailable(text) | StoreError::Refused(text) | StoreError::CannotOpen(text) => {
                    StoreError::NotReached(text)
                }
                other => other,
            })?;
        let store = Self { pool };
        store.run(Migrate).await?;
        Ok(store)
    }

    /// Closes its connections.
    pub async fn close(&self) {
        self.pool.close().await;
    }
}

impl Backend for Postgres {
    async fn run<O: Op>(&self, op: O) -> Result<O::Out, StoreError> {
        let mut tx = PostgresTx { transaction: self.pool.begin().await? };
        if !O::WRITES {
            tx.rows("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY", &[]).await?;
        }
        let out = op.run(&mut tx).await?;
        tx.transaction.commit().await?;
        Ok(out)
    }
}
