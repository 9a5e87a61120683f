//! Another's log as whoever reads it sees it: what was shot and what core says of it, and nothing that would write.

use goldward_core::face::Face;
use goldward_core::notice::Weight;
use leptos::prelude::*;
use serde_json::{Value, json};

use super::report;
use crate::app::account::section::{Deed, State, button, buttons, heading, say, section};
use crate::app::device;
use crate::app::shoot::{notices, sessions};
use crate::app::state::{App, Screen, app};
use crate::pages::{controls, escape};
use crate::words::{self, Word};

/// The page.
pub(in crate::app) fn view() -> impl IntoView {
    let app = app();
    view! {
        <div class="page" id="reading">
            {section(app, json!({}), true, draw, act).1}
            <div id="reading-sheet">{move || report::article(app)}</div>
            {section(app, json!({}), true, draw_list, act).1}
        </div>
    }
}

/// What core says of the session that is open.
fn draw(app: App, _: &Value) -> String {
    let l = app.language();
    let name = app.archer().map(|(_, a)| a.name).unwrap_or_default();
    let mut out = say("you-read", "notice note", &app.f(Word::YouRead, &[&name]));
    let Some(sheet) = app.sheet.get() else { return out };
    let Some(answer) = app.said.get().answer.filter(|a| a.reading.shots > 0) else {
        return out + &say("", "", app.t(Word::NoShotsYet));
    };
    out += "<div class=\"answer stack\" id=\"reading-says\" aria-live=\"polite\">";
    out += &say("advice", "do", &words::action(l, &answer.advice));
    out += &say("", "worth", &words::worth(l, &answer));
    out += &say("", "why", words::why(l, answer.advice.why));
    for notice in notices(&sheet, &answer).iter().filter(|n| n.weight() != Weight::Note) {
        let class = if notice.weight() == Weight::Safety { "notice safety" } else { "notice" };
        out += &say("", class, &words::notice(l, app.imperial(), notice));
    }
    out + "</div>"
}

/// The sessions, the latest first.
fn draw_list(app: App, _: &Value) -> String {
    let l = app.language();
    let mut out = String::new();
    if app.sheet.with(Option::is_some) {
        let ways = button("explain", "", app.t(Word::Explain), "") + &button("close", "", app.t(Word::Close), "");
        out += &buttons(&ways);
    }
    out += &heading(app, Word::ReadSession);
    let all = sessions(app);
    if all.is_empty() {
        out += &say("", "", app.t(Word::NoSessions));
    }
    out += "<ul class=\"sessions\">";
    for (id, s) in all.into_iter().take(50) {
        let face = Face::named(&s.face).map(|f| words::face_title(l, f)).unwrap_or_default();
        let distance = words::distance(l, app.imperial(), s.distance_m);
        let text = format!("{} · {distance} · {face}", device::date(s.at_ms, l.code()));
        out += &format!(
            "<li><button type=\"button\" class=\"session\" data-act=\"open\" data-value=\"{id}\">{}</button></li>",
            escape(&text)
        );
    }
    out += "</ul>";
    if app.peer.account.with_value(Option::is_some) {
        out += &buttons(&button("beside", "", app.t(Word::Beside), ""));
    }
    out + &controls::links(app.t(Word::More), &[("archers", app.t(Word::ReadBackTo))])
}

fn act(app: App, _: State, deed: Deed) {
    match deed.name.as_str() {
        "explain" => app.go(Screen::Explain),
        "close" => app.leave_session(),
        "beside" => {
            app.peer.beside.set_value(None);
            app.go(Screen::Beside);
        }
        _ => {
            if let Ok(session) = deed.value.parse() {
                app.open_session(session);
            }
        }
    }
}
