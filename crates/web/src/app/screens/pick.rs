//! Which sessions belong to which of two sets.

use std::collections::BTreeMap;

use goldward_journal::Uuid;
use leptos::prelude::*;

use super::super::device;
use super::super::state::{App, app};
use crate::pages::compare::Sides;
use crate::pages::gather::Gathered;
use crate::words::{self, Word};

/// So many of the latest sessions can be chosen from.
const MOST: usize = 40;

/// The choice.
pub(super) type Picked = RwSignal<BTreeMap<Uuid, Sides>>;

/// The sessions chosen, oldest first.
pub(super) fn chosen<'a>(all: &'a [Gathered], picked: &BTreeMap<Uuid, Sides>) -> Vec<(&'a Gathered, Sides)> {
    all.iter().rev().filter_map(|g| Some((g, *picked.get(&g.id)?))).filter(|(_, s)| s.a || s.b).collect()
}

/// What a session is called.
fn name(app: App, g: &Gathered) -> String {
    let l = app.language();
    let metres = words::distance(l, app.imperial(), g.distance.metres());
    let kit = app.kits().into_iter().find(|(id, _)| Some(*id) == g.kit).map_or(String::new(), |(_, k)| k.name);
    format!("{} · {metres} · {} {} · {kit}", device::date(g.at_ms, l.code()), g.shots.len(), app.t(Word::Arrows))
}

/// Two buttons a session, and a short way to many at once.
pub(super) fn view(all: StoredValue<Vec<Gathered>>, picked: Picked, sets: [Word; 2], quick: bool) -> impl IntoView {
    let app = app();
    let toggle = move |id: Uuid, second: bool| {
        picked.update(|p| {
            let sides = p.entry(id).or_default();
            if second { sides.b = !sides.b } else { sides.a = !sides.a }
        });
    };
    let pressed = move |id: Uuid, second: bool| {
        picked.with(|p| p.get(&id).is_some_and(|s| if second { s.b } else { s.a })).to_string()
    };
    let rows = all.with_value(|all| {
        all.iter()
            .take(MOST)
            .map(|g| {
                let (id, text) = (g.id, name(app, g));
                let buttons = [false, true].map(|second| {
                    let word = app.t(sets[usize::from(second)]);
                    view! { <button type="button" data-set=if second { "b" } else { "a" } aria-label=format!("{word}: {text}")
                        aria-pressed=move || pressed(id, second) on:click=move |_| toggle(id, second)>{word}</button> }
                });
                view! { <li><span>{text}</span>{buttons.into_iter().collect_view()}</li> }
            })
            .collect_view()
    });
    view! {
        {quick.then(|| shortcuts(app, all, picked))}
        <ul class="picks">{rows}</ul>
    }
}

/// Sets by date, or by kit.
fn shortcuts(app: App, all: StoredValue<Vec<Gathered>>, picked: Picked) -> impl IntoView {
    let l = app.language();
    let kits = app.kits();
    let mut options: Vec<(String, String)> = Vec::new();
    for (a, before) in kits.iter().take(5) {
        for (b, after) in kits.iter().take(5).filter(|(b, _)| b != a) {
            options.push((format!("{a}/{b}"), format!("A: {} · B: {}", before.name, after.name)));
        }
    }
    all.with_value(|all| {
        let last = all.len().min(MOST).saturating_sub(1);
        for g in all.iter().take(last) {
            let date = device::date(g.at_ms, l.code());
            options.push((g.at_ms.to_string(), app.f(Word::SplitAt, &[&date])));
        }
    });
    let pick = move |e: web_sys::Event| {
        let value = event_target_value(&e);
        let mut sides = BTreeMap::new();
        all.with_value(|all| {
            for g in all.iter().take(MOST) {
                let side = match value.split_once('/') {
                    Some((a, b)) => {
                        let kit = g.kit.map(|k| k.to_string()).unwrap_or_default();
                        Sides { a: kit == a, b: kit == b }
                    }
                    None => {
                        let Ok(from) = value.parse::<u64>() else { continue };
                        Sides { a: g.at_ms < from, b: g.at_ms >= from }
                    }
                };
                sides.insert(g.id, side);
            }
        });
        picked.set(sides);
    };
    (!options.is_empty()).then(|| view! {
        <div class="field"><label for="split">{app.t(Word::SplitBy)}</label>
            <select id="split" on:change=pick>
                <option value="">{app.t(Word::SplitByHand)}</option>
                {options.into_iter().map(|(value, text)| view! { <option value=value>{text}</option> }).collect_view()}
            </select></div>
    })
}
