//! What was done with an account, for its owner; and the end of it.

use axum::Json;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::http::request::Parts;
use goldward_store::Backend as _;
use goldward_store::ops::{EraseLog, Owner};
use goldward_store::trail::{Entry, Noted, Trail};
use goldward_store::who::{LogsOf, RemoveAccount};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::asked::{Asked, done, entry};
use super::coaches::owned;
use super::prove::prove;
use crate::App;
use crate::auth::Person;
use crate::clock::now_ms;
use crate::error::{ApiError, ErrorBody};

/// Something that was done with the account.
#[derive(Debug, Serialize, ToSchema)]
pub struct Done {
    /// When, in milliseconds since 1970 UTC.
    pub at_ms: u64,
    /// `login`, `login_failed`, `logout`, `session_ended`, `device_added`, `device_ended`, `password_set`, `second_factor_set`,
    /// `second_factor_removed`, `recovery_code_used`, `invited`, `invitation_taken_back`,
    /// `coach_accepted` (of another's log), `coach_joined` (one's own), `coach_revoked`, `log_erased`, `signed_up`, `newcomer` (by a link
    /// that one has opened), `sign_up_opened`, `sign_up_closed`, `note_sent`, `note_came`, `minor_set`, `minor_removed`, `guardian_set`,
    /// `guardian_of`, `consent_asked` or `agreed`.
    pub what: String,
    /// To what or by what; may be empty.
    pub about: String,
}

/// What was done with the account, the latest first: at most the last 500.
#[utoipa::path(get, path = "/api/v1/trail", tag = "accounts",
    responses((status = 200, description = "What was done", body = Vec<Done>), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "No accounts here, or a device's token", body = ErrorBody)))]
pub(crate) async fn trail(State(app): State<App>, person: Person) -> Result<Json<Vec<Done>>, ApiError> {
    let entries = app.store.run(Trail(person.id)).await?;
    let done = |Entry { at_ms, what, about, .. }| Done { at_ms, what, about };
    Ok(Json(entries.into_iter().map(done).collect()))
}

/// The password of whoever erases something for good.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Erase {
    /// The account's password.
    pub password: String,
}

/// Erases a log from the server for good, with who may see it. Devices that have it are told, send it no more and set it aside.
#[utoipa::path(post, path = "/api/v1/logs/{archer}/erase", tag = "logs", request_body = Erase, params(("archer" = Uuid, Path, description = "Whose log")),
    responses((status = 204, description = "Erased"), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "The password is wrong, or only for its archer", body = ErrorBody), (status = 404, description = "No such log", body = ErrorBody),
        (status = 408, description = "Too slow", body = ErrorBody), (status = 413, description = "Too large", body = ErrorBody),
        (status = 422, description = "Not understood", body = ErrorBody),
        (status = 429, description = "Failed too often: wait as Retry-After says", body = ErrorBody),
        (status = 503, description = "Too many at once: come again as Retry-After says", body = ErrorBody)))]
pub(crate) async fn erase_log(
    State(app): State<App>,
    person: Person,
    Path(archer): Path<String>,
    parts: Parts,
    Asked(asked): Asked<Erase>,
) -> Result<StatusCode, ApiError> {
    let archer = owned(&app, person, &archer).await?;
    prove(&app, person, Some(asked.password), &parts).await?;
    let op = EraseLog { archer, owner: Owner::Account(person.id), now_ms: now_ms() };
    let noted = Noted { op, entry: entry(person.id, "log_erased", &archer.to_string()) };
    done(app.store.run(noted).await?)
}

/// Erases the account and its logs from the server for good. What devices have they keep.
#[utoipa::path(post, path = "/api/v1/account/erase", tag = "accounts", request_body = Erase,
    responses((status = 204, description = "Erased"), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "The password is wrong, no accounts here, or a device's token", body = ErrorBody),
        (status = 408, description = "Too slow", body = ErrorBody), (status = 413, description = "Too large", body = ErrorBody),
        (status = 422, description = "Not understood", body = ErrorBody),
        (status = 429, description = "Failed too often: wait as Retry-After says", body = ErrorBody),
        (status = 503, description = "Too many at once: come again as Retry-After says", body = ErrorBody)))]
pub(crate) async fn erase_account(
    State(app): State<App>,
    person: Person,
    parts: Parts,
    Asked(asked): Asked<Erase>,
) -> Result<StatusCode, ApiError> {
    prove(&app, person, Some(asked.password), &parts).await?;
    app.store.run(RemoveAccount { account: person.id, logs: LogsOf::Erase, now_ms: now_ms() }).await?;
    Ok(StatusCode::NO_CONTENT)
}
