//! Reading logs.

use axum::Json;
use axum::body::{Body, Bytes};
use axum::extract::{Path, State};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use goldward_journal::{SCHEMA, Uuid};
use goldward_store::Backend as _;
use goldward_store::ops::{LogInfo, Logs, Part, PullPart};
use goldward_store::who::{Access, AskAccess};
use serde::Serialize;
use utoipa::ToSchema;

use super::asked::parse_id;
use super::coaches::keep_read;
use crate::App;
use crate::auth::Who;
use crate::error::{ApiError, ErrorBody};

/// Lets through whoever may read that log.
pub(crate) async fn may_read(app: &App, who: Who, archer: Uuid) -> Result<(), ApiError> {
    let Who::Account(bearer) = who else { return Ok(()) };
    let sight = app.store.run(AskAccess { account: bearer.account, archer }).await?;
    match sight.access {
        Access::Owner | Access::Guardian | Access::Coach | Access::Writer => {
            keep_read(app, bearer.account, archer, sight).await;
            Ok(())
        }
        Access::Free | Access::Erased | Access::None => Err(ApiError::NotFound),
    }
}

/// One log that may be read.
#[derive(Debug, Serialize, ToSchema)]
pub struct LogEntry {
    /// Whose.
    pub archer: Uuid,
    /// Whether it is the account's own; otherwise it coaches its archer.
    pub own: bool,
    /// Whether it may be written.
    pub write: bool,
    /// Records, tombstones included.
    pub records: u64,
    /// Number of the latest version taken in.
    pub cursor: u64,
    /// Whether the account is the guardian of its owner.
    pub guards: bool,
    /// What the account is called that another's log belongs to.
    pub of: Option<String>,
    /// Notes from coaches that its archer has not read yet: of one's own log.
    pub unread: u64,
}

/// Lists the logs that may be read.
#[utoipa::path(get, path = "/api/v1/logs", tag = "logs",
    responses((status = 200, description = "The logs", body = Vec<LogEntry>), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "Not reached as localhost", body = ErrorBody)))]
pub(crate) async fn logs(State(app): State<App>, who: Who) -> Result<Json<Vec<LogEntry>>, ApiError> {
    let entry = |l: LogInfo| {
        let own = match who {
            Who::Local => true,
            Who::Account(bearer) => l.owner == Some(bearer.account),
        };
        LogEntry {
            archer: l.archer,
            own,
            write: l.writes,
            records: l.digest.records,
            cursor: l.cursor,
            guards: l.guards,
            of: l.owner_name.filter(|_| !own),
            unread: if own { l.unread } else { 0 },
        }
    };
    let logs = app.store.run(Logs { owner: who.owner() }).await?;
    Ok(Json(logs.into_iter().map(entry).collect()))
}

/// The whole log as JSON Lines, as `goldward log import` reads it.
#[utoipa::path(get, path = "/api/v1/logs/{archer}/export", tag = "logs", params(("archer" = Uuid, Path, description = "Whose log")),
    responses((status = 200, description = "One record a line", body = String, content_type = "application/jsonl"),
        (status = 401, description = "Not logged in", body = ErrorBody), (status = 403, description = "Not reached as localhost", body = ErrorBody),
        (status = 404, description = "No such log", body = ErrorBody), (status = 503, description = "Too many at once: come again as Retry-After says", body = ErrorBody)))]
pub(crate) async fn export(State(app): State<App>, who: Who, Path(archer): Path<String>) -> Result<Response, ApiError> {
    let archer = parse_id(&archer)?;
    may_read(&app, who, archer).await?;
    let begin = format!("{{\"format\":\"goldward-log\",\"schema\":{SCHEMA}}}\n");
    let stream = stream(&app, archer, vec![Part::All], Frame { begin, between: "\n", end: "\n" }).await?;
    let headers =
        [(CONTENT_TYPE, "application/jsonl"), (CONTENT_DISPOSITION, "attachment; filename=\"goldward-log.jsonl\"")];
    Ok((headers, stream).into_response())
}

/// What stands around records.
struct Frame {
    begin: String,
    between: &'static str,
    end: &'static str,
}

/// The records of those parts of a log, page by page as the client takes them, so that no log is ever whole in memory.
async fn stream(app: &App, archer: Uuid, parts: Vec<Part>, frame: Frame) -> Result<Body, ApiError> {
    let turn = app.budgets.export().await?;
    let store = app.store.clone();
    let (sender, mut pages) = tokio::sync::mpsc::channel::<Result<Bytes, std::io::Error>>(1);
    tokio::spawn(async move {
        let _turn = turn;
        let mut text = frame.begin;
        let mut some = false;
        for part in parts {
            let mut after = Some(0);
            while let Some(from) = after {
                match store.run(PullPart { archer, part, after: from, bytes: STREAMED }).await {
                    Ok((json, next)) => {
                        for record in json {
                            if some {
                                text.push_str(frame.between);
                            }
                            text.push_str(&record);
                            some = true;
                        }
                        after = next;
                    }
                    // The answer is cut off, so that nobody takes half a log for a whole one.
                    Err(e) => {
                        tracing::error!(error = %e, "the store failed during an export");
                        let _ = sender.send(Err(std::io::Error::other("the store failed"))).await;
                        return;
                    }
                }
                if sender.send(Ok(std::mem::take(&mut text).into())).await.is_err() {
                    return;
                }
            }
        }
        if some || frame.end != frame.between {
            let _ = sender.send(Ok(frame.end.into())).await;
        }
    });
    Ok(Body::from_stream(futures_util::stream::poll_fn(move |context| pages.poll_recv(context))))
}

/// Bytes of records in one page of a stream.
const STREAMED: u64 = 256 * 1024;

/// One session with its ends, shots and touches, and all that is part of no session: as an array of records.
#[utoipa::path(get, path = "/api/v1/logs/{archer}/sessions/{session}", tag = "logs",
    params(("archer" = Uuid, Path, description = "Whose log"), ("session" = Uuid, Path, description = "Which session")),
    responses((status = 200, description = "The records", body = Vec<Object>), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "Not reached as localhost", body = ErrorBody), (status = 404, description = "No such log", body = ErrorBody),
        (status = 503, description = "Too many at once: come again as Retry-After says", body = ErrorBody)))]
pub(crate) async fn session(
    State(app): State<App>,
    who: Who,
    Path((archer, session)): Path<(String, String)>,
) -> Result<Response, ApiError> {
    let (archer, session) = (parse_id(&archer)?, parse_id(&session)?);
    may_read(&app, who, archer).await?;
    let frame = Frame { begin: "[".to_owned(), between: ",", end: "]" };
    let stream = stream(&app, archer, vec![Part::Rest, Part::Session(session)], frame).await?;
    Ok(([(CONTENT_TYPE, "application/json")], stream).into_response())
}
