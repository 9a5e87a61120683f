//! Bow, sight and arrows.

use goldward_core::units::trim_number;
use goldward_core::usual::{Bow, Level};
use goldward_journal::{Body, Hand, Kit, Uuid};
use goldward_session::log::habits_shown;
use goldward_session::usual::Usual;
use leptos::prelude::*;
use wasm_bindgen::JsCast;
use wasm_bindgen_futures::{JsFuture, spawn_local};

use super::super::quiver;
use super::super::shoot::how;
use super::super::state::{App, app};
use super::super::widgets::{Asked, Choice, NumberField, TextField, read_all};
use super::super::{device, drafts, told};
use crate::pages::{self, html};
use crate::words::{Language, Word, problem};

/// One number of a kit: where it lives, its range, and how it is asked for.
struct Item {
    id: &'static str,
    label: Word,
    unit: &'static str,
    hint: Option<Word>,
    min: f64,
    max: f64,
    get: fn(&Kit) -> Option<f64>,
    set: fn(&mut Kit, Option<f64>),
}

macro_rules! item {
    ($id:literal, $label:ident, $unit:literal, $hint:expr, $min:literal, $max:literal, $field:ident) => {
        Item {
            id: $id,
            label: Word::$label,
            unit: $unit,
            hint: $hint,
            min: $min,
            max: $max,
            get: |k| k.$field,
            set: |k, v| k.$field = v,
        }
    };
}

/// So many of them everybody asks for; the others are folded away.
const PLAIN: usize = 8;

const ITEMS: [Item; 14] = [
    item!("k-eye", EyeToPin, "mm", None, 100.0, 3000.0, eye_to_pin_mm),
    item!("k-up", ClickUpDown, "mm", None, 0.001, 20.0, click_elevation_mm),
    item!("k-side", ClickLeftRight, "mm", None, 0.001, 20.0, click_windage_mm),
    item!("k-reading", ReadingNow, "", Some(Word::Optional), -1000.0, 1000.0, elevation_reading),
    item!("k-unit", ScaleUnit, "mm", Some(Word::Optional), 0.01, 100.0, elevation_unit_mm),
    item!("k-side-reading", WindageNow, "", Some(Word::Optional), -1000.0, 1000.0, windage_reading),
    item!("k-side-unit", WindageUnit, "mm", Some(Word::Optional), 0.01, 100.0, windage_unit_mm),
    item!("k-shaft", ShaftWidth, "mm", None, 0.0, 30.0, shaft_mm),
    item!("k-setting", SettingError, "mm", Some(Word::SettingErrorHelp), 0.0, 20.0, setting_sd_mm),
    item!("k-spread", SpreadExpected, "mrad", Some(Word::SpreadHelp), 0.01, 100.0, spread_mrad),
    item!("k-above", EyeAbove, "mm", Some(Word::Optional), -100.0, 400.0, eye_above_arrow_mm),
    item!("k-mass", ArrowMass, "g", Some(Word::Optional), 1.0, 200.0, arrow_mass_g),
    item!("k-speed", ArrowSpeed, "m/s", Some(Word::Optional), 5.0, 200.0, arrow_speed_m_s),
    item!("k-cost", TouchCost, "", Some(Word::TouchCostHelp), 0.0, 100.0, touch_cost_points),
];

/// The page.
pub(in crate::app) fn view() -> impl IntoView {
    let app = app();
    // Nothing: the list. A kit without an id: a new one.
    // A form that was left half filled is open again.
    let left = drafts::of(app, OPEN).and_then(|of| match of.parse::<Uuid>() {
        Ok(id) => untrack(|| app.kits()).into_iter().find(|(kit, _)| *kit == id).map(|(id, kit)| (Some(id), kit)),
        Err(_) => Some((None, fresh())),
    });
    let open: RwSignal<Option<(Option<Uuid>, Kit)>> = RwSignal::new(left);
    Effect::new(move || match open.with(|o| o.as_ref().map(|(id, _)| *id)) {
        Some(id) => drafts::keep(app, OPEN, id.map_or("new".to_owned(), |id| id.to_string()), ""),
        None => drafts::forget(app),
    });
    move || {
        match open.get() {
        // Adding arrows changes the log, which must not empty the form.
        Some((id, kit)) => untrack(|| form(app, id, kit, open)).into_any(),
        None => view! {
            <div class="page">
                <ul class="sessions">
                    {app.kits().into_iter().map(|(id, kit)| {
                        let name = kit.name.clone();
                        view! { <li><button type="button" class="session" on:click=move |_| open.set(Some((Some(id), kit.clone())))>
                            <b>{name}</b><span>{app.t(Word::Edit)}</span>
                        </button></li> }
                    }).collect_view()}
                </ul>
                <div class="dock writes"><button type="button" class="main" id="new-kit" on:click=move |_| open.set(Some((None, fresh())))>{app.t(Word::NewKit)}</button></div>
            </div>
        }
        .into_any(),
    }
    }
}

/// Under which the kit is kept whose form is open.
const OPEN: &str = "open";
/// Under which is kept what was chosen in it.
const CHOSEN: &str = "chosen";

/// What a new kit starts from: a recurve's sight on a long bar (common practice, no source).
fn fresh() -> Kit {
    Kit {
        eye_to_pin_mm: Some(880.0),
        click_windage_mm: Some(0.1),
        click_elevation_mm: Some(0.1),
        shaft_mm: Some(5.5),
        ..Kit::default()
    }
}

/// All there are, and that it is not told.
fn chosen_of<T: Copy, const N: usize>(app: App, all: [T; N], word: fn(T) -> Word) -> Vec<(Option<T>, String)> {
    let told = all.into_iter().map(|v| (Some(v), app.t(word(v)).to_owned()));
    std::iter::once((None, "–".to_owned())).chain(told).collect()
}

/// Fills in the spread that is usual in a club, from its document.
fn take_usual(
    app: App,
    event: &web_sys::Event,
    (bow, level): (Option<Bow>, Option<Level>),
    spread: RwSignal<String>,
    taken: RwSignal<Option<(String, f64)>>,
    said: RwSignal<String>,
) {
    let input = event.target().and_then(|t| t.dyn_into::<web_sys::HtmlInputElement>().ok());
    let Some((input, file)) = input.and_then(|i| Some((i.clone(), i.files()?.get(0)?))) else { return };
    // Chosen again it is read again, mended or with another bow.
    input.set_value("");
    spawn_local(async move {
        let document = JsFuture::from(file.text()).await.ok().and_then(|t| t.as_string()).unwrap_or_default();
        let l = app.language();
        let text = match Usual::parse(&document) {
            Err(wrong) => app.f(Word::ImportFailed, &[&problem::tell(l, &wrong).one_line()]),
            Ok(usual) => match usual.row_for(bow, level, None) {
                None => app.t(Word::UsualNotThere).to_owned(),
                Some(row) => {
                    let start = row.start();
                    let told = l.number(&trim_number((1000.0 * start.spread_mrad).round() / 1000.0));
                    spread.set(told.clone());
                    taken.set(Some((told, start.worth)));
                    app.f(Word::UsualTaken, &[&row.archers.to_string()])
                }
            },
        };
        said.set(text);
    });
}

/// What the archer's sessions tell of habits, as HTML.
fn of_habits(app: App, kit: Option<Uuid>) -> String {
    let shown = app.archer().and_then(|(archer, _)| app.log.with_untracked(|log| habits_shown(log, archer, kit)));
    let items = told::tell(app, |t| pages::habits::page(t, shown.as_ref()));
    // The heading is that of the fold.
    html(&items[1..])
}

fn text(l: Language, value: Option<f64>) -> String {
    value.map_or(String::new(), |v| l.number(&goldward_core::units::trim_number(v)))
}

fn form(app: App, id: Option<Uuid>, kit: Kit, open: RwSignal<Option<(Option<Uuid>, Kit)>>) -> impl IntoView {
    let l = app.language();
    let name = RwSignal::new(kit.name.clone());
    let ask = |i: &Item| Asked::new(i.id, i.label, i.unit, (i.min, i.max), text(l, (i.get)(&kit))).hint(i.hint).kept();
    let mut plain: Vec<Asked> = ITEMS.iter().map(ask).collect();
    let falls = RwSignal::new(kit.elevation_grows_up.unwrap_or(false));
    let rightward = RwSignal::new(kit.windage_grows_right.unwrap_or(true));
    let habits = RwSignal::new(kit.habits != Some(false));
    let hand = RwSignal::new(kit.hand.or(app.archer().and_then(|(_, a)| a.hand)).unwrap_or(Hand::Right));
    let bow = RwSignal::new(kit.bow.as_deref().and_then(Bow::named));
    let level = RwSignal::new(kit.level.as_deref().and_then(Level::named));
    // What was chosen is kept like what is typed.
    let chosen = move || {
        let bits =
            [falls.get(), rightward.get(), hand.get() == Hand::Left, habits.get()].map(|x| if x { "1" } else { "0" });
        [bits.concat().as_str(), bow.get().map_or("", Bow::key), level.get().map_or("", Level::key)].join(" ")
    };
    let begins = untrack(chosen);
    if let Some(kept) = drafts::of(app, CHOSEN) {
        let is = |n: usize| kept.as_bytes().get(n) == Some(&b'1');
        falls.set(is(0));
        rightward.set(is(1));
        hand.set(if is(2) { Hand::Left } else { Hand::Right });
        habits.set(is(3));
        let mut words = kept.split(' ').skip(1);
        bow.set(words.next().and_then(Bow::named));
        level.set(words.next().and_then(Level::named));
    }
    Effect::new(move || drafts::keep(app, CHOSEN, chosen(), &begins));
    let (wrong, asked) = (RwSignal::new(None::<String>), RwSignal::new(false));
    let values = plain.clone();
    // What a club's document gave: the spread as it stands in the field then, and its worth.
    let taken = RwSignal::new(None::<(String, f64)>);
    let said = RwSignal::new(String::new());
    let spread = ITEMS.iter().zip(&plain).find(|(i, _)| i.id == "k-spread").map(|(_, asked)| asked.text);
    let fields = plain.split_off(PLAIN);
    let save = move |_| {
        let mut new = kit.clone();
        new.name = name.get_untracked().trim().to_owned();
        let nameless = new.name.is_empty();
        wrong.set(nameless.then(|| app.t(Word::NameNeeded).to_owned()));
        let Some(numbers) = read_all(&values) else { return };
        if nameless {
            device::focus("k-name");
            return;
        }
        for (item, value) in ITEMS.iter().zip(numbers) {
            (item.set)(&mut new, value);
        }
        new.elevation_grows_up = Some(falls.get_untracked());
        new.windage_grows_right = Some(rightward.get_untracked());
        new.hand = Some(hand.get_untracked());
        if let (Some((text, worth)), Some(spread)) = (taken.get_untracked(), spread) {
            new.worth = (spread.get_untracked() == text).then_some(worth).or(new.worth);
        }
        new.bow = bow.get_untracked().map(|b| b.key().to_owned());
        new.level = level.get_untracked().map(|l| l.key().to_owned());
        // Told only where it is not the usual, so that older versions read the kit on.
        let used = habits.get_untracked();
        new.habits = (!used || new.habits.is_some()).then_some(used);
        let body = Body::Kit(Box::new(new));
        // What is refused stays typed.
        let kept = match id {
            Some(id) => app.edit(id, body),
            None => app.write(vec![body]).is_some(),
        };
        if kept {
            open.set(None);
        }
    };
    view! {
        <div class="page">
            <TextField id="k-name" label=Word::KitName value=name kept=true/>
            <p class="wrong" role="alert">{move || wrong.get()}</p>
            <Choice label=Word::Hand name="k-hand" value=hand set=move |h| hand.set(h)
                choices=vec![(Hand::Right, app.t(Word::RightHand).to_owned()), (Hand::Left, app.t(Word::LeftHand).to_owned())]/>
            <Choice label=Word::Bow name="k-bow" value=bow set=move |b| bow.set(b) choices=chosen_of(app, Bow::ALL, pages::usual::bow)/>
            <Choice label=Word::LevelHead name="k-level" value=level set=move |v| level.set(v)
                choices=chosen_of(app, Level::ALL, pages::usual::level)/>
            <details class="rest">
                <summary><b>{app.t(Word::HowToMeasure)}</b></summary>
                {how(app).into_iter().collect_view()}
            </details>
            {plain.into_iter().map(|of| view! { <NumberField of=of/> }).collect_view()}
            <Choice label=Word::ScaleDown name="k-down" value=falls set=move |v| falls.set(v)
                choices=vec![(false, app.t(Word::Grows).to_owned()), (true, app.t(Word::Falls).to_owned())]/>
            <Choice label=Word::WindageRight name="k-right" value=rightward set=move |v| rightward.set(v)
                choices=vec![(true, app.t(Word::Grows).to_owned()), (false, app.t(Word::Falls).to_owned())]/>
            <details class="rest">
                <summary><b>{app.t(Word::More)}</b></summary>
                {fields.into_iter().map(|of| view! { <NumberField of=of/> }).collect_view()}
                <div class="field sheet-import">
                    <label for="k-usual">{app.t(Word::UsualFile)}</label>
                    <input id="k-usual" type="file" accept=".json,application/json" on:change=move |e| {
                        let kind = (bow.get_untracked(), level.get_untracked());
                        if let Some(spread) = spread { take_usual(app, &e, kind, spread, taken, said); }
                    }/>
                    <p class="hint" id="k-usual-said" role="status">{move || said.get()}</p>
                </div>
            </details>
            // They are from many sessions of the log: nobody waits for them who does not ask.
            <details class="rest" id="k-habits" on:toggle=move |_| asked.set(true)>
                <summary><b>{app.t(Word::HabitsHead)}</b></summary>
                <div inner_html=move || if asked.get() { of_habits(app, id) } else { String::new() }></div>
                <Choice label=Word::HabitsUse name="k-habits-used" value=habits set=move |v| habits.set(v)
                    choices=vec![(true, app.t(Word::HabitsYes).to_owned()), (false, app.t(Word::HabitsNo).to_owned())]/>
            </details>
            {match id {
                Some(id) => quiver::view(id),
                None => view! { <p class="hint">{app.t(Word::KitArrowsFirst)}</p> }.into_any(),
            }}
            <div class="dock buttons">
                <button type="button" on:click=move |_| open.set(None)>{app.t(Word::Cancel)}</button>
                {id.map(|id| view! { <button type="button" class="writes" on:click=move |_| { app.delete(id); open.set(None); }>{app.t(Word::Delete)}</button> })}
                <button type="button" class="main writes" id="save-kit" on:click=save>{app.t(Word::Save)}</button>
            </div>
        </div>
    }
}
