//! The account: who is signed in, who sees whose log, passwords, devices, and what is on this one.

mod ask;
mod coaches;
mod devices;
mod erase;
mod here;
mod password;
mod picture;
mod second;
pub(super) mod section;
pub(super) mod sign_in;
mod trail;

use goldward_journal::Uuid;
use leptos::prelude::*;
use serde_json::Value;
use wasm_bindgen_futures::spawn_local;

use super::claim::claiming;
use super::state::{App, app};
use super::sync::{self, Standing};
use crate::words::Word;
use ask::{Refusal, ask};

/// Who is asking, as the server knows them; nothing until it has answered.
type Me = Option<Result<Value, Refusal>>;

/// The page.
pub(super) fn view() -> impl IntoView {
    let app = app();
    let me: RwSignal<Me> = RwSignal::new(None);
    // Again when somebody has signed in, and when a session has ended.
    let ended = Memo::new(move |_| app.standing.get() == Standing::LogIn);
    Effect::new(move || {
        let _ = (app.peer.signed.get(), ended.get());
        spawn_local(async move {
            let _ = sync::end_session(app).await;
            let answer = ask("GET", "me", Value::Null).await;
            me.set(Some(answer));
        });
    });
    let claims = Memo::new(move |_| match app.standing.get() {
        Standing::Claim(account) => Some(account),
        _ => None,
    });
    view! {
        <div class="page" id="account">
            // What changes while something is typed must not empty what was typed.
            {move || {
                let (me, claims) = (me.get(), claims.get());
                untrack(|| page(app, me, claims))
            }}
            {here::view(app)}
        </div>
    }
}

fn note(class: &'static str, text: String) -> AnyView {
    view! { <p class=class>{text}</p> }.into_any()
}

fn page(app: App, me: Me, claims: Option<Uuid>) -> Vec<AnyView> {
    let own = app.peer.account.get_value();
    let known = own.as_ref().map(|own| sign_in::out(app, &app.f(Word::SignedInAs, &[&own.name])));
    let refusal = match me {
        None => return vec![note("", "…".to_owned())],
        Some(Ok(me)) if me["open"] == true => return vec![note("", app.t(Word::AccountOpen).to_owned())],
        Some(Ok(me)) => {
            let name = section::text(&me, "name");
            let account = section::text(&me, "account").parse::<Uuid>().ok();
            let told = app.f(Word::SignedInName, &[name]);
            let Some(own) = own else {
                // Somebody has just signed in: whose the logs here are is said first.
                let claiming = claims.map(|account| claiming(app, account).into_any());
                let ask = claiming.is_some().then(|| note("", app.t(Word::ClaimAsk).to_owned()));
                return [Some(note("", told)), ask, claiming].into_iter().flatten().collect();
            };
            if account != Some(own.id) {
                let other = note("notice", app.f(Word::SyncOther, &[&own.name]));
                return [Some(other), known].into_iter().flatten().collect();
            }
            return vec![
                sign_in::out(app, &told),
                coaches::accept(app),
                coaches::view(app),
                devices::view(app),
                password::view(app, name),
                second::view(app, me["second_factor"] == true),
                trail::view(app),
                erase::view(app),
            ];
        }
        Some(Err(refusal)) => refusal,
    };
    let (text, form) = match refusal.status() {
        401 => {
            let asked = coaches::asked().map(|_| app.t(Word::AcceptSignIn));
            let nobody = own.is_none().then(|| app.t(Word::AccountNobody));
            (asked.or(nobody).unwrap_or(app.t(Word::SyncLogIn)).to_owned(), Some(sign_in::view(app)))
        }
        404 => (app.t(Word::SyncNone).to_owned(), None),
        _ => (refusal.text(app), None),
    };
    [known, Some(note("notice note", text)), form].into_iter().flatten().collect()
}
