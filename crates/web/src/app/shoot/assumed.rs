//! What an answer takes for granted, said beside it, each with one tap to set it; and pictures of how it is measured.

use goldward_core::units::trim_number;
use goldward_journal::{Body, Kit};
use leptos::prelude::*;

use super::Hand;
use crate::app::state::{App, app};
use crate::app::widgets::{Asked, NumberField, read_all};
use crate::sheet::{Sheet, sight};
use crate::words::Word;

/// Something that can be measured and was not.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Assumed {
    /// From eye to pin.
    Eye,
    /// What a click moves the pin by.
    Click,
}

/// What is taken for granted in this session.
fn of(kit: &Kit) -> Vec<Assumed> {
    let eye = kit.eye_to_pin_mm.is_none().then_some(Assumed::Eye);
    let click = (kit.click_elevation_mm.is_none() && kit.click_windage_mm.is_none()).then_some(Assumed::Click);
    eye.into_iter().chain(click).collect()
}

fn number(app: App, value: f64) -> String {
    app.language().number(&trim_number(value))
}

/// A button for each assumption.
pub(super) fn view() -> impl IntoView {
    let app = app();
    let hand = expect_context::<Hand>();
    let assumed = Memo::new(move |_| {
        app.sheet.with(|s| {
            let s = s.as_ref()?;
            let sight = sight(&s.kit);
            let to_come = s.is_free().then(|| s.shots_to_come());
            Some((
                s.id,
                s.session.kit.map(|_| of(&s.kit)).unwrap_or_default(),
                sight.eye_to_pin_mm(),
                sight.click_mm()[1],
                to_come,
            ))
        })
    });
    move || {
        let (session, assumed, eye_mm, click_mm, to_come) = assumed.get()?;
        if assumed.is_empty() && to_come.is_none() {
            return None;
        }
        let buttons = assumed.into_iter().map(|what| {
            let (id, text) = match what {
                Assumed::Eye => ("set-eye", app.f(Word::AssumedEye, &[&format!("{} cm", number(app, eye_mm / 10.0))])),
                Assumed::Click => ("set-click", app.f(Word::AssumedClick, &[&format!("{} mm", number(app, click_mm))])),
            };
            view! { <button type="button" id=id on:click=move |_| {
                hand.choose(None, None);
                hand.asking.set(Some(what));
            }>{text}</button> }
        });
        Some(view! {
            <div class="assumed">
                <span>{app.t(Word::Assumed)}</span>
                {buttons.collect_view()}
                {to_come.map(|n| view! {
                    <button type="button" id="set-to-come" on:click=move |_| app.editing.set(Some(session))>
                        {app.f(Word::AssumedToCome, &[&n.to_string()])}
                    </button>
                })}
            </div>
        })
    }
}

/// The question, with the picture of how it is measured.
pub(super) fn ask(what: Assumed) -> impl IntoView {
    let app = app();
    let hand = expect_context::<Hand>();
    let kit = untrack(|| app.sheet.with(|s| s.as_ref().map(|s| s.kit.clone()))).unwrap_or_default();
    let sight = sight(&kit);
    let field = match what {
        Assumed::Eye => {
            Asked::new("measured", Word::EyeToPin, "cm", (10.0, 300.0), number(app, sight.eye_to_pin_mm() / 10.0))
        }
        Assumed::Click => {
            Asked::new("measured", Word::TenClicks, "mm", (0.01, 200.0), number(app, 10.0 * sight.click_mm()[1]))
        }
    };
    let field = field.needed();
    let save = move |_| {
        let Some(value) = read_all(&[field]).and_then(|n| n.first().copied().flatten()) else { return };
        let kit = app
            .sheet
            .with_untracked(|s: &Option<Sheet>| s.as_ref().and_then(|s| Some((s.session.kit?, s.kit.clone()))));
        let Some((id, mut kit)) = kit else { return };
        match what {
            Assumed::Eye => kit.eye_to_pin_mm = Some(10.0 * value),
            Assumed::Click => {
                kit.click_elevation_mm = Some(value / 10.0);
                kit.click_windage_mm = Some(value / 10.0);
            }
        }
        if app.edit(id, Body::Kit(Box::new(kit))) {
            hand.asking.set(None);
            app.say_undo(app.t(Word::Changed).to_owned());
        }
    };
    view! {
        <div class="tell">
            <div class="head">
                <h2>{app.t(Word::HowToMeasure)}</h2>
                <button type="button" on:click=move |_| hand.asking.set(None)>{app.t(Word::Cancel)}</button>
            </div>
            {how(app).into_iter().nth(what as usize)}
            <NumberField of=field/>
            <button type="button" class="main" id="save-measured" on:click=save>{app.t(Word::Save)}</button>
        </div>
    }
}

/// How the distance from eye to pin is measured: bow, string and arrow, the bar with ring and pin, the eye, and what is measured.
const EYE_TO_PIN: &str = "<path class=\"thick\" d=\"M222 8q34 50 0 108M74 72H262m-9-5l9 5l-9 5M74 72l-9-4m9 4l-9 4\"/>\
<path d=\"M222 8L74 72L222 116M238 62H282V50M60 50v78M282 52v76M40 38q16-15 32 0q-16 15-32 0z\"/><circle cx=\"282\" cy=\"38\" r=\"12\"/>\
<circle class=\"full\" cx=\"282\" cy=\"38\" r=\"2.5\"/><circle class=\"full\" cx=\"60\" cy=\"38\" r=\"4.5\"/><path class=\"dash\" d=\"M74 38H268\"/>\
<path class=\"thick\" d=\"M62 124H280m-9-5l9 5l-9 5M71 119l-9 5l9 5\"/>";

/// How the worth of ten clicks is measured: the scale, the pin before and after, its way, and the knob.
const TEN_CLICKS: &str = "<path class=\"thick\" d=\"M92 6V118M120 82H196M244 34V80m-5-9l5 9l5-9M239 43l5-9l5 9M20 38a34 34 0 0 1 48 0m1-11v12h-12\"/>\
<path d=\"M92 12h20M92 22h11M92 32h11M92 42h11M92 52h11M92 62h20M92 72h11M92 82h11M92 92h11M92 102h11M92 112h20M222 32h30M222 82h30\
M44 44v9M62 62h-9M44 80v-9M26 62h9\"/><path class=\"dash\" d=\"M120 32H196\"/><circle class=\"dash\" cx=\"208\" cy=\"32\" r=\"12\"/>\
<circle cx=\"208\" cy=\"82\" r=\"12\"/><circle class=\"full\" cx=\"208\" cy=\"82\" r=\"2.5\"/><circle class=\"thick\" cx=\"44\" cy=\"62\" r=\"18\"/>\
<text x=\"44\" y=\"20\" text-anchor=\"middle\">10</text>";

fn picture(drawn: &'static str, told: &'static str) -> AnyView {
    let html =
        format!("<svg viewBox=\"0 0 320 132\" aria-hidden=\"true\">{drawn}</svg><figcaption>{told}</figcaption>");
    view! { <figure class="how" inner_html=html></figure> }.into_any()
}

/// How each of them is measured.
pub(in crate::app) fn how(app: App) -> [AnyView; 2] {
    [picture(EYE_TO_PIN, app.t(Word::MeasureEye)), picture(TEN_CLICKS, app.t(Word::MeasureClicks))]
}
