//! For whoever looks after the server.

use axum::extract::State;
use axum::http::header::CONTENT_TYPE;
use axum::response::IntoResponse;

use crate::App;
use crate::clock::now_ms;
use crate::error::ApiError;

/// Whether the server and its store answer, and the store takes something in.
#[utoipa::path(get, path = "/healthz", tag = "watch", security(()),
    responses((status = 200, description = "All is well", body = String),
        (status = 503, description = "The store does not answer, or cannot be written", body = crate::error::ErrorBody),
        (status = 507, description = "The disk is full", body = crate::error::ErrorBody)))]
pub(crate) async fn health(State(app): State<App>) -> Result<&'static str, ApiError> {
    app.health.ask(&app.store, now_ms()).await?;
    Ok("fine\n")
}

/// Numbers in the text format of Prometheus, on an address of their own.
pub(crate) async fn metrics(State(app): State<App>) -> impl IntoResponse {
    ([(CONTENT_TYPE, "text/plain; version=0.0.4")], app.metrics.text())
}
