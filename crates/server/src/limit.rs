//! Who fails to log in waits before the next try, for longer each time; nobody is locked out. The counts are in the store, so that
//! all servers on it count together.

use std::net::IpAddr;
use std::sync::atomic::{AtomicU64, Ordering};

use goldward_store::failures::{AskWait, Attempt, Counted, Delay, Forget, Succeeded, Withdrawn};
use goldward_store::who::name_key;
use goldward_store::{Backend as _, Store};
use sha2::{Digest as _, Sha256};

use crate::client::group;
use crate::error::ApiError;

/// One name from one address.
const PAIR: Delay = Delay { free: 4, longest_ms: 5 * 60_000 };
/// All names from one address: a club shares one. Not for a name that has logged in from there.
const ADDRESS: Delay = Delay { free: 100, longest_ms: 60_000 };
/// Accounts that are made, or tried to, from one address.
const SIGN_UP: Delay = Delay { free: 40, longest_ms: 5 * 60_000 };
/// How often what is old is forgotten.
const TIDY_MS: u64 = 10 * 60_000;

/// What is counted, and when it was last tidied.
#[derive(Debug, Default)]
pub(crate) struct Limits {
    tidied_ms: AtomicU64,
}

/// One attempt to log in.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Try(Counted);

fn key(what: &str, address: Option<IpAddr>, name: &str) -> [u8; 32] {
    let mut sha = Sha256::new();
    sha.update(what.as_bytes());
    sha.update(address.map_or([0; 16], |a| group(a).bytes()));
    sha.update(name.as_bytes());
    sha.finalize().into()
}

fn counted(name: &str, address: Option<IpAddr>) -> Counted {
    Counted {
        pair: key("name and address", address, &name_key(name)),
        pair_delay: PAIR,
        address: key("address", address, ""),
        address_delay: ADDRESS,
    }
}

impl Limits {
    /// Counts an attempt before the password is looked at, so that attempts at once count too.
    pub(crate) async fn attempt(
        &self,
        store: &Store,
        name: &str,
        address: Option<IpAddr>,
        now_ms: u64,
    ) -> Result<Try, ApiError> {
        self.wait_or(store, counted(name, address), now_ms).await
    }

    /// Counts an account that is made from there, or tried to. A success takes nothing back: the link alone must not let a machine fill
    /// the store. It counts with logins too.
    pub(crate) async fn sign_up(&self, store: &Store, address: Option<IpAddr>, now_ms: u64) -> Result<(), ApiError> {
        let counted = Counted { pair: key("sign-up", address, ""), pair_delay: SIGN_UP, ..counted("", address) };
        self.wait_or(store, counted, now_ms).await.map(|_| ())
    }

    async fn wait_or(&self, store: &Store, counted: Counted, now_ms: u64) -> Result<Try, ApiError> {
        let tidied = self.tidied_ms.load(Ordering::Relaxed);
        if tidied + TIDY_MS <= now_ms
            && self.tidied_ms.compare_exchange(tidied, now_ms, Ordering::Relaxed, Ordering::Relaxed).is_ok()
        {
            store.run(Forget { now_ms }).await?;
        }
        // Who has to wait costs a look, and no write.
        let mut wait = store.run(AskWait { counted, now_ms }).await?;
        if wait == 0 {
            wait = store.run(Attempt { counted, now_ms }).await?;
        }
        if wait > 0 { Err(ApiError::TooMany(wait.div_ceil(1000))) } else { Ok(Try(counted)) }
    }

    /// The password was right, and the code is still to come.
    pub(crate) async fn withdrawn(&self, store: &Store, attempt: Try) -> Result<(), ApiError> {
        Ok(store.run(Withdrawn(attempt.0)).await?)
    }

    /// The password was right.
    pub(crate) async fn succeeded(&self, store: &Store, attempt: Try, now_ms: u64) -> Result<(), ApiError> {
        Ok(store.run(Succeeded { counted: attempt.0, now_ms }).await?)
    }
}
