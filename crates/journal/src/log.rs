//! The log: a set of records, of each its winning version.
//!
//! A record is known by its archer and its id together: what is written into the log of one archer never reaches that of
//! another, whatever ids it bears.

use std::any::Any;
use std::cmp::Ordering;
use std::collections::hash_map::{Entry, HashMap};
use std::collections::{BTreeMap, HashSet};
use std::sync::{Arc, OnceLock};

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::body::Body;
use crate::kept::Kept;
use crate::record::Record;
use crate::stamp::Stamp;

/// A set of records. Two logs are equal when they hold the same versions of the same records.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Log {
    /// By archer; none of them is empty.
    books: BTreeMap<Uuid, Book>,
}

/// The records of one archer.
#[derive(Debug, Clone, Default)]
struct Book {
    records: HashMap<Uuid, Record>,
    /// Ids of ends, shots and touches by session, in no order; ids whose winning version moved on may linger.
    parts: HashMap<Uuid, Vec<Uuid>>,
    /// Ids of all else that was not deleted: few beside the shots.
    heads: HashSet<Uuid>,
    latest: Option<Stamp>,
    /// The digest, once it was asked for; kept up from then on.
    digest: OnceLock<Digest>,
    /// What was worked out of sessions, until they change.
    kept: Kept,
}

impl PartialEq for Book {
    fn eq(&self, other: &Self) -> bool {
        self.records == other.records
    }
}

/// What became of a record that was put in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Merged {
    /// It was not known.
    New,
    /// It is a later version of one that was known.
    Newer,
    /// The same version, or a later one, was there.
    Known,
}

/// The latest stamp seen of each device: `(ms, counter)`.
pub type Seen = BTreeMap<Uuid, (u64, u32)>;

/// How many records a log holds, and the sum of their hashes: equal logs have equal digests, whatever way they came to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Digest {
    /// Records, tombstones included.
    pub records: u64,
    /// The sum of [`Record::hash`] modulo 2^128, as 32 hexadecimal digits on the wire.
    #[serde(with = "hex128")]
    pub sum: u128,
}

impl Digest {
    /// With one more record of that hash.
    #[must_use]
    pub fn with(self, hash: u128) -> Self {
        Self { records: self.records + 1, sum: self.sum.wrapping_add(hash) }
    }

    /// With one record less.
    #[must_use]
    pub fn without(self, hash: u128) -> Self {
        Self { records: self.records.saturating_sub(1), sum: self.sum.wrapping_sub(hash) }
    }
}

impl Digest {
    /// What this has more than `other`, modulo 2^64 and 2^128: the same for any two logs that lack the same of each other.
    #[must_use]
    pub fn less(self, other: Self) -> Self {
        Self { records: self.records.wrapping_sub(other.records), sum: self.sum.wrapping_sub(other.sum) }
    }
}

/// A number of 128 bits as 32 hexadecimal digits, since JSON numbers do not reach that far everywhere.
pub mod hex128 {
    use serde::{Deserialize, Deserializer, Serializer, de::Error as _};

    /// Writes it.
    ///
    /// # Errors
    /// Those of the serializer.
    pub fn serialize<S: Serializer>(value: &u128, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&format!("{value:032x}"))
    }

    /// Reads it.
    ///
    /// # Errors
    /// When it is not 32 hexadecimal digits.
    pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<u128, D::Error> {
        let text = String::deserialize(deserializer)?;
        if text.len() == 32 && text.bytes().all(|b| b.is_ascii_hexdigit()) {
            u128::from_str_radix(&text, 16).map_err(D::Error::custom)
        } else {
            Err(D::Error::custom("not 32 hexadecimal digits"))
        }
    }
}

impl Log {
    /// An empty log.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// The log of these records.
    #[must_use]
    pub fn from_records(records: impl IntoIterator<Item = Record>) -> Self {
        let mut log = Self::default();
        log.extend(records);
        log
    }

    /// Puts a version in; of two versions of one record the later stays.
    pub fn insert(&mut self, record: Record) -> Merged {
        self.books.entry(record.archer).or_default().insert(record)
    }

    /// Both logs together: a pure function, commutative, associative and idempotent.
    #[must_use]
    pub fn merge(&self, other: &Self) -> Self {
        let mut both = self.clone();
        both.extend(other.records().cloned());
        both
    }

    /// The winning version of a record of that archer, which may be a tombstone.
    #[must_use]
    pub fn get(&self, archer: Uuid, id: Uuid) -> Option<&Record> {
        self.books.get(&archer)?.records.get(&id)
    }

    /// How many records there are, tombstones included.
    #[must_use]
    pub fn len(&self) -> usize {
        self.books.values().map(|b| b.records.len()).sum()
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.books.is_empty()
    }

    /// All records in no order, tombstones included.
    pub fn records(&self) -> impl Iterator<Item = &Record> {
        self.books.values().flat_map(|b| b.records.values())
    }

    /// The records of one archer in no order, tombstones included.
    pub fn records_of(&self, archer: Uuid) -> impl Iterator<Item = &Record> {
        self.books.get(&archer).into_iter().flat_map(|b| b.records.values())
    }

    /// All records in the order of their ids (and of archers, where they share one), tombstones included: for files.
    #[must_use]
    pub fn sorted(&self) -> Vec<&Record> {
        let mut all: Vec<&Record> = self.records().collect();
        all.sort_unstable_by_key(|r| (r.id, r.archer));
        all
    }

    /// The ends, shots and touches of a session of that archer in no order, without tombstones.
    pub fn parts(&self, archer: Uuid, session: Uuid) -> impl Iterator<Item = &Record> {
        let book = self.books.get(&archer);
        let ids = book.and_then(|b| b.parts.get(&session)).map_or(&[][..], Vec::as_slice);
        ids.iter()
            .filter_map(move |id| book.and_then(|b| b.records.get(id)))
            .filter(move |r| r.body.session() == Some(session))
    }

    /// What `work` makes of session `id` of that archer: worked out once, and kept for its type until a record comes in that it may
    /// rest on: the session, what was shot in it, or any kit, mark or arrow of the archer. `work` may look at nothing else, so that
    /// nobody sees whether it was kept.
    pub fn kept<T: Any + Send + Sync>(&self, archer: Uuid, id: Uuid, work: impl FnOnce() -> T) -> Arc<T> {
        match self.books.get(&archer) {
            Some(book) => book.kept.get(id).unwrap_or_else(|| book.kept.put(id, Arc::new(work()))),
            None => Arc::new(work()),
        }
    }

    /// The latest stamp of any record of that archer.
    #[must_use]
    pub fn latest(&self, archer: Uuid) -> Option<Stamp> {
        self.books.get(&archer)?.latest
    }

    /// The archers who have records here, in the order of their ids.
    #[must_use]
    pub fn archers(&self) -> Vec<Uuid> {
        self.books.keys().copied().collect()
    }

    /// Takes out the whole log of one archer.
    pub fn take_out(&mut self, archer: Uuid) -> Self {
        Self { books: self.books.remove_entry(&archer).into_iter().collect() }
    }

    /// The latest stamp of each device in the log of that archer.
    #[must_use]
    pub fn seen(&self, archer: Uuid) -> Seen {
        let mut seen = Seen::new();
        for Stamp { ms, counter, device } in self.records_of(archer).map(|r| r.stamp) {
            let latest = seen.entry(device).or_insert((ms, counter));
            *latest = (*latest).max((ms, counter));
        }
        seen
    }

    /// The records of that archer later than what `seen` tells of their device, earliest first.
    ///
    /// Whoever has everything of each device up to `seen` has everything once it has these, and keeps that property when it
    /// takes in any first part of them.
    #[must_use]
    pub fn since(&self, archer: Uuid, seen: &Seen) -> Vec<&Record> {
        let mut out: Vec<&Record> = self
            .records_of(archer)
            .filter(|r| seen.get(&r.stamp.device).is_none_or(|s| (r.stamp.ms, r.stamp.counter) > *s))
            .collect();
        out.sort_unstable_by_key(|r| (r.stamp, r.id));
        out
    }

    /// The digest of all logs together.
    #[must_use]
    pub fn digest(&self) -> Digest {
        let add = |a: Digest, b: Digest| Digest { records: a.records + b.records, sum: a.sum.wrapping_add(b.sum) };
        self.books.values().map(Book::digest).fold(Digest::default(), add)
    }

    /// The digest of the log of one archer, as a server tells it. The first time it hashes every record: some microseconds each.
    #[must_use]
    pub fn digest_of(&self, archer: Uuid) -> Digest {
        self.books.get(&archer).map(Book::digest).unwrap_or_default()
    }

    /// The records of one archer that are no part of a session (archer, kits, arrows, marks, sessions, scores, notes) in no order,
    /// without tombstones.
    pub fn heads(&self, archer: Uuid) -> impl Iterator<Item = &Record> {
        self.books.get(&archer).into_iter().flat_map(Book::heads)
    }

    /// The records of a type that is no part of a session, picked by `pick`, in the order of their ids.
    pub fn of<'a, T>(&'a self, pick: impl Fn(&'a Body) -> Option<T>) -> Vec<(&'a Record, T)> {
        let heads = self.books.values().flat_map(Book::heads);
        let mut out: Vec<_> = heads.filter_map(|r| Some((r, pick(&r.body)?))).collect();
        out.sort_unstable_by_key(|(r, _)| (r.id, r.archer));
        out
    }
}

/// Whether a record is neither part of a session nor a tombstone.
fn is_head(body: &Body) -> bool {
    body.session().is_none() && !matches!(body, Body::Deleted(_))
}

impl Book {
    fn heads(&self) -> impl Iterator<Item = &Record> {
        self.heads.iter().filter_map(|id| self.records.get(id))
    }

    fn digest(&self) -> Digest {
        *self.digest.get_or_init(|| self.records.values().fold(Digest::default(), |d, r| d.with(r.hash())))
    }

    fn insert(&mut self, record: Record) -> Merged {
        if self.latest.is_none_or(|l| (record.stamp.ms, record.stamp.counter) > (l.ms, l.counter)) {
            self.latest = Some(record.stamp);
        }
        let session = record.body.session();
        let id = record.id;
        let digest = self.digest.take();
        let now = |digest: Option<Digest>| digest.map_or_else(OnceLock::new, OnceLock::from);
        match self.records.entry(id) {
            Entry::Vacant(entry) => {
                self.digest = now(digest.map(|d| d.with(record.hash())));
                self.kept.heed(&record);
                if is_head(&record.body) {
                    self.heads.insert(id);
                }
                if let Some(session) = session {
                    self.parts.entry(session).or_default().push(id);
                }
                entry.insert(record);
                Merged::New
            }
            Entry::Occupied(mut entry) => {
                if record.compare_versions(entry.get()) != Ordering::Greater {
                    self.digest = now(digest);
                    return Merged::Known;
                }
                self.digest = now(digest.map(|d| d.without(entry.get().hash()).with(record.hash())));
                self.kept.heed(entry.get());
                self.kept.heed(&record);
                if is_head(&record.body) {
                    self.heads.insert(id);
                } else {
                    self.heads.remove(&id);
                }
                if let Some(session) = session.filter(|s| entry.get().body.session() != Some(*s)) {
                    let parts = self.parts.entry(session).or_default();
                    if !parts.contains(&id) {
                        parts.push(id);
                    }
                }
                entry.insert(record);
                Merged::Newer
            }
        }
    }
}

impl Extend<Record> for Log {
    fn extend<I: IntoIterator<Item = Record>>(&mut self, records: I) {
        for record in records {
            self.insert(record);
        }
    }
}
