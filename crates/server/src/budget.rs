//! How many bytes may be in the server's memory at once, whatever clients do.

use std::sync::Arc;
use std::time::Duration;

use tokio::sync::{OwnedSemaphorePermit, Semaphore, SemaphorePermit};

use crate::error::ApiError;

/// Bytes are counted in these.
const UNIT: usize = 1024;

/// How long a request waits for room before it is told to come again.
const PATIENCE: Duration = Duration::from_secs(8);

/// Room for bytes.
#[derive(Debug, Clone)]
pub(crate) struct Budget {
    units: Arc<Semaphore>,
    patience: Duration,
}

/// Room that is taken; dropping it gives it back.
#[derive(Debug)]
pub(crate) struct Room {
    permit: OwnedSemaphorePermit,
}

fn units(bytes: usize) -> u32 {
    u32::try_from(bytes.div_ceil(UNIT)).unwrap_or(u32::MAX)
}

impl Budget {
    pub(crate) fn new(bytes: usize) -> Self {
        Self { units: Arc::new(Semaphore::new(bytes / UNIT)), patience: PATIENCE }
    }

    /// Takes room, waiting a while for it.
    pub(crate) async fn take(&self, bytes: usize) -> Result<Room, ApiError> {
        let wait = Arc::clone(&self.units).acquire_many_owned(units(bytes));
        match tokio::time::timeout(self.patience, wait).await {
            Ok(Ok(permit)) => Ok(Room { permit }),
            _ => Err(ApiError::Busy(5)),
        }
    }
}

impl Room {
    /// Gives back what is beyond `bytes`.
    pub(crate) fn shrink(&mut self, bytes: usize) {
        let surplus = self.permit.num_permits().saturating_sub(units(bytes) as usize);
        drop(self.permit.split(surplus));
    }
}

/// All the budgets of a server. Each is waited for by requests that hold none of a later one, so that none waits for ever.
#[derive(Debug)]
pub(crate) struct Budgets {
    /// Small requests that are being read.
    pub(crate) small: Budget,
    /// Large ones.
    pub(crate) requests: Budget,
    /// What was read and waits for the store.
    pub(crate) taken: Budget,
    /// Answers that are being sent.
    pub(crate) answers: Budget,
    /// Requests that are being decoded.
    decoding: Semaphore,
    /// Whole logs that are being sent.
    exports: Arc<Semaphore>,
}

impl Default for Budgets {
    fn default() -> Self {
        const MIB: usize = 1024 * 1024;
        Self {
            small: Budget::new(32 * MIB),
            requests: Budget::new(64 * MIB),
            taken: Budget::new(64 * MIB),
            answers: Budget::new(64 * MIB),
            decoding: Semaphore::new(2),
            exports: Arc::new(Semaphore::new(32)),
        }
    }
}

impl Budgets {
    /// A turn at decoding.
    pub(crate) async fn decode(&self) -> Result<SemaphorePermit<'_>, ApiError> {
        let turn = tokio::time::timeout(PATIENCE, self.decoding.acquire());
        turn.await.ok().and_then(Result::ok).ok_or(ApiError::Busy(5))
    }

    /// A turn at sending a whole log.
    pub(crate) async fn export(&self) -> Result<OwnedSemaphorePermit, ApiError> {
        let wait = Arc::clone(&self.exports).acquire_owned();
        tokio::time::timeout(PATIENCE, wait).await.ok().and_then(Result::ok).ok_or(ApiError::Busy(5))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn what_is_not_there_is_refused_and_what_was_taken_comes_back() {
        let budget = Budget { patience: Duration::from_millis(20), ..Budget::new(10 * UNIT) };
        let mut room = budget.take(8 * UNIT).await.unwrap();
        assert_eq!(budget.take(3 * UNIT).await.map(drop), Err(ApiError::Busy(5)));
        assert_eq!(budget.units.available_permits(), 2);
        room.shrink(UNIT);
        assert_eq!(budget.units.available_permits(), 9);
        drop(room);
        assert_eq!(budget.units.available_permits(), 10);
    }
}
