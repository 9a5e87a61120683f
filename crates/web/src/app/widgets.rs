//! Controls that several screens use.

use leptos::prelude::*;

use super::state::{App, app};
use super::{device, drafts};
use crate::numbers::{self, Misread};
use crate::words::Word;

/// A number that is asked for: what it is, what it may be, and what has been typed.
#[derive(Clone, Copy)]
pub(super) struct Asked {
    id: &'static str,
    label: Word,
    unit: &'static str,
    hint: Option<Word>,
    range: (f64, f64),
    needed: bool,
    /// Kept as it was typed until it is used.
    pub(super) text: RwSignal<String>,
    wrong: RwSignal<Option<Misread>>,
    /// What it began with, where what is typed is kept when the form is left.
    first: Option<StoredValue<String>>,
}

impl Asked {
    /// A number from `min` to `max` that may be left out.
    pub(super) fn new(
        id: &'static str,
        label: Word,
        unit: &'static str,
        (min, max): (f64, f64),
        first: String,
    ) -> Self {
        let (text, wrong) = (RwSignal::new(first), RwSignal::new(None));
        Self { id, label, unit, hint: None, range: (min, max), needed: false, text, wrong, first: None }
    }

    /// What is typed is kept when the form is left, and there again when the archer comes back.
    pub(super) fn kept(self) -> Self {
        let first = StoredValue::new(self.text.get_untracked());
        if let Some(draft) = drafts::of(app(), self.id) {
            self.text.set(draft);
        }
        Self { first: Some(first), ..self }
    }

    /// It cannot be left out.
    pub(super) fn needed(self) -> Self {
        Self { needed: true, ..self }
    }

    /// A sentence below the field.
    pub(super) fn hint(self, hint: Option<Word>) -> Self {
        Self { hint, ..self }
    }

    /// What has been typed, as a number; follows the field.
    pub(super) fn value(self) -> Option<f64> {
        self.text.with(|t| numbers::within(t, self.unit, self.range.0, self.range.1, false)).ok().flatten()
    }

    /// What has been typed, as a number; follows the field, and what is wrong is said beside it at once.
    pub(super) fn told(self) -> Option<f64> {
        self.text.track();
        self.read().ok().flatten()
    }

    /// Reads the field; what is wrong is said beside it.
    pub(super) fn read(self) -> Result<Option<f64>, Misread> {
        let read = self.text.with_untracked(|t| numbers::within(t, self.unit, self.range.0, self.range.1, self.needed));
        self.wrong.set(read.as_ref().err().cloned());
        read
    }
}

/// Reads several fields; when one is wrong nothing is returned, and the first wrong one has the focus.
pub(super) fn read_all(fields: &[Asked]) -> Option<Vec<Option<f64>>> {
    let read: Vec<_> = fields.iter().map(|f| f.read()).collect();
    if let Some(i) = read.iter().position(Result::is_err) {
        device::focus(fields[i].id);
        return None;
    }
    Some(read.into_iter().map(|r| r.ok().flatten()).collect())
}

/// Keeps what is typed into a field, however it gets there.
pub(super) fn keep_typed(app: App, id: &'static str, text: RwSignal<String>, first: StoredValue<String>) {
    Effect::new(move || first.with_value(|first| drafts::keep(app, id, text.get(), first)));
}

/// The field of a number.
#[component]
pub(super) fn NumberField(of: Asked) -> impl IntoView {
    let app = app();
    let Asked { id, label, unit, hint, text, wrong, first, .. } = of;
    if let Some(first) = first {
        keep_typed(app, id, text, first);
    }
    let described = if hint.is_some() { format!("{id}-wrong {id}-hint") } else { format!("{id}-wrong") };
    view! {
        <div class="field">
            <label for=id>{move || app.t(label)}</label>
            <span class="with-unit">
                <input id=id type="text" inputmode="decimal" autocomplete="off"
                    prop:value=move || text.get()
                    on:input=move |e| {
                        text.set(event_target_value(&e));
                        wrong.set(None);
                    }
                    aria-invalid=move || wrong.with(Option::is_some).to_string()
                    aria-describedby=described/>
                {(!unit.is_empty()).then(|| view! { <span class="unit">{unit}</span> })}
            </span>
            <p class="wrong" role="alert" id=format!("{id}-wrong")>{move || wrong.with(|w| w.as_ref().map(|w| w.text(app.language())))}</p>
            {hint.map(|h| view! { <p class="hint" id=format!("{id}-hint")>{move || app.t(h)}</p> })}
        </div>
    }
}

/// A text to type.
#[component]
pub(super) fn TextField(
    label: Word,
    value: RwSignal<String>,
    id: &'static str,
    #[prop(default = "text")] kind: &'static str,
    /// Whether what is typed is kept when the form is left.
    #[prop(default = false)]
    kept: bool,
) -> impl IntoView {
    let app = app();
    if kept {
        let first = StoredValue::new(value.get_untracked());
        if let Some(draft) = drafts::of(app, id) {
            value.set(draft);
        }
        keep_typed(app, id, value, first);
    }
    view! {
        <div class="field">
            <label for=id>{move || app.t(label)}</label>
            <input id=id type=kind prop:value=move || value.get() on:input=move |e| value.set(event_target_value(&e))/>
        </div>
    }
}

/// One of a few, as large buttons.
#[component]
pub(super) fn Choice<T: Copy + PartialEq + Send + Sync + 'static>(
    label: Word,
    #[prop(into)] value: Signal<T>,
    choices: Vec<(T, String)>,
    set: impl Fn(T) + Copy + Send + Sync + 'static,
    name: &'static str,
) -> impl IntoView {
    choice(label, value, choices, Callback::new(set), name)
}

/// Written once for each kind of value, whoever asks, which keeps the app small.
fn choice<T: Copy + PartialEq + Send + Sync + 'static>(
    label: Word,
    value: Signal<T>,
    choices: Vec<(T, String)>,
    set: Callback<T>,
    name: &'static str,
) -> AnyView {
    let app = app();
    view! {
        <fieldset class="choice">
            <legend>{move || app.t(label)}</legend>
            <div class="options">
                {choices
                    .into_iter()
                    .map(|(v, text)| {
                        view! {
                            <label class="option">
                                <input type="radio" name=name prop:checked=move || value.get() == v on:change=move |_| set.run(v)/>
                                <span>{text}</span>
                            </label>
                        }
                    })
                    .collect_view()}
            </div>
        </fieldset>
    }
    .into_any()
}

/// A whole number with large buttons to each side.
#[component]
pub(super) fn Stepper(label: Word, value: RwSignal<u32>, min: u32, max: u32, id: &'static str) -> impl IntoView {
    let app = app();
    let less = move |_| value.update(|v| *v = v.saturating_sub(1).max(min));
    let more = move |_| value.update(|v| *v = (*v + 1).min(max));
    view! {
        <div class="stepper" role="group" aria-labelledby=id>
            <span id=id class="label">{move || app.t(label)}</span>
            <button type="button" on:click=less disabled={move || value.get() <= min} aria-label=move || format!("{} −1", app.t(label))>"−"</button>
            <output>{move || value.get()}</output>
            <button type="button" on:click=more disabled={move || value.get() >= max} aria-label=move || format!("{} +1", app.t(label))>"+"</button>
        </div>
    }
}
