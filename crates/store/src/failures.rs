//! Failed logins, counted in the store so that all servers on it count together.
//!
//! What is counted is named by 32 bytes, a hash made by the caller: neither names nor addresses are kept.

use crate::cell::Row;
use crate::error::StoreError;
use crate::{Op, Tx};

/// How long after the last failure it is forgotten.
pub const REMEMBERED_MS: u64 = 24 * 3_600_000;

/// How long after the last login an address is known.
pub const KNOWN_MS: u64 = 90 * 24 * 3_600_000;

/// How failures make one wait: some are free, then the wait doubles from a second up to a longest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Delay {
    /// Failures that cost nothing.
    pub free: u64,
    /// The longest wait.
    pub longest_ms: u64,
}

impl Delay {
    /// The wait after so many failures.
    #[must_use]
    pub fn after(self, failed: u64) -> u64 {
        match failed.checked_sub(self.free) {
            None | Some(0) => 0,
            Some(over) => 1000u64.checked_shl(u32::try_from(over - 1).unwrap_or(63).min(40)).unwrap_or(u64::MAX),
        }
        .min(self.longest_ms)
    }
}

/// What is counted of a login.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Counted {
    /// Name and address together.
    pub pair: [u8; 32],
    /// How it makes wait.
    pub pair_delay: Delay,
    /// The address alone.
    pub address: [u8; 32],
    /// How that makes wait; not for a name that has logged in from there.
    pub address_delay: Delay,
}

#[derive(Debug, Clone, Copy, Default)]
struct State {
    failed: u64,
    until_ms: u64,
    good_ms: u64,
}

fn state(row: &Row, now_ms: u64) -> Result<State, StoreError> {
    let (failed, until_ms, good_ms) = (row.int(1)?, row.int(2)?, row.int(3)?);
    let forgotten = row.int(4)?.saturating_add(REMEMBERED_MS) <= now_ms;
    Ok(if forgotten { State { good_ms, ..State::default() } } else { State { failed, until_ms, good_ms } })
}

async fn look<T: Tx>(tx: &mut T, counted: &Counted, lock: &str, now_ms: u64) -> Result<[State; 2], StoreError> {
    // In the order of the keys, so that two who lock both never wait for each other.
    let sql = format!(
        "SELECT pair, failed, until_ms, good_ms, last_ms FROM failures WHERE pair = $1 OR pair = $2 ORDER BY pair{lock}"
    );
    let params = [counted.pair.as_slice().into(), counted.address.as_slice().into()];
    let mut found = [State::default(); 2];
    for row in tx.rows(&sql, &params).await? {
        let at = usize::from(row.bytes(0)? != counted.pair);
        found[at] = state(&row, now_ms)?;
    }
    Ok(found)
}

/// How long to wait, in milliseconds.
fn wait([pair, address]: &[State; 2], now_ms: u64) -> u64 {
    let known = pair.good_ms > 0 && pair.good_ms.saturating_add(KNOWN_MS) > now_ms;
    let until = if known { pair.until_ms } else { pair.until_ms.max(address.until_ms) };
    until.saturating_sub(now_ms)
}

/// Asks how long to wait before a login is looked at, in milliseconds; changes nothing.
#[derive(Debug)]
pub struct AskWait {
    /// Of what.
    pub counted: Counted,
    /// The time.
    pub now_ms: u64,
}

impl Op for AskWait {
    type Out = u64;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<u64, StoreError> {
        Ok(wait(&look(tx, &self.counted, "", self.now_ms).await?, self.now_ms))
    }
}

/// Counts an attempt before its password is looked at, so that attempts at once count too; returns how long to wait instead, in
/// milliseconds, or 0.
#[derive(Debug)]
pub struct Attempt {
    /// Of what.
    pub counted: Counted,
    /// The time.
    pub now_ms: u64,
}

impl Op for Attempt {
    type Out = u64;
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<u64, StoreError> {
        let Self { counted, now_ms } = self;
        let mut keys = [(counted.pair, counted.pair_delay), (counted.address, counted.address_delay)];
        keys.sort_unstable_by_key(|(key, _)| *key);
        for (key, _) in &keys {
            let sql = "INSERT INTO failures (pair, failed, until_ms, last_ms, good_ms) VALUES ($1, $2, $3, $4, $5)
                       ON CONFLICT (pair) DO NOTHING";
            let zero = 0u64;
            tx.rows(sql, &[key.as_slice().into(), zero.into(), zero.into(), now_ms.into(), zero.into()]).await?;
        }
        let states = look(tx, &counted, T::FOR_UPDATE, now_ms).await?;
        let wait = wait(&states, now_ms);
        if wait > 0 {
            return Ok(wait);
        }
        for (key, delay) in keys {
            let failed = states[usize::from(key != counted.pair)].failed + 1;
            let sql = "UPDATE failures SET failed = $1, until_ms = $2, last_ms = $3 WHERE pair = $4";
            // Where nobody has to wait, one of a moment ago that is looked at only now does not either.
            let until = match delay.after(failed) {
                0 => 0,
                wait => now_ms.saturating_add(wait),
            };
            tx.rows(sql, &[failed.into(), until.into(), now_ms.into(), key.as_slice().into()]).await?;
        }
        Ok(0)
    }
}

/// The password was right: name and address are known together from now on, and the attempt does not count.
#[derive(Debug)]
pub struct Succeeded {
    /// Of what.
    pub counted: Counted,
    /// The time.
    pub now_ms: u64,
}

impl Op for Succeeded {
    type Out = ();
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<(), StoreError> {
        let Self { counted, now_ms } = self;
        let mut keys = [counted.pair, counted.address];
        keys.sort_unstable();
        for key in keys {
            if key == counted.pair {
                let sql = "UPDATE failures SET failed = 0, until_ms = 0, good_ms = $1 WHERE pair = $2";
                tx.rows(sql, &[now_ms.into(), key.as_slice().into()]).await?;
            } else {
                let sql = "UPDATE failures SET failed = failed - 1, until_ms = 0 WHERE pair = $1 AND failed > 0";
                tx.rows(sql, &[key.as_slice().into()]).await?;
            }
        }
        Ok(())
    }
}

/// The password was right, and that alone does not let in: the attempt does not count, and is no success either.
#[derive(Debug)]
pub struct Withdrawn(pub Counted);

impl Op for Withdrawn {
    type Out = ();
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<(), StoreError> {
        let mut keys = [self.0.pair, self.0.address];
        keys.sort_unstable();
        for key in keys {
            // A wait stays: else a right password beside each wrong code would take the waits away.
            let sql = "UPDATE failures SET failed = failed - 1 WHERE pair = $1 AND failed > 0";
            tx.rows(sql, &[key.as_slice().into()]).await?;
        }
        Ok(())
    }
}

/// Forgets what is old.
#[derive(Debug)]
pub struct Forget {
    /// The time.
    pub now_ms: u64,
}

impl Op for Forget {
    type Out = ();
    const WRITES: bool = true;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<(), StoreError> {
        let (failed, good) = (self.now_ms.saturating_sub(REMEMBERED_MS), self.now_ms.saturating_sub(KNOWN_MS));
        let sql = "DELETE FROM failures WHERE last_ms <= $1 AND good_ms <= $2";
        tx.rows(sql, &[failed.into(), good.into()]).await.map(|_| ())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn delays_grow_and_end() {
        let delay = Delay { free: 3, longest_ms: 60_000 };
        let waits: Vec<u64> = (0..12).map(|n| delay.after(n)).collect();
        assert_eq!(waits[..8], [0, 0, 0, 0, 1000, 2000, 4000, 8000]);
        assert_eq!(waits[11], 60_000);
        assert_eq!(delay.after(u64::MAX), 60_000);
    }
}
