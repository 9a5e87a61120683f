//! Before all of the log is here: what tells of it says that it is still being read.

use leptos::prelude::*;

use super::state::App;
use crate::words::Word;

/// What tells of the log, or that it is still being read.
pub(super) fn once_whole(app: App, view: impl FnOnce() -> AnyView) -> AnyView {
    if app.whole.get() { view() } else { reading(app) }
}

/// That the log is still being read.
pub(super) fn reading(app: App) -> AnyView {
    view! { <p class="page" role="status" data-reading>{app.t(Word::LogComing)}</p> }.into_any()
}
