//! Which sessions belong to which of two sets.

use goldward_journal::Uuid;
use leptos::prelude::*;

use super::super::device;
use super::super::state::App;
use crate::pages::compare::Sides;
use crate::pages::controls;
use crate::pages::gather::Gathered;
use crate::words::{self, Word};

/// So many of the latest sessions can be chosen from.
const MOST: usize = 40;

/// The choice.
pub(super) type Picked = RwSignal<Vec<(Uuid, Sides)>>;

fn of(picked: &[(Uuid, Sides)], id: Uuid) -> Option<Sides> {
    picked.iter().find(|p| p.0 == id).map(|p| p.1)
}

/// The sessions chosen, oldest first.
pub(super) fn chosen<'a>(all: &'a [Gathered], picked: &[(Uuid, Sides)]) -> Vec<(&'a Gathered, Sides)> {
    all.iter().rev().filter_map(|g| Some((g, of(picked, g.id)?))).filter(|(_, s)| s.a || s.b).collect()
}

/// What a session is called.
fn name(app: App, g: &Gathered) -> String {
    let l = app.language();
    let metres = words::distance(l, app.imperial(), g.distance.metres());
    let kit = app.kits().into_iter().find(|(id, _)| Some(*id) == g.kit).map_or(String::new(), |(_, k)| k.name);
    format!("{} · {metres} · {} {} · {kit}", device::date(g.at_ms, l.code()), g.shots.len(), app.t(Word::Arrows))
}

/// Two buttons a session.
pub(super) fn list(app: App, all: &[Gathered], picked: &[(Uuid, Sides)], sets: [Word; 2]) -> String {
    let mut out = "<ul class=\"picks\">".to_owned();
    for g in all.iter().take(MOST) {
        let (id, text, sides) = (g.id.to_string(), name(app, g), of(picked, g.id).unwrap_or_default());
        out.push_str(&format!("<li><span>{}</span>", crate::pages::escape(&text)));
        for (act, word, pressed) in [("a", sets[0], sides.a), ("b", sets[1], sides.b)] {
            let word = app.t(word);
            out.push_str(&controls::button(act, &id, Some(pressed), &format!("{word}: {text}"), word));
        }
        out.push_str("</li>");
    }
    out + "</ul>"
}

/// A button of the list was pressed.
pub(super) fn toggle(picked: Picked, act: &str, value: &str) {
    let Ok(id) = value.parse::<Uuid>() else { return };
    picked.update(|p| {
        if !p.iter().any(|p| p.0 == id) {
            p.push((id, Sides::default()));
        }
        for (_, sides) in p.iter_mut().filter(|p| p.0 == id) {
            match act {
                "a" => sides.a = !sides.a,
                _ => sides.b = !sides.b,
            }
        }
    });
}

/// A choice of sets by kit or by date; see [`split`].
pub(super) fn shortcuts(app: App, all: &[Gathered]) -> String {
    let l = app.language();
    let kits = app.kits();
    let mut options = vec![(String::new(), app.t(Word::SplitByHand).to_owned())];
    for (a, before) in kits.iter().take(5) {
        for (b, after) in kits.iter().take(5).filter(|(b, _)| b != a) {
            options.push((format!("{a}/{b}"), format!("A: {} · B: {}", before.name, after.name)));
        }
    }
    for g in all.iter().take(all.len().min(MOST).saturating_sub(1)) {
        options.push((g.at_ms.to_string(), app.f(Word::SplitAt, &[&device::date(g.at_ms, l.code())])));
    }
    if options.len() > 1 { controls::select("split", app.t(Word::SplitBy), &options, "") } else { String::new() }
}

/// The sets of a shortcut.
pub(super) fn split(all: &[Gathered], value: &str) -> Vec<(Uuid, Sides)> {
    let side = |g: &Gathered| match value.split_once('/') {
        Some((a, b)) => {
            let kit = g.kit.map(|k| k.to_string()).unwrap_or_default();
            Sides { a: kit == a, b: kit == b }
        }
        None => value.parse::<u64>().map_or(Sides::default(), |from| Sides { a: g.at_ms < from, b: g.at_ms >= from }),
    };
    all.iter().take(MOST).map(|g| (g.id, side(g))).collect()
}
