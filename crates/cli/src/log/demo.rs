//! An invented archer's log, for `goldward serve --demo`.

pub use goldward_session::demo::{archer, log};
use goldward_store::ops::{Logs, Owner};
use goldward_store::{Backend as _, Store, StoreError};

/// Fills a store that has no log.
///
/// # Errors
/// [`StoreError`].
pub async fn fill(store: &Store, now_ms: u64) -> Result<(), StoreError> {
    if store.run(Logs { owner: Owner::Anyone }).await?.is_empty() {
        super::save(store, log(now_ms)).await?;
    }
    Ok(())
}
