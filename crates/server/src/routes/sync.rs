//! The exchange of records.

use axum::body::Bytes;
use axum::extract::State;
use axum::extract::rejection::BytesRejection;
use axum::http::HeaderMap;
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use goldward_journal::SCHEMA;
use goldward_journal::sync::{MOST_PULLED, SyncRequest};
use goldward_store::Backend as _;
use goldward_store::ops::{Exchange, Pull};
use goldward_store::who::{Access, AskAccess};

use crate::App;
use crate::auth::Who;
use crate::error::{ApiError, ErrorBody};

/// From this size on a request is read apart from the threads that answer others.
const LONG: usize = 64 * 1024;

fn read(body: &[u8]) -> Result<SyncRequest, ApiError> {
    SyncRequest::read(body).map_err(ApiError::Bad)
}

/// Takes in what the device has written and gives what it lacks. Repeating a request changes nothing; an answer that was cut off
/// is asked for again with the same `after`. What was sent is stored durably before the answer.
#[utoipa::path(post, path = "/api/v1/sync", tag = "sync", request_body = super::super::openapi::SyncBody,
    responses((status = 200, description = "What the device lacks", body = super::super::openapi::SyncAnswer),
        (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "A coach may only read", body = ErrorBody),
        (status = 404, description = "No such log", body = ErrorBody),
        (status = 413, description = "Too large"),
        (status = 415, description = "Compressed in a way not known here"),
        (status = 422, description = "Not understood; nothing was taken in", body = ErrorBody),
        (status = 507, description = "The disk is full; nothing was taken in", body = ErrorBody)))]
pub(crate) async fn sync(
    State(app): State<App>,
    who: Who,
    headers: HeaderMap,
    body: Result<Bytes, BytesRejection>,
) -> Result<Response, ApiError> {
    let json =
        headers.get(CONTENT_TYPE).and_then(|v| v.to_str().ok()).is_some_and(|v| v.starts_with("application/json"));
    if !json {
        return Err(ApiError::Bad("the content type must be application/json".to_owned()));
    }
    let body = match body {
        Ok(body) => body,
        Err(e) => return Ok(e.into_response()),
    };
    let request = if body.len() < LONG {
        read(&body)?
    } else {
        let task = tokio::task::spawn_blocking(move || read(&body)).await;
        task.map_err(|_| ApiError::Bad("the request is not understood".to_owned()))??
    };
    let SyncRequest { archer, after, records, .. } = request;
    let limit = request.limit.min(MOST_PULLED);
    if let Who::Account { id, .. } = who {
        match app.store.run(AskAccess { account: id, archer }).await? {
            Access::Owner => {}
            Access::Free if !records.is_empty() => {}
            Access::Coach if records.is_empty() => {}
            Access::Coach => return Err(ApiError::Forbidden("a coach reads a log and does not write it")),
            Access::Free | Access::None => return Err(ApiError::NotFound),
        }
    }
    let done = if records.is_empty() {
        app.store.run(Pull { archer, after, limit }).await?
    } else {
        app.store.run(Exchange { archer, owner: who.owner(), records, after, limit }).await?
    };
    app.metrics.synced(done.accepted, done.json.len() as u64);
    // The records are kept in their wire form, so that nothing has to be read and written anew.
    let text = format!(
        "{{\"schema\":{SCHEMA},\"cursor\":{},\"more\":{},\"accepted\":{},\"records\":[{}],\"log\":{{\"records\":{},\"sum\":\"{:032x}\"}}}}",
        done.cursor,
        done.more,
        done.accepted,
        done.json.join(","),
        done.digest.records,
        done.digest.sum
    );
    Ok(([(CONTENT_TYPE, "application/json")], text).into_response())
}
