//! What coaches write to archers.

use axum::Json;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use goldward_journal::Uuid;
use goldward_store::Backend as _;
use goldward_store::notes::{CoachNote, LONGEST_NOTE, Notes, ReadNote, RemoveNote, WriteNote};
use goldward_store::who::{Access, Sight};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::asked::{Asked, done, is_text, parse_id};
use super::coaches::seen_by;
use crate::App;
use crate::auth::{Person, fresh_id};
use crate::clock::now_ms;
use crate::error::{ApiError, ErrorBody};

/// A note.
#[derive(Debug, Serialize, ToSchema)]
pub struct NoteFrom {
    /// Its id.
    pub id: Uuid,
    /// The name of the account that wrote it.
    pub from: String,
    /// Whether that is who asks.
    pub own: bool,
    /// When, in milliseconds since 1970 UTC.
    pub at_ms: u64,
    /// What it says.
    pub text: String,
    /// When its archer has read it; nothing before.
    pub read_ms: Option<u64>,
}

/// Whose notes somebody sees who sees a log: its archer and a guardian all, a coach their own.
fn author(person: Person, sight: Sight) -> Option<Uuid> {
    (sight.access != Access::Owner && !sight.guards).then_some(person.id)
}

/// The notes to an archer, the latest first: all for the archer and a guardian, for a coach their own.
#[utoipa::path(get, path = "/api/v1/logs/{archer}/notes", tag = "notes", params(("archer" = Uuid, Path, description = "Whose log")),
    responses((status = 200, description = "The notes", body = Vec<NoteFrom>), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "No accounts here, or a device's token", body = ErrorBody),
        (status = 404, description = "No such log", body = ErrorBody)))]
pub(crate) async fn notes(
    State(app): State<App>,
    person: Person,
    Path(archer): Path<String>,
) -> Result<Json<Vec<NoteFrom>>, ApiError> {
    let (archer, sight) = seen_by(&app, person, &archer).await?;
    let notes = app.store.run(Notes { archer, author: author(person, sight) }).await?;
    let note = |CoachNote { id, author, name, at_ms, text, read_ms }: CoachNote| NoteFrom {
        id,
        from: name,
        own: author == person.id,
        at_ms,
        text,
        read_ms: Some(read_ms).filter(|ms| *ms > 0),
    };
    Ok(Json(notes.into_iter().map(note).collect()))
}

/// What a coach writes.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewNote {
    /// What it says: up to 2000 characters.
    #[schema(min_length = 1, max_length = 2000)]
    pub text: String,
}

/// The note that was kept.
#[derive(Debug, Serialize, ToSchema)]
pub struct NoteKept {
    /// Its id.
    pub id: Uuid,
}

/// A coach writes a note to the archer, who finds it in the app. It is no part of the log.
#[utoipa::path(post, path = "/api/v1/logs/{archer}/notes", tag = "notes", request_body = NewNote, params(("archer" = Uuid, Path, description = "Whose log")),
    responses((status = 201, description = "Kept", body = NoteKept), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "Too many notes, only for a coach, no accounts here, or a device's token", body = ErrorBody),
        (status = 404, description = "No such log", body = ErrorBody),
        (status = 408, description = "Too slow", body = ErrorBody), (status = 413, description = "Too large", body = ErrorBody),
        (status = 422, description = "Not understood", body = ErrorBody)))]
pub(crate) async fn write(
    State(app): State<App>,
    person: Person,
    Path(archer): Path<String>,
    Asked(asked): Asked<NewNote>,
) -> Result<(StatusCode, Json<NoteKept>), ApiError> {
    let (archer, _) = seen_by(&app, person, &archer).await?;
    let text = asked.text.trim();
    if text.is_empty() || !is_text(text, LONGEST_NOTE) {
        return Err(ApiError::Bad(format!("a note has 1 to {LONGEST_NOTE} characters, none of them invisible")));
    }
    let id = fresh_id();
    let entries = [fresh_id(), fresh_id()];
    let op = WriteNote { archer, author: person.id, id, now_ms: now_ms(), text: text.to_owned(), entries };
    if !app.store.run(op).await? {
        return Err(ApiError::forbidden("a note is written by a coach of the archer"));
    }
    Ok((StatusCode::CREATED, Json(NoteKept { id })))
}

/// Removes a note: its archer, or the coach who wrote it.
#[utoipa::path(delete, path = "/api/v1/logs/{archer}/notes/{id}", tag = "notes",
    params(("archer" = Uuid, Path, description = "Whose log"), ("id" = Uuid, Path, description = "The note")),
    responses((status = 204, description = "Removed"), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "No accounts here, or a device's token", body = ErrorBody),
        (status = 404, description = "No such log or note", body = ErrorBody)))]
pub(crate) async fn remove(
    State(app): State<App>,
    person: Person,
    Path((archer, id)): Path<(String, String)>,
) -> Result<StatusCode, ApiError> {
    let (archer, sight) = seen_by(&app, person, &archer).await?;
    // A guardian reads what was written and leaves it there.
    let author = (sight.access != Access::Owner).then_some(person.id);
    let was = app.store.run(RemoveNote { archer, note: parse_id(&id)?, author }).await?;
    done(was)
}

/// Its archer has read a note.
#[utoipa::path(post, path = "/api/v1/logs/{archer}/notes/{id}/read", tag = "notes",
    params(("archer" = Uuid, Path, description = "Whose log"), ("id" = Uuid, Path, description = "The note")),
    responses((status = 204, description = "It is kept that it was read"), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "Only for its archer", body = ErrorBody),
        (status = 404, description = "No such log or note", body = ErrorBody)))]
pub(crate) async fn read(
    State(app): State<App>,
    person: Person,
    Path((archer, id)): Path<(String, String)>,
) -> Result<StatusCode, ApiError> {
    let (archer, sight) = seen_by(&app, person, &archer).await?;
    if sight.access != Access::Owner {
        return Err(ApiError::forbidden("only its archer reads a note"));
    }
    let was = app.store.run(ReadNote { archer, note: parse_id(&id)?, now_ms: now_ms() }).await?;
    done(was)
}
