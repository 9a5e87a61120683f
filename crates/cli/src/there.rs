//! The store that a command about accounts works on.

use goldward_report::words::{Done, Language, Wrong};
use goldward_store::who::{Account, FindAccount};
use goldward_store::{Backend as _, Op, Place, StoreError};

use crate::failure::{Failure, Fault, said};
use crate::log::{cannot_store, store_fault, with_store};

/// A store on this machine, or one that is reached from it.
pub(crate) struct There<'a> {
    pub(crate) db: &'a Place,
    /// In what is done is told.
    pub(crate) language: Language,
}

impl There<'_> {
    /// What was done, as a line.
    pub(crate) fn done(&self, what: Done, values: &[&str]) -> String {
        what.with(self.language, values) + "\n"
    }

    pub(crate) fn ask<O: Op>(&self, op: O) -> Result<O::Out, Failure> {
        with_store(self.db, async |store| store.run(op).await)
    }

    /// What the store itself refuses is told with the title.
    pub(crate) fn tell<O: Op>(&self, title: Wrong, op: O) -> Result<O::Out, Failure> {
        let done = with_store(self.db, async |store| Ok(store.run(op).await))?;
        done.map_err(|e| self.refused(title, &e))
    }

    pub(crate) fn refused(&self, title: Wrong, error: &StoreError) -> Failure {
        match error {
            StoreError::NameTaken | StoreError::Quota { .. } => Failure::data(title, store_fault(error)),
            StoreError::NotYours => Failure::data(title, Wrong::ChangedMeanwhile),
            other => cannot_store(self.db, other),
        }
    }

    pub(crate) fn named(&self, title: Wrong, name: &str) -> Result<Account, Failure> {
        let found = self.ask(FindAccount(name.to_owned()))?;
        found.ok_or_else(|| Failure::data(title, Fault::from(said(Wrong::NoAccount, [name.into()]))))
    }
}
