//! Passwords are hashed by few at a time, in memory that is kept and used again, and who comes when too many wait is told when to
//! come back.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use argon2::password_hash::{PasswordHash, SaltString};
use argon2::{Algorithm, Argon2, Block, Params, Version};
use goldward_store::StoreError;
use tokio::sync::Semaphore;

use crate::auth::random;
use crate::client::Group;
use crate::error::ApiError;

/// Hashes at once: each takes a core and 19 MiB.
const AT_ONCE: usize = 2;
/// Most that wait.
const MOST_WAITING: usize = 64;
/// Most that wait of one address.
const MOST_OF_ONE: usize = 16;
/// Largest memory of a hash that is verified, in KiB.
const LARGEST_KIB: u32 = 64 * 1024;

/// Memory that hashing works in.
#[derive(Default)]
pub(crate) struct Memory(Vec<Block>);

/// Argon2id with 19 MiB, two passes and one lane.
fn argon2(params: Params) -> Argon2<'static> {
    Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
}

impl Memory {
    /// The raw hash.
    fn hash(&mut self, params: &Params, password: &[u8], salt: &[u8], out: &mut [u8]) -> Result<(), argon2::Error> {
        let blocks = params.block_count();
        if self.0.len() < blocks {
            self.0.resize(blocks, Block::default());
        }
        argon2(params.clone()).hash_password_into_with_memory(password, salt, out, &mut self.0[..blocks])
    }

    /// Whether the password is the one of that hash. Without a hash it takes as long, and is wrong.
    pub(crate) fn verify(&mut self, password: &str, hash: Option<&str>) -> bool {
        // Of a password nobody knows.
        const NOBODY: &str =
            "$argon2id$v=19$m=19456,t=2,p=1$c29tZXNhbHRzb21lc2FsdA$AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA";
        let Ok(parsed) = PasswordHash::new(hash.unwrap_or(NOBODY)) else { return false };
        self.matches(password, &parsed).unwrap_or(false) && hash.is_some()
    }

    /// The hash of a new password in the PHC format, with a fresh salt.
    pub(crate) fn fresh(&mut self, password: &str) -> Result<String, String> {
        let (params, salt) = (Params::default(), random::<16>());
        let mut tag = [0; Params::DEFAULT_OUTPUT_LEN];
        self.hash(&params, password.as_bytes(), &salt, &mut tag).map_err(|e| e.to_string())?;
        let salt = SaltString::encode_b64(&salt).map_err(|e| e.to_string())?;
        let hash = PasswordHash {
            algorithm: Algorithm::Argon2id.ident(),
            version: Some(Version::V0x13.into()),
            params: (&params).try_into().map_err(|e: argon2::password_hash::Error| e.to_string())?,
            salt: Some(salt.as_salt()),
            hash: Some(argon2::password_hash::Output::new(&tag).map_err(|e| e.to_string())?),
        };
        Ok(hash.to_string())
    }

    fn matches(&mut self, password: &str, wanted: &PasswordHash<'_>) -> Option<bool> {
        let params = Params::try_from(wanted).ok()?;
        let argon2id = wanted.algorithm.as_str() == "argon2id" && wanted.version == Some(Version::V0x13.into());
        if !argon2id || params.m_cost() > LARGEST_KIB {
            return None;
        }
        let (salt, tag) = (wanted.salt?, wanted.hash?);
        let mut bytes = [0; 64];
        let salt = salt.decode_b64(&mut bytes).ok()?;
        let mut out = [0; 64];
        let out = out.get_mut(..tag.len())?;
        self.hash(&params, password.as_bytes(), salt, out).ok()?;
        // Compared in a time that tells nothing.
        Some(argon2::password_hash::Output::new(out).ok()? == tag)
    }
}

/// Where hashing is done.
#[derive(Default)]
pub(crate) struct Hashing {
    turns: Turns,
    memories: Arc<Mutex<Vec<Memory>>>,
    waiting: Mutex<(usize, HashMap<Group, usize>)>,
}

struct Turns(Semaphore);

impl Default for Turns {
    fn default() -> Self {
        Self(Semaphore::new(AT_ONCE))
    }
}

impl std::fmt::Debug for Hashing {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Hashing").finish_non_exhaustive()
    }
}

/// A place in the queue.
struct Place<'a> {
    hashing: &'a Hashing,
    group: Option<Group>,
}

impl Drop for Place<'_> {
    fn drop(&mut self) {
        let mut waiting = self.hashing.waiting.lock().unwrap_or_else(PoisonError::into_inner);
        waiting.0 -= 1;
        let Some(group) = self.group else { return };
        if let Some(count) = waiting.1.get_mut(&group) {
            *count -= 1;
            if *count == 0 {
                waiting.1.remove(&group);
            }
        }
    }
}

impl Hashing {
    fn queue(&self, group: Option<Group>) -> Result<Place<'_>, ApiError> {
        let mut waiting = self.waiting.lock().unwrap_or_else(PoisonError::into_inner);
        let own = group.map_or(0, |g| waiting.1.get(&g).copied().unwrap_or(0));
        if waiting.0 >= MOST_WAITING || own >= MOST_OF_ONE {
            return Err(ApiError::Busy(2));
        }
        waiting.0 += 1;
        if let Some(group) = group {
            *waiting.1.entry(group).or_default() += 1;
        }
        Ok(Place { hashing: self, group })
    }

    /// Does what hashes, away from the threads that answer others.
    pub(crate) async fn run<R: Send + 'static>(
        &self,
        group: Option<Group>,
        work: impl FnOnce(&mut Memory) -> R + Send + 'static,
    ) -> Result<R, ApiError> {
        let stopping = || ApiError::Store(StoreError::Unavailable("the server is stopping".to_owned()));
        let _place = self.queue(group)?;
        let _turn = self.turns.0.acquire().await.map_err(|_| stopping())?;
        let memories = Arc::clone(&self.memories);
        let task = tokio::task::spawn_blocking(move || {
            let kept = memories.lock().unwrap_or_else(PoisonError::into_inner).pop();
            let mut memory = kept.unwrap_or_default();
            let out = work(&mut memory);
            let mut memories = memories.lock().unwrap_or_else(PoisonError::into_inner);
            if memories.len() < AT_ONCE {
                memories.push(memory);
            }
            out
        });
        task.await.map_err(|_| stopping())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 9106, section 5.3: Argon2id, 32 KiB, 3 passes, 4 lanes, with secret and associated data.
    #[test]
    fn argon2id_gives_the_tag_of_the_rfc() {
        let params = argon2::ParamsBuilder::new()
            .m_cost(32)
            .t_cost(3)
            .p_cost(4)
            .data(argon2::AssociatedData::new(&[4; 12]).unwrap())
            .build()
            .unwrap();
        let secret = [3; 8];
        let argon2 = Argon2::new_with_secret(&secret, Algorithm::Argon2id, Version::V0x13, params).unwrap();
        let mut tag = [0; 32];
        argon2.hash_password_into(&[1; 32], &[2; 16], &mut tag).unwrap();
        let tag: String = tag.iter().map(|b| format!("{b:02x}")).collect();
        assert_eq!(tag, "0d640df58d78766c08c037a34a8b53c9d01ef0452d75b65eb52520e96b01e659");
    }

    #[test]
    fn a_password_is_verified_and_nobody_has_one() {
        let hash = Memory::default().fresh("a long password of mine").unwrap();
        assert!(hash.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"));
        let mut memory = Memory::default();
        // The second time in memory that is no longer empty.
        for _ in 0..2 {
            assert!(memory.verify("a long password of mine", Some(&hash)));
            assert!(!memory.verify("another password", Some(&hash)));
            assert!(!memory.verify("a long password of mine", None));
        }
        for odd in
            ["", "$argon2id$", "$argon2i$v=19$m=19456,t=2,p=1$c29tZXNhbHQ$AAAA", &hash.replace("m=19456", "m=4000000")]
        {
            assert!(!memory.verify("a long password of mine", Some(odd)), "{odd}");
        }
        // The library's own way gives the same.
        let parsed = PasswordHash::new(&hash).unwrap();
        let theirs = argon2::PasswordVerifier::verify_password(&Argon2::default(), b"a long password of mine", &parsed);
        assert!(theirs.is_ok());
    }

    #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
    async fn the_queue_has_an_end_and_one_address_does_not_fill_it() {
        let hashing = Arc::new(Hashing::default());
        let one = crate::client::group("192.0.2.1".parse().unwrap());
        let (release, held) = std::sync::mpsc::channel::<()>();
        let held = Arc::new(Mutex::new(held));
        let mut tasks = Vec::new();
        for _ in 0..MOST_OF_ONE {
            let (hashing, held) = (Arc::clone(&hashing), Arc::clone(&held));
            tasks.push(tokio::spawn(async move {
                hashing.run(Some(one), move |_| held.lock().unwrap().recv().is_ok()).await.unwrap()
            }));
        }
        while hashing.waiting.lock().unwrap().0 < MOST_OF_ONE {
            tokio::task::yield_now().await;
        }
        assert_eq!(hashing.run(Some(one), |_| ()).await, Err(ApiError::Busy(2)));
        let other = crate::client::group("192.0.2.2".parse().unwrap());
        assert!(hashing.queue(Some(other)).is_ok(), "another address still has a place");
        drop(release);
        for task in tasks {
            assert!(!task.await.unwrap());
        }
        assert_eq!(hashing.run(Some(one), |_| 7).await, Ok(7));
        let waiting = hashing.waiting.lock().unwrap();
        assert!(waiting.0 == 0 && waiting.1.is_empty());
    }
}
