//! The store that a command about accounts works on.

use goldward_session::problem::Problem;
use goldward_store::who::{Account, FindAccount};
use goldward_store::{Backend as _, Op, Place, StoreError};

use crate::failure::Failure;
use crate::log::{cannot_store, with_store};

/// A failure that is told with what was not done and what to do.
pub(crate) fn not_done(title: &str, message: impl Into<String>, remedy: &str) -> Failure {
    Failure::data(title, Problem::new("", message, remedy))
}

/// A store on this machine, or one that is reached from it.
pub(crate) struct There<'a> {
    pub(crate) db: &'a Place,
}

impl There<'_> {
    pub(crate) fn ask<O: Op>(&self, op: O) -> Result<O::Out, Failure> {
        with_store(self.db, async |store| store.run(op).await)
    }

    /// What the store itself refuses is told with the title.
    pub(crate) fn tell<O: Op>(&self, title: &str, op: O) -> Result<O::Out, Failure> {
        let done = with_store(self.db, async |store| Ok(store.run(op).await))?;
        done.map_err(|e| self.refused(title, &e))
    }

    pub(crate) fn refused(&self, title: &str, error: &StoreError) -> Failure {
        match error {
            StoreError::NameTaken | StoreError::Quota { .. } => Failure::data(title, Problem::from_core("", error)),
            StoreError::NotYours => not_done(title, "it has changed meanwhile", "look at goldward accounts list"),
            other => cannot_store(self.db, other),
        }
    }

    pub(crate) fn named(&self, title: &str, name: &str) -> Result<Account, Failure> {
        let found = self.ask(FindAccount(name.to_owned()))?;
        found.ok_or_else(|| not_done(title, format!("there is no account {name}"), "look at goldward accounts list"))
    }
}
