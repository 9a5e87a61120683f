//! Logging in and out, passwords, and the sessions and devices of an account.

use std::net::SocketAddr;

use axum::extract::rejection::JsonRejection;
use axum::extract::{ConnectInfo, FromRequest, Path, Request, State};
use axum::http::header::SET_COOKIE;
use axum::http::{HeaderMap, HeaderValue, StatusCode};
use axum::{Extension, Json};
use goldward_journal::Uuid;
use goldward_store::who::{AccountOf, AddToken, EndToken, FindAccount, SetPassword, Token, TokenKind, Tokens};
use goldward_store::{Backend as _, StoreError};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::App;
use crate::auth::{COOKIE_NAME, Person, Who, fresh_token, hash_password, verify_password};
use crate::clock::now_ms;
use crate::error::{ApiError, ErrorBody};

/// JSON of a request; a mistake in it is told as every other one is.
pub(crate) struct Asked<T>(pub(crate) T);

impl<T, S> FromRequest<S> for Asked<T>
where
    Json<T>: FromRequest<S, Rejection = JsonRejection>,
    S: Send + Sync,
{
    type Rejection = ApiError;

    async fn from_request(request: Request, state: &S) -> Result<Self, ApiError> {
        Json::from_request(request, state).await.map(|Json(t)| Self(t)).map_err(|e| ApiError::Bad(e.body_text()))
    }
}

/// An id in the address of a request.
pub(crate) fn parse_id(text: &str) -> Result<Uuid, ApiError> {
    text.parse().map_err(|_| ApiError::NotFound)
}

/// A name and a password.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Login {
    /// The account's name.
    pub name: String,
    /// Its password.
    pub password: String,
}

/// Logs a browser in: the answer sets an `HttpOnly`, `SameSite=Strict` cookie.
#[utoipa::path(post, path = "/api/v1/login", tag = "accounts", request_body = Login, security(()),
    responses((status = 204, description = "Logged in"), (status = 401, description = "Wrong name or password", body = ErrorBody),
        (status = 403, description = "No accounts here, or another site's page", body = ErrorBody),
        (status = 422, description = "Not understood", body = ErrorBody),
        (status = 429, description = "Too many failures", body = ErrorBody)))]
pub(crate) async fn login(
    State(app): State<App>,
    peer: Option<Extension<ConnectInfo<SocketAddr>>>,
    Asked(login): Asked<Login>,
) -> Result<(StatusCode, HeaderMap), ApiError> {
    if app.open {
        return Err(ApiError::Forbidden("this server has no accounts: nobody needs to log in"));
    }
    let (address, now) = (peer.map(|Extension(ConnectInfo(a))| a.ip()), now_ms());
    if login.password.len() > 1000 || login.name.len() > 200 {
        return Err(ApiError::WrongPassword);
    }
    app.limits.attempt(&login.name, address, now).map_err(ApiError::TooMany)?;
    let account = app.store.run(FindAccount(login.name.clone())).await?;
    let hash = account.as_ref().map(|a| a.password.clone());
    let right = hashing(&app, move || verify_password(&login.password, hash.as_deref())).await?;
    let Some(account) = account.filter(|_| right) else {
        app.metrics.failed_login();
        return Err(ApiError::WrongPassword);
    };
    app.limits.succeeded(&account.name, address);
    let (token, secret) = keep(&app, account.id, TokenKind::Session, "browser").await?;
    Ok((StatusCode::NO_CONTENT, set_cookie(&app, &secret, (token.expires_ms - token.made_ms) / 1000)))
}

/// Does what takes a core and 19 MiB for a while, away from the threads that answer others.
async fn hashing<R: Send + 'static>(app: &App, work: impl FnOnce() -> R + Send + 'static) -> Result<R, ApiError> {
    let stopping = || ApiError::Store(StoreError::Unavailable("the server is stopping".to_owned()));
    let _turn = app.hashing.acquire().await.map_err(|_| stopping())?;
    tokio::task::spawn_blocking(work).await.map_err(|_| stopping())
}

fn set_cookie(app: &App, secret: &str, seconds: u64) -> HeaderMap {
    let secure = if app.secure_cookies { "; Secure" } else { "" };
    let cookie = format!("{COOKIE_NAME}={secret}; Path=/; HttpOnly; SameSite=Strict; Max-Age={seconds}{secure}");
    HeaderMap::from_iter(HeaderValue::try_from(cookie).map(|v| (SET_COOKIE, v)))
}

async fn keep(app: &App, account: Uuid, kind: TokenKind, label: &str) -> Result<(Token, String), ApiError> {
    let (token, secret) = fresh_token(account, kind, label);
    app.store.run(AddToken(token.clone())).await?;
    Ok((token, secret))
}

/// Logs the browser out: its session ends on the server too.
#[utoipa::path(post, path = "/api/v1/logout", tag = "accounts",
    responses((status = 204, description = "Logged out"), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "No accounts here, or a device's token", body = ErrorBody)))]
pub(crate) async fn logout(State(app): State<App>, person: Person) -> Result<(StatusCode, HeaderMap), ApiError> {
    app.store.run(EndToken { account: person.id, token: person.token, kind: TokenKind::Session }).await?;
    Ok((StatusCode::NO_CONTENT, set_cookie(&app, "", 0)))
}

/// Who is asking.
#[derive(Debug, Serialize, ToSchema)]
pub struct Me {
    /// Whether the server needs no account.
    pub open: bool,
    /// The account.
    pub account: Option<Uuid>,
}

/// Says who is asking.
#[utoipa::path(get, path = "/api/v1/me", tag = "accounts",
    responses((status = 200, description = "Who is asking", body = Me), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "Not reached as localhost", body = ErrorBody)))]
pub(crate) async fn me(who: Who) -> Json<Me> {
    Json(match who {
        Who::Local => Me { open: true, account: None },
        Who::Account { id, .. } => Me { open: false, account: Some(id) },
    })
}

/// What a device is called.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewDevice {
    /// What its owner calls it.
    #[schema(max_length = 100)]
    pub label: String,
}

/// A new device's token.
#[derive(Debug, Serialize, ToSchema)]
pub struct NewDeviceToken {
    /// By this it is revoked.
    pub id: Uuid,
    /// The secret, told only now; sent as `Authorization: Bearer`.
    pub token: String,
}

/// Makes a token for a device that syncs.
#[utoipa::path(post, path = "/api/v1/devices", tag = "accounts", request_body = NewDevice,
    responses((status = 201, description = "The token", body = NewDeviceToken), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "No accounts here, or a device's token", body = ErrorBody),
        (status = 422, description = "Not understood", body = ErrorBody)))]
pub(crate) async fn add_device(
    State(app): State<App>,
    person: Person,
    Asked(device): Asked<NewDevice>,
) -> Result<(StatusCode, Json<NewDeviceToken>), ApiError> {
    if device.label.chars().count() > 100 || device.label.contains('\0') {
        return Err(ApiError::Bad("a label has at most 100 characters".to_owned()));
    }
    let (Token { id, .. }, token) = keep(&app, person.id, TokenKind::Device, &device.label).await?;
    Ok((StatusCode::CREATED, Json(NewDeviceToken { id, token })))
}

/// A device of the account.
#[derive(Debug, Serialize, ToSchema)]
pub struct Device {
    /// Its token's id.
    pub id: Uuid,
    /// What its owner calls it.
    pub label: String,
    /// When the token was made, in milliseconds since 1970 UTC.
    pub made_ms: u64,
    /// When it ends.
    pub expires_ms: u64,
}

/// Lists the devices.
#[utoipa::path(get, path = "/api/v1/devices", tag = "accounts",
    responses((status = 200, description = "The devices", body = Vec<Device>), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "No accounts here, or a device's token", body = ErrorBody)))]
pub(crate) async fn devices(State(app): State<App>, person: Person) -> Result<Json<Vec<Device>>, ApiError> {
    let op = Tokens { account: person.id, kind: TokenKind::Device, now_ms: now_ms() };
    let devices = app.store.run(op).await?;
    Ok(Json(
        devices.into_iter().map(|(id, label, made_ms, expires_ms)| Device { id, label, made_ms, expires_ms }).collect(),
    ))
}

/// Ends a device's token.
#[utoipa::path(delete, path = "/api/v1/devices/{id}", tag = "accounts", params(("id" = Uuid, Path, description = "The token's id")),
    responses((status = 204, description = "Ended"), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "No accounts here, or a device's token", body = ErrorBody),
        (status = 404, description = "No such device", body = ErrorBody)))]
pub(crate) async fn end_device(
    State(app): State<App>,
    person: Person,
    Path(id): Path<String>,
) -> Result<StatusCode, ApiError> {
    end(&app, person, &id, TokenKind::Device).await
}

async fn end(app: &App, person: Person, id: &str, kind: TokenKind) -> Result<StatusCode, ApiError> {
    let ended = app.store.run(EndToken { account: person.id, token: parse_id(id)?, kind }).await?;
    if ended { Ok(StatusCode::NO_CONTENT) } else { Err(ApiError::NotFound) }
}

/// A browser that is logged in.
#[derive(Debug, Serialize, ToSchema)]
pub struct LoggedIn {
    /// The session's id.
    pub id: Uuid,
    /// Whether it is the one that asks.
    pub this: bool,
    /// When it logged in, in milliseconds since 1970 UTC.
    pub made_ms: u64,
    /// When it will have to log in again.
    pub expires_ms: u64,
}

/// Lists the browsers that are logged in.
#[utoipa::path(get, path = "/api/v1/sessions", tag = "accounts",
    responses((status = 200, description = "The sessions", body = Vec<LoggedIn>), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "No accounts here, or a device's token", body = ErrorBody)))]
pub(crate) async fn sessions(State(app): State<App>, person: Person) -> Result<Json<Vec<LoggedIn>>, ApiError> {
    let op = Tokens { account: person.id, kind: TokenKind::Session, now_ms: now_ms() };
    let sessions = app.store.run(op).await?.into_iter();
    Ok(Json(
        sessions
            .map(|(id, _, made_ms, expires_ms)| LoggedIn { id, this: id == person.token, made_ms, expires_ms })
            .collect(),
    ))
}

/// Logs a browser out from afar.
#[utoipa::path(delete, path = "/api/v1/sessions/{id}", tag = "accounts", params(("id" = Uuid, Path, description = "The session's id")),
    responses((status = 204, description = "Ended"), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "No accounts here, or a device's token", body = ErrorBody),
        (status = 404, description = "No such session", body = ErrorBody)))]
pub(crate) async fn end_session(
    State(app): State<App>,
    person: Person,
    Path(id): Path<String>,
) -> Result<StatusCode, ApiError> {
    end(&app, person, &id, TokenKind::Session).await
}

/// Another password.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewPassword {
    /// The password until now.
    pub old: String,
    /// The new one, 10 to 1000 characters.
    #[schema(min_length = 10, max_length = 1000)]
    pub new: String,
    /// Whether the tokens of all devices end too.
    #[serde(default)]
    pub end_devices: bool,
}

/// Sets another password: all other browsers are logged out.
#[utoipa::path(post, path = "/api/v1/password", tag = "accounts", request_body = NewPassword,
    responses((status = 204, description = "Set"), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "The old password is wrong, no accounts here, or a device's token", body = ErrorBody),
        (status = 422, description = "Not understood, or too short", body = ErrorBody),
        (status = 429, description = "Too many failures", body = ErrorBody)))]
pub(crate) async fn password(
    State(app): State<App>,
    person: Person,
    peer: Option<Extension<ConnectInfo<SocketAddr>>>,
    Asked(asked): Asked<NewPassword>,
) -> Result<StatusCode, ApiError> {
    let account = app.store.run(AccountOf(person.id)).await?.ok_or(ApiError::LogIn)?;
    let address = peer.map(|Extension(ConnectInfo(a))| a.ip());
    app.limits.attempt(&account.name, address, now_ms()).map_err(ApiError::TooMany)?;
    let NewPassword { old, new, end_devices } = asked;
    if !hashing(&app, move || old.len() <= 1000 && verify_password(&old, Some(&account.password))).await? {
        app.metrics.failed_login();
        return Err(ApiError::Forbidden("the old password is wrong"));
    }
    app.limits.succeeded(&account.name, address);
    let password = hashing(&app, move || hash_password(&new)).await?.map_err(ApiError::Bad)?;
    let op = SetPassword { account: person.id, password, keep: Some(person.token), end_devices };
    app.store.run(op).await?;
    Ok(StatusCode::NO_CONTENT)
}
