//! What was done with an account, for its owner to read: written in the transaction that did it.

use goldward_journal::Uuid;

use crate::error::StoreError;
use crate::{Op, Tx};

/// Most entries kept of an account; the oldest go first.
pub const MOST_ENTRIES: u64 = 500;

/// One entry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Its id.
    pub id: Uuid,
    /// Whose account.
    pub account: Uuid,
    /// When, in milliseconds since 1970 UTC.
    pub at_ms: u64,
    /// A word for what was done.
    pub what: String,
    /// To what or by what, as the owner calls it; may be empty.
    pub about: String,
}

/// What tells whether an operation has done anything.
pub trait Done {
    /// Whether it has.
    fn is_done(&self) -> bool;
}

impl Done for () {
    fn is_done(&self) -> bool {
        true
    }
}

impl Done for bool {
    fn is_done(&self) -> bool {
        *self
    }
}

impl<T> Done for Option<T> {
    fn is_done(&self) -> bool {
        self.is_some()
    }
}

/// An operation that leaves an entry when it has done something.
#[derive(Debug)]
pub struct Noted<O> {
    /// The operation.
    pub op: O,
    /// The entry.
    pub entry: Entry,
}

impl<O: Op<Out: Done>> Op for Noted<O> {
    type Out = O::Out;
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<O::Out, StoreError> {
        let out = self.op.run(tx).await?;
        if out.is_done() {
            Note(self.entry).run(tx).await?;
        }
        Ok(out)
    }
}

/// Leaves an entry by itself: of what changes nothing in the store.
#[derive(Debug)]
pub struct Note(pub Entry);

impl Op for Note {
    type Out = ();
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<(), StoreError> {
        let Entry { id, account, at_ms, what, about } = self.0;
        let sql = "INSERT INTO trail (id, account, at_ms, what, about) VALUES ($1, $2, $3, $4, $5)";
        tx.rows(sql, &[id.into(), account.into(), at_ms.into(), what.into(), about.into()]).await?;
        let sql = "DELETE FROM trail WHERE account = $1 AND id NOT IN
                   (SELECT id FROM trail WHERE account = $2 ORDER BY at_ms DESC, id DESC LIMIT $3)";
        tx.rows(sql, &[account.into(), account.into(), MOST_ENTRIES.into()]).await.map(|_| ())
    }
}

/// The entries of an account, the latest first.
#[derive(Debug)]
pub struct Trail(pub Uuid);

impl Op for Trail {
    type Out = Vec<Entry>;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Vec<Entry>, StoreError> {
        let sql = "SELECT id, account, at_ms, what, about FROM trail WHERE account = $1 ORDER BY at_ms DESC, id DESC";
        let mut rows = tx.rows(sql, &[self.0.into()]).await?;
        rows.iter_mut()
            .map(|r| {
                let (id, account, at_ms) = (r.id(0)?, r.id(1)?, r.int(2)?);
                Ok(Entry { id, account, at_ms, what: r.text(3)?, about: r.text(4)? })
            })
            .collect()
    }
}
