//! A server's answer, taken record by record: one bad record does not stop the others.

use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use sha2::{Digest as _, Sha256};
use uuid::Uuid;

use super::Refused;
use crate::log::Digest;
use crate::record::Record;

/// Why a version is set aside.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Why {
    /// It came, and it is no record.
    Unreadable {
        /// What is wrong with it.
        what: String,
    },
    /// It came, and no device of ours would write it.
    Invalid {
        /// What is wrong with it.
        what: String,
    },
    /// It came in the log of one archer and is of another.
    OtherArcher,
    /// It came, and its stamp is more than a day ahead of this device's clock: it is looked at again when that time has come.
    Ahead {
        /// Its stamp, in milliseconds since 1970 UTC.
        ms: u64,
    },
    /// It is ours, and the server does not take it in.
    Refused {
        /// What the server says.
        what: String,
    },
}

/// A version that is set aside: kept as it is, shown with its reason, and part of no log on the other side.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Aside {
    /// In whose log it came, or was sent.
    pub archer: Uuid,
    /// Why.
    pub why: Why,
    /// As it came, or as it was sent.
    pub json: String,
}

impl std::fmt::Display for Aside {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let id = match serde_json::from_str::<serde_json::Value>(&self.json) {
            Ok(value) => value["id"].as_str().map_or_else(|| "without an id".to_owned(), str::to_owned),
            Err(_) => "without an id".to_owned(),
        };
        match &self.why {
            Why::Unreadable { what } => write!(f, "record {id} cannot be read: {what}"),
            Why::Invalid { what } => write!(f, "record {id}: {what}"),
            Why::OtherArcher => write!(f, "record {id} is of another archer"),
            Why::Ahead { .. } => {
                write!(
                    f,
                    "record {id} is stamped more than a day ahead of this clock: check the clocks; it is taken in when that time has come"
                )
            }
            Why::Refused { what } => write!(f, "the server does not take in record {id}: {what}"),
        }
    }
}

/// What an answer brings, sound records apart from what is to be set aside.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// Ask with this as `after` next time.
    pub cursor: u64,
    /// Whether more is waiting.
    pub more: bool,
    /// How many of the versions sent were new to the server.
    pub accepted: u64,
    /// The versions sent that it does not take in.
    pub refused: Vec<Refused>,
    /// Sound versions.
    pub records: Vec<Record>,
    /// Versions that are none, or not yet.
    pub aside: Vec<Aside>,
    /// The digest of the server's log.
    pub log: Digest,
}

#[derive(Deserialize)]
struct Raw<'a> {
    cursor: u64,
    more: bool,
    accepted: u64,
    #[serde(default)]
    refused: Vec<Refused>,
    #[serde(borrow)]
    records: Vec<&'a RawValue>,
    log: Digest,
}

impl Answer {
    /// Reads the answer to a request about the log of `archer` when the own clock shows `now_ms`.
    ///
    /// # Errors
    /// When it is no answer at all.
    pub fn read(body: &str, archer: Uuid, now_ms: u64) -> Result<Self, String> {
        let raw: Raw<'_> = serde_json::from_str(body).map_err(|e| format!("its answer is not understood: {e}"))?;
        let (mut records, mut aside) = (Vec::with_capacity(raw.records.len()), Vec::new());
        for json in raw.records {
            match sound(json.get(), archer, now_ms) {
                Ok(record) => records.push(record),
                Err(why) => aside.push(Aside { archer, why, json: json.get().to_owned() }),
            }
        }
        let Raw { cursor, more, accepted, refused, log, .. } = raw;
        Ok(Self { cursor, more, accepted, refused, records, aside, log })
    }
}

/// Reads one version for the log of `archer`.
///
/// # Errors
/// Why it is set aside.
pub(super) fn sound(json: &str, archer: Uuid, now_ms: u64) -> Result<Record, Why> {
    let record: Record = serde_json::from_str(json).map_err(|e| Why::Unreadable { what: e.to_string() })?;
    if record.archer != archer {
        return Err(Why::OtherArcher);
    }
    record.validate().map_err(|e| Why::Invalid { what: e.to_string() })?;
    if record.stamp.is_ahead(now_ms) { Err(Why::Ahead { ms: record.stamp.ms }) } else { Ok(record) }
}

impl Aside {
    /// A name for it that is always the same, to keep it under.
    #[must_use]
    pub fn key(&self) -> String {
        let hash = Sha256::digest(self.json.as_bytes());
        let first: String = hash.iter().take(16).map(|b| format!("{b:02x}")).collect();
        format!("{}/{first}", self.archer)
    }

    /// The record, when nothing stands against it any more: its time has come, or a later Goldward understands it.
    #[must_use]
    pub fn retry(&self, now_ms: u64) -> Option<Record> {
        match self.why {
            Why::Refused { .. } => None,
            _ => sound(&self.json, self.archer, now_ms).ok(),
        }
    }
}

/// Why a server did not do what it was asked.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub enum Failure {
    /// It is not reached.
    Offline(String),
    /// It does not know who asks.
    LogIn,
    /// It has no such log for whoever asks: another account's, or one that may no longer be read.
    NotFound(String),
    /// It had one, and its archer has erased it there for good.
    Erased(String),
    /// It has one, and this may not be done with it.
    Forbidden(String),
    /// It does not understand the request, or something in it.
    Bad(String),
    /// The request is too large for it.
    TooLarge(String),
    /// Anything else: full, busy, out of order.
    Other(u16, String),
}

impl Failure {
    /// What an answer of that status means.
    #[must_use]
    pub fn of(status: u16, message: String) -> Self {
        match status {
            401 => Self::LogIn,
            403 => Self::Forbidden(message),
            404 => Self::NotFound(message),
            410 => Self::Erased(message),
            400 | 422 => Self::Bad(message),
            413 => Self::TooLarge(message),
            _ => Self::Other(status, message),
        }
    }

    /// Whether it is about the one log that was asked for, so that the others can go on.
    #[must_use]
    pub fn is_of_one_log(&self) -> bool {
        matches!(self, Self::NotFound(_) | Self::Erased(_) | Self::Forbidden(_) | Self::Bad(_) | Self::TooLarge(_))
    }
}
