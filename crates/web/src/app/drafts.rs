//! What has been typed into a form and is not saved yet: it is there again when the archer comes back to the form, also after the
//! browser has dropped the page. It is kept until the form is sent or given up, and no longer than half a day: nobody knows any more
//! what was meant.

use std::cell::RefCell;
use std::collections::BTreeMap;

use leptos::prelude::*;

use super::state::App;
use super::{device, offers};

/// By place and field: when it was typed and what, parted by [`FIELD`].
type Drafts = BTreeMap<String, String>;

/// Under which the browser keeps them.
const NAME: &str = "drafts";
/// For how long, in milliseconds.
const LASTS_MS: u64 = 12 * 3_600_000;

/// What parts them, and their parts, in what is kept: signs that nobody types.
const DRAFT: &str = "\u{1e}";
const FIELD: &str = "\u{1f}";

thread_local! {
    /// As they were when this page looked last, for a browser that keeps nothing.
    static DRAFTS: RefCell<Drafts> = const { RefCell::new(BTreeMap::new()) };
}

/// The form that is before the archer: the place, the session that is changed, whose log it is.
pub(super) fn place(app: App) -> String {
    let who = untrack(|| app.archer()).map(|(id, _)| id);
    format!("{:?} {:?} {who:?} ", app.screen.get_untracked(), app.editing.get_untracked())
}

fn parted(draft: &str) -> (&str, &str) {
    draft.split_once(FIELD).unwrap_or_default()
}

/// Looks at the drafts, of other windows too.
fn with<T>(look: impl FnOnce(&mut Drafts) -> T) -> T {
    DRAFTS.with_borrow_mut(|drafts| {
        if let Some(kept) = offers::kept(NAME, true) {
            *drafts = kept.split(DRAFT).map(parted).map(|(key, draft)| (key.to_owned(), draft.to_owned())).collect();
        }
        let oldest = device::now_ms().saturating_sub(LASTS_MS);
        drafts.retain(|_, draft| parted(draft).0.parse().is_ok_and(|typed_ms: u64| typed_ms >= oldest));
        look(drafts)
    })
}

fn change(change: impl FnOnce(&mut Drafts) -> bool) {
    with(|drafts| {
        if change(drafts) {
            let all: Vec<String> = drafts.iter().map(|(key, draft)| [key, FIELD, draft].concat()).collect();
            offers::keep(NAME, true, &all.join(DRAFT));
        }
    });
}

/// What was typed into the field `id` here.
pub(super) fn of(app: App, id: &str) -> Option<String> {
    let key = place(app) + id;
    with(|drafts| drafts.get(&key).map(|draft| parted(draft).1.to_owned()))
}

/// Keeps what is typed into the field `id` here, until the form is forgotten; nothing where it is what the field began with.
pub(super) fn keep(app: App, id: &str, text: String, first: &str) {
    let key = place(app) + id;
    change(|drafts| {
        if text == first {
            return drafts.remove(&key).is_some();
        }
        let now = drafts.get(&key).is_some_and(|draft| parted(draft).1 == text);
        if !now {
            drafts.insert(key, [&device::now_ms().to_string(), FIELD, &text].concat());
        }
        !now
    });
}

/// Forgets what was typed here: it is saved, or thrown away.
pub(super) fn forget(app: App) {
    forget_those(&place(app));
}

/// Forgets what was typed wherever its place has `part` in its name.
pub(super) fn forget_those(part: &str) {
    change(|drafts| {
        let before = drafts.len();
        drafts.retain(|key, _| !key.contains(part));
        drafts.len() < before
    });
}
