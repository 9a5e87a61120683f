//! Passwords, tokens, and who is asking.

use argon2::password_hash::{PasswordHash, PasswordHasher as _, PasswordVerifier as _, SaltString};
use argon2::{Algorithm, Argon2, Params, Version};
use axum::extract::FromRequestParts;
use axum::http::header::{AUTHORIZATION, COOKIE, HOST, ORIGIN};
use axum::http::request::Parts;
use axum::http::{HeaderMap, Method};
use goldward_journal::{Uuid, id::new_id};
use goldward_store::who::{FindToken, Token, TokenKind};
use goldward_store::{Backend as _, ops::Owner};
use sha2::{Digest as _, Sha256};

use crate::App;
use crate::clock::now_ms;
use crate::error::ApiError;

/// The name of the session's cookie.
pub const COOKIE_NAME: &str = "goldward_session";

/// Fewest characters of a password.
pub const SHORTEST_PASSWORD: usize = 10;

/// Fresh random bytes from the operating system.
///
/// # Panics
/// When the operating system has none: nothing could be kept secret then.
#[must_use]
pub fn random<const N: usize>() -> [u8; N] {
    let mut bytes = [0; N];
    assert!(getrandom::fill(&mut bytes).is_ok(), "the operating system gives no random bytes");
    bytes
}

/// A fresh id.
#[must_use]
pub fn fresh_id() -> Uuid {
    new_id(now_ms(), random())
}

/// Argon2id with 19 MiB, two passes and one lane.
fn argon2() -> Argon2<'static> {
    Argon2::new(Algorithm::Argon2id, Version::V0x13, Params::default())
}

/// The hash of a password in the PHC format, with a fresh salt.
///
/// # Errors
/// What is wrong with the password, in words.
pub fn hash_password(password: &str) -> Result<String, String> {
    if password.chars().count() < SHORTEST_PASSWORD || password.len() > 1000 {
        return Err(format!("a password has {SHORTEST_PASSWORD} to 1000 characters"));
    }
    let salt = SaltString::encode_b64(&random::<16>()).map_err(|e| e.to_string())?;
    argon2().hash_password(password.as_bytes(), &salt).map(|h| h.to_string()).map_err(|e| e.to_string())
}

/// Whether the password is the one of that hash. Without a hash it takes as long, and is wrong.
#[must_use]
pub fn verify_password(password: &str, hash: Option<&str>) -> bool {
    // Of a password nobody knows.
    const NOBODY: &str =
        "$argon2id$v=19$m=19456,t=2,p=1$c29tZXNhbHRzb21lc2FsdA$AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA";
    let parsed = PasswordHash::new(hash.unwrap_or(NOBODY));
    parsed.is_ok_and(|h| argon2().verify_password(password.as_bytes(), &h).is_ok()) && hash.is_some()
}

/// A fresh secret of 256 bits as 64 hexadecimal digits, and its hash, which is all that is kept.
#[must_use]
pub fn fresh_secret() -> (String, [u8; 32]) {
    let secret: String = random::<32>().iter().map(|b| format!("{b:02x}")).collect();
    let hash = hash_secret(&secret);
    (secret, hash)
}

/// The SHA-256 of a secret. The secret is random and long, so that a slow hash would add nothing.
#[must_use]
pub fn hash_secret(secret: &str) -> [u8; 32] {
    Sha256::digest(secret.as_bytes()).into()
}

/// How many days a browser stays logged in, and how long a device's token lasts.
const SESSION_DAYS: u64 = 30;
const DEVICE_DAYS: u64 = 730;

/// A fresh token of an account, to be kept by the store, and its secret, to be told once.
#[must_use]
pub fn fresh_token(account: Uuid, kind: TokenKind, label: &str) -> (Token, String) {
    let days = match kind {
        TokenKind::Session => SESSION_DAYS,
        TokenKind::Device => DEVICE_DAYS,
    };
    let ((secret, hash), made_ms) = (fresh_secret(), now_ms());
    let expires_ms = made_ms + days * 86_400_000;
    (Token { id: fresh_id(), hash, account, kind, label: label.to_owned(), made_ms, expires_ms }, secret)
}

/// Who is asking.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Who {
    /// Whoever sits at this machine.
    Local,
    /// An account.
    Account {
        /// Which.
        id: Uuid,
        /// By a browser's session or a device's token.
        kind: TokenKind,
        /// The id of that token.
        token: Uuid,
    },
}

impl Who {
    /// For the store.
    #[must_use]
    pub fn owner(self) -> Owner {
        match self {
            Self::Local => Owner::Anyone,
            Self::Account { id, .. } => Owner::Account(id),
        }
    }
}

fn host_name(host: &str) -> &str {
    match host.strip_prefix('[') {
        Some(rest) => rest.split(']').next().unwrap_or_default(),
        None => host.split(':').next().unwrap_or_default(),
    }
}

/// Refuses a page of another site that has a browser send requests here.
fn check_origin(headers: &HeaderMap, method: &Method, open: bool) -> Result<(), ApiError> {
    let text = |name| headers.get(name).and_then(|v: &axum::http::HeaderValue| v.to_str().ok());
    let host = text(HOST);
    // A name that someone else has pointed at this machine is not this machine.
    let here = |h: &axum::http::HeaderValue| matches!(h.to_str().map(host_name), Ok("localhost" | "127.0.0.1" | "::1"));
    if open && !headers.get_all(HOST).iter().all(here) {
        return Err(ApiError::Forbidden("without accounts the server is reached as localhost only"));
    }
    if !matches!(*method, Method::GET | Method::HEAD) {
        if let Some(origin) = text(ORIGIN) {
            let from = origin.split_once("://").map_or(origin, |(_, rest)| rest);
            if host != Some(from) {
                return Err(ApiError::Forbidden("a page of another site may not do this"));
            }
        }
    }
    Ok(())
}

impl FromRequestParts<App> for Who {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, ApiError> {
        let headers = &parts.headers;
        check_origin(headers, &parts.method, app.open)?;
        if app.open {
            return Ok(Self::Local);
        }
        let bearer = headers.get(AUTHORIZATION).and_then(|v| v.to_str().ok()).and_then(|v| v.strip_prefix("Bearer "));
        let (secret, wanted) = match bearer {
            Some(secret) => (secret, TokenKind::Device),
            None => (cookie(headers).ok_or(ApiError::LogIn)?, TokenKind::Session),
        };
        let found = app.store.run(FindToken { hash: hash_secret(secret), now_ms: now_ms() }).await?;
        match found {
            Some((id, kind, token)) if kind == wanted => Ok(Self::Account { id, kind, token }),
            _ => Err(ApiError::LogIn),
        }
    }
}

fn cookie(headers: &HeaderMap) -> Option<&str> {
    headers
        .get_all(COOKIE)
        .iter()
        .filter_map(|v| v.to_str().ok())
        .flat_map(|v| v.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find_map(|(name, value)| (name == COOKIE_NAME).then_some(value))
}

/// A person who has logged in with a browser: what a device's token alone may not do.
#[derive(Debug, Clone, Copy)]
pub struct Person {
    /// The account.
    pub id: Uuid,
    /// The session.
    pub token: Uuid,
}

impl FromRequestParts<App> for Person {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, ApiError> {
        match Who::from_request_parts(parts, app).await? {
            Who::Account { id, kind: TokenKind::Session, token } => Ok(Self { id, token }),
            Who::Account { .. } => Err(ApiError::Forbidden("a device's token does not do this: log in")),
            Who::Local => Err(ApiError::Forbidden("this server has no accounts")),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 9106, section 5.3: Argon2id, 32 KiB, 3 passes, 4 lanes, with secret and associated data.
    #[test]
    fn argon2id_gives_the_tag_of_the_rfc() {
        let params = argon2::ParamsBuilder::new()
            .m_cost(32)
            .t_cost(3)
            .p_cost(4)
            .data(argon2::AssociatedData::new(&[4; 12]).unwrap())
            .build()
            .unwrap();
        let secret = [3; 8];
        let argon2 = Argon2::new_with_secret(&secret, Algorithm::Argon2id, Version::V0x13, params).unwrap();
        let mut tag = [0; 32];
        argon2.hash_password_into(&[1; 32], &[2; 16], &mut tag).unwrap();
        let tag: String = tag.iter().map(|b| format!("{b:02x}")).collect();
        assert_eq!(tag, "0d640df58d78766c08c037a34a8b53c9d01ef0452d75b65eb52520e96b01e659");
    }

    #[test]
    fn a_password_is_verified_and_nobody_has_one() {
        let hash = hash_password("a long password").unwrap();
        assert!(hash.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"));
        assert!(verify_password("a long password", Some(&hash)));
        assert!(!verify_password("another password", Some(&hash)));
        assert!(!verify_password("a long password", None));
        assert!(hash_password("short").is_err());
    }
}
