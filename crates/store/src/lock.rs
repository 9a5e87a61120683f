//! The lock on what belongs to an account.

use goldward_journal::Uuid;

use crate::Tx;
use crate::error::StoreError;

/// Keeps others from changing what belongs to the account until the end of the transaction.
pub(crate) async fn lock_account<T: Tx>(tx: &mut T, id: Uuid) -> Result<(), StoreError> {
    let sql = format!("SELECT id FROM accounts WHERE id = $1{}", T::FOR_UPDATE);
    if tx.rows(&sql, &[id.into()]).await?.is_empty() { Err(StoreError::NotYours) } else { Ok(()) }
}
