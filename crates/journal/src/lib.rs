//! The log of an archer: a set of records that loses nothing, its merge and its wire formats.
//!
//! Every act (kit, mark, session, end, shot, touch, note) is a [`Record`] with a UUIDv7 id and a hybrid logical [`Stamp`]. An
//! edit is a new version of the record, a deletion a tombstone; of two versions the later stamp wins, so that [`Log::merge`]
//! is commutative, associative and idempotent. The crate does no I/O, looks at no clock and draws no random numbers: the
//! time (`now_ms`, milliseconds since 1970 UTC) and ten random bytes for an id are passed in, so it compiles to WebAssembly.
//!
//! In short: a [`Writer`] makes records, a [`Log`] holds them, [`jsonl`] and [`table`] write and read them, [`sync`] is what devices and a server say to each other.

pub mod body;
pub mod check;
pub mod id;
pub mod jsonl;
mod kept;
pub mod log;
pub mod plain;
pub mod record;
pub mod stamp;
pub mod sync;
pub mod table;

pub use body::{Archer, Arrow, Body, End, Felt, Hand, Kind, Kit, Mark, Note, Proven, Score, Session, Shot, Touch};
pub use log::{Digest, Log, Merged, Seen};
pub use record::{LATEST_SCHEMA, More, Record, RecordError, SCHEMA, Writer};
pub use stamp::{Hlc, Stamp};
pub use uuid::Uuid;
