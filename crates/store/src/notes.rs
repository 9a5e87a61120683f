//! What a coach writes to an archer. It is no record of the log, which a coach may not write: it lies beside it, is the coach's until it
//! is taken back, and goes with the log, with the archer's account and with the coach's.

use goldward_journal::Uuid;

use crate::access::{Access, access};
use crate::cell::Row;
use crate::coaches::{lock_log, name_of};
use crate::error::StoreError;
use crate::lock::lock_account;
use crate::trail::{Entry, Note as Leave};
use crate::{Op, Tx};

/// Most notes of one coach to one log.
pub const MOST_NOTES_EACH: u64 = 100;

/// Most notes to one log.
pub const MOST_NOTES: u64 = 500;

/// Longest note, in characters.
pub const LONGEST_NOTE: usize = 2000;

/// A note.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CoachNote {
    /// Its id.
    pub id: Uuid,
    /// The account that wrote it.
    pub author: Uuid,
    /// The name of that.
    pub name: String,
    /// When, in milliseconds since 1970 UTC.
    pub at_ms: u64,
    /// What it says.
    pub text: String,
    /// When its archer has read it; 0 before.
    pub read_ms: u64,
}

/// Keeps a note of somebody who coaches that archer; returns whether they do.
#[derive(Debug)]
pub struct WriteNote {
    /// Whose log.
    pub archer: Uuid,
    /// Who writes.
    pub author: Uuid,
    /// The note's id.
    pub id: Uuid,
    /// When.
    pub now_ms: u64,
    /// What it says.
    pub text: String,
    /// Ids of the entries that it leaves in the trails of who writes and of whose log it is.
    pub entries: [Uuid; 2],
}

impl Op for WriteNote {
    type Out = bool;
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<bool, StoreError> {
        let (archer, author) = (self.archer, self.author);
        // In the order in which all others lock.
        lock_account(tx, author).await?;
        let owner = lock_log(tx, archer).await?;
        if !matches!(access(tx, archer, author).await?.access, Access::Coach | Access::Writer) {
            return Ok(false);
        }
        let sql =
            "SELECT count(*), coalesce(sum(CASE WHEN author = $1 THEN 1 ELSE 0 END), 0) FROM notes WHERE archer = $2";
        let counted = tx.rows(sql, &[author.into(), archer.into()]).await?;
        let (all, own) = counted.first().map_or(Ok((0, 0)), |r| Ok::<_, StoreError>((r.int(0)?, r.int(1)?)))?;
        if own >= MOST_NOTES_EACH {
            let what = "you would have more notes to this archer than you may";
            return Err(StoreError::Quota { what, most: MOST_NOTES_EACH, remedy: "take old ones back" });
        }
        if all >= MOST_NOTES {
            let what = "this archer would have more notes than fit";
            return Err(StoreError::Quota { what, most: MOST_NOTES, remedy: "the archer removes old ones" });
        }
        let sql = "INSERT INTO notes (id, archer, author, at_ms, text, read_ms) VALUES ($1, $2, $3, $4, $5, $6)";
        let values = [self.id.into(), archer.into(), author.into(), self.now_ms.into(), self.text.into(), 0u64.into()];
        tx.rows(sql, &values).await?;
        let [mine, theirs] = self.entries;
        let entry =
            |id, account, what: &str, about| Entry { id, account, at_ms: self.now_ms, what: what.to_owned(), about };
        Leave(entry(mine, author, "note_sent", archer.to_string())).run(tx).await?;
        if let Some(owner) = owner {
            let name = name_of(tx, author).await?.unwrap_or_default();
            Leave(entry(theirs, owner, "note_came", name)).run(tx).await?;
        }
        Ok(true)
    }
}

/// The notes to a log, the latest first.
#[derive(Debug)]
pub struct Notes {
    /// Whose log.
    pub archer: Uuid,
    /// Only those that this account has written.
    pub author: Option<Uuid>,
}

fn note(r: &mut Row) -> Result<CoachNote, StoreError> {
    Ok(CoachNote {
        id: r.id(0)?,
        author: r.id(1)?,
        name: r.text(2)?,
        at_ms: r.int(3)?,
        text: r.text(4)?,
        read_ms: r.int(5)?,
    })
}

impl Op for Notes {
    type Out = Vec<CoachNote>;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Self::Out, StoreError> {
        let select =
            "SELECT n.id, n.author, a.name, n.at_ms, n.text, n.read_ms FROM notes n JOIN accounts a ON a.id = n.author
                      WHERE n.archer = $1";
        let order = "ORDER BY n.at_ms DESC, n.id";
        let mut rows = match self.author {
            None => tx.rows(&format!("{select} {order}"), &[self.archer.into()]).await?,
            Some(author) => {
                tx.rows(&format!("{select} AND n.author = $2 {order}"), &[self.archer.into(), author.into()]).await?
            }
        };
        rows.iter_mut().map(note).collect()
    }
}

/// Everything that an account has written to archers: the archer, and the note.
#[derive(Debug)]
pub struct NotesBy(pub Uuid);

impl Op for NotesBy {
    type Out = Vec<(Uuid, CoachNote)>;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Self::Out, StoreError> {
        let sql = "SELECT n.id, n.author, a.name, n.at_ms, n.text, n.read_ms, n.archer FROM notes n JOIN accounts a ON a.id = n.author
                   WHERE n.author = $1 ORDER BY n.at_ms, n.id";
        tx.rows(sql, &[self.0.into()]).await?.iter_mut().map(|r| Ok((r.id(6)?, note(r)?))).collect()
    }
}

/// Its archer has read a note; the first time counts. Returns whether there is such a note.
#[derive(Debug)]
pub struct ReadNote {
    /// Whose log.
    pub archer: Uuid,
    /// The note.
    pub note: Uuid,
    /// When.
    pub now_ms: u64,
}

impl Op for ReadNote {
    type Out = bool;
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<bool, StoreError> {
        let sql = "UPDATE notes SET read_ms = CASE WHEN read_ms > 0 THEN read_ms ELSE $1 END
                   WHERE archer = $2 AND id = $3 RETURNING id";
        Ok(!tx.rows(sql, &[self.now_ms.into(), self.archer.into(), self.note.into()]).await?.is_empty())
    }
}

/// Removes a note: its archer, or whoever wrote it. Returns whether there was one.
#[derive(Debug)]
pub struct RemoveNote {
    /// Whose log.
    pub archer: Uuid,
    /// The note.
    pub note: Uuid,
    /// Only where this account has written it.
    pub author: Option<Uuid>,
}

impl Op for RemoveNote {
    type Out = bool;
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<bool, StoreError> {
        let delete = "DELETE FROM notes WHERE archer = $1 AND id = $2";
        let mut params = vec![self.archer.into(), self.note.into()];
        let by = match self.author {
            Some(author) => {
                params.push(author.into());
                " AND author = $3"
            }
            None => "",
        };
        Ok(!tx.rows(&format!("{delete}{by} RETURNING id"), &params).await?.is_empty())
    }
}
