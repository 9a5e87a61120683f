//! The second factor of an account: made, shown to work, and taken away.

use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::http::request::Parts;
use goldward_store::Backend as _;
use goldward_store::second::{Confirm, Prepare, RemoveSecond, SecondOf};
use goldward_store::trail::Noted;
use goldward_store::who::AccountOf;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::asked::{Asked, done, entry};
use super::prove::prove_both;
use crate::App;
use crate::auth::Person;
use crate::clock::now_ms;
use crate::error::{ApiError, ErrorBody};
use crate::second::{Shown, fresh, recovery_codes, shown, step_of};

/// Whoever begins with a second factor.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct BeginSecond {
    /// The account's password.
    pub password: String,
    /// A code of the second factor that there is already, or a recovery code.
    #[serde(default)]
    pub code: Option<String>,
}

/// A fresh secret, told only now.
#[derive(Serialize, ToSchema)]
pub struct NewSecond {
    /// For typing into an authenticator: base 32, in groups of four.
    pub secret: String,
    /// The same as an `otpauth://` address, for a picture to scan.
    pub uri: String,
}

/// Makes a secret for an authenticator. It is asked for at logins once a code has shown that it works.
#[utoipa::path(post, path = "/api/v1/second-factor", tag = "accounts", request_body = BeginSecond,
    responses((status = 201, description = "The secret", body = NewSecond),
        (status = 401, description = "Not logged in, or a code of the second factor until now is missing or wrong", body = ErrorBody),
        (status = 403, description = "The password is wrong, no accounts here, or a device's token", body = ErrorBody),
        (status = 408, description = "Too slow", body = ErrorBody), (status = 413, description = "Too large", body = ErrorBody),
        (status = 422, description = "Not understood", body = ErrorBody),
        (status = 429, description = "Failed too often: wait as Retry-After says", body = ErrorBody),
        (status = 503, description = "Too many at once: come again as Retry-After says", body = ErrorBody)))]
pub(crate) async fn begin(
    State(app): State<App>,
    person: Person,
    parts: Parts,
    Asked(asked): Asked<BeginSecond>,
) -> Result<(StatusCode, Json<NewSecond>), ApiError> {
    prove_both(&app, person, asked.password, asked.code, &parts).await?;
    let account = app.store.run(AccountOf(person.id)).await?.ok_or(ApiError::LogIn)?;
    let secret = fresh();
    let Shown { text, uri } = shown(&secret, &account.name);
    app.store.run(Prepare { account: person.id, secret }).await?;
    Ok((StatusCode::CREATED, Json(NewSecond { secret: text, uri })))
}

/// A code that shows that the secret works.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ConfirmSecond {
    /// What the authenticator shows.
    pub code: String,
}

/// Codes for whoever has lost the authenticator, told only now.
#[derive(Serialize, ToSchema)]
pub struct RecoveryCodes {
    /// Each works once, in place of a code.
    pub recovery_codes: Vec<String>,
}

/// Asks for a code at every login from now on. Recovery codes of before work no more.
#[utoipa::path(post, path = "/api/v1/second-factor/confirm", tag = "accounts", request_body = ConfirmSecond,
    responses((status = 200, description = "The recovery codes", body = RecoveryCodes),
        (status = 401, description = "Not logged in, or the code is wrong", body = ErrorBody),
        (status = 403, description = "No accounts here, or a device's token", body = ErrorBody),
        (status = 404, description = "No secret was made", body = ErrorBody),
        (status = 408, description = "Too slow", body = ErrorBody), (status = 413, description = "Too large", body = ErrorBody),
        (status = 422, description = "Not understood", body = ErrorBody),
        (status = 503, description = "Too many at once: come again as Retry-After says", body = ErrorBody)))]
pub(crate) async fn confirm(
    State(app): State<App>,
    person: Person,
    Asked(asked): Asked<ConfirmSecond>,
) -> Result<Json<RecoveryCodes>, ApiError> {
    let account = person.id;
    let secret = app.store.run(SecondOf(account)).await?.waiting.ok_or(ApiError::NotFound)?;
    let step = step_of(&secret, &asked.code, now_ms()).ok_or(ApiError::WrongCode)?;
    let (recovery_codes, recovery) = recovery_codes();
    let op = Confirm { account, secret, step, recovery };
    if !app.store.run(Noted { op, entry: entry(account, "second_factor_set", "") }).await? {
        return Err(ApiError::NotFound);
    }
    Ok(Json(RecoveryCodes { recovery_codes }))
}

/// Asks for a second factor no more.
#[utoipa::path(post, path = "/api/v1/second-factor/remove", tag = "accounts", request_body = BeginSecond,
    responses((status = 204, description = "Removed"),
        (status = 401, description = "Not logged in, or the code is missing or wrong", body = ErrorBody),
        (status = 403, description = "The password is wrong, no accounts here, or a device's token", body = ErrorBody),
        (status = 404, description = "There is no second factor", body = ErrorBody),
        (status = 408, description = "Too slow", body = ErrorBody), (status = 413, description = "Too large", body = ErrorBody),
        (status = 422, description = "Not understood", body = ErrorBody),
        (status = 429, description = "Failed too often: wait as Retry-After says", body = ErrorBody),
        (status = 503, description = "Too many at once: come again as Retry-After says", body = ErrorBody)))]
pub(crate) async fn remove(
    State(app): State<App>,
    person: Person,
    parts: Parts,
    Asked(asked): Asked<BeginSecond>,
) -> Result<StatusCode, ApiError> {
    prove_both(&app, person, asked.password, asked.code, &parts).await?;
    let noted = Noted { op: RemoveSecond(person.id), entry: entry(person.id, "second_factor_removed", "") };
    done(app.store.run(noted).await?)
}
