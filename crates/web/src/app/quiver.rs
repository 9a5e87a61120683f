//! The arrows of a kit: named, retired, taken back.

use goldward_journal::{Arrow, Body, Uuid};
use leptos::prelude::*;

use super::drafts;
use super::state::{App, app};
use super::told;
use crate::pages::arrows::in_order;
use crate::pages::{controls, escape};
use crate::words::Word;

/// Longest name of an arrow, in characters.
const LONGEST: usize = 8;
/// The field where arrows are named.
const TYPED: &str = "k-arrows";

/// Arrows of a kit in the order of their names.
fn arrows(app: App, kit: Uuid) -> Vec<(Uuid, Arrow)> {
    let mut all: Vec<(Uuid, Arrow)> = app.log.with(|log| {
        log.of(|b| if let Body::Arrow(a) = b { Some(a) } else { None })
            .into_iter()
            .filter(|(_, a)| a.kit == kit)
            .map(|(r, a)| (r.id, a.clone()))
            .collect()
    });
    all.sort_by_key(|(id, a)| (in_order(&a.name), *id));
    all
}

/// Names of the arrows that a kit is shot with; 1 to 12 while none are named.
pub(super) fn names(app: App, kit: Option<Uuid>) -> Vec<String> {
    let own: Vec<String> = kit
        .map(|kit| arrows(app, kit).into_iter().filter(|(_, a)| !a.retired).map(|(_, a)| a.name).collect())
        .unwrap_or_default();
    if own.is_empty() { (1..=12).map(|n: u32| n.to_string()).collect() } else { own }
}

/// The list in the kit's form.
pub(super) fn view(kit: Uuid) -> AnyView {
    let app = app();
    let typed = StoredValue::new(drafts::of(app, TYPED).unwrap_or_default());
    let type_in = move |text: String| {
        drafts::keep(app, TYPED, text.clone(), "");
        typed.set_value(text);
    };
    let wrong = RwSignal::new(String::new());
    let list = move || {
        let mut out = format!("<h2>{}</h2>", app.t(Word::KitArrows));
        out += &controls::text("hint", app.t(Word::KitArrowsHelp));
        out += "<ul class=\"picks\">";
        for (id, arrow) in arrows(app, kit) {
            let word = app.t(if arrow.retired { Word::BackInUse } else { Word::Retire });
            let shown = if arrow.retired { format!("{} ({})", arrow.name, app.t(Word::Retired)) } else { arrow.name };
            let button = controls::button("retire", &id.to_string(), None, &format!("{word}: {shown}"), word);
            out += &format!("<li><span>#{}</span>{button}</li>", escape(&shown));
        }
        out += "</ul>";
        out += &controls::field(TYPED, app.t(Word::AddArrows), &typed.get_value(), "");
        out += &controls::text("wrong", &wrong.get());
        out + &controls::button("add-arrows", "", None, app.t(Word::Add), app.t(Word::Add))
    };
    let add = move || {
        let there = arrows(app, kit);
        let mut bodies = Vec::new();
        let mut twice = String::new();
        for name in typed.get_value().split([' ', ',', ';']).filter(|n| !n.is_empty()) {
            let name: String = name.chars().take(LONGEST).collect();
            let known = |b: &Body| matches!(b, Body::Arrow(a) if a.name == name);
            if there.iter().any(|(_, a)| a.name == name) || bodies.iter().any(known) {
                twice = app.f(Word::ArrowThere, &[&name]);
            } else {
                bodies.push(Body::Arrow(Arrow { kit, name, retired: false }));
            }
        }
        if !bodies.is_empty() && app.write(bodies).is_none() {
            return;
        }
        type_in(String::new());
        wrong.set(twice);
    };
    let act = move |name: &str, value: &str| match name {
        "retire" => {
            if let Some((id, arrow)) = arrows(app, kit).into_iter().find(|(id, _)| id.to_string() == value) {
                app.edit(id, Body::Arrow(Arrow { retired: !arrow.retired, ..arrow }));
            }
        }
        "add-arrows" => add(),
        _ => type_in(value.to_owned()),
    };
    told::region("spoken", Box::new(list), Box::new(act))
}
