//! The routes, and what is around all of them.

pub(crate) mod accounts;
mod asked;
pub(crate) mod club;
pub(crate) mod coaches;
pub(crate) mod logs;
pub(crate) mod notes;
mod prove;
pub(crate) mod second;
pub(crate) mod sync;
pub(crate) mod trail;
pub(crate) mod watch;

pub use accounts::{Device, LoggedIn, Login, Me, Named, NewDevice, NewDeviceToken, NewPassword};
pub use club::{Grouped, Groups, MOST_DAYS, MOST_ROOM, NewWayIn, Newcomer, WayIn, fresh_signup};
pub use coaches::{Coach, Given, InvitationCode, NewInvitation, NewInvitationCode, OpenInvitation};
pub use logs::LogEntry;
pub use notes::{NewNote, NoteFrom, NoteKept};
pub use second::{BeginSecond, ConfirmSecond, NewSecond, RecoveryCodes};
pub use trail::{Done, Erase};

use std::time::Duration;

use axum::Router;
use axum::body::Body;
use axum::extract::{MatchedPath, Request, State};
use axum::http::{HeaderValue, header};
use axum::middleware::{Next, from_fn_with_state};
use axum::response::Response;
use axum::routing::{MethodRouter, delete, get, post, put};
use tower_http::CompressionLevel;
use tower_http::compression::CompressionLayer;
use tower_http::compression::predicate::{DefaultPredicate, NotForContentType, Predicate as _};
use tower_http::decompression::RequestDecompressionLayer;

use crate::App;
use crate::body::Paced;
use crate::clock::start;
use crate::metrics::method;

/// All routes; `document` tells the description of them.
pub(crate) fn router(app: App, document: MethodRouter<App>) -> Router {
    // Of the ways that browsers know, the one that needs little memory for each answer. The app is compressed when it is built.
    let compression = CompressionLayer::new()
        .no_br()
        .quality(CompressionLevel::Fastest)
        .compress_when(DefaultPredicate::new().and(NotForContentType::const_new("application/wasm")));
    Router::new()
        .route("/api/v1/login", post(accounts::login))
        .route("/api/v1/logout", post(accounts::logout))
        .route("/api/v1/me", get(accounts::me))
        .route("/api/v1/password", post(accounts::password))
        .route("/api/v1/second-factor", post(second::begin))
        .route("/api/v1/second-factor/confirm", post(second::confirm))
        .route("/api/v1/second-factor/remove", post(second::remove))
        .route("/api/v1/sessions", get(accounts::sessions))
        .route("/api/v1/sessions/{id}", delete(accounts::end_session))
        .route("/api/v1/devices", get(accounts::devices).post(accounts::add_device))
        .route("/api/v1/devices/{id}", delete(accounts::end_device))
        .route("/api/v1/logs", get(logs::logs))
        .route("/api/v1/logs/{archer}/export", get(logs::export))
        .route("/api/v1/logs/{archer}/sessions/{session}", get(logs::session))
        .route("/api/v1/logs/{archer}/coaches", get(coaches::coaches))
        .route("/api/v1/logs/{archer}/coaches/{account}", delete(coaches::revoke))
        .route("/api/v1/logs/{archer}/coaches/{account}/agree", post(club::agree))
        .route("/api/v1/logs/{archer}/notes", get(notes::notes).post(notes::write))
        .route("/api/v1/logs/{archer}/notes/{id}", delete(notes::remove))
        .route("/api/v1/logs/{archer}/notes/{id}/read", post(notes::read))
        .route("/api/v1/roster", get(club::roster))
        .route("/api/v1/roster/{archer}", put(club::set_groups))
        .route("/api/v1/guardians", get(club::unguarded))
        .route("/api/v1/guardians/{account}", put(club::name_guardian))
        .route("/api/v1/sign-up", get(club::way_in).post(club::open).delete(club::close))
        .route("/api/v1/accounts", post(club::sign_up))
        .route("/api/v1/logs/{archer}/invitations", get(coaches::invitations).post(coaches::invite))
        .route("/api/v1/logs/{archer}/invitations/{id}", delete(coaches::take_back))
        .route("/api/v1/invitations/accept", post(coaches::accept))
        .route("/api/v1/trail", get(trail::trail))
        .route("/api/v1/account/erase", post(trail::erase_account))
        .route("/api/v1/logs/{archer}/erase", post(trail::erase_log))
        .route("/api/v1/openapi.json", document)
        .route("/healthz", get(watch::health))
        .route("/api/v1/sync", post(sync::sync).layer(RequestDecompressionLayer::new().no_br()))
        .fallback(crate::web::fallback)
        .layer(compression)
        .layer(from_fn_with_state(app.clone(), around))
        .with_state(app)
}

/// The router of the numbers, which are told on an address of their own.
pub(crate) fn numbers(app: App) -> Router {
    Router::new().route("/metrics", get(watch::metrics)).with_state(app)
}

/// Headers of every answer, and its line in log and metrics: route, status and time, nothing of whom.
async fn around(State(app): State<App>, request: Request, next: Next) -> Response {
    let since = start();
    let method = method(request.method());
    let route = request.extensions().get::<MatchedPath>().map_or("file", MatchedPath::as_str).to_owned();
    let api = route.starts_with("/api/");
    let patience = app.patience;
    let mut response = next.run(request.map(|body| Body::new(Paced::new(body, patience)))).await;
    let took: Duration = since.elapsed();
    let status = response.status().as_u16();
    app.metrics.request(method, &route, status, took);
    tracing::info!(method, route, status, ms = took.as_secs_f64() * 1000.0, "request");
    let headers = response.headers_mut();
    for (name, value) in [
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
        (header::X_FRAME_OPTIONS, "DENY"),
        (
            header::CONTENT_SECURITY_POLICY,
            "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self' 'unsafe-inline'; \
             img-src 'self' data: blob:; base-uri 'none'; form-action 'self'; frame-ancestors 'none'",
        ),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    if app.https {
        headers.insert(header::STRICT_TRANSPORT_SECURITY, HeaderValue::from_static("max-age=31536000"));
    }
    if api {
        headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    }
    response
}
