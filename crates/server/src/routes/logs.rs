//! Reading logs.

use axum::Json;
use axum::body::{Body, Bytes};
use axum::extract::{Path, State};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use goldward_journal::{SCHEMA, Uuid, sync::MOST_PULLED};
use goldward_store::Backend as _;
use goldward_store::ops::{Exchanged, Logs, OneSession, Pull};
use goldward_store::who::{Access, AskAccess};
use serde::Serialize;
use utoipa::ToSchema;

use super::accounts::parse_id;
use crate::App;
use crate::auth::Who;
use crate::error::{ApiError, ErrorBody};

/// Lets through whoever may read that log.
pub(crate) async fn may_read(app: &App, who: Who, archer: Uuid) -> Result<(), ApiError> {
    let Who::Account { id, .. } = who else { return Ok(()) };
    match app.store.run(AskAccess { account: id, archer }).await? {
        Access::Owner | Access::Coach => Ok(()),
        Access::Free | Access::None => Err(ApiError::NotFound),
    }
}

/// One log that may be read.
#[derive(Debug, Serialize, ToSchema)]
pub struct LogEntry {
    /// Whose.
    pub archer: Uuid,
    /// Whether it is the account's own; otherwise it coaches its archer.
    pub own: bool,
    /// Records, tombstones included.
    pub records: u64,
    /// Number of the latest version taken in.
    pub cursor: u64,
}

/// Lists the logs that may be read.
#[utoipa::path(get, path = "/api/v1/logs", tag = "logs",
    responses((status = 200, description = "The logs", body = Vec<LogEntry>), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "Not reached as localhost", body = ErrorBody)))]
pub(crate) async fn logs(State(app): State<App>, who: Who) -> Result<Json<Vec<LogEntry>>, ApiError> {
    let own = |owner: Option<Uuid>| match who {
        Who::Local => true,
        Who::Account { id, .. } => owner == Some(id),
    };
    let logs = app.store.run(Logs { owner: who.owner() }).await?;
    let entry = |l: goldward_store::ops::LogInfo| LogEntry {
        archer: l.archer,
        own: own(l.owner),
        records: l.digest.records,
        cursor: l.cursor,
    };
    Ok(Json(logs.into_iter().map(entry).collect()))
}

/// The whole log as JSON Lines, as `goldward log import` reads it.
#[utoipa::path(get, path = "/api/v1/logs/{archer}/export", tag = "logs", params(("archer" = Uuid, Path, description = "Whose log")),
    responses((status = 200, description = "One record a line", body = String, content_type = "application/jsonl"),
        (status = 401, description = "Not logged in", body = ErrorBody), (status = 403, description = "Not reached as localhost", body = ErrorBody),
        (status = 404, description = "No such log", body = ErrorBody)))]
pub(crate) async fn export(State(app): State<App>, who: Who, Path(archer): Path<String>) -> Result<Response, ApiError> {
    let archer = parse_id(&archer)?;
    may_read(&app, who, archer).await?;
    let (sender, mut pages) = tokio::sync::mpsc::channel::<Result<Bytes, std::io::Error>>(2);
    let _ = sender.send(Ok(format!("{{\"format\":\"goldward-log\",\"schema\":{SCHEMA}}}\n").into())).await;
    tokio::spawn(async move {
        let mut after = 0;
        loop {
            match app.store.run(Pull { archer, after, limit: MOST_PULLED }).await {
                Ok(Exchanged { json, cursor, more, .. }) => {
                    let mut page = json.join("\n");
                    if !page.is_empty() {
                        page.push('\n');
                    }
                    if sender.send(Ok(page.into())).await.is_err() || !more {
                        return;
                    }
                    after = cursor;
                }
                // The answer is cut off, so that nobody takes half a log for a whole one.
                Err(e) => {
                    tracing::error!(error = %e, "the store failed during an export");
                    let _ = sender.send(Err(std::io::Error::other("the store failed"))).await;
                    return;
                }
            }
        }
    });
    let stream = Body::from_stream(futures_util::stream::poll_fn(move |context| pages.poll_recv(context)));
    let headers =
        [(CONTENT_TYPE, "application/jsonl"), (CONTENT_DISPOSITION, "attachment; filename=\"goldward-log.jsonl\"")];
    Ok((headers, stream).into_response())
}

/// One session with its ends, shots and touches, and all that is part of no session: as an array of records.
#[utoipa::path(get, path = "/api/v1/logs/{archer}/sessions/{session}", tag = "logs",
    params(("archer" = Uuid, Path, description = "Whose log"), ("session" = Uuid, Path, description = "Which session")),
    responses((status = 200, description = "The records", body = Vec<Object>), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "Not reached as localhost", body = ErrorBody), (status = 404, description = "No such log", body = ErrorBody)))]
pub(crate) async fn session(
    State(app): State<App>,
    who: Who,
    Path((archer, session)): Path<(String, String)>,
) -> Result<Response, ApiError> {
    let (archer, session) = (parse_id(&archer)?, parse_id(&session)?);
    may_read(&app, who, archer).await?;
    let records = app.store.run(OneSession { archer, session: Some(session) }).await?;
    Ok(([(CONTENT_TYPE, "application/json")], format!("[{}]", records.join(","))).into_response())
}
