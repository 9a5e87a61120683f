//! Failed logins are counted, by name and by address, so that nobody can try passwords for long.

use std::collections::HashMap;
use std::net::IpAddr;
use std::sync::{Mutex, PoisonError};

/// Failures after which a name has to wait.
const BY_NAME: u32 = 5;
/// Failures after which an address has to wait: a club shares one.
const BY_ADDRESS: u32 = 30;
/// How long failures are remembered.
const WINDOW_MS: u64 = 15 * 60 * 1000;
/// Most names and addresses remembered.
const MOST: usize = 100_000;

#[derive(Debug, Clone, PartialEq, Eq, Hash)]
enum Key {
    Name(String),
    Address(IpAddr),
}

/// Counts of failed logins, in this process.
#[derive(Debug, Default)]
pub struct Limits {
    failures: Mutex<HashMap<Key, (u32, u64)>>,
}

fn keys(name: &str, address: Option<IpAddr>) -> impl Iterator<Item = (Key, u32)> {
    let name = (Key::Name(name.to_owned()), BY_NAME);
    std::iter::once(name).chain(address.map(|a| (Key::Address(a), BY_ADDRESS)))
}

impl Limits {
    /// Counts an attempt before the password is looked at, so that attempts at once count too.
    ///
    /// # Errors
    /// Seconds to wait.
    pub fn attempt(&self, name: &str, address: Option<IpAddr>, now_ms: u64) -> Result<(), u64> {
        let mut failures = self.failures.lock().unwrap_or_else(PoisonError::into_inner);
        if failures.len() >= MOST {
            failures.retain(|_, (_, until)| *until > now_ms);
        }
        for (key, most) in keys(name, address) {
            if let Some((count, until)) = failures.get(&key) {
                if *until > now_ms && *count >= most {
                    return Err((*until - now_ms).div_ceil(1000));
                }
            }
        }
        for (key, _) in keys(name, address) {
            let entry = failures.entry(key).or_insert((0, now_ms + WINDOW_MS));
            if entry.1 <= now_ms {
                *entry = (0, now_ms + WINDOW_MS);
            }
            entry.0 += 1;
        }
        Ok(())
    }

    /// The password was right: the name starts anew, and the attempt does not count for the address.
    pub fn succeeded(&self, name: &str, address: Option<IpAddr>) {
        let mut failures = self.failures.lock().unwrap_or_else(PoisonError::into_inner);
        failures.remove(&Key::Name(name.to_owned()));
        if let Some(entry) = address.and_then(|a| failures.get_mut(&Key::Address(a))) {
            entry.0 = entry.0.saturating_sub(1);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn five_failures_and_then_a_wait() {
        let limits = Limits::default();
        for _ in 0..BY_NAME {
            assert!(limits.attempt("a", None, 1000).is_ok());
        }
        assert_eq!(limits.attempt("a", None, 1000), Err(WINDOW_MS / 1000));
        assert!(limits.attempt("b", None, 1000).is_ok(), "another name is free");
        assert!(limits.attempt("a", None, 1000 + WINDOW_MS).is_ok(), "the wait ends");
        limits.succeeded("b", None);
        assert_eq!(limits.failures.lock().unwrap().len(), 1);
    }
}
