//! What several routes need of a request, and the entry that what they do leaves.

use axum::extract::{FromRequest, Request};
use axum::http::StatusCode;
use goldward_journal::Uuid;
use goldward_store::trail::Entry;
use serde::de::DeserializeOwned;

use crate::App;
use crate::auth::fresh_id;
use crate::body;
use crate::clock::now_ms;
use crate::error::ApiError;

/// Largest request that is no sync.
const LARGEST: usize = 64 * 1024;

/// JSON of a request; a mistake in it is told as every other one is.
pub(crate) struct Asked<T>(pub(crate) T);

impl<T: DeserializeOwned> FromRequest<App> for Asked<T> {
    type Rejection = ApiError;

    async fn from_request(request: Request, app: &App) -> Result<Self, ApiError> {
        body::must_be_json(request.headers())?;
        let (bytes, _room) = body::read(request.into_body(), LARGEST, &app.budgets).await?;
        // Where nothing is asked for, nothing has to be sent.
        let bytes = if bytes.is_empty() { b"{}".as_slice() } else { &bytes };
        // Read as a list the fields would be taken by their order.
        if !bytes.trim_ascii_start().starts_with(b"{") {
            return Err(ApiError::Bad("the request is not understood: it is no JSON object".to_owned()));
        }
        serde_json::from_slice(bytes)
            .map(Self)
            .map_err(|e| ApiError::Bad(format!("the request is not understood: {e}")))
    }
}

/// An id in the address of a request.
pub(crate) fn parse_id(text: &str) -> Result<Uuid, ApiError> {
    text.parse().map_err(|_| ApiError::NotFound)
}

/// Nothing more to say where it was there and is done; else there is no such thing.
pub(crate) fn done(was: bool) -> Result<StatusCode, ApiError> {
    if was { Ok(StatusCode::NO_CONTENT) } else { Err(ApiError::NotFound) }
}

/// An entry of an account's trail, of what was done now.
pub(crate) fn entry(account: Uuid, what: &str, about: &str) -> Entry {
    Entry { id: fresh_id(), account, at_ms: now_ms(), what: what.to_owned(), about: about.to_owned() }
}

/// Whether that is a text of people, of at most so many characters: with lines, and without what is invisible or turns the writing around.
pub(crate) fn is_text(text: &str, longest: usize) -> bool {
    let mut lines = text.split('\n').filter(|l| !l.trim().is_empty());
    text.chars().count() <= longest && lines.all(goldward_store::who::is_line)
}
