//! Controls that several screens use.

use leptos::prelude::*;

use super::state::app;
use crate::words::Word;

/// A number to type, kept as text until it is used.
#[component]
pub(super) fn NumberField(
    label: Word,
    value: RwSignal<String>,
    #[prop(optional)] unit: &'static str,
    #[prop(optional)] hint: Option<Word>,
    id: &'static str,
) -> impl IntoView {
    let app = app();
    view! {
        <div class="field">
            <label for=id>{move || app.t(label)}</label>
            <span class="with-unit">
                <input id=id type="text" inputmode="decimal" autocomplete="off"
                    prop:value=move || value.get()
                    on:input=move |e| value.set(event_target_value(&e))
                    aria-describedby=hint.map(|_| format!("{id}-hint"))/>
                {(!unit.is_empty()).then(|| view! { <span class="unit">{unit}</span> })}
            </span>
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
) -> impl IntoView {
    let app = app();
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

/// Reads a number in a range, or says what is wrong.
pub(super) fn number(label: Word, text: &str, min: f64, max: f64) -> Result<Option<f64>, String> {
    if text.trim().is_empty() {
        return Ok(None);
    }
    let value = goldward_core::units::parse_decimal(text).filter(|v| (min..=max).contains(v));
    value.map(Some).ok_or_else(|| {
        let app = app();
        app.f(Word::BadNumber, &[app.t(label), &min.to_string(), &max.to_string()])
    })
}
