//! The OpenAPI document, generated from the handlers, and the route that tells it.

use axum::http::header::CONTENT_TYPE;
use axum::response::IntoResponse;
use utoipa::openapi::security::{ApiKey, ApiKeyValue, HttpAuthScheme, HttpBuilder, SecurityScheme};
use utoipa::{Modify, OpenApi};

use crate::auth::COOKIE_NAME;
use crate::routes;

struct Security;

impl Modify for Security {
    fn modify(&self, document: &mut utoipa::openapi::OpenApi) {
        let components = document.components.get_or_insert_default();
        let device = HttpBuilder::new().scheme(HttpAuthScheme::Bearer).description(Some("A device's token")).build();
        components.add_security_scheme("device", SecurityScheme::Http(device));
        let browser = ApiKey::Cookie(ApiKeyValue::with_description(COOKIE_NAME, "A browser that has logged in"));
        components.add_security_scheme("browser", SecurityScheme::ApiKey(browser));
    }
}

#[derive(OpenApi)]
#[openapi(
    info(title = "Goldward", description = "Sync and accounts of a Goldward server. Without accounts, on a loopback address, nobody logs in."),
    paths(
        routes::sync::sync, routes::accounts::login, routes::accounts::logout, routes::accounts::me,
        routes::accounts::password, routes::accounts::sessions, routes::accounts::end_session, routes::accounts::devices, routes::accounts::add_device, routes::accounts::end_device,
        routes::second::begin, routes::second::confirm, routes::second::remove,
        routes::logs::logs, routes::logs::export, routes::logs::session,
        routes::coaches::coaches, routes::coaches::invite, routes::coaches::invitations, routes::coaches::take_back, routes::coaches::accept, routes::coaches::revoke,
        routes::club::way_in, routes::club::open, routes::club::close, routes::club::sign_up, routes::club::roster, routes::club::set_groups, routes::club::agree,
        routes::club::unguarded, routes::club::name_guardian,
        routes::notes::notes, routes::notes::write, routes::notes::remove, routes::notes::read,
        routes::trail::trail, routes::trail::erase_log, routes::trail::erase_account,
        routes::watch::health, tell,
    ),
    security(("browser" = []), ("device" = [])),
    modifiers(&Security)
)]
struct Document;

/// The document as JSON.
#[must_use]
pub fn document() -> String {
    Document::openapi().to_pretty_json().unwrap_or_default()
}

/// This document.
#[utoipa::path(get, path = "/api/v1/openapi.json", tag = "watch", security(()),
    responses((status = 200, description = "The OpenAPI document", body = Object)))]
pub(crate) async fn tell() -> impl IntoResponse {
    ([(CONTENT_TYPE, "application/json")], document())
}
