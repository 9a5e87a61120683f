//! Who else may read a log: coaches, invited by its owner, until they are revoked.

use axum::Json;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use goldward_journal::Uuid;
use goldward_store::Backend as _;
use goldward_store::trail::{Note, Noted};
use goldward_store::who::{Accept, Access, AskAccess, Coaches, Invite, RevokeCoach};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::asked::{Asked, entry, parse_id};
use crate::App;
use crate::auth::{Person, fresh_secret, hash_secret};
use crate::clock::now_ms;
use crate::error::{ApiError, ErrorBody};

/// An invitation is open so long.
const INVITATION_MS: u64 = 7 * 86_400_000;

pub(crate) async fn owned(app: &App, person: Person, archer: &str) -> Result<Uuid, ApiError> {
    let archer = parse_id(archer)?;
    match app.store.run(AskAccess { account: person.id, archer }).await? {
        Access::Owner => Ok(archer),
        Access::Coach => Err(ApiError::forbidden("only its archer decides who sees a log")),
        Access::Free | Access::Erased | Access::None => Err(ApiError::NotFound),
    }
}

/// A coach of a log.
#[derive(Debug, Serialize, ToSchema)]
pub struct Coach {
    /// The coach's account.
    pub account: Uuid,
    /// Its name.
    pub name: String,
    /// Since when, in milliseconds since 1970 UTC.
    pub since_ms: u64,
}

/// Lists the coaches of a log.
#[utoipa::path(get, path = "/api/v1/logs/{archer}/coaches", tag = "coaches", params(("archer" = Uuid, Path, description = "Whose log")),
    responses((status = 200, description = "The coaches", body = Vec<Coach>), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "Only for its archer", body = ErrorBody), (status = 404, description = "No such log", body = ErrorBody)))]
pub(crate) async fn coaches(
    State(app): State<App>,
    person: Person,
    Path(archer): Path<String>,
) -> Result<Json<Vec<Coach>>, ApiError> {
    let archer = owned(&app, person, &archer).await?;
    let coaches = app.store.run(Coaches(archer)).await?;
    Ok(Json(coaches.into_iter().map(|(account, name, since_ms)| Coach { account, name, since_ms }).collect()))
}

/// An invitation, to be handed to the coach.
#[derive(Debug, Serialize, ToSchema)]
pub struct Invitation {
    /// The secret of the invitation, told only now; it works once.
    pub code: String,
    /// When it ends, in milliseconds since 1970 UTC.
    pub expires_ms: u64,
}

/// Makes an invitation to read a log.
#[utoipa::path(post, path = "/api/v1/logs/{archer}/invitations", tag = "coaches", params(("archer" = Uuid, Path, description = "Whose log")),
    responses((status = 201, description = "The invitation", body = Invitation), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "Too many open invitations, or only for its archer", body = ErrorBody), (status = 404, description = "No such log", body = ErrorBody)))]
pub(crate) async fn invite(
    State(app): State<App>,
    person: Person,
    Path(archer): Path<String>,
) -> Result<(StatusCode, Json<Invitation>), ApiError> {
    let archer = owned(&app, person, &archer).await?;
    let (code, hash) = fresh_secret();
    let now_ms = now_ms();
    let expires_ms = now_ms + INVITATION_MS;
    let op = Invite { archer, hash, now_ms, expires_ms };
    app.store.run(Noted { op, entry: entry(person.id, "invited", &archer.to_string()) }).await?;
    Ok((StatusCode::CREATED, Json(Invitation { code, expires_ms })))
}

/// What the coach was handed.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct InvitationCode {
    /// The secret of the invitation.
    pub code: String,
}

/// Takes an invitation: the account may read the log from now on.
#[utoipa::path(post, path = "/api/v1/invitations/accept", tag = "coaches", request_body = InvitationCode,
    responses((status = 204, description = "The log is among those listed now"), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "Too many coaches, no accounts here, or a device's token", body = ErrorBody),
        (status = 404, description = "No such invitation, or it has ended", body = ErrorBody),
        (status = 408, description = "Too slow", body = ErrorBody), (status = 413, description = "Too large", body = ErrorBody),
        (status = 422, description = "Not understood", body = ErrorBody)))]
pub(crate) async fn accept(
    State(app): State<App>,
    person: Person,
    Asked(code): Asked<InvitationCode>,
) -> Result<StatusCode, ApiError> {
    let taken = app.store.run(Accept { hash: hash_secret(&code.code), account: person.id, now_ms: now_ms() }).await?;
    let archer = taken.ok_or(ApiError::NotFound)?;
    app.store.run(Note(entry(person.id, "coach_accepted", &archer.to_string()))).await?;
    Ok(StatusCode::NO_CONTENT)
}

/// Ends what a coach may see, at once, and the log's open invitations.
#[utoipa::path(delete, path = "/api/v1/logs/{archer}/coaches/{account}", tag = "coaches",
    params(("archer" = Uuid, Path, description = "Whose log"), ("account" = Uuid, Path, description = "The coach's account")),
    responses((status = 204, description = "Revoked"), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "Only for its archer", body = ErrorBody), (status = 404, description = "No such log or coach", body = ErrorBody)))]
pub(crate) async fn revoke(
    State(app): State<App>,
    person: Person,
    Path((archer, account)): Path<(String, String)>,
) -> Result<StatusCode, ApiError> {
    let archer = owned(&app, person, &archer).await?;
    let op = RevokeCoach { archer, account: parse_id(&account)? };
    let was = app.store.run(Noted { op, entry: entry(person.id, "coach_revoked", &account) }).await?;
    if was { Ok(StatusCode::NO_CONTENT) } else { Err(ApiError::NotFound) }
}
