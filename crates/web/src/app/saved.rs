//! Whether the log is on the disk, in a word that stands on every screen.

use leptos::prelude::*;

use super::peer::Standing;
use super::state::{Saving, app};
use crate::words::Word;

/// Whether the log is on the disk.
#[component]
pub(super) fn Saved() -> impl IntoView {
    let app = app();
    // What the browser may still drop is not plainly saved; what a server has, is.
    let kept = move || app.persisted.get() == Some(true) || matches!(app.standing.get(), Standing::Done(_));
    // The session has ended: what is shot stays here until somebody signs in again.
    let signed_out = move || app.standing.get() == Standing::LogIn && app.peer.account.with_value(Option::is_some);
    let text = move || match app.saving.get() {
        // Nothing is written into it.
        Saving::Saved if app.reads() => app.t(Word::ReadsOnly).to_owned(),
        Saving::Saved if signed_out() => app.t(Word::SavedSignedOut).to_owned(),
        Saving::Saved => app.t(if kept() { Word::Saved } else { Word::SavedForNow }).to_owned(),
        Saving::Saving => app.t(Word::Saving).to_owned(),
        Saving::Failed(why) => app.f(Word::NotSaved, &[&why]),
    };
    let state = move || match app.saving.get() {
        Saving::Saved => "saved",
        Saving::Saving => "saving",
        Saving::Failed(_) => "failed",
    };
    view! { <span class="saving" data-state=state>{text}</span> }
}
