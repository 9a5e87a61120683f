//! Whether the store answers and takes something in. Anybody may ask, so that the store itself is asked only now and then.

use goldward_store::ops::{Ping, Probe};
use goldward_store::{Backend as _, Store, StoreError};
use tokio::sync::Mutex;

/// How long an answer holds.
const HOLDS_MS: u64 = 5_000;

/// The last answer, and when it was given.
#[derive(Debug, Default)]
pub(crate) struct Health {
    last: Mutex<Option<(u64, Result<(), StoreError>)>>,
}

impl Health {
    pub(crate) async fn ask(&self, store: &Store, now_ms: u64) -> Result<(), StoreError> {
        // Who asks meanwhile waits for the same answer.
        let mut last = self.last.lock().await;
        if let Some((at, answer)) = &*last
            && now_ms.abs_diff(*at) < HOLDS_MS
        {
            return answer.clone();
        }
        let answer = match store.run(Ping).await {
            Ok(()) => store.run(Probe { now_ms }).await,
            Err(e) => Err(e),
        };
        *last = Some((now_ms, answer.clone()));
        answer
    }
}
