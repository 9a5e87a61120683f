//! What stands in requests and answers of a sync, as the OpenAPI document describes it.

use utoipa::ToSchema;

/// The body of a sync.
#[derive(ToSchema)]
#[schema(as = SyncRequest)]
#[allow(dead_code, reason = "it only describes `goldward_journal::sync::SyncRequest`")]
pub(crate) struct SyncBody {
    /// Schema of the sender, 1.
    #[schema(format = "uint32", maximum = 4_294_967_295_u64)]
    schema: u32,
    /// Whose log.
    archer: uuid::Uuid,
    /// The number up to which the device has everything; 0 at first.
    #[schema(format = "uint64")]
    after: Option<u64>,
    /// Most records wanted in the answer.
    #[schema(format = "uint32", maximum = 4_294_967_295_u64)]
    limit: Option<u32>,
    /// Records (see `Record`, and docs/formats.md), at most 20000. What is none is named in the answer as refused, and the others are
    /// taken in: so anything may stand here.
    records: Option<Vec<serde_json::Value>>,
}

/// One version of a record; see docs/formats.md.
#[derive(ToSchema)]
#[schema(as = Record)]
#[allow(dead_code, reason = "it only describes `goldward_journal::Record`")]
pub(crate) struct RecordBody {
    /// Schema it is written in.
    #[schema(format = "uint32", minimum = 1, maximum = 4_294_967_295_u64)]
    schema: u32,
    /// UUID of version 7: the same for all versions.
    id: uuid::Uuid,
    /// Whose log it belongs to.
    archer: uuid::Uuid,
    /// When it was written.
    stamp: StampBody,
    /// One key, the kind, with the fields of that kind.
    body: std::collections::BTreeMap<String, serde_json::Value>,
}

/// A hybrid logical timestamp.
#[derive(ToSchema)]
#[schema(as = Stamp)]
#[allow(dead_code, reason = "it only describes `goldward_journal::Stamp`")]
pub(crate) struct StampBody {
    /// Milliseconds since 1970 UTC.
    #[schema(maximum = 253_402_300_799_999_u64)]
    ms: u64,
    /// Tells apart stamps of one millisecond.
    #[schema(format = "uint32", maximum = 4_294_967_295_u64)]
    counter: u32,
    /// The device that wrote.
    device: uuid::Uuid,
}

/// The answer to a sync.
#[derive(ToSchema)]
#[schema(as = SyncResponse)]
#[allow(dead_code, reason = "it only describes `goldward_journal::sync::SyncResponse`")]
pub(crate) struct SyncAnswer {
    /// Schema of the server.
    schema: u32,
    /// Ask with this as `after` next time.
    cursor: u64,
    /// Whether more is waiting.
    more: bool,
    /// How many of the versions sent were new.
    accepted: u64,
    /// Versions that the device may lack.
    records: Vec<RecordBody>,
    /// Count and checksum of the whole log.
    log: DigestBody,
    /// Versions sent that were not taken in; nothing when all were.
    refused: Option<Vec<RefusedBody>>,
}

/// A version that was sent and not taken in.
#[derive(ToSchema)]
#[schema(as = Refused)]
#[allow(dead_code, reason = "it only describes `goldward_journal::sync::Refused`")]
pub(crate) struct RefusedBody {
    /// Its place in the request, from 0.
    index: u32,
    /// Its id, when it could be read.
    id: Option<uuid::Uuid>,
    /// `not_a_record`, `other_archer`, `invalid` or `ahead`: its stamp is more than a day ahead of the server's clock.
    reason: String,
    /// What is wrong and what to do, for people.
    message: String,
}

/// Count and checksum of a log.
#[derive(ToSchema)]
#[schema(as = Digest)]
#[allow(dead_code, reason = "it only describes `goldward_journal::Digest`")]
pub(crate) struct DigestBody {
    /// Records, tombstones included.
    records: u64,
    /// Sum of the records' hashes, 32 hexadecimal digits.
    sum: String,
}
