//! The account: who is signed in, who sees whose log, passwords, devices, and what is on this one.

mod ask;
pub(super) mod beside;
pub(super) mod claim;
mod coaches;
mod devices;
mod erase;
mod here;
mod newcomers;
mod password;
mod picture;
mod second;
pub(super) mod section;
pub(super) mod sign_in;
mod trail;

use std::time::Duration;

use goldward_journal::Uuid;
use leptos::prelude::*;
use serde_json::Value;

use super::peer::Standing;
use super::state::{App, app};
use super::sync;
use crate::words::Word;
use ask::{Refusal, ask, looking};
use claim::{claiming, claims};
use section::text;

/// Who is asking, as the server knows them; nothing until it has answered.
type Me = Option<Result<Value, Refusal>>;

/// The page.
pub(super) fn view() -> impl IntoView {
    let app = app();
    let me: RwSignal<Me> = RwSignal::new(None);
    // Again when somebody has signed in, when a session has ended, and when a server is reached again.
    let ended = Memo::new(move |before: Option<&bool>| match app.standing.get() {
        Standing::Busy | Standing::Offline => before.copied().unwrap_or_default(),
        standing => standing == Standing::LogIn,
    });
    let offline = Memo::new(move |_| app.standing.get() == Standing::Offline);
    Effect::new(move || {
        let _ = (app.peer.signed.get(), ended.get(), offline.get());
        let find = async move {
            let _ = sync::end_session(app).await;
            let answer = Some(ask("GET", "me", Value::Null).await);
            if me.get_untracked() != answer {
                me.set(answer);
            }
        };
        looking(app, Box::pin(find));
    });
    // Nothing is shown that would move under a finger when what is asked for comes; but nobody waits long for a slow server.
    let waits = RwSignal::new(true);
    Effect::new(move || {
        if me.with(Option::is_some) && app.looking.get() == 0 {
            waits.set(false);
        }
    });
    set_timeout(move || _ = waits.try_set(false), Duration::from_secs(3));
    let claims = claims(app);
    // The form stays while a server that was there is not reached, with what was typed.
    let form = Memo::new(move |before: Option<&bool>| {
        me.with(|me| match me {
            Some(Err(refusal)) if refusal.status() == 0 => before.copied().unwrap_or(false),
            Some(Err(refusal)) => refusal.status() == 401,
            _ => false,
        })
    });
    view! {
        <div class="page" id="account" class:waiting=move || waits.get() aria-busy=move || waits.get().to_string()>
            // What changes while something is typed must not empty what was typed.
            {move || {
                let (me, claims) = (me.get(), claims.get());
                untrack(|| page(app, me, claims))
            }}
            <Show when=move || form.get()>{newcomers::sign_up(app)}{sign_in::view(app, true)}</Show>
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
        None => return vec![note("later", "…".to_owned())],
        Some(Ok(me)) if me["open"] == true => return vec![note("", app.t(Word::AccountOpen).to_owned())],
        Some(Ok(me)) => {
            let name = text(&me, "name");
            let account = text(&me, "account").parse::<Uuid>().ok();
            let told = app.f(Word::SignedInName, &[name]);
            let Some(own) = own else {
                // Somebody has just signed in: whose the logs here are is said first.
                let claiming = claims.map(|account| claiming(app, account));
                let ask = claiming.is_some().then(|| note("", app.t(Word::ClaimAsk).to_owned()));
                return [Some(note("", told)), ask, claiming].into_iter().flatten().collect();
            };
            if account != Some(own.id) {
                let other = note("notice", app.f(Word::SyncOther, &[&own.name]));
                return [Some(other), known].into_iter().flatten().collect();
            }
            let guardian = match text(&me["guardian"], "name") {
                "" => app.t(Word::MinorNobody).to_owned(),
                name => app.f(Word::MinorTold, &[name]),
            };
            let minor = (me["minor"] == true).then(|| note("notice note", guardian));
            let newcomers = (me["manages"] == true).then(|| newcomers::view(app));
            let first = [Some(sign_in::out(app, &told)), minor, newcomers].into_iter().flatten();
            let rest = [
                coaches::accept(app),
                coaches::view(app),
                devices::view(app),
                password::view(app, name),
                second::view(app, me["second_factor"] == true),
                trail::view(app),
                erase::view(app),
            ];
            return first.chain(rest).collect();
        }
        Some(Err(refusal)) => refusal,
    };
    let told = match refusal.status() {
        401 => {
            let asked = coaches::asked("accept").map(|_| app.t(Word::AcceptSignIn));
            let nobody = own.is_none().then(|| app.t(Word::AccountNobody));
            asked.or(nobody).unwrap_or(app.t(Word::SyncLogIn)).to_owned()
        }
        404 => app.t(Word::AccountNoServer).to_owned(),
        _ => refusal.text(app),
    };
    [known, Some(note("notice note", told))].into_iter().flatten().collect()
}
