//! How far a log is in step with a server elsewhere.

use goldward_journal::Uuid;

use crate::error::StoreError;
use crate::{Op, Tx};

/// How far one log is in step with one server.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Reached {
    /// The server's number up to which this store has everything.
    pub after: u64,
    /// This store's number up to which the server has everything.
    pub pushed: u64,
}

/// Asks that; nothing is reached before the first time.
#[derive(Debug)]
pub struct AskReached {
    /// Whose log.
    pub archer: Uuid,
    /// The address of the server.
    pub peer: String,
}

impl Op for AskReached {
    type Out = Reached;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Reached, StoreError> {
        let sql = "SELECT after_seq, pushed_seq FROM peers WHERE archer = $1 AND peer = $2";
        let rows = tx.rows(sql, &[self.archer.into(), self.peer.into()]).await?;
        rows.first().map_or(Ok(Reached::default()), |r| Ok(Reached { after: r.int(0)?, pushed: r.int(1)? }))
    }
}

/// Remembers it.
#[derive(Debug)]
pub struct SetReached {
    /// Whose log.
    pub archer: Uuid,
    /// The address of the server.
    pub peer: String,
    /// How far.
    pub reached: Reached,
}

impl Op for SetReached {
    type Out = ();
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<(), StoreError> {
        let Reached { after, pushed } = self.reached;
        tx.rows(
            "INSERT INTO peers (archer, peer, after_seq, pushed_seq) VALUES ($1, $2, $3, $4)
             ON CONFLICT (archer, peer) DO UPDATE SET after_seq = excluded.after_seq, pushed_seq = excluded.pushed_seq",
            &[self.archer.into(), self.peer.into(), after.into(), pushed.into()],
        )
        .await?;
        Ok(())
    }
}
