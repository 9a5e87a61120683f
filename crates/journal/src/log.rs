//! The log: a set of records, of each its winning version.

use std::cmp::Ordering;
use std::collections::BTreeMap;
use std::collections::hash_map::{Entry, HashMap};

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::body::Body;
use crate::record::Record;
use crate::stamp::Stamp;

/// A set of records. Two logs are equal when they hold the same versions of the same records.
#[derive(Debug, Clone, Default)]
pub struct Log {
    records: HashMap<Uuid, Record>,
    /// Ids of ends, shots and touches by session, in no order; ids whose winning version moved on may linger.
    parts: HashMap<Uuid, Vec<Uuid>>,
    latest: Option<Stamp>,
}

impl PartialEq for Log {
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
        if self.latest.is_none_or(|l| (record.stamp.ms, record.stamp.counter) > (l.ms, l.counter)) {
            self.latest = Some(record.stamp);
        }
        let session = record.body.session();
        let id = record.id;
        match self.records.entry(id) {
            Entry::Vacant(entry) => {
                if let Some(session) = session {
                    self.parts.entry(session).or_default().push(id);
                }
                entry.insert(record);
                Merged::New
            }
            Entry::Occupied(mut entry) => {
                if record.compare_versions(entry.get()) != Ordering::Greater {
                    return Merged::Known;
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

    /// Both logs together: a pure function, commutative, associative and idempotent.
    #[must_use]
    pub fn merge(&self, other: &Self) -> Self {
        let mut both = self.clone();
        both.extend(other.records.values().cloned());
        both
    }

    /// The winning version of a record, which may be a tombstone.
    #[must_use]
    pub fn get(&self, id: Uuid) -> Option<&Record> {
        self.records.get(&id)
    }

    /// How many records there are, tombstones included.
    #[must_use]
    pub fn len(&self) -> usize {
        self.records.len()
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.records.is_empty()
    }

    /// All records in no order, tombstones included.
    pub fn records(&self) -> impl Iterator<Item = &Record> {
        self.records.values()
    }

    /// All records in the order of their ids, tombstones included: for files.
    #[must_use]
    pub fn sorted(&self) -> Vec<&Record> {
        let mut all: Vec<&Record> = self.records.values().collect();
        all.sort_unstable_by_key(|r| r.id);
        all
    }

    /// The ends, shots and touches of a session in no order, without tombstones.
    pub fn parts(&self, session: Uuid) -> impl Iterator<Item = &Record> {
        let ids = self.parts.get(&session).map_or(&[][..], Vec::as_slice);
        ids.iter().filter_map(|id| self.records.get(id)).filter(move |r| r.body.session() == Some(session))
    }

    /// The latest stamp of any record.
    #[must_use]
    pub fn latest(&self) -> Option<Stamp> {
        self.latest
    }

    /// The archers who have records here.
    #[must_use]
    pub fn archers(&self) -> Vec<Uuid> {
        let mut all: Vec<Uuid> = self.records.values().map(|r| r.archer).collect();
        all.sort_unstable();
        all.dedup();
        all
    }

    /// The latest stamp of each device.
    #[must_use]
    pub fn seen(&self) -> Seen {
        let mut seen = Seen::new();
        for Stamp { ms, counter, device } in self.records.values().map(|r| r.stamp) {
            let latest = seen.entry(device).or_insert((ms, counter));
            *latest = (*latest).max((ms, counter));
        }
        seen
    }

    /// The records later than what `seen` tells of their device, earliest first.
    ///
    /// Whoever has everything of each device up to `seen` has everything once it has these, and keeps that property when it
    /// takes in any first part of them.
    #[must_use]
    pub fn since(&self, seen: &Seen) -> Vec<&Record> {
        let mut out: Vec<&Record> = self
            .records
            .values()
            .filter(|r| seen.get(&r.stamp.device).is_none_or(|s| (r.stamp.ms, r.stamp.counter) > *s))
            .collect();
        out.sort_unstable_by_key(|r| (r.stamp, r.id));
        out
    }

    /// The digest of the whole log. It hashes every record: about a microsecond each.
    #[must_use]
    pub fn digest(&self) -> Digest {
        self.records.values().fold(Digest::default(), |d, r| d.with(r.hash()))
    }

    /// The digest of each device's records.
    #[must_use]
    pub fn summary(&self) -> BTreeMap<Uuid, Digest> {
        let mut out = BTreeMap::<Uuid, Digest>::new();
        for r in self.records.values() {
            let digest = out.entry(r.stamp.device).or_default();
            *digest = digest.with(r.hash());
        }
        out
    }

    /// The records of a type, picked by `pick`, in the order of their ids.
    pub fn of<'a, T>(&'a self, pick: impl Fn(&'a Body) -> Option<T>) -> Vec<(&'a Record, T)> {
        let mut out: Vec<_> = self.records.values().filter_map(|r| Some((r, pick(&r.body)?))).collect();
        out.sort_unstable_by_key(|(r, _)| r.id);
        out
    }
}

impl Extend<Record> for Log {
    fn extend<I: IntoIterator<Item = Record>>(&mut self, records: I) {
        let records = records.into_iter();
        self.records.reserve(records.size_hint().0);
        for record in records {
            self.insert(record);
        }
    }
}
