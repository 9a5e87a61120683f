//! Who shoots: several archers on one device, switched in one tap, side by side.

use goldward_journal::{Archer, Body, Hand, Uuid};
use leptos::prelude::*;

use super::super::drafts;
use super::super::state::{App, Screen, app};
use super::super::told;
use super::super::widgets::{Choice, TextField};
use super::progress::{self, Summary};
use crate::pages::{Item, escape, html};
use crate::roster::{self, about, groups};
use crate::words::{self, Word};

/// The page.
pub(in crate::app) fn view() -> impl IntoView {
    let app = app();
    let name = RwSignal::new(String::new());
    let hand = RwSignal::new(Hand::Right);
    let counted = RwSignal::new(false);
    let wrong = RwSignal::new(false);
    let edited: RwSignal<Option<Uuid>> = RwSignal::new(None);
    // What is typed and chosen is kept when the place is left.
    let typed = move || {
        let chosen = (hand.get() == Hand::Left, counted.get());
        let left = ["", "1", "2", "3"][usize::from(chosen.0) + 2 * usize::from(chosen.1)];
        [left, &edited.get().map_or(String::new(), |id| id.to_string()), &name.get()].join(" ")
    };
    let nothing = untrack(typed);
    if let Some(kept) = drafts::of(app, "archer") {
        let mut parts = kept.splitn(3, ' ');
        let chosen = parts.next().and_then(|c| c.parse::<u8>().ok()).unwrap_or_default();
        hand.set(if chosen & 1 > 0 { Hand::Left } else { Hand::Right });
        counted.set(chosen & 2 > 0);
        edited.set(parts.next().and_then(|id| id.parse().ok()));
        name.set(parts.next().unwrap_or_default().to_owned());
    }
    Effect::new(move || drafts::keep(app, "archer", typed(), &nothing));
    let empty = move || {
        edited.set(None);
        name.set(String::new());
        hand.set(Hand::Right);
        counted.set(false);
        wrong.set(false);
    };
    let act = move |what: &str, value: &str| {
        let id = value.parse().unwrap_or_default();
        match what {
            "pick" => app.pick(id),
            "beside" => {
                app.peer.beside.set_value(Some(id));
                app.go(Screen::Beside);
            }
            "edit" => {
                let Some((_, own)) = app.archers().into_iter().find(|(a, _)| *a == id) else { return };
                edited.set(Some(id));
                name.set(own.name);
                hand.set(own.hand.unwrap_or(Hand::Right));
                counted.set(own.counted == Some(true));
            }
            // The one that is shown already: all.
            _ => app.peer.told.update(|t| t["group"] = if t["group"] == value { "" } else { value }.into()),
        }
    };
    let save = move |_| {
        let text = name.get_untracked().trim().to_owned();
        wrong.set(text.is_empty());
        if text.is_empty() {
            return;
        }
        let archer = Archer { name: text, hand: Some(hand.get_untracked()), counted: None };
        // Told only where it was asked for, so that older versions read the record on; taken back, it says so.
        let was = edited.get_untracked().and_then(|id| app.archers().into_iter().find(|(a, _)| *a == id));
        let told = counted.get_untracked() || was.is_some_and(|(_, a)| a.counted.is_some());
        let archer = Archer { counted: told.then_some(counted.get_untracked()), ..archer };
        // The first name is for whoever has been shooting here without one.
        let nameless = app.archer().filter(|(_, a)| a.name.is_empty()).map(|(id, _)| id);
        let kept = match edited.get_untracked().or(nameless) {
            Some(id) => app.edit(id, Body::Archer(archer)),
            None => app.new_archer(archer).is_some(),
        };
        // What is refused stays typed.
        if kept {
            drafts::forget_those("Archers ");
            empty();
        }
    };
    view! {
        <div class="page">
            {told::region("stack", Box::new(move || list(app)), Box::new(act))}
            <h2>{move || app.t(if edited.get().is_some() { Word::Edit } else { Word::NewArcher })}</h2>
            <TextField id="archer-name" label=Word::ArcherName value=name/>
            <Choice label=Word::Hand name="hand" value=hand set=move |h| hand.set(h)
                choices=vec![(Hand::Right, app.t(Word::RightHand).to_owned()), (Hand::Left, app.t(Word::LeftHand).to_owned())]/>
            <Choice label=Word::CountedHead name="counted" value=counted set=move |c| counted.set(c)
                choices=vec![(false, app.t(Word::CountedNo).to_owned()), (true, app.t(Word::CountedYes).to_owned())]/>
            <p class="hint">{move || app.t(Word::CountedHelp)}</p>
            <p class="wrong" role="alert">{move || wrong.get().then(|| app.t(Word::NameNeeded))}</p>
            <div class="buttons">
                <Show when=move || edited.get().is_some()>
                    <button type="button" on:click=move |_| empty()>{app.t(Word::Cancel)}</button>
                </Show>
                <button type="button" class="main" id="save-archer" on:click=save>{move || app.t(Word::Save)}</button>
            </div>
            <h2>{move || app.t(Word::Compare)}</h2>
            <div inner_html=move || compare(app)></div>
        </div>
    }
}

/// The groups, of which one is shown, and the archers, as HTML.
fn list(app: App) -> String {
    let mut out = "<div class=\"buttons groups\">".to_owned();
    app.peer.told.with(|t| {
        for group in groups(&t["roster"]) {
            out += &button("group", group, t["group"] == group, "", group);
        }
    });
    out += "</div><ul class=\"people\">";
    let current = app.archer().map(|(id, _)| id);
    let signed_in = app.peer.account.with_value(Option::is_some);
    for (id, a) in shown(app) {
        let (name, value) = (if a.name.is_empty() { "?" } else { &a.name }, id.to_string());
        let (groups, news) = app
            .peer
            .told
            .with(|t| (roster::told(&t["roster"], id), about(&t["logs"], &value)["unread"].as_u64() > Some(0)));
        out += "<li>";
        out += &button("pick", &value, current == Some(id), "", name).replacen(
            "</b",
            &format!("<small>{}</small></b", escape(&groups)),
            1,
        );
        if signed_in {
            let class = if news { "beside news" } else { "beside" };
            let label = format!("{}: {name}", app.t(Word::Beside));
            out += &button("beside", &value, false, &label, "✉").replacen(
                "class=\"beside",
                &format!("class=\"{class}"),
                1,
            );
        }
        if app.may_write(id) {
            out += &button("edit", &value, false, &format!("{}: {name}", app.t(Word::Edit)), "✎");
        }
        out += "</li>";
    }
    out + "</ul>"
}

/// A button; one with a label is no choice.
fn button(act: &str, value: &str, pressed: bool, label: &str, text: &str) -> String {
    let told = if label.is_empty() {
        format!("aria-pressed=\"{pressed}\"")
    } else {
        format!("aria-label=\"{}\"", escape(label))
    };
    format!(
        "<button type=\"button\" class=\"{act}\" data-act=\"{act}\" data-value=\"{}\" {told}>{}</button>",
        escape(value),
        escape(text)
    )
}

/// The archers of the group that is shown, or all.
fn shown(app: App) -> Vec<(Uuid, Archer)> {
    app.peer.told.with(|t| roster::shown(&t["roster"], t["group"].as_str().unwrap_or_default(), app.archers()))
}

/// One row an archer, as HTML.
fn compare(app: App) -> String {
    let l = app.language();
    let dash = || "–".to_owned();
    // Spreads of all distances, as they would be at one that everybody knows.
    let metres = if app.imperial() { 18.288 } else { 18.0 };
    let rows = shown(app).into_iter().map(|(id, a)| {
        let all = progress::summaries(app, id);
        let (points, arrows) = all.iter().fold((0, 0), |(p, n), s: &Summary| (p + s.points, n + s.counted));
        let each = (arrows > 0).then(|| l.number(&format!("{:.2}", f64::from(points) / f64::from(arrows))));
        vec![
            if a.name.is_empty() { "?".to_owned() } else { a.name },
            all.len().to_string(),
            all.iter().map(|s| s.arrows).sum::<u32>().to_string(),
            each.unwrap_or_else(dash),
            progress::pooled_mrad(&all).map_or_else(dash, |m| words::length(l, app.imperial(), m * metres)),
        ]
    });
    let head = [Word::ArcherName, Word::Sessions, Word::Arrows, Word::PerArrow].map(|w| app.t(w).to_owned());
    let head: Vec<String> = head
        .into_iter()
        .chain([format!("{}, {}", app.t(Word::Spread), words::distance(l, app.imperial(), metres))])
        .collect();
    html(&[Item::Table(app.t(Word::Compare).to_owned(), head, rows.collect())])
}
