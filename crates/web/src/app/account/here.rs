//! The logs on this device: whose they are, and taking one off it.

use goldward_journal::{Log, Uuid};
use leptos::prelude::*;
use serde_json::{Value, json};

use super::claim::whose;
use super::section::{Deed, State, button, entry, heading, list, section};
use crate::app::state::App;
use crate::app::sync;
use crate::words::Word;

/// The list.
pub(super) fn view(app: App) -> AnyView {
    section(app, json!({}), true, draw, act).1
}

fn draw(app: App, _: &Value) -> String {
    let of_account = app.peer.account.with_value(Option::is_some);
    let one = |archer: Uuid| {
        let records = app.log.with(|log| log.records_of(archer).count());
        let others = app.peer.logs.with(|l| l.get(&archer).is_some_and(|l| l.others));
        let (reads, sent) = (!app.may_write(archer), sync::sent(app, archer));
        let word = match (others, of_account) {
            _ if reads => Word::LogRead,
            (true, true) => Word::LogWritten,
            (_, true) => Word::LogYours,
            (_, false) => Word::LogNobodys,
        };
        let more = format!("{} · {}", app.f(Word::RecordsOf, &[&records.to_string()]), app.t(word));
        let sure = if reads || sent { Word::RemoveHereSure } else { Word::RemoveHereLost };
        let remove = button("remove-here", &archer.to_string(), app.t(Word::RemoveHere), app.t(sure));
        entry(&whose(app, archer), &more, &remove)
    };
    let mut all: Vec<String> = app.log.with(Log::archers).into_iter().map(one).collect();
    app.peer.kept.with(|kept| {
        all.extend(kept.iter().map(|a| {
            let remove = button("remove-kept", &a.id.to_string(), app.t(Word::RemoveHere), app.t(Word::RemoveHereLost));
            entry(&a.name, app.t(Word::KeptFor), &remove)
        }));
    });
    heading(app, Word::LogsHere) + &list(app, "logs-here", &all)
}

fn act(app: App, _: State, deed: Deed) {
    let Ok(id) = deed.value.parse() else { return };
    if deed.name == "remove-kept" {
        return sync::remove_kept(app, id);
    }
    sync::remove_here(app, id);
    app.say(app.t(Word::RemovedHere).to_owned());
}
