//! What a client is told when something is wrong.

use std::borrow::Cow;

use axum::Json;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use goldward_store::StoreError;
use serde::Serialize;

/// An answer that is not the one hoped for.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub enum ApiError {
    /// The request cannot be understood.
    Bad(String),
    /// Nobody has logged in.
    LogIn,
    /// Name or password is wrong.
    WrongPassword,
    /// Somebody who is logged in has sent a password that is wrong.
    WrongPasswordHere,
    /// Not allowed to this account.
    Forbidden(Cow<'static, str>),
    /// Whoever asks logs in once more first: the account's password is needed again.
    PasswordNeeded,
    /// The password was right, and the code of the second factor is missing.
    CodeNeeded,
    /// The code of the second factor is wrong, or was used before.
    WrongCode,
    /// Its archer has erased it for good.
    Erased,
    /// There is no such thing, or none that this account may know of.
    NotFound,
    /// There is one already.
    Conflict(String),
    /// More than an account or a log may have.
    Quota(String),
    /// Too many tries, failed logins above all; seconds to wait.
    TooMany(u64),
    /// Too much is going on; seconds to wait.
    Busy(u64),
    /// Larger than so many bytes.
    TooLarge(usize),
    /// The request came too slowly.
    Slow,
    /// The store fails.
    Store(StoreError),
}

/// The body of every error.
#[derive(Debug, Serialize, utoipa::ToSchema)]
pub struct ErrorBody {
    /// A word for programs.
    pub error: &'static str,
    /// What is wrong and what to do, for people.
    pub message: String,
}

impl ApiError {
    /// Not allowed, and why.
    pub(crate) fn forbidden(what: &'static str) -> Self {
        Self::Forbidden(Cow::Borrowed(what))
    }
}

impl From<StoreError> for ApiError {
    fn from(error: StoreError) -> Self {
        match error {
            StoreError::NotYours => Self::NotFound,
            StoreError::Erased => Self::Erased,
            StoreError::Quota { .. } => Self::Quota(error.to_string()),
            StoreError::NameTaken => Self::Conflict(error.to_string()),
            other => Self::Store(other),
        }
    }
}

impl IntoResponse for ApiError {
    fn into_response(self) -> Response {
        let (status, error, message) = match &self {
            Self::Bad(what) => (StatusCode::UNPROCESSABLE_ENTITY, "bad_request", what.clone()),
            Self::LogIn => (StatusCode::UNAUTHORIZED, "log_in", "log in first".to_owned()),
            Self::WrongPassword => {
                (StatusCode::UNAUTHORIZED, "wrong_password", "the name or the password is wrong".to_owned())
            }
            Self::WrongPasswordHere => (StatusCode::FORBIDDEN, "wrong_password", "the password is wrong".to_owned()),
            Self::Forbidden(what) => (StatusCode::FORBIDDEN, "forbidden", what.clone().into_owned()),
            Self::PasswordNeeded => (
                StatusCode::FORBIDDEN,
                "password_needed",
                "send the account's password along: it was entered too long ago".to_owned(),
            ),
            Self::CodeNeeded => (
                StatusCode::UNAUTHORIZED,
                "code_needed",
                "this account has a second factor: send the code of the authenticator along, or a recovery code".to_owned(),
            ),
            Self::WrongCode => (
                StatusCode::UNAUTHORIZED,
                "wrong_code",
                "the code is wrong or was used before: wait for the next one, and look whether the clocks are right".to_owned(),
            ),
            Self::Erased => (
                StatusCode::GONE,
                "erased",
                "this log was erased from the server by its archer: nothing was taken in, and the copy on this device is \
                 sent nowhere"
                    .to_owned(),
            ),
            Self::Quota(what) => (StatusCode::FORBIDDEN, "quota", what.clone()),
            Self::NotFound => (StatusCode::NOT_FOUND, "not_found", "there is no such thing here".to_owned()),
            Self::Conflict(what) => (StatusCode::CONFLICT, "conflict", what.clone()),
            Self::TooMany(seconds) => {
                (StatusCode::TOO_MANY_REQUESTS, "too_many", format!("too many tries from here: wait {seconds} seconds"))
            }
            Self::Busy(seconds) => (
                StatusCode::SERVICE_UNAVAILABLE,
                "busy",
                format!("too much is going on at once: try again in {seconds} seconds"),
            ),
            Self::TooLarge(most) => (
                StatusCode::PAYLOAD_TOO_LARGE,
                "too_large",
                format!("a request has at most {most} bytes here, uncompressed: send it in parts"),
            ),
            Self::Slow => (
                StatusCode::REQUEST_TIMEOUT,
                "slow",
                "the request came too slowly and was given up; nothing was taken in".to_owned(),
            ),
            Self::Store(e) => {
                tracing::error!(error = %e, "the store failed");
                match e {
                    // What the operating system says is for the log only.
                    StoreError::CannotWrite(_) => (
                        StatusCode::INSUFFICIENT_STORAGE,
                        "full",
                        "the server's disk takes nothing more: nothing was taken in".to_owned(),
                    ),
                    StoreError::Full => (StatusCode::INSUFFICIENT_STORAGE, "full", e.to_string()),
                    StoreError::ReadOnly => (
                        StatusCode::SERVICE_UNAVAILABLE,
                        "read_only",
                        "the server's store cannot be written: nothing was taken in".to_owned(),
                    ),
                    StoreError::Unavailable(_) => {
                        (StatusCode::SERVICE_UNAVAILABLE, "unavailable", "the store is busy: try again".to_owned())
                    }
                    // Paths and SQL are for the log only.
                    _ => (
                        StatusCode::INTERNAL_SERVER_ERROR,
                        "store",
                        "the store failed: nothing was taken in; the server's log tells more".to_owned(),
                    ),
                }
            }
        };
        let mut response = (status, Json(ErrorBody { error, message })).into_response();
        if let Self::TooMany(seconds) | Self::Busy(seconds) = self {
            response.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from(seconds));
        }
        response
    }
}
