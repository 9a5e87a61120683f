//! What a club has: newcomers by a link, groups of archers, and whoever looks after those under age.

use axum::Json;
use axum::extract::{Path, State};
use axum::http::request::Parts;
use axum::http::{HeaderMap, StatusCode};
use goldward_journal::Uuid;
use goldward_store::Backend as _;
use goldward_store::guardian::{Agree, NameGuardian, Named, StandingOf, Unguarded};
use goldward_store::roster::{Roster, SetGroups};
use goldward_store::signup::{CloseSignup, OpenSignup, OpenedSignup, SignUp, Signup};
use goldward_store::trail::Noted;
use goldward_store::who::{Account, is_name};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::accounts::log_in;
use super::asked::{Asked, done, entry, is_text, parse_id};
use super::coaches::{code_hash, fresh_code, seen_by};
use crate::App;
use crate::auth::{Person, check_origin, fresh_id};
use crate::client::{Client, group};
use crate::clock::now_ms;
use crate::error::{ApiError, ErrorBody};

/// How many accounts a link makes, and for how many days, unless told otherwise; and at most.
const ROOM: u64 = 30;
/// Most accounts that one link makes.
pub const MOST_ROOM: u64 = 500;
const DAYS: u64 = 14;
/// Most days that a link is open.
pub const MOST_DAYS: u64 = 90;
const DAY_MS: u64 = 86_400_000;

/// A link that may be made, and its secret: what it is for the store, the hash, and the code.
///
/// # Errors
/// What is wrong, in words.
pub fn fresh_signup(room: Option<u64>, days: Option<u64>) -> Result<(Signup, [u8; 32], String), String> {
    let (room, days) = (room.unwrap_or(ROOM), days.unwrap_or(DAYS));
    if !(1..=MOST_ROOM).contains(&room) || !(1..=MOST_DAYS).contains(&days) {
        return Err(format!("a link makes 1 to {MOST_ROOM} accounts and is open for 1 to {MOST_DAYS} days"));
    }
    let (code, made_ms) = (fresh_code(), now_ms());
    let signup = Signup { made_ms, expires_ms: made_ms + days * DAY_MS, room };
    Ok((signup, code_hash(&code), code))
}

/// Lets through who looks after the server.
async fn manages(app: &App, person: Person) -> Result<(), ApiError> {
    let standing = app.store.run(StandingOf(person.id)).await?.unwrap_or_default();
    if standing.manages { Ok(()) } else { Err(ApiError::forbidden("only for who looks after this server")) }
}

/// The way in for newcomers.
#[derive(Debug, Serialize, ToSchema)]
pub struct WayIn {
    /// Whether there is one.
    pub open: bool,
    /// When it ends, in milliseconds since 1970 UTC.
    pub expires_ms: Option<u64>,
    /// How many more accounts it makes.
    pub room: Option<u64>,
    /// The secret of the link, told only when it is made. Capitals, spaces and hyphens make no difference.
    pub code: Option<String>,
}

impl WayIn {
    fn of(signup: Option<Signup>, code: Option<String>) -> Json<Self> {
        let open = signup.is_some();
        Json(Self { open, expires_ms: signup.map(|s| s.expires_ms), room: signup.map(|s| s.room), code })
    }
}

/// Whether newcomers may make accounts of their own, until when, and how many more.
#[utoipa::path(get, path = "/api/v1/sign-up", tag = "club",
    responses((status = 200, description = "The way in", body = WayIn), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "Only for who looks after the server", body = ErrorBody)))]
pub(crate) async fn way_in(State(app): State<App>, person: Person) -> Result<Json<WayIn>, ApiError> {
    manages(&app, person).await?;
    Ok(WayIn::of(app.store.run(OpenedSignup { now_ms: now_ms(), hash: None }).await?, None))
}

/// What a link is to be.
#[derive(Debug, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewWayIn {
    /// How many accounts it makes at most: 30 unless told.
    #[serde(default)]
    #[schema(minimum = 1, maximum = 500)]
    pub room: Option<u64>,
    /// For how many days it is open: 14 unless told.
    #[serde(default)]
    #[schema(minimum = 1, maximum = 90)]
    pub days: Option<u64>,
}

/// Opens a way in: whoever has the link makes an account of their own. The link before it works no more.
#[utoipa::path(post, path = "/api/v1/sign-up", tag = "club", request_body = Option<NewWayIn>,
    responses((status = 201, description = "The way in, with its secret", body = WayIn), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "Only for who looks after the server", body = ErrorBody),
        (status = 408, description = "Too slow", body = ErrorBody), (status = 413, description = "Too large", body = ErrorBody),
        (status = 422, description = "Not understood", body = ErrorBody)))]
pub(crate) async fn open(
    State(app): State<App>,
    person: Person,
    Asked(asked): Asked<NewWayIn>,
) -> Result<(StatusCode, Json<WayIn>), ApiError> {
    manages(&app, person).await?;
    let (signup, hash, code) = fresh_signup(asked.room, asked.days).map_err(ApiError::Bad)?;
    let op = OpenSignup { hash, signup, by: Some(person.id) };
    app.store.run(Noted { op, entry: entry(person.id, "sign_up_opened", "") }).await?;
    Ok((StatusCode::CREATED, WayIn::of(Some(signup), Some(code))))
}

/// Switches it off, at once.
#[utoipa::path(delete, path = "/api/v1/sign-up", tag = "club",
    responses((status = 204, description = "It is off"), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "Only for who looks after the server", body = ErrorBody),
        (status = 404, description = "It was off", body = ErrorBody)))]
pub(crate) async fn close(State(app): State<App>, person: Person) -> Result<StatusCode, ApiError> {
    manages(&app, person).await?;
    let was = app.store.run(Noted { op: CloseSignup, entry: entry(person.id, "sign_up_closed", "") }).await?;
    done(was)
}

/// Who comes.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Newcomer {
    /// The secret of the link.
    pub code: String,
    /// What the account is to be called.
    #[schema(min_length = 1, max_length = 100)]
    pub name: String,
    /// Its password, 10 to 1000 characters.
    #[schema(min_length = 10, max_length = 1000)]
    pub password: String,
    /// Whether it is of somebody under age: others see its logs only when a guardian agrees.
    #[serde(default)]
    pub minor: bool,
}

/// Longest code that is looked at.
const LONGEST_CODE: usize = 100;

/// Makes an account by the link and logs the browser in. Every try counts for the address that it comes from: from the 41st of a day on each
/// makes the next one wait for longer.
#[utoipa::path(post, path = "/api/v1/accounts", tag = "club", request_body = Newcomer, security(()),
    responses((status = 201, description = "The account is there, and the browser logged in"),
        (status = 403, description = "No accounts here, or another site's page", body = ErrorBody),
        (status = 404, description = "No such link: it is off, full, or has ended", body = ErrorBody),
        (status = 408, description = "Too slow", body = ErrorBody), (status = 409, description = "The name is taken", body = ErrorBody),
        (status = 413, description = "Too large", body = ErrorBody),
        (status = 422, description = "Not understood, no name, or a password that is too short or among the first to be guessed", body = ErrorBody),
        (status = 429, description = "Too many: wait as Retry-After says", body = ErrorBody),
        (status = 503, description = "Too many at once: come again as Retry-After says", body = ErrorBody)))]
pub(crate) async fn sign_up(
    State(app): State<App>,
    parts: Parts,
    Asked(asked): Asked<Newcomer>,
) -> Result<(StatusCode, HeaderMap), ApiError> {
    let (client, open) = (Client::of(&parts, &app.trusted_proxies), app.open().await?);
    check_origin(&parts.headers, &parts.method, &client, open, app.https)?;
    if open {
        return Err(ApiError::forbidden("this server has no accounts: nobody needs one"));
    }
    app.limits.sign_up(&app.store, client.address, now_ms()).await?;
    let Newcomer { code, name, password, minor } = asked;
    let hash = code_hash(code.get(..LONGEST_CODE).unwrap_or(&code));
    // Who has no link costs no hash of a password.
    if app.store.run(OpenedSignup { now_ms: now_ms(), hash: Some(hash) }).await?.is_none() {
        return Err(ApiError::NotFound);
    }
    if !is_name(&name) {
        let what = "a name has 1 to 100 characters, without spaces around it and without invisible ones";
        return Err(ApiError::Bad(what.to_owned()));
    }
    crate::password::check(&password, &[&name]).map_err(ApiError::Bad)?;
    let hashed = app.hashing.run(client.address.map(group), move |m| m.fresh(&password)).await?;
    let account = Account { id: fresh_id(), name, password: hashed.map_err(ApiError::Bad)? };
    let id = account.id;
    let op = SignUp { hash, account, minor, now_ms: now_ms(), entries: [fresh_id(), fresh_id()] };
    if !app.store.run(op).await? {
        return Err(ApiError::NotFound);
    }
    Ok((StatusCode::CREATED, log_in(&app, id, &parts.headers).await?))
}

/// An archer in groups.
#[derive(Debug, Serialize, ToSchema)]
pub struct Grouped {
    /// Whose log.
    pub archer: Uuid,
    /// The groups, in one's own words.
    pub groups: Vec<String>,
}

/// The archers whose logs one may see, as one has put them into groups: one's own words, seen by nobody else.
#[utoipa::path(get, path = "/api/v1/roster", tag = "club",
    responses((status = 200, description = "The archers that are in groups", body = Vec<Grouped>), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "No accounts here, or a device's token", body = ErrorBody)))]
pub(crate) async fn roster(State(app): State<App>, person: Person) -> Result<Json<Vec<Grouped>>, ApiError> {
    let all = app.store.run(Roster(person.id)).await?;
    let grouped =
        |(archer, words): (Uuid, String)| Grouped { archer, groups: words.lines().map(str::to_owned).collect() };
    Ok(Json(all.into_iter().map(grouped).collect()))
}

/// Most groups of an archer, and the longest word for one.
const MOST_GROUPS: usize = 10;
const LONGEST_GROUP: usize = 40;

/// The groups of an archer.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Groups {
    /// The groups, in one's own words; none takes the archer out of all.
    #[schema(max_items = 10)]
    pub groups: Vec<String>,
}

/// Puts an archer whose log one may see into these groups and no others.
#[utoipa::path(put, path = "/api/v1/roster/{archer}", tag = "club", request_body = Groups, params(("archer" = Uuid, Path, description = "Whose log")),
    responses((status = 204, description = "It is so"), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "Too many archers in groups, no accounts here, or a device's token", body = ErrorBody),
        (status = 404, description = "No such log", body = ErrorBody),
        (status = 408, description = "Too slow", body = ErrorBody), (status = 413, description = "Too large", body = ErrorBody),
        (status = 422, description = "Not understood", body = ErrorBody)))]
pub(crate) async fn set_groups(
    State(app): State<App>,
    person: Person,
    Path(archer): Path<String>,
    Asked(asked): Asked<Groups>,
) -> Result<StatusCode, ApiError> {
    let mut groups: Vec<&str> = Vec::new();
    for group in asked.groups.iter().map(|g| g.trim()).filter(|g| !g.is_empty()) {
        if !groups.contains(&group) {
            groups.push(group);
        }
    }
    if groups.len() > MOST_GROUPS || !groups.iter().all(|g| is_text(g, LONGEST_GROUP) && !g.contains('\n')) {
        return Err(ApiError::Bad(format!(
            "an archer is in at most {MOST_GROUPS} groups, each with at most {LONGEST_GROUP} characters, none of them invisible"
        )));
    }
    let op = SetGroups { account: person.id, archer: parse_id(&archer)?, groups: groups.join("\n") };
    done(app.store.run(op).await?)
}

/// Somebody under age who has no guardian.
#[derive(Debug, Serialize, ToSchema)]
pub struct Ward {
    /// The account.
    pub account: Uuid,
    /// Its name.
    pub name: String,
}

/// Those under age for whom nobody can agree yet.
#[utoipa::path(get, path = "/api/v1/guardians", tag = "club",
    responses((status = 200, description = "Those without a guardian", body = Vec<Ward>), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "Only for who looks after the server", body = ErrorBody)))]
pub(crate) async fn unguarded(State(app): State<App>, person: Person) -> Result<Json<Vec<Ward>>, ApiError> {
    manages(&app, person).await?;
    let all = app.store.run(Unguarded).await?;
    Ok(Json(all.into_iter().map(|(account, name)| Ward { account, name }).collect()))
}

/// Who is to answer for somebody under age.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewGuardian {
    /// What the guardian's account is called.
    #[schema(min_length = 1, max_length = 100)]
    pub guardian: String,
}

/// Names the guardian of somebody under age who has none: somebody of age, and not whoever asks.
#[utoipa::path(put, path = "/api/v1/guardians/{account}", tag = "club", request_body = NewGuardian,
    params(("account" = Uuid, Path, description = "The account of whoever is under age")),
    responses((status = 204, description = "The guardian is asked from now on"), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "Only for who looks after the server", body = ErrorBody),
        (status = 404, description = "Nobody under age who has no guardian", body = ErrorBody),
        (status = 408, description = "Too slow", body = ErrorBody), (status = 413, description = "Too large", body = ErrorBody),
        (status = 422, description = "Not understood, or this account cannot be the guardian", body = ErrorBody)))]
pub(crate) async fn name_guardian(
    State(app): State<App>,
    person: Person,
    Path(account): Path<String>,
    Asked(asked): Asked<NewGuardian>,
) -> Result<StatusCode, ApiError> {
    manages(&app, person).await?;
    let op = NameGuardian {
        account: parse_id(&account)?,
        guardian: asked.guardian,
        by: person.id,
        now_ms: now_ms(),
        entries: [fresh_id(), fresh_id(), fresh_id()],
    };
    match app.store.run(op).await? {
        Named::NoGuardian => {
            let what = "a guardian is an account of somebody else who is of age, and not the one that names it";
            Err(ApiError::Bad(what.to_owned()))
        }
        named => done(named == Named::Done),
    }
}

/// A guardian agrees that a coach sees the log.
#[utoipa::path(post, path = "/api/v1/logs/{archer}/coaches/{account}/agree", tag = "club",
    params(("archer" = Uuid, Path, description = "Whose log"), ("account" = Uuid, Path, description = "The coach's account")),
    responses((status = 204, description = "The coach sees it from now on"), (status = 401, description = "Not logged in", body = ErrorBody),
        (status = 403, description = "Only for the guardian", body = ErrorBody),
        (status = 404, description = "No such log, or no coach who waits", body = ErrorBody)))]
pub(crate) async fn agree(
    State(app): State<App>,
    person: Person,
    Path((archer, account)): Path<(String, String)>,
) -> Result<StatusCode, ApiError> {
    let (archer, sight) = seen_by(&app, person, &archer).await?;
    if !sight.guards {
        return Err(ApiError::forbidden("only a guardian agrees to that"));
    }
    let op = Agree { archer, coach: parse_id(&account)?, guardian: person.id };
    let was = app.store.run(Noted { op, entry: entry(person.id, "agreed", &account) }).await?;
    done(was)
}
