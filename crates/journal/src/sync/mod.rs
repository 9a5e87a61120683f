//! What a device and a server say to each other, and what a device does about it.
//!
//! The server numbers the versions that it takes in, per archer. A device asks for what came `after` the number it has
//! reached, and sends what it has written since it last heard that the server has it. Both can be repeated: a version that is
//! known changes nothing. The answer carries the [`Digest`] of the server's log; once nothing is left to
//! exchange, a device whose own digest differs starts over with `after` 0 and sends everything, so that no accident is for
//! ever. Where the digests differ even then, that is told: such a log is never called in step.
//!
//! [`Device`] decides all of this without doing any of it; whoever drives it does what it asks and tells it what came.

mod answer;
mod device;

pub use answer::{Answer, Aside, Failure, Why};
pub use device::{Ask, Came, Conflict, Device, LogDone, Reached, Report, ServerLog, Standing};

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::log::Digest;
use crate::record::Record;

/// Most records taken in one request.
pub const MOST_PUSHED: usize = 20_000;

/// Most records given in one answer.
pub const MOST_PULLED: u32 = 20_000;

/// Largest request that a server reads, in bytes before compression.
pub const LARGEST_REQUEST: usize = 8 * 1024 * 1024;

/// The body of `POST /api/v1/sync`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SyncRequest {
    /// Schema of the sender.
    pub schema: u32,
    /// Whose log.
    pub archer: Uuid,
    /// The number up to which the device has all that the server had; 0 at first.
    #[serde(default)]
    pub after: u64,
    /// Most records wanted in the answer; 0 for none, at most [`MOST_PULLED`].
    #[serde(default = "most_pulled")]
    pub limit: u32,
    /// Versions that the server may lack, at most [`MOST_PUSHED`].
    #[serde(default)]
    pub records: Vec<Record>,
}

impl SyncRequest {
    /// Reads a request and checks all of it.
    ///
    /// # Errors
    /// What is wrong, in words; nothing of it is to be taken in then.
    pub fn read(body: &[u8]) -> Result<Self, String> {
        let request: Self = serde_json::from_slice(body).map_err(|e| format!("the request is not understood: {e}"))?;
        if request.records.len() > MOST_PUSHED {
            return Err(format!("more than {MOST_PUSHED} records at once: send them in parts"));
        }
        for (i, record) in request.records.iter().enumerate() {
            if record.archer != request.archer {
                return Err(format!("record {i} is of another archer: nothing was taken in"));
            }
            record.validate().map_err(|e| format!("record {i}: {e}; nothing was taken in"))?;
        }
        Ok(request)
    }
}

fn most_pulled() -> u32 {
    MOST_PULLED
}

/// The answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SyncResponse {
    /// Schema of the server.
    pub schema: u32,
    /// Ask with this as `after` next time. What was sent is stored durably.
    pub cursor: u64,
    /// Whether more is waiting: ask again at once.
    pub more: bool,
    /// How many of the versions sent were new to the server.
    pub accepted: u64,
    /// Versions that the device may lack, oldest first.
    pub records: Vec<Record>,
    /// The digest of the server's log of this archer, after this request.
    pub log: Digest,
    /// Versions sent that were not taken in, each with its reason; everything else that was sent is stored durably. Sending them
    /// again as they are is of no use.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub refused: Vec<Refused>,
}

/// A version that was sent and not taken in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Refused {
    /// Its place in the request, from 0.
    pub index: u32,
    /// Its id, when it could be read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub id: Option<Uuid>,
    /// A word for programs.
    pub reason: Refusal,
    /// What is wrong and what to do, for people.
    pub message: String,
}

/// Why a version is not taken in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Refusal {
    /// It is no record: larger than one, or not readable as one.
    NotARecord,
    /// It is of another archer.
    OtherArcher,
    /// It says what no device of ours would write.
    Invalid,
    /// Its stamp lies further ahead of the clock than a clock that is about right can be.
    Ahead,
    /// For a reason that this version does not know.
    #[serde(other)]
    Other,
}
