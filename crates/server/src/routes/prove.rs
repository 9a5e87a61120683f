//! Whether whoever asks is who they say: passwords and codes, and how long a wrong one makes wait.

use axum::http::request::Parts;
use goldward_journal::Uuid;
use goldward_store::Backend as _;
use goldward_store::second::{SecondOf, UseRecovery, UseStep};
use goldward_store::trail::Noted;
use goldward_store::who::{Account, AccountOf};

use super::asked::entry;
use crate::App;
use crate::auth::Person;
use crate::client::{Client, group};
use crate::clock::now_ms;
use crate::error::ApiError;
use crate::limit::Try;
use crate::password::LONGEST_PASSWORD;
use crate::second::{recovery_hash, step_of};

/// Whether name, password and code are right; each failure makes the next try of that name from that address wait for longer.
pub(super) async fn check_login(
    app: &App,
    name: &str,
    password: String,
    code: Option<String>,
    account: Option<Account>,
    client: &Client,
) -> Result<(), ApiError> {
    let attempt = verify(app, name, password, account.as_ref().map(|a| a.password.clone()), client).await?;
    if let Some(account) = account {
        match check_code(app, account.id, code.as_deref()).await {
            Err(ApiError::CodeNeeded) => {
                app.limits.withdrawn(&app.store, attempt).await?;
                return Err(ApiError::CodeNeeded);
            }
            Err(ApiError::WrongCode) => {
                app.metrics.failed_login();
                return Err(ApiError::WrongCode);
            }
            other => other?,
        }
    }
    app.limits.succeeded(&app.store, attempt, now_ms()).await
}

/// Whether that is the password; each failure makes the next try of that name from that address wait for longer.
async fn check_password(
    app: &App,
    name: &str,
    password: String,
    hash: Option<String>,
    client: &Client,
) -> Result<(), ApiError> {
    let attempt = verify(app, name, password, hash, client).await?;
    app.limits.succeeded(&app.store, attempt, now_ms()).await
}

/// The same, of an attempt that is neither a failure nor a success yet.
async fn verify(
    app: &App,
    name: &str,
    password: String,
    hash: Option<String>,
    client: &Client,
) -> Result<Try, ApiError> {
    let attempt = app.limits.attempt(&app.store, name, client.address, now_ms()).await?;
    let right = app.hashing.run(client.address.map(group), move |m| m.verify(&password, hash.as_deref())).await?;
    if !right {
        app.metrics.failed_login();
        return Err(ApiError::WrongPassword);
    }
    Ok(attempt)
}

/// Longest code that is looked at.
const LONGEST_CODE: usize = 100;

/// Lets through an account without a second factor, or with a code that is right; each code works once.
async fn check_code(app: &App, account: Uuid, code: Option<&str>) -> Result<(), ApiError> {
    let Some(secret) = app.store.run(SecondOf(account)).await?.secret else { return Ok(()) };
    let code = code.filter(|c| !c.trim().is_empty()).ok_or(ApiError::CodeNeeded)?;
    if code.len() > LONGEST_CODE {
        return Err(ApiError::WrongCode);
    }
    if let Some(step) = step_of(&secret, code, now_ms()) {
        return if app.store.run(UseStep { account, step }).await? { Ok(()) } else { Err(ApiError::WrongCode) };
    }
    let op = UseRecovery { account, hash: recovery_hash(code) };
    let was = app.store.run(Noted { op, entry: entry(account, "recovery_code_used", "") }).await?;
    if was { Ok(()) } else { Err(ApiError::WrongCode) }
}

/// Lets through who has entered the password a moment ago, or sends it along.
pub(crate) async fn prove(app: &App, person: Person, password: Option<String>, parts: &Parts) -> Result<(), ApiError> {
    let Some(password) = password else {
        return if person.is_fresh() { Ok(()) } else { Err(ApiError::PasswordNeeded) };
    };
    let (account, client) = asked_again(app, person, &password, parts).await?;
    check_password(app, &account.name, password, Some(account.password), &client).await.map_err(here)
}

/// Lets through who sends the password along, and a code where there is a second factor.
pub(crate) async fn prove_both(
    app: &App,
    person: Person,
    password: String,
    code: Option<String>,
    parts: &Parts,
) -> Result<(), ApiError> {
    let (account, client) = asked_again(app, person, &password, parts).await?;
    let name = account.name.clone();
    check_login(app, &name, password, code, Some(account), &client).await.map_err(here)
}

/// The account of someone who is logged in and sends a password, which may be one, and where they ask from.
async fn asked_again(app: &App, person: Person, password: &str, parts: &Parts) -> Result<(Account, Client), ApiError> {
    let account = app.store.run(AccountOf(person.id)).await?.ok_or(ApiError::LogIn)?;
    if password.len() > LONGEST_PASSWORD {
        return Err(here(ApiError::WrongPassword));
    }
    Ok((account, Client::of(parts, &app.trusted_proxies)))
}

/// A wrong password of someone who is logged in does not log them out.
fn here(error: ApiError) -> ApiError {
    match error {
        ApiError::WrongPassword => ApiError::WrongPasswordHere,
        other => other,
    }
}
