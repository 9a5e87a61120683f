//! What has been typed into a form and is not saved yet: it is there again when the archer comes back to the form.

use std::cell::RefCell;
use std::collections::BTreeMap;

use leptos::prelude::*;

use super::state::App;

thread_local! {
    /// By place and field.
    static DRAFTS: RefCell<BTreeMap<String, String>> = const { RefCell::new(BTreeMap::new()) };
}

/// The form that is before the archer: the place, the session that is changed, whose log it is.
fn place(app: App) -> String {
    let who = untrack(|| app.archer()).map(|(id, _)| id);
    format!("{:?} {:?} {who:?} ", app.screen.get_untracked(), app.editing.get_untracked())
}

/// What was typed into the field `id` here.
pub(super) fn of(app: App, id: &str) -> Option<String> {
    let key = place(app) + id;
    DRAFTS.with_borrow(|drafts| drafts.get(&key).cloned())
}

/// Keeps what is typed into the field `id` here, until the form is forgotten; nothing where it is what the field began with.
pub(super) fn keep(app: App, id: &str, text: String, first: &str) {
    let key = place(app) + id;
    DRAFTS.with_borrow_mut(|drafts| if text == first { drafts.remove(&key) } else { drafts.insert(key, text) });
}

/// Forgets what was typed here: it is saved, or thrown away.
pub(super) fn forget(app: App) {
    let place = place(app);
    DRAFTS.with_borrow_mut(|drafts| drafts.retain(|key, _| !key.starts_with(&place)));
}
