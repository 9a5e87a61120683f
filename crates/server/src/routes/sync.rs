//! The exchange of records.

use axum::body::{Body, Bytes};
use axum::extract::{Request, State};
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use goldward_journal::SCHEMA;
use goldward_journal::sync::{LARGEST_REQUEST, Refused};
use goldward_store::Backend as _;
use goldward_store::ops::{ANSWER_BYTES, Exchange, Exchanged, Pull};
use goldward_store::who::{Access, AskAccess};

use super::coaches::keep_read;
use crate::App;
use crate::auth::Who;
use crate::body;
use crate::budget::Room;
use crate::clock::now_ms;
use crate::error::{ApiError, ErrorBody};
use crate::intake::{self, Intake};

/// From this size on a request is read apart from the threads that answer others.
const LONG: usize = 64 * 1024;

/// Takes in what the device has written and gives what it lacks. Repeating a request changes nothing; an answer that was cut off
/// is asked for again with the same `after`. What was sent is stored durably before the answer, but for the versions that it names as
/// refused. A request has at most 8 MiB uncompressed, and may be compressed with gzip; an answer has at most some 4 MiB of records.
#[utoipa::path(post, path = "/api/v1/sync", tag = "sync", request_body = crate::bodies::SyncBody,
    responses((status = 200, description = "What the device lacks", body = crate::bodies::SyncAnswer),
        (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "This coach may only read, or the account keeps as much as it may", body = ErrorBody),
        (status = 404, description = "No such log", body = ErrorBody),
        (status = 410, description = "Its archer has erased the log: it is not to be sent again", body = ErrorBody),
        (status = 408, description = "Too slow", body = ErrorBody),
        (status = 413, description = "Too large", body = ErrorBody),
        (status = 415, description = "Compressed in a way not known here"),
        (status = 422, description = "Not understood; nothing was taken in", body = ErrorBody),
        (status = 503, description = "Too much at once: come again as Retry-After says", body = ErrorBody),
        (status = 507, description = "The disk is full; nothing was taken in", body = ErrorBody)))]
pub(crate) async fn sync(State(app): State<App>, who: Who, request: Request) -> Result<Response, ApiError> {
    body::must_be_json(request.headers())?;
    let (body, room) = body::read(request.into_body(), LARGEST_REQUEST, &app.budgets).await?;
    // Kept beyond this point: the versions, in their wire form, and what belongs to each.
    let mut taken = app.budgets.taken.take(body.len() + body.len() / 2).await?;
    let Intake { archer, after, limit, sent, versions, refused } = decode(&app, body, room).await?;
    taken.shrink(versions.iter().map(|v| v.json.len() + 200).sum());
    if let Who::Account(bearer) = who {
        let sight = app.store.run(AskAccess { account: bearer.account, archer }).await?;
        match sight.access {
            Access::Owner | Access::Writer => {}
            Access::Free if sent > 0 => {}
            Access::Coach | Access::Guardian if sent == 0 => {}
            Access::Coach | Access::Guardian => {
                return Err(ApiError::forbidden(
                    "you read this log and do not write it: its archer can invite you to write it too",
                ));
            }
            Access::Erased => return Err(ApiError::Erased),
            Access::Free | Access::None => return Err(ApiError::NotFound),
        }
        if limit > 0 {
            keep_read(&app, bearer.account, archer, sight).await;
        }
    }
    // The records of the answer, and its text.
    let mut answering = app.budgets.answers.take(if limit > 0 { 2 * ANSWER_BYTES as usize } else { 0 }).await?;
    let done = if versions.is_empty() {
        app.store.run(Pull { archer, after, limit }).await?
    } else {
        let quota = app.quota;
        app.store.run(Exchange { archer, owner: who.owner(), records: versions, after, limit, quota }).await?
    };
    drop(taken);
    app.metrics.synced(done.accepted, done.json.len() as u64);
    let text = Bytes::from(text(done, &refused));
    answering.shrink(text.len());
    Ok(([(CONTENT_TYPE, "application/json")], Body::new(Roomy { text, _room: answering })).into_response())
}

async fn decode(app: &App, body: Vec<u8>, room: Room) -> Result<Intake, ApiError> {
    let now_ms = now_ms();
    if body.len() < LONG {
        return intake::read(&body, now_ms).map_err(ApiError::Bad);
    }
    let _turn = app.budgets.decode().await?;
    let task = tokio::task::spawn_blocking(move || {
        let _room = room;
        intake::read(&body, now_ms)
    });
    task.await.map_err(|_| ApiError::Bad("the request is not understood".to_owned()))?.map_err(ApiError::Bad)
}

/// The records are kept in their wire form, so that nothing has to be read and written anew.
fn text(done: Exchanged, refused: &[Refused]) -> String {
    let mut text = String::with_capacity(done.json.iter().map(|j| j.len() + 1).sum::<usize>() + 300);
    text.push_str(&format!(
        "{{\"schema\":{SCHEMA},\"cursor\":{},\"more\":{},\"accepted\":{},\"records\":[",
        done.cursor, done.more, done.accepted,
    ));
    let mut first = true;
    for record in done.json {
        if !std::mem::take(&mut first) {
            text.push(',');
        }
        text.push_str(&record);
    }
    text.push_str(&format!("],\"log\":{{\"records\":{},\"sum\":\"{:032x}\"}}", done.digest.records, done.digest.sum));
    if !refused.is_empty() {
        let refused = serde_json::to_string(refused).unwrap_or_else(|_| "[]".to_owned());
        text.push_str(&format!(",\"refused\":{refused}"));
    }
    text.push('}');
    text
}

/// Bytes of an answer handed to the connection at once.
const PIECE: usize = 64 * 1024;

/// A body that holds its room until it is sent.
struct Roomy {
    text: Bytes,
    _room: Room,
}

impl axum::body::HttpBody for Roomy {
    type Data = Bytes;
    type Error = std::convert::Infallible;

    fn poll_frame(
        mut self: std::pin::Pin<&mut Self>,
        _: &mut std::task::Context<'_>,
    ) -> std::task::Poll<Option<Result<http_body::Frame<Bytes>, Self::Error>>> {
        // A piece at a time, as the connection asks for it: what is handed over whole would lie in its memory, outside the room.
        let next = self.text.len().min(PIECE);
        let piece = Bytes::copy_from_slice(&self.text.split_to(next));
        std::task::Poll::Ready((!piece.is_empty()).then(|| Ok(http_body::Frame::data(piece))))
    }

    fn is_end_stream(&self) -> bool {
        self.text.is_empty()
    }

    fn size_hint(&self) -> http_body::SizeHint {
        http_body::SizeHint::with_exact(self.text.len() as u64)
    }
}
