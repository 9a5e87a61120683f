//! Who else may read a log, or write it too: coaches, invited by its owner, until they are revoked.

use axum::Json;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use goldward_journal::Uuid;
use goldward_store::Backend as _;
use goldward_store::trail::Noted;
use goldward_store::who::{
    Accept, Access, AskAccess, Coaches, Invitation, Invitations, Invite, KeepRead, RevokeCoach, Sight, TakeBack,
    is_read_anew,
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::asked::{Asked, done, entry, parse_id};
use crate::App;
use crate::auth::{Person, fresh_id, hash_secret, random};
use crate::clock::now_ms;
use crate::error::{ApiError, ErrorBody};

/// An invitation is open so long.
const INVITATION_MS: u64 = 7 * 86_400_000;

/// Lets through the archer.
pub(crate) async fn owned(app: &App, person: Person, archer: &str) -> Result<Uuid, ApiError> {
    match seen_by(app, person, archer).await? {
        (archer, Sight { access: Access::Owner, .. }) => Ok(archer),
        _ => Err(ApiError::forbidden("only its archer decides who sees a log")),
    }
}

/// Lets through the archer, and the guardian of one who is under age.
async fn decided(app: &App, person: Person, archer: &str) -> Result<Uuid, ApiError> {
    match seen_by(app, person, archer).await? {
        (archer, Sight { guards: true, .. }) => Ok(archer),
        _ => owned(app, person, archer).await,
    }
}

/// Lets through whoever sees a log, and says as what.
pub(crate) async fn seen_by(app: &App, person: Person, archer: &str) -> Result<(Uuid, Sight), ApiError> {
    let archer = parse_id(archer)?;
    let sight = app.store.run(AskAccess { account: person.id, archer }).await?;
    match sight.access {
        Access::Owner | Access::Guardian | Access::Coach | Access::Writer => Ok((archer, sight)),
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
    /// Whether the log may be written too.
    pub write: bool,
    /// When the log was last read, to an hour; nothing where it never was.
    pub read_ms: Option<u64>,
    /// Whether it sees the log: of somebody under age only once a guardian has agreed.
    pub agreed: bool,
}

/// Keeps that a coach reads that log, for its archer to see. An archer's own reading is nobody's business. Where the store takes nothing in,
/// reading goes on.
pub(crate) async fn keep_read(app: &App, account: Uuid, archer: Uuid, sight: Sight) {
    let now_ms = now_ms();
    if sight.read_ms.is_some_and(|read_ms| is_read_anew(read_ms, now_ms))
        && let Err(e) = app.store.run(KeepRead { archer, account, now_ms }).await
    {
        tracing::warn!(error = %e, "that a log was read could not be kept");
    }
}

/// Lists the coaches of a log.
#[utoipa::path(get, path = "/api/v1/logs/{archer}/coaches", tag = "coaches", params(("archer" = Uuid, Path, description = "Whose log")),
    responses((status = 200, description = "The coaches", body = Vec<Coach>), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "Only for its archer and a guardian", body = ErrorBody), (status = 404, description = "No such log", body = ErrorBody)))]
pub(crate) async fn coaches(
    State(app): State<App>,
    person: Person,
    Path(archer): Path<String>,
) -> Result<Json<Vec<Coach>>, ApiError> {
    let archer = decided(&app, person, &archer).await?;
    let coaches = app.store.run(Coaches(archer)).await?;
    Ok(Json(
        coaches
            .into_iter()
            .map(|c| {
                let read_ms = Some(c.read_ms).filter(|ms| *ms > 0);
                Coach {
                    account: c.account,
                    name: c.name,
                    since_ms: c.since_ms,
                    write: c.writes,
                    read_ms,
                    agreed: c.agreed,
                }
            })
            .collect(),
    ))
}

/// Letters and digits of codes: none that looks or sounds like another one.
const LETTERS: &[u8; 32] = b"23456789abcdefghjkmnpqrstuvwxyz0";

/// A code of 60 random bits that is read out and typed in: guessing one takes a login for every try, and it ends after a week.
pub(super) fn fresh_code() -> String {
    let letter = |byte: u8| char::from(LETTERS[usize::from(byte % 32)]);
    let letters: Vec<char> = random::<12>().into_iter().map(letter).collect();
    letters.chunks(4).map(String::from_iter).collect::<Vec<_>>().join("-")
}

/// The SHA-256 of a code, however it was typed.
pub(super) fn code_hash(code: &str) -> [u8; 32] {
    let typed = code.chars().filter(char::is_ascii_alphanumeric).map(|c| match c.to_ascii_lowercase() {
        'o' => '0',
        c => c,
    });
    hash_secret(&typed.collect::<String>())
}

/// What an invitation is to give.
#[derive(Debug, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewInvitation {
    /// Whether the log may be written too; read it may be in any case.
    #[serde(default)]
    pub write: bool,
}

/// An invitation, to be handed to the coach.
#[derive(Debug, Serialize, ToSchema)]
pub struct NewInvitationCode {
    /// By this it is taken back.
    pub id: Uuid,
    /// The secret of the invitation, told only now; it works once. Capitals, spaces and hyphens make no difference.
    pub code: String,
    /// When it ends, in milliseconds since 1970 UTC.
    pub expires_ms: u64,
}

/// Makes an invitation to read a log, or to write it too.
#[utoipa::path(post, path = "/api/v1/logs/{archer}/invitations", tag = "coaches", request_body = Option<NewInvitation>, params(("archer" = Uuid, Path, description = "Whose log")),
    responses((status = 201, description = "The invitation", body = NewInvitationCode), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "Too many open invitations, or only for its archer", body = ErrorBody), (status = 404, description = "No such log", body = ErrorBody),
        (status = 408, description = "Too slow", body = ErrorBody), (status = 413, description = "Too large", body = ErrorBody),
        (status = 422, description = "Not understood", body = ErrorBody)))]
pub(crate) async fn invite(
    State(app): State<App>,
    person: Person,
    Path(archer): Path<String>,
    Asked(asked): Asked<NewInvitation>,
) -> Result<(StatusCode, Json<NewInvitationCode>), ApiError> {
    let archer = owned(&app, person, &archer).await?;
    let code = fresh_code();
    let (made_ms, id) = (now_ms(), fresh_id());
    let expires_ms = made_ms + INVITATION_MS;
    let invitation = Invitation { id, writes: asked.write, made_ms, expires_ms };
    let op = Invite { archer, hash: code_hash(&code), invitation };
    app.store.run(Noted { op, entry: entry(person.id, "invited", &archer.to_string()) }).await?;
    Ok((StatusCode::CREATED, Json(NewInvitationCode { id, code, expires_ms })))
}

/// An open invitation.
#[derive(Debug, Serialize, ToSchema)]
pub struct OpenInvitation {
    /// By this it is taken back.
    pub id: Uuid,
    /// Whether it lets write too.
    pub write: bool,
    /// When it was made, in milliseconds since 1970 UTC.
    pub made_ms: u64,
    /// When it ends.
    pub expires_ms: u64,
}

/// Lists the open invitations to a log.
#[utoipa::path(get, path = "/api/v1/logs/{archer}/invitations", tag = "coaches", params(("archer" = Uuid, Path, description = "Whose log")),
    responses((status = 200, description = "The invitations, the latest first", body = Vec<OpenInvitation>), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "Only for its archer", body = ErrorBody), (status = 404, description = "No such log", body = ErrorBody)))]
pub(crate) async fn invitations(
    State(app): State<App>,
    person: Person,
    Path(archer): Path<String>,
) -> Result<Json<Vec<OpenInvitation>>, ApiError> {
    let archer = owned(&app, person, &archer).await?;
    let open =
        |Invitation { id, writes: write, made_ms, expires_ms }| OpenInvitation { id, write, made_ms, expires_ms };
    let all = app.store.run(Invitations { archer, now_ms: now_ms() }).await?;
    Ok(Json(all.into_iter().map(open).collect()))
}

/// Takes an open invitation back.
#[utoipa::path(delete, path = "/api/v1/logs/{archer}/invitations/{id}", tag = "coaches",
    params(("archer" = Uuid, Path, description = "Whose log"), ("id" = Uuid, Path, description = "The invitation")),
    responses((status = 204, description = "Taken back"), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "Only for its archer", body = ErrorBody), (status = 404, description = "No such log or invitation", body = ErrorBody)))]
pub(crate) async fn take_back(
    State(app): State<App>,
    person: Person,
    Path((archer, id)): Path<(String, String)>,
) -> Result<StatusCode, ApiError> {
    let archer = owned(&app, person, &archer).await?;
    let op = TakeBack { archer, invitation: parse_id(&id)? };
    let was =
        app.store.run(Noted { op, entry: entry(person.id, "invitation_taken_back", &archer.to_string()) }).await?;
    done(was)
}

/// What the coach was handed.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct InvitationCode {
    /// The secret of the invitation.
    pub code: String,
}

/// What an invitation has given.
#[derive(Debug, Serialize, ToSchema)]
pub struct Given {
    /// Whose log it is.
    pub archer: Uuid,
    /// Name of the account whose log it is.
    pub from: Option<String>,
    /// Whether the log may be written too.
    pub write: bool,
    /// Whether a guardian of the archer has to agree first; until then nothing is seen.
    pub waits: bool,
}

/// Takes an invitation: the account may read the log from now on, or write it too.
#[utoipa::path(post, path = "/api/v1/invitations/accept", tag = "coaches", request_body = InvitationCode,
    responses((status = 200, description = "The log is among those listed now", body = Given), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "Too many coaches, no accounts here, or a device's token", body = ErrorBody),
        (status = 404, description = "No such invitation, it has ended, or it is to one's own log", body = ErrorBody),
        (status = 408, description = "Too slow", body = ErrorBody), (status = 413, description = "Too large", body = ErrorBody),
        (status = 422, description = "Not understood", body = ErrorBody)))]
pub(crate) async fn accept(
    State(app): State<App>,
    person: Person,
    Asked(code): Asked<InvitationCode>,
) -> Result<Json<Given>, ApiError> {
    let entries = [fresh_id(), fresh_id(), fresh_id()];
    let op = Accept { hash: code_hash(&code.code), account: person.id, now_ms: now_ms(), entries };
    let taken = app.store.run(op).await?.ok_or(ApiError::NotFound)?;
    Ok(Json(Given { archer: taken.archer, from: taken.from, write: taken.writes, waits: taken.waits }))
}

/// Ends what a coach may see, at once, and the log's open invitations.
#[utoipa::path(delete, path = "/api/v1/logs/{archer}/coaches/{account}", tag = "coaches",
    params(("archer" = Uuid, Path, description = "Whose log"), ("account" = Uuid, Path, description = "The coach's account")),
    responses((status = 204, description = "Revoked"), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "Only for its archer and a guardian", body = ErrorBody), (status = 404, description = "No such log or coach", body = ErrorBody)))]
pub(crate) async fn revoke(
    State(app): State<App>,
    person: Person,
    Path((archer, account)): Path<(String, String)>,
) -> Result<StatusCode, ApiError> {
    let archer = decided(&app, person, &archer).await?;
    let op = RevokeCoach { archer, account: parse_id(&account)? };
    let was = app.store.run(Noted { op, entry: entry(person.id, "coach_revoked", &account) }).await?;
    done(was)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_the_same_however_it_is_typed() {
        let code = fresh_code();
        assert_eq!((code.len(), code.matches('-').count()), (14, 2), "{code}");
        assert_ne!(code, fresh_code());
        let typed = [code.to_uppercase(), code.replace('-', ""), code.replace('-', " "), format!(" {code}\n")];
        for typed in typed {
            assert_eq!(code_hash(&typed), code_hash(&code), "{typed}");
        }
        assert_eq!(code_hash("o000-0000-0000"), code_hash("0000-0000-0000"), "one is read for the other");
        assert_ne!(code_hash(""), code_hash(&code));
    }
}
