//! A part of the page: HTML made of what is known, and what is pressed in it or sent from it, by name. All text in it is escaped.
//!
//! What is drawn anew keeps what a person is at (`static/section.js`): forms with what was typed, the focus, and a button that asks for
//! a second press.

use leptos::html::Div;
use leptos::prelude::*;
use serde_json::Value;
use wasm_bindgen::{JsCast, JsValue};

use crate::app::state::App;
use crate::app::{device, offers};
use crate::pages::escape;
use crate::words::Word;

/// What a section knows.
pub(in crate::app) type State = RwSignal<Value>;
/// Draws it.
pub(in crate::app) type Draw = fn(App, &Value) -> String;
/// Does what was pressed or sent.
pub(in crate::app) type Act = fn(App, State, Deed);

/// What was pressed or sent.
pub(in crate::app) struct Deed {
    /// Its name.
    pub(in crate::app) name: String,
    /// What a button is about.
    pub(in crate::app) value: String,
    /// The fields of a form.
    pub(in crate::app) fields: Value,
    form: web_sys::Element,
}

impl Deed {
    fn of(element: web_sys::Element, fields: Value) -> Self {
        let get = |name: &str| element.get_attribute(name).unwrap_or_default();
        Self { name: get("data-act"), value: get("data-value"), fields, form: element }
    }

    /// A field of the form.
    pub(in crate::app) fn field(&self, name: &str) -> String {
        self.fields[name].as_str().unwrap_or_default().to_owned()
    }

    /// Says beside the form what is wrong, and leaves what was typed.
    pub(in crate::app) fn wrong(&self, text: &str) {
        if let Ok(Some(place)) = self.form.query_selector(".wrong") {
            place.set_text_content(Some(text));
        }
    }

    /// Empties the fields that match.
    pub(in crate::app) fn empty(&self, which: &str) {
        if let Ok(Some(field)) = self.form.query_selector(which) {
            let _ = js_sys::Reflect::set(&field, &"value".into(), &"".into());
        }
    }

    /// Shows what the form has kept back.
    pub(in crate::app) fn more(&self) {
        if let Ok(Some(later)) = self.form.query_selector("[hidden]") {
            let _ = later.remove_attribute("hidden");
        }
    }
}

/// The element that an event met, or the one around it that matches.
pub(in crate::app) fn closest(target: Option<web_sys::EventTarget>, selector: &str) -> Option<web_sys::Element> {
    target?.dyn_into::<web_sys::Element>().ok()?.closest(selector).ok()?
}

/// What `static/section.js` does under that name.
fn page(name: &str, with: &[&JsValue]) -> String {
    offers::call(&device::window(), name, with).and_then(|v| v.as_string()).unwrap_or_default()
}

/// What a button asks before it does what it is for; empty where it does not ask.
fn question(button: &web_sys::Element) -> String {
    page("goldwardQuestion", &[button])
}

/// A section that begins with knowing that. One that `follows` is drawn anew when the log or the exchange changes; one with a form
/// is not, since that would empty the form.
pub(in crate::app) fn section(app: App, begin: Value, follows: bool, draw: Draw, act: Act) -> (State, AnyView) {
    let state = RwSignal::new(begin);
    let pressed = move |e: web_sys::MouseEvent| {
        let button = closest(e.target(), "button[data-act]");
        if let Some(button) = button.filter(|b| app.is_sure(question(b))) {
            act(app, state, Deed::of(button, Value::Null));
        }
    };
    let sent = move |e: leptos::ev::SubmitEvent| {
        e.prevent_default();
        let Some(form) = closest(e.target(), "form") else { return };
        let button = form.query_selector("[type=submit]").ok().flatten();
        if app.is_sure(button.map(|b| question(&b)).unwrap_or_default()) {
            let fields = serde_json::from_str(&page("goldwardFields", &[&form])).unwrap_or_default();
            act(app, state, Deed::of(form, fields));
        }
    };
    let node = NodeRef::<Div>::new();
    Effect::new(move || {
        state.track();
        let draw = || state.with_untracked(|s| draw(app, s));
        let html = if follows { draw() } else { untrack(draw) };
        if let Some(root) = node.get() {
            page("goldwardDraw", &[&root, &html.into(), &app.asked.get().into()]);
        }
    });
    (state, view! { <div class="stack" node_ref=node on:click=pressed on:submit=sent></div> }.into_any())
}

/// What a field is for, as browsers and password managers know it.
pub(in crate::app) fn input(id: &str, label: &str, complete: &str, value: &str) -> String {
    let kind = if complete.ends_with("password") { "password" } else { "text" };
    format!(
        "<div class=\"field\"><label for=\"{id}\">{}</label><input id=\"{id}\" name=\"{id}\" type=\"{kind}\" autocomplete=\"{complete}\" \
         autocapitalize=\"none\" spellcheck=\"false\" value=\"{}\"></div>",
        escape(label),
        escape(value)
    )
}

/// A box to tick.
pub(in crate::app) fn check(name: &str, text: &str) -> String {
    format!("<label class=\"option\"><input type=\"checkbox\" name=\"{name}\"><span>{}</span></label>", escape(text))
}

/// A form, sent by its button or by Enter.
pub(in crate::app) fn form(act: &str, inside: &str, button: &str, text: &str, sure: &str) -> String {
    format!(
        "<form class=\"stack\" id=\"{act}\" data-act=\"{act}\">{inside}<p class=\"wrong\" role=\"alert\"></p>\
         <button type=\"submit\" id=\"{button}\"{}>{}</button></form>",
        attribute("data-sure", sure),
        escape(text)
    )
}

fn attribute(name: &str, value: &str) -> String {
    if value.is_empty() { String::new() } else { format!(" {name}=\"{}\"", escape(value)) }
}

/// A button; with `sure` one that is pressed twice.
pub(in crate::app) fn button(act: &str, value: &str, text: &str, sure: &str) -> String {
    format!(
        "<button type=\"button\" class=\"{act}\" data-act=\"{act}\"{}{}>{}</button>",
        attribute("data-value", value),
        attribute("data-sure", sure),
        escape(text)
    )
}

/// Buttons beside each other.
pub(in crate::app) fn buttons(inside: &str) -> String {
    format!("<div class=\"buttons\">{inside}</div>")
}

/// A heading.
pub(in crate::app) fn heading(app: App, word: Word) -> String {
    format!("<h2>{}</h2>", app.t(word))
}

/// A paragraph.
pub(in crate::app) fn say(id: &str, class: &str, text: &str) -> String {
    format!("<p{}{}>{}</p>", attribute("id", id), attribute("class", class), escape(text))
}

/// An entry of a list: what it is, more about it, and what can be done.
pub(in crate::app) fn entry(what: &str, more: &str, done: &str) -> String {
    format!("<li><span><b>{}</b> {}</span><span class=\"buttons\">{done}</span></li>", escape(what), escape(more))
}

/// A list; one that says so where there is nothing in it.
pub(in crate::app) fn list(app: App, id: &str, entries: &[String]) -> String {
    let all = if entries.is_empty() { format!("<li>{}</li>", app.t(Word::NoneOfThem)) } else { entries.concat() };
    format!("<ul class=\"entries {id}\" id=\"{id}\">{all}</ul>")
}

/// A moment, as people here write it.
pub(in crate::app) fn when(app: App, ms: &Value) -> String {
    device::date(ms.as_u64().unwrap_or_default(), app.language().code())
}

/// A text of an answer.
pub(in crate::app) fn text<'a>(of: &'a Value, key: &str) -> &'a str {
    of[key].as_str().unwrap_or_default()
}

/// The entries of an answer.
pub(in crate::app) fn all(of: &Value) -> impl Iterator<Item = &Value> {
    of.as_array().into_iter().flatten()
}
