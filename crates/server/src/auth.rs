//! Tokens, and who is asking.

use axum::extract::FromRequestParts;
use axum::http::header::{AUTHORIZATION, COOKIE, HOST, ORIGIN};
use axum::http::request::Parts;
use axum::http::{HeaderMap, Method};
use goldward_journal::{Uuid, id::new_id};
use goldward_store::who::{Bearer, FindToken, Token, TokenKind, Used};
use goldward_store::{Backend as _, ops::Owner};
use sha2::{Digest as _, Sha256};

use crate::App;
use crate::client::{Client, is_forwarded};
use crate::clock::now_ms;
use crate::error::ApiError;

/// The name of the session's cookie.
pub const COOKIE_NAME: &str = "goldward_session";

/// The same where browsers come over HTTPS: they take a cookie of this name from this very host and over HTTPS only.
pub const SECURE_COOKIE_NAME: &str = "__Host-goldward_session";

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

const DAY_MS: u64 = 86_400_000;

/// How many days a browser stays logged in, and how long a device's token lasts.
const SESSION_DAYS: u64 = 30;
const DEVICE_DAYS: u64 = 730;

/// How long a browser that is logged in may be idle.
const IDLE_MS: u64 = 14 * DAY_MS;

/// The last use of a token is noted this often.
const NOTED_MS: u64 = 10 * 60_000;

/// For so long after a login the password is not asked for again.
const FRESH_MS: u64 = 10 * 60_000;

/// A fresh token of an account, to be kept by the store, and its secret, to be told once.
#[must_use]
pub fn fresh_token(account: Uuid, kind: TokenKind, label: &str) -> (Token, String) {
    let days = match kind {
        TokenKind::Session => SESSION_DAYS,
        TokenKind::Device => DEVICE_DAYS,
    };
    let ((secret, hash), made_ms) = (fresh_secret(), now_ms());
    let expires_ms = made_ms + days * DAY_MS;
    (Token { id: fresh_id(), hash, account, kind, label: label.to_owned(), made_ms, expires_ms }, secret)
}

/// Who is asking.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Who {
    /// Whoever sits at this machine.
    Local,
    /// An account, by a browser's session or a device's token.
    Account(Bearer),
}

impl Who {
    /// For the store.
    #[must_use]
    pub fn owner(self) -> Owner {
        match self {
            Self::Local => Owner::Anyone,
            Self::Account(bearer) => Owner::Account(bearer.account),
        }
    }
}

fn host_name(host: &str) -> &str {
    match host.strip_prefix('[') {
        Some(rest) => rest.split(']').next().unwrap_or_default(),
        None => host.split(':').next().unwrap_or_default(),
    }
}

/// A host without the port that its scheme has anyway.
fn bare<'a>(host: &'a str, scheme: &str) -> &'a str {
    let port = if scheme == "https" { ":443" } else { ":80" };
    host.strip_suffix(port).unwrap_or(host)
}

/// Refuses a page of another site that has a browser send requests here, and says what a proxy leaves out.
pub(crate) fn check_origin(
    headers: &HeaderMap,
    method: &Method,
    client: &Client,
    open: bool,
    https: bool,
) -> Result<(), ApiError> {
    let text = |name: axum::http::HeaderName| headers.get(name).and_then(|v: &axum::http::HeaderValue| v.to_str().ok());
    let forbidden = |what: String| Err(ApiError::Forbidden(what.into()));
    if open {
        // A name that someone else has pointed at this machine is not this machine.
        let here =
            |h: &axum::http::HeaderValue| matches!(h.to_str().map(host_name), Ok("localhost" | "127.0.0.1" | "::1"));
        if !headers.get_all(HOST).iter().all(here) {
            return Err(ApiError::forbidden("without accounts the server is reached as localhost only"));
        }
        if is_forwarded(headers) {
            return Err(ApiError::forbidden(
                "this server has no accounts and was reached through a proxy, so that anybody could come: add an account first",
            ));
        }
    }
    if matches!(*method, Method::GET | Method::HEAD) {
        return Ok(());
    }
    if text(SEC_FETCH_SITE) == Some("cross-site") {
        return Err(ApiError::forbidden("a page of another site may not do this"));
    }
    let plain = |scheme: Option<&str>| https && scheme == Some("http");
    if plain(client.scheme.as_deref()) {
        return Err(ApiError::forbidden(OVER_PLAIN_HTTP));
    }
    let Some(origin) = text(ORIGIN) else { return Ok(()) };
    let origin = origin.to_ascii_lowercase();
    let Some((scheme, from)) = origin.split_once("://") else {
        return Err(ApiError::forbidden("a page of another site may not do this"));
    };
    if plain(Some(scheme)) {
        return Err(ApiError::forbidden(OVER_PLAIN_HTTP));
    }
    let host = client.host.clone().or_else(|| text(HOST).map(str::to_ascii_lowercase));
    match host {
        Some(host) if bare(&host, scheme) == bare(from, scheme) => Ok(()),
        Some(host) => forbidden(format!(
            "the browser is at {origin}, and the request arrived with the header Host: {host}. If this is your own site, its proxy \
             has to pass the header Host on as it came; otherwise a page of another site may not do this"
        )),
        None => Err(ApiError::forbidden("the header Host is missing: the proxy has to pass it on as it came")),
    }
}

const SEC_FETCH_SITE: axum::http::HeaderName = axum::http::HeaderName::from_static("sec-fetch-site");

const OVER_PLAIN_HTTP: &str = "this server was started with --https, and the browser came over plain HTTP: open the address with \
                               https://, or start the server without --https";

impl FromRequestParts<App> for Who {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, ApiError> {
        let open = app.open().await?;
        let headers = &parts.headers;
        check_origin(headers, &parts.method, &Client::of(parts, &app.trusted_proxies), open, app.https)?;
        if open {
            return Ok(Self::Local);
        }
        let bearer = headers.get(AUTHORIZATION).and_then(|v| v.to_str().ok()).and_then(|v| v.strip_prefix("Bearer "));
        let (secret, wanted) = match bearer {
            Some(secret) => (secret, TokenKind::Device),
            None => (cookie(headers, app.cookie_name()).ok_or(ApiError::LogIn)?, TokenKind::Session),
        };
        let now_ms = now_ms();
        let found = app.store.run(FindToken { hash: hash_secret(secret), now_ms, idle_ms: IDLE_MS }).await?;
        let bearer = found.filter(|b| b.kind == wanted).ok_or(ApiError::LogIn)?;
        if bearer.used_ms.saturating_add(NOTED_MS) <= now_ms {
            // A store that takes nothing in can still be read.
            if let Err(e) = app.store.run(Used { token: bearer.token, now_ms }).await {
                tracing::warn!(error = %e, "the last use of a token could not be noted");
            }
        }
        Ok(Self::Account(bearer))
    }
}

fn cookie<'a>(headers: &'a HeaderMap, wanted: &str) -> Option<&'a str> {
    headers
        .get_all(COOKIE)
        .iter()
        .filter_map(|v| v.to_str().ok())
        .flat_map(|v| v.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find_map(|(name, value)| (name == wanted).then_some(value))
}

/// A person who has logged in with a browser: what a device's token alone may not do.
#[derive(Debug, Clone, Copy)]
pub struct Person {
    /// The account.
    pub id: Uuid,
    /// The session.
    pub token: Uuid,
    /// When the session logged in.
    since_ms: u64,
}

impl Person {
    /// Whether the password was entered a moment ago.
    #[must_use]
    pub fn is_fresh(&self) -> bool {
        now_ms() < self.since_ms.saturating_add(FRESH_MS)
    }
}

impl FromRequestParts<App> for Person {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, ApiError> {
        match Who::from_request_parts(parts, app).await? {
            Who::Account(Bearer { account: id, kind: TokenKind::Session, token, made_ms, .. }) => {
                Ok(Self { id, token, since_ms: made_ms })
            }
            Who::Account(_) => Err(ApiError::forbidden("a device's token does not do this: log in")),
            Who::Local => Err(ApiError::forbidden("this server has no accounts")),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(headers: &[(&'static str, &str)], client: &Client, open: bool, https: bool) -> Result<(), String> {
        let headers = headers.iter().map(|(n, v)| (n.parse().unwrap(), v.parse().unwrap())).collect();
        check_origin(&headers, &Method::POST, client, open, https).map_err(|e| match e {
            ApiError::Forbidden(what) => what.into_owned(),
            other => panic!("{other:?}"),
        })
    }

    #[test]
    fn a_page_of_another_site_is_refused_and_the_proxy_is_told_what_it_leaves_out() {
        let direct = Client::default();
        let check = |headers: &[(&'static str, &str)], https| told(headers, &direct, false, https);
        let at = |origin, host| [("origin", origin), ("host", host)];
        assert_eq!(check(&at("https://club.example", "club.example"), true), Ok(()));
        assert_eq!(check(&at("https://Club.example", "club.example:443"), true), Ok(()));
        assert_eq!(check(&at("http://club.example:8080", "club.example:8080"), false), Ok(()));
        assert_eq!(check(&[("host", "club.example")], true), Ok(()), "no browser");
        for foreign in
            ["https://evil.example", "https://club.example:8443", "null", "https://club.example.evil.example"]
        {
            assert!(check(&at(foreign, "club.example"), true).is_err(), "{foreign}");
        }
        assert!(check(&[("sec-fetch-site", "cross-site"), ("host", "club.example")], true).is_err());
        // A proxy that does not pass Host on.
        let said = check(&at("https://club.example", "127.0.0.1:8017"), true).unwrap_err();
        assert!(said.contains("https://club.example") && said.contains("Host: 127.0.0.1:8017"), "{said}");
        // Plain HTTP.
        assert!(check(&at("http://club.example", "club.example"), true).unwrap_err().contains("--https"));
        let plain = Client { scheme: Some("http".to_owned()), ..Client::default() };
        assert!(told(&[("host", "club.example")], &plain, false, true).unwrap_err().contains("--https"));
        // A trusted proxy may tell the host.
        let proxied = Client { host: Some("club.example".to_owned()), ..Client::default() };
        assert_eq!(told(&at("https://club.example", "127.0.0.1:8017"), &proxied, false, true), Ok(()));
    }

    #[test]
    fn an_open_server_is_for_this_machine_only() {
        let check = |headers: &[(&'static str, &str)]| told(headers, &Client::default(), true, false);
        assert_eq!(check(&[("host", "localhost:8017")]), Ok(()));
        assert_eq!(check(&[("host", "[::1]:8017")]), Ok(()));
        assert!(check(&[("host", "club.example")]).is_err());
        for name in ["x-forwarded-for", "x-forwarded-proto", "forwarded", "x-real-ip", "via", "x-forwarded-host"] {
            assert!(check(&[("host", "localhost:8017"), (name, "x")]).unwrap_err().contains("proxy"), "{name}");
        }
    }
}
