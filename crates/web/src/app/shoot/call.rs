//! A shot told as ring and clock: two large taps.

use goldward_core::shot::{Call, Place, Ring};
use leptos::prelude::*;

use super::record_shot;
use crate::app::shell::Saved;
use crate::app::state::app;
use crate::words::Word;

/// The rings, then the hours.
pub(super) fn view() -> impl IntoView {
    let app = app();
    let ring: RwSignal<Option<String>> = RwSignal::new(None);
    let rings = move || {
        app.sheet.with(|s| {
            let Some(s) = s.as_ref() else { return Vec::new() };
            let mut rings = Vec::new();
            if s.face.inner_ten_mm.is_some() {
                rings.push(("X".to_owned(), s.face.zones[0].colour));
            }
            rings.extend(s.face.zones.iter().map(|z| (z.value.to_string(), z.colour)));
            rings
        })
    };
    let finish = move |text: String| {
        if let Ok(call) = text.parse::<Call>() {
            record_shot(app, Place::Called(call));
        }
        ring.set(None);
    };
    view! {
        <div class="pad">
            <p class="ask" aria-live="polite">
                {move || match ring.get() {
                    None => app.t(Word::WhichRing).to_owned(),
                    Some(r) => format!("{r} · {}", app.t(Word::WhichClock)),
                }}
                " " <Saved/>
            </p>
            // Made anew for each question: a button of the one is never turned into a button of the other.
            <For each=move || [ring.get()] key=|r| r.clone() children=move |asked| match asked {
                None => view! {
                    <div class="rings">
                        {rings().into_iter().map(|(name, colour)| {
                            let zone = format!("{colour:?}").to_lowercase();
                            let (value, label) = (name.clone(), name.clone());
                            view! { <button type="button" class="ring" data-ring=name.clone() data-zone=zone
                                on:click=move |_| ring.set(Some(value.clone()))>{label}</button> }
                        }).collect_view()}
                        <button type="button" class="ring" data-ring="M" data-zone="miss"
                            on:click=move |_| ring.set(Some("M".to_owned()))>{app.t(Word::Miss)}</button>
                    </div>
                }.into_any(),
                Some(r) => {
                    let inner = r.parse::<Call>().is_ok_and(|c| c.ring == Ring::InnerTen);
                    let plain = r.clone();
                    view! {
                        <div class="dial">
                            {(1..=12).map(|hour: u32| {
                                let angle = f64::from(hour) / 12.0 * std::f64::consts::TAU;
                                let (x, y) = (50.0 + 40.5 * angle.sin(), 50.0 - 40.5 * angle.cos());
                                let call = format!("{r}@{hour}");
                                view! { <button type="button" class="hour" data-hour=hour.to_string()
                                    style=format!("left:{x:.2}%;top:{y:.2}%")
                                    on:click=move |_| finish(call.clone())>{hour}</button> }
                            }).collect_view()}
                            <button type="button" class="hub" class:wanted=inner on:click=move |_| finish(plain.clone())>
                                {app.t(Word::RingOnly)}
                            </button>
                            <button type="button" class="cancel" on:click=move |_| ring.set(None)>{app.t(Word::Cancel)}</button>
                        </div>
                    }.into_any()
                }
            }/>
        </div>
    }
}
