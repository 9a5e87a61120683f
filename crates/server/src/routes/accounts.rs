//! Logging in and out, passwords, and the sessions and devices of an account.

use axum::Json;
use axum::extract::{Path, State};
use axum::http::header::SET_COOKIE;
use axum::http::request::Parts;
use axum::http::{HeaderMap, HeaderValue, StatusCode};
use goldward_journal::Uuid;
use goldward_store::Backend as _;
use goldward_store::guardian::StandingOf;
use goldward_store::second::SecondOf;
use goldward_store::trail::{Note, Noted};
use goldward_store::who::{
    AccountOf, AddToken, EndToken, FindAccount, SetPassword, Token, TokenInfo, TokenKind, Tokens,
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::asked::{Asked, done, entry, parse_id};
use super::prove::{check_login, prove};
use crate::App;
use crate::auth::{Person, Who, check_origin, fresh_token};
use crate::client::{Client, group};
use crate::clock::now_ms;
use crate::error::{ApiError, ErrorBody};
use crate::password::LONGEST_PASSWORD;

/// A name and a password.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Login {
    /// The account's name.
    pub name: String,
    /// Its password.
    pub password: String,
    /// The code of the second factor, or a recovery code: when the account has one.
    #[serde(default)]
    pub code: Option<String>,
}

/// Logs a browser in: the answer sets an `HttpOnly`, `SameSite=Strict` cookie.
#[utoipa::path(post, path = "/api/v1/login", tag = "accounts", request_body = Login, security(()),
    responses((status = 204, description = "Logged in"),
        (status = 401, description = "Wrong name or password, or the code of the second factor is missing (code_needed) or wrong", body = ErrorBody),
        (status = 403, description = "No accounts here, or another site's page", body = ErrorBody),
        (status = 408, description = "Too slow", body = ErrorBody), (status = 413, description = "Too large", body = ErrorBody),
        (status = 422, description = "Not understood", body = ErrorBody),
        (status = 429, description = "Failed too often: wait as Retry-After says", body = ErrorBody),
        (status = 503, description = "Too many at once: come again as Retry-After says", body = ErrorBody)))]
pub(crate) async fn login(
    State(app): State<App>,
    parts: Parts,
    Asked(login): Asked<Login>,
) -> Result<(StatusCode, HeaderMap), ApiError> {
    let (client, open) = (Client::of(&parts, &app.trusted_proxies), app.open().await?);
    check_origin(&parts.headers, &parts.method, &client, open, app.https)?;
    if open {
        return Err(ApiError::forbidden("this server has no accounts: nobody needs to log in"));
    }
    if login.password.len() > LONGEST_PASSWORD || login.name.len() > 400 {
        return Err(ApiError::WrongPassword);
    }
    let account = app.store.run(FindAccount(login.name.clone())).await?;
    let Login { name, password, code } = login;
    let checked = check_login(&app, &name, password, code, account.clone(), &client).await;
    if let (Err(ApiError::WrongPassword | ApiError::WrongCode), Some(account)) = (&checked, &account) {
        app.store.run(Note(entry(account.id, "login_failed", &browser(&parts.headers)))).await?;
    }
    checked?;
    let account = account.ok_or(ApiError::WrongPassword)?;
    Ok((StatusCode::NO_CONTENT, log_in(&app, account.id, &parts.headers).await?))
}

/// Logs that browser in: what its answer sets.
pub(super) async fn log_in(app: &App, account: Uuid, headers: &HeaderMap) -> Result<HeaderMap, ApiError> {
    let (token, secret) = keep(app, account, TokenKind::Session, &browser(headers)).await?;
    Ok(set_cookie(app, &secret, (token.expires_ms - token.made_ms) / 1000))
}

/// What a browser calls itself, so that its owner knows it again.
fn browser(headers: &HeaderMap) -> String {
    let agent = headers.get(axum::http::header::USER_AGENT).and_then(|v| v.to_str().ok()).unwrap_or_default();
    let has =
        |what: &[(&'static str, &'static str)]| what.iter().find(|(sign, _)| agent.contains(sign)).map(|(_, n)| *n);
    let program = has(&[("Edg/", "Edge"), ("Firefox/", "Firefox"), ("Chrome/", "Chrome"), ("Safari/", "Safari")]);
    let system = has(&[
        ("Android", "Android"),
        ("iPhone", "iPhone"),
        ("iPad", "iPad"),
        ("Windows", "Windows"),
        ("Mac OS", "macOS"),
        ("Linux", "Linux"),
    ]);
    match (program, system) {
        (Some(program), Some(system)) => format!("{program}, {system}"),
        (Some(one), None) | (None, Some(one)) => one.to_owned(),
        (None, None) => "browser".to_owned(),
    }
}

fn set_cookie(app: &App, secret: &str, seconds: u64) -> HeaderMap {
    let (name, secure) = (app.cookie_name(), if app.https { "; Secure" } else { "" });
    let cookie = format!("{name}={secret}; Path=/; HttpOnly; SameSite=Strict; Max-Age={seconds}{secure}");
    HeaderMap::from_iter(HeaderValue::try_from(cookie).map(|v| (SET_COOKIE, v)))
}

async fn keep(app: &App, account: Uuid, kind: TokenKind, label: &str) -> Result<(Token, String), ApiError> {
    let (token, secret) = fresh_token(account, kind, label);
    let what = if kind == TokenKind::Device { "device_added" } else { "login" };
    app.store.run(Noted { op: AddToken(token.clone()), entry: entry(account, what, label) }).await?;
    Ok((token, secret))
}

/// Logs the browser out: its session ends on the server too.
#[utoipa::path(post, path = "/api/v1/logout", tag = "accounts",
    responses((status = 204, description = "Logged out"), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "No accounts here, or a device's token", body = ErrorBody)))]
pub(crate) async fn logout(State(app): State<App>, person: Person) -> Result<(StatusCode, HeaderMap), ApiError> {
    let op = EndToken { account: person.id, token: person.token, kind: TokenKind::Session };
    app.store.run(Noted { op, entry: entry(person.id, "logout", "") }).await?;
    Ok((StatusCode::NO_CONTENT, set_cookie(&app, "", 0)))
}

/// Another account, by its name.
#[derive(Debug, Serialize, ToSchema)]
pub struct Named {
    /// The account.
    pub account: Uuid,
    /// What it is called.
    pub name: String,
}

/// Who is asking.
#[derive(Debug, Default, Serialize, ToSchema)]
pub struct Me {
    /// Whether the server needs no account.
    pub open: bool,
    /// The account.
    pub account: Option<Uuid>,
    /// What it is called.
    pub name: Option<String>,
    /// Whether a code is asked for at its login.
    pub second_factor: bool,
    /// Whether it opens and closes the way in for newcomers.
    pub manages: bool,
    /// Whether it is of somebody under age: others see its logs only once a guardian has agreed.
    pub minor: bool,
    /// The guardian, where there is one.
    pub guardian: Option<Named>,
    /// Whose guardian it is.
    pub guards: Vec<Named>,
}

/// Says who is asking.
#[utoipa::path(get, path = "/api/v1/me", tag = "accounts",
    responses((status = 200, description = "Who is asking", body = Me), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "Not reached as localhost", body = ErrorBody)))]
pub(crate) async fn me(State(app): State<App>, who: Who) -> Result<Json<Me>, ApiError> {
    Ok(Json(match who {
        Who::Local => Me { open: true, ..Me::default() },
        Who::Account(bearer) => {
            let account = app.store.run(AccountOf(bearer.account)).await?.ok_or(ApiError::LogIn)?;
            let standing = app.store.run(StandingOf(bearer.account)).await?.ok_or(ApiError::LogIn)?;
            let named = |(account, name)| Named { account, name };
            Me {
                open: false,
                account: Some(account.id),
                name: Some(account.name),
                second_factor: app.store.run(SecondOf(account.id)).await?.secret.is_some(),
                manages: standing.manages,
                minor: standing.minor,
                guardian: standing.guardian.map(named),
                guards: standing.guards.into_iter().map(named).collect(),
            }
        }
    }))
}

/// What a device is called.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewDevice {
    /// What its owner calls it.
    #[schema(max_length = 100)]
    pub label: String,
    /// The account's password: needed when the browser logged in more than ten minutes ago.
    #[serde(default)]
    pub password: Option<String>,
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
        (status = 403, description = "The password is needed or wrong, too many devices, no accounts here, or a device's token", body = ErrorBody),
        (status = 408, description = "Too slow", body = ErrorBody), (status = 413, description = "Too large", body = ErrorBody),
        (status = 422, description = "Not understood", body = ErrorBody),
        (status = 429, description = "Failed too often: wait as Retry-After says", body = ErrorBody),
        (status = 503, description = "Too many at once: come again as Retry-After says", body = ErrorBody)))]
pub(crate) async fn add_device(
    State(app): State<App>,
    person: Person,
    parts: Parts,
    Asked(device): Asked<NewDevice>,
) -> Result<(StatusCode, Json<NewDeviceToken>), ApiError> {
    if device.label.chars().count() > 100 || device.label.chars().any(char::is_control) {
        return Err(ApiError::Bad("a label has at most 100 characters, and no control characters".to_owned()));
    }
    prove(&app, person, device.password, &parts).await?;
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
    /// When it was last used, to some minutes.
    pub used_ms: u64,
}

/// Lists the devices.
#[utoipa::path(get, path = "/api/v1/devices", tag = "accounts",
    responses((status = 200, description = "The devices", body = Vec<Device>), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "No accounts here, or a device's token", body = ErrorBody)))]
pub(crate) async fn devices(State(app): State<App>, person: Person) -> Result<Json<Vec<Device>>, ApiError> {
    let op = Tokens { account: person.id, kind: TokenKind::Device, now_ms: now_ms() };
    let devices = app.store.run(op).await?;
    let device =
        |TokenInfo { id, label, made_ms, expires_ms, used_ms }| Device { id, label, made_ms, expires_ms, used_ms };
    Ok(Json(devices.into_iter().map(device).collect()))
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
    let what = if kind == TokenKind::Device { "device_ended" } else { "session_ended" };
    let op = EndToken { account: person.id, token: parse_id(id)?, kind };
    let was = app.store.run(Noted { op, entry: entry(person.id, what, id) }).await?;
    done(was)
}

/// A browser that is logged in.
#[derive(Debug, Serialize, ToSchema)]
pub struct LoggedIn {
    /// The session's id.
    pub id: Uuid,
    /// Whether it is the one that asks.
    pub this: bool,
    /// What kind of browser it is.
    pub label: String,
    /// When it logged in, in milliseconds since 1970 UTC.
    pub made_ms: u64,
    /// When it will have to log in again.
    pub expires_ms: u64,
    /// When it was last used, to some minutes.
    pub used_ms: u64,
}

/// Lists the browsers that are logged in.
#[utoipa::path(get, path = "/api/v1/sessions", tag = "accounts",
    responses((status = 200, description = "The sessions", body = Vec<LoggedIn>), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "No accounts here, or a device's token", body = ErrorBody)))]
pub(crate) async fn sessions(State(app): State<App>, person: Person) -> Result<Json<Vec<LoggedIn>>, ApiError> {
    let op = Tokens { account: person.id, kind: TokenKind::Session, now_ms: now_ms() };
    let session = |TokenInfo { id, label, made_ms, expires_ms, used_ms }| {
        let this = id == person.token;
        LoggedIn { id, this, label, made_ms, expires_ms, used_ms }
    };
    Ok(Json(app.store.run(op).await?.into_iter().map(session).collect()))
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
        (status = 408, description = "Too slow", body = ErrorBody), (status = 413, description = "Too large", body = ErrorBody),
        (status = 422, description = "Not understood, too short, or among the first to be guessed", body = ErrorBody),
        (status = 429, description = "Failed too often: wait as Retry-After says", body = ErrorBody),
        (status = 503, description = "Too many at once: come again as Retry-After says", body = ErrorBody)))]
pub(crate) async fn password(
    State(app): State<App>,
    person: Person,
    parts: Parts,
    Asked(asked): Asked<NewPassword>,
) -> Result<StatusCode, ApiError> {
    let NewPassword { old, new, end_devices } = asked;
    prove(&app, person, Some(old), &parts).await?;
    let account = app.store.run(AccountOf(person.id)).await?.ok_or(ApiError::LogIn)?;
    crate::password::check(&new, &[&account.name]).map_err(ApiError::Bad)?;
    let place = Client::of(&parts, &app.trusted_proxies).address.map(group);
    let password = app.hashing.run(place, move |memory| memory.fresh(&new)).await?.map_err(ApiError::Bad)?;
    let op = SetPassword { account: person.id, password, keep: Some(person.token), end_devices };
    app.store.run(Noted { op, entry: entry(person.id, "password_set", "") }).await?;
    Ok(StatusCode::NO_CONTENT)
}
