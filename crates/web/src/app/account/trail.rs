//! What was done with the account.

use goldward_journal::Uuid;
use leptos::prelude::*;
use serde_json::{Value, json};

use super::ask::look;
use super::section::{Deed, State, all, button, buttons, entry, heading, list, section, text, when};
use crate::app::state::App;
use crate::words::Word;

const WORDS: [(&str, Word); 29] = [
    ("login", Word::TrailLogin),
    ("login_failed", Word::TrailLoginFailed),
    ("logout", Word::TrailLogout),
    ("session_ended", Word::TrailSessionEnded),
    ("device_added", Word::TrailDeviceAdded),
    ("device_ended", Word::TrailDeviceEnded),
    ("password_set", Word::TrailPasswordSet),
    ("second_factor_set", Word::TrailSecondSet),
    ("second_factor_removed", Word::TrailSecondRemoved),
    ("recovery_code_used", Word::TrailRecoveryUsed),
    ("invited", Word::TrailInvited),
    ("invitation_taken_back", Word::TrailTakenBack),
    ("coach_accepted", Word::TrailAccepted),
    ("coach_joined", Word::TrailJoined),
    ("coach_revoked", Word::TrailRevoked),
    ("log_erased", Word::TrailErased),
    ("signed_up", Word::TrailSignedUp),
    ("newcomer", Word::TrailNewcomer),
    ("sign_up_opened", Word::TrailOpened),
    ("sign_up_closed", Word::TrailClosed),
    ("note_sent", Word::TrailNoteSent),
    ("note_came", Word::TrailNoteCame),
    ("minor_set", Word::TrailMinor),
    ("minor_removed", Word::TrailOfAge),
    ("guardian_set", Word::TrailGuardian),
    ("guardian_of", Word::TrailGuards),
    ("guardian_named", Word::TrailNamed),
    ("consent_asked", Word::TrailConsent),
    ("agreed", Word::TrailAgreed),
];

/// The list, once it is asked for.
pub(super) fn view(app: App) -> AnyView {
    section(app, json!({}), false, draw, act).1
}

fn draw(app: App, state: &Value) -> String {
    let one = |e: &Value| {
        let (done, about) = (text(e, "what"), text(e, "about"));
        let done = WORDS.iter().find(|(name, _)| *name == done).map_or(done, |(_, word)| app.t(*word));
        // An id says something where there is a name for it.
        let about = match about.parse::<Uuid>() {
            Ok(id) => app.archers().into_iter().find(|(a, _)| *a == id).map(|(_, a)| a.name).unwrap_or_default(),
            Err(_) => about.to_owned(),
        };
        entry(&when(app, &e["at_ms"]), &[done, &about].join(" "), "")
    };
    let found = &state["trail"];
    let inside = if found.is_array() {
        list(app, "trail", &all(found).map(one).collect::<Vec<_>>())
    } else {
        buttons(&button("trail-show", "", app.t(Word::TrailShow), ""))
    };
    heading(app, Word::Trail) + &inside
}

fn act(app: App, state: State, _: Deed) {
    look(app, state, "trail", "trail".to_owned());
}
