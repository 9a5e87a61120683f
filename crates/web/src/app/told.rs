//! Screens made of text: controls and an answer, written as HTML, with what is done to a control handed back by its name.
//!
//! One kind of view for all of them keeps the app small.

use goldward_core::advice::TOUCH_COST_DEFAULT;
use goldward_core::notice::Notice;
use goldward_core::pace::Answer;
use goldward_journal::Uuid;
use leptos::prelude::*;

use super::account::section::closest;
use super::device;
use super::state::{App, Screen, app};
use crate::pages::gather::{self, Gathered};
use crate::pages::reading::Told;
use crate::pages::{Item, Teller, controls, html};
use crate::sheet::Sheet;
use crate::words::Word;

/// Tells something in the language of the app.
pub(super) fn tell<T>(app: App, say: impl FnOnce(&Teller<'_>) -> T) -> T {
    let language = app.language();
    let date = |ms: u64| device::date(ms, language.code());
    say(&Teller { language, imperial: app.imperial(), date: &date })
}

/// What core said of the session shot now, to be told.
pub(super) fn of<'a>(sheet: &Sheet, answer: &'a Answer, notices: &'a [Notice]) -> Told<'a> {
    Told {
        reading: &answer.reading,
        advice: &answer.advice,
        notices,
        shots_left: u32::try_from(answer.shots_left).unwrap_or(u32::MAX),
        touch_cost_points: sheet.kit.touch_cost_points.unwrap_or(TOUCH_COST_DEFAULT),
        distance_m: sheet.session.distance_m,
    }
}

/// Sessions of the archer shooting now, the latest first.
pub(super) fn sessions(app: App) -> Vec<Gathered> {
    let Some((archer, _)) = app.archer() else { return Vec::new() };
    app.log.with(|log| gather::sessions(log, archer))
}

/// Links to other screens, as HTML.
pub(super) fn links(app: App, screens: &[Screen]) -> String {
    let to: Vec<(&str, &str)> = screens.iter().map(|s| (s.path(), app.t(s.title()))).collect();
    controls::links(app.t(Word::More), &to)
}

/// One of the archer's kits, or all, as HTML; nothing to choose with fewer than two.
pub(super) fn kit_choice(app: App, chosen: Option<Uuid>) -> String {
    let kits = app.kits();
    if kits.len() < 2 {
        return String::new();
    }
    let mut options = vec![(String::new(), app.t(Word::AllKits).to_owned())];
    options.extend(kits.into_iter().map(|(id, kit)| (id.to_string(), kit.name)));
    controls::select("told-kit", app.t(Word::Kit), &options, &chosen.map_or(String::new(), |k| k.to_string()))
}

/// HTML that follows its signals.
pub(super) type Html = Box<dyn Fn() -> String + Send + Sync>;
/// What is done: the name of the control and its value.
pub(super) type Act = Box<dyn Fn(&str, &str)>;

/// Controls in a region that hands back what is done to them. All text in it is escaped where it becomes HTML.
pub(super) fn region(class: &'static str, controls: Html, act: Act) -> AnyView {
    let act = StoredValue::new_local(act);
    let on = move |e: web_sys::Event| {
        let Some(control) = closest(e.target(), "[data-act]") else { return };
        let is_button = control.tag_name() == "BUTTON";
        if is_button != (e.type_() == "click") {
            return;
        }
        let name = control.get_attribute("data-act").unwrap_or_default();
        let value = if is_button {
            if let Some(pressed) = control.get_attribute("aria-pressed") {
                let _ = control.set_attribute("aria-pressed", if pressed == "true" { "false" } else { "true" });
            }
            control.get_attribute("data-value")
        } else {
            js_sys::Reflect::get(&control, &"value".into()).ok().and_then(|v| v.as_string())
        };
        act.with_value(|act| act(&name, &value.unwrap_or_default()));
    };
    let clicked = move |e: web_sys::MouseEvent| on(e.into());
    view! { <div class=class inner_html=controls on:click=clicked on:input=on></div> }.into_any()
}

/// A page: controls, more controls that come and go, what is said, and where to go from here.
pub(super) fn page(
    controls: Html,
    more: Option<Html>,
    act: Act,
    said: Box<dyn Fn() -> Vec<Item> + Send + Sync>,
    to: &'static [Screen],
) -> AnyView {
    let app = app();
    let act = std::rc::Rc::new(act);
    let again = act.clone();
    view! {
        <div class="page">
            {region("spoken", controls, Box::new(move |n, v| act(n, v)))}
            {more.map(|more| region("spoken", more, Box::new(move |n, v| again(n, v))))}
            <div class="spoken" id="said" aria-live="polite" inner_html=move || html(&said())></div>
            <div inner_html=links(app, to)></div>
        </div>
    }
    .into_any()
}
