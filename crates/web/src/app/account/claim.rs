//! Whose the logs are that were kept while nobody was signed in.

use goldward_journal::{Log, Uuid};
use leptos::prelude::*;
use serde_json::{Value, json};

use super::section::{Deed, State, section, text};
use crate::app::peer::Standing;
use crate::app::state::App;
use crate::app::sync::claim;
use crate::pages::escape;
use crate::words::Word;

/// Who has signed in where the logs are nobody's; what was chosen is not asked anew by looking again.
pub(in crate::app) fn claims(app: App) -> Memo<Option<Uuid>> {
    Memo::new(move |before: Option<&Option<Uuid>>| match app.standing.get() {
        Standing::Claim(account) => Some(account),
        Standing::Busy | Standing::Offline => before.copied().flatten(),
        _ => None,
    })
}

/// Asks which of the logs that are nobody's belong to the account that has signed in.
pub(in crate::app) fn claiming(app: App, account: Uuid) -> AnyView {
    section(app, json!({ "account": account.to_string() }), true, draw, act).1
}

fn draw(app: App, state: &Value) -> String {
    let mut out = "<ul class=\"people\">".to_owned();
    let mut some = false;
    for archer in app.log.with(Log::archers) {
        let n = app.log.with(|log| log.records_of(archer).count());
        let chosen = state[archer.to_string()] == true;
        some |= chosen;
        out += &format!(
            "<li><button type=\"button\" class=\"claim\" data-act=\"choose\" data-value=\"{archer}\" aria-pressed=\"{chosen}\">{} ({n})</button></li>",
            escape(&whose(app, archer))
        );
    }
    let word = if some { Word::ClaimThese } else { Word::ClaimNone };
    out + &format!(
        "</ul><button type=\"button\" class=\"main\" id=\"claim\" data-act=\"claim\">{}</button>",
        app.t(word)
    )
}

fn act(app: App, state: State, deed: Deed) {
    if deed.name == "choose" {
        return state.update(|s| s[&deed.value] = (s[&deed.value] != true).into());
    }
    let chosen = state.get_untracked();
    let mut all = app.log.get_untracked();
    let mut log = Log::new();
    for archer in all.archers().into_iter().filter(|a| chosen[a.to_string()] == true) {
        log.extend(all.take_out(archer).records().cloned());
    }
    claim(app, text(&chosen, "account").parse().unwrap_or_default(), log);
}

/// Whose log it is, for people.
pub(in crate::app) fn whose(app: App, archer: Uuid) -> String {
    let name = app.archers().into_iter().find(|(a, _)| *a == archer).map(|(_, a)| a.name).unwrap_or_default();
    // Two without a name are told apart by the end of their ids.
    if name.is_empty() { app.f(Word::Nameless, &[&archer.to_string()[32..]]) } else { name }
}
