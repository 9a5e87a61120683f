//! A shot told as ring and clock: two large taps.

use goldward_core::face::{Colour, Face};
use goldward_core::shot::{Call, Place, Ring};
use leptos::prelude::*;

use super::{clock, record_shot};
use crate::app::saved::Saved;
use crate::app::state::app;
use crate::words::Word;

/// The rings of a face as they are called, from the inside out, each with the colour of its zone, and the miss.
pub(super) fn rings(face: &Face) -> Vec<(String, Option<Colour>)> {
    let inner = face.inner_ten_mm.map(|_| ("X".to_owned(), Some(face.zones[0].colour)));
    let zones = face.zones.iter().map(|z| (z.value.to_string(), Some(z.colour)));
    inner.into_iter().chain(zones).chain([("M".to_owned(), None)]).collect()
}

/// The rings, then the hours.
pub(super) fn view() -> impl IntoView {
    let app = app();
    let ring: RwSignal<Option<String>> = RwSignal::new(None);
    let rings = move || app.sheet.with(|s| s.as_ref().map(|s| rings(s.face)).unwrap_or_default());
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
                    {clock::start()}
                    <div class="rings">
                        {rings().into_iter().map(|(name, colour)| {
                            let zone = colour.map_or("miss", goldward_core::face::Colour::name);
                            let label = if colour.is_some() { name.clone() } else { app.t(Word::Miss).to_owned() };
                            let value = name.clone();
                            view! { <button type="button" class="ring" data-ring=name.clone() data-zone=zone
                                on:click=move |_| ring.set(Some(value.clone()))>{label}</button> }
                        }).collect_view()}
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
