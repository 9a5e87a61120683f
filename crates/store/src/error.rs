//! What can go wrong with a store.

/// Why a store could not do what was asked. Nothing of it was done then, and nothing is lost.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum StoreError {
    /// Written by a later Goldward.
    #[error("the store has schema {found}, this Goldward knows {known}: update Goldward; nothing was changed")]
    Newer {
        /// Schema of the store.
        found: u64,
        /// Schema known here.
        known: u64,
    },
    /// The file or its folder cannot be written.
    #[error("the store cannot be written: give this user the right to write the file and its folder")]
    ReadOnly,
    /// No space.
    #[error("the disk is full: make room; what was acknowledged before is safe")]
    Full,
    /// The disk does not take what is written, for another reason than being full.
    #[error(
        "the disk takes nothing more ({0}): look at quotas and at the disk itself; what was acknowledged before is safe"
    )]
    CannotWrite(String),
    /// The file is something else.
    #[error(
        "the file is no store of Goldward: check the name; a log in a .jsonl or .csv file is imported into a store"
    )]
    NotAStore,
    /// The file is damaged.
    #[error(
        "the store is damaged ({0}): put a backup in its place and keep the damaged file; devices send again what is missing"
    )]
    Damaged(String),
    /// The file cannot be opened.
    #[error("the store cannot be opened ({0}): check the path and its folder")]
    CannotOpen(String),
    /// The database server is not there.
    #[error("the database is not reached ({0}): check the address, and that it runs")]
    NotReached(String),
    /// The database is not reached, or too busy.
    #[error("the database does not answer ({0}): try again")]
    Unavailable(String),
    /// The log belongs to another account.
    #[error("no such log")]
    NotYours,
    /// The log was erased for good by whoever it belonged to.
    #[error("this log was erased by its archer")]
    Erased,
    /// More than an account or a log may have.
    #[error("{what}, and {most} is the most here: {remedy}")]
    Quota {
        /// What there would be too many of.
        what: &'static str,
        /// The most.
        most: u64,
        /// What to do.
        remedy: &'static str,
    },
    /// An account of that name exists.
    #[error("an account of that name exists (capitals make no difference): choose another name")]
    NameTaken,
    /// Not possible with this kind of store.
    #[error("this store does not do that: {0}")]
    NotHere(&'static str),
    /// Anything else.
    #[error("the database refused: {0}")]
    Refused(String),
}
